/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Results on their way out of a session: as text while they come, or as a report when the run is over, kept
 * to the limits of output and memory. The one front of the program, its prompt and the library. */
#ifndef RUNDLET_SINK_H
#define RUNDLET_SINK_H

#include "facade/session.h"
#include "numbers/format_spread.h"
#include "output/render.h"

typedef struct Sink {
    /* For whoever opens it to set; the rest is the sink's own. */
    bool keeps_items; /* a report is wanted afterwards: the items count as memory */
    bool keeps_text;  /* so does what is handed out as text */
    void (*add)(void *context, Text *out, RenderText *state, const Item *item); /* NULL: render_text_item */
    void (*take)(void *context, const Text *text); /* results as they come; NULL: not wanted */
    void (*stop)(void *context);                   /* a limit was hit; NULL: the session is interrupted */
    void *context;

    Session *session;
    RenderText text;
    size_t written; /* bytes of results */
    size_t kept;    /* bytes of memory for them, about */
    bool over;      /* a limit was hit, which the session's errors tell */
} Sink;

/* Listens to a session. `sink` must stay where it is as long as the session runs. */
void sink_open(Sink *sink, Session *session);
/* What became of a run, given that its results may have been too many. */
SessionStatus sink_status(const Sink *sink, SessionStatus status);
/* The calendar that ends the text results of a run; nothing without events. */
void sink_add_calendar(Sink *sink, Text *out);
/* The working of what was shown, for a run that keeps it. It counts as output: where it is too much, it holds
 * that of the first items, as many as fit, and the error is added to the session's. */
void sink_add_working(Sink *sink, Text *out);
/* The run as a report. One larger than the limit of output holds the first items, as many as fit, and the
 * error is added to the session's. */
void sink_add_report(Sink *sink, Text *out, const RenderForm *form, const Source *source);

#endif
