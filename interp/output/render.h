/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A report in one form or another. Every form gives the same results and drops no caution.
 *
 * Plain text can be had item by item, as a run continues; the other forms, and the full text report with its
 * head, are made when the run is over. The bytes depend on the subject alone: not on the clock, the locale or
 * the terminal. */
#ifndef RUNDLET_RENDER_H
#define RUNDLET_RENDER_H

#include "base/diag.h"
#include "values/report.h"

enum {
    RENDER_WIDTH = 78,
    RENDER_WORKING_WIDTH = 100
}; /* notes and cautions are wrapped to so many columns, on a narrower terminal to its own */

/* ---- plain text, as it comes ---- */

/* What was written so far, as far as the next item depends on it. `{.units = …}` is a start. */
typedef struct RenderText {
    const UnitTable *units;
    int columns;         /* notes, cautions and plots take no more; 0: RENDER_WIDTH */
    int working_columns; /* nor does the working; 0: RENDER_WORKING_WIDTH */
    bool started;        /* something is above: a heading is set off by an empty line */
    bool gap;            /* the item above needs an empty line below it */
} RenderText;

/* Adds one item. Events add nothing: they wait for the calendar. */
void render_text_item(Text *out, RenderText *state, const Item *item);
/* The events of a report by date; nothing when there is none. */
void render_text_calendar(Text *out, RenderText *state, const Report *report);
/* The events as bare lines without a heading, for the prompt. */
void render_text_events(Text *out, const Report *report, int columns);

/* The working of a report: a heading, then each result that has one, under its label. Nothing where none has.
 */
void render_text_working(Text *out, RenderText *state, const Report *report);

/* `first`, and the text after it wrapped to so many columns, its later lines under its first word. */
void render_wrapped(Text *out, const char *first, const char *text, int columns);

/* ---- whole reports ---- */

typedef struct RenderSubject {
    const char *program; /* "rundlet 0.1.0" */
    const char *script;  /* its name as given */
    const char *sha256;  /* of its bytes, 64 hexadecimal digits */
    const Report *report;
    const UnitTable *units;
    const DiagList *errors;
} RenderSubject;

/* The forms of a report, in the order that help lists them. */
#define RENDER_FORMS(FORM)                                                                                   \
    FORM("text", render_text)                                                                                \
    FORM("markdown", render_markdown)                                                                        \
    FORM("html", render_html)                                                                                \
    FORM("json", render_json)                                                                                \
    FORM("csv", render_csv)                                                                                  \
    FORM("tables", render_tables)                                                                            \
    FORM("calendar", render_icalendar)

typedef struct RenderForm {
    const char *name;
    void (*render)(Text *out, const RenderSubject *subject);
} RenderForm;

const RenderForm *render_form_find(const char *name); /* NULL if there is none */
const RenderForm *render_form_at(int index);          /* NULL past the end */

#define FORM(name, render) void render(Text *out, const RenderSubject *subject);
RENDER_FORMS(FORM)
#undef FORM

/* Errors, notes and failed checks as JSON objects, with commas between them and after what `out` has: {file,
 * line, column, end_line, end, severity, id, message, hint, arguments}, and `trace` where calls led there. */
void render_json_errors(Text *out, const DiagList *errors);
/* What --check says of files, as JSON: {program, files, errors}. */
void render_json_check(Text *out, const char *program, const char *const *files, int file_count,
                       const Text *errors);

/* ---- shared by the forms ---- */

/* The events in order of date, those of one day in order of telling; an array of *count for mem_free. */
const Item **render_sorted_events(const Report *report, int *count);
/* 2027-02-14 */
void render_date(Text *out, double days);
/* The error that ended the run (not a failed check), or NULL. */
const Diag *render_error(const RenderSubject *subject);
/* The check that failed at `index` or the first after it, whose index it becomes; NULL when there is none.
 */
const Diag *render_failure(const RenderSubject *subject, int *index);
/* FILE:LINE:COLUMN of it; "" without a place. */
void render_place(Text *out, const Diag *diag);
/* FILE:LINE:COLUMN: message */
void render_diag(Text *out, const Diag *diag);
/* "show", "table", …, as JSON and CSV name it. */
const char *render_item_word(ItemType type);
/* The name of the unit a value is in; "" for plain numbers, dates and all that is not a quantity. */
const char *render_unit(const UnitTable *units, Value value);
/* `label [unit]`, or the label alone. */
void render_column_head(Text *out, const UnitTable *units, const TableColumn *column);
/* A shown value in words, its ± and what was drawn among them. True for a number that ends with its unit,
 * which goes to `unit` alone ("" for a plain number); false where all is said in `out`. */
bool render_shown(Text *out, const UnitTable *units, const Item *item, Text *unit);
void render_shown_text(Text *out, const UnitTable *units, const Item *item); /* the same in one text */
/* The label of a shown value, in one line: nothing where it has none, or would only repeat the value, which
 * is in `words` as it is shown. */
void render_label(Text *out, const Item *item, const char *words);
/* The standard uncertainty of a shown quantity where it is more than noise; else 0. */
double render_spread(const UnitTable *units, const Shown *shown);
/* A cell as it is read: the number without its unit, its uncertainty after it, nothing for none. Failed cells
 * are the caller's. */
void render_cell(Text *out, const UnitTable *units, const TableColumn *column, int row);
/* The value of an input as NAME=VALUE takes it, its ± among it: `1.05 ± 0.002 SG`. */
void render_input_value(Text *out, const UnitTable *units, const InputResult *input);
/* The same as it would be shown: `1.0500 ± 0.0020 SG`. */
void render_input_text(Text *out, const UnitTable *units, const InputResult *input);
/* A number, and not a date, which reads as a word: decides how a cell is aligned. */
bool render_is_number(Value value);
/* How many bytes of a shown number are before its decimal point, exponent or ±. */
size_t render_whole_length(const char *number);
/* A column of a table that holds a number, or nothing but cells that failed: it is aligned right. */
bool render_is_numeric(const TableResult *table, int column);
/* A value in full precision where it is a number; texts, dates and truths as they are shown; "" for none,
 * lists, records and liquids. */
void render_exact(Text *out, const UnitTable *units, Value value);
/* Adds text in one line: newlines and other control characters become spaces. */
void render_one_line(Text *out, const char *text);

/* The steps that led to a shown value, as plain text; no line is longer than `columns` (0: any) where it can
 * be broken. */
void render_working(Text *out, const Working *working, int columns);
bool render_has_working(const Working *working); /* is there anything to say? */
/* Do its steps that are not inside come after it, and not before: the conditions of a find, a turn's? */
bool render_steps_follow(const WorkingStep *step);
/* What is said of a step that is no equation: why, or which turn of a loop. NULL of any other. mem_free it,
 * and these. */
char *render_step_remark(const WorkingStep *step);
/* What the formula stands for, and its source; NULL: it calls none. */
char *render_step_about(const WorkingStep *step);
/* Where the steps of names it reads are; NULL without. */
char *render_working_earlier(const Working *working);
/* Is a step no more than the name of one before it, with the value that is there? Then it is left out. */
bool render_step_repeats(const WorkingStep *steps, int index);
/* What the ± comes from; NULL without. */
char *render_working_shares(const Working *working);

#endif
