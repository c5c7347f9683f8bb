/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last line becomes a `show`, and the value it shows is taken from the report, not from its text. */
#include "language_number.h"

#include "base/mem.h"
#include "numbers/numeric.h"

#include <stdio.h>
#include <string.h>

/* The text with numbers for its {1} to {9}; 17 digits read back as the same double. */
static void add_filled(Text *out, const char *text, const double *numbers, size_t count) {
    for (const char *at = text; *at; at++) {
        size_t index =
            at[0] == '{' && at[1] >= '1' && at[1] <= '9' && at[2] == '}' ? (size_t)(at[1] - '0') : 0;
        if (index == 0 || index > count) {
            text_add_char(out, *at);
            continue;
        }
        char digits[40];
        snprintf(digits, sizeof digits, "%.17g", numbers[index - 1]);
        text_add_string(out, digits);
        at += 2;
    }
}

static bool is_number(Value value) {
    return value.tag == TAG_AMOUNT || value.tag == TAG_READING;
}

double language_number(Session *session, const char *script, const double *numbers, size_t count) {
    const char *newline = strrchr(script, '\n');
    const char *expression = newline ? newline + 1 : script;
    Text shape = {0}, text = {0};
    text_add(&shape, script, (size_t)(expression - script));
    text_add_string(&shape, "show ");
    text_add_string(&shape, expression);
    text_add_char(&shape, '\n');
    add_filled(&text, text_string(&shape), numbers, count);
    Source *source = source_new("row.rlet", NULL, text_string(&text), text.length);
    double number = NUMERIC_NONE;
    if (session_run(session, source) == SESSION_OK) {
        const Report *report = session_report(session);
        for (int i = 0; i < report->count; i++)
            if (report->items[i]->type == ITEM_SHOW && is_number(report->items[i]->shown.value))
                number = report->items[i]->shown.value.as.number;
    }
    source_release(source);
    text_free(&shape);
    text_free(&text);
    return number;
}
