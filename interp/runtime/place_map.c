/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Open addressing with linear probing, at most half full. */
#include "runtime/place_map.h"

#include <string.h>

#include "base/mem.h"

/* The slot of a place, or the free one where it would go. */
static PlaceSlot *slot_of(const PlaceMap *map, uint64_t place) {
    size_t mask = map->capacity - 1, at = (size_t)(place ^ place >> 29) & mask;
    while (map->slots[at].value && map->slots[at].place != place)
        at = (at + 1) & mask;
    return &map->slots[at];
}

int place_map_get(const PlaceMap *map, uint64_t place) {
    return map->capacity ? slot_of(map, place)->value - 1 : -1;
}

static void grow(PlaceMap *map) {
    PlaceMap larger = {.capacity = map->capacity ? map->capacity * 2 : 16, .count = map->count};
    larger.slots = mem_array(larger.capacity, sizeof *larger.slots);
    for (size_t i = 0; i < map->capacity; i++)
        if (map->slots[i].value)
            *slot_of(&larger, map->slots[i].place) = map->slots[i];
    mem_free(map->slots);
    *map = larger;
}

void place_map_add(PlaceMap *map, uint64_t place, int value) {
    if ((map->count + 1) * 2 > map->capacity)
        grow(map);
    PlaceSlot *slot = slot_of(map, place);
    if (slot->value)
        return;
    *slot = (PlaceSlot){.place = place, .value = value + 1};
    map->count++;
}

void place_map_clear(PlaceMap *map) {
    if (map->count)
        memset(map->slots, 0, map->capacity * sizeof *map->slots);
    map->count = 0;
}

void place_map_free(PlaceMap *map) {
    mem_free(map->slots);
    *map = (PlaceMap){0};
}

size_t place_map_bytes(const PlaceMap *map) {
    return map->capacity * sizeof(PlaceSlot);
}
