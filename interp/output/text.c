/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Results as plain text: what `rundlet FILE` prints, item by item, and the report that has a head above them.
 *
 *   Syrup to add = 2.5 tin
 *
 *   The second batch          a heading, with an empty line above it
 *   ----------------
 *   note: …                   wrapped, as are cautions, under their first word
 *
 *   d [mL]  strength [%ABV]   a table: numbers have their decimal points under one another
 *   ------  ---------------
 *        0              9.8
 *
 * Control characters that a script put into a text are not sent on: a terminal would obey them. */
#include <string.h>

#include "base/mem.h"
#include "base/wrap.h"
#include "numbers/calendar.h"
#include "output/plot.h"
#include "output/reasons.h"
#include "output/render.h"
#include "values/display.h"

/* Keeps newlines and tabs. */
static void add_clean(Text *out, const char *text) {
    text_add_clean(out, text, strlen(text), "\n\t", "\xEF\xBF\xBD");
}

static void end_line(Text *out) {
    while (out->length && out->bytes[out->length - 1] == ' ')
        out->bytes[--out->length] = '\0';
    text_add_char(out, '\n');
}

/* The words of one line of a text, from column `indent` on; words too long for a line are not broken, nor
 * what is to be typed where it fits. */
static void add_words(Text *out, const char *text, size_t length, size_t indent, size_t columns) {
    size_t column = indent;
    bool first = true;
    for (size_t at = 0; at < length;) {
        while (at < length && text[at] == ' ')
            at++;
        if (at == length)
            break;
        size_t end = at + wrap_piece(text + at, length - at, columns > indent ? columns - indent : 1);
        size_t width = utf8_width(text + at, end - at);
        if (!first && column + 1 + width > columns) {
            text_add_char(out, '\n');
            text_add_repeated(out, ' ', indent);
            column = indent;
            first = true;
        }
        if (!first) {
            text_add_char(out, ' ');
            column++;
        }
        text_add(out, text + at, end - at);
        column += width;
        first = false;
        at = end;
    }
}

void render_wrapped(Text *out, const char *first, const char *text, int columns) {
    Text clean = {0};
    add_clean(&clean, text);
    size_t indent = utf8_width(first, strlen(first));
    text_add_string(out, first);
    const char *line = text_string(&clean);
    for (;;) {
        size_t length = strcspn(line, "\n");
        add_words(out, line, length, indent, (size_t)columns);
        end_line(out);
        if (line[length] == '\0' || line[length + 1] == '\0')
            break;
        line += length + 1;
        text_add_repeated(out, ' ', indent);
    }
    text_free(&clean);
}

static int columns_of(const RenderText *state) {
    return state->columns > 0 && state->columns < RENDER_WIDTH ? state->columns : RENDER_WIDTH;
}

static void add_heading(Text *out, const char *title) {
    Text line = {0};
    render_one_line(&line, title);
    text_add(out, text_string(&line), line.length);
    end_line(out);
    text_add_repeated(out, '-', utf8_width(text_string(&line), line.length));
    text_add_char(out, '\n');
    text_free(&line);
}

/* ---- tables ---- */

typedef struct Cell {
    char *text;
    bool number;
    size_t width;
    size_t whole; /* numbers: columns left of the decimal point */
} Cell;

typedef struct Column {
    Cell head;
    Cell *cells;
    bool numeric; /* holds numbers: its head is aligned right */
    size_t width;
    size_t whole;    /* the widest of its numbers left of the point, */
    size_t fraction; /* and from the point on */
} Column;

static size_t larger(size_t a, size_t b) {
    return a > b ? a : b;
}

static Cell cell_of(Text *text, bool number) {
    Cell cell = {.number = number, .width = utf8_width(text_string(text), text->length)};
    cell.whole = utf8_width(text_string(text), render_whole_length(text_string(text)));
    cell.text = text_take(text);
    return cell;
}

static Column layout_column(const UnitTable *units, const TableResult *table, int index) {
    const TableColumn *source = &table->columns[index];
    Column column = {.cells = mem_array((size_t)table->row_count, sizeof(Cell))};
    Text text = {0};
    render_column_head(&text, units, source);
    column.head = cell_of(&text, false);
    column.width = column.head.width;
    column.numeric = render_is_numeric(table, index);
    for (int row = 0; row < table->row_count; row++) {
        bool failed = source->cells[row].failed;
        if (failed)
            text_add_string(&text, "—");
        else
            render_cell(&text, units, source, row);
        Cell cell = cell_of(&text, !failed && render_is_number(source->cells[row].value));
        column.cells[row] = cell;
        if (cell.number) {
            column.whole = larger(column.whole, cell.whole);
            column.fraction = larger(column.fraction, cell.width - cell.whole);
        } else {
            column.width = larger(column.width, cell.width);
        }
    }
    column.width = larger(column.width, column.whole + column.fraction);
    return column;
}

static void column_free(Column *column, int rows) {
    mem_free(column->head.text);
    for (int row = 0; row < rows; row++)
        mem_free(column->cells[row].text);
    mem_free(column->cells);
}

static bool is_dash(const Cell *cell) {
    return strcmp(cell->text, "—") == 0;
}

static void add_cell(Text *out, const Column *column, const Cell *cell, bool head) {
    size_t taken = 0; /* of the width, right of the spaces that go before */
    if (cell->number)
        taken = column->fraction + cell->whole;
    else if (column->numeric && (head || is_dash(cell)))
        taken = cell->width;
    size_t before = taken && taken < column->width ? column->width - taken : 0;
    text_add_repeated(out, ' ', before);
    text_add_string(out, cell->text);
    text_add_padding(out, before + cell->width, column->width);
}

/* A row of the first column and those from `from` up to `end`: -1 is the head, -2 the rule under it. */
static void add_row(Text *out, const Column *columns, int from, int end, int row) {
    for (int i = 0; i < end; i = i ? i + 1 : from) {
        if (i)
            text_add_string(out, "  ");
        if (row == -2)
            text_add_repeated(out, '-', columns[i].width);
        else
            add_cell(out, &columns[i], row < 0 ? &columns[i].head : &columns[i].cells[row], row < 0);
    }
    end_line(out);
}

/* After the last of the columns from `from` on that fit beside the first; the columns of a table of one
 * input are not parted. */
static int part_end(const Column *columns, const TableResult *table, int from, size_t room) {
    size_t width = columns[0].width;
    int end = from;
    for (; end < table->column_count; end++) {
        width += 2 + columns[end].width;
        if (table->caption && width > room && end > from)
            break;
    }
    return end;
}

static void add_table(Text *out, const RenderText *state, const TableResult *table) {
    Column *columns = mem_array((size_t)table->column_count, sizeof *columns);
    if (table->caption) {
        render_one_line(out, table->caption);
        end_line(out);
    }
    for (int i = 0; i < table->column_count; i++)
        columns[i] = layout_column(state->units, table, i);
    for (int from = 1, end; from == 1 || from < table->column_count; from = end) {
        end = part_end(columns, table, from, (size_t)columns_of(state));
        text_add_string(out, from > 1 ? "\n" : "");
        add_row(out, columns, from, end, -1);
        add_row(out, columns, from, end, -2);
        for (int row = 0; row < table->row_count; row++)
            add_row(out, columns, from, end, row);
        end = end > from ? end : from + 1;
    }
    reasons_text(out, table, columns_of(state));
    for (int i = 0; i < table->column_count; i++)
        column_free(&columns[i], table->row_count);
    mem_free(columns);
}

/* ---- items ---- */

static void add_show(Text *out, const UnitTable *units, const Item *item) {
    Text shown = {0};
    size_t start = out->length;
    render_shown_text(&shown, units, item);
    render_label(out, item, text_string(&shown));
    text_add_string(out, out->length > start ? " = " : "");
    add_clean(out, text_string(&shown));
    text_add_char(out, '\n');
    text_free(&shown);
}

void render_text_item(Text *out, RenderText *state, const Item *item) {
    if (item->type == ITEM_EVENT)
        return;
    bool block = item->type == ITEM_HEADING || item->type == ITEM_TABLE;
    if (state->gap || (state->started && block))
        text_add_char(out, '\n');
    state->started = true;
    state->gap = item->type == ITEM_TABLE;
    switch (item->type) {
    case ITEM_SHOW:
        add_show(out, state->units, item);
        break;
    case ITEM_PRINT:
        add_clean(out, item->text);
        text_add_char(out, '\n');
        break;
    case ITEM_HEADING:
        add_heading(out, item->text);
        break;
    case ITEM_NOTE:
        render_wrapped(out, "note: ", item->text, columns_of(state));
        break;
    case ITEM_CAUTION:
        render_wrapped(out, "caution: ", item->text, columns_of(state));
        break;
    case ITEM_TABLE:
        if (item->table->is_plot)
            plot_text(out, state->units, item->table, columns_of(state));
        else
            add_table(out, state, item->table);
        break;
    case ITEM_EVENT:
        break;
    }
}

static void add_event_lines(Text *out, const Item *const *events, int count, int columns) {
    enum { WEEKDAY_WIDTH = 9 }; /* Wednesday */
    for (int i = 0; i < count; i++) {
        const char *weekday = calendar_weekday_name((long)events[i]->date);
        Text start = {0};
        render_date(&start, events[i]->date);
        text_add_string(&start, "  ");
        text_add_string(&start, weekday);
        text_add_padding(&start, strlen(weekday), WEEKDAY_WIDTH + 2);
        render_wrapped(out, text_string(&start), events[i]->text, columns);
        text_free(&start);
    }
}

void render_text_events(Text *out, const Report *report, int columns) {
    int count;
    const Item **events = render_sorted_events(report, &count);
    add_event_lines(out, events, count, columns);
    mem_free(events);
}

void render_text_calendar(Text *out, RenderText *state, const Report *report) {
    int count;
    const Item **events = render_sorted_events(report, &count);
    if (count) {
        if (state->started)
            text_add_char(out, '\n');
        add_heading(out, "Calendar");
        add_event_lines(out, events, count, columns_of(state));
        state->started = true;
    }
    mem_free(events);
}

/* ---- the report with its head ---- */

static void add_field(Text *out, const char *name, const char *value) {
    enum { NAME_WIDTH = 13 };
    text_add_string(out, name);
    text_add_padding(out, strlen(name), NAME_WIDTH);
    render_one_line(out, value);
    end_line(out);
}

static void add_input(Text *out, const char *name, const UnitTable *units, const InputResult *input) {
    Text line = {0};
    text_add_string(&line, input->name);
    text_add_string(&line, " = ");
    render_input_value(&line, units, input);
    if (input->set)
        text_add_string(&line, " (set)");
    add_field(out, name, text_string(&line));
    text_free(&line);
}

static void add_head(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    add_field(out, "program", subject->program);
    add_field(out, "script", subject->script);
    add_field(out, "SHA-256", subject->sha256);
    for (int i = 0; i < report->input_count; i++)
        add_input(out, i ? "" : "inputs", subject->units, &report->inputs[i]);
    for (int i = 0; i < report->assumption_count; i++)
        render_wrapped(out, i ? "             " : "assumptions  ", report->assumptions[i], RENDER_WIDTH);
}

static void add_diag(Text *out, const char *first, const Diag *diag) {
    Text line = {0};
    render_diag(&line, diag);
    render_wrapped(out, first, text_string(&line), RENDER_WIDTH);
    text_free(&line);
}

static void add_outcome(Text *out, const RenderSubject *subject) {
    const Report *report = subject->report;
    const Diag *error = render_error(subject);
    if (report->expects_passed + report->expects_failed > 0) {
        text_add_string(out, "\nchecks       ");
        text_add_integer(out, report->expects_passed);
        text_add_string(out, " passed, ");
        text_add_integer(out, report->expects_failed);
        text_add_string(out, " failed\n");
    }
    const char *first = "failed       ";
    int failure = 0;
    for (const Diag *check; (check = render_failure(subject, &failure)); failure++) {
        add_diag(out, first, check);
        first = "             ";
    }
    if (error) {
        text_add_char(out, '\n');
        add_diag(out, "error        ", error);
    }
}

void render_text(Text *out, const RenderSubject *subject) {
    RenderText state = {.units = subject->units};
    add_head(out, subject);
    if (subject->report->count)
        text_add_char(out, '\n');
    for (int i = 0; i < subject->report->count; i++)
        render_text_item(out, &state, subject->report->items[i]);
    render_text_calendar(out, &state, subject->report);
    render_text_working(out, &state, subject->report);
    add_outcome(out, subject);
}
