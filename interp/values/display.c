/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values as people read them. */
#include "values/display.h"

#include <math.h>
#include <string.h>

#include "numbers/calendar.h"
#include "numbers/format_spread.h"

void display_number(Text *out, const UnitTable *units, double number, UnitId unit, FormatSpec format) {
    int places = unit_get(units, unit)->places;
    switch (format.mode) {
    case FORMAT_PLACES:
        format_places(out, number, format.count);
        return;
    case FORMAT_DIGITS:
        format_digits(out, number, format.count);
        return;
    case FORMAT_DEFAULT:
        break;
    }
    if (places >= 0)
        format_places(out, number, places);
    else
        format_plain(out, number);
}

static void add_date(Text *out, double days) {
    CalendarDate date = calendar_date((long)days);
    int parts[] = {date.year, date.month, date.day};
    for (int i = 0; i < 3; i++) {
        int width = i == 0 ? 1000 : 10;
        if (i)
            text_add_char(out, '-');
        for (; width > 1 && parts[i] < width; width /= 10)
            text_add_char(out, '0');
        text_add_integer(out, parts[i]);
    }
}

void display_quantity(Text *out, const UnitTable *units, double number, UnitId unit, FormatSpec format) {
    if (unit == UNIT_DATE) {
        add_date(out, number);
        return;
    }
    display_number(out, units, number, unit, format);
    if (unit != UNIT_NUMBER) {
        text_add_char(out, ' ');
        text_add_string(out, unit_get(units, unit)->name);
    }
}

static void add_quoted(Text *out, const TextObject *text) {
    text_add_char(out, '"');
    for (uint32_t i = 0; i < text->length; i++) {
        char c = text->bytes[i];
        const char *escaped = c == '\n' ? "\\n" : c == '\t' ? "\\t" : c == '\r' ? "\\r" : NULL;
        if (escaped) {
            text_add_string(out, escaped);
            continue;
        }
        if (c == '"' || c == '\\' || c == '{' || c == '}')
            text_add_char(out, '\\');
        text_add_char(out, c);
    }
    text_add_char(out, '"');
}

static bool is_name(const TextObject *text) {
    size_t at = 0;
    while (at < text->length) {
        uint32_t code_point;
        size_t used = utf8_decode(text->bytes + at, text->length - at, &code_point);
        if (!used || !(utf8_is_letter(code_point) || (at && utf8_is_digit(code_point))))
            return false;
        at += used;
    }
    return text->length > 0;
}

/* Decimals of a number as it is shown without a ±; negative for none but whole tens. The four digits of a
 * unit without decimals of its own are counted from its first, so that 20.00 L has two. */
static int shown_places(const UnitTable *units, double number, UnitId unit, FormatSpec format) {
    int places = unit_get(units, unit)->places, exponent = format_decimal(number).exponent;
    if (places < 0)
        places = exponent < 4 ? 4 - exponent : 0;
    int asked = format.mode == FORMAT_PLACES   ? format.count
                : format.mode == FORMAT_DIGITS ? format.count - exponent
                                               : places;
    return asked > places ? asked : places;
}

bool display_has_spread(const UnitTable *units, double number, UnitId unit, double spread,
                        FormatSpec format) {
    const double hair = 1 - 1e-9; /* 0.0001 beside 0.001: just a tenth */
    if (unit == UNIT_DATE || !(spread > 0) || spread < DISPLAY_SPREAD_LEAST * fabs(number))
        return false;
    bool placeless = number == 0 && unit_get(units, unit)->places < 0; /* nothing tells its last decimal */
    return placeless || spread >= hair * pow(10, -1 - shown_places(units, number, unit, format));
}

typedef struct Show {
    Text *out;
    const UnitTable *units;
    FormatSpec format;
    bool literal;          /* full precision, as a script would write it */
    const double *spreads; /* one a number, or NULL */
    int shown;             /* numbers so far */
    int depth;
    size_t end; /* of the text, where lists and records break off */
} Show;

enum { SPREADS_MOST = 1 << 20 }; /* numbers of one value whose ± is followed */

static void add_number(Show *show, double number, UnitId unit) {
    bool followed = show->spreads && show->shown < SPREADS_MOST;
    double spread = followed ? show->spreads[show->shown] : 0;
    show->shown++;
    if (!display_has_spread(show->units, number, unit, spread, show->format)) {
        display_quantity(show->out, show->units, number, unit, show->format);
        return;
    }
    format_spread(show->out, number, spread, show->format);
    if (unit != UNIT_NUMBER) {
        text_add_char(show->out, ' ');
        text_add_string(show->out, unit_get(show->units, unit)->name);
    }
}

static void add_liquid(Show *show, const LiquidObject *object) {
    const Liquid *liquid = &object->liquid;
    if (liquid->form == LIQUID_DRY) {
        add_number(show, liquid_mass_kg(liquid), UNIT_KG);
        text_add_string(show->out, " dry");
        return;
    }
    add_number(show, liquid_volume_l(liquid), UNIT_L);
    if (liquid_mass_kg(liquid) <= 0)
        return; /* nothing has no gravity */
    text_add_string(show->out, ", ");
    add_number(show, liquid_gravity_sg(liquid), UNIT_SG);
    text_add_string(show->out, ", ");
    add_number(show, liquid_strength_abv(liquid), UNIT_ABV);
}

enum { SHOWN_DEPTH = 100 }; /* a list nested deeper shows as [...] */

static void add_value(Show *show, Value value);

static bool breaks_off(const Show *show) {
    if (show->out->length <= show->end)
        return false;
    text_add_string(show->out, "...");
    return true;
}

static void add_list(Show *show, const ListObject *list) {
    text_add_char(show->out, '[');
    for (uint32_t i = 0; i < list->count; i++) {
        if (i)
            text_add_string(show->out, ", ");
        if (breaks_off(show))
            break;
        add_value(show, list->items[i]);
    }
    text_add_char(show->out, ']');
}

static void add_record(Show *show, const RecordObject *record) {
    text_add_char(show->out, '{');
    for (uint32_t i = 0; i < record->count; i++) {
        if (i)
            text_add_string(show->out, ", ");
        if (breaks_off(show))
            break;
        if (is_name(record->fields[i].name))
            text_add_string(show->out, record->fields[i].name->bytes);
        else
            add_quoted(show->out, record->fields[i].name);
        text_add_string(show->out, ": ");
        add_value(show, record->fields[i].value);
    }
    text_add_char(show->out, '}');
}

static void add_full_precision(Text *out, const UnitTable *units, Value value) {
    if (value.unit == UNIT_DATE) {
        add_date(out, value.as.number);
        return;
    }
    /* as people know it (1.062 SG) where that is the whole number, else all its digits */
    Text usual = {0};
    double read;
    display_number(&usual, units, value.as.number, value.unit, (FormatSpec){0});
    if (format_read(text_string(&usual), usual.length, &read) && read == value.as.number)
        text_add(out, text_string(&usual), usual.length);
    else
        format_shortest(out, value.as.number);
    text_free(&usual);
    if (value.unit != UNIT_NUMBER) {
        text_add_char(out, ' ');
        text_add_string(out, unit_get(units, value.unit)->name);
    }
}

static void add_value(Show *show, Value value) {
    if (show->depth > SHOWN_DEPTH && (value.tag == TAG_LIST || value.tag == TAG_RECORD)) {
        text_add_string(show->out, value.tag == TAG_LIST ? "[...]" : "{...}");
        return;
    }
    show->depth++;
    switch ((Tag)value.tag) {
    case TAG_AMOUNT:
    case TAG_READING:
        if (show->literal)
            add_full_precision(show->out, show->units, value);
        else
            add_number(show, value.as.number, value.unit);
        break;
    case TAG_TRUTH:
        text_add_string(show->out, value.as.truth ? "true" : "false");
        break;
    case TAG_TEXT:
        if (show->depth == 1 && !show->literal)
            text_add(show->out, value.as.text->bytes, value.as.text->length);
        else
            add_quoted(show->out, value.as.text);
        break;
    case TAG_LIST:
        add_list(show, value.as.list);
        break;
    case TAG_RECORD:
        add_record(show, value.as.record);
        break;
    case TAG_LIQUID:
        add_liquid(show, value.as.liquid);
        break;
    case TAG_NONE:
    case TAG_ABSENT:
        text_add_string(show->out, "none");
        break;
    }
    show->depth--;
}

bool display_value_spread(Text *out, const UnitTable *units, Value value, FormatSpec format,
                          const double *spreads, Fault *fault) {
    bool roundable = value_is_quantity(value)
                         ? value.unit != UNIT_DATE
                         : value.tag == TAG_LIST || value.tag == TAG_RECORD || value.tag == TAG_LIQUID;
    if (format.mode != FORMAT_DEFAULT && !roundable) {
        Text what = {0};
        value_describe(units, value, &what);
        fault_set(fault, MSG_FORMAT_KIND,
                  ARGS(format.mode == FORMAT_PLACES ? "places" : "digits", text_string(&what)));
        text_free(&what);
        return false;
    }
    Show show = {
        .out = out, .units = units, .format = format, .spreads = spreads, .end = out->length + DISPLAY_MOST};
    add_value(&show, value);
    return true;
}

bool display_value(Text *out, const UnitTable *units, Value value, FormatSpec format, Fault *fault) {
    return display_value_spread(out, units, value, format, NULL, fault);
}

/* ---- the numbers a value shows ---- */

typedef struct Numbers {
    ShownNumber *items;
    int count, room;
    int values; /* looked at: each takes a byte at least where it is shown, DISPLAY_MOST are enough */
} Numbers;

static void take_number(Numbers *numbers, double number, UnitId unit) {
    if (numbers->count == SPREADS_MOST)
        return;
    if (numbers->count < numbers->room)
        numbers->items[numbers->count] = (ShownNumber){.number = number, .unit = unit};
    numbers->count++;
}

static void take_numbers(Numbers *numbers, Value value, int depth) {
    if (depth > SHOWN_DEPTH && (value.tag == TAG_LIST || value.tag == TAG_RECORD))
        return;
    if (numbers->count == SPREADS_MOST || ++numbers->values > DISPLAY_MOST)
        return;
    if (value_is_quantity(value)) {
        take_number(numbers, value.as.number, value.unit);
    } else if (value.tag == TAG_LIST) {
        for (uint32_t i = 0; i < value.as.list->count; i++)
            take_numbers(numbers, value.as.list->items[i], depth + 1);
    } else if (value.tag == TAG_RECORD) {
        for (uint32_t i = 0; i < value.as.record->count; i++)
            take_numbers(numbers, value.as.record->fields[i].value, depth + 1);
    } else if (value.tag == TAG_LIQUID) {
        const Liquid *liquid = &value.as.liquid->liquid;
        if (liquid->form == LIQUID_DRY) {
            take_number(numbers, liquid_mass_kg(liquid), UNIT_KG);
            return;
        }
        take_number(numbers, liquid_volume_l(liquid), UNIT_L);
        if (liquid_mass_kg(liquid) <= 0)
            return;
        take_number(numbers, liquid_gravity_sg(liquid), UNIT_SG);
        take_number(numbers, liquid_strength_abv(liquid), UNIT_ABV);
    }
}

int display_numbers(Value value, ShownNumber *numbers, int room) {
    Numbers taken = {.items = numbers, .room = room};
    take_numbers(&taken, value, 0);
    return taken.count;
}

void display_literal(Text *out, const UnitTable *units, Value value) {
    Show show = {.out = out, .units = units, .literal = true, .end = out->length + DISPLAY_MOST};
    add_value(&show, value);
}

enum { BRIEF = 400 }; /* bytes of a value in a message */

void display_brief(Text *out, const UnitTable *units, Value value, bool literal) {
    size_t most = out->length + BRIEF;
    Show show = {.out = out, .units = units, .literal = literal, .end = most};
    add_value(&show, value);
    if (out->length <= most + sizeof "...]")
        return;
    while (most > 0 && ((unsigned char)out->bytes[most] & 0xC0) == 0x80)
        most--; /* no character in halves */
    out->length = most;
    text_add_string(out, "…");
}
