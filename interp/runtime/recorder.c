/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "runtime/recorder.h"

#include <string.h>

#include "base/mem.h"

enum {
    RECORDS_MOST = 200000,
    CALL_RECORDS_MOST = 5000 /* of a call that did more, what it did is not kept */
};

/* What is known of a frame: record numbers + 1, 0 for none. */
typedef struct FrameNames {
    int32_t *locals; /* by register: who defined it */
    int local_count;
    int32_t *decided; /* by mark: what a condition came to, or the list of a loop */
    int decided_count;
} FrameNames;

typedef struct OpenTurn {
    const Chunk *chunk;
    int32_t mark;
    int depth, turn;
    int32_t begun; /* the record at which the latest turn began */
} OpenTurn;

Recorder *recorder_new(void) {
    Recorder *recorder = mem_alloc(sizeof *recorder);
    *recorder = (Recorder){0};
    return recorder;
}

void recorder_clear(Recorder *recorder) {
    for (int i = 0; i < recorder->frame_count; i++) {
        mem_free(recorder->frames[i].locals);
        mem_free(recorder->frames[i].decided);
    }
    mem_free(recorder->frames);
    mem_free(recorder->globals);
    mem_free(recorder->turns);
    mem_free(recorder->begun);
    mem_free(recorder->assumed);
    mem_free(recorder->items);
    *recorder = (Recorder){.serials = recorder->serials};
}

void recorder_free(Recorder *recorder) {
    if (recorder)
        recorder_clear(recorder);
    mem_free(recorder);
}

void recorder_mark(const Recorder *recorder) {
    for (int32_t i = 0; i < recorder->count; i++) {
        heap_mark(recorder->items[i].value);
        heap_mark(recorder->items[i].redone);
    }
}

int32_t recorder_find(const Recorder *recorder, int64_t serial) {
    int32_t low = 0, high = recorder->count;
    while (low < high) {
        int32_t middle = low + (high - low) / 2;
        if (recorder->items[middle].serial < serial)
            low = middle + 1;
        else
            high = middle;
    }
    return low < recorder->count && recorder->items[low].serial == serial ? low : -1;
}

/* ---- what is known of names and conditions ---- */

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
    return slot_in(&names->locals, &names->local_count, mark->reg);
}

static int32_t *decided_of(Recorder *recorder, int32_t mark, int depth) {
    FrameNames *names = names_of(recorder, depth);
    return slot_in(&names->decided, &names->decided_count, mark);
}

static void forget_after(int32_t *items, int count, int32_t from) {
    for (int i = 0; i < count; i++)
        if (items[i] > from)
            items[i] = 0;
}

/* What a formula called before has left in its frame is over. */
static void forget_frame(Recorder *recorder, int depth) {
    if (depth < recorder->frame_count) {
        forget_after(recorder->frames[depth].locals, recorder->frames[depth].local_count, 0);
        forget_after(recorder->frames[depth].decided, recorder->frames[depth].decided_count, 0);
    }
    while (recorder->turn_count && recorder->turns[recorder->turn_count - 1].depth >= depth)
        recorder->turn_count--;
}

/* ---- loops ---- */

/* Records from one on are dropped, with all that is known from them. */
static void drop_from(Recorder *recorder, int32_t from) {
    forget_after(recorder->globals, recorder->global_count, from);
    for (int i = 0; i < recorder->frame_count; i++) {
        forget_after(recorder->frames[i].locals, recorder->frames[i].local_count, from);
        forget_after(recorder->frames[i].decided, recorder->frames[i].decided_count, from);
    }
    while (recorder->begun_count && recorder->begun[recorder->begun_count - 1] >= from)
        recorder->begun_count--;
    while (recorder->assumed_count && recorder->assumed[recorder->assumed_count - 1].before >= from)
        recorder->assumed_count--;
    recorder->count = from;
}

/* The loop under way in the frame; the ones that were left from within are over. NULL: it is none. */
static OpenTurn *open_loop(Recorder *recorder, const Record *record) {
    int at = recorder->turn_count - 1;
    while (at >= 0 && recorder->turns[at].depth >= record->depth) {
        OpenTurn *turn = &recorder->turns[at];
        if (turn->depth == record->depth && turn->chunk == record->chunk && turn->mark == record->mark) {
            recorder->turn_count = at + 1;
            return turn;
        }
        at--;
    }
    return NULL;
}

/* A turn begins: the one before it goes, unless it was the first. */
static void begin_turn(Recorder *recorder, Record *record) {
    OpenTurn *open = open_loop(recorder, record);
    if (!open) {
        MEM_GROW(recorder->turns, recorder->turn_count, recorder->turn_capacity);
        open = &recorder->turns[recorder->turn_count++];
        *open = (OpenTurn){.chunk = record->chunk, .mark = record->mark, .depth = record->depth};
    } else if (open->turn > 1) {
        drop_from(recorder, open->begun);
    }
    open->begun = recorder->count;
    record->turn = ++open->turn;
}

static void end_turns(Recorder *recorder, Record *record) {
    const OpenTurn *open = open_loop(recorder, record);
    record->turn = open ? open->turn : 0;
    recorder->turn_count -= open != NULL;
}

/* The turn that the frame is in; -1: none. */
static int32_t turn_under_way(const Recorder *recorder, const Record *record) {
    int32_t loop = recorder_mark_of(record)->loop;
    for (int i = recorder->turn_count - 1; i >= 0 && loop >= 0; i--) {
        const OpenTurn *turn = &recorder->turns[i];
        if (turn->depth == record->depth && turn->chunk == record->chunk && turn->mark == loop)
            return turn->begun;
    }
    return -1;
}

/* ---- adding ---- */

/* The record at which this one began, which waits no longer. */
static int32_t end_begun(Recorder *recorder, const Record *record) {
    for (int i = recorder->begun_count - 1; i >= 0; i--) {
        const Record *begun = &recorder->items[recorder->begun[i]];
        if (begun->depth < record->depth)
            return -1;
        if (begun->depth == record->depth && begun->chunk == record->chunk && begun->mark == record->mark) {
            recorder->begun_count = i;
            return recorder->begun[i];
        }
    }
    return -1;
}

static void fill(Recorder *recorder, Record *record, const Mark *mark) {
    if (mark->role == MARK_TURN && record->phase == MARK_BEGIN) {
        begin_turn(recorder, record);
        record->definer = mark->list < 0 ? -1 : *decided_of(recorder, mark->list, record->depth) - 1;
    } else if (mark->role == MARK_TURN) {
        end_turns(recorder, record);
    } else if (mark->role == MARK_READ) {
        const int32_t *definer = definer_of(recorder, mark, record->depth);
        record->definer = definer ? *definer - 1 : -1;
    } else if (record->phase != MARK_BEGIN && mark->role != MARK_PART && mark->role != MARK_TAKEN) {
        record->begun = end_begun(recorder, record);
        if (mark->role == MARK_CALL && record->begun >= 0 &&
            recorder->count - record->begun > CALL_RECORDS_MOST)
            drop_from(recorder, record->begun + 1);
    }
    if (mark->inside >= 0)
        record->inside = *decided_of(recorder, mark->inside, record->depth) - 1;
    record->turn_of = turn_under_way(recorder, record);
}

/* What follows from a record that was just added. */
static void learn(Recorder *recorder, const Record *record, const Mark *mark) {
    bool begins = record->phase == MARK_BEGIN;
    if (mark->role == MARK_CALL && begins)
        forget_frame(recorder, record->depth + 1);
    if ((mark->role == MARK_CONDITION || mark->role == MARK_LIST) && !begins)
        *decided_of(recorder, record->mark, record->depth) = recorder->count;
    if ((mark->role == MARK_SHOW || mark->role == MARK_COLUMN) && !begins)
        recorder->shown = record->serial;
    if (begins && mark->role != MARK_TURN) {
        MEM_GROW(recorder->begun, recorder->begun_count, recorder->begun_capacity);
        recorder->begun[recorder->begun_count++] = recorder->count - 1;
    }
    bool defines = mark->role == MARK_TURN ? begins : mark->name && mark->role < MARK_HOLDS && !begins;
    int32_t *definer = defines ? definer_of(recorder, mark, record->depth) : NULL;
    if (definer)
        *definer = recorder->count;
}

void recorder_add(Recorder *recorder, const Chunk *chunk, int32_t number, MarkPhase phase, int depth,
                  Value value) {
    const Mark *mark = &chunk->marks[number];
    Record record = {.chunk = chunk,
                     .serial = ++recorder->serials,
                     .mark = number,
                     .phase = phase,
                     .depth = depth,
                     .value = phase == MARK_DONE || mark->role == MARK_TURN ? value : value_absent(),
                     .redone = value_absent(),
                     .begun = -1,
                     .definer = -1,
                     .inside = -1,
                     .turn_of = -1,
                     .beside = recorder->beside};
    bool side = mark->role == MARK_SIDE && phase == MARK_DONE && depth == recorder->beside_depth;
    if (recorder->beside && !side)
        return;
    fill(recorder, &record, mark);
    recorder->full = recorder->full || recorder->count == RECORDS_MOST;
    if (recorder->full) {
        recorder->shown = 0;
        return;
    }
    MEM_GROW(recorder->items, recorder->count, recorder->capacity);
    recorder->items[recorder->count++] = record;
    learn(recorder, &record, mark);
}

void recorder_assume(Recorder *recorder, int id) {
    if (recorder->full || recorder->beside)
        return;
    MEM_GROW(recorder->assumed, recorder->assumed_count, recorder->assumed_capacity);
    recorder->assumed[recorder->assumed_count++] = (Assumed){.before = recorder->count, .id = id};
}
