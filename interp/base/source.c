/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Source texts and the way from byte offsets to lines and columns. */
#include "base/source.h"

#include <string.h>

#include "base/mem.h"

static void find_lines(Source *source) {
    uint32_t capacity = 64;
    source->line_starts = mem_array(capacity, sizeof *source->line_starts);
    source->line_count = 1;
    const char *at = source->text, *end = source->text + source->length;
    while ((at = memchr(at, '\n', (size_t)(end - at))) != NULL) {
        at++;
        MEM_GROW(source->line_starts, source->line_count, capacity);
        source->line_starts[source->line_count++] = (uint32_t)(at - source->text);
    }
}

Source *source_new(const char *name, const char *path, const char *text, size_t length) {
    Source *source = mem_alloc(sizeof *source);
    source->name = mem_copy_string(name);
    source->path = mem_copy_string(path);
    source->text = mem_copy(text, length);
    source->length = length;
    source->references = 1;
    find_lines(source);
    return source;
}

Source *source_keep(Source *source) {
    if (source)
        source->references++;
    return source;
}

void source_release(Source *source) {
    if (!source || --source->references > 0)
        return;
    mem_free(source->name);
    mem_free(source->path);
    mem_free(source->text);
    mem_free(source->line_starts);
    mem_free(source);
}

static uint32_t line_of(const Source *source, uint32_t offset) {
    uint32_t low = 0, high = source->line_count;
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (source->line_starts[middle] <= offset)
            low = middle;
        else
            high = middle;
    }
    return low;
}

Place source_locate(const Source *source, uint32_t offset) {
    if (offset > source->length)
        offset = (uint32_t)source->length;
    uint32_t line = line_of(source, offset);
    uint32_t start = source->line_starts[line];
    if (start == 0 && source->length >= 3 && offset >= 3 && (unsigned char)source->text[0] == 0xEF &&
        (unsigned char)source->text[1] == 0xBB && (unsigned char)source->text[2] == 0xBF)
        start = 3; /* a byte-order mark takes no column */
    size_t column = offset > start ? utf8_count(source->text + start, offset - start) : 0;
    return (Place){.line = line + 1, .column = (uint32_t)column + 1};
}

void source_add_place(Text *out, const Source *source, uint32_t offset) {
    Place place = source_locate(source, offset);
    text_add_clean(out, source->name, strlen(source->name), "", " ");
    text_add_char(out, ':');
    text_add_integer(out, place.line);
    text_add_char(out, ':');
    text_add_integer(out, place.column);
}

const char *source_line(const Source *source, uint32_t line, size_t *length) {
    uint32_t start = source->line_starts[line - 1];
    size_t end = line < source->line_count ? source->line_starts[line] : source->length;
    while (end > start && (source->text[end - 1] == '\n' || source->text[end - 1] == '\r'))
        end--;
    *length = end - start;
    return source->text + start;
}

Span span_join(Span a, Span b) {
    return (Span){.start = a.start < b.start ? a.start : b.start, .end = a.end > b.end ? a.end : b.end};
}
