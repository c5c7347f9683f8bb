/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A small reader of quantities that stand in a text, apart from the scripts' own grammar: what comes from
 * files and pasted notes, where no expression is meant. */
#include "runtime/quantity_text.h"

#include <string.h>

#include "base/mem.h"
#include "numbers/calendar.h"
#include "numbers/format.h"

enum { SHOWN_BYTES = 60 }; /* of a text that is no quantity, in the message */

typedef struct Reader {
    const char *at, *end;
} Reader;

static bool starts(const Reader *reader, const char *sign) {
    size_t length = strlen(sign);
    return (size_t)(reader->end - reader->at) >= length && memcmp(reader->at, sign, length) == 0;
}

static bool accept(Reader *reader, const char *sign) {
    if (!starts(reader, sign))
        return false;
    reader->at += strlen(sign);
    return true;
}

/* Blanks of ASCII, and the no-break ones that pasted figures carry. */
static void skip_blanks(Reader *reader) {
    while (accept(reader, " ") || accept(reader, "\t") || accept(reader, "\u00A0") ||
           accept(reader, "\u202F"))
        ;
}

static Reader trimmed(const char *bytes, size_t length) {
    Reader reader = {bytes, bytes + length};
    skip_blanks(&reader);
    while (reader.end > reader.at && strchr(" \t\r\n", reader.end[-1]))
        reader.end--;
    return reader;
}

static bool at_digit(const char *at, const char *end) {
    return at < end && *at >= '0' && *at <= '9';
}

/* ---- numbers and dates ---- */

/* Digits, a point, digits, an exponent only when digits follow it ("5 e" would be a unit). */
static bool read_number(Reader *reader, double *number) {
    Reader scan = *reader;
    bool negative = accept(&scan, "-") || accept(&scan, "\u2212");
    if (!negative)
        accept(&scan, "+");
    const char *start = scan.at, *at = start;
    while (at < scan.end && (at_digit(at, scan.end) || *at == '.' || *at == '_'))
        at++;
    if (at < scan.end && (*at == 'e' || *at == 'E')) {
        const char *digits = at + 1;
        if (digits < scan.end && (*digits == '+' || *digits == '-'))
            digits++;
        if (at_digit(digits, scan.end)) {
            while (at_digit(digits, scan.end))
                digits++;
            at = digits;
        }
    }
    if (!format_read(start, (size_t)(at - start), number))
        return false;
    if (negative)
        *number = -*number;
    reader->at = at;
    return true;
}

static bool read_whole(Reader *reader, double *number) {
    const char *start = reader->at;
    while (at_digit(reader->at, reader->end))
        reader->at++;
    return reader->at > start && format_read(start, (size_t)(reader->at - start), number);
}

/* `½`, or `1/2` with nothing between. */
static bool read_fraction(Reader *reader, double *number) {
    Reader scan = *reader;
    double above = 0, below = 0;
    *number = accept(&scan, "\u00BC")   ? 0.25
              : accept(&scan, "\u00BD") ? 0.5
              : accept(&scan, "\u00BE") ? 0.75
                                        : 0;
    if (*number == 0) {
        if (!read_whole(&scan, &above) || !accept(&scan, "/") || !read_whole(&scan, &below) || below == 0)
            return false;
        *number = above / below;
    }
    *reader = scan;
    return true;
}

/* A fraction, or a mixed number (docs/reference/language.md, "Numbers, texts, dates"): `1/2 tsp`, `1 1/2
 * cup`, `1½ cup`. */
static bool read_mixed(Reader *reader, double *number) {
    Reader scan = *reader;
    double part = 0, whole = 0;
    bool negative = accept(&scan, "-") || accept(&scan, "\u2212");
    if (!read_fraction(&scan, &part)) {
        if (!read_whole(&scan, &whole))
            return false;
        skip_blanks(&scan);
        if (!read_fraction(&scan, &part))
            return false;
    }
    *number = negative ? -(whole + part) : whole + part;
    *reader = scan;
    return true;
}

bool quantity_text_number(const char *bytes, size_t length, double *number) {
    Reader reader = trimmed(bytes, length);
    return read_number(&reader, number) && reader.at == reader.end;
}

static bool digits_of(const char *bytes, int count, int *number) {
    *number = 0;
    for (int i = 0; i < count; i++) {
        if (!at_digit(bytes + i, bytes + count))
            return false;
        *number = *number * 10 + (bytes[i] - '0');
    }
    return true;
}

static bool has_date_form(const char *at, size_t length, CalendarDate *date) {
    return length == 10 && at[4] == '-' && at[7] == '-' && digits_of(at, 4, &date->year) &&
           digits_of(at + 5, 2, &date->month) && digits_of(at + 8, 2, &date->day);
}

bool quantity_text_date_like(const char *bytes, size_t length) {
    Reader reader = trimmed(bytes, length);
    CalendarDate date;
    return has_date_form(reader.at, (size_t)(reader.end - reader.at), &date);
}

bool quantity_text_date(const char *bytes, size_t length, double *days) {
    Reader reader = trimmed(bytes, length);
    CalendarDate date;
    if (!has_date_form(reader.at, (size_t)(reader.end - reader.at), &date) || !calendar_is_valid(date))
        return false;
    *days = (double)calendar_days(date);
    return true;
}

/* Two digits up to `most`. */
static bool read_two(Reader *reader, int most, int *number) {
    if (reader->end - reader->at < 2 || !digits_of(reader->at, 2, number) || *number > most)
        return false;
    reader->at += 2;
    return true;
}

/* ":30", ":30:15" or ":30:15.250" after the hour. */
static bool read_minutes(Reader *reader, double *seconds) {
    int minutes = 0, whole = 0;
    if (!accept(reader, ":") || !read_two(reader, 59, &minutes))
        return false;
    *seconds = 60.0 * minutes;
    if (!accept(reader, ":"))
        return true;
    if (!read_two(reader, 59, &whole))
        return false;
    *seconds += whole;
    if (!accept(reader, "."))
        return true;
    double place = 1;
    const char *start = reader->at;
    for (; at_digit(reader->at, reader->end); reader->at++)
        *seconds += (place /= 10) * (*reader->at - '0');
    return reader->at > start;
}

/* Z, +01:00, +0100, +01 or nothing. */
static bool read_zone(Reader *reader, double *seconds, bool *zoned) {
    int hours = 0, minutes = 0;
    *seconds = 0;
    *zoned = reader->at < reader->end;
    if (!*zoned || accept(reader, "Z"))
        return reader->at == reader->end;
    bool west = accept(reader, "-") || accept(reader, "\u2212");
    if ((!west && !accept(reader, "+")) || !read_two(reader, 14, &hours))
        return false;
    accept(reader, ":");
    if (reader->at < reader->end && !read_two(reader, 59, &minutes))
        return false;
    *seconds = (west ? -1 : 1) * (3600.0 * hours + 60.0 * minutes);
    return reader->at == reader->end;
}

bool quantity_text_moment(const char *bytes, size_t length, double *days, bool *zoned) {
    Reader reader = trimmed(bytes, length);
    int hours = 0;
    double seconds = 0, ahead = 0;
    *zoned = false;
    if (reader.end - reader.at < 10 || !quantity_text_date(reader.at, 10, days))
        return false;
    reader.at += 10;
    if (reader.at == reader.end)
        return true;
    if (!(accept(&reader, "T") || accept(&reader, " ")) || !read_two(&reader, 23, &hours) ||
        !read_minutes(&reader, &seconds) || !read_zone(&reader, &ahead, zoned))
        return false;
    *days += (3600.0 * hours + seconds - ahead) / 86400;
    return true;
}

/* ---- units ---- */

static bool fail_unknown(const UnitTable *units, const char *name, Fault *fault) {
    const char *best = NULL;
    int distance = 99;
    unit_nearest(units, name, &best, &distance);
    fault_set(fault, MSG_NATIVE_UNIT_UNKNOWN, ARGS(name));
    if (!*name)
        fault_hint(fault, "a unit stands on both sides of / and *, as in g/L");
    else if (best)
        fault_hint_with(fault, "did you mean %1?", ARGS(best));
    return false;
}

/* Up to the next operator or blank. */
static bool read_name(const UnitTable *units, Reader *reader, UnitId *unit, Fault *fault) {
    Text name = {0};
    static const char *const ends[] = {" ",      "\t",     "*",      "/",      "^",
                                       "\u00B7", "\u00B2", "\u00B3", "\u00A0", "\u202F"};
    while (reader->at < reader->end) {
        bool ended = false;
        for (size_t i = 0; i < sizeof ends / sizeof *ends; i++)
            ended = ended || starts(reader, ends[i]);
        if (ended)
            break;
        text_add_char(&name, *reader->at++);
    }
    bool known =
        unit_find(units, text_string(&name), true, unit) && *unit != UNIT_DATE && *unit != UNIT_NUMBER;
    bool found = known || fail_unknown(units, text_string(&name), fault);
    text_free(&name);
    return found;
}

/* `^2`, `^-1`, or a raised 2 or 3. */
static bool read_exponent(Reader *reader, int *exponent, Fault *fault) {
    *exponent = accept(reader, "\u00B2") ? 2 : accept(reader, "\u00B3") ? 3 : 1;
    if (!accept(reader, "^"))
        return true;
    int sign = accept(reader, "-") ? -1 : 1;
    if (!at_digit(reader->at, reader->end))
        return fault_set(fault, MSG_NATIVE_UNIT_EXPONENT, NO_ARGS);
    for (*exponent = 0; at_digit(reader->at, reader->end); reader->at++)
        if (*exponent < 1000)
            *exponent = *exponent * 10 + (*reader->at - '0');
    *exponent *= sign;
    return true;
}

static bool read_unit(UnitTable *units, Reader *reader, UnitId *unit, Fault *fault) {
    UnitFactor factors[UNIT_TERMS];
    int count = 0, sign = 1;
    for (;;) {
        int exponent = 1;
        skip_blanks(reader);
        if (count == UNIT_TERMS)
            return fault_set(fault, MSG_NATIVE_UNIT_LONG, NO_ARGS);
        if (!read_name(units, reader, &factors[count].unit, fault) ||
            !read_exponent(reader, &exponent, fault))
            return false;
        factors[count++].exponent = sign * exponent;
        skip_blanks(reader);
        if (accept(reader, "/"))
            sign = -1; /* divides by the one unit after it */
        else if (accept(reader, "*") || accept(reader, "\u00B7"))
            sign = 1;
        else
            break;
    }
    if (count == 1 && factors[0].exponent == 1) {
        *unit = factors[0].unit;
        return true;
    }
    return unit_compose(units, factors, count, unit, fault);
}

bool quantity_text_unit(UnitTable *units, const char *bytes, size_t length, UnitId *unit, Fault *fault) {
    Reader reader = trimmed(bytes, length);
    if (!read_unit(units, &reader, unit, fault))
        return false;
    if (reader.at == reader.end)
        return true;
    char *rest = mem_copy(reader.at, (size_t)(reader.end - reader.at));
    fail_unknown(units, rest, fault);
    mem_free(rest);
    return false;
}

/* The first comma as a point, where that makes one number of it. */
static void hint_comma(const char *shown, Fault *fault) {
    const char *comma = strchr(shown, ',');
    if (!comma || comma == shown || !at_digit(comma - 1, comma) || comma[1] < '0' || comma[1] > '9' ||
        strchr(comma + 1, ','))
        return;
    char *point = mem_copy_string(shown);
    point[comma - shown] = '.';
    fault_hint_with(fault, "with a point, never a comma: \"%1\"", ARGS(point));
    mem_free(point);
}

static bool fail_form(const char *bytes, size_t length, const char *hint, Fault *fault) {
    size_t cut = length < SHOWN_BYTES ? length : SHOWN_BYTES;
    while (cut < length && cut > 0 && (bytes[cut] & 0xC0) == 0x80)
        cut--; /* never inside a character */
    char *shown = mem_copy(bytes, cut);
    fault_set(fault, MSG_NATIVE_QUANTITY_FORM, ARGS(shown));
    if (hint)
        fault_hint(fault, hint);
    else
        hint_comma(shown, fault);
    mem_free(shown);
    return false;
}

bool quantity_text_read(UnitTable *units, const char *bytes, size_t length, Value *value, Fault *fault) {
    Reader reader = trimmed(bytes, length);
    double number = 0;
    UnitId unit = UNIT_NUMBER;
    if (quantity_text_date(bytes, length, &number)) {
        *value = value_reading(number, UNIT_DATE);
        return true;
    }
    bool fraction = read_mixed(&reader, &number);
    bool read = (fraction || read_number(&reader, &number)) && !starts(&reader, ",");
    skip_blanks(&reader);
    if (read && reader.at == reader.end && fraction)
        return fail_form(bytes, length, "a fraction has a unit after it, as in 1/2 tsp and 1 1/2 cup", fault);
    if (!read)
        return fail_form(bytes, length, NULL, fault);
    if (reader.at < reader.end &&
        !quantity_text_unit(units, reader.at, (size_t)(reader.end - reader.at), &unit, fault))
        return false;
    *value = value_quantity(units, number, unit);
    return true;
}
