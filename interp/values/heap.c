/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Objects, interned texts, mark and sweep. */
#include "values/heap.h"

#include <string.h>

#include "base/mem.h"

enum { FIRST_THRESHOLD = 1 << 20, INTERN_FIRST = 256 };

Heap *heap_new(size_t limit) {
    Heap *heap = mem_alloc(sizeof *heap);
    heap->limit = limit;
    heap->threshold = FIRST_THRESHOLD;
    heap->interned.capacity = INTERN_FIRST;
    heap->interned.slots = mem_array(INTERN_FIRST, sizeof(TextObject *));
    return heap;
}

static size_t object_size(const Object *object) {
    switch ((Tag)object->tag) {
    case TAG_TEXT:
        return sizeof(TextObject) + ((const TextObject *)(const void *)object)->length + 1;
    case TAG_LIST:
        return sizeof(ListObject) + ((const ListObject *)(const void *)object)->count * sizeof(Value);
    case TAG_RECORD:
        return sizeof(RecordObject) +
               ((const RecordObject *)(const void *)object)->count * sizeof(struct Field);
    case TAG_LIQUID:
    default:
        return sizeof(LiquidObject);
    }
}

void heap_free(Heap *heap) {
    if (!heap)
        return;
    for (Object *object = heap->objects; object;) {
        Object *next = object->next;
        mem_free(object);
        object = next;
    }
    mem_free(heap->interned.slots);
    mem_free(heap);
}

bool heap_allows(Heap *heap, size_t more_bytes, Fault *fault) {
    size_t held = heap->bytes + heap->outside;
    bool fits = !heap->limit || (more_bytes <= heap->limit && held <= heap->limit - more_bytes);
    if (fits && more_bytes <= UINT32_MAX) /* objects count their bytes and items in 32 bits */
        return true;
    return fault_set(fault, MSG_MEMORY_LIMIT, NO_ARGS);
}

bool heap_watch(Heap *heap, Fault *fault) {
    heap->watch.steps_left = WATCH_STEPS;
    return !heap->watch.holds || heap->watch.holds(heap->watch.context, fault);
}

static void *object_new(Heap *heap, size_t size, Tag tag) {
    Object *object = mem_alloc(size);
    object->tag = (uint8_t)tag;
    object->next = heap->objects;
    heap->objects = object;
    heap->bytes += size;
    return object;
}

/* ---- texts ---- */

static TextObject *text_object_new(Heap *heap, const char *bytes, size_t length) {
    TextObject *text = object_new(heap, sizeof(TextObject) + length + 1, TAG_TEXT);
    text->length = (uint32_t)length;
    if (length)
        memcpy(text->bytes, bytes, length);
    return text;
}

static TextObject **intern_slot(Heap *heap, const char *bytes, size_t length, uint64_t hash) {
    uint32_t mask = heap->interned.capacity - 1;
    for (uint32_t at = (uint32_t)hash & mask;; at = (at + 1) & mask) {
        TextObject **slot = &heap->interned.slots[at];
        bool same = *slot && (*slot)->hash == hash && (*slot)->length == length &&
                    memcmp((*slot)->bytes, bytes, length) == 0;
        if (!*slot || same)
            return slot;
    }
}

static void intern_resize(Heap *heap, uint32_t capacity) {
    TextObject **old = heap->interned.slots;
    uint32_t old_capacity = heap->interned.capacity;
    heap->interned.slots = mem_array(capacity, sizeof(TextObject *));
    heap->interned.capacity = capacity;
    heap->interned.count = 0;
    for (uint32_t i = 0; i < old_capacity; i++) {
        if (!old[i])
            continue;
        *intern_slot(heap, old[i]->bytes, old[i]->length, old[i]->hash) = old[i];
        heap->interned.count++;
    }
    mem_free(old);
}

TextObject *text_object_intern(Heap *heap, const char *bytes, size_t length) {
    uint64_t hash = text_hash(bytes, length);
    TextObject **slot = intern_slot(heap, bytes, length, hash);
    if (*slot)
        return *slot;
    TextObject *text = text_object_new(heap, bytes, length);
    text->hash = hash;
    text->interned = true;
    *slot = text;
    if (++heap->interned.count * 2 > heap->interned.capacity)
        intern_resize(heap, heap->interned.capacity * 2);
    return text;
}

/* ---- lists, records, liquids ---- */

ListObject *list_new(Heap *heap, uint32_t count) {
    ListObject *list = object_new(heap, sizeof(ListObject) + count * sizeof(Value), TAG_LIST);
    list->count = count;
    for (uint32_t i = 0; i < count; i++)
        list->items[i] = value_none();
    return list;
}

RecordObject *record_new(Heap *heap, uint32_t count) {
    RecordObject *record = object_new(heap, sizeof(RecordObject) + count * sizeof(struct Field), TAG_RECORD);
    record->count = count;
    for (uint32_t i = 0; i < count; i++)
        record->fields[i].value = value_none();
    return record;
}

LiquidObject *liquid_new(Heap *heap, const Liquid *liquid, UnitId money) {
    LiquidObject *object = object_new(heap, sizeof(LiquidObject), TAG_LIQUID);
    object->liquid = *liquid;
    object->money = money;
    return object;
}

Value value_of_text(TextObject *text) {
    return (Value){.as.text = text, .tag = TAG_TEXT, .unit = 0};
}

Value value_of_list(ListObject *list) {
    return (Value){.as.list = list, .tag = TAG_LIST, .unit = 0};
}

Value value_of_record(RecordObject *record) {
    return (Value){.as.record = record, .tag = TAG_RECORD, .unit = 0};
}

Value value_of_liquid(LiquidObject *liquid) {
    return (Value){.as.liquid = liquid, .tag = TAG_LIQUID, .unit = 0};
}

Value value_text(Heap *heap, const char *bytes, size_t length) {
    return value_of_text(text_object_new(heap, bytes, length));
}

Value value_string(Heap *heap, const char *string) {
    return value_text(heap, string, strlen(string));
}

const Value *record_find(const RecordObject *record, const TextObject *name) {
    for (uint32_t i = 0; i < record->count; i++)
        if (record->fields[i].name == name)
            return &record->fields[i].value;
    return NULL;
}

const Value *record_find_string(const RecordObject *record, const char *name) {
    for (uint32_t i = 0; i < record->count; i++)
        if (strcmp(record->fields[i].name->bytes, name) == 0)
            return &record->fields[i].value;
    return NULL;
}

/* ---- collection ---- */

/* Objects whose insides are still to be walked: nesting may be as deep as a script likes without using the C
 * stack. */
typedef struct MarkStack {
    Object **items;
    int count;
    int capacity;
} MarkStack;

static void push_mark(MarkStack *stack, Object *object) {
    if (object->marked)
        return;
    object->marked = true;
    if (object->tag != TAG_LIST && object->tag != TAG_RECORD)
        return; /* nothing inside */
    MEM_GROW(stack->items, stack->count, stack->capacity);
    stack->items[stack->count++] = object;
}

static void push_value(MarkStack *stack, Value value) {
    if (value_is_object(value))
        push_mark(stack, value.as.object);
}

static void mark_inside(MarkStack *stack, Object *object) {
    if (object->tag == TAG_LIST) {
        ListObject *list = (ListObject *)(void *)object;
        for (uint32_t i = 0; i < list->count; i++)
            push_value(stack, list->items[i]);
    } else {
        RecordObject *record = (RecordObject *)(void *)object;
        for (uint32_t i = 0; i < record->count; i++) {
            if (record->fields[i].name)
                record->fields[i].name->object.marked = true;
            push_value(stack, record->fields[i].value);
        }
    }
}

void heap_mark(Value value) {
    MarkStack stack = {0};
    push_value(&stack, value);
    while (stack.count)
        mark_inside(&stack, stack.items[--stack.count]);
    mem_free(stack.items);
}

static void drop_unmarked_interned(Heap *heap) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < heap->interned.capacity; i++) {
        TextObject *text = heap->interned.slots[i];
        if (text && !text->object.marked)
            heap->interned.slots[i] = NULL;
        else if (text)
            kept++;
    }
    if (kept != heap->interned.count) /* probing needs chains without holes */
        intern_resize(heap, heap->interned.capacity);
}

void heap_sweep(Heap *heap) {
    drop_unmarked_interned(heap);
    for (Object **link = &heap->objects; *link;) {
        Object *object = *link;
        if (object->marked) {
            object->marked = false;
            link = &object->next;
            continue;
        }
        *link = object->next;
        heap->bytes -= object_size(object);
        mem_free(object);
    }
    heap->threshold = heap->bytes * 2 > FIRST_THRESHOLD ? heap->bytes * 2 : FIRST_THRESHOLD;
    if (heap->limit && heap->threshold > heap->limit)
        heap->threshold = heap->limit;
}
