/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report as CSV in long form: one row a value, headed item,label,row,value,unit,uncertainty,text.
 *
 * Lines end in CR LF and fields are quoted as RFC 4180 has it. A table gives a row for each cell, `row` from
 * 1 and the column's label; what is not a number is in `value` as its text, lists, records and liquids in
 * `text` alone. A text that begins with = is given as it is: a spreadsheet may take it for a formula of its
 * own.
 *
 * And the tables alone, each as wide CSV: a row of headings with their units, as read() takes them, and a row
 * for each of its rows. */
#include <string.h>

#include "base/mem.h"
#include "output/render.h"
#include "values/display.h"

typedef struct Row {
    const char *item;
    const char *label;
    int row; /* 0: none */
    const char *value;
    const char *unit;
    double spread; /* 0: none */
    const char *text;
} Row;

static const FormatSpec default_format = {.mode = FORMAT_DEFAULT, .count = 0};

static void add_field(Text *out, const char *field) {
    if (!field)
        return;
    if (!strpbrk(field, ",\"\r\n")) {
        text_add_string(out, field);
        return;
    }
    text_add_char(out, '"');
    for (const char *p = field; *p; p++) {
        if (*p == '"')
            text_add_char(out, '"');
        text_add_char(out, *p);
    }
    text_add_char(out, '"');
}

static void add_row(Text *out, Row row) {
    add_field(out, row.item);
    text_add_char(out, ',');
    add_field(out, row.label);
    text_add_char(out, ',');
    if (row.row)
        text_add_integer(out, row.row);
    text_add_char(out, ',');
    add_field(out, row.value);
    text_add_char(out, ',');
    add_field(out, row.unit);
    text_add_char(out, ',');
    if (row.spread > 0)
        format_shortest(out, row.spread);
    text_add_char(out, ',');
    add_field(out, row.text);
    text_add_string(out, "\r\n");
}

static void add_value_row(Text *out, const UnitTable *units, Row row, Value value) {
    Text exact = {0}, shown = {0};
    render_exact(&exact, units, value);
    if (!row.text) {
        display_value(&shown, units, value, default_format);
        row.text = text_string(&shown);
    }
    row.value = text_string(&exact);
    row.unit = render_unit(units, value);
    add_row(out, row);
    text_free(&exact);
    text_free(&shown);
}

static void add_cell_row(Text *out, const UnitTable *units, const TableResult *table, int column, int row) {
    const TableColumn *source = &table->columns[column];
    const TableCell *cell = &source->cells[row];
    Row line = {.item = "table", .label = source->label, .row = row + 1, .spread = cell->spread};
    if (cell->failed) {
        line.text = "—";
        add_row(out, line);
        return;
    }
    Text shown = {0};
    render_cell(&shown, units, source, row);
    if (render_is_number(cell->value))
        display_unit(&shown, units, cell->value.unit);
    line.text = text_string(&shown);
    add_value_row(out, units, line, cell->value);
    text_free(&shown);
}

static void add_table(Text *out, const UnitTable *units, const TableResult *table) {
    if (table->caption) /* what the cells are, and, as its label, what heads the columns */
        add_row(out, (Row){.item = "caption", .label = table->across, .text = table->caption});
    for (int row = 0; row < table->row_count; row++)
        for (int column = 0; column < table->column_count; column++)
            add_cell_row(out, units, table, column, row);
    for (int i = 0; i < table->reason_count; i++)
        add_row(out, (Row){.item = "reason", .text = table->reasons[i]});
}

static void add_show(Text *out, const UnitTable *units, const Item *item) {
    Text shown = {0};
    Row row = {.item = "show", .label = item->label};
    render_shown_text(&shown, units, item);
    row.text = text_string(&shown);
    row.spread = render_spread(units, &item->shown);
    add_value_row(out, units, row, item->shown.value);
    text_free(&shown);
}

static void add_item(Text *out, const UnitTable *units, const Item *item) {
    switch (item->type) {
    case ITEM_SHOW:
        add_show(out, units, item);
        break;
    case ITEM_TABLE:
        add_table(out, units, item->table);
        break;
    case ITEM_PRINT:
    case ITEM_HEADING:
    case ITEM_NOTE:
    case ITEM_CAUTION:
        add_row(out, (Row){.item = render_item_word(item->type), .text = item->text});
        break;
    case ITEM_EVENT:
        break; /* by date, after the others */
    }
}

static void add_events(Text *out, const Report *report) {
    int count;
    const Item **events = render_sorted_events(report, &count);
    for (int i = 0; i < count; i++) {
        Text date = {0};
        render_date(&date, events[i]->date);
        add_row(out, (Row){.item = "event", .value = text_string(&date), .text = events[i]->text});
        text_free(&date);
    }
    mem_free(events);
}

static void add_count(Text *out, const char *label, int number) {
    Text digits = {0};
    text_add_integer(&digits, number);
    add_row(out, (Row){.item = "expects",
                       .label = label,
                       .value = text_string(&digits),
                       .text = text_string(&digits)});
    text_free(&digits);
}

static void add_diag(Text *out, const char *item, const Diag *diag) {
    Text place = {0};
    render_place(&place, diag);
    add_row(out, (Row){.item = item, .label = text_string(&place), .text = diag->message});
    text_free(&place);
}

static void add_outcome(Text *out, const RenderSubject *subject) {
    const Diag *error = render_error(subject);
    add_count(out, "passed", subject->report->expects_passed);
    add_count(out, "failed", subject->report->expects_failed);
    int failure = 0;
    for (const Diag *check; (check = render_failure(subject, &failure)); failure++)
        add_diag(out, "failed", check);
    if (error)
        add_diag(out, "error", error);
}

static void add_input(Text *out, const UnitTable *units, const InputResult *input) {
    Text shown = {0};
    Row row = {.item = "input", .label = input->name, .spread = input->spread};
    render_input_text(&shown, units, input);
    row.text = text_string(&shown);
    add_value_row(out, units, row, input->value);
    text_free(&shown);
}

void render_csv(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    text_add_string(out, "item,label,row,value,unit,uncertainty,text\r\n");
    add_row(out, (Row){.item = "program", .text = subject->program});
    Text script = {0};
    render_one_line(&script, subject->script); /* the name of a file may be any bytes */
    add_row(out, (Row){.item = "script", .text = text_string(&script)});
    text_free(&script);
    add_row(out, (Row){.item = "sha256", .text = subject->sha256});
    for (int i = 0; i < report->input_count; i++)
        add_input(out, subject->units, &report->inputs[i]);
    for (int i = 0; i < report->assumption_count; i++)
        add_row(out, (Row){.item = "assumption", .text = report->assumptions[i]});
    for (int i = 0; i < report->count; i++)
        add_item(out, subject->units, report->items[i]);
    add_events(out, report);
    add_outcome(out, subject);
}

/* ---- wide ---- */

static bool has_spread(const TableResult *table, int column) {
    for (int row = 0; row < table->row_count; row++)
        if (table->columns[column].cells[row].spread > 0)
            return true;
    return false;
}

static void end_field(Text *out, Text *field, bool last) {
    add_field(out, text_string(field));
    text_add_string(out, last ? "\r\n" : ",");
    text_clear(field);
}

/* `strength [%ABV]`, and `± strength [%ABV]` where a cell has one. */
static void add_heading(Text *out, const UnitTable *units, const TableColumn *column, bool spread) {
    TableColumn whole = *column;
    whole.bare = false; /* no caption has the unit here */
    text_add_string(out, spread ? "± " : "");
    Text head = {0};
    render_column_head(&head, units, &whole);
    text_add(out, text_string(&head), head.length);
    text_free(&head);
}

/* All digits of a number, a text as it is, nothing for what failed; other values as they are shown. */
static void add_wide_cell(Text *out, const UnitTable *units, const TableColumn *column, int row) {
    if (column->cells[row].failed)
        return;
    render_exact(out, units, column->cells[row].value);
    if (!out->length)
        render_cell(out, units, column, row);
}

static void add_wide_row(Text *out, const UnitTable *units, const TableResult *table, int row) {
    Text field = {0};
    for (int i = 0; i < table->column_count; i++) {
        const TableColumn *column = &table->columns[i];
        bool last = i == table->column_count - 1, spread = has_spread(table, i);
        if (row < 0)
            add_heading(&field, units, column, false);
        else
            add_wide_cell(&field, units, column, row);
        end_field(out, &field, last && !spread);
        if (!spread)
            continue;
        if (row < 0)
            add_heading(&field, units, column, true);
        else if (column->cells[row].spread > 0)
            format_shortest(&field, column->cells[row].spread);
        end_field(out, &field, last);
    }
    text_free(&field);
}

/* `caution,TEXT`, and the like: below the tables, the first of them set off by an empty line. */
static void add_remark(Text *out, const char *item, const char *text, bool *begun) {
    text_add_string(out, out->length && !*begun ? "\r\n" : "");
    *begun = true;
    text_add_string(out, item);
    text_add_char(out, ',');
    add_field(out, text);
    text_add_string(out, "\r\n");
}

static void add_remark_of(Text *out, const char *item, const Diag *diag, bool *begun) {
    Text line = {0};
    render_diag(&line, diag);
    add_remark(out, item, text_string(&line), begun);
    text_free(&line);
}

/* No form leaves out a caution, or what failed. */
static void add_remarks(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    bool begun = false;
    int failure = 0;
    for (int i = 0; i < report->count; i++)
        if (report->items[i]->type == ITEM_CAUTION)
            add_remark(out, "caution", report->items[i]->text, &begun);
    for (const Diag *check; (check = render_failure(subject, &failure)); failure++)
        add_remark_of(out, "failed", check, &begun);
    if (render_error(subject))
        add_remark_of(out, "error", render_error(subject), &begun);
}

void render_tables(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    for (int i = 0; i < report->count; i++) {
        const TableResult *table = report->items[i]->table;
        if (report->items[i]->type != ITEM_TABLE)
            continue;
        text_add_string(out, out->length ? "\r\n" : "");
        for (int row = -1; row < table->row_count; row++)
            add_wide_row(out, subject->units, table, row);
    }
    add_remarks(out, subject);
}
