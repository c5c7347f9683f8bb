/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Instructions that hand out results: shown values, tables, checks. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "runtime/vm_parts.h"
#include "values/display.h"
#include "values/kind_check.h"
#include "values/value_arg.h"

/* ---- shown values and texts ---- */

void vm_note(Vm *vm, MessageId id, MessageArg *args) {
    char *note = message_take(id, args);
    report_text(vm->report, ITEM_NOTE, note);
    mem_free(note);
}

bool vm_show(Vm *vm, const Instruction *i, CodeSpan spans) {
    const ShowPlan *plan = &vm_frame(vm)->chunk->shows[i->d];
    const Value *registers = vm_registers(vm) + i->a;
    if (vm->report->muted || vm->report->silent)
        return true;
    Shown shown = {.value = registers[0], .format = plan->format, .number = -1, .face = -1};
    if (vm->worlds->mode != WORLD_PLAIN) {
        shown.number = worlds_show(vm->worlds, vm_place(vm, i), shown.value);
        shown.face = worlds_face(vm->worlds, vm_place(vm, i), shown.value);
    }
    if (worlds_are_moved(vm->worlds))
        return true;
    if (!display_rounds(vm->registry->units, shown.value, plan->format, &vm->fault))
        return vm_fail(vm, spans);
    if (vm_records(vm))
        shown.record = recorder_shown(vm->recorder, vm_frame(vm)->chunk, vm->frame_count);
    report_show(vm->report, plan->label_in_register ? registers[1].as.text->bytes : plan->label, &shown);
    return true;
}

/* A text as every run words it: without marks for values whose ± is not known yet. */
static int face_of_text(Vm *vm, const Instruction *i, const char *text, Value value) {
    if (vm->worlds->mode == WORLD_PLAIN || vm->report->muted || vm->report->silent ||
        vm_frame(vm)->chunk->library)
        return -1;
    const UnitTable *units = vm->registry->units;
    Text worded = {0};
    size_t from = 0, start, end;
    int quote;
    while ((quote = report_find_quote(text, from, &start, &end)) >= 0) {
        text_add(&worded, text + from, start - from);
        display_value(&worded, units, vm->report->quotes[quote].value, vm->report->quotes[quote].format);
        from = end;
    }
    text_add_string(&worded, text + from);
    int face = worlds_face_text(vm->worlds, vm_place(vm, i), text_string(&worded), value);
    text_free(&worded);
    return face;
}

bool vm_say(Vm *vm, const Instruction *i, CodeSpan spans) {
    ItemType type = (ItemType)i->x;
    Value value = vm_registers(vm)[i->a];
    if (value.tag != TAG_TEXT && type != ITEM_PRINT) {
        kind_fault(vm->registry->units, MSG_SAY_TEXT, value, NULL, &vm->fault);
        return vm_fail(vm, spans);
    }
    Text text = {0};
    display_value(&text, vm->registry->units, value, (FormatSpec){0});
    if (vm_frame(vm)->chunk->library && (type == ITEM_CAUTION || type == ITEM_NOTE))
        report_say_once(vm->report, type, text_string(&text));
    else
        report_text(vm->report, type, text_string(&text));
    int face = face_of_text(vm, i, text_string(&text), value);
    if (face >= 0 && vm->report->holding)
        vm->report->items[vm->report->count - 1]->shown.face = face;
    text_free(&text);
    return true;
}

bool vm_event(Vm *vm, const Instruction *i, CodeSpan spans) {
    Value date = vm_registers(vm)[i->a], text = vm_registers(vm)[i->b];
    bool is_date = date.tag == TAG_READING && date.unit == UNIT_DATE;
    if (is_date && text.tag == TAG_TEXT) {
        report_event(vm->report, date.as.number, text.as.text->bytes);
        return true;
    }
    kind_fault(vm->registry->units, is_date ? MSG_SAY_TEXT : MSG_EVENT_DATE, is_date ? text : date, NULL,
               &vm->fault);
    spans.at = is_date ? spans.right : spans.left;
    return vm_fail(vm, spans);
}

/* ---- checks ---- */

enum { FAILURE_TEXTS = 4 }; /* message, labels and hint take about as much each */

void vm_tell_check(Vm *vm, bool passed, Diag *diag, Source *source, Span at) {
    if (passed)
        vm->report->expects_passed++;
    else
        vm->report->expects_failed++;
    if (vm->on_expect)
        vm->on_expect(vm->listener_context, source, at, passed, diag);
    if (!diag)
        return;
    diag_list_push(vm->failures, diag);
    vm->failure_bytes += sizeof *diag + FAILURE_TEXTS * strlen(diag->message);
    if (vm->on_failure)
        vm->on_failure(vm->listener_context, diag);
}

static void report_check(Vm *vm, bool passed, Diag *diag, CodeSpan spans) {
    Source *source = vm_frame(vm)->chunk->source;
    if (vm->report->muted || worlds_are_moved(vm->worlds))
        diag_free(diag);
    else if (vm->report->holding)
        report_hold_check(vm->report, passed, diag, source, spans.at);
    else
        vm_tell_check(vm, passed, diag, source, spans.at);
}

/* `why`: the register of the check's own words, which come first; 0 for none. */
static Diag *failed_check(Vm *vm, MessageId id, int why, CodeSpan spans, MessageArg *args) {
    Source *source = vm_frame(vm)->chunk->source;
    if (!why)
        return diag_new(id, source, spans.at, args);
    const char *words = vm_registers(vm)[why].as.text->bytes;
    switch (id) {
    case MSG_EXPECT_COMPARED:
        return diag_new(MSG_EXPECT_COMPARED_WHY, source, spans.at, ARGS(args[0], args[1], words));
    case MSG_EXPECT_NEAR:
        return diag_new(MSG_EXPECT_NEAR_WHY, source, spans.at, ARGS(args[0], args[1], args[2], words));
    case MSG_EXPECT_NO_ERROR:
        return diag_new(MSG_EXPECT_NO_ERROR_WHY, source, spans.at, ARGS(args[0], words));
    default:
        return diag_new(MSG_EXPECT_TRUE_WHY, source, spans.at, ARGS(words));
    }
}

bool vm_expect_true(Vm *vm, const Instruction *i, CodeSpan spans) {
    Value value = vm_registers(vm)[i->a];
    if (!kind_check_truth(vm->registry->units, value, &vm->fault)) {
        spans.at = spans.left;
        return vm_fail(vm, spans);
    }
    Diag *diag = NULL;
    if (!value.as.truth) {
        diag = failed_check(vm, MSG_EXPECT_TRUE, i->b, spans, NO_ARGS);
        diag_label(diag, spans.left, "false");
        vm_explain_check(vm, diag, i, spans.left, "false");
    }
    report_check(vm, value.as.truth, diag, spans);
    return true;
}

static bool compare(const Arith *arith, Comparison asked, Value left, Value right, bool *holds) {
    int order = 0;
    bool equal = false;
    bool is_equality = asked == COMPARISON_EQUAL || asked == COMPARISON_NOT_EQUAL;
    if (is_equality ? !arith_equal(arith, left, right, &equal) : !arith_compare(arith, left, right, &order))
        return false;
    switch (asked) {
    case COMPARISON_EQUAL:
        *holds = equal;
        break;
    case COMPARISON_NOT_EQUAL:
        *holds = !equal;
        break;
    case COMPARISON_LESS:
        *holds = order < 0;
        break;
    case COMPARISON_LESS_EQUAL:
        *holds = order <= 0;
        break;
    case COMPARISON_GREATER:
        *holds = order > 0;
        break;
    case COMPARISON_GREATER_EQUAL:
        *holds = order >= 0;
        break;
    }
    return true;
}

/* Both values of a check that failed; in full precision where they would look alike. */
static void show_pair(const Vm *vm, Value a, Value b, char **left, char **right) {
    *left = vm_shown(vm, a);
    *right = vm_shown(vm, b);
    if (strcmp(*left, *right) != 0)
        return;
    Text full_left = {0}, full_right = {0};
    display_brief(&full_left, vm->registry->units, a, true);
    display_brief(&full_right, vm->registry->units, b, true);
    mem_free(*left);
    mem_free(*right);
    *left = text_take(&full_left);
    *right = text_take(&full_right);
}

bool vm_expect_compare(Vm *vm, const Instruction *i, CodeSpan spans) {
    Value left = vm_registers(vm)[i->b], right = vm_registers(vm)[i->c];
    Arith arith = vm_arith(vm);
    bool holds = false;
    if (!compare(&arith, (Comparison)i->x, left, right, &holds))
        return vm_fail(vm, spans);
    Diag *diag = NULL;
    if (!holds) {
        char *shown_left, *shown_right;
        show_pair(vm, left, right, &shown_left, &shown_right);
        diag = failed_check(vm, MSG_EXPECT_COMPARED, i->a, spans, ARGS(shown_left, shown_right));
        diag_label(diag, spans.left, shown_left);
        diag_label(diag, spans.right, shown_right);
        vm_explain_check(vm, diag, i, spans.left, shown_left);
        vm_explain_check(vm, diag, i, spans.right, shown_right);
        mem_free(shown_left);
        mem_free(shown_right);
    }
    report_check(vm, holds, diag, spans);
    return true;
}

bool vm_expect_near(Vm *vm, const Instruction *i, CodeSpan spans) {
    const Value *three = vm_registers(vm) + i->a;
    Arith arith = vm_arith(vm);
    bool holds;
    if (!arith_near(&arith, three[0], three[1], three[2], &holds))
        return vm_fail(vm, spans);
    Diag *diag = NULL;
    if (!holds) {
        char *value, *target, *within = vm_shown(vm, three[2]);
        show_pair(vm, three[0], three[1], &value, &target);
        diag = failed_check(vm, MSG_EXPECT_NEAR, i->b, spans, ARGS(value, target, within));
        diag_label(diag, spans.left, value);
        diag_label(diag, spans.right, target);
        vm_explain_check(vm, diag, i, spans.left, value);
        vm_explain_check(vm, diag, i, spans.right, target);
        mem_free(value);
        mem_free(target);
        mem_free(within);
    }
    report_check(vm, holds, diag, spans);
    return true;
}

bool vm_expect_error(Vm *vm, int32_t start, uint16_t reg, bool has_why, CodeSpan spans) {
    vm->report->muted++;
    bool ran = vm_run_part(vm, start);
    vm->report->muted--;
    if (!ran && vm_error_is_final(vm))
        return false;
    Diag *diag = NULL;
    if (ran) {
        char *shown = vm_shown(vm, vm_registers(vm)[reg]);
        diag = failed_check(vm, MSG_EXPECT_NO_ERROR, has_why ? reg + 1 : 0, spans, ARGS(shown));
        mem_free(shown);
    }
    vm_drop_error(vm);
    report_check(vm, !ran, diag, spans);
    return true;
}

/* ---- tables ---- */

static TableResult *table_under_way(const Vm *vm) {
    return vm->tables[vm->table_count - 1];
}

void vm_table_begin(Vm *vm, const Chunk *chunk, const TablePlan *plan) {
    int columns =
        plan->across_label ? 0 : plan->column_count; /* those of a second loop come with its turns */
    TableResult *table = table_new(columns + 1);
    table->is_plot = plan->is_plot;
    table->across = mem_copy_string(plan->across_label);
    table->columns[0].label = mem_copy_string(plan->loop_label);
    table->columns[0].loop = true;
    for (int i = 1; i <= columns; i++)
        table->columns[i].label = mem_copy_string(chunk->columns[plan->first_column + i - 1].label);
    MEM_GROW(vm->tables, vm->table_count, vm->table_capacity);
    vm->tables[vm->table_count++] = table;
}

static bool column_kind_fault(Vm *vm, const TableColumn *column, Value value) {
    const UnitTable *units = vm->registry->units;
    return fault_set(&vm->fault, MSG_TABLE_CELL_KIND,
                     ARGS(column->label, arg_unit_kind(units, column->unit), arg_kind(units, value)));
}

/* All cells of a table of two inputs have one unit, that of the first filled. */
static UnitId unit_across(const TableResult *table, UnitId own) {
    for (int i = 1; table->across && i < table->column_count; i++)
        if (table->columns[i].has_unit)
            return table->columns[i].unit;
    return own;
}

/* Puts a value into the last row; quantities in the unit of the column's first filled row. */
static bool fill_cell(Vm *vm, const Instruction *site, TableResult *table, int index, Value value) {
    TableColumn *column = &table->columns[index];
    TableCell *cell = &column->cells[table->row_count - 1];
    const UnitTable *units = vm->registry->units;
    bool follows = !vm->report->muted && !vm->report->silent && vm->worlds->mode != WORLD_PLAIN;
    if (follows)
        cell->face = worlds_face(vm->worlds, vm_place(vm, site), value);
    if (!value_is_quantity(value)) {
        cell->value = value;
        if (follows)
            cell->number = worlds_show(vm->worlds, vm_place(vm, site), value);
        return true;
    }
    if (!column->has_unit) {
        column->unit = index > 0 ? unit_across(table, value.unit) : value.unit;
        column->has_unit = true;
    }
    if (!unit_same_kind(units, column->unit, value.unit))
        return column_kind_fault(vm, column, value);
    double number;
    if (!unit_convert(units, value.as.number, value.unit, column->unit, &number, &vm->fault))
        return false;
    cell->value = value_quantity(units, number, column->unit);
    if (follows)
        cell->number = worlds_show(vm->worlds, vm_place(vm, site), cell->value);
    return true;
}

bool vm_table_row(Vm *vm, const Instruction *site, Value loop_value, CodeSpan spans) {
    TableResult *table = table_under_way(vm);
    Heap *heap = vm->registry->heap;
    bool grows = table->row_count == table->row_capacity;
    if (grows && !heap_allows(heap, 2 * table_bytes(table), &vm->fault))
        return vm_fail(vm, spans);
    heap->outside -= table_bytes(table);
    table_add_row(table);
    heap->outside += table_bytes(table);
    return fill_cell(vm, site, table, 0, loop_value) || vm_fail(vm, spans);
}

void vm_table_drop(Vm *vm) {
    table_under_way(vm)->row_count--;
}

/* A turn of a second loop heads a column, which may be new, and must be the same in every row. */
bool vm_table_turn(Vm *vm, Value turn, Value value, CodeSpan spans) {
    TableResult *table = table_under_way(vm);
    Heap *heap = vm->registry->heap;
    int index = (int)turn.as.number + 1;
    char *label = vm_shown(vm, value);
    bool same = true;
    if (index == table->column_count) {
        heap->outside -= table_bytes(table);
        table_add_column(table, label);
        heap->outside += table_bytes(table);
    } else if (!worlds_are_moved(vm->worlds) && strcmp(table->columns[index].label, label) != 0) {
        fault_set(&vm->fault, MSG_TABLE_TURN, ARGS(table->columns[index].label, label));
        same = vm_fail(vm, spans);
    }
    mem_free(label);
    return same;
}

bool vm_table_column(Vm *vm, const ColumnPlan *plan, CodeSpan spans) {
    TableResult *table = table_under_way(vm);
    const Instruction *site = vm_frame(vm)->chunk->code + plan->start - 1;
    int index = plan->across ? (int)vm_registers(vm)[plan->turn].as.number + 1 : plan->index + 1;
    vm_registers(vm)[plan->label_reg] = value_none();
    bool ran = vm_run_part(vm, plan->start);
    TableColumn *column = &table->columns[index];
    if (!ran && vm_error_is_final(vm))
        return false;
    /* the label is computed first: it may be there though the value failed, else a later row has it */
    Value label = vm_registers(vm)[plan->label_reg];
    if (!column->label && label.tag == TAG_TEXT)
        column->label = mem_copy_string(label.as.text->bytes);
    if (plan->across && !table->caption && (plan->label || label.tag == TAG_TEXT))
        table->caption = mem_copy_string(plan->label ? plan->label : label.as.text->bytes);
    column->format = plan->format;
    if (ran)
        ran = fill_cell(vm, site, table, index, vm_registers(vm)[plan->reg]) || vm_fail(vm, spans);
    if (ran && vm_records(vm)) {
        column->last_record = recorder_shown(vm->recorder, vm_frame(vm)->chunk, vm->frame_count);
        column->first_record = column->first_record ? column->first_record : column->last_record;
    }
    if (!ran) {
        column->cells[table->row_count - 1].failed = true;
        vm->registry->heap->outside -= table_bytes(table);
        table_add_reason(table, vm->error ? vm->error->message : "");
        if (vm->error && !vm->report->muted && !vm->report->silent)
            worlds_refuse(vm->worlds, vm_place(vm, site), vm->error, true);
        vm->registry->heap->outside += table_bytes(table);
        vm_drop_error(vm);
    }
    return true;
}

/* The loop's column is left out when it holds records: they have columns of their own. */
static void drop_record_column(TableResult *table) {
    bool records = table->row_count > 0 && table->columns[0].cells[0].value.tag == TAG_RECORD;
    if (!records)
        return;
    mem_free(table->columns[0].label);
    mem_free(table->columns[0].cells);
    table->column_count--;
    memmove(table->columns, table->columns + 1, (size_t)table->column_count * sizeof *table->columns);
}

/* "strength [%ABV] by final": what the cells are, in which unit, and what goes across. */
static void finish_caption(const Vm *vm, TableResult *table) {
    Text caption = {0};
    text_add_string(&caption, table->caption);
    for (int i = 1; i < table->column_count; i++) {
        if (!table->columns[i].has_unit || table->columns[i].unit == UNIT_NUMBER)
            continue;
        text_add_string(&caption, " [");
        text_add_string(&caption, unit_get(vm->registry->units, table->columns[i].unit)->name);
        text_add_char(&caption, ']');
        break;
    }
    text_add_string(&caption, message_text(PHRASE_BY));
    text_add_string(&caption, table->across);
    mem_free(table->caption);
    table->caption = text_take(&caption);
}

void vm_table_end(Vm *vm) {
    TableResult *table = vm->tables[--vm->table_count];
    vm->registry->heap->outside -= table_bytes(table);
    for (int i = 0; i < table->column_count; i++)
        if (!table->columns[i].label)
            table->columns[i].label = mem_copy_string("");
    if (table->caption)
        finish_caption(vm, table);
    drop_record_column(table);
    if (table->column_count > 0)
        report_table(vm->report, table);
    else
        table_free(table);
}
