/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the program does with files and expressions: one function a mode, each giving an exit status. */
#ifndef RUNDLET_RUN_H
#define RUNDLET_RUN_H

#include "programs/console.h"
#include "programs/options.h"
#include "programs/told.h"

SessionStatus run_script(const Options *options, Console *console);
SessionStatus run_expressions(const Options *options, Console *console);
SessionStatus run_checks(const Options *options, Console *console);  /* --check */
SessionStatus run_expects(const Options *options, Console *console); /* --expect, in tap.c */
SessionStatus run_inputs(const Options *options, Console *console);  /* --inputs */

/* A session as the command line needs it. */
Session *run_new_session(const Options *options);
/* The same, with the working of one result: SessionOptions.working and working_of. */
Session *run_session_working(const Options *options, int levels, const char *label);
/* The graver of two statuses; 3 before 1 (docs/reference/program.md, "Exit status"). */
SessionStatus run_worse(SessionStatus a, SessionStatus b);

/* ---- results on their way out ---- */

typedef struct RunOutput {
    Sink sink;
    Console *console;
    bool budget; /* after each shown value, where its ± comes from */
    bool splits; /* notes and cautions go to standard error: what is piped on are the values */
    /* The same results once more, at most so many bytes; a value without a label gets this one. NULL: not. */
    Text *copy;
    size_t copy_most;
    const char *copy_label;
    RenderText copy_state;
    Told *told;  /* cautions that are shown are noted here. NULL: nowhere */
    bool repeat; /* it computes something again: what is noted there is not shown once more */
} RunOutput;

/* Listens to the session's items, and keeps them to the limits of the options. `output` must stay where it is
 * as long as the session runs. Items that are written at once are not kept for a report. */
void run_listen(RunOutput *output, Console *console, Session *session, const Options *options, bool silent);
/* The exit status of a run, given what became of its output. */
SessionStatus run_outcome(const RunOutput *output, SessionStatus status);

#endif
