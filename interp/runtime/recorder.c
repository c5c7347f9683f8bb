/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "runtime/recorder.h"

#include <string.h>

#include "base/mem.h"

enum { RECORDS_MOST = 200000 };

/* By register: the record that defined the local + 1. */
typedef struct FrameNames {
    int32_t *locals;
    int count;
} FrameNames;

Recorder *recorder_new(void) {
    Recorder *recorder = mem_alloc(sizeof *recorder);
    *recorder = (Recorder){0};
    return recorder;
}

void recorder_clear(Recorder *recorder) {
    for (int i = 0; i < recorder->frame_count; i++)
        mem_free(recorder->frames[i].locals);
    mem_free(recorder->frames);
    mem_free(recorder->globals);
    mem_free(recorder->items);
    *recorder = (Recorder){0};
}

void recorder_free(Recorder *recorder) {
    if (recorder)
        recorder_clear(recorder);
    mem_free(recorder);
}

void recorder_mark(const Recorder *recorder) {
    for (int32_t i = 0; i < recorder->count; i++)
        heap_mark(recorder->items[i].value);
}

/* ---- who defined a name ---- */

static int32_t *slot_in(int32_t **items, int *count, int index) {
    if (index >= *count) {
        int more = index + 16;
        *items = mem_resize_array(*items, (size_t)more, sizeof **items);
        memset(*items + *count, 0, (size_t)(more - *count) * sizeof **items);
        *count = more;
    }
    return &(*items)[index];
}

static FrameNames *names_of(Recorder *recorder, int depth) {
    if (depth >= recorder->frame_count) {
        recorder->frames = mem_resize_array(recorder->frames, (size_t)depth + 1, sizeof *recorder->frames);
        memset(recorder->frames + recorder->frame_count, 0,
               (size_t)(depth + 1 - recorder->frame_count) * sizeof *recorder->frames);
        recorder->frame_count = depth + 1;
    }
    return &recorder->frames[depth];
}

/* NULL: the mark is of no name. */
static int32_t *definer_of(Recorder *recorder, const Mark *mark, int depth) {
    if (mark->global >= 0)
        return slot_in(&recorder->globals, &recorder->global_count, mark->global);
    if (mark->reg < 0)
        return NULL;
    FrameNames *names = names_of(recorder, depth);
    return slot_in(&names->locals, &names->count, mark->reg);
}

/* What a formula called before has defined in its frame is over. */
static void forget_frame(Recorder *recorder, int depth) {
    if (depth >= recorder->frame_count)
        return;
    FrameNames *names = &recorder->frames[depth];
    memset(names->locals, 0, (size_t)names->count * sizeof *names->locals);
}

/* ---- loops ---- */

static void forget_after(int32_t *items, int count, int32_t from) {
    for (int i = 0; i < count; i++)
        if (items[i] > from)
            items[i] = 0;
}

/* Records from one on are dropped: what they defined has no definer. */
static void drop_from(Recorder *recorder, int32_t from) {
    forget_after(recorder->globals, recorder->global_count, from);
    for (int i = 0; i < recorder->frame_count; i++)
        forget_after(recorder->frames[i].locals, recorder->frames[i].count, from);
    recorder->count = from;
}

/* The last record of a mark in the same frame; -1: there is none. `phase`: of this one only. */
static int32_t last_of(const Recorder *recorder, const Chunk *chunk, int32_t mark, int depth, bool begun) {
    for (int32_t i = recorder->count - 1; i >= 0; i--) {
        const Record *record = &recorder->items[i];
        if (record->depth < depth)
            return -1;
        if (record->depth == depth && record->chunk == chunk && record->mark == mark &&
            (record->phase == MARK_BEGIN) == begun)
            return i;
    }
    return -1;
}

/* A turn begins: the one before it goes, unless it was the first. Its number. */
static int open_turn(Recorder *recorder, const Chunk *chunk, int32_t mark, int depth) {
    int32_t before = last_of(recorder, chunk, mark, depth, true);
    int32_t over = last_of(recorder, chunk, mark, depth, false);
    if (before < 0 || over > before)
        return 1;
    int turn = recorder->items[before].turn;
    if (turn > 1)
        drop_from(recorder, before);
    return turn + 1;
}

/* ---- adding ---- */

static void fill(Recorder *recorder, Record *record, const Mark *mark) {
    if (mark->role == MARK_TURN && record->phase == MARK_BEGIN) {
        record->turn = open_turn(recorder, record->chunk, record->mark, record->depth);
    } else if (mark->role == MARK_TURN) {
        int32_t last = last_of(recorder, record->chunk, record->mark, record->depth, true);
        record->turn = last < 0 ? 0 : recorder->items[last].turn;
    } else if (mark->role == MARK_READ) {
        const int32_t *definer = definer_of(recorder, mark, record->depth);
        record->definer = definer ? *definer - 1 : -1;
    } else if (record->phase != MARK_BEGIN) {
        record->begun = last_of(recorder, record->chunk, record->mark, record->depth, true);
    }
    if (record->phase == MARK_BEGIN && mark->inside >= 0)
        record->inside = last_of(recorder, record->chunk, mark->inside, record->depth, false);
}

void recorder_add(Recorder *recorder, const Chunk *chunk, int32_t number, MarkPhase phase, int depth,
                  Value value) {
    const Mark *mark = &chunk->marks[number];
    Record record = {.chunk = chunk,
                     .mark = number,
                     .phase = phase,
                     .depth = depth,
                     .value = phase == MARK_DONE || mark->role == MARK_TURN ? value : value_absent(),
                     .begun = -1,
                     .definer = -1,
                     .inside = -1};
    recorder->full = recorder->full || recorder->count == RECORDS_MOST;
    if (recorder->full)
        return;
    fill(recorder, &record, mark);
    MEM_GROW(recorder->items, recorder->count, recorder->capacity);
    recorder->items[recorder->count++] = record;
    if (mark->role == MARK_CALL && phase == MARK_BEGIN)
        forget_frame(recorder, depth + 1);
    bool defines = mark->role != MARK_READ && mark->role != MARK_CALL &&
                   (phase == MARK_DONE || mark->role == MARK_TURN);
    int32_t *definer = defines ? definer_of(recorder, mark, depth) : NULL;
    if (definer)
        *definer = recorder->count;
}
