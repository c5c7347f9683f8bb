/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The history of the prompt: $XDG_STATE_HOME/rundlet/history, by default below ~/.local/state; for its user
 * alone.
 *
 * Each entry is added to the file as soon as it was run, so that sessions side by side lose nothing to one
 * another. A time stamp, `#` and seconds, is before it: that way entries of several lines come back
 * whole. Readline 8.2 cuts a file so that the first entry left has no stamp, and then reads all of it line by
 * line; so the cutting is done here. */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <readline/history.h>

#include "base/mem.h"
#include "programs/prompt_state.h"

enum { HISTORY_ENTRIES = 1000 };

/* Makes the folders of a path, each for its user alone. */
static void make_folders(char *path) {
    for (char *p = path + 1; *p; p++) {
        if (*p != '/')
            continue;
        *p = '\0';
        (void)mkdir(path, 0700);
        *p = '/';
    }
}

static bool add_path(Text *path) {
    const char *state = getenv("XDG_STATE_HOME"), *home = getenv("HOME");
    if (state && *state == '/') { /* a relative one is to be ignored: XDG Base Directory Specification */
        text_add_string(path, state);
    } else if (home && *home == '/') {
        text_add_string(path, home);
        text_add_string(path, "/.local/state");
    } else {
        return false;
    }
    text_add_string(path, "/rundlet/history");
    return true;
}

/* The file, made if need be and closed to others; NULL when there can be none. */
static char *open_history(void) {
    Text path = {0};
    if (!add_path(&path))
        return NULL;
    make_folders(path.bytes);
    int file = open(path.bytes, O_WRONLY | O_CREAT | O_APPEND | O_NONBLOCK | O_CLOEXEC, 0600);
    struct stat status;
    bool usable =
        file >= 0 && fstat(file, &status) == 0 && S_ISREG(status.st_mode) && fchmod(file, 0600) == 0;
    if (file >= 0)
        close(file);
    if (usable)
        return text_take(&path);
    text_free(&path);
    return NULL;
}

/* ---- cutting ---- */

static bool read_file(Text *out, const char *path) {
    char chunk[8192];
    size_t count;
    FILE *file = fopen(path, "r");
    if (!file)
        return false;
    while ((count = fread(chunk, 1, sizeof chunk, file)) > 0)
        text_add(out, chunk, count);
    bool whole = !ferror(file);
    fclose(file);
    return whole;
}

static bool is_stamp(const char *line) {
    return line[0] == '#' && line[1] >= '0' && line[1] <= '9';
}

static const char *next_line(const char *line) {
    const char *end = strchr(line, '\n');
    return end ? end + 1 : line + strlen(line);
}

/* The part of a history that holds its last entries. */
static const char *last_entries(const char *text) {
    int count = 0;
    for (const char *line = text; *line; line = next_line(line))
        count += is_stamp(line);
    if (count <= HISTORY_ENTRIES)
        return text;
    for (; *text; text = next_line(text))
        if (is_stamp(text) && count-- == HISTORY_ENTRIES)
            break;
    return text;
}

/* A new file takes the place of the old one at once. */
static void write_file(const char *path, const char *text) {
    Text beside = {0};
    size_t length = strlen(text);
    text_add_string(&beside, path);
    text_add_string(&beside, ".new");
    int file = open(beside.bytes, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (file >= 0) {
        bool written = write(file, text, length) == (ssize_t)length;
        if (close(file) != 0 || !written || rename(beside.bytes, path) != 0)
            (void)unlink(beside.bytes);
    }
    text_free(&beside);
}

static void cut(const char *path) {
    Text text = {0};
    if (read_file(&text, path)) {
        const char *kept = last_entries(text_string(&text));
        if (kept != text_string(&text))
            write_file(path, kept);
    }
    text_free(&text);
}

/* ---- the session's ---- */

static void remember(Prompt *prompt, const char *entry) {
    size_t length = strlen(entry);
    while (length && (entry[length - 1] == '\n' || entry[length - 1] == ' '))
        length--;
    HIST_ENTRY *last = history_length ? history_get(history_base + history_length - 1) : NULL;
    char *text = mem_copy(entry, length);
    if (length && !(last && strcmp(last->line, text) == 0)) {
        add_history(text);
        if (prompt->history)
            append_history(1, prompt->history);
    }
    mem_free(text);
}

void prompt_load_history(Prompt *prompt) {
    prompt->history = open_history();
    prompt->entered = remember;
    history_comment_char = '#';
    history_write_timestamps = 1;
    history_multiline_entries = 1;
    using_history();
    stifle_history(HISTORY_ENTRIES);
    if (!prompt->history)
        return;
    cut(prompt->history);
    read_history(prompt->history);
}

void prompt_close_history(Prompt *prompt) {
    if (prompt->history)
        cut(prompt->history);
    mem_free(prompt->history);
    prompt->history = NULL;
}
