/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Standard output and standard error of the program: results to the one, errors to the other, in the order in
 * which they arose; and whether the results could be written. */
#ifndef RUNDLET_CONSOLE_H
#define RUNDLET_CONSOLE_H

#include "facade/session.h"

typedef struct Console {
    bool bold;     /* the first line of an error, on a terminal that can */
    bool live;     /* standard output is a terminal: each item is sent at once */
    bool wraps;    /* hints, and what console_write_wrapped is given, are wrapped to the terminal */
    int failure;   /* errno of the first write that failed; 0 */
    bool stopping; /* the work was interrupted for a reason that is reported already: `stopped` need not be */
    Session *session; /* the one at work: interrupted when its results cannot be written. NULL: none */
} Console;

/* Makes sure that the three standard streams are open, so that no file of ours takes their place. Call first.
 */
void console_start(Console *console);
/* From now on the errors of this session are shown as they happen. NULL ends it. */
void console_watch(Console *console, Session *session);

/* Stops the session at work; the reason is reported already, or nobody is left to be told. */
void console_stop_work(Console *console);

void console_write(Console *console, const Text *text);
/* The columns to write to: those of the terminal, at most 100; 0 where lines are not to be wrapped. */
size_t console_width(const Console *console);
/* The columns for results: 78, or those of a narrower terminal. */
int console_columns(const Console *console);
/* The same for the working of results, whose equations are long. */
int console_working_columns(const Console *console);
/* The same text, its long lines wrapped at words and the rest of each further in. */
void console_write_wrapped(Console *console, const Text *text);
void console_flush(Console *console);
/* On standard error, after all results so far, wrapped likewise. */
void console_write_aside(Console *console, const Text *text);
/* The error on standard error, after all results so far. */
void console_show_error(Console *console, const Diag *diag);
/* One without a place. */
void console_complain(Console *console, MessageId id, MessageArg *args);
/* Writes what is left. False when not all of the output could be written: says so once, unless the reader
 * left. */
bool console_finish(Console *console);

#endif
