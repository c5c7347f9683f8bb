/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text as HTML and SVG may hold it. */
#include "output/markup.h"

#include <string.h>

#include "base/mem.h"

/* Controls (but newline and tab) and noncharacters: HTML and XML have no place for them. */
static bool is_unfit(uint32_t code_point) {
    if (code_point == '\n' || code_point == '\t')
        return false;
    return utf8_is_control(code_point) || (code_point >= 0xFDD0 && code_point <= 0xFDEF) ||
           (code_point & 0xFFFE) == 0xFFFE;
}

void markup_add_bytes(Text *out, const char *text, size_t length) {
    static const char marks[] = "<>&\"'";
    static const char *const names[] = {"&lt;", "&gt;", "&amp;", "&quot;", "&#39;"};
    for (size_t at = 0; at < length;) {
        uint32_t code_point = 0;
        size_t used = utf8_decode(text + at, length - at, &code_point);
        const char *mark = used == 1 && code_point ? strchr(marks, text[at]) : NULL;
        if (mark)
            text_add_string(out, names[mark - marks]);
        else if (!used || is_unfit(code_point))
            text_add_string(out, "\xEF\xBF\xBD");
        else
            text_add(out, text + at, used);
        at += used ? used : 1;
    }
}

void markup_add(Text *out, const char *text) {
    markup_add_bytes(out, text, strlen(text));
}

/* ---- what stays in one line ---- */

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static size_t digits_at(const char *text) {
    size_t length = 0;
    while (is_digit(text[length]))
        length++;
    return length;
}

/* Bytes of a date at the start of a text, 0 for none. */
static size_t date_length(const char *text) {
    bool is_date = digits_at(text) == 4 && text[4] == '-' && digits_at(text + 5) == 2 && text[7] == '-' &&
                   digits_at(text + 8) == 2;
    return is_date ? 10 : 0;
}

/* Bytes of a number and of a fraction after its point. */
static size_t number_length(const char *text) {
    size_t length = digits_at(text);
    if (length && text[length] == '.' && is_digit(text[length + 1]))
        length += 1 + digits_at(text + length + 1);
    return length;
}

/* Bytes of a space and the unit after it, 0 for none: a compound is known by its first unit. */
static size_t unit_length(const UnitTable *units, const char *text) {
    if (*text != ' ')
        return 0;
    size_t word = 1 + strcspn(text + 1, " \t\n,;:()[]{}\"'!?");
    while (word > 1 && text[word - 1] == '.')
        word--;
    size_t simple = 1 + strcspn(text + 1, "/^.");
    char *name = mem_copy(text + 1, (simple < word ? simple : word) - 1);
    UnitId id;
    bool found = *name && unit_find(units, name, true, &id);
    mem_free(name);
    return found ? word : 0;
}

/* Bytes at the start of a text that no line may end in. */
static size_t bound_length(const UnitTable *units, const char *text) {
    size_t date = date_length(text), number = number_length(text);
    if (date || !number)
        return date;
    static const char spread[] = " ± ";
    const size_t beside = sizeof spread - 1;
    if (strncmp(text + number, spread, beside) == 0 && number_length(text + number + beside))
        number += beside + number_length(text + number + beside);
    size_t unit = unit_length(units, text + number);
    return unit ? number + unit : 0;
}

/* After such a character a digit does not begin a number. */
static bool goes_on(char before) {
    return is_digit(before) || before == '.' || before == '_' || (before >= 'a' && before <= 'z') ||
           (before >= 'A' && before <= 'Z');
}

void markup_add_prose(Text *out, const UnitTable *units, const char *text) {
    size_t plain = 0;
    for (size_t at = 0; text[at];) {
        bool starts = is_digit(text[at]) && (at == 0 || !goes_on(text[at - 1]));
        size_t bound = starts ? bound_length(units, text + at) : 0;
        if (!bound) {
            at++;
            continue;
        }
        markup_add_bytes(out, text + plain, at - plain);
        text_add_string(out, "<span class=\"b\">");
        markup_add_bytes(out, text + at, bound);
        text_add_string(out, "</span>");
        at += bound;
        plain = at;
    }
    markup_add(out, text + plain);
}
