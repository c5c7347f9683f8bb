/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Doubles to characters: the one place that does it, the same under any locale.
 *
 * Rounding is half to even on the shortest decimal that reads back as the same double (so 2.675 to 2 places
 * is 2.68, 0.125 to 2 places 0.12). A minus sign is dropped when nothing but zeros is left. */
#ifndef RUNDLET_FORMAT_H
#define RUNDLET_FORMAT_H

#include <stdbool.h>
#include "base/text.h"

/* `to 2 places`, `to 3 digits`, or the unit's own rule. */
typedef enum FormatMode { FORMAT_DEFAULT, FORMAT_PLACES, FORMAT_DIGITS } FormatMode;
typedef struct FormatSpec {
    FormatMode mode;
    int count; /* 0 to 15 */
} FormatSpec;

/* The shortest decimal of a finite double: digits without leading or trailing zeros, value = 0.d1d2d3… ×
 * 10^exponent. */
typedef struct Decimal {
    bool negative;
    int count; /* 0 for zero */
    int exponent;
    char digits[32];
} Decimal;

Decimal format_decimal(double number);
void format_round(Decimal *decimal, int places); /* keep so many digits after the point (may be negative) */

void format_places(Text *out, double number,
                   int places); /* fixed, 0 to 15 (more zeros are written if asked) */
void format_digits(Text *out, double number, int digits); /* significant digits, zeros kept: 2.500 */
void format_plain(Text *out, double number); /* 4 significant digits but all before the point, trailing zeros
                                                dropped; an exponent (1.235e9) only outside 1e-4 … 1e9 */
void format_shortest(Text *out, double number); /* full precision, reads back the same */

/* Reads a decimal number as scripts write it ("1050", "1.050", "2.5e-3", "1_000", no spaces, no locale),
 * correctly rounded; a `-` may be before it. Digits are on both sides of a point. False if it is none or
 * overflows; what is too small to be told from zero is 0. */
bool format_read(const char *bytes, size_t length, double *number);

#endif
