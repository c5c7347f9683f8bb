/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "runtime/source_names.h"

#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/mem.h"

/* ---- one name ---- */

/* They were added in the order of the code. */
static const SourceName *find_name(const Chunk *chunk, int32_t at) {
    int low = 0, high = chunk->source_name_count;
    while (low < high) {
        int middle = (low + high) / 2;
        if (chunk->source_names[middle].at < at)
            low = middle + 1;
        else
            high = middle;
    }
    bool found = low < chunk->source_name_count && chunk->source_names[low].at == at;
    return found ? &chunk->source_names[low] : NULL;
}

/* "line 6", or "press.rlet:6" of another file. */
static char *line_words(const Source *source, Place place, bool here) {
    return here ? message_take(PHRASE_LINE, ARGS(arg_whole(place.line)))
                : message_take(PHRASE_FILE_AND_LINE, ARGS(source->name, arg_whole(place.line)));
}

static char *column_words(const Source *source, Place place, uint32_t start, bool here) {
    return here ? message_take(PHRASE_LINE_AND_COLUMN, ARGS(arg_whole(place.line), arg_whole(place.column)))
                : arg_place(source, start).text;
}

/* Takes `place`. */
static char *join(const char *words, char *place) {
    if (!words)
        return place;
    char *joined = message_take(PHRASE_SOURCE_PLACED, ARGS(words, place));
    mem_free(place);
    return joined;
}

SourceWords source_words(const Chunk *chunk, int32_t at, const Source *script) {
    const SourceName *name = find_name(chunk, at);
    const char *words = name ? name->words : NULL;
    uint32_t start = chunk->spans[at].left.start;
    Place place = source_locate(chunk->source, start);
    bool here = chunk->source == script;
    if (chunk->library && words)
        return (SourceWords){.brief = mem_copy_string(words), .full = mem_copy_string(words)};
    if (chunk->typed)
        return (SourceWords){.brief =
                                 words ? mem_copy_string(words) : line_words(chunk->source, place, true)};
    return (SourceWords){.brief = words && name->whole ? mem_copy_string(words)
                                                       : join(words, line_words(chunk->source, place, here)),
                         .full = join(words, column_words(chunk->source, place, start, here))};
}

/* ---- names that tell sources apart ---- */

static int compare_names(const void *a, const void *b) {
    const WorldSource *left = *(WorldSource *const *)a, *right = *(WorldSource *const *)b;
    int order = strcmp(left->name, right->name);
    return order ? order : left < right ? -1 : left > right;
}

/* How many of the sorted sources from the first on have one name. */
static int count_alike(WorldSource *const *sorted, int count) {
    int alike = 1;
    while (alike < count && strcmp(sorted[alike]->name, sorted[0]->name) == 0)
        alike++;
    return alike;
}

static void rename_source(WorldSource *source, char *name) {
    mem_free(source->name);
    source->name = name;
}

static void tell_columns(WorldSource **alike, int count) {
    bool differ = false;
    for (int i = 1; i < count; i++)
        differ = differ || strcmp(alike[i]->full, alike[0]->full) != 0;
    for (int i = 0; i < count && differ; i++)
        rename_source(alike[i], mem_copy_string(alike[i]->full));
}

/* One place of the script, where it came several times. */
static void tell_turns(WorldSource **alike, int count) {
    for (int i = 0; i < count && count > 1; i++)
        rename_source(alike[i], message_take(PHRASE_SOURCE_ONE_OF,
                                             ARGS(alike[i]->name, arg_whole(i + 1), arg_whole(count))));
}

static void each_alike(WorldSource **sorted, int count, void (*tell)(WorldSource **alike, int count)) {
    if (count > 1)
        qsort(sorted, (size_t)count, sizeof(WorldSource *), compare_names);
    for (int i = 0, alike; i < count; i += alike) {
        alike = count_alike(sorted + i, count - i);
        tell(sorted + i, alike);
    }
}

void source_names_settle(WorldSource *sources, int count) {
    WorldSource **learnt = mem_array((size_t)count + 1, sizeof *learnt);
    int found = 0;
    for (int i = 0; i < count; i++)
        if (sources[i].full)
            learnt[found++] = &sources[i];
    each_alike(learnt, found, tell_columns);
    each_alike(learnt, found, tell_turns);
    for (int i = 0; i < found; i++) {
        mem_free(learnt[i]->full);
        learnt[i]->full = NULL;
    }
    mem_free(learnt);
}
