/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/wrap.h"

#include <stdbool.h>
#include <string.h>

#include "base/text.h"

typedef struct Line {
    const char *text;
    size_t length;
} Line;

static bool is_name_byte(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' ||
           (c & 0x80);
}

static size_t word_end(const Line *line, size_t at) {
    while (at < line->length && line->text[at] != ' ')
        at++;
    return at;
}

static size_t quote_end(const Line *line, size_t at) {
    const char *end = memchr(line->text + at + 1, line->text[at], line->length - at - 1);
    return end ? (size_t)(end - line->text) + 1 : 0;
}

/* After the bracket that closes the one at `at`; 0 if none does. */
static size_t bracket_end(const Line *line, size_t at) {
    size_t depth = 0;
    while (at < line->length) {
        char c = line->text[at];
        size_t quoted = c == '"' ? quote_end(line, at) : 0;
        depth += strchr("([{", c) != NULL;
        if (strchr(")]}", c) && --depth == 0)
            return at + 1;
        at = quoted ? quoted : at + 1;
    }
    return 0;
}

/* After what opens at `at`, which a line should not break. 0: nothing does. A remark (in brackets) may
 * break. */
static size_t span_end(const Line *line, size_t at) {
    switch (line->text[at]) {
    case '`':
    case '"':
        return quote_end(line, at);
    case '[':
    case '{':
        return bracket_end(line, at);
    case '(':
        return at > 0 && is_name_byte(line->text[at - 1]) ? bracket_end(line, at) : 0;
    default:
        return 0;
    }
}

/* A word and the spans in it. */
static size_t spanned_end(const Line *line, size_t at) {
    while (at < line->length && line->text[at] != ' ') {
        size_t end = span_end(line, at);
        at = end ? end : at + 1;
    }
    return at;
}

static bool is_one_of(const Line *word, const char *const *words) {
    for (; *words; words++)
        if (strlen(*words) == word->length && memcmp(*words, word->text, word->length) == 0)
            return true;
    return false;
}

/* A word of a text that ends at `end`. */
static bool is_operator(const Line *word, const char *end) {
    static const char *const operators[] = {"=", "==", "!=", "<", "<=", ">", ">=", "+",
                                            "-", "*",  "/",  "^", "±",  "×", NULL};
    bool changes = word->length == 4 && memcmp(word->text, "with", 4) == 0 && word->text + 5 < end &&
                   word->text[5] == '{'; /* r with {a: 1} */
    return changes || is_one_of(word, operators);
}

static bool is_number(const Line *word) {
    bool digit = false;
    for (size_t i = 0; i < word->length; i++) {
        if (!strchr("+-.,_/0123456789", word->text[i]))
            return false;
        digit = word->text[i] >= '0' && word->text[i] <= '9';
    }
    return digit; /* at its end: a comma or a full stop there ends the piece */
}

/* Does what comes after the word belong to it? */
static bool is_bound_forwards(const Line *word, const char *end) {
    static const char *const starts[] = {"let", "formula", "rundlet", NULL};
    bool option = word->length > 2 && memcmp(word->text, "--", 2) == 0;
    return is_operator(word, end) || is_number(word) || option || is_one_of(word, starts);
}

/* Not where the line was cut short to look at it. */
static bool fits(const Line *line, size_t end, size_t length, size_t columns) {
    return (end < line->length || line->length == length) && utf8_width(line->text, end) <= columns;
}

size_t wrap_piece(const char *text, size_t length, size_t columns) {
    enum { BYTES_PER_COLUMN = 4 }; /* more would not fit anyway: a long text stays cheap to look at */
    size_t most = columns * BYTES_PER_COLUMN + 1;
    const Line line = {.text = text, .length = length < most ? length : most};
    size_t end = spanned_end(&line, 0), start = 0, whole = end;
    while (whole < line.length) {
        const Line word = {.text = text + start, .length = whole - start};
        size_t next = whole + strspn(text + whole, " ");
        const Line after = {.text = text + next,
                            .length = next < line.length ? word_end(&line, next) - next : 0};
        if (!after.length ||
            !(is_bound_forwards(&word, text + line.length) || is_operator(&after, text + line.length)))
            break;
        start = next;
        whole = spanned_end(&line, next);
    }
    if (fits(&line, whole, length, columns))
        return whole;
    if (fits(&line, end, length, columns))
        return end;
    const Line all = {.text = text, .length = length};
    return word_end(&all, 0);
}
