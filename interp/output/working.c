/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The working of a value as plain text: each step on its own lines, what follows an = under the one before. */
#include <string.h>

#include "base/text.h"
#include "output/render.h"

static void add_line(Text *out, size_t indent, const char *start, const char *text) {
    text_add_padding(out, 0, indent);
    text_add_string(out, start);
    text_add_string(out, text);
    text_add_char(out, '\n');
}

static void add_about(Text *out, const WorkingStep *step, size_t indent) {
    if (!step->about)
        return;
    text_add_padding(out, 0, indent);
    text_add_string(out, step->about);
    if (step->source) {
        text_add_string(out, " Source: ");
        text_add_string(out, step->source);
    }
    text_add_char(out, '\n');
}

static void add_step(Text *out, const WorkingStep *step, size_t indent) {
    const char *name = step->name ? step->name : "";
    if (step->because) {
        text_add_padding(out, 0, indent);
        text_add_string(out, strcmp(step->value, "true") == 0 ? "since " : "since not ");
        text_add_string(out, step->expression);
        if (step->with_values) {
            text_add_string(out, ": ");
            text_add_string(out, step->with_values);
        }
        text_add_char(out, '\n');
        return;
    }
    for (int i = 0; i < step->child_count && !step->about; i++)
        add_step(out, &step->children[i], indent + 2);
    bool plain = strcmp(step->expression, step->value) == 0;
    size_t column = indent + strlen(name) + (*name ? 1 : 0);
    text_add_padding(out, 0, indent);
    if (*name) {
        text_add_string(out, name);
        text_add_string(out, " = ");
    }
    text_add_string(out, step->expression);
    text_add_char(out, '\n');
    if (step->with_values)
        add_line(out, column, "= ", step->with_values);
    if (!plain) {
        text_add_padding(out, 0, column);
        text_add_string(out, "= ");
        text_add_string(out, step->value);
        text_add_string(out, step->rounded ? " (rounded)\n" : "\n");
    }
    add_about(out, step, column + 2);
    for (int i = 0; i < step->child_count && step->about; i++)
        add_step(out, &step->children[i], indent + 4);
}

void render_working(Text *out, const Working *working) {
    for (int i = 0; i < working->count; i++)
        add_step(out, &working->steps[i], 2);
}
