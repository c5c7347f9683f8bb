/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rounding a value and its uncertainty to one place. */
#include "numbers/format_spread.h"

/* Writes a rounded decimal with so many places; none for negative ones (12340). */
static void write_decimal(Text *out, const Decimal *decimal, int places) {
    int shown = places > 0 ? places : 0;
    if (decimal->negative && decimal->count)
        text_add_char(out, '-');
    int whole = decimal->count && decimal->exponent > 0 ? decimal->exponent : 0;
    if (whole == 0)
        text_add_char(out, '0');
    for (int i = 0; i < whole; i++)
        text_add_char(out, i < decimal->count ? decimal->digits[i] : '0');
    if (shown)
        text_add_char(out, '.');
    for (int place = 0; place < shown; place++) {
        int at = decimal->exponent + place;
        text_add_char(out, decimal->count && at >= 0 && at < decimal->count ? decimal->digits[at] : '0');
    }
}

/* The places that keep so many significant digits once they are rounded (0.0996 with two is 0.10). */
static int places_for(double number, int digits) {
    Decimal decimal = format_decimal(number);
    int places = digits - decimal.exponent;
    format_round(&decimal, places);
    return decimal.count ? digits - decimal.exponent : places;
}

static bool vanishes(double number, int places) {
    Decimal decimal = format_decimal(number);
    format_round(&decimal, places);
    return decimal.count == 0;
}

/* The power of ten that both numbers are written with, that of the larger; 0 where it takes none. */
static int shared_exponent(double number, double uncertainty) {
    Decimal value = format_decimal(number), spread = format_decimal(uncertainty);
    int size = spread.exponent;
    if (value.count && value.exponent > size)
        size = value.exponent;
    return size > FORMAT_WHOLE_MOST || size < -FORMAT_WHOLE_MOST ? size - 1 : 0;
}

static void write_shifted(Text *out, Decimal decimal, int places, int power) {
    decimal.exponent -= power;
    write_decimal(out, &decimal, places + power);
    if (!power)
        return;
    text_add_char(out, 'e');
    text_add_integer(out, power);
}

int format_spread_places(double uncertainty) {
    return places_for(uncertainty, 2);
}

void format_spread(Text *out, double number, double uncertainty, FormatSpec format) {
    int places = places_for(uncertainty, 2), power = shared_exponent(number, uncertainty);
    if (format.mode == FORMAT_PLACES && !power)
        places = format.count;
    else if (format.mode == FORMAT_DIGITS && number != 0)
        places = places_for(number, format.count > 0 ? format.count : 1);
    if (places + power > FORMAT_WHOLE_MOST)
        places = FORMAT_WHOLE_MOST - power;
    int spread_places = vanishes(uncertainty, places) ? places_for(uncertainty, 1) : places;
    Decimal value = format_decimal(number), spread = format_decimal(uncertainty);
    format_round(&value, places);
    format_round(&spread, spread_places);
    write_shifted(out, value, places, power);
    text_add_string(out, " ± ");
    write_shifted(out, spread, spread_places, power);
}
