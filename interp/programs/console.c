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

#include "base/wrap.h"
#include "facade/sink.h"

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

int console_working_columns(const Console *console) {
    size_t width = console->live ? terminal_width() : RENDER_WORKING_WIDTH;
    return width < RENDER_WORKING_WIDTH ? (int)width : RENDER_WORKING_WIDTH;
}

/* How much of a line fits: up to the last space that leaves it no wider, else up to the first space. What is
 * to be typed is not broken, if the next line has room for it: as many columns as `below`. */
static size_t fitting_length(const char *line, size_t length, size_t width, size_t below) {
    size_t best = length, at = 0;
    while (at < length) {
        size_t word = at + strspn(line + at, " ");
        if (word < length)
            word += wrap_piece(line + word, length - word, below);
        if (utf8_width(line, word) > width)
            return best == length ? word : best;
        best = at = word;
    }
    return length;
}

/* One line and its end; what does not fit continues below, from column `hang` on. */
static void add_wrapped_line(Text *out, const char *line, size_t length, size_t hang, size_t width) {
    size_t room = width, fits;
    while ((fits = fitting_length(line, length, room, width - hang)) < length) {
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

static void add_wrapped(Text *out, const Text *text, size_t width) {
    for (const char *line = text_string(text); *line;) {
        size_t length = strcspn(line, "\n"), hang = strspn(line, " ") + 2;
        add_wrapped_line(out, line, length, hang < width / 2 ? hang : 2, width);
        line += length + (line[length] == '\n');
    }
}

void console_write_wrapped(Console *console, const Text *text) {
    size_t width = console_width(console);
    Text wrapped = {0};
    if (width)
        add_wrapped(&wrapped, text, width);
    console_write(console, width ? &wrapped : text);
    text_free(&wrapped);
}

/* ---- errors ---- */

/* Where the text of a line of the excerpt begins (`    3 | let x`, `      | ^^^`); 0 for any other line. */
static size_t excerpt_gutter(const char *line, size_t length) {
    size_t at = strspn(line, " ");
    at += strspn(line + at, "0123456789");
    at += strspn(line + at, " ");
    return at >= 4 && at < length && line[at] == '|' ? at + 1 + (line[at + 1] == ' ') : 0;
}

/* The source line itself, and not its marks. */
static bool is_numbered(const char *line) {
    line += strspn(line, " ");
    return *line >= '0' && *line <= '9';
}

/* How many bytes of a line take that many columns, and no more. */
static size_t bytes_of_columns(const char *line, size_t length, size_t columns) {
    size_t at = 0;
    while (at < length) {
        size_t next = at + 1;
        while (next < length && ((unsigned char)line[next] & 0xC0) == 0x80)
            next++;
        if (utf8_width(line, next) > columns)
            break;
        at = next;
    }
    return at;
}

typedef struct Excerpt {
    size_t gutter, room; /* columns left of the text, and for it */
    size_t shift;        /* columns of the text that are left out before it, so that its marks are seen */
} Excerpt;

/* Looks at the lines of an excerpt from `line` on: the source line first, its marks below. */
static Excerpt measure_excerpt(const char *line, size_t width) {
    Excerpt excerpt = {.gutter = excerpt_gutter(line, strcspn(line, "\n"))};
    size_t marks = 0, gutter;
    excerpt.room = width > excerpt.gutter ? width - excerpt.gutter : 1;
    for (line += strcspn(line, "\n"); *line == '\n'; line += strcspn(line, "\n")) {
        size_t length = strcspn(++line, "\n");
        if (!(gutter = excerpt_gutter(line, length)))
            break;
        size_t used = utf8_width(line + gutter, length - gutter);
        marks = used > marks ? used : marks;
    }
    excerpt.shift = marks > excerpt.room ? marks - excerpt.room + 1 : 0;
    return excerpt;
}

static void add_excerpt_line(Text *out, const char *line, size_t length, const Excerpt *excerpt) {
    size_t gutter = excerpt_gutter(line, length);
    bool source = is_numbered(line);
    const char *text = line + gutter;
    length -= gutter;
    text_add(out, line, gutter);
    size_t dropped = bytes_of_columns(text, length, excerpt->shift), room = excerpt->room;
    text += dropped;
    length -= dropped;
    if (dropped && source && length) {
        size_t first = bytes_of_columns(text, length, 1);
        text_add_string(out, "…");
        text += first;
        length -= first;
        room--;
    }
    bool cut = utf8_width(text, length) > room;
    text_add(out, text, cut ? bytes_of_columns(text, length, room - 1) : length);
    text_add_string(out, cut ? "…\n" : "\n");
}

/* A rendered error for a terminal: its words wrapped, the excerpt of the source cut to the width, so that
 * what marks a part of it stays below that part. The length of the message, which comes first. */
static size_t fit_error(Text *error, size_t width) {
    static const char start[] = "   hint: ";
    Text fitted = {0};
    Excerpt excerpt = {0};
    size_t message = 0;
    for (const char *line = text_string(error); *line;) {
        size_t length = strcspn(line, "\n"), gutter = excerpt_gutter(line, length);
        if (gutter && is_numbered(line))
            excerpt = measure_excerpt(line, width);
        if (gutter && excerpt.gutter)
            add_excerpt_line(&fitted, line, length, &excerpt);
        else
            add_wrapped_line(&fitted, line, length, sizeof start - 1, width);
        message = message ? message : fitted.length - 1;
        line += length + (line[length] == '\n');
    }
    text_free(error);
    *error = fitted;
    return message;
}

/* ---- writing ---- */

void console_flush(Console *console) {
    errno = 0;
    if (!console->failure && fflush(stdout) != 0)
        note_failure(console);
}

void console_write_aside(Console *console, const Text *text) {
    size_t width = console_width(console);
    Text wrapped = {0};
    console_flush(console);
    if (width)
        add_wrapped(&wrapped, text, width);
    const Text *out = width ? &wrapped : text;
    fwrite(text_string(out), 1, out->length, stderr);
    text_free(&wrapped);
}

void console_show_error(Console *console, const Diag *diag) {
    Text text = {0};
    console_flush(console);
    diag_render(&text, diag);
    size_t first =
        console->wraps ? fit_error(&text, console_width(console)) : strcspn(text_string(&text), "\n");
    const char *bytes = text_string(&text);
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
    if (fclose(stdout) != 0) /* some file systems report a failure only now */
        note_failure(console);
    if (!console->failure)
        return true;
    if (console->failure != EPIPE)
        console_complain(console, MSG_OUTPUT_UNWRITABLE, ARGS(strerror(console->failure)));
    return false;
}
