/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files that make the working of a result share. Private to facade/working_*.c. */
#ifndef RUNDLET_WORKING_STATE_H
#define RUNDLET_WORKING_STATE_H

#include "facade/session_state.h"
#include "values/working.h"

typedef struct WorkingBuilder {
    Session *session;
    Recorder *recorder;
    int levels;         /* of formulas that are shown from within */
    bool *needed;       /* by record: of the search under way (working_needs) */
    int *told;          /* by record: the result its step came with, from 1; 0: none so far */
    bool *explained;    /* by formula: what it stands for was said before */
    bool *assumed;      /* by number of Recorder.assumed: likewise */
    NameMap units;      /* by name: it was said what a unit of the script is */
    NameMap defaults;   /* and what was taken for arguments left out */
    NameMap called;     /* calls that have a step, with the values they were called with */
    NameMap entered;    /* those that were shown from within */
    const Shown *shown; /* what is worked on; NULL for a column */
    int32_t result_at;
    int32_t shown_at; /* its record */
    int result;       /* the number of the one that is being worked on, from 1 */
} WorkingBuilder;

static inline const Record *working_record(const WorkingBuilder *b, int32_t number) {
    return &b->recorder->items[number];
}
static inline const Mark *working_mark(const WorkingBuilder *b, int32_t number) {
    return recorder_mark_of(&b->recorder->items[number]);
}

/* ---- working_values.c ---- */

/* The source text of a span of the record's chunk, on one line. mem_free it. */
char *working_source(const Record *record, Span span);
/* As it prints; a list by its first items. mem_free it. */
char *working_value(const WorkingBuilder *b, Value value, FormatSpec format);
/* Fills with_values with what the records after `from` up to `to` read, in so many digits that it gives
 * step->value; or sets `rounded`. */
void working_fill_values(const WorkingBuilder *b, int32_t from, int32_t to, WorkingStep *step);
/* Does the text, an expression of the script's names with nothing but values in it, give that value as it
 * prints? */
bool working_gives(const WorkingBuilder *b, const char *text, Value value);
/* Names that an expression did not come to read have the values they ended with. */
void working_bind_globals(const WorkingBuilder *b);
/* The same as a script would write it. */
char *working_literal(const WorkingBuilder *b, Value value);
/* Is it a value as a script writes it, and no more? */
bool working_is_literal(const char *text);

/* ---- working_needs.c ---- */

/* The records that a result depends on, itself last, in order. */
typedef struct WorkingNeeds {
    int32_t *items;
    int count, capacity;
} WorkingNeeds;
/* Of the steps within a formula, with `after`: only records from there on. */
WorkingNeeds working_needs(const WorkingBuilder *b, const int32_t *results, int count, int32_t after);

/* The first record of a find: the sides of its conditions come before what it found. */
int32_t working_find_start(const WorkingBuilder *b, int32_t found);

/* ---- working_parts.c ---- */

/* The table of a pour, which the sum from one record to another is, if it is one. */
void working_fill_pour(const WorkingBuilder *b, int32_t from, int32_t to, WorkingStep *step);
/* Is the sum that ends there a part of a longer one? */
bool working_is_inner_sum(const WorkingBuilder *b, int32_t to, int32_t end);
/* What was taken for granted from one record to another, and not said before. */
void working_fill_assumptions(WorkingBuilder *b, int32_t from, int32_t to, WorkingStep *step);
/* The same for arguments that a call leaves out. */
void working_fill_defaults(WorkingBuilder *b, const Mark *call, WorkingStep *step);
/* Puts first what the script's own units are that its steps are in, each once in a run. */
void working_add_units(WorkingBuilder *b, Working *working);
/* The largest sources of a shown value's ±. */
void working_fill_shares(const WorkingBuilder *b, const Shown *shown, Working *working);

#endif
