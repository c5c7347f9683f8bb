/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that scripts and their readers name: what may be opened, and where a path leads. */
#ifndef RUNDLET_FILE_H
#define RUNDLET_FILE_H

#include "base/text.h"

enum { FILE_MOST = 64 * 1024 * 1024 }; /* bytes */

typedef enum FileOutcome {
    FILE_DONE,
    FILE_ABSENT,
    FILE_IS_FOLDER,
    FILE_IRREGULAR, /* a pipe, a device */
    FILE_LARGE,     /* above FILE_MOST */
    FILE_BROKEN     /* `reason` is an errno */
} FileOutcome;

/* Opens for reading. With `regular` a pipe or a device is refused, and cannot hold the program up before it
 * is; without, it is read like any other. On FILE_DONE the caller hands *descriptor to file_read; *size is
 * what the system says of a regular file, else 0. */
FileOutcome file_open(const char *path, bool regular, int *descriptor, size_t *size, int *reason);
/* Adds all of it to `content`, and closes it, unless it is the standard input. */
FileOutcome file_read(int descriptor, Text *content, int *reason);
void file_close(int descriptor); /* without reading */

/* The path with links resolved; NULL if there is no such file or folder (errno says why). The caller frees
 * it. */
char *file_resolved(const char *path);
/* Does a resolved path lie in a folder, at whatever depth? The folder is resolved here. */
bool file_is_below(const char *resolved, const char *folder);

#endif
