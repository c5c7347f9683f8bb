/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A source text, its name as the user wrote it, and places in it. */
#ifndef RUNDLET_SOURCE_H
#define RUNDLET_SOURCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include "text.h"

/* Byte offsets into a source text, end excluded. */
typedef struct Span {
    uint32_t start;
    uint32_t end;
} Span;

typedef struct Source {
    char *name; /* as messages show it: "quince.rlet", "prompt", "-" */
    char *path; /* absolute path, or NULL when it is not a file */
    char *text; /* NUL-terminated copy of the bytes as read */
    size_t length;
    uint32_t *line_starts; /* byte offset of each line's first character */
    uint32_t line_count;
    int references;
} Source;

/* Where an offset lies: line and column from 1, columns in characters. */
typedef struct Place {
    uint32_t line;
    uint32_t column;
} Place;

Source *source_new(const char *name, const char *path, const char *text, size_t length);
Source *source_keep(Source *source); /* one more owner */
void source_release(Source *source);
Place source_locate(const Source *source, uint32_t offset);
void source_add_place(Text *out, const Source *source, uint32_t offset); /* "quince.rlet:12:21" */
/* The bytes of a line (from 1) without its line end. */
const char *source_line(const Source *source, uint32_t line, size_t *length);
Span span_join(Span a, Span b);
bool span_holds(Span outer, Span inner);
bool span_same(Span a, Span b);
/* A part of an expression on one line: what is blank or a remark, but in no text, becomes one blank. `whole`:
 * all of the expression, from whose start it is known whether the part begins in a text. */
void source_add_part(Text *out, const char *text, Span whole, Span part);

#endif
