/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names to small numbers: open addressing, names copied. */
#ifndef RUNDLET_NAME_MAP_H
#define RUNDLET_NAME_MAP_H

#include <stdbool.h>
#include <stdint.h>

typedef struct NameEntry {
    char *name; /* NULL: empty slot */
    uint64_t hash;
    int value;
} NameEntry;

typedef struct NameMap {
    NameEntry *entries;
    uint32_t capacity; /* a power of two, or 0 */
    uint32_t count;
} NameMap;

void name_map_set(NameMap *map, const char *name, int value);
bool name_map_get(const NameMap *map, const char *name, int *value);
/* The same, also for a name with an `s` after it. */
bool name_map_get_plural(const NameMap *map, const char *name, int *value);
/* The next name from *at on, which begins as 0, in no order; NULL past the last. */
const char *name_map_next(const NameMap *map, int *at, int *value);
/* The same names and numbers, to be freed by itself. */
NameMap name_map_copy(const NameMap *map);
void name_map_free(NameMap *map);

#endif
