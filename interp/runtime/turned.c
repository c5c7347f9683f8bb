/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "runtime/turned.h"

#include <string.h>

#include "base/mem.h"

enum { CAUTIONS_MOST = 16 }; /* of moved runs, told below the results */

static void forget(Turned *turned) {
    for (int i = 0; i < turned->count; i++)
        mem_free(turned->faces[i].words);
    for (int i = 0; i < turned->caution_count; i++)
        mem_free(turned->cautions[i].text);
    turned->count = turned->caution_count = 0;
    place_map_clear(&turned->places);
    place_map_clear(&turned->said);
}

void turned_free(Turned *turned) {
    forget(turned);
    place_map_free(&turned->places);
    place_map_free(&turned->said);
    mem_free(turned->faces);
    mem_free(turned->cautions);
    *turned = (Turned){0};
}

void turned_begin_run(Turned *turned, bool learns) {
    turned->run++;
    if (learns)
        forget(turned);
}

size_t turned_bytes(const Turned *turned) {
    return (size_t)turned->capacity * sizeof(Face) + place_map_bytes(&turned->places) +
           place_map_bytes(&turned->said);
}

/* FNV-1a of a text without the figures in it, which have a ± of their own; 0 for none. */
static uint64_t hash_of(const char *text) {
    uint64_t hash = 0xcbf29ce484222325u;
    for (; text && *text; text++)
        if (!strchr("0123456789.-", *text))
            hash = (hash ^ (unsigned char)*text) * 0x100000001b3u;
    return text ? hash : 0;
}

/* The first at a place that this run has not come to, or -1; `place` becomes its own. A loop that only a
 * machine sees comes to one place several times. */
static int next_at(const Turned *turned, uint64_t *place) {
    for (;;) {
        int index = place_map_get(&turned->places, *place);
        if (index < 0 || turned->faces[index].seen != turned->run)
            return index;
        *place = *place * 0x9e3779b97f4a7c15u + 1;
    }
}

int turned_learn(Turned *turned, uint64_t place, const char *text, bool has_truth) {
    next_at(turned, &place);
    MEM_GROW(turned->faces, turned->count, turned->capacity);
    turned->faces[turned->count] =
        (Face){.place = place, .hash = hash_of(text), .seen = turned->run, .has_truth = has_truth};
    place_map_add(&turned->places, place, turned->count);
    return turned->count++;
}

int turned_find(Turned *turned, uint64_t place) {
    int index = next_at(turned, &place);
    if (index >= 0)
        turned->faces[index].seen = turned->run;
    return index;
}

int turned_compare(Turned *turned, uint64_t place, const char *text) {
    int index = turned_find(turned, place);
    return index >= 0 && turned->faces[index].hash != hash_of(text) ? index : -1;
}

void turned_set(Turned *turned, int face, FaceFate fate, const char *words, Turn turn) {
    Face *turns = &turned->faces[face];
    if (turns->fate != FACE_STAYS)
        return;
    turns->fate = fate;
    turns->turn = turn;
    turns->words = words ? mem_copy_string(words) : NULL;
}

/* ---- cautions ---- */

/* `key`: its topic, or its text. */
static void take_caution(Turned *turned, const char *key, const char *text, const Turn *turn) {
    uint64_t hash = hash_of(key);
    if (place_map_get(&turned->said, hash) >= 0)
        return;
    place_map_add(&turned->said, hash, 0);
    if (!turn || turned->caution_count == CAUTIONS_MOST)
        return;
    MEM_GROW(turned->cautions, turned->caution_count, turned->caution_capacity);
    turned->cautions[turned->caution_count++] = (TurnedCaution){.turn = *turn, .text = mem_copy_string(text)};
}

void turned_take_cautions(Turned *turned, const Report *report, const Turn *turn) {
    for (int i = 0; !turn && i < report->said_count; i++)
        take_caution(turned, report->said[i], NULL, NULL);
    for (int i = 0; i < report->count; i++)
        if (report->items[i]->type == ITEM_CAUTION)
            take_caution(turned, report->items[i]->text, report->items[i]->text, turn);
    for (int i = 0; i < report->pending_count; i++) {
        const WaitingText *waiting = &report->pending[i];
        if (waiting->type == ITEM_CAUTION)
            take_caution(turned, waiting->topic ? waiting->topic : waiting->text, waiting->text, turn);
    }
}

void turned_add_caution(Turned *turned, const char *text, Turn turn) {
    take_caution(turned, text, text, &turn);
}
