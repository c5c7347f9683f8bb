/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "facade/sink.h"

#include <stdint.h>
#include <string.h>

#include "base/sha256.h"

enum { DATED = 24 }; /* bytes of a calendar's line beside the event's text */

static void stop_at_limit(Sink *sink, MessageId id, size_t limit) {
    Text amount = {0};
    limits_add_size(&amount, limit);
    sink->over = true;
    session_limit_error(sink->session, id, text_string(&amount));
    if (sink->stop)
        sink->stop(sink->context);
    else
        session_interrupt(sink->session);
    text_free(&amount);
}

/* Events come at the end, but count when they are reported. */
static void count(Sink *sink, const Item *item, size_t length) {
    size_t bytes = item->type == ITEM_EVENT ? strlen(item->text) + DATED : length;
    sink->written += bytes;
    if (sink->keeps_items || item->type == ITEM_EVENT)
        sink->kept += bytes + sizeof *item;
    if (sink->keeps_text)
        sink->kept += bytes;
}

static void on_item(void *context, const Item *item) {
    Sink *sink = context;
    const SessionLimits *limits = session_limits(sink->session);
    if (sink->over)
        return;
    Text text = {0};
    if (sink->add)
        sink->add(sink->context, &text, &sink->text, item);
    else
        render_text_item(&text, &sink->text, item);
    count(sink, item, text.length);
    if (limits->output && sink->written > limits->output)
        stop_at_limit(sink, MSG_OUTPUT_LIMIT, limits->output);
    else if (limits->memory && sink->kept > limits->memory)
        stop_at_limit(sink, MSG_MEMORY_LIMIT, limits->memory);
    else if (sink->take)
        sink->take(sink->context, &text);
    text_free(&text);
}

void sink_open(Sink *sink, Session *session) {
    sink->session = session;
    sink->text = (RenderText){.units = session_units(session)};
    sink->written = sink->kept = 0;
    sink->over = false;
    session_listen(session, on_item, sink);
    if (!sink->keeps_items)
        session_pass_items(session);
}

SessionStatus sink_status(const Sink *sink, SessionStatus status) {
    return sink->over ? SESSION_LIMIT : status;
}

void sink_add_calendar(Sink *sink, Text *out) {
    render_text_calendar(out, &sink->text, session_report(sink->session));
}

/* What is made of a report when the run is over: a form of it or, without one, its working as text. */
typedef struct Closing {
    const RenderForm *form;
    const RenderSubject *subject;
    const RenderText *text;
} Closing;

/* The first `items` of it. */
static void add_items(Text *out, const Closing *closing, int items) {
    Report part = *closing->subject->report;
    RenderSubject of_part = *closing->subject;
    part.count = items;
    of_part.report = &part;
    text_clear(out);
    if (closing->form) {
        closing->form->render(out, &of_part);
    } else {
        RenderText state = *closing->text;
        render_text_working(out, &state, &part);
    }
}

/* How many bytes of results there may still be after `written`. */
static size_t room_after(const Sink *sink, size_t written) {
    size_t limit = session_limits(sink->session)->output;
    return limit == 0 ? SIZE_MAX : written < limit ? limit - written : 0;
}

/* As many items as so many bytes have room for. */
static void add_within(Sink *sink, Text *out, const Closing *closing, size_t room) {
    int fits = 0, over = closing->subject->report->count + 1;
    add_items(out, closing, closing->subject->report->count);
    if (out->length <= room)
        return;
    if (!sink->over)
        stop_at_limit(sink, MSG_OUTPUT_LIMIT, session_limits(sink->session)->output);
    while (over - fits > 1) {
        int middle = fits + (over - fits) / 2;
        add_items(out, closing, middle);
        if (out->length <= room)
            fits = middle;
        else
            over = middle;
    }
    add_items(out, closing, fits);
    if (out->length > room)
        text_clear(out);
}

void sink_add_working(Sink *sink, Text *out) {
    RenderSubject subject = {.report = session_report(sink->session)};
    Closing closing = {.subject = &subject, .text = &sink->text};
    Text working = {0};
    if (sink->over)
        return;
    add_within(sink, &working, &closing, room_after(sink, sink->written));
    sink->written += working.length;
    text_add(out, text_string(&working), working.length);
    text_free(&working);
}

void sink_add_report(Sink *sink, Text *out, const RenderForm *form, const Source *source) {
    char hash[SHA256_HEX_SIZE];
    sha256_hex(source->text, source->length, hash);
    RenderSubject subject = {.program = session_program(),
                             .script = source->name,
                             .sha256 = hash,
                             .report = session_report(sink->session),
                             .units = session_units(sink->session),
                             .errors = session_errors(sink->session)};
    Closing closing = {.form = form, .subject = &subject};
    add_within(sink, out, &closing, room_after(sink, 0));
}
