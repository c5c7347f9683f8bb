/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `input`: the value that was given from outside in place of the default, and whether it is one of those
 * allowed. */
#include <string.h>

#include "base/mem.h"
#include "front/literal.h"
#include "runtime/vm_parts.h"
#include "values/display.h"
#include "values/kind_check.h"
#include "values/value_arg.h"

static InputOverride *find_override(Vm *vm, const char *name) {
    for (int i = 0; i < vm->override_count; i++)
        if (strcmp(vm->overrides[i].name, name) == 0)
            return &vm->overrides[i];
    return NULL;
}

/* ---- what one would type ---- */

/* A value as it is written after `NAME=`; items of a list without brackets, texts without quotes. */
static void add_typed(Text *out, const Vm *vm, Value value) {
    if (value.tag == TAG_TEXT) {
        text_add_string(out, value.as.text->bytes);
    } else if (value.tag == TAG_LIST && value.as.list->count > 0) {
        for (uint32_t i = 0; i < value.as.list->count; i++) {
            text_add_string(out, i ? ", " : "");
            add_typed(out, vm, value.as.list->items[i]);
        }
    } else {
        display_brief(out, vm->registry->units, value, true);
    }
}

/* `batch="5 gal"`, or at the prompt `set batch = 5 gal` */
static char *typed_example(const Vm *vm, const char *name, const char *value) {
    Text text = {0};
    text_add_string(&text, vm->by_set ? "set " : "");
    text_add_string(&text, name);
    text_add_string(&text, vm->by_set ? " = " : "=\"");
    text_add_string(&text, value);
    text_add_string(&text, vm->by_set ? "" : "\"");
    return text_take(&text);
}

static char *example_of(const Vm *vm, const char *name, Value value) {
    Text text = {0};
    add_typed(&text, vm, value);
    char *example = typed_example(vm, name, text_string(&text));
    text_free(&text);
    return example;
}

/* A number that was set without a unit, with that of the default; otherwise the default. */
static char *example_with_unit(const Vm *vm, const char *name, const InputOverride *given, Value initial) {
    const UnitTable *units = vm->registry->units;
    bool bare = vm->by_set && given->is_literal && value_is_quantity(given->value) &&
                given->value.unit == UNIT_NUMBER && value_is_quantity(initial) && initial.unit != UNIT_DATE;
    const char *unit = bare ? unit_get(units, initial.unit)->name : NULL;
    if (!unit || !*unit)
        return example_of(vm, name, initial);
    Text text = {0};
    text_add_string(&text, given->text);
    text_add_char(&text, ' ');
    text_add_string(&text, unit);
    char *example = typed_example(vm, name, text_string(&text));
    text_free(&text);
    return example;
}

/* ---- one value ---- */

static bool fail_unread(Vm *vm, const char *text, const char *example, const Fault *why) {
    size_t bad;
    fault_set(&vm->fault, MSG_INPUT_VALUE,
              ARGS(utf8_is_valid(text, strlen(text), &bad) ? text : "�", example));
    vm->fault.cause = why->id;
    if (why->hint)
        fault_hint(&vm->fault, HINT_REASON_AND_EXAMPLE, ARGS(arg_hint(why), example));
    return false;
}

static bool fail_kind(Vm *vm, MessageArg name, Value wanted, Value came, const char *example) {
    const UnitTable *units = vm->registry->units;
    return fault_set(&vm->fault, MSG_INPUT_KIND,
                     ARGS(name, arg_kind(units, wanted), arg_kind(units, came), example));
}

/* ---- lists ---- */

/* A list as typed: `[1 g, 2 g]`, or its items without the brackets. */
typedef struct TypedList {
    const char *at, *end;
    bool bracketed;
} TypedList;

static bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

static TypedList open_list(const char *text) {
    TypedList list = {.at = text, .end = text + strlen(text)};
    while (list.at < list.end && is_blank(*list.at))
        list.at++;
    while (list.end > list.at && is_blank(list.end[-1]))
        list.end--;
    list.bracketed = list.end - list.at >= 2 && *list.at == '[' && list.end[-1] == ']';
    list.at += list.bracketed;
    list.end -= list.bracketed;
    return list;
}

/* The next item without the spaces around it; false after the last. A comma inside quotes parts nothing. */
static bool next_typed(TypedList *list, Text *item) {
    char quote = 0;
    const char *start = list->at;
    text_clear(item);
    while (start < list->end && is_blank(*start))
        start++;
    if (start >= list->end)
        return false;
    const char *stop = start;
    for (; stop < list->end && (quote || *stop != ','); stop++)
        if (*stop == '"' || *stop == '\'')
            quote = !quote ? *stop : quote == *stop ? 0 : quote;
    list->at = stop < list->end ? stop + 1 : stop;
    while (stop > start && is_blank(stop[-1]))
        stop--;
    text_add(item, start, (size_t)(stop - start));
    return true;
}

/* `1,5` without brackets could be one number or two. */
static bool has_decimal_comma(const TypedList *list) {
    for (const char *c = list->at + 1; !list->bracketed && c + 1 < list->end; c++)
        if (*c == ',' && c[-1] >= '0' && c[-1] <= '9' && c[1] >= '0' && c[1] <= '9')
            return true;
    return false;
}

/* The module that runs: its own units may be in what is given. */
static const Module *running_module(Vm *vm) {
    const Source *source = vm_frame(vm)->chunk->source;
    for (int i = 0; i < vm->registry->module_count; i++)
        if (vm->registry->modules[i]->source == source)
            return vm->registry->modules[i];
    return NULL;
}

static void fail_item_spread(Vm *vm, const char *name, const char *text, const Literal *literal,
                             const char *example) {
    const UnitTable *units = vm->registry->units;
    UnitId difference = unit_get(units, literal->value.unit)->difference;
    double spread = literal->uncertainty;
    bool curved =
        literal->value.tag == TAG_READING && unit_get(units, literal->value.unit)->scale == SCALE_SG;
    fault_set(&vm->fault, MSG_INPUT_ITEM_SPREAD,
              ARGS(name, text,
                   arg_typed(units, value_quantity(units, curved ? 1000 * spread : spread, difference)),
                   example));
}

/* One item; `like` is one of the default's, or absent when there is none. */
static bool read_item(Vm *vm, const Text *item, Value like, const char *name, const char *example,
                      Value *value) {
    const char *bytes = text_string(item);
    size_t length = item->length;
    bool quoted = length >= 2 && (*bytes == '"' || *bytes == '\'') && bytes[length - 1] == *bytes;
    Literal literal = {.value = value_none()};
    Fault why = {0};
    if (quoted || like.tag == TAG_TEXT) {
        *value = value_text(vm->registry->heap, bytes + quoted, length - (quoted ? 2 : 0));
    } else if (literal_read(vm->registry, running_module(vm), bytes, length, &literal, &why) &&
               literal_is_exact(&literal, &why)) {
        *value = literal.value;
    } else {
        if (literal.uncertainty > 0)
            fail_item_spread(vm, name, bytes, &literal, example);
        else
            fail_unread(vm, bytes, example, &why);
        fault_clear(&why);
        return false;
    }
    fault_clear(&why);
    if (like.tag == TAG_ABSENT || kind_same(vm->registry->units, *value, like))
        return true;
    return fail_kind(vm, arg_phrase(PHRASE_ITEM_OF, ARGS(name)), like, *value, example);
}

static bool read_list(Vm *vm, const char *name, const char *text, const ListObject *initial,
                      const char *example, Value *value) {
    TypedList list = open_list(text);
    Value like = initial->count ? initial->items[0] : value_absent(), *items = NULL;
    Text item = {0};
    uint32_t count = 0, capacity = 0;
    bool read = true;
    bool numbers = like.tag == TAG_ABSENT || (value_is_quantity(like) && like.unit != UNIT_DATE);
    if (numbers && has_decimal_comma(&list))
        return fault_set(&vm->fault, MSG_INPUT_COMMA, ARGS(text, example));
    if (!list.bracketed && list.at == list.end)
        return fault_set(&vm->fault, MSG_INPUT_VALUE, ARGS(text, example));
    while (read && next_typed(&list, &item)) {
        MEM_GROW(items, count, capacity);
        read = read_item(vm, &item, like, name, example, &items[count++]);
    }
    if (read) {
        ListObject *result = list_new(vm->registry->heap, count);
        if (count)
            memcpy(result->items, items, count * sizeof *items);
        *value = value_of_list(result);
    }
    mem_free(items);
    text_free(&item);
    return read;
}

/* ---- what was given ---- */

static bool take_override(Vm *vm, const InputPlan *plan, InputOverride *given, Value initial, Value *value) {
    given->used = true;
    size_t bad;
    bool is_utf8 = utf8_is_valid(given->text, strlen(given->text), &bad), taken = true;
    if (initial.tag == TAG_TEXT && is_utf8) {
        *value = value_string(vm->registry->heap, given->text);
        return true;
    }
    char *example = example_with_unit(vm, plan->name, given, initial);
    if (initial.tag == TAG_LIST && is_utf8)
        taken = read_list(vm, plan->name, given->text, initial.as.list, example, value);
    else if (!given->is_literal)
        taken = fail_unread(vm, given->text, example, &given->why);
    else if (!kind_same(vm->registry->units, given->value, initial))
        taken = fail_kind(vm, arg_text(plan->name), initial, given->value, example);
    else
        *value = given->value;
    mem_free(example);
    return taken;
}

/* ---- ranges ---- */

static bool fail_range(Vm *vm, const InputPlan *plan, const Value *three, Value value, bool is_set) {
    const UnitTable *units = vm->registry->units;
    MessageArg from = arg_value(units, three[1]), to = arg_value(units, three[2]);
    if (!is_set)
        return fault_set(&vm->fault, MSG_INPUT_DEFAULT_RANGE, ARGS(plan->name, from, to));
    char *example = example_of(vm, plan->name, three[0]);
    fault_set(&vm->fault, MSG_INPUT_RANGE, ARGS(plan->name, from, to, arg_value(units, value), example));
    mem_free(example);
    return false;
}

/* Of a list each item must lie in the range. */
static bool check_range(Vm *vm, const InputPlan *plan, const Value *three, Value value, bool is_set) {
    Arith arith = vm_arith(vm);
    int below, above;
    const UnitTable *units = vm->registry->units;
    if (value.tag == TAG_LIST) {
        for (uint32_t i = 0; i < value.as.list->count; i++)
            if (!check_range(vm, plan, three, value.as.list->items[i], is_set))
                return false;
        return true;
    }
    if (!kind_same(units, value, three[1]) || !kind_same(units, value, three[2]))
        return fault_set(&vm->fault, MSG_INPUT_DEFAULT_KIND, ARGS(plan->name));
    if (!arith_compare(&arith, value, three[1], &below) || !arith_compare(&arith, value, three[2], &above))
        return false;
    return (below >= 0 && above <= 0) || fail_range(vm, plan, three, value, is_set);
}

/* ---- choices ---- */

/* `"still", "sparkling" or "sweet"`, and the nearest to a text that is none of them. */
static void add_choices(Text *out, const Vm *vm, const ListObject *choices, Value value,
                        const char **nearest) {
    int distance = 99;
    *nearest = NULL;
    for (uint32_t i = 0; i < choices->count; i++) {
        char *shown = vm_shown(vm, choices->items[i]);
        message_add_joint(out, i == 0, i + 1 == choices->count, PHRASE_JOINED_OR);
        text_add_string(out, shown);
        mem_free(shown);
        if (value.tag == TAG_TEXT && choices->items[i].tag == TAG_TEXT)
            text_nearest(value.as.text->bytes, choices->items[i].as.text->bytes, nearest, &distance);
    }
}

static bool is_choice(Value choice, const char *bytes, size_t length) {
    const TextObject *text = choice.as.text;
    return (text->length == length && memcmp(text->bytes, bytes, length) == 0) ||
           text_differs_in_case(text->bytes, text->length, bytes, length);
}

/* The choice that was given with quotes around it, as a script has it; NULL for none. */
static const char *choice_in_quotes(const ListObject *choices, Value value) {
    const char *bytes = value.tag == TAG_TEXT ? value.as.text->bytes : "";
    size_t length = value.tag == TAG_TEXT ? value.as.text->length : 0;
    bool quoted = length > 2 && (*bytes == '"' || *bytes == '\'') && bytes[length - 1] == *bytes;
    for (uint32_t i = 0; quoted && i < choices->count; i++)
        if (choices->items[i].tag == TAG_TEXT && is_choice(choices->items[i], bytes + 1, length - 2))
            return choices->items[i].as.text->bytes;
    return NULL;
}

/* Somebody who types `Dry` means the choice "dry": the only one that differs in nothing but capital letters.
 */
static bool takes_other_case(const ListObject *choices, Value *value) {
    int found = -1, count = 0;
    for (uint32_t i = 0; value->tag == TAG_TEXT && i < choices->count; i++) {
        if (choices->items[i].tag == TAG_TEXT &&
            is_choice(choices->items[i], value->as.text->bytes, value->as.text->length)) {
            found = (int)i;
            count++;
        }
    }
    if (count == 1)
        *value = choices->items[found];
    return count == 1;
}

static bool fail_choice(Vm *vm, const InputPlan *plan, const ListObject *choices, Value value, bool is_set) {
    Text all = {0};
    const char *nearest;
    char *example = example_of(vm, plan->name, choices->items[0]);
    MessageArg shown = arg_value(vm->registry->units, value);
    add_choices(&all, vm, choices, value, &nearest);
    if (is_set)
        fault_set(&vm->fault, MSG_INPUT_CHOICE, ARGS(plan->name, text_string(&all), shown, example));
    else
        fault_set(&vm->fault, MSG_INPUT_DEFAULT_CHOICE, ARGS(plan->name, shown, text_string(&all)));
    const char *quoted = is_set ? choice_in_quotes(choices, value) : NULL;
    if (quoted)
        fault_hint(&vm->fault, HINT_CHOICE_BARE, ARGS(plan->name, quoted));
    else if (is_set && nearest)
        fault_hint(&vm->fault, HINT_MEANT, ARGS(nearest));
    mem_free(example);
    text_free(&all);
    return false;
}

/* Leaves the choice itself in `value`, in its own unit and its own letters. */
static bool check_choice(Vm *vm, const InputPlan *plan, const ListObject *choices, Value *value,
                         bool is_set) {
    Arith arith = vm_arith(vm);
    for (uint32_t i = 0; i < choices->count; i++) {
        bool same = false;
        if (!kind_same(vm->registry->units, *value, choices->items[i]))
            continue;
        if (!arith_equal(&arith, *value, choices->items[i], &same))
            return false;
        if (!same)
            continue;
        *value = choices->items[i];
        return true;
    }
    return (is_set && takes_other_case(choices, value)) || fail_choice(vm, plan, choices, *value, is_set);
}

/* Choices are a list of values of one kind, the first of which stands for a default that was left out. */
static bool open_choices(Vm *vm, const InputPlan *plan, Value *three) {
    Value list = three[1];
    bool fits = list.tag == TAG_LIST && list.as.list->count > 0;
    for (uint32_t i = 0; fits && i < list.as.list->count; i++)
        fits = kind_same(vm->registry->units, list.as.list->items[i], list.as.list->items[0]) &&
               (value_is_quantity(list.as.list->items[i]) || list.as.list->items[i].tag == TAG_TEXT);
    if (!fits)
        return fault_set(&vm->fault, MSG_INPUT_CHOICES, ARGS(plan->name));
    if (three[0].tag == TAG_ABSENT)
        three[0] = list.as.list->items[0];
    return check_choice(vm, plan, list.as.list, &three[0], false);
}

/* ---- the statement ---- */

static bool find_value(Vm *vm, const InputPlan *plan, InputOverride *given, Value *three, Value *value) {
    if (plan->chosen && !open_choices(vm, plan, three))
        return false;
    if (plan->ranged && !check_range(vm, plan, three, three[0], false))
        return false;
    *value = three[0];
    if (!given)
        return true;
    return take_override(vm, plan, given, three[0], value) &&
           (!plan->ranged || check_range(vm, plan, three, *value, true)) &&
           (!plan->chosen || check_choice(vm, plan, three[1].as.list, value, true));
}

/* registers: default, from (or the choices), to. The registry's own scripts only: a script brought in by
 * `use` keeps its defaults. */
bool vm_input(Vm *vm, const Instruction *i, CodeSpan spans) {
    const InputPlan *plan = &vm_frame(vm)->chunk->inputs[i->d];
    Value *three = vm_registers(vm) + i->a;
    Value value;
    InputOverride *given = vm->report->silent ? NULL : find_override(vm, plan->name);
    if (!find_value(vm, plan, given, three, &value))
        return vm_fail(vm, spans);
    if (given && given->uncertainty > 0 && value_is_quantity(value) && vm->worlds->mode != WORLD_PLAIN)
        value.as.number = worlds_source(
            vm->worlds, vm_place(vm, i),
            (SourceWords){.brief = vm->worlds->mode == WORLD_CENTRAL ? mem_copy_string(plan->name) : NULL},
            value, given->uncertainty, SPREAD_NORMAL);
    bool follows = vm->worlds->mode != WORLD_PLAIN && !vm->report->silent && value_is_quantity(value);
    int number = follows ? worlds_show(vm->worlds, vm_place(vm, i), value) : -1;
    if (!vm->report->silent && !worlds_are_moved(vm->worlds)) {
        InputResult result = {.name = plan->name,
                              .value = value,
                              .number = number,
                              .set = given != NULL,
                              .initial = three[0],
                              .from = plan->ranged ? three[1] : value_none(),
                              .to = plan->ranged ? three[2] : value_none(),
                              .choices = plan->chosen ? three[1] : value_none(),
                              .doc = plan->doc};
        report_input(vm->report, &result);
    }
    three[0] = value;
    return true;
}
