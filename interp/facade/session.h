/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One interpreter: library, modules, globals, inputs, limits. Runs source texts, hands back a report and
 * diagnostics. Sessions share nothing: several can live side by side. Knows no terminal and prints nothing.
 */
#ifndef RUNDLET_SESSION_H
#define RUNDLET_SESSION_H

#include <stdbool.h>
#include <stddef.h>
#include "base/diag.h"
#include "facade/limits.h"
#include "values/display.h"
#include "values/report.h"

typedef struct Session Session;

typedef struct SessionOptions {
    SessionLimits limits;
    const char *limit_option; /* "--limit": how the user raises one, for hints; NULL: not by an option */
    const char *folder;       /* absolute; what a script without a file may read (the current one) */
    const char *shelf;        /* the user's own scripts for `use`; NULL: from XDG_DATA_HOME or HOME */
    bool has_today;
    double today; /* days since 1970-01-01; else the clock's local date */
    bool stress;  /* collect at every chance */
    int working;  /* above 0, what is shown comes with its working (Item.working): so many levels of the
                     script's own formulas are shown from within, and one less of the library's */
    const char *working_of; /* only the latest result of that label comes with it, capitals or not; "": the
                               latest of all; NULL: every one, each step once */
} SessionOptions;

/* docs/reference/program.md, "Exit status". */
typedef enum SessionStatus {
    SESSION_OK = 0,
    SESSION_FAILED = 1,
    SESSION_USAGE = 2,
    SESSION_LIMIT = 3,
    SESSION_FILE = 4,
    SESSION_UNFINISHED = 5, /* prompt only: the text continues */
    SESSION_INTERRUPTED = 6 /* session_interrupt stopped it */
} SessionStatus;

SessionOptions session_default_options(void);
Session *session_new(const SessionOptions *options);
void session_free(Session *session);

/* Reads a file into a source (name as given on the command line; "-" is standard input). NULL and an error
 * when it cannot be read, is a folder, or is larger than 64 MB. */
Source *session_read_file(Session *session, const char *name);

/* NAME=VALUE for the next session_run or entry; checked there (unknown names, kinds, ranges are
 * SESSION_USAGE). */
void session_set_input(Session *session, const char *name, const char *value);
/* Hints about inputs show `set NAME = VALUE` from now on; else NAME="VALUE". */
void session_hint_set(Session *session, bool by_set);
/* A date as scripts write it, for `today`, in days since 1970-01-01. False with the reason in `why`. */
bool session_read_date(const char *text, double *days, Fault *why);

/* Runs a script from its first line. Report and errors of an earlier run are dropped. A fresh session a
 * script. */
SessionStatus session_run(Session *session, Source *source);
/* Runs a script and draws each source of uncertainty at random so many times (JCGM 101): shown quantities
 * come with Item.drawn. The same seed gives the same numbers. */
SessionStatus session_run_trials(Session *session, Source *source, long trials, uint64_t seed);

/* The uncertainty budget of the last run: for a shown quantity (Shown.number) what each source
 * contributes. */
typedef struct SourceShare {
    const char *name;    /* "pressed"; "gravity of cider, line 6" (runtime/source_names.h) */
    Value value;         /* of the source */
    double uncertainty;  /* standard, of the source, on its own unit */
    double contribution; /* to the shown number, on that number's unit, with its sign */
} SourceShare;
int session_source_count(const Session *session);
/* Did the last script get as far as running? False after errors of syntax or names, or an input that is
 * wrong. */
bool session_did_run(const Session *session);
SourceShare session_source_share(const Session *session, int number, int source);
/* Errors of syntax, names, arguments, and kinds where they are known, without running. All of them. */
SessionStatus session_check(Session *session, Source *source);
/* The inputs of a script (report->inputs), without running more than their defaults and ranges. */
SessionStatus session_list_inputs(Session *session, Source *source);
/* One entry of the prompt: earlier ones stay in force; an expression alone is shown, and `it` is it. Items go
 * to the report (which starts empty for each entry), errors likewise. SESSION_UNFINISHED when the text goes
 * on. */
SessionStatus session_enter(Session *session, const char *text);
/* An entry as the program writes it, when it was typed in the words of every day: "68F in C" as "68 °F as
 * °C". NULL when nothing differs, or the entry has errors or continues. Changes nothing; mem_free it. */
char *session_respelled(Session *session, const char *text);
/* What checking makes of a line; nothing of it is run. `expression`: it must be one, as for `-e`. */
typedef enum LineState { LINE_RUNS, LINE_GOES_ON, LINE_FAULTY } LineState;
LineState session_line_state(Session *session, const char *text, bool expression);
/* The line as its hints would have it, one after another, when nothing is wrong with it then; NULL otherwise.
 * Only checked, not run. `surely`: none of the hints is a guess. mem_free it. */
char *session_mended(Session *session, const char *text, bool expression, bool *surely);
/* The same for a file, whose name is in its errors: `load`. */
SessionStatus session_enter_source(Session *session, Source *source);
/* Does what the last entry did hold? One that failed, except for a failed `expect`, has changed nothing. */
bool session_entry_holds(const Session *session);
/* The names of formulas, units and inputs that the last entry declared again, a line each; "" for none. */
const char *session_replaced(const Session *session);
/* One expression of `-e`: as session_enter, but it must be an expression, shown without a label. */
SessionStatus session_show_expression(Session *session, const char *text);

/* The same, but nothing of it holds, even where it worked: for its errors. */
SessionStatus session_try_expression(Session *session, const char *text);

/* With SessionOptions.working: did the run have more steps than are kept? */
bool session_working_is_cut(const Session *session);

Report *session_report(Session *session); /* of the last run; set ->listener before a run by session_listen */
void session_listen(Session *session, void (*listener)(void *context, const Item *item), void *context);
/* Items are freed once the listener was told, all but events: for a front that needs no report afterwards. */
void session_pass_items(Session *session);
const DiagList *
session_errors(const Session *session); /* errors and failed checks of the last run, in order */
/* Called for each failed `expect` and error as it happens (they are in session_errors too). */
void session_on_error(Session *session, void (*listener)(void *context, const Diag *diag), void *context);
/* Called for each `expect` that ran, passed or not: for TAP. */
void session_on_expect(Session *session,
                       void (*listener)(void *context, const char *source_line, bool passed,
                                        const Diag *diag),
                       void *context);
const UnitTable *session_units(const Session *session);
void session_interrupt(Session *session); /* from a signal handler: stops at the next jump or call */
const SessionLimits *session_limits(const Session *session);                  /* sink.c counts against them */
void session_limit_error(Session *session, MessageId id, const char *amount); /* adds that error; status 3 */

/* ---- names, for help and completion ---- */
typedef enum NameKind {
    NAME_VALUE,
    NAME_FORMULA,
    NAME_LIBRARY,
    NAME_NATIVE,
    NAME_UNIT,
    NAME_KEYWORD
} NameKind;
typedef struct NameInfo {
    const char *name;
    NameKind kind;
    char *usage;       /* "priming_dose(volume, carbonation, at, with: \"sucrose\")"; NULL for others */
    char *doc;         /* NULL without */
    const char *topic; /* of the library's and those in C: "Carbonation"; else NULL */
    UnitId unit;       /* of a unit */
} NameInfo;
/* Calls back for every name known to the session, values first. The texts last as long as the
 * visit. */
void session_each_name(Session *session, void (*visit)(void *context, const NameInfo *info), void *context);
/* Calls back for each field of what a path at the prompt names ("must", "recipe.acids"): those of a record or
 * of a liquid; of the name of a script (`use … as club`) for its units and its formulas, these with a "("
 * after them. Returns the kind of the value, KIND_NONE when no value is called that. */
Kind session_each_field(Session *session, const char *path, void (*visit)(void *context, const char *name),
                        void *context);
/* The unit that a literal ("5 gal") or the value of a path ("must.gravity") is in. False when it is
 * neither, or no quantity. Runs nothing. */
bool session_unit_of(Session *session, const char *text, UnitId *unit);
/* What sort of value a name holds ("must.gravity" too) or, with `literal`, a literal is. Runs nothing. */
typedef struct KindInfo {
    Kind kind;     /* KIND_NONE: none, or there is no such value */
    bool quantity; /* it is a number, and stands in this unit */
    UnitId unit;
    double number; /* of a quantity, in that unit */
} KindInfo;
bool session_kind_of(Session *session, const char *text, bool literal, KindInfo *info);
/* In words, added to `out`: "a volume". */
void session_describe_kind(const Session *session, const KindInfo *info, Text *out);
/* What is known of a unit of a script's own: the text it was declared as ("4 g"; NULL for a count or a
 * currency) and its documentation (NULL without). False for any other unit. */
bool session_unit_note(const Session *session, UnitId unit, const char **written, const char **doc);
/* What `source` shows of a formula (of a script or the library): its text with the remarks above it, its
 * units, and the parts of the library that it calls. NULL if there is none. mem_free it. */
char *session_formula_source(Session *session, const char *name);
/* Entries that worked, one after another, as a script: an expression alone gets its `show`, and what a later
 * one declares again is left out. Added to `out`. */
void session_write_script(Session *session, const char *entries, Text *out);
/* An entry without the formulas, units and inputs of those names (a line each, as session_replaced has them),
 * spaces in their place, added to `out`. Where the first of them was stands `instead`, one statement, unless
 * it is NULL: comments around it stay. `values`: without the names' values too, from `let`, `find` or an
 * assignment. False when it has none of them. */
bool session_erase_declared(Session *session, const char *entry, const char *names, const char *instead,
                            bool values, Text *out);
/* An entry with another value in the last statement at its top that gives the name one: added to `out`, if
 * that is an input, a `let` or an assignment (SETTABLE_LET). COMPUTED: it is a `find`, or inside a block. */
typedef enum Settable { SETTABLE_NOT, SETTABLE_INPUT, SETTABLE_LET, SETTABLE_COMPUTED } Settable;
Settable session_set_value(Session *session, const char *entry, const char *name, const char *value,
                           Text *out);
void session_forget(Session *session); /* as if new */

const char *session_version(void); /* "0.1.0" */
const char *session_program(void); /* "rundlet 0.1.0" */

#endif
