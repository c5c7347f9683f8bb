/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table from places of a run (vm_place.c), which are hashes already, to small numbers. */
#ifndef RUNDLET_PLACE_MAP_H
#define RUNDLET_PLACE_MAP_H

#include <stddef.h>
#include <stdint.h>

typedef struct PlaceSlot {
    uint64_t place;
    int value; /* plus 1; 0: the slot is free */
} PlaceSlot;

/* `PlaceMap map = {0};` is an empty one. */
typedef struct PlaceMap {
    PlaceSlot *slots;
    size_t count, capacity; /* a power of two, or 0 */
} PlaceMap;

int place_map_get(const PlaceMap *map, uint64_t place);       /* -1: none */
void place_map_add(PlaceMap *map, uint64_t place, int value); /* value >= 0; the first of a place stays */
void place_map_clear(PlaceMap *map);                          /* keeps the memory */
void place_map_free(PlaceMap *map);
size_t place_map_bytes(const PlaceMap *map);

#endif
