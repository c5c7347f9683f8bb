/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Heap objects: texts, lists, records, liquids. See value.h for the memory rule. */
#ifndef RUNDLET_HEAP_H
#define RUNDLET_HEAP_H

#include <stddef.h>
#include "physics/liquid.h"
#include "values/value.h"

struct Object {
    Object *next; /* all objects of a heap */
    uint8_t tag;  /* TAG_TEXT … */
    bool marked;
};

struct TextObject {
    Object object;
    uint32_t length;
    bool interned; /* the one object of these bytes: compare by address */
    uint64_t hash; /* 0: not computed yet */
    char bytes[];  /* NUL-terminated */
};

struct ListObject {
    Object object;
    uint32_t count;
    Value items[];
};

struct RecordObject {
    Object object;
    uint32_t count;
    struct Field {
        TextObject *name;
        Value value;
    } fields[]; /* names interned, in order of writing */
};

struct LiquidObject {
    Object object;
    Liquid liquid;
    UnitId money; /* unit of liquid.cost; 0 when it has none */
    /* The units it was measured in, in which its volume and mass are shown; UNIT_NUMBER: L and kg, as nobody
     * said (liquid_new leaves these). They are not part of what it is. */
    UnitId volume_unit, mass_unit;
    double volume_l; /* kept by liquid_value_volume_l; 0: not asked for yet (liquid_new leaves 0) */
};

/* The clock and the key that stop a run. Whatever works long between two instructions (comparing, showing and
 * sorting large lists, patterns) counts its steps with heap_work, so that they are looked at in time. */
typedef struct Watch {
    bool (*holds)(void *context, Fault *fault); /* NULL: nobody watches */
    void *context;
    long steps_left; /* until the next look */
} Watch;

typedef struct Heap Heap;
struct Heap {
    Object *objects;
    size_t bytes;     /* in use, objects only */
    size_t threshold; /* collect above this */
    size_t limit;     /* refuse above this; 0: none */
    bool stress;      /* collect at every chance (tests) */
    size_t
        outside; /* bytes that a run holds beside objects: lists and tables under way, registers, results */
    Watch watch;
    struct InternTable {
        TextObject **slots;
        uint32_t capacity;
        uint32_t count;
    } interned;
};

Heap *heap_new(size_t limit);
void heap_free(Heap *heap);
static inline bool heap_wants_collection(const Heap *heap) {
    return heap->bytes > heap->threshold || heap->stress;
}
/* Start a collection, mark every root, finish it. */
void heap_mark(Value value);
void heap_sweep(Heap *heap);
/* Would so many more bytes pass the limit? Natives that build something large ask first; every constructor
 * below may be called without asking for small things. Sets MSG_MEMORY_LIMIT and returns false. */
bool heap_allows(Heap *heap, size_t more_bytes, Fault *fault);
/* Steps of some ten nanoseconds. False when the run is to stop, and the fault says why. */
enum { WATCH_STEPS = 100000 };
bool heap_watch(Heap *heap, Fault *fault);
static inline bool heap_work(Heap *heap, size_t steps, Fault *fault) {
    heap->watch.steps_left -= steps < WATCH_STEPS ? (long)steps : WATCH_STEPS;
    return heap->watch.steps_left > 0 || heap_watch(heap, fault);
}

TextObject *text_object_intern(Heap *heap, const char *bytes,
                               size_t length);        /* for field names and constants */
ListObject *list_new(Heap *heap, uint32_t count);     /* items are none until filled */
RecordObject *record_new(Heap *heap, uint32_t count); /* fields to be filled: names by text_object_intern */
LiquidObject *liquid_new(Heap *heap, const Liquid *liquid, UnitId money);

Value value_text(Heap *heap, const char *bytes, size_t length);
Value value_string(Heap *heap, const char *string);
Value value_of_text(TextObject *text);
Value value_of_list(ListObject *list);
Value value_of_record(RecordObject *record);
Value value_of_liquid(LiquidObject *liquid);

/* The value of a field, or NULL. `name` interned. */
const Value *record_find(const RecordObject *record, const TextObject *name);
const Value *record_find_string(const RecordObject *record, const char *name);

#endif
