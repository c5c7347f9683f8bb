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

bool span_holds(Span outer, Span inner) {
    return inner.start >= outer.start && inner.end <= outer.end;
}

bool span_same(Span a, Span b) {
    return a.start == b.start && a.end == b.end;
}

/* ---- source text on one line ---- */

/* Reads source text and knows whether it is in a text, in braces within one, or in a remark. */
typedef struct Reader {
    char within[64]; /* what is open: a quote, or a brace */
    int open;
    bool remark, escaped;
} Reader;

static char innermost(const Reader *reader) {
    return reader->open ? reader->within[reader->open - 1] : 0;
}

static void open_with(Reader *reader, char what) {
    if (reader->open < (int)sizeof reader->within)
        reader->within[reader->open++] = what;
}

/* Is the byte one of a text, its quotes included? */
static bool read_byte(Reader *reader, char c) {
    char inside = innermost(reader);
    bool text = inside == '"' || inside == '\'';
    if (text && reader->escaped)
        reader->escaped = false;
    else if (inside == '"' && c == '\\')
        reader->escaped = true;
    else if (text && c == inside)
        reader->open--;
    else if (inside == '"' && c == '{')
        open_with(reader, '{');
    if (text)
        return true;
    if (reader->remark || c == '#')
        reader->remark = c != '\n';
    else if (c == '"' || c == '\'' || c == '{')
        open_with(reader, c);
    else if (c == '}' && inside == '{')
        reader->open--;
    return !reader->remark && (c == '"' || c == '\'');
}

void source_add_part(Text *out, const char *text, Span whole, Span part) {
    Reader reader = {0};
    for (uint32_t at = whole.start; at < part.end; at++) {
        char c = text[at];
        bool in_text = read_byte(&reader, c);
        if (at < part.start)
            continue;
        bool blank = !in_text && (reader.remark || strchr(" \t\r\n", c));
        char before = out->length ? out->bytes[out->length - 1] : ' ';
        if (!in_text && !blank && strchr(")]}", c) && before == ' ' && out->length)
            out->bytes[--out->length] = '\0';
        if (!blank)
            text_add_char(out, c);
        else if (!strchr(" ([{", before))
            text_add_char(out, ' ');
    }
}
