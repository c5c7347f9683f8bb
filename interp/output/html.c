/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report as one HTML page: a card to pin up, to mail, or to read on a phone.
 *
 *   title                     the first heading, else the name of the script
 *   what failed               errors and failed checks, framed, before anything is believed
 *   items in their order      shown values as rows of label, number and unit; tables; notes; cautions framed
 *   calendar                  the events, each with a box to tick
 *   foot                      program, script, SHA-256, inputs, assumptions, checks
 *
 * It is HTML that an XML parser reads as well, which the tests do. It refers to nothing outside itself, has
 * no script, and says so to the browser (Content Security Policy). Text of a script is escaped, and set in
 * the direction of its own letters (dir="auto"). */
#include <string.h>

#include "base/mem.h"
#include "numbers/calendar.h"
#include "output/html_style.h"
#include "output/plot.h"
#include "output/render.h"

/* ---- text ---- */

/* Controls (but newline and tab) and noncharacters: HTML and XML have no place for them. */
static bool is_unfit(uint32_t code_point) {
    if (code_point == '\n' || code_point == '\t')
        return false;
    return code_point < 0x20 || (code_point >= 0x7F && code_point < 0xA0) ||
           (code_point >= 0xFDD0 && code_point <= 0xFDEF) || (code_point & 0xFFFE) == 0xFFFE;
}

/* What is unfit becomes the replacement character. */
static void add_bytes(Text *out, const char *text, size_t length) {
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

static void add_escaped(Text *out, const char *text) {
    add_bytes(out, text, strlen(text));
}

/* `open`, the text, `close`. */
static void add_element(Text *out, const char *open, const char *text, const char *close) {
    text_add_string(out, open);
    add_escaped(out, text);
    text_add_string(out, close);
}

static void add_one_line(Text *out, const char *open, const char *text, const char *close) {
    Text line = {0};
    render_one_line(&line, text);
    add_element(out, open, text_string(&line), close);
    text_free(&line);
}

/* ---- shown values ---- */

/* Where the number of `5.00 ± 0.10 gal` ends; 0 for what is no number with a unit. */
static size_t number_length(const UnitTable *units, const Item *item) {
    const char *unit = render_unit(units, item->value);
    size_t length = strlen(item->text), tail = strlen(unit);
    if (!render_is_number(item->value))
        return 0;
    if (tail == 0)
        return length;
    if (length < tail + 2 || strcmp(item->text + length - tail, unit) != 0)
        return 0;
    return length - tail - 1;
}

static void add_show(Text *out, const UnitTable *units, const Item *item) {
    size_t number = number_length(units, item);
    bool labelled = item->label && *item->label;
    text_add_string(out, "<tr>");
    if (labelled)
        add_one_line(out, "<th scope=\"row\" dir=\"auto\">", item->label, "</th>");
    else
        text_add_string(out, "<td></td>");
    if (number == 0) {
        add_element(out, "<td class=\"w\" colspan=\"2\" dir=\"auto\">", item->text, "</td></tr>\n");
        return;
    }
    text_add_string(out, "<td class=\"n\">");
    add_bytes(out, item->text, number);
    text_add_string(out, "</td><td class=\"u\">");
    add_escaped(out, render_unit(units, item->value));
    text_add_string(out, "</td></tr>\n");
}

/* ---- tables ---- */

/* How the numbers of a column are set: with `fraction` characters from the decimal point on, where they
 * differ. */
typedef struct ColumnStyle {
    bool numeric;
    bool differs;
    size_t fraction;
} ColumnStyle;

static size_t whole_length(const char *number) {
    return strcspn(number, ".e ");
}

static ColumnStyle style_column(const UnitTable *units, const TableResult *table, int index) {
    const TableColumn *column = &table->columns[index];
    ColumnStyle style = {0};
    for (int row = 0; row < table->row_count; row++) {
        if (table->failed[index][row] || !render_is_number(column->cells[row]))
            continue;
        Text cell = {0};
        render_cell(&cell, units, column, row);
        const char *fraction = text_string(&cell) + whole_length(text_string(&cell));
        size_t width = utf8_width(fraction, strlen(fraction));
        style.differs = style.differs || (style.numeric && width != style.fraction);
        style.fraction = width > style.fraction ? width : style.fraction;
        style.numeric = true;
        text_free(&cell);
    }
    return style;
}

static void add_number(Text *out, const char *cell, ColumnStyle style) {
    size_t whole = style.differs ? whole_length(cell) : strlen(cell);
    add_bytes(out, cell, whole);
    if (!style.differs)
        return;
    text_add_string(out, "<span class=\"f\" style=\"min-width:");
    text_add_integer(out, (long long)style.fraction);
    text_add_string(out, "ch\">");
    add_escaped(out, cell + whole);
    text_add_string(out, "</span>");
}

static void add_cell(Text *out, const UnitTable *units, const TableResult *table, int index, int row,
                     ColumnStyle style) {
    const TableColumn *column = &table->columns[index];
    bool failed = table->failed[index][row], number = !failed && render_is_number(column->cells[row]);
    const char *tag = column->loop ? "th" : "td";
    Text cell = {0};
    text_add_char(out, '<');
    text_add_string(out, tag);
    text_add_string(out, column->loop ? " scope=\"row\"" : "");
    if (!failed && value_is_quantity(column->cells[row]) && column->cells[row].unit == UNIT_DATE)
        text_add_string(out, " class=\"day\">");
    else
        text_add_string(out, number || (failed && style.numeric) ? " class=\"n\">" : " dir=\"auto\">");
    if (failed) {
        text_add_string(out, "<span role=\"img\" aria-label=\"no value\">—</span>");
    } else {
        render_cell(&cell, units, column, row);
        if (number)
            add_number(out, text_string(&cell), style);
        else
            add_escaped(out, text_string(&cell));
    }
    text_add_string(out, "</");
    text_add_string(out, tag);
    text_add_char(out, '>');
    text_free(&cell);
}

static void add_column_head(Text *out, const UnitTable *units, const TableColumn *column, ColumnStyle style) {
    bool has_unit =
        column->has_unit && !column->bare && column->unit != UNIT_NUMBER && column->unit != UNIT_DATE;
    add_one_line(out, style.numeric ? "<th scope=\"col\" class=\"n\">" : "<th scope=\"col\" dir=\"auto\">",
                 column->label, "");
    if (has_unit)
        add_element(out, " <span class=\"unit\">", unit_get(units, column->unit)->name, "</span>");
    text_add_string(out, "</th>");
}

/* A wide table is moved sideways within its own frame, which the keyboard can reach. */
static void add_grid(Text *out, const UnitTable *units, const TableResult *table) {
    ColumnStyle *styles = mem_array((size_t)table->column_count + 1, sizeof *styles);
    text_add_string(out, "<div class=\"scroll\" role=\"region\" aria-label=\"table\" tabindex=\"0\">"
                         "<table class=\"data\">\n");
    if (table->caption)
        add_one_line(out, "<caption>", table->caption, "</caption>\n");
    text_add_string(out, "<thead><tr>");
    for (int i = 0; i < table->column_count; i++) {
        styles[i] = style_column(units, table, i);
        add_column_head(out, units, &table->columns[i], styles[i]);
    }
    text_add_string(out, "</tr></thead>\n<tbody>\n");
    for (int row = 0; row < table->row_count; row++) {
        text_add_string(out, "<tr>");
        for (int i = 0; i < table->column_count; i++)
            add_cell(out, units, table, i, row, styles[i]);
        text_add_string(out, "</tr>\n");
    }
    text_add_string(out, "</tbody></table></div>\n");
    mem_free(styles);
}

static void add_table(Text *out, const UnitTable *units, const TableResult *table) {
    if (table->is_plot) {
        text_add_string(out, "<figure>\n");
        plot_svg(out, units, table);
        text_add_string(out, "</figure>\n<details><summary>the numbers</summary>\n");
    }
    add_grid(out, units, table);
    if (table->is_plot)
        text_add_string(out, "</details>\n");
    for (int i = 0; i < table->reason_count; i++)
        add_one_line(out, "<p class=\"reason\">— ", table->reasons[i], "</p>\n");
}

/* ---- items ---- */

/* The sign of a caution is drawn, so that it needs no font and is printed whatever the printer does to
 * colours. */
#define CAUTION_SIGN                                                                                         \
    "<svg class=\"sign\" viewBox=\"0 0 24 22\" aria-hidden=\"true\">"                                        \
    "<path d=\"M12 2 22.5 20.5h-21ZM12 8.5v5.5M12 17v.1\"/></svg>"

/* Neighbours of one type share what encloses them. */
typedef struct Frame {
    const char *open, *close;
} Frame;

static const Frame frames[] = {
    [ITEM_SHOW] = {"<table class=\"results\">\n<tbody>\n", "</tbody></table>\n"},
    [ITEM_PRINT] = {"<div class=\"print\">\n", "</div>\n"},
    [ITEM_HEADING] = {"", ""},
    [ITEM_NOTE] = {"<aside class=\"note\"><p><b>Note</b></p>\n", "</aside>\n"},
    [ITEM_CAUTION] = {"<aside class=\"caution\"><p class=\"word\">" CAUTION_SIGN "Caution</p>\n",
                      "</aside>\n"},
    [ITEM_EVENT] = {"", ""},
    [ITEM_TABLE] = {"", ""},
};

static void add_item(Text *out, const UnitTable *units, const Item *item) {
    switch (item->type) {
    case ITEM_SHOW:
        add_show(out, units, item);
        break;
    case ITEM_HEADING:
        add_one_line(out, "<h2 dir=\"auto\">", item->text, "</h2>\n");
        break;
    case ITEM_PRINT:
    case ITEM_NOTE:
    case ITEM_CAUTION:
        add_element(out, "<p dir=\"auto\">", item->text, "</p>\n");
        break;
    case ITEM_TABLE:
        add_table(out, units, item->table);
        break;
    case ITEM_EVENT:
        break; /* in the calendar */
    }
}

/* All items but events and the heading that is the title. */
static void add_items(Text *out, const RenderSubject *subject, const Item *title) {
    const Report *report = subject->report;
    const Item *before = NULL;
    for (int i = 0; i < report->count; i++) {
        const Item *item = report->items[i];
        if (item->type == ITEM_EVENT || item == title)
            continue;
        if (!before || before->type != item->type) {
            text_add_string(out, before ? frames[before->type].close : "");
            text_add_string(out, frames[item->type].open);
        }
        add_item(out, subject->units, item);
        before = item;
    }
    text_add_string(out, before ? frames[before->type].close : "");
}

static void add_calendar(Text *out, const Report *report) {
    int count;
    const Item **events = render_sorted_events(report, &count);
    if (count)
        text_add_string(out, "<section>\n<h2>Calendar</h2>\n<ol class=\"days\">\n");
    for (int i = 0; i < count; i++) {
        Text date = {0};
        render_date(&date, events[i]->date);
        add_element(out, "<li><time datetime=\"", text_string(&date), "\">");
        add_element(out, "", text_string(&date), " <span>");
        text_add_string(out, calendar_weekday_name((long)events[i]->date));
        add_element(out, "</span></time> <div dir=\"auto\">", events[i]->text, "</div></li>\n");
        text_free(&date);
    }
    text_add_string(out, count ? "</ol>\n</section>\n" : "");
    mem_free(events);
}

/* ---- what failed ---- */

/* Bytes of diag_render that follow the excerpt of the source. */
static size_t tail_length(const Diag *diag) {
    size_t length = diag->hint ? strlen("   hint: \n") + strlen(diag->hint) : 0;
    for (int i = 0; i < diag->trace_count; i++)
        length += strlen("   \n") + strlen(diag->trace[i]);
    return length;
}

/* Message, hint and trace are wrapped as text is; the excerpt between them keeps its lines under one another.
 */
static void add_diag(Text *out, const Diag *diag) {
    Text first = {0}, shown = {0};
    render_place(&first, diag);
    text_add_string(&first, first.length ? ": " : "");
    text_add_string(&first, diag->message);
    add_element(out, "<p><b>", text_string(&first), "</b></p>\n");
    diag_render(&shown, diag);
    size_t start = first.length + 1, end = shown.length - tail_length(diag);
    if (diag->source && end > start) {
        text_add_string(out, "<pre tabindex=\"0\">\n");
        add_bytes(out, text_string(&shown) + start, end - start);
        text_add_string(out, "</pre>\n");
    }
    if (diag->hint)
        add_element(out, "<p>hint: ", diag->hint, "</p>\n");
    for (int i = 0; i < diag->trace_count; i++)
        add_element(out, "<p>", diag->trace[i], "</p>\n");
    text_free(&first);
    text_free(&shown);
}

static void add_failures(Text *out, const RenderSubject *subject) {
    const DiagList *errors = subject->errors;
    if (errors->count == 0)
        return;
    text_add_string(out, "<section class=\"failed\">\n");
    if (render_error(subject))
        text_add_string(out, "<h2>This run stopped at an error</h2>\n"
                             "<p>What stands below is what it had until then, and is not complete.</p>\n");
    else
        text_add_string(out, "<h2>A check of this script failed</h2>\n"
                             "<p>Find out why before you rely on what stands below.</p>\n");
    for (int i = 0; i < errors->count; i++) {
        const Diag *diag = errors->items[i];
        /* what stops a run at a limit is no second error */
        if (diag->id != MSG_INTERRUPTED || diag == render_error(subject))
            add_diag(out, diag);
    }
    text_add_string(out, "</section>\n");
}

/* ---- the foot ---- */

static void add_input(Text *out, const UnitTable *units, const InputResult *input) {
    Text literal = {0};
    render_input_value(&literal, units, input);
    add_element(out, "<dd><b>", input->name, " = ");
    add_escaped(out, text_string(&literal));
    /* today() has no default: the clock gives it */
    text_add_string(out, input->set                       ? "</b>, set"
                         : input->initial.tag == TAG_NONE ? "</b>, by the clock"
                                                          : "</b>, default");
    if (input->doc && *input->doc)
        add_one_line(out, "<span dir=\"auto\">", input->doc, "</span>");
    text_add_string(out, "</dd>\n");
    text_free(&literal);
}

static void add_foot(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    text_add_string(out, "<footer>\n<dl>\n");
    add_one_line(out, "<dt>Script</dt><dd><b>", subject->script, "</b></dd>\n");
    add_element(out, "<dt>SHA-256</dt><dd><code>", subject->sha256, "</code></dd>\n");
    add_element(out, "<dt>Program</dt><dd>", subject->program, "</dd>\n");
    text_add_string(out, report->input_count ? "<dt>Inputs</dt>\n" : "");
    for (int i = 0; i < report->input_count; i++)
        add_input(out, subject->units, &report->inputs[i]);
    text_add_string(out, report->assumption_count ? "<dt>Assumptions</dt>\n" : "");
    for (int i = 0; i < report->assumption_count; i++)
        add_one_line(out, "<dd dir=\"auto\">", report->assumptions[i], "</dd>\n");
    if (report->expects_passed + report->expects_failed > 0) {
        text_add_string(out, "<dt>Checks</dt><dd>");
        text_add_integer(out, report->expects_passed);
        text_add_string(out, " passed, ");
        text_add_integer(out, report->expects_failed);
        text_add_string(out, " failed</dd>\n");
    }
    text_add_string(out, "</dl>\n</footer>\n");
}

/* ---- the page ---- */

static const Item *first_heading(const Report *report) {
    for (int i = 0; i < report->count; i++)
        if (report->items[i]->type == ITEM_HEADING)
            return report->items[i];
    return NULL;
}

/* A heading that other items stand before stays in its place too. */
static bool opens_report(const Report *report, const Item *heading) {
    for (int i = 0; i < report->count; i++)
        if (report->items[i]->type != ITEM_EVENT)
            return report->items[i] == heading;
    return false;
}

static void add_head(Text *out, const RenderSubject *subject, const char *title) {
    text_add_string(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\" />\n"
                         "<meta http-equiv=\"Content-Security-Policy\" "
                         "content=\"default-src 'none'; style-src 'unsafe-inline'\" />\n"
                         "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\" />\n"
                         "<meta name=\"color-scheme\" content=\"light dark\" />\n");
    add_element(out, "<meta name=\"generator\" content=\"", subject->program, "\" />\n");
    add_one_line(out, "<title>", title, "</title>\n<style>\n");
    html_style_add(out);
    text_add_string(out, "</style>\n</head>\n<body>\n<main>\n");
}

void render_html(Text *out, const RenderSubject *subject) {
    const Item *heading = first_heading(subject->report);
    const char *title = heading ? heading->text : subject->script;
    add_head(out, subject, title);
    add_one_line(out, "<header>\n<h1 dir=\"auto\">", title, "</h1>\n");
    if (heading)
        add_one_line(out, "<p class=\"from\">", subject->script, "</p>\n");
    text_add_string(out, "</header>\n");
    add_failures(out, subject);
    add_items(out, subject, opens_report(subject->report, heading) ? heading : NULL);
    add_calendar(out, subject->report);
    add_foot(out, subject);
    text_add_string(out, "</main>\n</body>\n</html>\n");
}
