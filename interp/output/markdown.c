/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report as Markdown: what CommonMark defines, and pipe tables, which most readers know. */
#include <string.h>

#include "base/mem.h"
#include "numbers/calendar.h"
#include "output/markdown_text.h"
#include "output/markdown_working.h"
#include "output/plot.h"
#include "output/reasons.h"
#include "output/render.h"
#include "values/display.h"

/* Each line of a text on its own, ended by the backslash of a hard line break, all after `start`. */
static void add_lines(Text *out, const char *start, const char *text) {
    for (const char *line = text; *line;) {
        size_t length = strcspn(line, "\n");
        char *one = mem_copy(line, length);
        text_add_string(out, start);
        markdown_add_start(out, one);
        mem_free(one);
        line += length + (line[length] == '\n');
        text_add_string(out, *line ? "\\\n" : "\n");
    }
}

static void add_heading(Text *out, const char *marks, const char *title) {
    text_add_string(out, marks);
    text_add_char(out, ' ');
    markdown_add(out, title);
    text_add_string(out, "\n");
}

static void add_table_head(Text *out, const UnitTable *units, const TableResult *table) {
    Text rule = {0};
    for (int i = 0; i < table->column_count; i++) {
        const TableColumn *column = &table->columns[i];
        Text head = {0};
        render_column_head(&head, units, column);
        text_add_string(out, "| ");
        markdown_add(out, text_string(&head));
        text_add_char(out, ' ');
        text_add_string(&rule, column->has_unit && column->unit != UNIT_DATE ? "| ---: " : "| --- ");
        text_free(&head);
    }
    text_add_string(out, "|\n");
    text_add_string(out, text_string(&rule));
    text_add_string(out, "|\n");
    text_free(&rule);
}

static void add_row(Text *out, const UnitTable *units, const TableResult *table, int row) {
    for (int i = 0; i < table->column_count; i++) {
        Text cell = {0};
        if (table->columns[i].cells[row].failed)
            text_add_string(&cell, "—");
        else
            render_cell(&cell, units, &table->columns[i], row);
        text_add_string(out, "| ");
        markdown_add(out, text_string(&cell));
        text_add_char(out, ' ');
        text_free(&cell);
    }
    text_add_string(out, "|\n");
}

/* Every `apart`-th row, and the last. */
static void add_rows(Text *out, const UnitTable *units, const TableResult *table, int apart) {
    if (table->caption) {
        markdown_add(out, table->caption);
        text_add_string(out, "\n\n");
    }
    add_table_head(out, units, table);
    for (int row = 0; row < table->row_count; row++)
        if (plot_row_is_told(table, apart, row))
            add_row(out, units, table, row);
}

/* Each in a line of its own. */
static void add_reasons(Text *out, const TableResult *table) {
    int count;
    char **lines = reasons_lines(table, &count);
    for (int i = 0; i < count; i++) {
        text_add_string(out, i ? "\\\n— " : "\n— ");
        markdown_add(out, lines[i]);
    }
    text_add_string(out, count ? "\n" : "");
    reasons_free(lines, count);
}

static void add_table(Text *out, const UnitTable *units, const TableResult *table) {
    add_rows(out, units, table, 1);
    add_reasons(out, table);
}

/* The picture is a block of HTML, an element alone on its lines; the numbers follow, for readers that show
 * none. */
static void add_plot(Text *out, const UnitTable *units, const TableResult *table) {
    enum { MOST_ROWS = 40 };
    Text remark = {0};
    size_t before = out->length;
    plot_svg(out, units, table);
    text_add_string(out, out->length > before ? "\n" : "");
    plot_remark(&remark, table);
    if (remark.length) {
        markdown_add(out, text_string(&remark));
        text_add_string(out, "\n\n");
    }
    text_free(&remark);
    int apart = plot_rows_apart(table, MOST_ROWS);
    if (apart > 1) {
        text_add_string(out, "The numbers, ");
        plot_rows_told(out, table, apart);
        text_add_string(out, ":\n\n");
    }
    if (table->row_count > 0)
        add_rows(out, units, table, apart);
    add_reasons(out, table);
}

static void add_show(Text *out, const UnitTable *units, const Item *item) {
    Text shown = {0};
    render_shown_text(&shown, units, item);
    text_add_string(out, "- ");
    Text label = {0};
    render_label(&label, item, text_string(&shown));
    if (label.length) {
        markdown_add_start(out, text_string(&label));
        text_add_string(out, " = ");
        markdown_add(out, text_string(&shown));
    } else {
        markdown_add_start(out, text_string(&shown));
    }
    text_add_char(out, '\n');
    markdown_add_working(out, item->working);
    text_free(&label);
    text_free(&shown);
}

static void add_item(Text *out, const UnitTable *units, const Item *item, bool continues) {
    if (!continues)
        text_add_char(out, '\n');
    switch (item->type) {
    case ITEM_SHOW:
        add_show(out, units, item);
        break;
    case ITEM_PRINT:
        add_lines(out, "", *item->text ? item->text : " "); /* an empty one keeps its gap */
        break;
    case ITEM_HEADING:
        add_heading(out, "##", item->text);
        break;
    case ITEM_NOTE:
        text_add_string(out, "> Note:\\\n");
        add_lines(out, "> ", item->text);
        break;
    case ITEM_CAUTION:
        text_add_string(out, "> **Caution:**\\\n");
        add_lines(out, "> ", item->text);
        break;
    case ITEM_TABLE:
        if (item->table->is_plot)
            add_plot(out, units, item->table);
        else
            add_table(out, units, item->table);
        markdown_add_columns(out, units, item->table);
        break;
    case ITEM_EVENT:
        break;
    }
}

static void add_calendar(Text *out, const Report *report) {
    int count;
    const Item **events = render_sorted_events(report, &count);
    if (count)
        text_add_string(out, "\n## Calendar\n\n| date | day | what |\n| --- | --- | --- |\n");
    for (int i = 0; i < count; i++) {
        text_add_string(out, "| ");
        render_date(out, events[i]->date);
        text_add_string(out, " | ");
        text_add_string(out, calendar_weekday_name((long)events[i]->date));
        text_add_string(out, " | ");
        markdown_add(out, events[i]->text);
        text_add_string(out, " |\n");
    }
    mem_free(events);
}

static void add_head(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    add_heading(out, "#", subject->script);
    text_add_string(out, "\n- program: ");
    markdown_add(out, subject->program);
    text_add_string(out, "\n- SHA-256: `");
    text_add_string(out, subject->sha256);
    text_add_string(out, "`\n");
    for (int i = 0; i < report->input_count; i++) {
        Text literal = {0};
        render_input_value(&literal, subject->units, &report->inputs[i]);
        text_add_string(out, "- input: ");
        markdown_add(out, report->inputs[i].name);
        text_add_string(out, " = ");
        markdown_add(out, text_string(&literal));
        text_add_string(out, report->inputs[i].set ? " (set)\n" : "\n");
        text_free(&literal);
    }
    for (int i = 0; i < report->assumption_count; i++) {
        text_add_string(out, "- assumption: ");
        markdown_add(out, report->assumptions[i]);
        text_add_char(out, '\n');
    }
}

static void add_diag(Text *out, const char *first, const Diag *diag) {
    Text line = {0};
    render_diag(&line, diag);
    text_add_string(out, first);
    markdown_add(out, text_string(&line));
    text_add_char(out, '\n');
    text_free(&line);
}

static void add_outcome(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    const Diag *error = render_error(subject);
    if (report->expects_passed + report->expects_failed > 0) {
        text_add_string(out, "\nChecks: ");
        text_add_integer(out, report->expects_passed);
        text_add_string(out, " passed, ");
        text_add_integer(out, report->expects_failed);
        text_add_string(out, " failed\n");
    }
    int failure = 0;
    for (const Diag *check; (check = render_failure(subject, &failure)); failure++)
        add_diag(out, "\n**Failed:** ", check);
    if (error)
        add_diag(out, "\n**Error:** ", error);
}

void render_markdown(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    bool in_list = false;
    add_head(out, subject);
    if (report->count && report->items[0]->type != ITEM_HEADING)
        text_add_string(out, "\n## Results\n");
    for (int i = 0; i < report->count; i++) {
        if (report->items[i]->type == ITEM_EVENT)
            continue;
        add_item(out, subject->units, report->items[i], in_list && report->items[i]->type == ITEM_SHOW);
        in_list = report->items[i]->type == ITEM_SHOW;
    }
    add_calendar(out, report);
    add_outcome(out, subject);
}
