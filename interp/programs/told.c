/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "programs/told.h"

#include <string.h>

#include "base/mem.h"

/* Control characters, which no rendered text has. */
static const char begin_mark = '\x01', end_mark = '\x02';

/* Its words with one blank between them: it may be wrapped to another width the next time. */
static char *words_of(const char *text) {
    Text words = {0};
    for (const char *at = text + strspn(text, " \n"); *at;) {
        size_t length = strcspn(at, " \n");
        text_add_string(&words, words.length ? " " : "");
        text_add(&words, at, length);
        at += length + strspn(at + length, " \n");
    }
    return text_take(&words);
}

static bool has_words(const Told *told, const char *words) {
    for (int i = 0; i < told->count; i++)
        if (strcmp(told->texts[i], words) == 0)
            return true;
    return false;
}

bool told_has(const Told *told, const char *text) {
    char *words = words_of(text);
    bool has = has_words(told, words);
    mem_free(words);
    return has;
}

bool told_add(Told *told, const char *text) {
    char *words = words_of(text);
    if (has_words(told, words)) {
        mem_free(words);
        return false;
    }
    MEM_GROW(told->texts, told->count, told->capacity);
    told->texts[told->count++] = words;
    return true;
}

void told_clear(Told *told) {
    for (int i = 0; i < told->count; i++)
        mem_free(told->texts[i]);
    mem_free(told->texts);
    *told = (Told){0};
}

void told_begin_mark(Text *kept) {
    text_add_char(kept, begin_mark);
}

void told_end_mark(Text *kept) {
    text_add_char(kept, end_mark);
}

static void add_kept(Told *told, Text *out, const char *kept, bool results) {
    const char marks[] = {begin_mark, '\0'}, ends[] = {end_mark, '\0'};
    while (*kept) {
        size_t length = strcspn(kept, marks);
        text_add(out, kept, results ? length : 0);
        kept += length;
        if (!*kept)
            break;
        length = strcspn(++kept, ends);
        char *caution = mem_copy(kept, length);
        if (told && told_add(told, caution))
            text_add_string(out, caution);
        mem_free(caution);
        kept += length + (kept[length] != '\0');
    }
}

void told_add_results(Text *out, const char *kept) {
    add_kept(NULL, out, kept, true);
}

void told_add_fresh(Told *told, Text *out, const char *kept, bool results) {
    add_kept(told, out, kept, results);
}
