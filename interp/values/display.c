/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values as people read them. */
#include "values/display.h"

#include <string.h>

#include "numbers/calendar.h"

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

static void add_liquid(Text *out, const UnitTable *units, const LiquidObject *object, FormatSpec format) {
    const Liquid *liquid = &object->liquid;
    display_quantity(out, units, liquid_volume_l(liquid), UNIT_L, format);
    if (liquid_mass_kg(liquid) <= 0)
        return; /* nothing has no gravity */
    text_add_string(out, ", ");
    display_quantity(out, units, liquid_gravity_sg(liquid), UNIT_SG, format);
    text_add_string(out, ", ");
    display_quantity(out, units, liquid_strength_abv(liquid), UNIT_ABV, format);
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

typedef struct Show {
    Text *out;
    const UnitTable *units;
    FormatSpec format;
    bool literal;   /* full precision, as a script would write it */
    int depth;
} Show;

enum { SHOWN_DEPTH = 100 }; /* a list nested deeper shows as [...] */

static void add_value(Show *show, Value value);

static void add_list(Show *show, const ListObject *list) {
    text_add_char(show->out, '[');
    for (uint32_t i = 0; i < list->count; i++) {
        if (i)
            text_add_string(show->out, ", ");
        add_value(show, list->items[i]);
    }
    text_add_char(show->out, ']');
}

static void add_record(Show *show, const RecordObject *record) {
    text_add_char(show->out, '{');
    for (uint32_t i = 0; i < record->count; i++) {
        if (i)
            text_add_string(show->out, ", ");
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
    format_shortest(out, value.as.number);
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
            display_quantity(show->out, show->units, value.as.number, value.unit, show->format);
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
        add_liquid(show->out, show->units, value.as.liquid, show->format);
        break;
    case TAG_NONE:
    case TAG_ABSENT:
        text_add_string(show->out, "none");
        break;
    }
    show->depth--;
}

bool display_value(Text *out, const UnitTable *units, Value value, FormatSpec format, Fault *fault) {
    bool roundable = value_is_quantity(value) ? value.unit != UNIT_DATE
                                              : value.tag == TAG_LIST || value.tag == TAG_RECORD || value.tag == TAG_LIQUID;
    if (format.mode != FORMAT_DEFAULT && !roundable) {
        Text what = {0};
        value_describe(units, value, &what);
        fault_set(fault, MSG_FORMAT_KIND, ARGS(format.mode == FORMAT_PLACES ? "places" : "digits", text_string(&what)));
        text_free(&what);
        return false;
    }
    Show show = {.out = out, .units = units, .format = format};
    add_value(&show, value);
    return true;
}

void display_literal(Text *out, const UnitTable *units, Value value) {
    Show show = {.out = out, .units = units, .literal = true};
    add_value(&show, value);
}
