/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rundlet inside another program: run scripts, read their results and errors.
 *
 *     Rundlet *rundlet = rundlet_new();
 *     rundlet_set_input(rundlet, "batch", "5 gal");
 *     if (rundlet_run(rundlet, "quince.rlet", text, length) == RUNDLET_OK)
 *         puts(rundlet_results(rundlet));
 *     else
 *         fputs(rundlet_errors(rundlet), stderr);
 *     rundlet_free(rundlet);
 *
 * Interpreters share nothing; each may be used by one thread at a time. Texts are UTF-8. Nothing is printed,
 * and nothing here returns NULL but rundlet_report and rundlet_form. Without memory the program is aborted,
 * unless limits keep a script small: see rundlet_limit. */
#ifndef RUNDLET_H
#define RUNDLET_H

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct Rundlet Rundlet;

/* As the exit statuses of the program. */
typedef enum RundletStatus {
    RUNDLET_OK = 0,
    RUNDLET_FAILED = 1, /* an error of the script, or an `expect` that does not hold */
    RUNDLET_USAGE = 2,  /* an input that the script does not have or does not take */
    RUNDLET_LIMIT = 3,
    RUNDLET_INTERRUPTED = 6
} RundletStatus;

Rundlet *rundlet_new(void);
void rundlet_free(Rundlet *rundlet); /* NULL is fine */

/* For the runs that follow: at most so many seconds, bytes of memory, calls within calls, bytes of text
 * results. 0 leaves one as it is: 1 GB and 1000 calls at first, time and results unlimited. */
void rundlet_limit(Rundlet *rundlet, double seconds, size_t memory, int depth, size_t output);
/* The folder that scripts may read files from, absolute; at first the current one. Copied. */
void rundlet_set_folder(Rundlet *rundlet, const char *folder);
/* What today() gives: a day of the calendar. Not set, it is the clock's. Nothing happens for a day that is
 * none. */
void rundlet_set_today(Rundlet *rundlet, int year, int month, int day);
/* An input of the next run, as NAME=VALUE on the command line. Both are copied. */
void rundlet_set_input(Rundlet *rundlet, const char *name, const char *value);

/* Runs a script of at most 64 MB. `name` is what errors and reports call it. */
RundletStatus rundlet_run(Rundlet *rundlet, const char *name, const char *text, size_t length);
/* Looks for errors of syntax, names, arguments and kinds without running. */
RundletStatus rundlet_check(Rundlet *rundlet, const char *name, const char *text, size_t length);
/* Stops the run that is under way: from a signal handler or another thread. */
void rundlet_interrupt(Rundlet *rundlet);

/* Of the last run. The texts stay until the next call with this interpreter. */

/* The results alone, as the program prints them ("" before the first run), */
const char *rundlet_results(Rundlet *rundlet);
/* or a whole report: "text", "markdown", "html", "json", "csv", "tables" or "calendar" (iCalendar, RFC 5545).
 * One larger than the limit of results holds the first items, as many as fit, and rundlet_errors says so.
 * NULL for a form that there is not, or before the first run. */
const char *rundlet_report(Rundlet *rundlet, const char *form);
/* The name of a form, counted from 0; NULL past the last. */
const char *rundlet_form(int index);
/* The errors and failed checks, each as the program shows it; "" for none. */
const char *rundlet_errors(Rundlet *rundlet);

const char *rundlet_version(void); /* "0.1.0" */

#ifdef __cplusplus
}
#endif

#endif
