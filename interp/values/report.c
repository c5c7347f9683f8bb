/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The list of what a run hands out. */
#include "values/report.h"

#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "values/heap.h"

Report *report_new(void) {
    return mem_alloc(sizeof(Report));
}

static void item_free(Item *item) {
    if (!item)
        return;
    mem_free(item->label);
    mem_free(item->text);
    mem_free(item->shown.spreads);
    mem_free(item->drawn.missing);
    table_free(item->table);
    working_free(item->working);
    mem_free(item);
}

static void free_texts(char **texts, int count) {
    for (int i = 0; i < count; i++)
        mem_free(texts[i]);
    mem_free(texts);
}

static void waiting_free(WaitingText *waiting) {
    mem_free(waiting->text);
    mem_free(waiting->topic);
}

void report_free(Report *report) {
    if (!report)
        return;
    for (int i = 0; i < report->count; i++)
        item_free(report->items[i]);
    mem_free(report->items);
    for (int i = 0; i < report->input_count; i++) {
        mem_free(report->inputs[i].name);
        mem_free(report->inputs[i].doc);
    }
    mem_free(report->inputs);
    free_texts(report->assumptions, report->assumption_count);
    for (int i = 0; i < report->pending_count; i++)
        waiting_free(&report->pending[i]);
    mem_free(report->pending);
    free_texts(report->said, report->said_count);
    name_map_free(&report->noted);
    name_map_free(&report->alike);
    for (int i = 0; i < report->check_count; i++) {
        diag_free(report->checks[i].diag);
        source_release(report->checks[i].source);
    }
    mem_free(report->checks);
    mem_free(report->quotes);
    mem_free(report);
}

static void mark_table(const TableResult *table) {
    for (int c = 0; c < table->column_count; c++)
        for (int r = 0; r < table->row_count; r++)
            heap_mark(table->columns[c].cells[r].value);
}

void report_mark(const Report *report) {
    for (int i = 0; i < report->count; i++) {
        heap_mark(report->items[i]->shown.value);
        if (report->items[i]->table)
            mark_table(report->items[i]->table);
    }
    for (int i = 0; i < report->input_count; i++) {
        heap_mark(report->inputs[i].value);
        heap_mark(report->inputs[i].initial);
        heap_mark(report->inputs[i].choices);
    }
    for (int i = 0; i < report->quote_count; i++)
        heap_mark(report->quotes[i].value);
}

static size_t item_bytes(const Item *item) {
    const size_t blocks = 4 * 16; /* what malloc keeps with each block */
    return sizeof *item + blocks + (item->label ? strlen(item->label) : 0) +
           (item->text ? strlen(item->text) : 0) + (item->table ? table_bytes(item->table) : 0);
}

void report_item(Report *report, Item *item) {
    bool passes = report->passing && !report->holding && item->type != ITEM_EVENT;
    if (passes && report->listener) {
        report->listener(report->listener_context, item);
        item_free(item);
        return;
    }
    MEM_GROW(report->items, report->count, report->capacity);
    report->items[report->count++] = item;
    report->bytes += item_bytes(item);
    if (report->listener && !report->holding)
        report->listener(report->listener_context, item);
}

static Item *item_new(ItemType type) {
    Item *item = mem_alloc(sizeof *item);
    item->type = type;
    item->shown = (Shown){.value = value_none(), .number = -1, .face = -1};
    return item;
}

static void add_text_item(Report *report, ItemType type, const char *text) {
    Item *item = item_new(type);
    item->text = mem_copy_string(text);
    report_item(report, item);
}

static void give_pending(Report *report) {
    for (int i = 0; i < report->pending_count; i++) {
        add_text_item(report, report->pending[i].type, report->pending[i].text);
        report->bytes -= sizeof(WaitingText) + strlen(report->pending[i].text);
        waiting_free(&report->pending[i]);
    }
    report->pending_count = 0;
}

/* What waited for it follows. */
static void add_result(Report *report, Item *item) {
    item->followers = report->pending_count;
    report_item(report, item);
    give_pending(report);
}

void report_show(Report *report, const char *label, const Shown *shown) {
    if (report->muted || report->silent)
        return;
    Item *item = item_new(ITEM_SHOW);
    item->label = mem_copy_string(label);
    item->shown = *shown;
    add_result(report, item);
}

void report_text(Report *report, ItemType type, const char *text) {
    if (!report->muted && (!report->silent || type == ITEM_CAUTION))
        add_text_item(report, type, text);
}

void report_event(Report *report, double date, const char *text) {
    if (report->muted || report->silent)
        return;
    Item *item = item_new(ITEM_EVENT);
    item->date = date;
    item->text = mem_copy_string(text);
    report_item(report, item);
}

void report_table(Report *report, TableResult *table) {
    if (report->muted || report->silent) {
        table_free(table);
        return;
    }
    Item *item = item_new(ITEM_TABLE);
    item->table = table;
    add_result(report, item);
}

/* ---- while it is held ---- */

enum { QUOTE_MARK = '\xFF' };

void report_add_quote(Report *report, const Shown *quote, Text *mark) {
    MEM_GROW(report->quotes, report->quote_count, report->quote_capacity);
    text_add_char(mark, QUOTE_MARK);
    text_add_integer(mark, report->quote_count);
    text_add_char(mark, QUOTE_MARK);
    report->quotes[report->quote_count++] = *quote;
    report->bytes += sizeof *quote;
}

int report_find_quote(const char *text, size_t from, size_t *start, size_t *end) {
    const char *mark = strchr(text + from, QUOTE_MARK);
    if (!mark)
        return -1;
    int number = 0;
    const char *at = mark + 1;
    for (; *at >= '0' && *at <= '9'; at++)
        number = number * 10 + (*at - '0');
    *start = (size_t)(mark - text);
    *end = (size_t)(at - text) + 1;
    return number;
}

void report_hold_check(Report *report, bool passed, Diag *diag, Source *source, Span at) {
    MEM_GROW(report->checks, report->check_count, report->check_capacity);
    report->checks[report->check_count++] = (HeldCheck){
        .before = report->count, .passed = passed, .diag = diag, .source = source_keep(source), .at = at};
    report->bytes += sizeof(HeldCheck);
}

static bool contains(char *const *texts, int count, const char *text) {
    for (int i = 0; i < count; i++)
        if (strcmp(texts[i], text) == 0)
            return true;
    return false;
}

static bool add_once(char ***texts, int *count, int *capacity, const char *text) {
    if (contains(*texts, *count, text))
        return false;
    MEM_GROW(*texts, *count, *capacity);
    (*texts)[(*count)++] = mem_copy_string(text);
    return true;
}

enum {
    NOTED_MOST = 4096, /* notes remembered: they have numbers in them, and a loop makes any number of them */
    ALIKE_MOST = 5     /* of notes that differ only in their figures, as those of a table's rows */
};

/* How many notes came before with the same words up to the first figure, which go to `words`. */
static int count_alike(Report *report, const char *text, Text *words) {
    int count = 0;
    size_t length = strcspn(text, "0123456789");
    while (length > 0 && strchr(" :", text[length - 1]))
        length--;
    text_add(words, text, length);
    name_map_get(&report->alike, text_string(words), &count);
    if (report->alike.count >= NOTED_MOST)
        name_map_free(&report->alike);
    name_map_set(&report->alike, text_string(words), count < ALIKE_MOST ? count + 1 : ALIKE_MOST + 1);
    return count;
}

static bool is_new(Report *report, const char *text) {
    int ignored;
    if (name_map_get(&report->noted, text, &ignored))
        return false;
    if (report->noted.count >= NOTED_MOST)
        name_map_free(&report->noted);
    name_map_set(&report->noted, text, 0);
    return true;
}

static void add_waiting(Report *report, WaitingText waiting) {
    report->bytes += sizeof(WaitingText) + strlen(waiting.text);
    MEM_GROW(report->pending, report->pending_count, report->pending_capacity);
    report->pending[report->pending_count++] = waiting;
}

void report_say_once(Report *report, ItemType type, const char *text) {
    bool caution = type == ITEM_CAUTION;
    if (report->muted || (report->silent && !caution))
        return;
    if (caution ? !add_once(&report->said, &report->said_count, &report->said_capacity, text)
                : !is_new(report, text))
        return;
    Text words = {0};
    int alike = caution ? 0 : count_alike(report, text, &words);
    if (alike <= ALIKE_MOST)
        add_waiting(report,
                    (WaitingText){.type = type,
                                  .text = alike < ALIKE_MOST
                                              ? mem_copy_string(text)
                                              : message_take(NOTE_MORE_ALIKE, ARGS(text_string(&words)))});
    text_free(&words);
}

bool report_caution_topic(Report *report, const char *topic, const char *text) {
    if (report->muted || !add_once(&report->said, &report->said_count, &report->said_capacity, topic))
        return false;
    if (text)
        add_waiting(report, (WaitingText){ITEM_CAUTION, mem_copy_string(text), mem_copy_string(topic)});
    return true;
}

static bool waits(const Report *report, const char *said) {
    for (int i = 0; i < report->pending_count; i++) {
        const WaitingText *waiting = &report->pending[i];
        if (waiting->type == ITEM_CAUTION &&
            strcmp(waiting->topic ? waiting->topic : waiting->text, said) == 0)
            return true;
    }
    return false;
}

void report_keep_said(Report *report, const Report *earlier) {
    for (int i = 0; i < earlier->said_count; i++)
        if (!waits(earlier, earlier->said[i]))
            add_once(&report->said, &report->said_count, &report->said_capacity, earlier->said[i]);
}

void report_assume(Report *report, const char *text) {
    add_once(&report->assumptions, &report->assumption_count, &report->assumption_capacity, text);
}

void report_input(Report *report, const InputResult *input) {
    MEM_GROW(report->inputs, report->input_count, report->input_capacity);
    InputResult *kept = &report->inputs[report->input_count++];
    *kept = *input;
    kept->name = mem_copy_string(input->name);
    kept->doc = mem_copy_string(input->doc);
}

Report *report_hold(const Report *report) {
    Report *held = report_new();
    held->holding = true;
    held->muted = report->muted;
    report_keep_said(held, report);
    return held;
}

void report_take(Report *report, Report *held) {
    for (int i = 0; i < held->said_count; i++)
        add_once(&report->said, &report->said_count, &report->said_capacity, held->said[i]);
    for (int i = 0; i < held->assumption_count; i++)
        report_assume(report, held->assumptions[i]);
    for (int i = 0; i < held->pending_count; i++)
        add_waiting(report, held->pending[i]);
    held->pending_count = 0;
}

void report_finish(Report *report) {
    give_pending(report);
}

/* ---- tables ---- */

TableResult *table_new(int columns) {
    TableResult *table = mem_alloc(sizeof *table);
    table->columns = mem_array((size_t)columns, sizeof *table->columns);
    table->column_count = columns;
    return table;
}

void table_free(TableResult *table) {
    if (!table)
        return;
    for (int c = 0; c < table->column_count; c++) {
        mem_free(table->columns[c].label);
        working_free(table->columns[c].working);
        for (int r = 0; r < table->row_count; r++)
            mem_free(table->columns[c].cells[r].spreads);
        mem_free(table->columns[c].cells);
    }
    mem_free(table->caption);
    mem_free(table->across);
    mem_free(table->columns);
    free_texts(table->reasons, table->reason_count);
    name_map_free(&table->reasons_known);
    mem_free(table);
}

static const TableCell empty_cell = {.value = {.meta = VALUE_META(TAG_NONE, 0)}, .number = -1, .face = -1};

void table_add_column(TableResult *table, const char *label) {
    size_t count = (size_t)table->column_count + 1;
    table->columns = mem_resize_array(table->columns, count, sizeof *table->columns);
    TableColumn *column = &table->columns[table->column_count++];
    *column = (TableColumn){.label = mem_copy_string(label), .bare = true};
    column->cells = mem_array((size_t)table->row_capacity, sizeof(TableCell));
    for (int r = 0; r < table->row_count; r++)
        column->cells[r] = empty_cell;
}

void table_add_row(TableResult *table) {
    if (table->row_count == table->row_capacity) {
        table->row_capacity = table->row_capacity ? table->row_capacity * 2 : 16;
        for (int c = 0; c < table->column_count; c++) {
            TableColumn *column = &table->columns[c];
            column->cells = mem_resize_array(column->cells, (size_t)table->row_capacity, sizeof(TableCell));
        }
    }
    for (int c = 0; c < table->column_count; c++)
        table->columns[c].cells[table->row_count] = empty_cell;
    table->row_count++;
}

size_t table_bytes(const TableResult *table) {
    size_t row = (size_t)table->column_count * sizeof(TableCell);
    return (size_t)table->row_capacity * row + table->reason_bytes;
}

void table_add_reason(TableResult *table, const char *text) {
    int known;
    if (name_map_get(&table->reasons_known, text, &known))
        return;
    name_map_set(&table->reasons_known, text, table->reason_count);
    MEM_GROW(table->reasons, table->reason_count, table->reason_capacity);
    table->reasons[table->reason_count++] = mem_copy_string(text);
    table->reason_bytes += sizeof text + sizeof(NameEntry) + 2 * strlen(text);
}
