/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The program's output. A reader that went away (a closed pipe) ends the work quietly; a full disk is
 * reported. */
#include "programs/console.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

/* A stream closed by the caller is opened the wrong way round: using it fails as it should. */
static void reserve_stream(int descriptor) {
    if (fcntl(descriptor, F_GETFD) == -1 && errno == EBADF)
        (void)open("/dev/null", descriptor == STDIN_FILENO ? O_WRONLY : O_RDONLY);
}

static bool wants_bold(void) {
    const char *terminal = getenv("TERM"), *plain = getenv("NO_COLOR");
    if (!isatty(STDERR_FILENO) || (plain && *plain))
        return false;
    return terminal && *terminal && strcmp(terminal, "dumb") != 0;
}

void console_start(Console *console) {
    for (int descriptor = STDIN_FILENO; descriptor <= STDERR_FILENO; descriptor++)
        reserve_stream(descriptor);
    signal(SIGPIPE, SIG_IGN); /* a write to a closed pipe fails instead */
    *console = (Console){.bold = wants_bold(), .live = isatty(STDOUT_FILENO)};
}

void console_stop_work(Console *console) {
    console->stopping = true;
    if (console->session)
        session_interrupt(console->session);
}

static void note_failure(Console *console) {
    if (console->failure)
        return;
    console->failure = errno ? errno : EIO;
    console_stop_work(console);
}

void console_write(Console *console, const Text *text) {
    if (console->failure || !text->length)
        return;
    errno = 0;
    if (fwrite(text->bytes, 1, text->length, stdout) != text->length)
        note_failure(console);
    else if (console->live)
        console_flush(console);
}

/* ---- long lines ---- */

enum { WIDTH_LEAST = 30, WIDTH_USUAL = 78, WIDTH_MOST = 100 };

static size_t terminal_width(void) {
    struct winsize size;
    size_t width = ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col ? size.ws_col : WIDTH_USUAL;
    return width < WIDTH_LEAST ? WIDTH_LEAST : width > WIDTH_MOST ? WIDTH_MOST : width;
}

size_t console_width(const Console *console) {
    return console->wraps ? terminal_width() : 0;
}

int console_columns(const Console *console) {
    size_t width = console->live ? terminal_width() : WIDTH_USUAL;
    return width < WIDTH_USUAL ? (int)width : WIDTH_USUAL;
}

/* How much of a line fits: up to the last blank that leaves it no wider, else up to the first blank. */
static size_t fitting_length(const char *line, size_t length, size_t width) {
    size_t best = length, at = 0;
    while (at < length) {
        size_t word = at + strspn(line + at, " ");
        word += strcspn(line + word, " \n");
        if (word > length)
            word = length;
        if (utf8_width(line, word) > width)
            return best == length ? word : best;
        best = at = word;
    }
    return length;
}

/* One line and its end; what does not fit goes on below, from column `hang` on. */
static void add_wrapped_line(Text *out, const char *line, size_t length, size_t hang, size_t width) {
    size_t room = width, fits;
    while ((fits = fitting_length(line, length, room)) < length) {
        size_t blanks = strspn(line + fits, " ");
        text_add(out, line, fits);
        text_add_char(out, '\n');
        line += fits + blanks;
        length -= fits + blanks;
        if (!length)
            return;
        text_add_repeated(out, ' ', hang);
        room = width - hang;
    }
    text_add(out, line, length);
    text_add_char(out, '\n');
}

void console_write_wrapped(Console *console, const Text *text) {
    size_t width = console_width(console);
    Text wrapped = {0};
    for (const char *line = text_string(text); width && *line;) {
        size_t length = strcspn(line, "\n"), hang = strspn(line, " ") + 2;
        add_wrapped_line(&wrapped, line, length, hang < width / 2 ? hang : 2, width);
        line += length + (line[length] == '\n');
    }
    console_write(console, width ? &wrapped : text);
    text_free(&wrapped);
}

/* A rendered error, its hint wrapped; the excerpt of the source above it stays as it is. */
static void wrap_hint(Text *error, size_t width) {
    static const char start[] = "   hint: ";
    Text wrapped = {0};
    for (const char *line = text_string(error); *line;) {
        size_t length = strcspn(line, "\n");
        bool hint = strncmp(line, start, sizeof start - 1) == 0;
        add_wrapped_line(&wrapped, line, length, sizeof start - 1, hint ? width : SIZE_MAX);
        line += length + (line[length] == '\n');
    }
    text_free(error);
    *error = wrapped;
}

/* ---- writing ---- */

void console_flush(Console *console) {
    errno = 0;
    if (!console->failure && fflush(stdout) != 0)
        note_failure(console);
}

void console_write_aside(Console *console, const Text *text) {
    console_flush(console);
    fwrite(text->bytes, 1, text->length, stderr);
}

void console_show_error(Console *console, const Diag *diag) {
    Text text = {0};
    console_flush(console);
    diag_render(&text, diag);
    if (console->wraps)
        wrap_hint(&text, console_width(console));
    const char *bytes = text_string(&text);
    size_t first = strcspn(bytes, "\n");
    if (console->bold)
        fputs("\033[1m", stderr);
    fwrite(bytes, 1, first, stderr);
    if (console->bold)
        fputs("\033[0m", stderr);
    fwrite(bytes + first, 1, text.length - first, stderr);
    text_free(&text);
}

void console_complain(Console *console, MessageId id, MessageArg *args) {
    Diag *diag = diag_new(id, NULL, (Span){0, 0}, args);
    console_show_error(console, diag);
    diag_free(diag);
}

static void on_error(void *context, const Diag *diag) {
    Console *console = context;
    if (diag->id != MSG_INTERRUPTED || !console->stopping)
        console_show_error(console, diag);
}

void console_watch(Console *console, Session *session) {
    console->session = session;
    console->stopping = false;
    if (session)
        session_on_error(session, on_error, console);
}

bool console_finish(Console *console) {
    console_flush(console);
    errno = 0;
    if (fclose(stdout) != 0) /* some file systems tell of a failure only now */
        note_failure(console);
    if (!console->failure)
        return true;
    if (console->failure != EPIPE)
        console_complain(console, MSG_OUTPUT_UNWRITABLE, ARGS(strerror(console->failure)));
    return false;
}
