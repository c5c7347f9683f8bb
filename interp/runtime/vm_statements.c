/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Instructions that hand out results: inputs, shown values, tables, checks. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/format_spread.h"
#include "runtime/vm_parts.h"
#include "values/display.h"
#include "values/kind_check.h"

/* ---- inputs ---- */

static InputOverride *find_override(Vm *vm, const char *name) {
    for (int i = 0; i < vm->override_count; i++)
        if (strcmp(vm->overrides[i].name, name) == 0)
            return &vm->overrides[i];
    return NULL;
}

/* A spread is a difference of two runs: behind its twelfth digit stands what rounding left of them. */
static double shown_spread(double spread) {
    enum { DIGITS = 12 };
    Text digits = {0};
    double rounded = spread;
    format_digits(&digits, spread, DIGITS);
    bool read = format_read(text_string(&digits), digits.length, &rounded);
    text_free(&digits);
    return read ? rounded : spread;
}

/* "batch=\"5 gal\"", as one would type it. */
static char *example_of(const Vm *vm, const char *name, Value value) {
    Text text = {0}, literal = {0};
    if (value.tag == TAG_TEXT)
        text_add_string(&literal, value.as.text->bytes);
    else
        display_brief(&literal, vm->registry->units, value, true);
    text_add_string(&text, name);
    text_add_string(&text, "=\"");
    text_add_string(&text, text_string(&literal));
    text_add_char(&text, '"');
    text_free(&literal);
    return text_take(&text);
}

static bool take_override(Vm *vm, const InputPlan *plan, InputOverride *given, Value initial, Value *value) {
    given->used = true;
    size_t bad;
    bool is_utf8 = utf8_is_valid(given->text, strlen(given->text), &bad);
    if (initial.tag == TAG_TEXT && is_utf8) {
        *value = value_string(vm->registry->heap, given->text);
        return true;
    }
    char *example = example_of(vm, plan->name, initial);
    bool taken = given->is_literal && kind_same(vm->registry->units, given->value, initial);
    if (!given->is_literal) {
        fault_set(&vm->fault, MSG_INPUT_VALUE, ARGS(is_utf8 ? given->text : "�", example));
        vm->fault.cause = given->why.id;
        if (given->why.hint)
            fault_hint_with(&vm->fault, "%1; for example %2", ARGS(given->why.hint, example));
    } else if (!taken) {
        Text wanted = {0}, came = {0};
        value_describe(vm->registry->units, initial, &wanted);
        value_describe(vm->registry->units, given->value, &came);
        fault_set(&vm->fault, MSG_INPUT_KIND,
                  ARGS(plan->name, text_string(&wanted), text_string(&came), example));
        text_free(&wanted);
        text_free(&came);
    }
    mem_free(example);
    *value = given->value;
    return taken;
}

static bool check_range(Vm *vm, const InputPlan *plan, const Value *three, Value value, bool is_set) {
    Arith arith = vm_arith(vm);
    int below, above;
    const UnitTable *units = vm->registry->units;
    if (!kind_same(units, three[0], three[1]) || !kind_same(units, three[0], three[2]))
        return fault_set(&vm->fault, MSG_INPUT_DEFAULT_KIND, ARGS(plan->name));
    if (!arith_compare(&arith, value, three[1], &below) || !arith_compare(&arith, value, three[2], &above))
        return false;
    if (below >= 0 && above <= 0)
        return true;
    char *from = vm_shown(vm, three[1]), *to = vm_shown(vm, three[2]), *shown = vm_shown(vm, value);
    char *example = example_of(vm, plan->name, three[0]);
    if (is_set)
        fault_set(&vm->fault, MSG_INPUT_RANGE, ARGS(plan->name, from, to, shown, example));
    else
        fault_set(&vm->fault, MSG_INPUT_DEFAULT_RANGE, ARGS(plan->name, from, to));
    mem_free(from);
    mem_free(to);
    mem_free(shown);
    mem_free(example);
    return false;
}

/* registers: default, from, to. The registry's own scripts only: a script brought in by `use` keeps its
 * defaults. */
bool vm_input(Vm *vm, const Instruction *i, CodeSpan spans) {
    const InputPlan *plan = &vm_frame(vm)->chunk->inputs[i->d];
    Value *three = vm_registers(vm) + i->a;
    Value value = three[0];
    InputOverride *given = vm->report->silent ? NULL : find_override(vm, plan->name);
    if (plan->ranged && !check_range(vm, plan, three, value, false))
        return vm_fail(vm, spans);
    if (given && (!take_override(vm, plan, given, three[0], &value) ||
                  (plan->ranged && !check_range(vm, plan, three, value, true))))
        return vm_fail(vm, spans);
    if (given && given->uncertainty > 0 && vm->worlds->mode != WORLD_PLAIN)
        value.as.number =
            worlds_source(vm->worlds, vm_place(vm, i), plan->name, value, given->uncertainty, SPREAD_NORMAL);
    double spread = 0;
    if (!vm->report->silent && value_is_quantity(value) && vm->worlds->mode != WORLD_PLAIN) {
        bool bent;
        const double *spreads = worlds_show(vm->worlds, vm_place(vm, i), value, &bent);
        spread = spreads ? shown_spread(spreads[0]) : 0;
    }
    if (!vm->report->silent && !vm_only_logs(vm)) {
        InputResult result = {.name = plan->name,
                              .value = value,
                              .spread = spread,
                              .set = given != NULL,
                              .initial = three[0],
                              .from = plan->ranged ? three[1] : value_none(),
                              .to = plan->ranged ? three[2] : value_none(),
                              .doc = plan->doc};
        report_input(vm->report, &result);
    }
    three[0] = value;
    return true;
}

/* ---- shown values and texts ---- */

static const char *called(const char *label) {
    return label && *label ? label : "this value";
}

static void add_note(Vm *vm, const char *const *parts) {
    Text note = {0};
    for (; *parts; parts++)
        text_add_string(&note, *parts);
    report_text(vm->report, ITEM_NOTE, text_string(&note));
    text_free(&note);
}

static void note_doubt(Vm *vm, const char *label, bool bent, int number) {
    static const char draws[] = "; rundlet --trials 100000 draws it out";
    NumberDoubt doubt = worlds_doubt(vm->worlds, number);
    const char *name = called(label), *way = doubt.upward ? " moved up" : " moved down";
    if (doubt.sided)
        add_note(vm, ARGS("the ± of ", name, " is a poor guide: with ", doubt.sided, way,
                          " by its ± there is no such value", draws));
    else if (bent)
        add_note(vm, ARGS("the ± of ", name, " is a poor guide: the result bends within it", draws));
    if (doubt.lost && doubt.stopped)
        add_note(vm, ARGS("from here on the ± of ", doubt.lost,
                          " is not counted: moved by it, up or down, the script stops before it gets here"));
    else if (doubt.lost)
        add_note(vm, ARGS("the ± of ", name, " leaves out ", doubt.lost,
                          ": moved by its ±, up or down, there is no such value"));
}

/* The notes of a shown value: of the first of its numbers that has something to be told. */
static void note_shown(Vm *vm, const char *label, Value value, bool bent, int number) {
    int count = display_numbers(value, NULL, 0), told = number;
    if (count == 0)
        return;
    for (int i = number + count - 1; i >= number; i--)
        if (vm->worlds->lost[i] || vm->worlds->sided[i])
            told = i;
    note_doubt(vm, label, bent, told);
}

/* The worst off of the numbers of a value, by the draws that were refused, then by those that came to it. */
static int worst_drawn_of(const Worlds *worlds, int first, int second) {
    const TrialSummary *a = &worlds->trials[first], *b = &worlds->trials[second];
    return b->refused > a->refused || (b->refused == a->refused && b->count < a->count) ? second : first;
}

static int worst_drawn(const Worlds *worlds, int first, int count) {
    int worst = first;
    for (int i = first + 1; i < first + count; i++)
        worst = worst_drawn_of(worlds, worst, i);
    return worst;
}

/* "…, in 523 of 1000 draws" */
static void add_drawn(Text *out, const Worlds *worlds, int number) {
    text_add_integer(out, worlds->trials[number].count);
    text_add_string(out, " of ");
    text_add_integer(out, worlds->drawn);
    text_add_string(out, " draws");
}

void vm_note_missing(Vm *vm, Value value, int number, const char *what) {
    const Worlds *worlds = vm->worlds;
    int count = display_numbers(value, NULL, 0);
    if (count == 0 || number + count > worlds->central.count)
        return;
    if (!worlds->trials) {
        note_shown(vm, what, value, false, number);
        return;
    }
    int worst = worst_drawn(worlds, number, count);
    Text note = {0};
    text_add_string(&note, called(what));
    text_add_string(&note, ": ");
    size_t start = note.length;
    worlds_add_refusals(&note, worlds, worst);
    if (note.length == start && worlds->trials[worst].count < worlds->drawn) {
        text_add_string(&note, "the ± comes from ");
        add_drawn(&note, worlds, worst);
        text_add_string(&note, "; the others took another way through the script");
    }
    if (note.length > start)
        report_text(vm->report, ITEM_NOTE, text_string(&note));
    text_free(&note);
}

/* "5.22 ± 0.30 bar, 95 % from 4.63 to 5.81 bar, in 523 of 1000 draws" */
static void add_interval(Text *out, const Vm *vm, Value value, int number) {
    const Worlds *worlds = vm->worlds;
    const TrialSummary *trials = &worlds->trials[number];
    int places = format_spread_places(trials->uncertainty);
    places = places < 0 ? 0 : places > 15 ? 15 : places;
    const char *unit = unit_get(vm->registry->units, value.unit)->name, *blank = *unit ? " " : "";
    const char *const parts[] = {blank, unit, ", 95 % from "};
    format_spread(out, trials->mean, trials->uncertainty, (FormatSpec){0});
    for (int i = 0; i < 3; i++)
        text_add_string(out, parts[i]);
    format_places(out, trials->low, places);
    text_add_string(out, " to ");
    format_places(out, trials->high, places);
    text_add_string(out, blank);
    text_add_string(out, unit);
}

/* A shown quantity as it was drawn. False when there is nothing to say beyond the value. */
static bool add_drawn_text(Text *out, Vm *vm, Value value, FormatSpec format, int number) {
    const Worlds *worlds = vm->worlds;
    const TrialSummary *trials = &worlds->trials[number];
    bool missing = trials->count < worlds->drawn;
    bool spread =
        !trials->refused && trials->count > 1 &&
        display_has_spread(vm->registry->units, trials->mean, value.unit, trials->uncertainty, format);
    if (!missing && !spread)
        return false;
    if (spread)
        add_interval(out, vm, value, number);
    else
        display_quantity(out, vm->registry->units, value.as.number, value.unit, format);
    if (!missing)
        return true;
    text_add_string(out, trials->refused ? "; " : ", in ");
    if (trials->refused)
        worlds_add_refusals(out, worlds, number);
    else
        add_drawn(out, worlds, number);
    return true;
}

/* What the runs before this one found about the number that is shown next. */
static ShowDetail detail_of(const Vm *vm, const double *spreads, int number, Value value, FormatSpec format) {
    ShowDetail detail = {.number = -1};
    if (!spreads)
        return detail;
    detail.number = number;
    detail.uncertainty = shown_spread(spreads[0]);
    detail.tells_spread =
        display_has_spread(vm->registry->units, value.as.number, value.unit, detail.uncertainty, format);
    const TrialSummary *trials = vm->worlds->trials ? &vm->worlds->trials[number] : NULL;
    if (trials) {
        detail.has_trials = true;
        detail.trial_mean = trials->mean;
        detail.trial_uncertainty = trials->uncertainty;
        detail.trial_low = trials->low;
        detail.trial_high = trials->high;
        detail.trial_count = trials->count;
        detail.trial_refused = trials->refused;
        detail.trial_draws = vm->worlds->drawn;
    }
    return detail;
}

/* In words, and what is to be noted of it. */
static bool show_value(Vm *vm, const ShowPlan *plan, const Value *registers, const double *spreads, bool bent,
                       int number) {
    Value value = registers[0];
    bool one = value_is_quantity(value), drawn = spreads && vm->worlds->trials;
    Text text = {0};
    bool shown = display_value_spread(&text, vm->registry->units, value, plan->format, spreads, &vm->fault);
    Text told = {0};
    bool is_told = shown && drawn && one && value.unit != UNIT_DATE &&
                   add_drawn_text(&told, vm, value, plan->format, number);
    const char *label = plan->label_in_register ? registers[1].as.text->bytes : plan->label;
    if (shown) {
        ShowDetail detail = detail_of(vm, one ? spreads : NULL, number, value, plan->format);
        report_show(vm->report, label, text_string(is_told ? &told : &text), value, &detail);
        if (drawn && !is_told)
            vm_note_missing(vm, value, number, label);
        if (!vm->worlds->trials && spreads)
            note_shown(vm, label, value, bent, number);
    }
    text_free(&told);
    text_free(&text);
    return shown;
}

bool vm_show(Vm *vm, const Instruction *i, CodeSpan spans) {
    const ShowPlan *plan = &vm_frame(vm)->chunk->shows[i->d];
    const Value *registers = vm_registers(vm) + i->a;
    if (vm->report->muted || vm->report->silent)
        return true;
    bool bent = false, plain = vm->worlds->mode == WORLD_PLAIN;
    int number = vm->worlds->shown_next;
    const double *spreads = plain ? NULL : worlds_show(vm->worlds, vm_place(vm, i), registers[0], &bent);
    if (vm_only_logs(vm))
        return true;
    return show_value(vm, plan, registers, spreads, bent, number) || vm_fail(vm, spans);
}

bool vm_say(Vm *vm, const Instruction *i, CodeSpan spans) {
    ItemType type = (ItemType)i->x;
    Value value = vm_registers(vm)[i->a];
    if (value.tag != TAG_TEXT && type != ITEM_PRINT) {
        kind_fault(vm->registry->units, MSG_SAY_TEXT, value, NULL, &vm->fault);
        return vm_fail(vm, spans);
    }
    Text text = {0};
    display_value(&text, vm->registry->units, value, (FormatSpec){0}, &vm->fault);
    if (vm_frame(vm)->chunk->library && (type == ITEM_CAUTION || type == ITEM_NOTE))
        report_say_once(vm->report, type, text_string(&text));
    else
        report_text(vm->report, type, text_string(&text));
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

static void report_check(Vm *vm, bool passed, Diag *diag, CodeSpan spans) {
    const Source *source = vm_frame(vm)->chunk->source;
    if (vm->report->muted || vm_only_logs(vm)) {
        diag_free(diag);
        return;
    }
    if (passed)
        vm->report->expects_passed++;
    else
        vm->report->expects_failed++;
    if (vm->on_expect)
        vm->on_expect(vm->listener_context, source, spans.at, passed, diag);
    if (!diag)
        return;
    diag_list_push(vm->failures, diag);
    vm->failure_bytes += sizeof *diag + FAILURE_TEXTS * strlen(diag->message);
    if (vm->on_failure)
        vm->on_failure(vm->listener_context, diag);
}

/* `why`: the register of the check's own words, which come first; 0 for none. */
static Diag *failed_check(Vm *vm, MessageId id, int why, CodeSpan spans, const char *const *args) {
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
    Text has = {0}, came = {0};
    value_describe(vm->registry->units, value_quantity(vm->registry->units, 0, column->unit), &has);
    value_describe(vm->registry->units, value, &came);
    fault_set(&vm->fault, MSG_TABLE_CELL_KIND, ARGS(column->label, text_string(&has), text_string(&came)));
    text_free(&has);
    text_free(&came);
    return false;
}

/* All cells of a table of two inputs have one unit, that of the first filled. */
static UnitId unit_across(const TableResult *table, UnitId own) {
    for (int i = 1; table->across && i < table->column_count; i++)
        if (table->columns[i].has_unit)
            return table->columns[i].unit;
    return own;
}

/* Remembers the cell of a column that is worst off, for the note below the table. */
static void keep_gap(const Worlds *worlds, TableColumn *column, int number) {
    if (worlds->trials) {
        bool missing = worlds->trials[number].count < worlds->drawn;
        bool worse = missing && (!column->has_gap || worst_drawn_of(worlds, column->gap, number) == number);
        column->gap = worse ? number : column->gap;
        column->has_gap = column->has_gap || missing;
    } else if (!column->has_gap && (worlds->lost[number] || worlds->sided[number])) {
        column->has_gap = true;
        column->gap = number;
    }
}

/* Puts a value into the last row; quantities in the unit of the column's first filled row. */
static bool fill_cell(Vm *vm, const Instruction *site, TableResult *table, int index, Value value) {
    TableColumn *column = &table->columns[index];
    Value *cell = &column->cells[table->row_count - 1];
    const UnitTable *units = vm->registry->units;
    if (!value_is_quantity(value)) {
        *cell = value;
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
    *cell = value_quantity(units, number, column->unit);
    if (vm->report->muted || vm->report->silent || vm->worlds->mode == WORLD_PLAIN)
        return true;
    bool bent;
    int place = vm->worlds->shown_next;
    const double *spreads = worlds_show(vm->worlds, vm_place(vm, site), *cell, &bent);
    double spread = spreads ? spreads[0] : 0;
    bool told = display_has_spread(units, cell->as.number, cell->unit, spread, column->format);
    column->spreads[table->row_count - 1] = told ? spread : 0;
    if (told && vm->worlds->trials)
        cell->as.number = vm->worlds->trials[place].mean;
    if (spreads)
        keep_gap(vm->worlds, column, place);
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
    if (!ran) {
        table->failed[index][table->row_count - 1] = true;
        vm->registry->heap->outside -= table_bytes(table);
        table_add_reason(table, vm->error ? vm->error->message : "");
        if (vm->error && !vm->report->muted && !vm->report->silent)
            worlds_refuse(vm->worlds, vm_place(vm, site), vm->error);
        vm->registry->heap->outside += table_bytes(table);
        vm_drop_error(vm);
    }
    return true;
}

/* The loop's column is left out when it holds records: they have columns of their own. */
static void drop_record_column(TableResult *table) {
    bool records = table->row_count > 0 && table->columns[0].cells[0].tag == TAG_RECORD;
    if (!records)
        return;
    mem_free(table->columns[0].label);
    mem_free(table->columns[0].cells);
    mem_free(table->columns[0].spreads);
    mem_free(table->failed[0]);
    table->column_count--;
    memmove(table->columns, table->columns + 1, (size_t)table->column_count * sizeof *table->columns);
    memmove(table->failed, table->failed + 1, (size_t)table->column_count * sizeof *table->failed);
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
    text_add_string(&caption, " by ");
    text_add_string(&caption, table->across);
    mem_free(table->caption);
    table->caption = text_take(&caption);
}

/* What a moved ± leaves without a value in a column. */
static void add_column_doubt(Text *out, const Worlds *worlds, int number) {
    int lost = worlds->lost[number], sided = worlds->sided[number];
    text_add_string(out,
                    lost ? "the ± of some cells leaves out " : "the ± of some cells is a poor guide: with ");
    text_add_string(out, worlds->sources[abs(lost ? lost : sided) - 1].name);
    text_add_string(out, lost        ? ": moved by its ±, up or down, there is no such value"
                         : sided > 0 ? " moved up by its ± there is no such value"
                                     : " moved down by its ± there is no such value");
}

enum { GAPS_MOST = 8 }; /* columns told of below a table */

/* "the column strength: 6.0 % of the draws …": of each column the cell that is worst off. How many notes. */
static int take_gaps(Vm *vm, const TableResult *table, Text *notes) {
    const Worlds *worlds = vm->worlds;
    int count = 0;
    for (int i = 0; i < table->column_count && count < GAPS_MOST; i++) {
        const TableColumn *column = &table->columns[i];
        if (!column->has_gap)
            continue;
        Text *note = &notes[count++];
        text_add_string(note, "the column ");
        text_add_string(note, *column->label ? column->label : "without a name");
        text_add_string(note, ": ");
        if (!worlds->trials) {
            add_column_doubt(note, worlds, column->gap);
        } else if (worlds->trials[column->gap].refused) {
            text_add_string(note, "where no ± is shown, up to ");
            worlds_add_refusals(note, worlds, column->gap);
        } else {
            text_add_string(note, "the ± of one cell comes from only ");
            add_drawn(note, worlds, column->gap);
            text_add_string(note, "; the others took another way through the script");
        }
    }
    return count;
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
    Text notes[GAPS_MOST] = {{0}};
    int count = take_gaps(vm, table, notes);
    if (table->column_count > 0)
        report_table(vm->report, table);
    else
        table_free(table);
    for (int i = 0; i < count; i++) {
        report_text(vm->report, ITEM_NOTE, text_string(&notes[i]));
        text_free(&notes[i]);
    }
}
