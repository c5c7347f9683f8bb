/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which records a result depends on: those that gave the names it reads their values, what those depend on,
 * the conditions that decided of them, and of a loop the same steps in its first turn. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "facade/working_state.h"

typedef struct Search {
    const WorkingBuilder *b;
    WorkingNeeds needs; /* what was found; also what is still to be looked at, from `next` on */
    int next;
    int32_t after;
} Search;

static void need(Search *search, int32_t number) {
    if (number < search->after || search->b->needed[number])
        return;
    search->b->needed[number] = true;
    MEM_GROW(search->needs.items, search->needs.count, search->needs.capacity);
    search->needs.items[search->needs.count++] = number;
}

/* What is read between two records; in the formulas called, too, of what is defined outside them. */
static void need_reads(Search *search, int32_t from, int32_t to) {
    const WorkingBuilder *b = search->b;
    int depth = working_record(b, to)->depth;
    for (int32_t i = from + 1; i < to; i++) {
        const Record *record = working_record(b, i);
        bool read = recorder_mark_of(record)->role == MARK_READ && record->definer >= 0 && !record->beside;
        if (read && (record->depth == depth || working_record(b, record->definer)->depth < record->depth))
            need(search, record->definer);
    }
}

int32_t working_find_start(const WorkingBuilder *b, int32_t found) {
    const Record *record = working_record(b, found);
    Span whole = recorder_mark_of(record)->span;
    int32_t at = found;
    while (at > 0) {
        const Record *before = working_record(b, at - 1);
        Span span = recorder_mark_of(before)->span;
        bool within = before->depth > record->depth ||
                      (before->depth == record->depth && before->chunk == record->chunk &&
                       span.start >= whole.start && span.end <= whole.end);
        if (!within)
            break;
        at--;
    }
    return at;
}

/* Does another record give the same name a value, or is it at the same place? */
static bool is_same_step(const Record *record, const Record *other) {
    const Mark *mark = recorder_mark_of(record), *at = recorder_mark_of(other);
    if (other->depth != record->depth || other->chunk != record->chunk || other->phase == MARK_BEGIN)
        return false;
    bool defines = (mark->role == MARK_LET || mark->role == MARK_ASSIGN) &&
                   (at->role == MARK_LET || at->role == MARK_ASSIGN);
    return other->mark == record->mark || (defines && at->global == mark->global && at->reg == mark->reg &&
                                           strcmp(at->name, mark->name) == 0);
}

/* The first turn of a loop of which another is under way; -1: it is not kept. */
static int32_t first_turn(const WorkingBuilder *b, int32_t turn) {
    const Record *latest = working_record(b, turn);
    for (int32_t i = turn - 1; i >= 0; i--) {
        const Record *begun = working_record(b, i);
        if (begun->mark == latest->mark && begun->chunk == latest->chunk && begun->depth == latest->depth &&
            begun->phase == MARK_BEGIN && begun->turn == 1)
            return i;
    }
    return -1;
}

/* Where the turn that began at a record ends: the next one begins, or the loop is over. */
static int32_t turn_end(const WorkingBuilder *b, int32_t turn) {
    const Record *begun = working_record(b, turn);
    int32_t i = turn + 1;
    for (; i < b->recorder->count; i++) {
        const Record *record = working_record(b, i);
        if (record->depth < begun->depth ||
            (record->mark == begun->mark && record->chunk == begun->chunk && record->depth == begun->depth))
            break;
    }
    return i;
}

enum { BEFORE_MOST = 2000 };

/* The same step in the first turn of the loops around it, or what the name was before them. */
static void need_first_turns(Search *search, int32_t number) {
    const WorkingBuilder *b = search->b;
    int32_t turn = working_record(b, number)->turn_of;
    for (; turn >= 0; turn = working_record(b, turn)->turn_of) {
        int32_t first = working_record(b, turn)->turn > 1 ? first_turn(b, turn) : -1;
        int32_t least = first < BEFORE_MOST ? 0 : first - BEFORE_MOST;
        int32_t i = first < 0 ? -1 : turn_end(b, first) - 1;
        while (i >= least && !is_same_step(working_record(b, number), working_record(b, i)))
            i--;
        if (i >= least)
            need(search, i);
    }
}

/* The condition of a `while` that failed in the end. */
static void need_failed(Search *search, int32_t turn) {
    const WorkingBuilder *b = search->b;
    int32_t next = turn_end(b, turn);
    for (; next < b->recorder->count; next = turn_end(b, next)) {
        const Record *record = working_record(b, next), *last = working_record(b, next - 1);
        if (record->depth < working_record(b, turn)->depth || record->mark != working_record(b, turn)->mark)
            return;
        if (record->phase == MARK_BEGIN)
            continue;
        if (recorder_mark_of(last)->role == MARK_CONDITION && last->phase == MARK_FAILED &&
            last->depth == record->depth &&
            span_same(recorder_mark_of(last)->span, recorder_mark_of(record)->span))
            need(search, next - 1);
        return;
    }
}

/* What the loops around it go through. */
static void need_lists(Search *search, int32_t number) {
    int32_t turn = working_record(search->b, number)->turn_of;
    for (; turn >= 0; turn = working_record(search->b, turn)->turn_of) {
        if (working_record(search->b, turn)->definer >= 0)
            need(search, working_record(search->b, turn)->definer);
        if (!working_mark(search->b, turn)->name)
            need_failed(search, turn);
    }
}

/* The other unknowns of a find. */
static void need_found(Search *search, int32_t number) {
    const WorkingBuilder *b = search->b;
    Span span = working_mark(b, number)->span;
    for (int32_t step = -1; step <= 1; step += 2)
        for (int32_t i = number + step; i >= 0 && i < b->recorder->count; i += step) {
            const Mark *mark = working_mark(b, i);
            if (mark->role != MARK_FIND || mark->span.start != span.start || mark->span.end != span.end)
                break;
            need(search, i);
        }
}

static void look_at(Search *search, int32_t number) {
    const WorkingBuilder *b = search->b;
    const Record *record = working_record(b, number);
    int32_t from =
        recorder_mark_of(record)->role == MARK_FIND ? working_find_start(b, number) - 1 : record->begun;
    if (from >= -1 && (record->begun >= 0 || recorder_mark_of(record)->role == MARK_FIND))
        need_reads(search, from, number);
    if (record->inside >= 0)
        need(search, record->inside);
    if (recorder_mark_of(record)->role == MARK_FIND)
        need_found(search, number);
    if (recorder_mark_of(record)->role != MARK_COLUMN) /* a table has its first row and its last */
        need_first_turns(search, number);
    need_lists(search, number);
}

static int compare_numbers(const void *a, const void *b) {
    int32_t left = *(const int32_t *)a, right = *(const int32_t *)b;
    return left < right ? -1 : left > right;
}

WorkingNeeds working_needs(const WorkingBuilder *b, const int32_t *results, int count, int32_t after) {
    Search search = {.b = b, .after = after};
    for (int i = 0; i < count; i++)
        need(&search, results[i]);
    while (search.next < search.needs.count)
        look_at(&search, search.needs.items[search.next++]);
    if (search.needs.count)
        qsort(search.needs.items, (size_t)search.needs.count, sizeof *search.needs.items, compare_numbers);
    for (int i = 0; i < search.needs.count; i++)
        b->needed[search.needs.items[i]] = false;
    return search.needs;
}
