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

enum { KEPT_TURNS_MOST = 8, LIST_TURNS = 3 /* of a list made with `for`, so many items come first */ };

typedef struct OpenTurn {
    const Chunk *chunk;
    int32_t mark;
    int depth, turn;
    int32_t begun; /* the record at which the latest turn began */
    struct KeptTurn {
        int32_t from, to;
    } kept[KEPT_TURNS_MOST]; /* earlier ones that gave a name outside the loop the value it has */
    int kept_count;
} OpenTurn;

Recorder *recorder_new(void) {
    Recorder *recorder = mem_alloc(sizeof *recorder);
    *recorder = (Recorder){.deepest = -1};
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
    *recorder = (Recorder){.serials = recorder->serials, .paused = recorder->paused, .deepest = -1};
}

void recorder_give_up(Recorder *recorder) {
    recorder_clear(recorder);
    recorder->full = true;
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

int64_t recorder_shown(const Recorder *recorder, const Chunk *chunk, int depth) {
    for (int32_t i = recorder->count - 1; i >= 0 && !recorder->full; i--) {
        const Record *record = &recorder->items[i];
        MarkRole role = recorder_mark_of(record)->role;
        if (record->depth < depth)
            return 0;
        if (record->depth == depth && record->chunk == chunk && record->phase == MARK_DONE &&
            (role == MARK_SHOW || role == MARK_COLUMN))
            return record->serial;
    }
    return 0;
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
    recorder->deepest = depth > recorder->deepest ? depth : recorder->deepest;
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

/* What formulas called before have left in their frames, from one on, is over. */
static void forget_frames(Recorder *recorder, int depth) {
    for (int i = depth; i <= recorder->deepest; i++) {
        forget_after(recorder->frames[i].locals, recorder->frames[i].local_count, 0);
        forget_after(recorder->frames[i].decided, recorder->frames[i].decided_count, 0);
    }
    recorder->deepest = depth - 1 < recorder->deepest ? depth - 1 : recorder->deepest;
    while (recorder->turn_count && recorder->turns[recorder->turn_count - 1].depth >= depth)
        recorder->turn_count--;
}

/* ---- loops ---- */

/* Where a record is once those from `from` to `to` are gone; -1: it is one of them. */
static int32_t moved_down(int32_t index, int32_t from, int32_t to) {
    return index < from ? index : index < to ? -1 : index - (to - from);
}

static void move_slots(int32_t *slots, int count, int32_t from, int32_t to) {
    for (int i = 0; i < count; i++)
        if (slots[i] > from)
            slots[i] = moved_down(slots[i] - 1, from, to) + 1;
}

static int32_t move_list(int32_t *items, int count, int32_t from, int32_t to) {
    int kept = 0;
    for (int i = 0; i < count; i++) {
        int32_t index = moved_down(items[i], from, to);
        if (index >= 0)
            items[kept++] = index;
    }
    return kept;
}

static void move_assumed(Recorder *recorder, int32_t from, int32_t to) {
    int first = recorder->assumed_count;
    while (first > 0 && recorder->assumed[first - 1].before > from)
        first--;
    int kept = first;
    for (int i = first; i < recorder->assumed_count; i++) {
        Assumed assumed = recorder->assumed[i];
        if (assumed.before <= to)
            continue;
        assumed.before -= to - from;
        recorder->assumed[kept++] = assumed;
    }
    recorder->assumed_count = kept;
}

/* The records from one up to another go, with all that is known from them. */
static void remove_range(Recorder *recorder, int32_t from, int32_t to) {
    move_slots(recorder->globals, recorder->global_count, from, to);
    for (int i = 0; i <= recorder->deepest; i++) {
        move_slots(recorder->frames[i].locals, recorder->frames[i].local_count, from, to);
        move_slots(recorder->frames[i].decided, recorder->frames[i].decided_count, from, to);
    }
    recorder->begun_count = move_list(recorder->begun, recorder->begun_count, from, to);
    move_assumed(recorder, from, to);
    for (int32_t i = to; i < recorder->count; i++) {
        Record record = recorder->items[i];
        record.begun = moved_down(record.begun, from, to);
        record.definer = moved_down(record.definer, from, to);
        record.inside = moved_down(record.inside, from, to);
        record.turn_of = moved_down(record.turn_of, from, to);
        recorder->items[from + i - to] = record;
    }
    recorder->count -= to - from;
}

static void drop_from(Recorder *recorder, int32_t from) {
    remove_range(recorder, from, recorder->count);
}

/* Was a name that outlives the loop given the value it has by a record in that range? */
static bool has_lasting(const Recorder *recorder, const int32_t *slots, int count, int32_t from, int32_t to,
                        int depth) {
    for (int i = 0; i < count; i++) {
        int32_t definer = slots[i] - 1;
        if (definer < from || definer >= to)
            continue;
        const Mark *mark = recorder_mark_of(&recorder->items[definer]);
        if (mark->role == MARK_ASSIGN && mark->declared <= depth)
            return true;
    }
    return false;
}

/* Must a turn stay for the value of a name? */
static bool is_needed(const Recorder *recorder, const Record *loop, int32_t from, int32_t to) {
    int depth = recorder_mark_of(loop)->declared;
    if (has_lasting(recorder, recorder->globals, recorder->global_count, from, to, depth))
        return true;
    const FrameNames *names = loop->depth <= recorder->deepest ? &recorder->frames[loop->depth] : NULL;
    return names && has_lasting(recorder, names->locals, names->local_count, from, to, depth);
}

/* Has it a result of its own? */
static bool has_result(const Recorder *recorder, int32_t from) {
    for (int32_t i = from; i < recorder->count; i++)
        if (recorder_mark_of(&recorder->items[i])->role == MARK_SHOW)
            return true;
    return false;
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

static void remove_kept(Recorder *recorder, OpenTurn *open, int index) {
    struct KeptTurn gone = open->kept[index];
    remove_range(recorder, gone.from, gone.to);
    open->begun = moved_down(open->begun, gone.from, gone.to);
    open->kept_count--;
    for (int i = index; i < open->kept_count; i++) {
        int32_t size = gone.to - gone.from;
        open->kept[i] = (struct KeptTurn){open->kept[i + 1].from - size, open->kept[i + 1].to - size};
    }
}

static void remove_useless(Recorder *recorder, const Record *loop, OpenTurn *open) {
    for (int i = open->kept_count - 1; i >= 0; i--)
        if (!is_needed(recorder, loop, open->kept[i].from, open->kept[i].to))
            remove_kept(recorder, open, i);
}

/* The latest turn goes, unless it was the first, has a result, or gave a name outside the loop its value. */
static void end_turn(Recorder *recorder, const Record *loop, OpenTurn *open) {
    bool list = recorder_mark_of(loop)->whole.end > 0;
    if (list ? open->turn <= LIST_TURNS : has_result(recorder, open->begun))
        return;
    if (list || !is_needed(recorder, loop, open->begun, recorder->count)) {
        drop_from(recorder, open->begun);
        return;
    }
    remove_useless(recorder, loop, open);
    if (open->kept_count == KEPT_TURNS_MOST)
        remove_kept(recorder, open, 0);
    open->kept[open->kept_count++] = (struct KeptTurn){open->begun, recorder->count};
}

static void begin_turn(Recorder *recorder, Record *record) {
    OpenTurn *open = open_loop(recorder, record);
    forget_frames(recorder, record->depth + 1);
    if (!open) {
        MEM_GROW(recorder->turns, recorder->turn_count, recorder->turn_capacity);
        open = &recorder->turns[recorder->turn_count++];
        *open = (OpenTurn){.chunk = record->chunk, .mark = record->mark, .depth = record->depth};
    } else if (open->turn > 1) {
        end_turn(recorder, record, open);
    }
    open->begun = recorder->count;
    record->turn = ++open->turn;
}

/* Is the latest turn none, but the condition of a `while` that failed? */
static bool ends_while(const Recorder *recorder, const Record *loop) {
    const Record *last = &recorder->items[recorder->count - 1];
    const Mark *mark = recorder_mark_of(last);
    return recorder->count && mark->role == MARK_CONDITION && last->phase == MARK_FAILED &&
           last->depth == loop->depth && last->chunk == loop->chunk &&
           span_same(mark->span, recorder_mark_of(loop)->span);
}

static void end_turns(Recorder *recorder, Record *record) {
    OpenTurn *open = open_loop(recorder, record);
    record->turn = open ? open->turn : 0;
    if (!open)
        return;
    remove_useless(recorder, record, open);
    record->turn -= ends_while(recorder, record);
    recorder->turn_count--;
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

/* Who defined the name that is read. A register may have held another name before; what belongs to a list of
 * its own (`for x in …` in brackets) has no definer. */
static int32_t known_definer(Recorder *recorder, const Record *record, const Mark *mark) {
    const int32_t *slot = definer_of(recorder, mark, record->depth);
    if (!slot || !*slot || mark->whole.end > 0)
        return -1;
    const Record *definer = &recorder->items[*slot - 1];
    const Mark *made = recorder_mark_of(definer);
    bool same = mark->global >= 0 || (definer->chunk == record->chunk && strcmp(made->name, mark->name) == 0);
    return same ? *slot - 1 : -1;
}

static void fill(Recorder *recorder, Record *record, const Mark *mark) {
    if (mark->role == MARK_TURN && record->phase == MARK_BEGIN) {
        begin_turn(recorder, record);
        record->definer = mark->list < 0 ? -1 : *decided_of(recorder, mark->list, record->depth) - 1;
    } else if (mark->role == MARK_TURN) {
        end_turns(recorder, record);
    } else if (mark->role == MARK_READ) {
        record->definer = known_definer(recorder, record, mark);
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
        forget_frames(recorder, record->depth + 1);
    if ((mark->role == MARK_CONDITION || mark->role == MARK_LIST) && !begins)
        *decided_of(recorder, record->mark, record->depth) = recorder->count;
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
    if (recorder->full)
        return;
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
