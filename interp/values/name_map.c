/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A hash map from names to numbers. */
#include "values/name_map.h"

#include <string.h>

#include "base/mem.h"
#include "base/text.h"

static NameEntry *find_slot(const NameMap *map, const char *name, uint64_t hash) {
    uint32_t mask = map->capacity - 1;
    for (uint32_t at = (uint32_t)hash & mask;; at = (at + 1) & mask) {
        NameEntry *entry = &map->entries[at];
        if (!entry->name || (entry->hash == hash && strcmp(entry->name, name) == 0))
            return entry;
    }
}

static void rebuild(NameMap *map, uint32_t capacity) {
    NameEntry *old = map->entries;
    uint32_t old_capacity = map->capacity;
    map->entries = mem_array(capacity, sizeof *map->entries);
    map->capacity = capacity;
    for (uint32_t i = 0; i < old_capacity; i++)
        if (old[i].name)
            *find_slot(map, old[i].name, old[i].hash) = old[i];
    mem_free(old);
}

void name_map_set(NameMap *map, const char *name, int value) {
    if ((map->count + 1) * 2 > map->capacity)
        rebuild(map, map->capacity ? map->capacity * 2 : 16);
    uint64_t hash = text_hash(name, strlen(name));
    NameEntry *entry = find_slot(map, name, hash);
    if (!entry->name) {
        entry->name = mem_copy_string(name);
        entry->hash = hash;
        map->count++;
    }
    entry->value = value;
}

NameMap name_map_copy(const NameMap *map) {
    NameMap copy = {0};
    for (uint32_t i = 0; i < map->capacity; i++)
        if (map->entries[i].name)
            name_map_set(&copy, map->entries[i].name, map->entries[i].value);
    return copy;
}

bool name_map_get(const NameMap *map, const char *name, int *value) {
    if (!map->count)
        return false;
    const NameEntry *entry = find_slot(map, name, text_hash(name, strlen(name)));
    if (!entry->name)
        return false;
    *value = entry->value;
    return true;
}

bool name_map_get_plural(const NameMap *map, const char *name, int *value) {
    size_t length = strlen(name);
    if (name_map_get(map, name, value))
        return true;
    if (length < 2 || name[length - 1] != 's')
        return false;
    char *singular = mem_copy(name, length - 1);
    bool found = name_map_get(map, singular, value);
    mem_free(singular);
    return found;
}

void name_map_free(NameMap *map) {
    for (uint32_t i = 0; i < map->capacity; i++)
        mem_free(map->entries[i].name);
    mem_free(map->entries);
    *map = (NameMap){0};
}

const char *name_map_next(const NameMap *map, int *at, int *value) {
    while (*at < (int)map->capacity) {
        const NameEntry *entry = &map->entries[(*at)++];
        if (entry->name) {
            *value = entry->value;
            return entry->name;
        }
    }
    return NULL;
}
