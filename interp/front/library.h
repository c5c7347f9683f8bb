/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The library's own scripts (stdlib/) as they are inside the program. The tables are written at build time by
 * interp/front/embed.cmake; nothing generated is committed. */
#ifndef RUNDLET_LIBRARY_H
#define RUNDLET_LIBRARY_H

#include <stdbool.h>
#include <stddef.h>

/* One file of stdlib/, by name; `length` excludes the NUL that ends `text`. */
typedef struct LibraryFile {
    const char *name; /* without folder: "strength.rlet" */
    const char *text;
    size_t length;
} LibraryFile;

extern const LibraryFile library_files[];
extern const int library_file_count;

/* Each formula of those files, so that start-up parses nothing, and later only what is called. Sorted by name
 * in byte order (strcmp), fit for a binary search; no two have the same. */
typedef struct LibraryName {
    const char *name;
    int file;  /* index into library_files */
    int at;    /* the byte of its text where the formula's line begins */
    bool part; /* an indented one: part of others of its file, which alone may call it */
} LibraryName;

extern const LibraryName library_names[];
extern const int library_name_count;

#endif
