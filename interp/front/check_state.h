/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of the check of kinds share. Private to check_*.c.
 *
 * A guess is a sample: a real value of the kind, in the unit, that the run would have there. The rules of
 * arithmetic are run on samples, so that what they say is what the run says. Absent is "not known". */
#ifndef RUNDLET_CHECK_STATE_H
#define RUNDLET_CHECK_STATE_H

#include "front/check_kinds.h"
#include "values/arith.h"

typedef struct Guess {
    Value value; /* TAG_ABSENT: not known */
    bool exact;  /* the very value of a run with default inputs, not just one like it */
} Guess;

typedef struct KnownName {
    const char *name;
    Guess guess;
} KnownName;

typedef struct NameList {
    KnownName *items;
    int count, capacity;
    NameMap
        places; /* name → item; kept for the top level only, where there may be many and each is there once */
} NameList;

typedef struct Checker {
    Registry *registry;
    Module *module;
    const Program *program;
    const CompileHost *host;
    DiagList *errors;
    Source *source;
    NameList locals;   /* innermost last */
    int first_local;   /* those before belong to a caller */
    NameList globals;  /* of the top level, as far as the walk has come */
    NameList declared; /* what a formula may find in each: all declarations of the name joined */
    NameMap formulas;  /* name → the statement of this file's formula */
    NameMap faulty;    /* names of this file's formulas that have errors: nothing is known of them */
    NameMap assigned;  /* names that some `x = …` changes: 1; 0 where `none` may come into it */
    bool collecting;   /* first walk: fills `declared`, reports nothing */
    bool in_formula;
    int depth;          /* 0: the top level */
    int guarded;        /* above 0: in a body, or after a condition, that a run may pass by */
    int silent;         /* above 0 nothing is reported */
    bool failed;        /* the statement has its error */
    bool refused;       /* it had one before: what it declares is not known */
    uint32_t *mistakes; /* where the errors are that were there before, in order */
    int mistake_count;
    int calls;               /* formulas being looked into */
    int steps;               /* expressions looked at inside called formulas */
    const KindCheck *result; /* what `give` must meet, or NULL */
} Checker;

/* ---- check_kinds.c: names ---- */
Guess checker_find(const Checker *c, const char *name);
void checker_declare(Checker *c, const char *name, Guess guess);
/* Names that a condition asks about (`x == none`, `kind(x) == …`) are not known where it has its say. Returns
 * what to hand to checker_forget. */
int checker_shadow_asked(Checker *c, const Node *condition);
/* The variables of a loop through a list, with `entries` of a record or a list; the second is reported only
 * then.
 */
Guess check_list_source(Checker *c, const Node *node, bool entries, Guess *second);
Guess check_find_value(Checker *c, const Node *node);
void checker_forget(Checker *c, int count); /* drops locals down to so many */
const FormulaTree *checker_formula_tree(const Checker *c, const Formula *formula);
/* A formula of this file with errors of syntax or names in it, or one of several that share a name. */
bool checker_formula_is_faulty(const Checker *c, const Formula *formula);

/* ---- check_expr.c ---- */
Guess check_expr(Checker *c, const Node *node);
void check_condition(Checker *c, const Node *node);
/* One of == … >= on two guesses; the result is always a truth. */
Guess check_comparison(Checker *c, Operator op, Guess left, Guess right, CodeSpan spans);
bool check_near(Checker *c, const Node *node, Span at);
/* A fault about kinds becomes the statement's error, any other is dropped; either way it is cleared. */
void check_report(Checker *c, Fault *fault, CodeSpan spans);
/* The same inside a formula; `call` fills the line that tells which call led there (PHRASE_IN_FORMULA): its
 * formula, and from where. */
void check_report_in(Checker *c, Fault *fault, Source *source, Span at, MessageArg *call);
void check_format(Checker *c, Guess guess, FormatSpec format, Span at);

/* ---- check_guess.c ---- */
static inline Guess guess_unknown(void) {
    return (Guess){.value = value_absent()};
}
static inline bool guess_known(Guess guess) {
    return guess.value.tag != TAG_ABSENT;
}
static inline Guess guess_exact(Value value) {
    return (Guess){.value = value, .exact = true};
}
Guess guess_of_unit(const Checker *c, UnitId unit);
Guess guess_of_check(const Checker *c, const KindCheck *check);
Guess guess_of_tag(const Checker *c, Tag tag); /* truth, text, list, record, liquid */
/* A computed value as a sample: of inexact ones the number means nothing and is replaced by a likely one. */
Guess guess_computed(const Checker *c, Value value, bool exact);
/* What holds for both; not known where they differ in kind. */
Guess guess_join(const Checker *c, Guess a, Guess b);
/* What is left when the value may be replaced by others of its kind. */
Guess guess_loosened(const Checker *c, Guess guess);
/* An item of a list; not known for an empty one. */
Guess guess_item(const Checker *c, Value list);
Guess guess_field(const Checker *c, Value record); /* what all fields of a record are; or not known */
Value guess_list_of(const Checker *c, Guess item); /* a list that holds it; empty when not known */

/* ---- check_call.c ---- */
Guess check_call(Checker *c, const Node *node);
/* Is this call's result certainly not `none`? */
bool check_call_gives(const Checker *c, const Node *node);

#endif
