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

/* Takes `place`. */
static char *join(const char *words, char *place) {
    if (!words)
        return place;
    char *joined = message_take(PHRASE_SOURCE_PLACED, ARGS(words, place));
    mem_free(place);
    return joined;
}

/* Where it is, to be put into words only if another source reads the same: line, column, file (none for the
 * script itself) and words, each after a line end. Line 0: nobody needs the place. */
static char *keep_place(const char *words, Place place, const char *file) {
    Text kept = {0};
    text_add_integer(&kept, place.line);
    text_add_char(&kept, '\n');
    text_add_integer(&kept, place.column);
    text_add_char(&kept, '\n');
    text_add_string(&kept, file);
    text_add_char(&kept, '\n');
    text_add_string(&kept, words ? words : "");
    return text_take(&kept);
}

/* "gravity of cider, line 6, column 9" of what was kept. */
static char *kept_words(const char *kept) {
    char *rest;
    long line = strtol(kept, &rest, 10), column = strtol(rest + 1, &rest, 10);
    const char *file = rest + 1, *words = strrchr(kept, '\n') + 1;
    Text place = {0};
    if (line == 0)
        return mem_copy_string(words);
    if (words - 1 == file)
        return join(*words ? words : NULL,
                    message_take(PHRASE_LINE_AND_COLUMN, ARGS(arg_whole(line), arg_whole(column))));
    text_add(&place, file, (size_t)(words - 1 - file));
    text_add_char(&place, ':');
    text_add_integer(&place, line);
    text_add_char(&place, ':');
    text_add_integer(&place, column);
    return join(*words ? words : NULL, text_take(&place));
}

SourceWords source_words(const Chunk *chunk, int32_t at, const Source *script) {
    const SourceName *name = find_name(chunk, at);
    const char *words = name ? name->words : NULL;
    Place place = source_locate(chunk->source, chunk->spans[at].left.start);
    bool here = chunk->source == script;
    if (chunk->library && words)
        return (SourceWords){.brief = mem_copy_string(words), .full = keep_place(words, (Place){0, 0}, "")};
    if (chunk->typed)
        return (SourceWords){.brief =
                                 words ? mem_copy_string(words) : line_words(chunk->source, place, true)};
    return (SourceWords){.brief = words && name->whole ? mem_copy_string(words)
                                                       : join(words, line_words(chunk->source, place, here)),
                         .full = keep_place(words, place, here ? "" : chunk->source->name)};
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
        rename_source(alike[i], kept_words(alike[i]->full));
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
