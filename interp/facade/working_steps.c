/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the record of a run (runtime/recorder.h) to the steps that led to each shown value.
 *
 * A step is a value that was given a name, or shown, with the calls and pours in its expression before it.
 * What it depends on (working_needs.c) comes first; each step comes once, with the first result that needs
 * it. */
#include <string.h>
#include <strings.h>

#include "base/mem.h"
#include "facade/working_state.h"

/* ---- formulas ---- */

/* Does a line of documentation say something else: of a parameter, or where the formula comes from? */
static bool begins_part(const Formula *formula, const char *line) {
    static const char *const words[] = {"Source", "Example", "Constants"};
    size_t length = strcspn(line, ":\n ");
    bool begins = false;
    for (size_t i = 0; line[length] == ':' && i < sizeof words / sizeof *words; i++)
        begins = begins || (strlen(words[i]) == length && strncmp(line, words[i], length) == 0);
    for (int i = 0; line[length] == ':' && i < formula->param_count; i++)
        begins = begins || (strlen(formula->params[i].label) == length &&
                            strncmp(line, formula->params[i].label, length) == 0);
    return begins;
}

/* The paragraph that begins at `text`, its lines joined. */
static char *first_lines(const Formula *formula, const char *text, bool sentence) {
    Text out = {0};
    while (*text) {
        size_t length = strcspn(text, "\n");
        const char *stop = sentence ? strstr(text, ". ") : NULL;
        bool ends = stop && (size_t)(stop - text) < length;
        text_add(&out, text, ends ? (size_t)(stop - text) + 1 : length);
        text += length + (text[length] == '\n');
        bool goes_on = !ends && *text && *text != '\n' && !begins_part(formula, text);
        if (!goes_on || (sentence && out.length && out.bytes[out.length - 1] == '.'))
            break;
        text_add_char(&out, ' ');
    }
    return text_take(&out);
}

/* The first sentence of its documentation, and its source. */
static void fill_about(WorkingBuilder *b, int number, WorkingStep *step) {
    const Formula *formula = number >= 0 ? b->session->registry->formulas[number] : NULL;
    if (!formula || !formula->doc || b->explained[number])
        return;
    b->explained[number] = true;
    step->formula = mem_copy_string(formula->name);
    step->about = first_lines(formula, formula->doc, true);
    const char *source = strstr(formula->doc, "Source: ");
    if (source)
        step->source = first_lines(formula, source + strlen("Source: "), false);
}

static bool is_library(const WorkingBuilder *b, int number) {
    return b->session->registry->formulas[number]->module->library;
}

/* ---- steps within steps ---- */

static void fill_step(WorkingBuilder *b, int32_t number, int levels, WorkingStep *step);

static WorkingStep *new_child(WorkingStep *parent, bool inside) {
    WorkingStep *step = working_add(&parent->children, &parent->child_count, &parent->child_capacity);
    step->inside = inside;
    return step;
}

/* The record of what a formula gave, which was called between two records; -1: none is kept. */
static int32_t given_in(const WorkingBuilder *b, int32_t from, int32_t to) {
    int depth = working_record(b, to)->depth + 1;
    for (int32_t i = to - 1; i > from; i--)
        if (working_record(b, i)->depth == depth && working_mark(b, i)->role == MARK_GIVE &&
            working_record(b, i)->phase == MARK_DONE)
            return i;
    return -1;
}

static void add_needs(WorkingBuilder *b, const WorkingNeeds *needs, int levels, WorkingStep *parent);

/* Was the call there before, with the same values and the same result? From now on it was. */
static bool was_noted(NameMap *calls, const WorkingStep *step) {
    Text key = {0};
    text_add_string(&key, step->with_values ? step->with_values : step->expression);
    text_add_string(&key, " = ");
    text_add_string(&key, step->value);
    bool known = name_map_get(calls, text_string(&key), &(int){0});
    name_map_set(calls, text_string(&key), 1);
    text_free(&key);
    return known;
}

/* What went on inside a formula: once for the same values. */
static void fill_inside(WorkingBuilder *b, const Mark *call, int32_t from, int32_t to, int levels,
                        WorkingStep *step) {
    if (call->number < 0 || levels < (is_library(b, call->number) ? 2 : 1))
        return;
    int32_t given = given_in(b, from, to);
    if (given < 0 || working_record(b, given)->value.tag == TAG_TEXT || was_noted(&b->entered, step))
        return;
    WorkingNeeds needs = working_needs(b, &given, 1, from + 1);
    add_needs(b, &needs, levels - 1, step);
    mem_free(needs.items);
}

enum { SAME_CALLS_MOST = 3 };

/* The steps that the same place of the script has given in a list are enough once it has given three. */
static bool is_repeated(const WorkingBuilder *b, int32_t from, int32_t number) {
    const Record *record = working_record(b, number);
    int before = 0;
    for (int32_t i = from + 1; i < number; i++) {
        const Record *other = working_record(b, i);
        before += other->mark == record->mark && other->chunk == record->chunk &&
                  other->phase == record->phase && other->depth == record->depth;
        if (before == SAME_CALLS_MOST)
            return true;
    }
    return false;
}

static void fill_condition(WorkingBuilder *b, int32_t from, int32_t to, int levels, WorkingStep *step);

/* A call in the expression of a step; not if the same was called before, with the same values. */
static void fill_call(WorkingBuilder *b, int32_t number, int levels, WorkingStep *parent) {
    WorkingStep *step = new_child(parent, false);
    fill_step(b, number, levels, step);
    if (was_noted(&b->called, step) && !step->child_count && !step->formula) {
        working_clear_step(step);
        parent->child_count--;
    }
}

/* Calls, pours and choices in the expression are steps of their own; the call or sum that is all of it is the
 * step itself. */
static void fill_within(WorkingBuilder *b, int32_t from, int32_t to, int levels, WorkingStep *step) {
    const Record *whole = working_record(b, to);
    Span span = recorder_mark_of(whole)->span;
    for (int32_t i = from + 1; i < to; i++) {
        const Record *record = working_record(b, i);
        const Mark *mark = recorder_mark_of(record);
        bool all = mark->span.start == span.start && mark->span.end == span.end;
        bool has_step = mark->role == MARK_CONDITION || mark->role == MARK_CALL || mark->role == MARK_HOLDS ||
                        mark->role == MARK_SUM;
        if (!has_step || record->depth != whole->depth || record->phase == MARK_BEGIN || record->beside ||
            b->told[i] || is_repeated(b, from, i))
            continue;
        if (mark->role == MARK_CONDITION)
            fill_step(b, i, levels, new_child(step, false));
        else if (mark->role == MARK_CALL && !all)
            fill_call(b, i, levels, step);
        else if (mark->role == MARK_HOLDS)
            fill_condition(b, record->begun, i, levels, new_child(step, false));
        else if (mark->role == MARK_SUM && record->value.tag == TAG_LIQUID && !all &&
                 !working_is_inner_sum(b, i, to))
            fill_step(b, i, levels, new_child(step, false));
        else if (mark->role == MARK_SUM && all)
            working_fill_pour(b, record->begun, i, step);
        else if (mark->role == MARK_CALL && all) {
            fill_about(b, mark->number, step);
            fill_inside(b, mark, record->begun, i, levels, step);
            working_fill_defaults(b, mark, step);
        }
    }
}

/* ---- find ---- */

/* Two values with the sign that the script has between the sides. */
static char *compared(const WorkingBuilder *b, const int32_t *sides, int digits) {
    const Record *left = working_record(b, sides[0]), *right = working_record(b, sides[1]);
    Span between = {recorder_mark_of(left)->span.end, recorder_mark_of(right)->span.start};
    FormatSpec format = {.mode = digits ? FORMAT_DIGITS : FORMAT_DEFAULT, .count = digits};
    char *a = working_value(b, left->value, format), *c = working_value(b, right->value, format);
    char *sign = working_source(left, between);
    size_t start = strcspn(sign, "<>=!"), length = strspn(sign + start, "<>=!");
    Text text = {0};
    text_add_string(&text, a);
    text_add_char(&text, ' ');
    text_add(&text, sign + start, length);
    text_add_char(&text, ' ');
    text_add_string(&text, c);
    mem_free(a);
    mem_free(c);
    mem_free(sign);
    return text_take(&text);
}

/* Does the condition hold? As `find` compares, with the tolerance of all comparisons. */
static bool sides_hold(const WorkingBuilder *b, const int32_t *sides) {
    const Record *left = working_record(b, sides[0]), *right = working_record(b, sides[1]);
    const Registry *registry = b->session->registry;
    Fault fault = {0};
    Arith arith = {.units = registry->units, .heap = registry->heap, .fault = &fault};
    char *sign =
        working_source(left, (Span){recorder_mark_of(left)->span.end, recorder_mark_of(right)->span.start});
    int order = 0;
    bool known = arith_compare(&arith, left->value, right->value, &order);
    bool holds = known && (strchr(sign, '<') ? order <= 0 : strchr(sign, '>') ? order >= 0 : order == 0);
    fault_clear(&fault);
    mem_free(sign);
    return holds;
}

/* `1.073 SG >= 1.072 SG`, in so many digits that what is printed is as true as what was compared. */
static void fill_sides(const WorkingBuilder *b, const int32_t *sides, bool holds, WorkingStep *step) {
    static const int digits[] = {0, 5, 6, 8, 10, 12, 15};
    bool agrees = false;
    for (size_t i = 0; i < sizeof digits / sizeof *digits && !agrees; i++) {
        mem_free(step->with_values);
        step->with_values = compared(b, sides, digits[i]);
        agrees = working_gives(b, step->with_values, value_truth(holds));
    }
    if (!agrees) { /* they are alike as closely as can be printed */
        mem_free(step->with_values);
        step->with_values = compared(b, sides, 0);
        step->rounded = true;
    }
    step->value = mem_copy_string(holds ? "true" : "false");
}

/* The sides of the condition between two records, not those of a find in one of them. Their count. */
static int find_sides(const WorkingBuilder *b, int32_t from, int32_t to, int32_t *sides) {
    const Record *whole = working_record(b, to);
    int count = 0;
    for (int32_t i = from + 1; i < to; i++) {
        const Record *record = working_record(b, i);
        MarkRole role = recorder_mark_of(record)->role;
        if (record->depth != whole->depth || record->phase != MARK_DONE || record->beside)
            continue;
        while (role == MARK_HOLDS && count && sides[count - 1] > record->begun)
            count--;
        if (role == MARK_SIDE && !recorder_mark_of(record)->name && count < 2)
            sides[count++] = i;
    }
    return count;
}

/* A side, unless it is the name of a value that the condition shows. */
static void fill_side(WorkingBuilder *b, int32_t number, int levels, WorkingStep *step) {
    char *text = working_source(working_record(b, number), working_mark(b, number)->span);
    WorkingStep *child = working_is_literal(text) ? NULL : new_child(step, false);
    if (child)
        fill_step(b, number, levels, child);
    if (child && !child->with_values && !child->child_count) {
        working_clear_step(child);
        step->child_count--;
    }
    mem_free(text);
}

/* A condition at the answer. */
static void fill_condition(WorkingBuilder *b, int32_t from, int32_t to, int levels, WorkingStep *step) {
    const Record *whole = working_record(b, to);
    int32_t sides[2];
    int count = find_sides(b, from, to, sides);
    step->role = WORKING_HOLDS;
    step->expression = working_source(whole, recorder_mark_of(whole)->span);
    for (int i = 0; i < count; i++)
        fill_side(b, sides[i], levels, step);
    if (count == 2)
        fill_sides(b, sides, true, step);
    else
        step->value = mem_copy_string("true");
}

/* The condition so many steps beside the answer, whose sides are two records from `left` on. */
static void fill_beside(const WorkingBuilder *b, const Record *found, int32_t left, const Record *condition,
                        WorkingStep *step) {
    const Record *side = working_record(b, left);
    Value beside = found->value;
    beside.as.number += side->beside;
    step->role = WORKING_BESIDE;
    step->name = working_value(b, beside, (FormatSpec){0});
    step->expression = working_source(condition, recorder_mark_of(condition)->span);
    int32_t sides[2] = {left, left + 1};
    fill_sides(b, sides, sides_hold(b, sides), step);
}

/* Calls in the bounds, the conditions at the answer, and beside a whole-number one. */
static void fill_find(WorkingBuilder *b, int32_t found, int levels, WorkingStep *step) {
    const Record *last = working_record(b, found), *condition = NULL;
    int32_t first = working_find_start(b, found);
    for (int32_t i = first; i < found; i++) { /* with another unknown of the same find */
        const Mark *mark = working_mark(b, i);
        if (mark->role != MARK_FIND || !b->told[i] || working_record(b, i)->depth != last->depth)
            continue;
        step->found_with = mem_copy_string(mark->name);
        return;
    }
    for (int32_t i = first; i < found; i++) {
        const Record *record = working_record(b, i);
        const Mark *mark = recorder_mark_of(record);
        if (record->depth != last->depth || record->phase == MARK_BEGIN)
            continue;
        if (mark->role == MARK_HOLDS) {
            fill_condition(b, record->begun, i, levels, new_child(step, false));
            condition = record;
        } else if (mark->role == MARK_SIDE && mark->name) {
            fill_step(b, i, levels, new_child(step, false));
        } else if (mark->role == MARK_SIDE && record->beside && i + 1 < found && condition &&
                   working_mark(b, i + 1)->role == MARK_SIDE &&
                   working_record(b, i + 1)->beside == record->beside) {
            fill_beside(b, last, i++, condition, new_child(step, false));
        }
    }
}

/* ---- a step ---- */

static void fill_unit(const WorkingBuilder *b, Value value, WorkingStep *step) {
    if (!value_is_quantity(value) || value.unit == UNIT_NUMBER || value.unit == UNIT_DATE)
        return;
    const char *name = unit_get(b->session->registry->units, value.unit)->name;
    step->unit = *name ? mem_copy_string(name) : NULL;
}

/* With its ±, as it was set, and what its comment says. */
static void fill_input(const WorkingBuilder *b, Value value, WorkingStep *step) {
    const Report *report = b->session->report;
    step->role = WORKING_INPUT;
    step->literal = true;
    mem_free(step->expression);
    step->expression = working_literal(b, value);
    for (int i = 0; i < report->input_count; i++) {
        const InputResult *input = &report->inputs[i];
        if (strcmp(input->name, step->name) != 0)
            continue;
        step->about = input->doc ? mem_copy_string(input->doc) : NULL;
        if (input->spread > 0 && value_is_quantity(input->value)) {
            Text text = {0};
            display_value_spread(&text, b->session->registry->units, input->value, (FormatSpec){0},
                                 &input->spread);
            mem_free(step->value);
            step->value = text_take(&text);
        }
    }
}

/* The result itself, as it is shown: with its ±. */
static void put_spread(const WorkingBuilder *b, WorkingStep *step) {
    Text text = {0};
    if (!b->shown->spreads || b->session->trials)
        return;
    display_value_spread(&text, b->session->registry->units, b->shown->value, b->shown->format,
                         b->shown->spreads);
    mem_free(step->value);
    step->value = text_take(&text);
}

static bool has_name(const Mark *mark) {
    return mark->name && (mark->role == MARK_LET || mark->role == MARK_ASSIGN || mark->role == MARK_INPUT ||
                          mark->role == MARK_FIND || mark->role == MARK_SIDE);
}

static void fill_step(WorkingBuilder *b, int32_t number, int levels, WorkingStep *step) {
    const Record *record = working_record(b, number);
    const Mark *mark = recorder_mark_of(record);
    b->told[number] = b->result;
    step->role = mark->role == MARK_CONDITION ? WORKING_BECAUSE
                 : mark->role == MARK_SIDE    ? WORKING_SIDE
                                              : WORKING_STEP;
    step->name = has_name(mark) ? mem_copy_string(mark->name) : NULL;
    step->expression = working_source(record, mark->span);
    step->value = step->role == WORKING_BECAUSE
                      ? mem_copy_string(record->phase == MARK_HELD ? "true" : "false")
                      : working_value(b, record->value, mark->format);
    fill_unit(b, record->value, step);
    step->literal = working_is_literal(step->expression);
    if (b->shown && (number == b->shown_at || number == b->result_at))
        put_spread(b, step);
    if (mark->role == MARK_INPUT)
        fill_input(b, record->value, step);
    if (mark->role == MARK_FIND)
        fill_find(b, number, levels, step);
    if (record->begun >= 0 && !step->literal) {
        working_fill_values(b, record->begun, number, step);
        fill_within(b, record->begun, number, levels, step);
        if (mark->role == MARK_CALL) {
            fill_about(b, mark->number, step);
            fill_inside(b, mark, record->begun, number, levels, step);
            working_fill_defaults(b, mark, step);
        }
        if (mark->role == MARK_SUM)
            working_fill_pour(b, record->begun, number, step);
        working_fill_assumptions(b, record->begun, number, step);
    }
    bool same = step->with_values && (strcmp(step->with_values, step->expression) == 0 ||
                                      strcmp(step->with_values, step->value) == 0);
    if (same) {
        mem_free(step->with_values);
        step->with_values = NULL;
    }
    if (!step->with_values && strstr(step->expression, "±") && !strchr(step->expression, '('))
        step->literal = true; /* the value would leave the ± out */
}

/* ---- turns of loops ---- */

/* Is a record in the turn that began at `outer`? All are in -1. `within`: the turn of a loop right within
 * that one that it is in; -1: it is in no other. */
static bool is_in_turn(const WorkingBuilder *b, int32_t number, int32_t outer, int32_t *within) {
    int32_t turn = working_record(b, number)->turn_of;
    for (*within = -1; turn >= 0 && turn != outer; turn = working_record(b, turn)->turn_of)
        *within = turn;
    return turn == outer;
}

static int turns_of(const WorkingBuilder *b, int32_t turn) {
    const Record *begun = working_record(b, turn);
    for (int32_t i = turn + 1; i < b->recorder->count; i++) {
        const Record *record = working_record(b, i);
        if (record->depth < begun->depth)
            break;
        if (record->mark == begun->mark && record->chunk == begun->chunk && record->depth == begun->depth &&
            record->phase == MARK_DONE)
            return record->turn;
    }
    return 0; /* it was left before its end */
}

static void fill_turn(const WorkingBuilder *b, int32_t number, WorkingStep *step) {
    const Record *record = working_record(b, number);
    const Mark *mark = recorder_mark_of(record);
    step->role = WORKING_TURN;
    step->turn = record->turn;
    step->turns = turns_of(b, number);
    step->expression = working_source(record, mark->span);
    step->name = mark->name ? mem_copy_string(mark->name) : NULL;
    step->value = mark->name ? working_value(b, record->value, (FormatSpec){0}) : NULL;
    if (mark->name)
        fill_unit(b, record->value, step);
}

/* Where steps go: into a result, or into a step. */
typedef struct StepList {
    Working *working;
    WorkingStep *parent;
} StepList;

static WorkingStep *next_step(const StepList *list) {
    if (list->parent)
        return new_child(list->parent, true);
    return working_add(&list->working->steps, &list->working->count, &list->working->capacity);
}

/* The latest. */
static void drop_step(const StepList *list) {
    if (list->parent)
        working_clear_step(&list->parent->children[--list->parent->child_count]);
    else
        working_clear_step(&list->working->steps[--list->working->count]);
}

/* A step, unless it is of a loop over a list that has no working of its own. */
static void add_one(WorkingBuilder *b, int32_t number, int levels, const StepList *list) {
    WorkingStep *step = next_step(list);
    fill_step(b, number, levels, step);
    MarkRole role = working_mark(b, number)->role;
    bool always = role == MARK_CONDITION && step->literal; /* while true */
    if (always || (role == MARK_LIST && !step->with_values && !step->child_count))
        drop_step(list);
}

/* Steps of a turn go under a step for that turn. */
static void add_in_order(WorkingBuilder *b, const WorkingNeeds *needs, int *at, int32_t outer, int levels,
                         StepList list) {
    int32_t turn;
    while (*at < needs->count && is_in_turn(b, needs->items[*at], outer, &turn)) {
        int32_t number = needs->items[*at];
        MarkRole role = working_mark(b, number)->role;
        bool range = role == MARK_LIST && working_record(b, number)->phase == MARK_HELD;
        bool skipped = b->told[number] || role == MARK_TURN || range;
        if (turn < 0) {
            ++*at;
            if (!skipped)
                add_one(b, number, levels, &list);
            continue;
        }
        WorkingStep *step = next_step(&list);
        fill_turn(b, turn, step);
        add_in_order(b, needs, at, turn, levels, (StepList){.parent = step});
        if (!step->child_count) /* all of it came with an earlier result */
            drop_step(&list);
    }
}

static void add_needs(WorkingBuilder *b, const WorkingNeeds *needs, int levels, WorkingStep *parent) {
    int at = 0;
    add_in_order(b, needs, &at, -1, levels, (StepList){.parent = parent});
}

/* ---- results ---- */

/* A name whose step came with an earlier result, so that the reader looks there. */
static void add_earlier(const WorkingBuilder *b, int32_t definer, char *const *labels, Working *working) {
    const Mark *mark = working_mark(b, definer);
    int at = b->told[definer];
    if (!at || at == b->result || !has_name(mark) || mark->role == MARK_INPUT)
        return;
    for (int k = 0; k < working->earlier_count; k++)
        if (strcmp(working->earlier[k].name, mark->name) == 0)
            return;
    MEM_GROW(working->earlier, working->earlier_count, working->earlier_capacity);
    working->earlier[working->earlier_count++] =
        (WorkingEarlier){mem_copy_string(mark->name), mem_copy_string(labels[at - 1])};
}

/* The same for all that the steps of this result read. */
static void add_all_earlier(const WorkingBuilder *b, const WorkingNeeds *needs, char *const *labels,
                            Working *working) {
    for (int i = 0; i < needs->count; i++) {
        int32_t number = needs->items[i], begun = working_record(b, number)->begun;
        for (int32_t k = begun + 1; b->told[number] == b->result && begun >= 0 && k < number; k++)
            if (working_mark(b, k)->role == MARK_READ && working_record(b, k)->definer >= 0)
                add_earlier(b, working_record(b, k)->definer, labels, working);
    }
}

typedef struct Labels {
    char **items;
    int count, capacity;
} Labels;

/* A result that is a name alone is shown by the step that gave the name its value, if that is still to come.
 */
static int32_t named_result(const WorkingBuilder *b, int32_t result) {
    int32_t read = result - 1;
    if (read < 0 || working_mark(b, read)->role != MARK_READ ||
        !span_same(working_mark(b, read)->span, working_mark(b, result)->span))
        return result;
    int32_t definer = working_record(b, read)->definer;
    bool comes = definer >= 0 && !b->told[definer] && has_name(working_mark(b, definer)) &&
                 working_mark(b, definer)->role != MARK_INPUT;
    return comes ? definer : result;
}

static Working *build(WorkingBuilder *b, const int64_t *serials, int count, const char *label,
                      Labels *labels) {
    int32_t results[2];
    int kept = 0;
    for (int i = 0; i < count; i++) {
        results[kept] = serials[i] ? recorder_find(b->recorder, serials[i]) : -1;
        kept += results[kept] >= 0 && (kept == 0 || results[0] != results[kept]);
    }
    if (!kept)
        return NULL;
    MEM_GROW(labels->items, labels->count, labels->capacity);
    labels->items[labels->count++] = mem_copy_string(label ? label : "");
    b->result = labels->count;
    Working *working = mem_alloc(sizeof *working);
    *working = (Working){0};
    WorkingNeeds needs = working_needs(b, results, kept, 0);
    int at = 0;
    b->result_at = results[0];
    b->shown_at = named_result(b, results[0]);
    add_in_order(b, &needs, &at, -1, b->levels, (StepList){.working = working});
    add_all_earlier(b, &needs, labels->items, working);
    working_add_units(b, working);
    mem_free(needs.items);
    return working;
}

/* The column, -1 for the value or all of them. */
static void add_to_item(WorkingBuilder *b, Item *item, int only, Labels *labels) {
    if (item->type == ITEM_SHOW) {
        b->shown = &item->shown;
        item->working = build(b, &item->shown.record, 1, item->label, labels);
        if (item->working)
            working_fill_shares(b, &item->shown, item->working);
        b->shown = NULL;
    }
    for (int c = 0; item->table && c < item->table->column_count; c++) {
        TableColumn *column = &item->table->columns[c];
        int64_t serials[] = {column->first_record, column->last_record};
        if (only < 0 || only == c)
            column->working = build(b, serials, 2, column->label, labels);
    }
}

/* ---- the one that is wanted ---- */

/* Line breaks of a label are shown as spaces. */
static bool is_called(const char *label, const char *wanted) {
    Text shown = {0};
    if (!label)
        return false;
    text_add_clean(&shown, label, strlen(label), "", " ");
    bool same = strcasecmp(text_string(&shown), wanted) == 0;
    text_free(&shown);
    return same;
}

/* Is the item that result, or has it that column? */
static bool is_wanted(const Item *item, const char *wanted, int *column) {
    *column = -1;
    if (!*wanted)
        return item->type == ITEM_SHOW || item->table;
    if (item->type == ITEM_SHOW && is_called(item->label, wanted))
        return true;
    for (int c = 0; item->table && c < item->table->column_count; c++)
        if (is_called(item->table->columns[c].label, wanted)) {
            *column = c;
            return true;
        }
    return false;
}

static void add_to_wanted(WorkingBuilder *b, const char *wanted, Labels *labels) {
    const Report *report = b->session->report;
    int column = -1, at = report->count - 1;
    while (at >= 0 && !is_wanted(report->items[at], wanted, &column))
        at--;
    if (at >= 0)
        add_to_item(b, report->items[at], column, labels);
}

void session_add_working(Session *session) {
    Recorder *recorder = session->vm->recorder;
    WorldMode mode = session->vm->worlds->mode;
    size_t records = recorder ? (size_t)recorder->count + 1 : 0;
    if (!recorder || !session->did_run)
        return;
    session->abacus = NULL; /* the registry keeps that of an earlier run */
    session->abacus_over = false;
    WorkingBuilder builder = {.session = session, .recorder = recorder, .levels = session->options.working};
    builder.needed = mem_array(records, sizeof *builder.needed);
    builder.told = mem_array(records, sizeof *builder.told);
    builder.explained = mem_array((size_t)session->registry->formula_count + 1, sizeof(bool));
    builder.assumed = mem_array((size_t)recorder->assumed_count + 1, sizeof(bool));
    Labels labels = {0};
    worlds_begin(session->vm->worlds, WORLD_PLAIN);
    if (session->options.working_of)
        add_to_wanted(&builder, session->options.working_of, &labels);
    for (int i = 0; i < session->report->count && !session->options.working_of; i++)
        add_to_item(&builder, session->report->items[i], -1, &labels);
    session->vm->worlds->mode = mode;
    if (recorder->full || session->abacus_over)
        report_text(session->report, ITEM_NOTE, message_text(NOTE_WORKING_CUT));
    for (int i = 0; i < labels.count; i++)
        mem_free(labels.items[i]);
    mem_free(labels.items);
    name_map_free(&builder.units);
    name_map_free(&builder.defaults);
    name_map_free(&builder.entered);
    name_map_free(&builder.called);
    mem_free(builder.needed);
    mem_free(builder.told);
    mem_free(builder.explained);
    mem_free(builder.assumed);
}
