/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Forbidden arithmetic, and the hint for each case people really type. */
#include "values/arith_fault.h"

#include "values/kind_check.h"
#include "values/value_arg.h"

static void label_kinds(const Arith *arith, Value a, Value b) {
    fault_label(arith->fault, value_kind_text(arith->units, a), value_kind_text(arith->units, b));
}

static bool hint(const Arith *arith, MessageId id) {
    return fault_hint(arith->fault, id, NO_ARGS);
}

/* A hint that shows what is on one side, as a script would write it: "200 g". */
static bool hint_operand(const Arith *arith, MessageId id, Value value, OperandSide side) {
    return fault_hint(arith->fault, id, ARGS(arg_operand(arg_typed(arith->units, value), side)));
}

bool arith_fault_pair(const Arith *arith, MessageId id, Value a, Value b) {
    kind_fault_pair(arith->units, id, a, b, arith->fault);
    label_kinds(arith, a, b);
    return false;
}

static bool needs_unit(Value a, Value b) {
    return (value_is_plain(a) && b.tag == TAG_AMOUNT) || (value_is_plain(b) && a.tag == TAG_AMOUNT);
}

/* A plain number beside an amount: show it with the other's unit. */
static bool hint_missing_unit(const Arith *arith, Value a, Value b) {
    bool left = value_is_plain(a);
    return fault_hint(arith->fault, HINT_GIVE_UNIT,
                      ARGS(arg_operand(arg_number((left ? a : b).as.number), left ? SIDE_LEFT : SIDE_RIGHT),
                           unit_get(arith->units, (left ? b : a).unit)->name));
}

/* What to write where a value that is not a quantity is in arithmetic. */
static const struct {
    Tag tag;
    MessageId hint;
} no_numbers[] = {{TAG_NONE, HINT_NONE_TESTED},
                  {TAG_TEXT, HINT_TEXT_READ_OR_FILLED},
                  {TAG_LIST, HINT_LIST_ITEMS},
                  {TAG_RECORD, HINT_RECORD_FIELDS},
                  {TAG_TRUTH, HINT_TRUTH_NUMBER}};

static bool hint_no_number(const Arith *arith, Value a, Value b) {
    for (size_t i = 0; i < sizeof no_numbers / sizeof *no_numbers; i++)
        if (a.tag == no_numbers[i].tag || b.tag == no_numbers[i].tag)
            return hint(arith, no_numbers[i].hint);
    return false;
}

static bool hint_text_sum(const Arith *arith, Value a, Value b, bool subtract) {
    if (subtract)
        return hint(arith, HINT_TEXT_READ);
    return hint(arith,
                value_is_quantity(a) || value_is_quantity(b) ? HINT_TEXT_READ_OR_FILLED : HINT_TEXT_FILLED);
}

static MessageArg in_floz(const Arith *arith, Value ounces) {
    return arg_typed(arith->units, value_quantity(arith->units, ounces.as.number, UNIT_FLOZ));
}

/* `12 oz + 5 floz`: ounces beside fluid ounces were meant as such. */
static bool hint_ounces(const Arith *arith, Value a, Value b) {
    bool left = a.unit == UNIT_OZ;
    UnitId other = left ? b.unit : a.unit;
    return fault_hint(arith->fault, HINT_OUNCE_ADDED,
                      ARGS(in_floz(arith, left ? a : b), unit_get(arith->units, other)->name));
}

static bool are_ounces(Value a, Value b) {
    return (a.unit == UNIT_OZ && (b.unit == UNIT_FLOZ || b.unit == UNIT_IFLOZ)) ||
           (b.unit == UNIT_OZ && (a.unit == UNIT_FLOZ || a.unit == UNIT_IFLOZ));
}

static bool hint_sum(const Arith *arith, Value a, Value b, bool subtract) {
    Kind left = value_kind(arith->units, a), right = value_kind(arith->units, b);
    bool liquid = left == KIND_LIQUID || right == KIND_LIQUID;
    bool mass_left = left == KIND_MASS, mass = mass_left || right == KIND_MASS;
    bool volume_left = left == KIND_VOLUME, volume = volume_left || right == KIND_VOLUME;
    if (mass && volume && are_ounces(a, b))
        return hint_ounces(arith, a, b);
    if (mass && volume && subtract)
        return hint(arith, HINT_LIQUID_HAS_BOTH);
    if (mass && (volume || liquid))
        return hint_operand(arith, volume ? HINT_POUR_SUGAR : HINT_OF_SUGAR, mass_left ? a : b,
                            mass_left ? SIDE_LEFT : SIDE_RIGHT);
    if ((left == KIND_MONTHS && right == KIND_TIME) || (left == KIND_TIME && right == KIND_MONTHS))
        return hint(arith, HINT_MONTHS_AND_DAYS);
    if (needs_unit(a, b))
        return hint_missing_unit(arith, a, b);
    if (a.tag == TAG_TEXT || b.tag == TAG_TEXT)
        return hint_text_sum(arith, a, b, subtract);
    if (left == KIND_LIST && !subtract)
        return hint(arith, HINT_APPEND);
    if (volume && liquid)
        return hint_operand(arith, HINT_OF_WATER, volume_left ? a : b, volume_left ? SIDE_LEFT : SIDE_RIGHT);
    if (liquid && !subtract)
        return hint(arith, HINT_POUR_LIQUIDS);
    if (left == KIND_MONEY && right == KIND_MONEY)
        return hint(arith, HINT_TWO_MONEYS);
    return hint_no_number(arith, a, b);
}

bool arith_fault_sum(const Arith *arith, Value a, Value b, bool subtract) {
    arith_fault_pair(arith, subtract ? MSG_SUBTRACT_KINDS : MSG_ADD_KINDS, a, b);
    return hint_sum(arith, a, b, subtract);
}

bool arith_fault_percent_sum(const Arith *arith, Value a, Value b, bool subtract) {
    bool right = b.unit == UNIT_PERCENT;
    arith_fault_pair(arith, subtract ? MSG_SUBTRACT_KINDS : MSG_ADD_KINDS, a, b);
    const char *percent = message_text(PHRASE_PERCENT);
    fault_label(arith->fault, right ? value_kind_text(arith->units, a) : percent,
                right ? percent : value_kind_text(arith->units, b));
    return fault_hint(
        arith->fault, subtract ? HINT_LESS_PERCENT_OF : HINT_PLUS_PERCENT_OF,
        ARGS(arg_operand(arg_typed(arith->units, right ? b : a), right ? SIDE_RIGHT : SIDE_LEFT),
             arg_operand(arg_typed(arith->units, right ? a : b), right ? SIDE_LEFT : SIDE_RIGHT)));
}

/* What to write of a reading, by its kind. */
typedef struct ReadingHints {
    MessageId temperature, gravity, date, other;
} ReadingHints;

static bool hint_reading(const Arith *arith, ReadingHints hints, Value reading) {
    switch (value_kind(arith->units, reading)) {
    case KIND_TEMPERATURE:
        return hint(arith, hints.temperature);
    case KIND_GRAVITY:
        return hint(arith, hints.gravity);
    case KIND_DATE:
        return hint(arith, hints.date);
    default:
        return hint(arith, hints.other);
    }
}

bool arith_fault_readings_added(const Arith *arith, Value a, Value b) {
    static const ReadingHints hints = {HINT_TEMPERATURES_ADDED, HINT_GRAVITIES_ADDED, HINT_DATES_ADDED,
                                       HINT_PH_ADDED};
    arith_fault_pair(arith, MSG_READINGS_ADDED, a, b);
    return unit_same_kind(arith->units, a.unit, b.unit) && hint_reading(arith, hints, a);
}

bool arith_fault_reading_moved(const Arith *arith, Value a, Value b, bool subtract) {
    static const ReadingHints hints = {HINT_TEMPERATURE_MOVES, HINT_GRAVITY_MOVES, HINT_DATE_MOVES,
                                       HINT_PH_MOVES};
    arith_fault_pair(arith, subtract ? MSG_SUBTRACT_KINDS : MSG_ADD_KINDS, a, b);
    return hint_reading(arith, hints, a.tag == TAG_READING ? a : b);
}

bool arith_fault_liquid_subtracted(const Arith *arith, Value a, Value b) {
    arith_fault_pair(arith, MSG_SUBTRACT_KINDS, a, b);
    return hint(arith, HINT_TAKE_OR_LOSE);
}

bool arith_fault_product(const Arith *arith, Value a, Value b, bool divide) {
    static const ReadingHints hints = {HINT_TEMPERATURE_SCALED, HINT_GRAVITY_SCALED, HINT_DATE_SCALED,
                                       HINT_PH_SCALED};
    arith_fault_pair(arith, divide ? MSG_DIVIDE_KINDS : MSG_MULTIPLY_KINDS, a, b);
    if (a.tag == TAG_READING || b.tag == TAG_READING)
        return hint_reading(arith, hints, a.tag == TAG_READING ? a : b);
    if (a.tag == TAG_LIQUID || b.tag == TAG_LIQUID)
        return hint(arith, HINT_LIQUID_SCALED);
    return hint_no_number(arith, a, b);
}

bool arith_fault_negate(const Arith *arith, Value a) {
    fault_set(arith->fault, MSG_NEGATE_KIND, ARGS(arg_kind(arith->units, a)));
    if (a.tag != TAG_READING)
        return hint_no_number(arith, a, a);
    if (a.unit == UNIT_DATE)
        return hint(arith, HINT_DATE_NEGATED);
    return fault_hint(arith->fault, HINT_BELOW_ZERO,
                      ARGS(arg_number(-a.as.number), unit_get(arith->units, a.unit)->name));
}

bool arith_fault_attach(const Arith *arith, Value a, UnitId unit) {
    const char *name = unit_get(arith->units, unit)->name;
    fault_set(arith->fault, MSG_ATTACH_KIND, ARGS(name, arg_kind(arith->units, a)));
    if (value_is_quantity(a))
        return fault_hint(arith->fault, HINT_HAS_UNIT, ARGS(name));
    return hint_no_number(arith, a, a);
}

bool arith_fault_convert(const Arith *arith, Value a, UnitId unit) {
    const Unit *to = unit_get(arith->units, unit);
    fault_set(arith->fault, MSG_CONVERT_VALUE, ARGS(arg_kind(arith->units, a), to->name));
    if (a.tag == TAG_LIQUID)
        return fault_hint(arith->fault,
                          to->kind == KIND_VOLUME ? HINT_LIQUID_VOLUME_AS
                          : to->kind == KIND_MASS ? HINT_LIQUID_MASS_AS
                                                  : HINT_LIQUID_AS,
                          ARGS(to->name));
    if (a.tag == TAG_LIST)
        return fault_hint(arith->fault, HINT_CONVERT_EACH, ARGS(to->name));
    return a.tag == TAG_TEXT && hint(arith, HINT_TEXT_READ);
}

void arith_fault_unit_missing(const Arith *arith, Value a, UnitId unit) {
    if (value_is_plain(a))
        kind_hint_converted(arith->units, a.as.number, unit, arith->fault);
}

/* ---- ounces ---- */

bool arith_fault_ounce(const Arith *arith, Value a, UnitId unit) {
    if (a.unit == UNIT_OZ && unit_same_kind(arith->units, unit, UNIT_FLOZ))
        fault_hint(arith->fault, HINT_OUNCE_CONVERT,
                   ARGS(in_floz(arith, a), unit_get(arith->units, unit)->name));
    return false;
}

bool arith_fault_divides_ounce(const Arith *arith, Value a, Value b) {
    return fault_set(arith->fault, MSG_OUNCE_DIVIDES,
                     ARGS(arg_typed(arith->units, b), in_floz(arith, b), arg_typed(arith->units, a)));
}
