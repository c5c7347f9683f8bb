/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Kinds asked for outside arithmetic, and their faults. Running and `--check` both come here, so that a
 * mistake is called the same whether it is found before the first line or at its turn. */
#include "values/kind_check.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "values/display.h"
#include "values/value_arg.h"

bool kind_same(const UnitTable *units, Value a, Value b) {
    if (value_is_quantity(a) && value_is_quantity(b))
        return unit_same_kind(units, a.unit, b.unit);
    return a.tag == b.tag;
}

/* ---- faults ---- */

bool kind_fault(const UnitTable *units, MessageId id, Value value, const char *second, Fault *fault) {
    return fault_set(fault, id, ARGS(arg_kind(units, value), second));
}

bool kind_fault_pair(const UnitTable *units, MessageId id, Value a, Value b, Fault *fault) {
    return fault_set(fault, id, ARGS(arg_kind(units, a), arg_kind(units, b)));
}

/* What other habits take for a field and the library has as a formula. */
static const struct {
    Tag tag;
    const char *name;
} asked_of[] = {
    {TAG_READING, "year"}, {TAG_READING, "month"}, {TAG_READING, "day"}, {TAG_READING, "weekday"},
    {TAG_LIST, "length"},  {TAG_LIST, "sum"},      {TAG_LIST, "mean"},   {TAG_LIST, "min"},
    {TAG_LIST, "max"},     {TAG_TEXT, "length"},   {TAG_TEXT, "upper"},  {TAG_TEXT, "lower"},
};

static bool is_formula_of(Value value, const char *name) {
    bool found = false;
    for (size_t i = 0; i < sizeof asked_of / sizeof *asked_of; i++)
        found = found || (value.tag == asked_of[i].tag && strcmp(name, asked_of[i].name) == 0);
    return found && (value.tag != TAG_READING || value.unit == UNIT_DATE);
}

bool kind_fault_field(const UnitTable *units, Value value, const char *name, Fault *fault) {
    kind_fault(units, MSG_FIELD_KIND, value, name, fault);
    if (is_formula_of(value, name))
        return fault_hint(fault, HINT_FIELD_CALL, ARGS(name));
    if (value.tag == TAG_READING && value.unit == UNIT_DATE)
        return fault_hint(fault, HINT_DATE_PARTS, NO_ARGS);
    return value.tag == TAG_LIST && fault_hint(fault, HINT_FIELD_EACH, ARGS(name));
}

/* Where the brackets begin that stand around a value and end before `end`; -1 when more than that is between.
 */
static long brackets_start(const char *source, Span value, size_t end) {
    size_t start = value.start;
    for (size_t at = value.end; at < end; at++) {
        if (source[at] == ')') {
            while (start > 0 && source[start - 1] == ' ')
                start--;
            if (start == 0 || source[--start] != '(')
                return -1;
        } else if (source[at] != ' ' && (source[at] != '.' || at + 1 != end)) {
            return -1;
        }
    }
    return (long)start;
}

void kind_hint_call(Fault *fault, const char *source, Span object, Span name) {
    if (fault->hint != HINT_FIELD_CALL || object.end > name.start ||
        memchr(source + object.start, '\n', name.end - object.start))
        return;
    long whole = brackets_start(source, object, name.start);
    if (whole < 0)
        return;
    size_t start = (size_t)whole;
    while (start > 0 && source[start - 1] != '\n')
        start--;
    start += strspn(source + start, " \t");
    Text line = {0};
    text_add(&line, source + start, (size_t)whole - start);
    text_add(&line, source + name.start, name.end - name.start);
    text_add_char(&line, '(');
    text_add(&line, source + object.start, object.end - object.start);
    text_add_char(&line, ')');
    text_add(&line, source + name.end, strcspn(source + name.end, "\r\n"));
    fault_hint(fault, HINT_WRITE, ARGS(arg_mending(arg_taken(ARG_TEXT, &line), MENDS_LINE | SURELY)));
}

bool kind_fault_argument(const UnitTable *units, const char *formula, const char *argument, MessageArg wanted,
                         Value value, Fault *fault) {
    return fault_set(fault, MSG_ARGUMENT_KIND, ARGS(formula, wanted, argument, arg_kind(units, value)));
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
    {KIND_MONTHS, UNIT_MONTH, 0, HUGE_VAL, 1, 3},
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
    {KIND_POWER, UNIT_KW, 0, 100, 1, 2.4},
    {KIND_POWER, UNIT_W, 100, HUGE_VAL, 1, 0},
    {KIND_COLOUR, UNIT_EBC, 0, HUGE_VAL, 1, 12},
    {KIND_COLOUR, UNIT_SRM, 0, HUGE_VAL, 1, 6},
    {KIND_PASTEURISATION, UNIT_PU, 0, HUGE_VAL, 1, 30},
    {KIND_CELLS, UNIT_GCELL, 0, HUGE_VAL, 1, 180},
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

/* A number that can only be read off a hydrometer or a pH meter. */
static bool is_plain_reading(Kind kind, double number) {
    bool gravity = (number >= 0.98 && number <= 1.2) || (number >= 980 && number <= 1200);
    return kind == KIND_ACIDITY || (kind == KIND_GRAVITY && gravity);
}

static Mends mends_number(Kind kind, int count, double number) {
    if (count != 1 || isnan(number))
        return MENDS_NOTHING;
    return is_plain_reading(kind, number) ? MENDS_PLACE | SURELY : MENDS_PLACE;
}

/* Hints each example of the kind: with the number where it is likely, else (NaN) its sample. False if there
 * is none. */
static bool hint_examples(const UnitTable *units, Kind kind, double number, Fault *fault) {
    enum { ROWS = sizeof examples / sizeof *examples };
    int count = 0, added = 0;
    Text list = {0};
    for (size_t i = 0; i < ROWS; i++)
        count += is_likely(i, kind, number);
    for (size_t i = 0; i < ROWS; i++) {
        if (!is_likely(i, kind, number))
            continue;
        message_add_joint(&list, added == 0, added + 1 == count, PHRASE_JOINED_OR);
        added++;
        add_example(&list, units, isnan(number) ? examples[i].sample : number * examples[i].scale,
                    examples[i].unit);
    }
    if (count)
        fault_hint(fault, isnan(number) ? HINT_EXAMPLE : HINT_WRITE,
                   ARGS(arg_mending(arg_taken(ARG_LIST, &list), mends_number(kind, count, number))));
    return count > 0;
}

/* What is not a quantity, and what has no unit of the table. */
static const struct {
    Kind kind;
    MessageId hint;
} written[] = {
    {KIND_DATE, HINT_DATE_WRITTEN},     {KIND_MONEY, HINT_MONEY_DECLARED},  {KIND_LIQUID, HINT_LIQUID_MADE},
    {KIND_FORMULA, HINT_FORMULA_NAMED}, {KIND_TRUTH, HINT_TRUTH_WRITTEN},   {KIND_TEXT, HINT_TEXT_WRITTEN},
    {KIND_LIST, HINT_LIST_WRITTEN},     {KIND_RECORD, HINT_RECORD_WRITTEN},
};

static bool is_number(Value value) {
    return value.tag == TAG_AMOUNT && (value.unit == UNIT_NUMBER || value.unit == UNIT_PERCENT);
}

static MessageArg example(const UnitTable *units, double number, UnitId unit) {
    Text shown = {0};
    add_example(&shown, units, number, unit);
    return arg_taken(ARG_TEXT, &shown);
}

void kind_hint_wanted(const UnitTable *units, Kind kind, UnitId unit, Value value, Fault *fault) {
    bool typed = is_number(value);
    fault_hint(fault, MSG_NONE, NO_ARGS);
    for (size_t i = 0; i < sizeof written / sizeof *written; i++)
        if (written[i].kind == kind)
            fault_hint(fault, written[i].hint, NO_ARGS);
    if (fault->hint)
        return;
    if (kind == KIND_NUMBER && value_is_quantity(value) && value.unit != UNIT_DATE)
        fault_hint(fault, HINT_WITHOUT_UNIT, NO_ARGS);
    else if (value.tag == TAG_TEXT)
        fault_hint(fault, HINT_TEXT_READ, NO_ARGS);
    else if (unit != UNIT_NUMBER && typed)
        fault_hint(
            fault, HINT_WRITE,
            ARGS(arg_mending(example(units, value.as.number, unit), mends_number(kind, 1, value.as.number))));
    else if (!(typed && hint_examples(units, kind, value.as.number, fault)))
        hint_examples(units, kind, (double)NAN, fault); /* no number, or no likely one */
}

void kind_hint_converted(const UnitTable *units, double number, UnitId to, Fault *fault) {
    const Unit *target = unit_get(units, to);
    size_t i = 0, rows = sizeof examples / sizeof *examples;
    while (i < rows && (!is_likely(i, target->kind, number) || examples[i].unit == to))
        i++;
    if (i == rows || isnan(number))
        return;
    Text shown = {0};
    add_example(&shown, units, number * examples[i].scale, examples[i].unit);
    text_add_string(&shown, " as ");
    text_add_string(&shown, target->name);
    fault_hint(fault, HINT_CONVERT_PLAIN,
               ARGS(arg_mending(arg_taken(ARG_TEXT, &shown), mends_number(target->kind, 1, number))));
}

void kind_hint_gravity(const UnitTable *units, Value value, Fault *fault) {
    if (value.tag == TAG_READING && value.unit == UNIT_SG && value.as.number >= 900 &&
        value.as.number <= 1600)
        fault_hint(fault, HINT_MEANT, ARGS(example(units, value.as.number / 1000, UNIT_SG)));
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

Kind kind_check_hinted(const UnitTable *units, const KindCheck *check) {
    bool each = !check->is_unit && check->kinds == (KIND_SET(KIND_LIST) | KIND_SET(KIND_FORMULA));
    return each ? KIND_FORMULA : kind_check_only(units, check); /* the list is what it gives for each item */
}

static MessageArg wanted(const KindCheck *check) {
    Text kinds = {0};
    if (check->is_unit)
        return arg_phrase(PHRASE_QUANTITY_IN, ARGS(check->word));
    kind_set_describe(check->kinds & ~KIND_SET(KIND_NONE), &kinds);
    MessageArg described = arg_taken(ARG_KIND, &kinds);
    return check->kinds == KIND_SET(KIND_TRUTH) ? arg_phrase(PHRASE_TRUE_OR_FALSE, ARGS(described))
                                                : described;
}

bool kind_check_is(const UnitTable *units, const KindCheck *check, Value value, bool result, Fault *fault) {
    if (has_kind(units, check, value))
        return true;
    if (result)
        return fault_set(fault, MSG_RESULT_KIND, ARGS(check->formula, wanted(check), arg_kind(units, value)));
    kind_fault_argument(units, check->formula, check->argument, wanted(check), value, fault);
    kind_hint_wanted(units, kind_check_hinted(units, check), check->is_unit ? check->unit : UNIT_NUMBER,
                     value, fault);
    return false;
}

/* ---- the others ---- */

bool kind_check_truth(const UnitTable *units, Value value, Fault *fault) {
    return value.tag == TAG_TRUTH || kind_fault(units, MSG_NOT_TRUTH, value, NULL, fault);
}

bool kind_fault_loop(const UnitTable *units, Value value, bool entries, Fault *fault) {
    kind_fault(units, entries ? MSG_LOOP_ENTRIES : MSG_LOOP_LIST, value, NULL, fault);
    if (value.tag == TAG_RECORD)
        fault_hint(fault, HINT_BOTH_NAMES, NO_ARGS);
    return false;
}

bool kind_check_kept(const UnitTable *units, Value old, Value changed, const char *name, Fault *fault) {
    if (kind_same(units, old, changed) || old.tag == TAG_NONE || changed.tag == TAG_NONE)
        return true;
    return fault_set(fault, MSG_KEEPS_KIND, ARGS(name, arg_kind(units, old), arg_kind(units, changed)));
}

bool kind_check_range(const UnitTable *units, Value from, Value to, Value by, Fault *fault) {
    bool bounds =
        value_is_quantity(from) && value_is_quantity(to) && unit_same_kind(units, from.unit, to.unit);
    if (!bounds)
        return kind_fault_pair(units, MSG_LOOP_BOUNDS, from, to, fault);
    if (by.tag == TAG_ABSENT)
        return true;
    UnitId wanted = from.tag == TAG_AMOUNT ? from.unit : unit_get(units, from.unit)->difference;
    if (from.unit == UNIT_DATE && unit_get(units, by.unit)->kind == KIND_MONTHS)
        return true;
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
    double amount = fabs(value.as.number * spread.as.number / 100);
    return fault_hint(fault, HINT_SPREAD_AMOUNT, ARGS(arg_quantity(units, amount, value.unit)));
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

/* "± 2 pts": the difference that a reading was meant to be; nothing where the scale is not a straight line.
 */
static void add_difference(Text *out, const UnitTable *units, Value spread) {
    const Unit *unit = unit_get(units, spread.unit);
    double steps = spread.as.number * difference_steps(unit->scale);
    if (!(steps > 0))
        return;
    add_example(out, units, round(steps * 1e9) / 1e9, unit->difference);
    if (unit->difference == UNIT_NUMBER)
        out->bytes[--out->length] = '\0'; /* no unit after the space */
}

void kind_hint_difference(const UnitTable *units, Value reading, Fault *fault) {
    Text difference = {0};
    if (reading.tag == TAG_READING)
        add_difference(&difference, units, reading);
    if (difference.length)
        fault_hint(fault, HINT_WRITE, ARGS(text_string(&difference)));
    text_free(&difference);
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
    const char *n = text_string(&number), *w = text_string(&width), *d = text_string(&alone);
    const char *unit = unit_get(units, value.unit)->name;
    if (how == PLUS_MINUS_WITHIN && alone.length)
        fault_hint(fault, HINT_TOLERANCE, ARGS(text_string(&whole), d));
    else if (how != PLUS_MINUS_WITHIN && alone.length)
        fault_hint(fault, HINT_SPREAD_EITHER, ARGS(n, w, unit, d, text_string(&whole)));
    else if (how != PLUS_MINUS_WITHIN)
        fault_hint(fault, HINT_SPREAD_ONCE, ARGS(n, w, unit));
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
    if (index != floor(index))
        return fault_set(fault, MSG_INDEX_WHOLE, ARGS(arg_number(index)));
    double at = index < 0 ? list->count + index : index - 1;
    if (index != 0 && at >= 0 && at < list->count) {
        *result = list->items[(uint32_t)at];
        return true;
    }
    fault_set(fault, MSG_INDEX_RANGE, ARGS(arg_number(index), arg_whole(list->count)));
    return list->count == 0 && fault_hint(fault, HINT_LIST_EMPTY, NO_ARGS);
}

static void add_field_names(Text *out, const RecordObject *record) {
    for (uint32_t i = 0; i < record->count && i < 12; i++) {
        message_add_joint(out, i == 0, i + 1 == record->count, PHRASE_JOINED_AND);
        text_add_string(out, record->fields[i].name->bytes);
    }
    if (record->count > 12)
        text_add_string(out, message_text(PHRASE_AND_MORE));
    if (record->count == 0)
        text_add_string(out, message_text(PHRASE_NO_FIELDS));
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
    MessageArg list = arg_taken(ARG_LIST, &fields);
    if (best)
        fault_hint(fault, HINT_MEANT_FIELD, ARGS(best, arg_copy(&list)));
    return fault_set(fault, MSG_NO_FIELD, ARGS(name->bytes, list));
}
