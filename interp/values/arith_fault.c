/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Forbidden arithmetic, and the hint for each case people really type. */
#include "values/arith_fault.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "values/display.h"
#include "values/kind_check.h"

static void label_kinds(const Arith *arith, Value a, Value b) {
    fault_label(arith->fault, value_kind_text(arith->units, a), value_kind_text(arith->units, b));
}

/* The value as a script would write it, short: "200 g". Into `out`. */
static const char *shown(const Arith *arith, Value v, Text *out) {
    text_clear(out);
    display_brief(out, arith->units, v, false);
    return text_string(out);
}

static void hint(const Arith *arith, const char *pattern, const char *a, const char *b) {
    fault_hint_with(arith->fault, pattern, ARGS(a, b));
}

bool arith_fault_pair(const Arith *arith, MessageId id, Value a, Value b) {
    kind_fault_pair(arith->units, id, a, b, arith->fault);
    label_kinds(arith, a, b);
    return false;
}

static bool is_volume_and_mass(Kind a, Kind b) {
    return (a == KIND_VOLUME && b == KIND_MASS) || (a == KIND_MASS && b == KIND_VOLUME);
}

static bool needs_unit(Value a, Value b) {
    return (value_is_plain(a) && b.tag == TAG_AMOUNT) || (value_is_plain(b) && a.tag == TAG_AMOUNT);
}

/* A plain number beside an amount: show it with the other's unit. */
static void hint_missing_unit(const Arith *arith, Value a, Value b) {
    Value plain = value_is_plain(a) ? a : b, other = value_is_plain(a) ? b : a;
    Text text = {0};
    format_shortest(&text, plain.as.number);
    hint(arith, "give the number its unit, for example %1 %2", text_string(&text),
         unit_get(arith->units, other.unit)->name);
    text_free(&text);
}

/* What to write where a value that is no quantity stands in arithmetic. */
static void hint_no_number(const Arith *arith, Value a, Value b) {
    if (a.tag == TAG_NONE || b.tag == TAG_NONE)
        hint(arith, "none is no number: test it first, if x == none then … else …", "", "");
    else if (a.tag == TAG_TEXT || b.tag == TAG_TEXT)
        hint(arith, "quantity(text) reads a text such as \"5 gal\"; \"{a} {b}\" puts values into a text", "",
             "");
    else if (a.tag == TAG_LIST || b.tag == TAG_LIST)
        hint(arith, "a list is worked through item by item: [2 * x for x in list]", "", "");
    else if (a.tag == TAG_RECORD || b.tag == TAG_RECORD)
        hint(arith, "a record is worked with by its fields: r.name; r with {name: …} is a changed copy", "",
             "");
    else if (a.tag == TAG_TRUTH || b.tag == TAG_TRUTH)
        hint(arith, "make a number of it: if c then 1 else 0", "", "");
}

bool arith_fault_sum(const Arith *arith, Value a, Value b, bool subtract) {
    Kind left = value_kind(arith->units, a), right = value_kind(arith->units, b);
    Text text = {0};
    if (subtract)
        arith_fault_pair(arith, MSG_SUBTRACT_KINDS, a, b);
    else
        arith_fault_pair(arith, MSG_ADD_KINDS, a, b);
    if (is_volume_and_mass(left, right) && !subtract)
        hint(arith, "to pour dry sugar in, add liquids: base + %1 of sugar()",
             shown(arith, left == KIND_MASS ? a : b, &text), "");
    else if (is_volume_and_mass(left, right))
        hint(arith, "a liquid has both: take .volume or .mass of it", "", "");
    else if (needs_unit(a, b))
        hint_missing_unit(arith, a, b);
    else if ((a.tag == TAG_TEXT || b.tag == TAG_TEXT) &&
             (subtract || value_is_quantity(a) || value_is_quantity(b)))
        hint(arith,
             subtract ? "quantity(text) reads a text such as \"5 gal\""
                      : "quantity(text) reads a text such as \"5 gal\"; \"{a} {b}\" puts values into a text",
             "", "");
    else if (a.tag == TAG_TEXT || b.tag == TAG_TEXT)
        hint(arith, "put values into a text with braces: \"{a} {b}\"", "", "");
    else if (left == KIND_LIST && !subtract)
        hint(arith, "append(list, x) gives a longer list", "", "");
    else if ((left == KIND_LIQUID && right == KIND_MASS) || (left == KIND_MASS && right == KIND_LIQUID))
        hint(arith, "say of what: %1 of sugar()", shown(arith, left == KIND_MASS ? a : b, &text), "");
    else if ((left == KIND_LIQUID && right == KIND_VOLUME) || (left == KIND_VOLUME && right == KIND_LIQUID))
        hint(arith, "say of what: %1 of water()", shown(arith, left == KIND_VOLUME ? a : b, &text), "");
    else if ((left == KIND_LIQUID || right == KIND_LIQUID) && !subtract)
        hint(arith, "pour liquids together: a volume or a mass of one is written 1 gal of water()", "", "");
    else if (left == KIND_MONEY && right == KIND_MONEY)
        hint(arith, "two moneys never convert: multiply by a rate of your own", "", "");
    else
        hint_no_number(arith, a, b);
    text_free(&text);
    return false;
}

bool arith_fault_percent_sum(const Arith *arith, Value a, Value b, bool subtract) {
    bool right_is_percent = b.unit == UNIT_PERCENT;
    Text percent = {0}, other = {0};
    shown(arith, right_is_percent ? b : a, &percent);
    shown(arith, right_is_percent ? a : b, &other);
    char *joined = text_take(&percent); /* "10 %" is typed 10% */
    size_t length = strlen(joined);
    if (length > 2 && joined[length - 2] == ' ')
        memcpy(joined + length - 2, "%", 2);
    arith_fault_pair(arith, subtract ? MSG_SUBTRACT_KINDS : MSG_ADD_KINDS, a, b);
    fault_label(arith->fault, right_is_percent ? value_kind_text(arith->units, a) : "percent",
                right_is_percent ? "percent" : value_kind_text(arith->units, b));
    hint(arith,
         subtract ? "say of what: x - %1 of x (here x is %2)" : "say of what: x + %1 of x (here x is %2)",
         joined, text_string(&other));
    mem_free(joined);
    text_free(&other);
    return false;
}

bool arith_fault_readings_added(const Arith *arith, Value a, Value b) {
    arith_fault_pair(arith, MSG_READINGS_ADDED, a, b);
    if (!unit_same_kind(arith->units, a.unit, b.unit))
        return false;
    switch (value_kind(arith->units, a)) {
    case KIND_TEMPERATURE:
        hint(
            arith,
            "add a difference (x + 10 C°), or take mean(x, y); two volumes of water mix by mix_temperature()",
            "", "");
        break;
    case KIND_GRAVITY:
        hint(arith, "add points (x + 10 pts), or pour liquids together and ask .gravity", "", "");
        break;
    case KIND_DATE:
        hint(arith, "add a time: x + 2 week", "", "");
        break;
    default:
        hint(arith, "add a plain number: x + 0.1", "", "");
        break;
    }
    return false;
}

bool arith_fault_reading_moved(const Arith *arith, Value reading, Value by, bool subtract) {
    const Unit *unit = unit_get(arith->units, reading.unit);
    if (subtract)
        arith_fault_pair(arith, MSG_SUBTRACT_KINDS, reading, by);
    else
        arith_fault_pair(arith, MSG_ADD_KINDS, reading, by);
    switch (unit->kind) {
    case KIND_TEMPERATURE:
        hint(arith, "a temperature moves by a difference: x + 10 C° or x + 18 F°", "", "");
        break;
    case KIND_GRAVITY:
        hint(arith, "a gravity moves by points, 0.001 SG each: x + 10 pts", "", "");
        break;
    case KIND_DATE:
        hint(arith, "a date moves by a time: x + 10 day", "", "");
        break;
    default:
        hint(arith, "a pH moves by a plain number: x + 0.2", "", "");
        break;
    }
    return false;
}

bool arith_fault_liquid_subtracted(const Arith *arith, Value a, Value b) {
    arith_fault_pair(arith, MSG_SUBTRACT_KINDS, a, b);
    hint(arith,
         "take(l, 100 mL) is a part, lose(l, 0.5 L) what is left; with water boiled off it is evaporate(l, "
         "to: 4 L)",
         "", "");
    return false;
}

static void hint_reading_scaled(const Arith *arith, Kind kind) {
    switch (kind) {
    case KIND_TEMPERATURE:
        hint(arith, "a temperature is a place on a scale: scale a difference, 2 * (x - 60 °F)", "", "");
        break;
    case KIND_GRAVITY:
        hint(arith, "a gravity is a place on a scale: scale its points, 2 * (x - 1.000 SG), or use a liquid",
             "", "");
        break;
    case KIND_DATE:
        hint(arith, "a date is a place in the calendar: only times can be scaled", "", "");
        break;
    default:
        hint(arith, "a pH is a place on a scale: only its differences can be scaled", "", "");
        break;
    }
}

bool arith_fault_product(const Arith *arith, Value a, Value b, bool divide) {
    arith_fault_pair(arith, divide ? MSG_DIVIDE_KINDS : MSG_MULTIPLY_KINDS, a, b);
    if (a.tag == TAG_READING || b.tag == TAG_READING)
        hint_reading_scaled(arith, value_kind(arith->units, a.tag == TAG_READING ? a : b));
    else if (a.tag == TAG_LIQUID || b.tag == TAG_LIQUID)
        hint(arith, "a liquid scales by a plain number; so much of it is written 2 gal of it", "", "");
    else
        hint_no_number(arith, a, b);
    return false;
}

bool arith_fault_negate(const Arith *arith, Value a) {
    Text what = {0};
    value_describe(arith->units, a, &what);
    fault_set(arith->fault, MSG_NEGATE_KIND, ARGS(text_string(&what)));
    if (a.tag == TAG_READING && a.unit != UNIT_DATE) {
        Text text = {0};
        format_shortest(&text, -a.as.number);
        hint(arith, "a reading below zero is written %1 %2; the distance below another is y - x",
             text_string(&text), unit_get(arith->units, a.unit)->name);
        text_free(&text);
    } else if (a.tag == TAG_READING) {
        hint(arith, "a date is a place in the calendar; the days until it are d - today()", "", "");
    } else {
        hint_no_number(arith, a, a);
    }
    text_free(&what);
    return false;
}

bool arith_fault_attach(const Arith *arith, Value a, UnitId unit) {
    Text what = {0};
    value_describe(arith->units, a, &what);
    const char *name = unit_get(arith->units, unit)->name;
    fault_set(arith->fault, MSG_ATTACH_KIND, ARGS(name, text_string(&what)));
    if (value_is_quantity(a))
        hint(arith, "it has a unit already: convert it with x as %1", name, "");
    else
        hint_no_number(arith, a, a);
    text_free(&what);
    return false;
}

bool arith_fault_convert(const Arith *arith, Value a, UnitId unit) {
    Text what = {0};
    value_describe(arith->units, a, &what);
    const char *name = unit_get(arith->units, unit)->name;
    fault_set(arith->fault, MSG_CONVERT_VALUE, ARGS(text_string(&what), name));
    if (a.tag == TAG_LIQUID && unit_get(arith->units, unit)->kind == KIND_VOLUME)
        hint(arith,
             "ask a liquid for l.volume as %1; a dry solid goes by what a cup weighs: 200 g / (200 g/cup) as "
             "%1",
             name, "");
    else if (a.tag == TAG_LIQUID)
        hint(arith, "ask the liquid for a property first: l.volume as %1", name, "");
    else if (a.tag == TAG_LIST)
        hint(arith, "convert each: [x as %1 for x in list]", name, "");
    else if (a.tag == TAG_TEXT)
        hint(arith, "quantity(text) reads a text such as \"5 gal\"", "", "");
    text_free(&what);
    return false;
}
