/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/mem.h"

static FileOutcome judge(int descriptor, bool regular, size_t *size, int *reason) {
    struct stat status;
    if (fstat(descriptor, &status) != 0) {
        *reason = errno;
        return FILE_BROKEN;
    }
    if (S_ISDIR(status.st_mode))
        return FILE_IS_FOLDER;
    if (regular && !S_ISREG(status.st_mode))
        return FILE_IRREGULAR;
    *size = S_ISREG(status.st_mode) ? (size_t)status.st_size : 0;
    return *size > FILE_MOST ? FILE_LARGE : FILE_DONE;
}

FileOutcome file_open(const char *path, bool regular, int *descriptor, size_t *size, int *reason) {
    *descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | (regular ? O_NONBLOCK : 0));
    *reason = errno;
    if (*descriptor < 0)
        return *reason == ENOENT || *reason == ENOTDIR ? FILE_ABSENT : FILE_BROKEN;
    FileOutcome outcome = judge(*descriptor, regular, size, reason);
    if (outcome != FILE_DONE)
        close(*descriptor);
    return outcome;
}

static FileOutcome read_all(int descriptor, Text *content, int *reason) {
    char block[65536];
    for (;;) {
        ssize_t got = read(descriptor, block, sizeof block);
        if (got < 0 && errno == EINTR)
            continue;
        *reason = errno;
        if (got < 0)
            return *reason == EISDIR ? FILE_IS_FOLDER : FILE_BROKEN;
        if (got == 0)
            return FILE_DONE;
        if (content->length + (size_t)got > FILE_MOST) /* it has no size, or grew while being read */
            return FILE_LARGE;
        text_add(content, block, (size_t)got);
    }
}

void file_close(int descriptor) {
    if (descriptor != STDIN_FILENO)
        close(descriptor);
}

FileOutcome file_read(int descriptor, Text *content, int *reason) {
    FileOutcome outcome = read_all(descriptor, content, reason);
    file_close(descriptor);
    return outcome;
}

char *file_resolved(const char *path) {
    char real[PATH_MAX];
    return realpath(path, real) ? mem_copy_string(real) : NULL;
}

bool file_is_below(const char *resolved, const char *folder) {
    char *real = file_resolved(folder);
    size_t length = real ? strlen(real) : 0;
    while (length > 1 && real[length - 1] == '/')
        length--;
    bool root = real && strcmp(real, "/") == 0;
    bool below = root || (real && strncmp(resolved, real, length) == 0 && resolved[length] == '/');
    mem_free(real);
    return below;
}
