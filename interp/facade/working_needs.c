/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which records a result depends on: those that gave the names it reads their values, what those depend on,
 * the conditions that decided of them, and of a loop the same steps in its first turn. */
#include <stdlib.h>

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

/* The first record of a find: the sides of its conditions come before what it found. */
static int32_t find_start(const WorkingBuilder *b, int32_t found) {
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

/* The same step in the first turn of the loop. */
static void need_first_turn(Search *search, int32_t number) {
    const WorkingBuilder *b = search->b;
    const Record *record = working_record(b, number);
    int32_t latest = record->turn_of;
    if (latest < 0 || working_record(b, latest)->turn < 2)
        return;
    int32_t loop = working_record(b, latest)->mark;
    int32_t first = -1;
    for (int32_t i = latest - 1; i >= 0 && first < 0; i--) {
        const Record *begun = working_record(b, i);
        if (begun->mark == loop && begun->chunk == record->chunk && begun->depth == record->depth &&
            begun->turn == 1 && begun->phase == MARK_BEGIN)
            first = i;
    }
    for (int32_t i = first + 1; first >= 0 && i < latest; i++) {
        const Record *same = working_record(b, i);
        if (same->mark == record->mark && same->chunk == record->chunk && same->depth == record->depth &&
            same->phase == record->phase) {
            need(search, i);
            return;
        }
    }
}

/* What the loops around it go through. */
static void need_lists(Search *search, int32_t number) {
    int32_t turn = working_record(search->b, number)->turn_of;
    for (; turn >= 0; turn = working_record(search->b, turn)->turn_of)
        if (working_record(search->b, turn)->definer >= 0)
            need(search, working_record(search->b, turn)->definer);
}

static void look_at(Search *search, int32_t number) {
    const WorkingBuilder *b = search->b;
    const Record *record = working_record(b, number);
    int32_t from = recorder_mark_of(record)->role == MARK_FIND ? find_start(b, number) - 1 : record->begun;
    if (from >= -1 && (record->begun >= 0 || recorder_mark_of(record)->role == MARK_FIND))
        need_reads(search, from, number);
    if (record->inside >= 0)
        need(search, record->inside);
    need_first_turn(search, number);
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
