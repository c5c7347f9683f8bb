/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report as one HTML page: a card to pin up, to mail, or to read on a phone.
 *
 *   title                     the heading that the script opens with, else its name; its inputs
 *   what failed               errors and failed checks, framed, before anything is believed
 *   items in their order      shown values as rows of label, number and unit; tables; notes; cautions framed;
 *                             the working of each, folded, where the run keeps it (html_working.c)
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
#include "output/html_working.h"
#include "output/markup.h"
#include "output/plot.h"
#include "output/reasons.h"
#include "output/render.h"
#include "values/display.h"

/* ---- text ---- */

/* `open`, the text, `close`. */
static void add_element(Text *out, const char *open, const char *text, const char *close) {
    text_add_string(out, open);
    markup_add(out, text);
    text_add_string(out, close);
}

static void add_one_line(Text *out, const char *open, const char *text, const char *close) {
    Text line = {0};
    render_one_line(&line, text);
    add_element(out, open, text_string(&line), close);
    text_free(&line);
}

/* The same for what people wrote: dates, and numbers with their units, are not broken. */
static void add_prose(Text *out, const UnitTable *units, const char *open, const char *text,
                      const char *close) {
    text_add_string(out, open);
    markup_add_prose(out, units, text);
    text_add_string(out, close);
}

static void add_prose_line(Text *out, const UnitTable *units, const char *open, const char *text,
                           const char *close) {
    Text line = {0};
    render_one_line(&line, text);
    add_prose(out, units, open, text_string(&line), close);
    text_free(&line);
}

/* ---- shown values ---- */

static void add_show(Text *out, const UnitTable *units, const Item *item) {
    Text shown = {0}, unit = {0}, whole = {0}, label = {0};
    bool is_number = render_shown(&shown, units, item, &unit);
    render_shown_text(&whole, units, item);
    render_label(&label, item, text_string(&whole));
    text_add_string(out, render_has_working(item->working) ? "<tr class=\"folds\">" : "<tr>");
    if (label.length)
        add_prose_line(out, units, "<th scope=\"row\" dir=\"auto\">", text_string(&label), "</th>");
    else
        text_add_string(out, "<td></td>");
    if (is_number) {
        add_element(out, "<td class=\"n\">", text_string(&shown), "</td>");
        add_element(out, "<td class=\"u\">", text_string(&unit), "</td></tr>\n");
    } else {
        enum { SHORT_WORDS = 32 }; /* stay on one line, and leave the labels their room */
        bool is_short = utf8_width(text_string(&shown), shown.length) <= SHORT_WORDS;
        add_prose(out, units,
                  is_short ? "<td class=\"s\" colspan=\"2\" dir=\"auto\">"
                           : "<td class=\"w\" colspan=\"2\" dir=\"auto\">",
                  text_string(&shown), "</td></tr>\n");
    }
    html_add_working_row(out, units, item);
    text_free(&shown);
    text_free(&unit);
    text_free(&whole);
    text_free(&label);
}

/* ---- tables ---- */

/* How a column is set: its numbers with `fraction` characters from the decimal point on, where they differ.
 */
typedef struct ColumnStyle {
    bool numeric;
    bool differs;
    size_t fraction;
    size_t width; /* characters that paper must have room for: texts are wrapped */
} ColumnStyle;

static size_t larger(size_t a, size_t b) {
    return a > b ? a : b;
}

static size_t longest_word(const char *text) {
    size_t longest = 0;
    while (*text) {
        size_t length = strcspn(text, " ");
        longest = larger(longest, utf8_width(text, length));
        text += length + strspn(text + length, " ");
    }
    return longest;
}

/* Texts are given the room of a few words, and very long words are broken. */
static size_t wrapped_width(const char *text) {
    enum { FEW_WORDS = 16, LONG_WORD = 20 };
    size_t whole = utf8_width(text, strlen(text)), word = longest_word(text);
    word = word > LONG_WORD ? LONG_WORD : larger(word, FEW_WORDS);
    return whole < word ? whole : word;
}

static void style_number(ColumnStyle *style, const char *cell) {
    const char *fraction = cell + render_whole_length(cell);
    size_t width = utf8_width(fraction, strlen(fraction));
    style->differs = style->differs || (style->numeric && width != style->fraction);
    style->fraction = larger(style->fraction, width);
    style->width = larger(style->width, utf8_width(cell, strlen(cell)));
    style->numeric = true;
}

static ColumnStyle style_column(const UnitTable *units, const TableResult *table, int index) {
    const TableColumn *column = &table->columns[index];
    ColumnStyle style = {.width = longest_word(column->label)};
    if (column->has_unit && !column->bare)
        style.width = larger(style.width, longest_word(unit_get(units, column->unit)->name));
    for (int row = 0; row < table->row_count; row++) {
        if (column->cells[row].failed)
            continue;
        Text cell = {0};
        render_cell(&cell, units, column, row);
        if (render_is_number(column->cells[row].value))
            style_number(&style, text_string(&cell));
        else
            style.width = larger(style.width, wrapped_width(text_string(&cell)));
        text_free(&cell);
    }
    style.numeric = render_is_numeric(table, index);
    return style;
}

static void add_number(Text *out, const char *cell, ColumnStyle style) {
    size_t whole = style.differs ? render_whole_length(cell) : strlen(cell);
    markup_add_bytes(out, cell, whole);
    if (!style.differs)
        return;
    text_add_string(out, "<span class=\"f\" style=\"min-width:");
    text_add_integer(out, (long long)style.fraction);
    text_add_string(out, "ch\">");
    markup_add(out, cell + whole);
    text_add_string(out, "</span>");
}

static void add_cell(Text *out, const UnitTable *units, const TableResult *table, int index, int row,
                     ColumnStyle style) {
    const TableColumn *column = &table->columns[index];
    bool failed = column->cells[row].failed, number = !failed && render_is_number(column->cells[row].value);
    const char *tag = column->loop ? "th" : "td";
    Text cell = {0};
    text_add_char(out, '<');
    text_add_string(out, tag);
    text_add_string(out, column->loop ? " scope=\"row\"" : "");
    if (!failed && value_is_quantity(column->cells[row].value) && column->cells[row].value.unit == UNIT_DATE)
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
            markup_add(out, text_string(&cell));
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

/* Paper cannot be moved sideways: a wide table is set smaller there, and where that would not be legible,
 * it is given in parts, each with the first column. The sheet is the narrower of A4 and Letter, its margins
 * off. */
enum { SHEET_PT = 500, USUAL_TENTHS_PT = 95, LEAST_TENTHS_PT = 65, PARTS_TENTHS_PT = 80 };

/* Hundredths of the letter size that a column takes, of a broad sans serif and with its gap. */
static long column_room(ColumnStyle style) {
    return 64 * (long)style.width + 75;
}

/* The letter size, in tenths of a point, that so many hundredths of it fit the sheet with. */
static long size_for(long room) {
    long tenths = SHEET_PT * 1000L / (room > 0 ? room : 1);
    return tenths < USUAL_TENTHS_PT ? tenths : USUAL_TENTHS_PT;
}

/* Columns `from` up to `end` of a table, after its first. */
typedef struct Part {
    int from, end;
    int number, count; /* of the parts */
    long room;
} Part;

/* As many columns from `from` on as the sheet has room for. */
static Part part_from(const ColumnStyle *styles, int columns, int from, long most) {
    Part part = {.from = from, .end = from};
    part.room = from > 0 ? column_room(styles[0]) : 0;
    while (part.end < columns && (part.end == from || part.room + column_room(styles[part.end]) <= most))
        part.room += column_room(styles[part.end++]);
    return part;
}

static int count_parts(const ColumnStyle *styles, int columns, long most) {
    int count = 0;
    for (int from = 0; from < columns; count++)
        from = part_from(styles, columns, from, most).end;
    return count;
}

/* The room that parts of about one width need. */
static long even_room(const ColumnStyle *styles, int columns, long room, int count) {
    enum { STEP = 100 };
    long most = room / (count > 0 ? count : 1);
    while (count_parts(styles, columns, most) > count)
        most += STEP;
    return most;
}

static void add_caption(Text *out, const TableResult *table, Part part) {
    if (!table->caption && part.count == 1)
        return;
    Text caption = {0};
    text_add_string(&caption, table->caption ? table->caption : "");
    if (part.count > 1) {
        text_add_string(&caption, table->caption ? ", part " : "part ");
        text_add_integer(&caption, part.number);
        text_add_string(&caption, " of ");
        text_add_integer(&caption, part.count);
    }
    add_one_line(out, "<caption>", text_string(&caption), "</caption>\n");
    text_free(&caption);
}

/* The columns of a part in their order. */
static int part_column(Part part, int index) {
    return part.from > 0 ? (index == 0 ? 0 : part.from + index - 1) : index;
}

enum { PLOT_ROWS = 1000 }; /* of the numbers below a picture; CSV and JSON have them all */

static void add_part(Text *out, const UnitTable *units, const TableResult *table, const ColumnStyle *styles,
                     Part part) {
    long size = size_for(part.room);
    int columns = part.end - part.from + (part.from > 0);
    text_add_string(out, "<table class=\"data\"");
    if (size < USUAL_TENTHS_PT) {
        text_add_string(out, " style=\"--paper:");
        format_places(out, (double)size / 10, 1);
        text_add_string(out, "pt\"");
    }
    text_add_string(out, ">\n");
    add_caption(out, table, part);
    text_add_string(out, "<thead><tr>");
    for (int i = 0; i < columns; i++)
        add_column_head(out, units, &table->columns[part_column(part, i)], styles[part_column(part, i)]);
    text_add_string(out, "</tr></thead>\n<tbody>\n");
    int apart = table->is_plot ? plot_rows_apart(table, PLOT_ROWS) : 1;
    for (int row = 0; row < table->row_count; row++) {
        if (!plot_row_is_told(table, apart, row))
            continue;
        text_add_string(out, "<tr>");
        for (int i = 0; i < columns; i++)
            add_cell(out, units, table, part_column(part, i), row, styles[part_column(part, i)]);
        text_add_string(out, "</tr>\n");
    }
    text_add_string(out, "</tbody></table>");
}

/* On a screen a wide table is moved sideways within its own frame, which the keyboard can reach. */
static void add_grid(Text *out, const UnitTable *units, const TableResult *table) {
    int columns = table->column_count;
    ColumnStyle *styles = mem_array((size_t)columns + 1, sizeof *styles);
    long room = 0;
    for (int i = 0; i < columns; i++) {
        styles[i] = style_column(units, table, i);
        room += column_room(styles[i]);
    }
    bool fits = size_for(room) >= LEAST_TENTHS_PT;
    long most = fits ? room : SHEET_PT * 1000L / PARTS_TENTHS_PT;
    int count = count_parts(styles, columns, most);
    most = even_room(styles, columns, room, count);
    text_add_string(out, "<div class=\"scroll\" role=\"region\" aria-label=\"table\" tabindex=\"0\">");
    for (int number = 1, from = 0; number <= count; number++) {
        Part part = part_from(styles, columns, from, most);
        part.number = number;
        part.count = count;
        add_part(out, units, table, styles, part);
        from = part.end;
    }
    text_add_string(out, "</div>\n");
    mem_free(styles);
}

static void add_plot(Text *out, const UnitTable *units, const TableResult *table) {
    Text remark = {0}, pictures = {0};
    plot_svg(&pictures, units, table);
    if (pictures.length) {
        text_add_string(out, "<figure>\n");
        text_add(out, text_string(&pictures), pictures.length);
        text_add_string(out, "</figure>\n");
    }
    plot_remark(&remark, table);
    if (remark.length)
        add_element(out, "<p class=\"reason\">", text_string(&remark), "</p>\n");
    text_free(&remark);
    text_free(&pictures);
}

static void add_table(Text *out, const UnitTable *units, const TableResult *table) {
    if (table->is_plot) {
        add_plot(out, units, table);
        int apart = plot_rows_apart(table, PLOT_ROWS);
        text_add_string(out, "<details><summary>the numbers");
        text_add_string(out, apart > 1 ? ", " : "");
        plot_rows_told(out, table, apart);
        text_add_string(out, "</summary>\n");
    }
    add_grid(out, units, table);
    if (table->is_plot)
        text_add_string(out, "</details>\n");
    int count;
    char **lines = reasons_lines(table, &count);
    for (int i = 0; i < count; i++)
        add_prose(out, units, "<p class=\"reason\">— ", lines[i], "</p>\n");
    reasons_free(lines, count);
    html_add_column_working(out, units, table);
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
        add_prose_line(out, units, "<h2 dir=\"auto\">", item->text, "</h2>\n");
        break;
    case ITEM_PRINT:
    case ITEM_NOTE:
    case ITEM_CAUTION:
        add_prose(out, units, "<p dir=\"auto\">", item->text, "</p>\n");
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

static void add_calendar(Text *out, const UnitTable *units, const Report *report) {
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
        add_prose(out, units, "</span></time> <div dir=\"auto\">", events[i]->text, "</div></li>\n");
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
        markup_add_bytes(out, text_string(&shown) + start, end - start);
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
                             "<p>What follows is what it had worked out by then, and is not complete.</p>\n");
    else
        text_add_string(out, "<h2>A check of this script failed</h2>\n"
                             "<p>Find out why before you rely on what follows.</p>\n");
    for (int i = 0; i < errors->count; i++) {
        const Diag *diag = errors->items[i];
        /* what stops a run at a limit is not a second error */
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
    markup_add(out, text_string(&literal));
    /* today() has no default: the clock gives it */
    text_add_string(out, input->set                       ? "</b>, set"
                         : input->initial.tag == TAG_NONE ? "</b>, by the clock"
                                                          : "</b>, default");
    if (input->choices.tag == TAG_LIST) {
        text_clear(&literal);
        display_literal(&literal, units, input->choices);
        text_add_string(out, ", from ");
        markup_add(out, text_string(&literal));
    }
    if (input->from.tag != TAG_NONE) {
        text_clear(&literal);
        display_literal(&literal, units, input->from);
        text_add_string(&literal, " to ");
        display_literal(&literal, units, input->to);
        add_element(out, ", from ", text_string(&literal), "");
    }
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

/* What the script says first: a heading that comes later is one of a part. */
static const Item *opening_heading(const Report *report) {
    for (int i = 0; i < report->count; i++)
        if (report->items[i]->type != ITEM_EVENT)
            return report->items[i]->type == ITEM_HEADING ? report->items[i] : NULL;
    return NULL;
}

/* What the results below are for, in one line; the foot has more of it. */
static void add_given(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    for (int i = 0; i < report->input_count; i++) {
        Text given = {0};
        text_add_string(&given, report->inputs[i].name);
        text_add_string(&given, " = ");
        render_input_text(&given, subject->units, &report->inputs[i]);
        add_prose_line(out, subject->units,
                       i ? "; <span dir=\"auto\">" : "<p class=\"from\"><span dir=\"auto\">",
                       text_string(&given), "</span>");
        text_free(&given);
    }
    text_add_string(out, report->input_count ? "</p>\n" : "");
}

static void add_head(Text *out, const RenderSubject *subject, const char *title) {
    text_add_string(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\" />\n"
                         "<meta http-equiv=\"Content-Security-Policy\" "
                         "content=\"default-src 'none'; style-src 'unsafe-inline'\" />\n"
                         "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\" />\n"
                         "<meta name=\"color-scheme\" content=\"light dark\" />\n");
    add_element(out, "<meta name=\"generator\" content=\"", subject->program, "\" />\n");
    add_one_line(out, "<title>", title, "</title>\n<style>\n");
    html_style_add(out, html_has_working(subject->report));
    text_add_string(out, "</style>\n</head>\n<body>\n<main>\n");
}

void render_html(Text *out, const RenderSubject *subject) {
    const Item *heading = opening_heading(subject->report);
    const char *title = heading ? heading->text : subject->script;
    add_head(out, subject, title);
    add_prose_line(out, subject->units, "<header>\n<h1 dir=\"auto\">", title, "</h1>\n");
    if (heading)
        add_one_line(out, "<p class=\"from\">", subject->script, "</p>\n");
    add_given(out, subject);
    text_add_string(out, "</header>\n");
    add_failures(out, subject);
    add_items(out, subject, heading);
    add_calendar(out, subject->units, subject->report);
    add_foot(out, subject);
    text_add_string(out, "</main>\n</body>\n</html>\n");
}
