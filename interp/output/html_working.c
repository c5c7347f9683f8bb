/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The fold-out is a `details` element, which the keyboard opens and which screen readers announce, without a
 * script. In it the steps are a list; those within a formula are a list in the item of its call. An equation
 * is a grid, so that each = comes under the one before:
 *
 *   name  = expression
 *         = with values
 *         = value
 *
 * On paper a fold-out that is closed is left out: a card for the wall has no room for the working of all it
 * says. Whoever wants some of it printed opens it first, and gets what the screen shows. */
#include "output/html_working.h"

#include <string.h>

#include "base/mem.h"
#include "base/message.h"
#include "output/markup.h"
#include "output/render.h"

typedef struct Page {
    Text *out;
    const UnitTable *units;
} Page;

static void add_step(const Page *page, const WorkingStep *step);

/* `open`, the text in one line, `close`. */
static void add_line(const Page *page, const char *open, const char *text, const char *close) {
    Text line = {0};
    render_one_line(&line, text);
    text_add_string(page->out, open);
    markup_add(page->out, text_string(&line));
    text_add_string(page->out, close);
    text_free(&line);
}

/* The same for what is read as prose: a number is kept with its unit. */
static void add_prose(const Page *page, const char *open, const char *text, const char *close) {
    Text line = {0};
    render_one_line(&line, text);
    text_add_string(page->out, open);
    markup_add_prose(page->out, page->units, text_string(&line));
    text_add_string(page->out, close);
    text_free(&line);
}

static void add_code(const Page *page, const char *code) {
    add_prose(page, "<code dir=\"auto\">", code, "</code>");
}

static void add_steps(const Page *page, const WorkingStep *step, bool inside) {
    for (int i = 0; i < step->child_count; i++)
        if (step->children[i].inside == inside && !render_step_repeats(step->children, i))
            add_step(page, &step->children[i]);
}

/* Those that belong below a step, as a list. */
static void add_list(const Page *page, const WorkingStep *step, bool all) {
    size_t before = page->out->length;
    text_add_string(page->out, "<ol class=\"steps\">\n");
    size_t empty = page->out->length;
    if (all)
        add_steps(page, step, false);
    add_steps(page, step, true);
    if (page->out->length == empty) {
        page->out->length = before;
        page->out->bytes[before] = '\0';
    } else {
        text_add_string(page->out, "</ol>\n");
    }
}

/* ---- parts of a step ---- */

static void add_name(const Page *page, const char *name) {
    text_add_string(page->out, "<span class=\"name\">");
    add_code(page, name);
    text_add_string(page->out, "</span>");
}

/* A line of an equation, after its =. What is read at a glance is bold: no list, record or long text. */
static void add_part(const Page *page, const char *code, const char *value, const char *after) {
    enum { GLANCE = 40 };
    text_add_string(page->out, " <span class=\"part\">= ");
    if (code)
        add_code(page, code);
    else if (utf8_width(value, strlen(value)) <= GLANCE)
        add_prose(page, "<b dir=\"auto\">", value, "</b>");
    else
        add_prose(page, "<span dir=\"auto\">", value, "</span>");
    text_add_string(page->out, after);
    text_add_string(page->out, "</span>");
}

static void add_equation(const Page *page, const WorkingStep *step) {
    const bool plain = step->literal || strcmp(step->expression, step->value) == 0;
    const char *rounded = step->rounded ? message_text(PHRASE_WORKING_ROUNDED) : "";
    text_add_string(page->out, step->name ? "<div class=\"eq\">" : "<div class=\"eq bare\">");
    if (step->name) {
        add_name(page, step->name);
        add_part(page, plain ? NULL : step->expression, step->expression, "");
    } else {
        add_code(page, step->expression);
    }
    if (step->with_values)
        add_part(page, step->with_values, NULL, "");
    if (!plain)
        add_part(page, NULL, step->value, rounded);
    text_add_string(page->out, "</div>\n");
}

static void add_input(const Page *page, const WorkingStep *step) {
    text_add_string(page->out, "<div class=\"eq\">");
    add_name(page, step->name);
    add_part(page, NULL, step->value, "");
    text_add_string(page->out, "</div>\n");
    if (step->about)
        add_prose(page, "<p dir=\"auto\">", step->about, "</p>\n");
}

static void add_about(const Page *page, const WorkingStep *step) {
    char *about = render_step_about(step);
    if (about) {
        text_add_string(page->out, "<p>");
        add_code(page, step->formula);
        add_prose(page, ": ", about, "</p>\n");
    }
    for (int i = 0; i < step->assumption_count; i++)
        add_prose(page, "<p>", step->assumptions[i], "</p>\n");
    mem_free(about);
}

static void add_pour_head(const Page *page, const WorkingTable *table) {
    text_add_string(page->out, "<thead><tr>");
    add_line(page, "<th scope=\"col\"><span class=\"heard\">", "what", "</span></th>");
    for (int column = 1; column < table->columns; column++)
        add_line(page, "<th scope=\"col\" class=\"n\">", *working_cell(table, 0, column), "</th>");
    text_add_string(page->out, "</tr></thead>\n");
}

static void add_pour(const Page *page, const WorkingTable *table) {
    if (!table->cells)
        return;
    text_add_string(page->out,
                    "<div class=\"scroll\" role=\"region\" aria-label=\"what was poured\" tabindex=\"0\">"
                    "<table class=\"data pour\">\n");
    add_pour_head(page, table);
    text_add_string(page->out, "<tbody>\n");
    for (int row = 1; row < table->rows; row++) {
        add_line(page, "<tr><th scope=\"row\" dir=\"auto\">", *working_cell(table, row, 0), "</th>");
        for (int column = 1; column < table->columns; column++)
            add_line(page, "<td class=\"n\">", *working_cell(table, row, column), "</td>");
        text_add_string(page->out, "</tr>\n");
    }
    text_add_string(page->out, "</tbody></table></div>\n");
}

static void add_step(const Page *page, const WorkingStep *step) {
    char *remark = render_step_remark(step);
    const bool follow = render_steps_follow(step);
    if (!follow)
        add_steps(page, step, false);
    text_add_string(page->out, "<li>");
    if (remark)
        add_prose(page, "<p class=\"said\" dir=\"auto\">", remark, "</p>\n");
    else if (step->role == WORKING_INPUT || step->role == WORKING_UNIT)
        add_input(page, step);
    else
        add_equation(page, step);
    add_pour(page, &step->table);
    add_about(page, step);
    add_list(page, step, follow);
    text_add_string(page->out, "</li>\n");
    mem_free(remark);
}

/* ---- fold-outs ---- */

static void add_steps_of(const Page *page, const Working *working) {
    char *earlier = render_working_earlier(working), *shares = render_working_shares(working);
    if (earlier)
        add_prose(page, "<p>", earlier, "</p>\n");
    if (working->count) {
        text_add_string(page->out, "<ol class=\"steps\">\n");
        for (int i = 0; i < working->count; i++)
            if (!render_step_repeats(working->steps, i))
                add_step(page, &working->steps[i]);
        text_add_string(page->out, "</ol>\n");
    }
    if (shares)
        add_prose(page, "<p>", shares, "</p>\n");
    mem_free(earlier);
    mem_free(shares);
}

/* What it is the working of is told once more where it is not seen: screen readers list fold-outs by name. */
static void add_fold(const Page *page, const Working *working, const char *label, bool seen) {
    text_add_string(page->out, "<details class=\"how\"><summary>working");
    if (label && *label)
        add_line(page, seen ? ": <span dir=\"auto\">" : "<span class=\"heard\">: ", label, "</span>");
    text_add_string(page->out, "</summary>\n");
    add_steps_of(page, working);
    text_add_string(page->out, "</details>");
}

bool html_has_working(const Report *report) {
    for (int i = 0; i < report->count; i++) {
        const Item *item = report->items[i];
        bool has = render_has_working(item->working);
        for (int c = 0; item->table && c < item->table->column_count; c++)
            has = has || render_has_working(item->table->columns[c].working);
        if (has)
            return true;
    }
    return false;
}

void html_add_working_row(Text *out, const UnitTable *units, const Item *item) {
    Page page = {out, units};
    if (!render_has_working(item->working))
        return;
    text_add_string(out, "<tr class=\"fold\"><td colspan=\"3\">");
    add_fold(&page, item->working, item->label, false);
    text_add_string(out, "</td></tr>\n");
}

void html_add_column_working(Text *out, const UnitTable *units, const TableResult *table) {
    Page page = {out, units};
    for (int i = 0; i < table->column_count; i++) {
        if (!render_has_working(table->columns[i].working))
            continue;
        add_fold(&page, table->columns[i].working, table->columns[i].label, true);
        text_add_char(out, '\n');
    }
}
