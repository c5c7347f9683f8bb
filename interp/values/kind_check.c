/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Kinds asked for outside arithmetic, and their faults. Running and `--check` both come here, so that a
 * mistake is called the same whether it is found before the first line or at its turn. */
#include "values/kind_check.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "values/display.h"

bool kind_same(const UnitTable *units, Value a, Value b) {
    if (value_is_quantity(a) && value_is_quantity(b))
        return unit_same_kind(units, a.unit, b.unit);
    return a.tag == b.tag;
}

/* ---- faults ---- */

bool kind_fault(const UnitTable *units, MessageId id, Value value, const char *second, Fault *fault) {
    Text what = {0};
    value_describe(units, value, &what);
    fault_set(fault, id, second ? ARGS(text_string(&what), second) : ARGS(text_string(&what)));
    text_free(&what);
    return false;
}

bool kind_fault_pair(const UnitTable *units, MessageId id, Value a, Value b, Fault *fault) {
    Text left = {0}, right = {0};
    value_describe(units, a, &left);
    value_describe(units, b, &right);
    fault_set(fault, id, ARGS(text_string(&left), text_string(&right)));
    text_free(&left);
    text_free(&right);
    return false;
}

bool kind_fault_argument(const UnitTable *units, const char *formula, const char *argument,
                         const char *wanted, Value value, Fault *fault) {
    Text came = {0};
    value_describe(units, value, &came);
    fault_set(fault, MSG_ARGUMENT_KIND, ARGS(formula, wanted, argument, text_string(&came)));
    text_free(&came);
    return false;
}

/* ---- how a kind is written ---- */

/* Units that a person gives a quantity of a kind in, and the numbers that are likely on them: what a plain
 * number was meant to be. Ranges are what the trade meets, common practice. `scale` turns 1050 into 1.050. */
static const struct {
    Kind kind;
    UnitId unit;
    double low, high, scale;
    double sample; /* shown when there is no number; 0: not shown then */
} examples[] = {
    {KIND_VOLUME, UNIT_GAL, 0, HUGE_VAL, 1, 5},
    {KIND_VOLUME, UNIT_L, 0, HUGE_VAL, 1, 20},
    {KIND_VOLUME, UNIT_ML, 20, HUGE_VAL, 1, 0},
    {KIND_MASS, UNIT_G, 0, HUGE_VAL, 1, 50},
    {KIND_MASS, UNIT_KG, 0, 500, 1, 0},
    {KIND_MASS, UNIT_LB, 0, 1000, 1, 2},
    {KIND_LENGTH, UNIT_CM, 0, HUGE_VAL, 1, 30},
    {KIND_LENGTH, UNIT_INCH, 0, HUGE_VAL, 1, 12},
    {KIND_TIME, UNIT_DAY, 0, HUGE_VAL, 1, 14},
    {KIND_TIME, UNIT_H, 0, HUGE_VAL, 1, 0},
    {KIND_TIME, UNIT_MIN, 0, HUGE_VAL, 1, 20},
    {KIND_TEMPERATURE, UNIT_FAHRENHEIT, -60, HUGE_VAL, 1, 68},
    {KIND_TEMPERATURE, UNIT_CELSIUS, -60, HUGE_VAL, 1, 20},
    {KIND_TEMPERATURE_DIFFERENCE, UNIT_FAHRENHEIT_DIFFERENCE, -HUGE_VAL, HUGE_VAL, 1, 5},
    {KIND_TEMPERATURE_DIFFERENCE, UNIT_CELSIUS_DIFFERENCE, -HUGE_VAL, HUGE_VAL, 1, 3},
    {KIND_GRAVITY, UNIT_SG, 0.9, 1.6, 1, 1.05},
    {KIND_GRAVITY, UNIT_SG, 900, 1600, 0.001, 0},
    {KIND_GRAVITY, UNIT_BRIX, 1.6, 85, 1, 12},
    {KIND_GRAVITY_DIFFERENCE, UNIT_PTS, -HUGE_VAL, HUGE_VAL, 1, 10},
    {KIND_STRENGTH, UNIT_ABV, 0, 100, 1, 6.5},
    {KIND_PRESSURE, UNIT_PSI, 0, HUGE_VAL, 1, 12},
    {KIND_PRESSURE, UNIT_KPA, 0, HUGE_VAL, 1, 80},
    {KIND_PRESSURE, UNIT_BAR, 0, 10, 1, 0},
    {KIND_CONCENTRATION, UNIT_VOLS, 0, 8, 1, 2.5},
    {KIND_CONCENTRATION, UNIT_MG_PER_L, 0, HUGE_VAL, 1, 50},
    {KIND_CONCENTRATION, UNIT_G_PER_L, 0, HUGE_VAL, 1, 6},
    {KIND_ACIDITY, UNIT_PH, 0, 14, 1, 3.4},
    {KIND_ENERGY, UNIT_KCAL, 0, HUGE_VAL, 1, 100},
    {KIND_ENERGY, UNIT_KJ, 0, HUGE_VAL, 1, 400},
};

/* In full, and a gravity with the digits it is written with: 1.050 SG. */
static void add_example(Text *out, const UnitTable *units, double number, UnitId unit) {
    Text digits = {0};
    format_shortest(&digits, number);
    const char *point = strchr(text_string(&digits), '.');
    text_add_string(out, text_string(&digits));
    if (unit == UNIT_SG) {
        size_t places = point ? strlen(point + 1) : 0;
        text_add_string(out, places ? "" : ".");
        text_add_repeated(out, '0', places < 3 ? 3 - places : 0);
    }
    text_add_char(out, ' ');
    text_add_string(out, unit_get(units, unit)->name);
    text_free(&digits);
}

static bool is_likely(size_t row, Kind kind, double number) {
    if (examples[row].kind != kind)
        return false;
    return isnan(number) ? examples[row].sample > 0
                         : number >= examples[row].low && number <= examples[row].high;
}

/* Each example of the kind: with the number where it is likely, else (NaN) its sample. False if there is
 * none. */
static bool add_examples(Text *out, const UnitTable *units, Kind kind, double number) {
    enum { ROWS = sizeof examples / sizeof *examples };
    int count = 0, added = 0;
    for (size_t i = 0; i < ROWS; i++)
        count += is_likely(i, kind, number);
    if (count)
        text_add_string(out, isnan(number) ? "for example " : "write ");
    for (size_t i = 0; i < ROWS; i++) {
        if (!is_likely(i, kind, number))
            continue;
        if (added++)
            text_add_string(out, added == count ? " or " : ", ");
        add_example(out, units, isnan(number) ? examples[i].sample : number * examples[i].scale,
                    examples[i].unit);
    }
    return count > 0;
}

/* What is no quantity, and what has no unit of the table. */
static const struct {
    Kind kind;
    const char *hint;
} written[] = {
    {KIND_DATE, "a date is written 2027-02-14"},
    {KIND_MONEY, "declare a money first: unit crown is money, then 5 crown"},
    {KIND_LIQUID, "make one: 5 gal of juice(gravity: 1.050 SG)"},
    {KIND_TRUTH, "write true or false, or compare: x > 0"},
    {KIND_TEXT, "a text stands in quotes: \"{x}\" makes one of a value"},
    {KIND_LIST, "a list is written [1, 2]; of one value, [x]"},
    {KIND_RECORD, "a record is written {name: 5}"},
};

static bool is_number(Value value) {
    return value.tag == TAG_AMOUNT && (value.unit == UNIT_NUMBER || value.unit == UNIT_PERCENT);
}

void kind_hint_wanted(const UnitTable *units, Kind kind, UnitId unit, Value value, Fault *fault) {
    Text hint = {0};
    bool typed = is_number(value);
    for (size_t i = 0; i < sizeof written / sizeof *written; i++)
        if (written[i].kind == kind)
            text_add_string(&hint, written[i].hint);
    if (!hint.length && kind == KIND_NUMBER && value_is_quantity(value) && value.unit != UNIT_DATE) {
        text_add_string(&hint, "write it without its unit; number(x) is the plain number of x in its unit");
    } else if (!hint.length && value.tag == TAG_TEXT) {
        text_add_string(&hint, "quantity(text) reads a text such as \"5 gal\"");
    } else if (!hint.length && unit != UNIT_NUMBER && typed) {
        text_add_string(&hint, "write ");
        add_example(&hint, units, value.as.number, unit);
    } else if (!hint.length && !(typed && add_examples(&hint, units, kind, value.as.number))) {
        add_examples(&hint, units, kind, (double)NAN); /* no number, or no likely one */
    }
    mem_free(fault->hint);
    fault->hint = hint.length ? text_take(&hint) : NULL;
    text_free(&hint);
}

void kind_hint_gravity(const UnitTable *units, Value value, Fault *fault) {
    if (value.tag != TAG_READING || value.unit != UNIT_SG || value.as.number < 900 || value.as.number > 1600)
        return;
    Text meant = {0};
    add_example(&meant, units, value.as.number / 1000, UNIT_SG);
    fault_hint_with(fault, "did you mean %1?", ARGS(text_string(&meant)));
    text_free(&meant);
}

/* ---- `is` ---- */

static bool has_kind(const UnitTable *units, const KindCheck *check, Value value) {
    if (check->is_unit)
        return value_is_quantity(value) && unit_same_kind(units, value.unit, check->unit);
    return (check->kinds & KIND_SET(value_kind(units, value))) != 0;
}

Kind kind_check_only(const UnitTable *units, const KindCheck *check) {
    if (check->is_unit)
        return unit_get(units, check->unit)->kind;
    KindSet kinds = check->kinds & ~KIND_SET(KIND_NONE); /* `money or none` asks for money */
    for (Kind kind = KIND_NUMBER; kind < KIND_NONE; kind++)
        if (kinds == KIND_SET(kind))
            return kind;
    return KIND_NONE;
}

static void add_wanted(Text *out, const KindCheck *check) {
    if (check->is_unit) {
        text_add_string(out, "a quantity in ");
        text_add_string(out, check->word);
        return;
    }
    kind_set_describe(check->kinds & ~KIND_SET(KIND_NONE), out);
    if (check->kinds == KIND_SET(KIND_TRUTH))
        text_add_string(out, " (true or false)");
}

bool kind_check_is(const UnitTable *units, const KindCheck *check, Value value, bool result, Fault *fault) {
    if (has_kind(units, check, value))
        return true;
    Text wanted = {0}, came = {0};
    add_wanted(&wanted, check);
    value_describe(units, value, &came);
    if (result)
        fault_set(fault, MSG_RESULT_KIND, ARGS(check->formula, text_string(&wanted), text_string(&came)));
    else
        kind_fault_argument(units, check->formula, check->argument, text_string(&wanted), value, fault);
    if (!result)
        kind_hint_wanted(units, kind_check_only(units, check), check->is_unit ? check->unit : UNIT_NUMBER,
                         value, fault);
    text_free(&wanted);
    text_free(&came);
    return false;
}

/* ---- the others ---- */

bool kind_check_truth(const UnitTable *units, Value value, Fault *fault) {
    return value.tag == TAG_TRUTH || kind_fault(units, MSG_NOT_TRUTH, value, NULL, fault);
}

bool kind_fault_loop(const UnitTable *units, Value value, bool entries, Fault *fault) {
    kind_fault(units, entries ? MSG_LOOP_ENTRIES : MSG_LOOP_LIST, value, NULL, fault);
    if (value.tag == TAG_RECORD)
        fault_hint(fault, "give both names: for name, value in …");
    return false;
}

bool kind_check_kept(const UnitTable *units, Value old, Value changed, const char *name, Fault *fault) {
    if (kind_same(units, old, changed) || old.tag == TAG_NONE || changed.tag == TAG_NONE)
        return true;
    Text was = {0}, is = {0};
    value_describe(units, old, &was);
    value_describe(units, changed, &is);
    fault_set(fault, MSG_KEEPS_KIND, ARGS(name, text_string(&was), text_string(&is)));
    text_free(&was);
    text_free(&is);
    return false;
}

bool kind_check_range(const UnitTable *units, Value from, Value to, Value by, Fault *fault) {
    bool bounds =
        value_is_quantity(from) && value_is_quantity(to) && unit_same_kind(units, from.unit, to.unit);
    if (!bounds)
        return kind_fault_pair(units, MSG_LOOP_BOUNDS, from, to, fault);
    if (by.tag == TAG_ABSENT)
        return true;
    UnitId wanted = from.tag == TAG_AMOUNT ? from.unit : unit_get(units, from.unit)->difference;
    return (by.tag == TAG_AMOUNT && unit_same_kind(units, by.unit, wanted)) ||
           kind_fault_pair(units, MSG_LOOP_STEP_KIND, from, by, fault);
}

/* ---- ± ---- */

static bool spread_fits(const UnitTable *units, Value value, Value spread, PlusMinus how) {
    UnitId wanted = value.tag == TAG_READING ? unit_get(units, value.unit)->difference : value.unit;
    if (how == PLUS_MINUS_SAME_UNIT)
        return value_is_plain(spread);
    if (spread.tag != TAG_AMOUNT || !unit_same_kind(units, spread.unit, wanted))
        return false;
    return spread.unit != UNIT_PERCENT || value.unit == UNIT_PERCENT;
}

/* A share after ± is offered as the amount it is. */
static bool spread_fault(const UnitTable *units, Value value, Value spread, Fault *fault) {
    kind_fault_pair(units, MSG_PLUS_MINUS_KIND, value, spread, fault);
    if (spread.meta != VALUE_META(TAG_AMOUNT, UNIT_PERCENT) || value.tag != TAG_AMOUNT)
        return false;
    Text hint = {0};
    text_add_string(&hint, "write the amount: ± ");
    double amount = fabs(value.as.number * spread.as.number / 100);
    display_quantity(&hint, units, amount, value.unit, (FormatSpec){FORMAT_DEFAULT, 0});
    fault_hint(fault, text_string(&hint));
    text_free(&hint);
    return false;
}

/* As a script would write it, without its unit: 1.050. */
static void add_bare(Text *out, const UnitTable *units, Value value) {
    Text example = {0};
    add_example(&example, units, value.as.number, value.unit);
    text_add(out, text_string(&example), strcspn(text_string(&example), " "));
    text_free(&example);
}

/* The scales that are straight lines, and how many of their own differences one step of each is. */
static double difference_steps(Scale scale) {
    return scale == SCALE_SG ? 1000
           : scale == SCALE_OECHSLE || scale == SCALE_CELSIUS || scale == SCALE_FAHRENHEIT ||
                   scale == SCALE_KELVIN || scale == SCALE_PH
               ? 1
               : 0;
}

/* "± 2 pts": the difference that a reading was meant to be; nothing where the scale is no straight line. */
static void add_difference(Text *out, const UnitTable *units, Value spread) {
    const Unit *unit = unit_get(units, spread.unit);
    double steps = spread.as.number * difference_steps(unit->scale);
    if (!(steps > 0))
        return;
    add_example(out, units, round(steps * 1e9) / 1e9, unit->difference);
    if (unit->difference == UNIT_NUMBER)
        out->bytes[--out->length] = '\0'; /* no unit behind the blank */
}

/* A reading after ±, in the unit of the value (3.4 pH ± 0.05 pH): shows the forms that work. */
static bool reading_fault(const UnitTable *units, Value value, Value spread, PlusMinus how, Fault *fault) {
    kind_fault_pair(units, MSG_PLUS_MINUS_READING, value, spread, fault);
    if (value.meta != spread.meta || !(spread.as.number > 0))
        return false;
    Text whole = {0}, number = {0}, width = {0}, alone = {0};
    add_example(&whole, units, value.as.number, value.unit);
    add_bare(&number, units, value);
    add_bare(&width, units, spread);
    add_difference(&alone, units, spread);
    const char *const words[] = {text_string(&number), text_string(&width), unit_get(units, value.unit)->name,
                                 text_string(&alone),  text_string(&whole), NULL};
    bool within = how == PLUS_MINUS_WITHIN;
    if (!within)
        fault_hint_with(fault,
                        alone.length ? "write the unit once: %1 ± %2 %3; or the difference: %5 ± %4"
                                     : "write the unit once: %1 ± %2 %3",
                        words);
    else if (alone.length)
        fault_hint_with(fault, "write the difference: tolerance(%5, %4)", words);
    text_free(&whole);
    text_free(&number);
    text_free(&width);
    text_free(&alone);
    return false;
}

bool kind_check_spread(const UnitTable *units, Value value, Value spread, PlusMinus how, Fault *fault) {
    if (!value_is_quantity(value) || value.unit == UNIT_DATE)
        return kind_fault(units, MSG_PLUS_MINUS_VALUE, value, NULL, fault);
    if (how != PLUS_MINUS_SAME_UNIT && spread.tag == TAG_READING)
        return reading_fault(units, value, spread, how, fault);
    return spread_fits(units, value, spread, how) || spread_fault(units, value, spread, fault);
}

/* ---- items and fields ---- */

bool kind_check_item(const ListObject *list, double index, Value *result, Fault *fault) {
    if (index != floor(index)) {
        Text number = {0};
        format_shortest(&number, index);
        fault_set(fault, MSG_INDEX_WHOLE, ARGS(text_string(&number)));
        text_free(&number);
        return false;
    }
    double at = index < 0 ? list->count + index : index - 1;
    if (index != 0 && at >= 0 && at < list->count) {
        *result = list->items[(uint32_t)at];
        return true;
    }
    Text number = {0}, count = {0};
    format_shortest(&number, index);
    text_add_integer(&count, list->count);
    fault_set(fault, MSG_INDEX_RANGE, ARGS(text_string(&number), text_string(&count)));
    if (list->count == 0)
        fault_hint(fault, "the list is empty: test it first, if length(list) > 0 …");
    text_free(&number);
    text_free(&count);
    return false;
}

static void add_field_names(Text *out, const RecordObject *record) {
    for (uint32_t i = 0; i < record->count && i < 12; i++) {
        if (i)
            text_add_string(out, i + 1 == record->count ? " and " : ", ");
        text_add_string(out, record->fields[i].name->bytes);
    }
    if (record->count > 12)
        text_add_string(out, " and more");
    if (record->count == 0)
        text_add_string(out, "none at all");
}

bool kind_check_field(const RecordObject *record, const TextObject *name, Value *value, Fault *fault) {
    const Value *found = record_find(record, name);
    if (found) {
        *value = *found;
        return true;
    }
    Text fields = {0};
    const char *best = NULL;
    int distance = 99;
    for (uint32_t i = 0; i < record->count; i++)
        text_nearest(name->bytes, record->fields[i].name->bytes, &best, &distance);
    add_field_names(&fields, record);
    fault_set(fault, MSG_NO_FIELD, ARGS(name->bytes, text_string(&fields)));
    if (best)
        fault_hint_with(fault, "did you mean %1? it has %2", ARGS(best, text_string(&fields)));
    text_free(&fields);
    return false;
}
