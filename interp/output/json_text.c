/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/json_text.h"

#include <string.h>

#include "numbers/format.h"

static void add_escape(Text *out, unsigned code) {
    static const char digits[] = "0123456789abcdef";
    text_add_string(out, "\\u00");
    text_add_char(out, digits[code >> 4 & 15]);
    text_add_char(out, digits[code & 15]);
}

void json_add_string(Text *out, const char *text, size_t length) {
    text_add_char(out, '"');
    for (size_t at = 0; at < length;) {
        uint32_t code_point = 0;
        size_t used = utf8_decode(text + at, length - at, &code_point);
        if (!used)
            text_add_string(out, "\xEF\xBF\xBD");
        else if (code_point == '"' || code_point == '\\') {
            text_add_char(out, '\\');
            text_add_char(out, text[at]);
        } else if (code_point == '\n')
            text_add_string(out, "\\n");
        else if (utf8_is_control(code_point))
            add_escape(out, code_point);
        else
            text_add(out, text + at, used);
        at += used ? used : 1;
    }
    text_add_char(out, '"');
}

void json_add_text(Text *out, const char *text) {
    json_add_string(out, text ? text : "", text ? strlen(text) : 0);
}

void json_add_key(Text *out, const char *key) {
    char last = out->length ? out->bytes[out->length - 1] : '{';
    if (last != '{')
        text_add_char(out, ',');
    json_add_text(out, key);
    text_add_char(out, ':');
}

void json_add_member(Text *out, const char *key, const char *text) {
    json_add_key(out, key);
    json_add_text(out, text);
}

void json_add_integer(Text *out, const char *key, int number) {
    json_add_key(out, key);
    text_add_integer(out, number);
}

void json_add_number(Text *out, const char *key, double number) {
    json_add_key(out, key);
    format_shortest(out, number);
}

void json_add_member_or_null(Text *out, const char *key, const char *text) {
    json_add_key(out, key);
    if (text && *text)
        json_add_text(out, text);
    else
        text_add_string(out, "null");
}

void json_add_truth(Text *out, const char *key, bool truth) {
    json_add_key(out, key);
    text_add_string(out, truth ? "true" : "false");
}
