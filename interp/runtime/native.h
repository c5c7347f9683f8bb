/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Formulas written in C. stdlib/ declares each (`formula abv(original is gravity, …) is strength = native
 * abv`): parameters, kinds, defaults, documentation; a row in a table of native_*.c has the function. */
#ifndef RUNDLET_NATIVE_H
#define RUNDLET_NATIVE_H

#include "values/arith.h"
#include "values/module.h"

typedef struct NativeContext {
    double today;             /* days since 1970-01-01 */
    bool today_used;          /* set by today(): it then counts as an input */
    const char *folder;       /* what read() may read lies below it; resolved, absolute */
    const Registry *registry; /* whose units and heap literals are read with */
    void *regex;              /* cache of compiled patterns, owned by native_text.c */
    /* What the report says, in words of a row; NULL where there is no report. */
    void (*assume)(void *context, MessageId id); /* lists an assumption, once */
    /* Both once a run, after the next item shown (docs/reference/language.md, "Output"). */
    void (*note)(void *context, MessageId id, MessageArg *args);
    /* As report_caution_topic: `topic` NULL for the words themselves, `id` MSG_NONE for a topic alone. */
    bool (*caution)(void *context, const char *topic, MessageId id, MessageArg *args);
    void *callback_context;
} NativeContext;

/* One call. All parameters are filled, and of the kinds declared: arguments left out are their defaults, or
 * TAG_ABSENT where the default is `none`. A variadic native sees `count` arguments.
 */
typedef struct Call {
    Arith arith;            /* units, heap, fault */
    const Formula *formula; /* the one called: its parameters for messages */
    const char *name;       /* the formula that messages name: where a part of others is called in stdlib, the
                               one that the script called */
    NativeContext *context;
    const Value *args;
    int count;
    const Module *module; /* whose code calls: its own units may be in texts and headings */
    Value result;
} Call;

/* Returns false after setting the fault (call->arith.fault; its `argument` says which one, from 1). */
typedef bool (*NativeFunction)(Call *call);

typedef struct Native {
    const char *name; /* what stdlib/ calls it */
    NativeFunction function;
} Native;

const Native *native_find(const char *name); /* NULL if none */

/* Checks the kinds of the arguments, calls the function, and lets no infinity and no NaN out. */
bool native_call(Call *call);

/* ---- helpers for natives: each sets a fault naming what was wanted, and what came ---- */
bool native_number(Call *call, int index, double *number); /* a plain number (% counts) */
/* Any quantity of that unit's kind, converted. */
bool native_in(Call *call, int index, UnitId unit, double *number);
/* An argument that is declared to be a text, a list, a liquid. */
static inline const TextObject *native_text(const Call *call, int index) {
    return call->args[index].as.text;
}
static inline const ListObject *native_list(const Call *call, int index) {
    return call->args[index].as.list;
}
/* Not const: a liquid keeps its volume once it was asked for. */
static inline LiquidObject *native_liquid(const Call *call, int index) {
    return call->args[index].as.liquid;
}
bool native_absent(const Call *call, int index);
/* As native_in, and within [low, high] of that unit; a hair (1e-9 of high) beyond is moved to the end. */
bool native_within(Call *call, int index, UnitId unit, double low, double high, double *number);
/* "NAME needs WANTED for PARAMETER, not WHAT CAME". */
bool native_wants(Call *call, int index, MessageArg wanted);
/* Places a fault set by arithmetic or conversion at an argument (from 0); returns false. */
bool native_place(Call *call, int index);
/* The result when it is a finite number, else the fault of an overflow. */
bool native_give(Call *call, double number, UnitId unit);
/* What a report says: see NativeContext. */
void native_assume(const Call *call, MessageId id);
void native_note(const Call *call, MessageId id, MessageArg *args);
bool native_caution(const NativeContext *context, const char *topic, MessageId id, MessageArg *args);
/* Sets a fault at an argument (index from 0, or -1 for the call); returns false. */
bool native_fail(Call *call, int index, MessageId id, MessageArg *args);

#endif
