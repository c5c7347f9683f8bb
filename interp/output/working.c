/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The working of a value as plain text: a step on one line where it fits, else each = under the one before.
 */
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "output/render.h"

static void add_step(Text *out, const WorkingStep *step, size_t indent, int columns);

static void add_steps(Text *out, const WorkingStep *step, bool inside, size_t indent, int columns) {
    for (int i = 0; i < step->child_count; i++)
        if (step->children[i].inside == inside)
            add_step(out, &step->children[i], indent, columns);
}

static bool has_steps(const WorkingStep *step, bool inside) {
    for (int i = 0; i < step->child_count; i++)
        if (step->children[i].inside == inside)
            return true;
    return false;
}

/* `abv: strength from the gravities … (Balling 1865)` */
static void add_about(Text *out, const WorkingStep *step, size_t indent, int columns) {
    if (!step->formula)
        return;
    Text words = {0}, start = {0};
    text_add_padding(&start, 0, indent);
    text_add_string(&start, step->formula);
    text_add_string(&start, ": ");
    text_add_string(&words, step->about);
    if (step->source) {
        text_add_string(&words, " Source: ");
        text_add_string(&words, step->source);
    }
    render_wrapped(out, text_string(&start), text_string(&words), columns);
    text_free(&words);
    text_free(&start);
}

static void add_because(Text *out, const WorkingStep *step, size_t indent) {
    text_add_padding(out, 0, indent);
    text_add_string(out, strcmp(step->value, "true") == 0 ? "since " : "since this is not so: ");
    text_add_string(out, step->expression);
    text_add_string(out, step->with_values ? ", that is " : "");
    text_add_string(out, step->with_values ? step->with_values : "");
    text_add_char(out, '\n');
}

/* A part behind its =, on a line of its own where `column` is not 0. */
static void add_part(Text *out, const char *part, size_t column) {
    if (column) {
        text_add_char(out, '\n');
        text_add_padding(out, 0, column);
    } else {
        text_add_char(out, ' ');
    }
    text_add_string(out, "= ");
    text_add_string(out, part);
}

static void add_step(Text *out, const WorkingStep *step, size_t indent, int columns) {
    if (step->because) {
        add_because(out, step, indent);
        return;
    }
    add_steps(out, step, false, indent, columns);
    size_t name = step->name ? strlen(step->name) : 0, column = name ? indent + name + 1 : indent + 2;
    const char *values = step->with_values;
    bool plain = strcmp(step->expression, step->value) == 0, opens = has_steps(step, true);
    size_t length = column + 2 + strlen(step->expression) + (values ? strlen(values) + 3 : 0) +
                    strlen(step->value) + 3 + (step->rounded ? 10 : 0);
    size_t at = !opens && (columns <= 0 || length <= (size_t)columns) ? 0 : column;
    text_add_padding(out, 0, indent);
    if (name) {
        text_add_string(out, step->name);
        text_add_string(out, " = ");
    }
    text_add_string(out, step->expression);
    if (values)
        add_part(out, values, at);
    if (opens) {
        text_add_char(out, '\n');
        add_steps(out, step, true, column + 4, columns);
        out->length--; /* the line end comes with the value */
        out->bytes[out->length] = '\0';
    }
    if (!plain)
        add_part(out, step->value, at);
    text_add_string(out, step->rounded ? " (rounded)\n" : "\n");
    add_about(out, step, column + 2, columns);
}

void render_working(Text *out, const Working *working, int columns) {
    for (int i = 0; i < working->count; i++)
        add_step(out, &working->steps[i], 2, columns);
}
