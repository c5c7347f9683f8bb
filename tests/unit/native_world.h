/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests of natives need around a call: units, a heap, a context that counts; and values as short
 * texts: 'text, [a, b] a list, - left out, none, and anything else a quantity. */
#ifndef TESTS_UNIT_NATIVE_WORLD_H
#define TESTS_UNIT_NATIVE_WORLD_H

#include "facade/session.h"
#include "runtime/native.h"

typedef struct World {
    Session *session; /* whose library declares the natives */
    UnitTable *units; /* of the session, as the heap */
    Heap *heap;
    Fault fault;
    Registry registry;
    NativeContext context;
    UnitId crown, penny, ducat; /* moneys; a penny is 0.01 crown */
    int assumed, cautions;      /* how often each was called for */
} World;

void world_open(World *world);
void world_close(World *world);
Arith world_arith(World *world);

Value world_value(World *world, const char *text);
/* Calls a native as compiled code does: arguments left out get the defaults that the library declares, or are
 * absent. Asserts that the fault is set exactly when it fails. */
const Formula *world_formula(World *world, const char *name); /* of the library, or NULL */
bool world_call(World *world, const char *name, const Value *given, int count, Value *result);
/* The same for a name and its arguments as texts, which must not fail. */
Value world_make(World *world, const char *const *words, int count);
#define WORLD_MAKE(world, ...)                                                                               \
    world_make(world, (const char *const[]){__VA_ARGS__},                                                    \
               (int)(sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *)))
/* As `show` prints it; or "! " and the message; the caller frees it with mem_free. */
char *world_outcome(World *world, bool done, Value value);

typedef struct NativeRow {
    const char *name;
    const char *args[9];
    const char *want;
} NativeRow;

/* Each row's outcome as a text; a failing row reports itself. */
void world_check_rows(const NativeRow *rows, size_t count);
#define CHECK_ROWS(rows) world_check_rows(rows, sizeof(rows) / sizeof *(rows))

#endif
