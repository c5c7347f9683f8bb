/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A step is an item: `name` = `expression` = `with values` = value, each = on a line of its own where they do
 * not fit one. Below it come, as a list of its own, what its formula stands for, what was assumed, and the
 * steps within it. */
#include "output/markdown_working.h"

#include <string.h>

#include "base/mem.h"
#include "base/message.h"
#include "output/markdown_text.h"
#include "output/render.h"

enum { DEEPER = 2 }; /* columns that an item's text is in from its mark */

static void add_step(Text *out, const WorkingStep *step, size_t indent);

static void add_steps(Text *out, const WorkingStep *step, bool inside, size_t indent) {
    for (int i = 0; i < step->child_count; i++)
        if (step->children[i].inside == inside && !render_step_repeats(step->children, i))
            add_step(out, &step->children[i], indent);
}

static void add_mark(Text *out, size_t indent) {
    text_add_padding(out, 0, indent);
    text_add_string(out, "- ");
}

static void add_remark(Text *out, const char *remark, size_t indent) {
    add_mark(out, indent);
    markdown_add_start(out, remark);
    text_add_char(out, '\n');
}

static void add_about(Text *out, const WorkingStep *step, size_t indent) {
    char *about = render_step_about(step);
    if (about) {
        add_mark(out, indent);
        markdown_add_code(out, step->formula);
        text_add_string(out, ": ");
        markdown_add(out, about);
        text_add_char(out, '\n');
    }
    for (int i = 0; i < step->assumption_count; i++)
        add_remark(out, step->assumptions[i], indent);
    mem_free(about);
}

static void add_row(Text *out, const WorkingTable *table, int row, size_t indent) {
    text_add_padding(out, 0, indent);
    for (int column = 0; column < table->columns; column++) {
        text_add_string(out, "| ");
        markdown_add(out, *working_cell(table, row, column));
        text_add_char(out, ' ');
    }
    text_add_string(out, "|\n");
}

/* A block of its own within the item. */
static void add_table(Text *out, const WorkingTable *table, size_t indent) {
    text_add_char(out, '\n');
    add_row(out, table, 0, indent);
    text_add_padding(out, 0, indent);
    for (int column = 0; column < table->columns; column++)
        text_add_string(out, column ? "| ---: " : "| --- ");
    text_add_string(out, "|\n");
    for (int row = 1; row < table->rows; row++)
        add_row(out, table, row, indent);
    text_add_char(out, '\n');
}

static size_t width_of(const char *text) {
    return text ? utf8_width(text, strlen(text)) + strlen(" = ``") : 0;
}

/* What goes before a further part. */
static void add_equals(Text *out, bool broken, size_t indent) {
    if (broken) {
        text_add_string(out, "\\\n");
        text_add_padding(out, 0, indent);
    } else {
        text_add_char(out, ' ');
    }
    text_add_string(out, "= ");
}

static void add_equation(Text *out, const WorkingStep *step, size_t indent) {
    const size_t within = indent + DEEPER;
    const char *rounded = step->rounded ? message_text(PHRASE_WORKING_ROUNDED) : "";
    const bool plain = step->literal || strcmp(step->expression, step->value) == 0;
    const bool broken = within + width_of(step->name) + width_of(step->expression) +
                            width_of(step->with_values) + (plain ? 0 : width_of(step->value)) +
                            strlen(rounded) >
                        RENDER_WIDTH;
    add_mark(out, indent);
    if (step->name) {
        markdown_add_code(out, step->name);
        text_add_string(out, " = ");
    }
    if (plain && step->name)
        markdown_add(out, step->expression);
    else
        markdown_add_code(out, step->expression);
    if (step->with_values) {
        add_equals(out, broken, within);
        markdown_add_code(out, step->with_values);
    }
    if (!plain) {
        add_equals(out, broken, within);
        markdown_add(out, step->value);
    }
    markdown_add(out, rounded);
    text_add_char(out, '\n');
}

static void add_input(Text *out, const WorkingStep *step, size_t indent) {
    add_mark(out, indent);
    markdown_add_code(out, step->name);
    text_add_string(out, " = ");
    markdown_add(out, step->value);
    if (step->about) {
        text_add_string(out, " (");
        markdown_add(out, step->about);
        text_add_char(out, ')');
    }
    text_add_char(out, '\n');
}

static void add_step(Text *out, const WorkingStep *step, size_t indent) {
    char *remark = render_step_remark(step);
    const bool follow = render_steps_follow(step);
    if (!follow)
        add_steps(out, step, false, indent);
    if (remark)
        add_remark(out, remark, indent);
    else if (step->role == WORKING_INPUT || step->role == WORKING_UNIT)
        add_input(out, step, indent);
    else
        add_equation(out, step, indent);
    if (step->table.cells)
        add_table(out, &step->table, indent + DEEPER);
    add_about(out, step, indent + DEEPER);
    if (follow)
        add_steps(out, step, false, indent + DEEPER);
    add_steps(out, step, true, indent + DEEPER);
    mem_free(remark);
}

void markdown_add_working(Text *out, const Working *working) {
    if (!render_has_working(working))
        return;
    char *earlier = render_working_earlier(working), *shares = render_working_shares(working);
    if (earlier)
        add_remark(out, earlier, DEEPER);
    for (int i = 0; i < working->count; i++)
        if (!render_step_repeats(working->steps, i))
            add_step(out, &working->steps[i], DEEPER);
    if (shares)
        add_remark(out, shares, DEEPER);
    mem_free(earlier);
    mem_free(shares);
}

void markdown_add_columns(Text *out, const UnitTable *units, const TableResult *table) {
    bool any = false;
    for (int i = 0; i < table->column_count; i++) {
        const TableColumn *column = &table->columns[i];
        if (!render_has_working(column->working))
            continue;
        if (!any) {
            text_add_char(out, '\n');
            text_add_string(out, message_text(PHRASE_WORKING_HEAD));
            text_add_string(out, ":\n\n");
        }
        any = true;
        Text head = {0};
        render_column_head(&head, units, column);
        text_add_string(out, "* "); /* not the mark of shown values, which may follow and are another list */
        markdown_add_start(out, text_string(&head));
        text_add_char(out, '\n');
        markdown_add_working(out, column->working);
        text_free(&head);
    }
}
