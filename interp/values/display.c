/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values as people read them. */
#include "values/display.h"
#include "values/module.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/calendar.h"
#include "numbers/format_spread.h"
#include "values/liquid_value.h"
#include "values/value_arg.h"

static void add_rounded(Text *out, const UnitTable *units, double number, UnitId unit, FormatSpec format) {
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
    bool written_out = format_decimal(number).exponent <= FORMAT_WHOLE_MOST;
    if (places >= 0 && written_out)
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

void display_unit(Text *out, const UnitTable *units, UnitId unit) {
    if (unit == UNIT_NUMBER)
        return;
    text_add_char(out, ' ');
    text_add_string(out, unit_get(units, unit)->name);
}

/* The first `length` bytes of it. */
static void add_quoted(Text *out, const TextObject *text, size_t length) {
    text_add_char(out, '"');
    for (size_t i = 0; i < length; i++) {
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
    text_add_string(out, length < text->length ? "…\"" : "\"");
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

void display_number(Text *out, const UnitTable *units, double number, UnitId unit, double spread,
                    FormatSpec format) {
    if (display_has_spread(units, number, unit, spread, format))
        format_spread(out, number, spread, format);
    else
        add_rounded(out, units, number, unit, format);
}

static void add_quantity(Text *out, const UnitTable *units, double number, UnitId unit, double spread,
                         FormatSpec format) {
    if (unit == UNIT_DATE) {
        add_date(out, number);
        return;
    }
    display_number(out, units, number, unit, spread, format);
    display_unit(out, units, unit);
}

void display_quantity(Text *out, const UnitTable *units, double number, UnitId unit, FormatSpec format) {
    add_quantity(out, units, number, unit, 0, format);
}

/* How much is shown of an argument. */
typedef struct Room {
    uint32_t items; /* of a list or record */
    size_t text;    /* characters */
} Room;

typedef struct Show {
    Text *out;
    const UnitTable *units;
    FormatSpec format;
    bool literal;          /* full precision, as a script would write it */
    const double *spreads; /* one a number, or NULL */
    int shown;             /* numbers so far */
    bool counts;           /* they are only counted, and the first `room` of them taken */
    ShownNumber *numbers;
    int room;
    int depth;
    size_t end;         /* of the text, where lists and records break off */
    const Room *limits; /* of an argument; else NULL */
} Show;

enum { SPREADS_MOST = 1 << 20 }; /* numbers of one value whose ± is followed */

static void add_number(Show *show, double number, UnitId unit) {
    bool followed = show->shown < SPREADS_MOST;
    if (show->counts) {
        if (show->shown < show->room)
            show->numbers[show->shown] = (ShownNumber){.number = number, .unit = unit};
        show->shown += followed;
        return;
    }
    double spread = followed && show->spreads ? show->spreads[show->shown] : 0;
    show->shown++;
    add_quantity(show->out, show->units, number, unit, spread, show->format);
}

/* A beer has a bitterness and a colour, a cider has not. */
static void add_if_any(Show *show, const Liquid *liquid, LiquidProperty property, UnitId unit) {
    double number = 0;
    if (liquid_get(liquid, property, &number) != LIQUID_OK || number <= 0)
        return;
    text_add_string(show->out, ", ");
    add_number(show, number, unit);
}

static void add_liquid(Show *show, LiquidObject *object) {
    const Liquid *liquid = &object->liquid;
    if (liquid->form == LIQUID_DRY) {
        Value mass = liquid_value_mass(show->units, object);
        add_number(show, mass.as.number, mass.unit);
        text_add_string(show->out, message_text(PHRASE_DRY));
        return;
    }
    Value volume = liquid_value_volume(show->units, object);
    add_number(show, volume.as.number, volume.unit);
    if (liquid_mass_kg(liquid) <= 0)
        return; /* nothing has no gravity */
    text_add_string(show->out, ", ");
    add_number(show, liquid_gravity_sg(liquid), UNIT_SG);
    text_add_string(show->out, ", ");
    add_number(show, liquid_strength_abv(liquid), UNIT_ABV);
    add_if_any(show, liquid, LIQUID_BITTERNESS_MG_L, UNIT_IBU);
    add_if_any(show, liquid, LIQUID_COLOUR_EBC, UNIT_EBC);
}

enum { SHOWN_DEPTH = 100 }; /* a list nested deeper shows as [...] */

static void add_value(Show *show, Value value);

static bool breaks_off(const Show *show) {
    if (show->out->length <= show->end)
        return false;
    text_add_string(show->out, "...");
    return true;
}

/* How many items of so many are shown. */
static uint32_t items_shown(const Show *show, uint32_t count) {
    enum { NESTED_MAX = 2 }; /* what is nested deeper is only counted */
    uint32_t most = !show->limits ? count : show->depth > NESTED_MAX ? 0 : show->limits->items;
    return most < count ? most : count;
}

/* "… 12 in all", after those shown. */
static void add_count(Show *show, uint32_t shown, uint32_t count) {
    if (shown >= count)
        return;
    char *words = message_take(PHRASE_IN_ALL, ARGS(arg_whole(count)));
    text_add_string(show->out, shown ? ", … " : "");
    text_add_string(show->out, words);
    mem_free(words);
}

static void add_text(Show *show, const TextObject *text) {
    size_t length = text->length;
    if (show->limits && show->limits->text < length) {
        length = 0;
        for (size_t i = 0; i < show->limits->text && length < text->length; i++) {
            uint32_t code_point;
            size_t used = utf8_decode(text->bytes + length, text->length - length, &code_point);
            length += used ? used : 1;
        }
    }
    add_quoted(show->out, text, length);
}

static void add_list(Show *show, const ListObject *list) {
    uint32_t shown = items_shown(show, list->count);
    text_add_char(show->out, '[');
    for (uint32_t i = 0; i < shown; i++) {
        if (i)
            text_add_string(show->out, ", ");
        if (breaks_off(show))
            break;
        add_value(show, list->items[i]);
    }
    add_count(show, shown, list->count);
    text_add_char(show->out, ']');
}

static void add_record(Show *show, const RecordObject *record) {
    uint32_t shown = items_shown(show, record->count);
    text_add_char(show->out, '{');
    for (uint32_t i = 0; i < shown; i++) {
        if (i)
            text_add_string(show->out, ", ");
        if (breaks_off(show))
            break;
        if (is_name(record->fields[i].name))
            text_add_string(show->out, record->fields[i].name->bytes);
        else
            add_text(show, record->fields[i].name);
        text_add_string(show->out, ": ");
        add_value(show, record->fields[i].value);
    }
    add_count(show, shown, record->count);
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
    add_rounded(&usual, units, value.as.number, value.unit, (FormatSpec){0});
    if (format_read(text_string(&usual), usual.length, &read) && read == value.as.number)
        text_add(out, text_string(&usual), usual.length);
    else
        format_shortest(out, value.as.number);
    text_free(&usual);
    display_unit(out, units, value.unit);
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
            add_text(show, value.as.text);
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
    case TAG_FORMULA:
        text_add_string(show->out, value.as.formula->name);
        break;
    case TAG_NONE:
    case TAG_ABSENT:
        text_add_string(show->out, "none");
        break;
    }
    show->depth--;
}

bool display_rounds(const UnitTable *units, Value value, FormatSpec format, Fault *fault) {
    bool roundable = value_is_quantity(value)
                         ? value.unit != UNIT_DATE
                         : value.tag == TAG_LIST || value.tag == TAG_RECORD || value.tag == TAG_LIQUID;
    return format.mode == FORMAT_DEFAULT || roundable ||
           fault_set(fault, MSG_FORMAT_KIND,
                     ARGS(format.mode == FORMAT_PLACES ? "places" : "digits", arg_kind(units, value)));
}

void display_value_spread(Text *out, const UnitTable *units, Value value, FormatSpec format,
                          const double *spreads) {
    Show show = {
        .out = out, .units = units, .format = format, .spreads = spreads, .end = out->length + DISPLAY_MOST};
    add_value(&show, value);
}

void display_value(Text *out, const UnitTable *units, Value value, FormatSpec format) {
    display_value_spread(out, units, value, format, NULL);
}

int display_numbers(const UnitTable *units, Value value, ShownNumber *numbers, int room) {
    Text ignored = {0};
    Show show = {.out = &ignored,
                 .units = units,
                 .counts = true,
                 .numbers = numbers,
                 .room = room,
                 .end = DISPLAY_MOST};
    add_value(&show, value);
    text_free(&ignored);
    return show.shown;
}

void display_literal(Text *out, const UnitTable *units, Value value) {
    Show show = {.out = out, .units = units, .literal = true, .end = out->length + DISPLAY_MOST};
    add_value(&show, value);
}

void display_argument(Text *out, const UnitTable *units, Value value, DisplayWidth width) {
    static const Room rooms[] = {
        [DISPLAY_FULL] = {3, 40}, [DISPLAY_SHORT] = {1, 20}, [DISPLAY_TERSE] = {0, 8}};
    Show show = {.out = out,
                 .units = units,
                 .depth = value.tag == TAG_TEXT, /* in quotes */
                 .limits = &rooms[width],
                 .end = out->length + DISPLAY_MOST};
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

void display_operand(Text *out, const UnitTable *units, Value value, int digits, bool raised) {
    FormatSpec format = {.mode = FORMAT_DIGITS, .count = digits};
    bool number = value_is_quantity(value) && value.unit != UNIT_DATE;
    bool brackets = number && (value.as.number < 0 || (raised && value.unit != UNIT_NUMBER));
    Text plain = {0};
    double shown;
    if (value.tag == TAG_TEXT)
        display_literal(&plain, units, value);
    else
        display_value(&plain, units, value, (FormatSpec){0});
    size_t length = strspn(text_string(&plain), "-0123456789.e");
    bool exact = format_read(text_string(&plain), length, &shown) && !(shown < value.as.number) &&
                 !(shown > value.as.number);
    if (number && digits && !exact) {
        text_clear(&plain);
        display_value(&plain, units, value, format);
    }
    text_add_string(out, brackets ? "(" : "");
    text_add_string(out, text_string(&plain));
    text_add_string(out, brackets ? ")" : "");
    text_free(&plain);
}
