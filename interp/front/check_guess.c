/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples: how one is made, joined with another, and loosened. */
#include "front/check_state.h"
#include "physics/liquid.h"
#include "values/kind_check.h"

/* A number that no hint writes by itself, so that check_expr.c can find it there. */
#define SAMPLE_AMOUNT 7.0

static const struct {
    Kind kind;
    UnitId unit;
} kind_units[] = {
    {KIND_NUMBER, UNIT_NUMBER},
    {KIND_VOLUME, UNIT_L},
    {KIND_MASS, UNIT_KG},
    {KIND_LENGTH, UNIT_M},
    {KIND_TIME, UNIT_DAY},
    {KIND_TEMPERATURE, UNIT_CELSIUS},
    {KIND_TEMPERATURE_DIFFERENCE, UNIT_CELSIUS_DIFFERENCE},
    {KIND_GRAVITY, UNIT_SG},
    {KIND_GRAVITY_DIFFERENCE, UNIT_PTS},
    {KIND_STRENGTH, UNIT_ABV},
    {KIND_PRESSURE, UNIT_KPA},
    {KIND_CONCENTRATION, UNIT_G_PER_L},
    {KIND_ACIDITY, UNIT_PH},
    {KIND_ENERGY, UNIT_KJ},
    {KIND_POWER, UNIT_KW},
    {KIND_COLOUR, UNIT_EBC},
    {KIND_PASTEURISATION, UNIT_PU},
    {KIND_CELLS, UNIT_GCELL},
    {KIND_DATE, UNIT_DATE},
    {KIND_MONTHS, UNIT_MONTH},
}; /* a currency, a count: which one cannot be known */

static const struct {
    Kind kind;
    UnitId unit;
    double number;
} likely_readings[] = {
    {KIND_TEMPERATURE, UNIT_CELSIUS, 20},
    {KIND_GRAVITY, UNIT_SG, 1.05},
    {KIND_ACIDITY, UNIT_PH, 3.5},
    {KIND_DATE, UNIT_DATE, 20000},
};

static double likely_number(const UnitTable *units, UnitId id) {
    const Unit *unit = unit_get(units, id);
    double number = SAMPLE_AMOUNT;
    Fault ignored = {0};
    for (size_t i = 0; unit->reading && i < sizeof likely_readings / sizeof *likely_readings; i++)
        if (likely_readings[i].kind == unit->kind)
            unit_convert(units, likely_readings[i].number, likely_readings[i].unit, id, &number, &ignored);
    fault_clear(&ignored);
    return number;
}

Guess guess_of_unit(const Checker *c, UnitId unit) {
    const UnitTable *units = c->registry->units;
    return (Guess){.value = value_quantity(units, likely_number(units, unit), unit)};
}

static Guess of_liquid(const Checker *c) {
    Liquid water = liquid_make_water();
    return (Guess){.value = value_of_liquid(liquid_new(c->registry->heap, &water, UNIT_NUMBER))};
}

Guess guess_of_tag(const Checker *c, Tag tag) {
    Heap *heap = c->registry->heap;
    switch (tag) {
    case TAG_TRUTH:
        return (Guess){.value = value_truth(true)};
    case TAG_TEXT:
        return (Guess){.value = value_text(heap, "", 0)};
    case TAG_LIST:
        return (Guess){.value = value_of_list(list_new(heap, 0))};
    case TAG_RECORD:
        return (Guess){.value = value_of_record(record_new(heap, 0))};
    case TAG_LIQUID:
        return of_liquid(c);
    case TAG_AMOUNT:
    case TAG_READING:
    case TAG_FORMULA:
    case TAG_NONE:
    case TAG_ABSENT:
        break;
    }
    return guess_unknown();
}

static Guess of_kind(const Checker *c, Kind kind) {
    for (size_t i = 0; i < sizeof kind_units / sizeof *kind_units; i++)
        if (kind_units[i].kind == kind)
            return guess_of_unit(c, kind_units[i].unit);
    switch ((int)kind) {
    case KIND_TEXT:
        return guess_of_tag(c, TAG_TEXT);
    case KIND_LIST:
        return guess_of_tag(c, TAG_LIST);
    case KIND_RECORD:
        return guess_of_tag(c, TAG_RECORD);
    case KIND_LIQUID:
        return guess_of_tag(c, TAG_LIQUID);
    case KIND_TRUTH:
        return guess_of_tag(c, TAG_TRUTH);
    default:
        return guess_unknown();
    }
}

Guess guess_of_check(const Checker *c, const KindCheck *check) {
    if (check->is_unit)
        return guess_loosened(c, guess_of_unit(c, check->unit));
    bool one = (check->kinds & (check->kinds - 1)) == 0;
    return one ? of_kind(c, kind_check_only(c->registry->units, check)) : guess_unknown();
}

Guess guess_computed(const Checker *c, Value value, bool exact) {
    if (exact)
        return guess_exact(value);
    if (value_is_quantity(value))
        return guess_of_unit(c, value.unit);
    return value.tag == TAG_LIQUID ? of_liquid(c) : (Guess){.value = value};
}

/* Any unit of the kind may be in its place: so of percent and plain number, and of the units of strength,
 * the one that more can be done with. */
Guess guess_loosened(const Checker *c, Guess guess) {
    const Value value = guess.value;
    if (value_is_quantity(value)) {
        const Unit *unit = unit_get(c->registry->units, value.unit);
        bool percent = value.unit == UNIT_PERCENT;
        bool curved = value.tag == TAG_AMOUNT && !unit_is_linear(unit);
        return guess_of_unit(c, percent ? UNIT_NUMBER : curved ? (UnitId)UNIT_ABV : value.unit);
    }
    if (value.tag == TAG_NONE)
        return guess_unknown();
    return guess_of_tag(c, (Tag)value.tag);
}

Guess guess_join(const Checker *c, Guess a, Guess b) {
    const UnitTable *units = c->registry->units;
    if (!guess_known(a) || !guess_known(b) || a.value.tag != b.value.tag)
        return guess_unknown();
    if (!value_is_quantity(a.value))
        return guess_loosened(c, a);
    if (a.value.unit == b.value.unit)
        return guess_of_unit(c, a.value.unit);
    return unit_same_kind(units, a.value.unit, b.value.unit) ? guess_loosened(c, a) : guess_unknown();
}

Guess guess_item(const Checker *c, Value value) {
    const ListObject *list = value.as.list;
    if (value.tag != TAG_LIST || list->count == 0)
        return guess_unknown();
    Guess item = guess_computed(c, list->items[0], false);
    for (uint32_t i = 1; i < list->count && guess_known(item); i++)
        item = guess_join(c, item, (Guess){.value = list->items[i]});
    return item.value.tag == TAG_NONE ? guess_unknown() : item;
}

Guess guess_field(const Checker *c, Value value) {
    const RecordObject *record = value.as.record;
    Guess field = record->count ? guess_computed(c, record->fields[0].value, false) : guess_unknown();
    for (uint32_t i = 1; i < record->count && guess_known(field); i++)
        field = guess_join(c, field, (Guess){.value = record->fields[i].value});
    return field.value.tag == TAG_NONE ? guess_unknown() : field;
}

Value guess_list_of(const Checker *c, Guess item) {
    ListObject *list = list_new(c->registry->heap, guess_known(item) ? 1 : 0);
    if (list->count)
        list->items[0] = item.value;
    return value_of_list(list);
}
