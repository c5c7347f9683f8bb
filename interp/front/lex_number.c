/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers, fractions and dates (docs/reference/language.md, "Numbers, texts, dates"), read without the C
 * library's idea of a decimal point. */
#include "front/lex_state.h"

#include <string.h>

#include "base/mem.h"
#include "numbers/calendar.h"
#include "numbers/format.h"

/* ---- digits to a double ---- */

/* What is between start and end, `_` and a pasted minus in it allowed. False when it is too large. */
static bool read_decimal(const char *text, size_t start, size_t end, double *value) {
    static const char minus_sign[] = "\xE2\x88\x92";
    bool plain = true;
    for (size_t at = start; at < end && plain; at++)
        plain = text[at] != '_' && (unsigned char)text[at] < 0x80;
    if (plain)
        return format_read(text + start, end - start, value);
    Text clean = {0};
    for (size_t at = start; at < end; at++) {
        bool minus = strncmp(text + at, minus_sign, 3) == 0;
        if (minus)
            at += 2;
        if (minus || text[at] != '_')
            text_add_char(&clean, minus ? '-' : text[at]);
    }
    bool good = format_read(text_string(&clean), clean.length, value);
    text_free(&clean);
    return good;
}

bool lex_vulgar_fraction(uint32_t code_point, double *value) {
    switch (code_point) {
    case 0xBC:
        *value = 0.25;
        return true;
    case 0xBD:
        *value = 0.5;
        return true;
    case 0xBE:
        *value = 0.75;
        return true;
    default:
        return false;
    }
}

/* ---- dates ---- */

static int read_integer(const char *text, size_t start, size_t length) {
    int value = 0;
    for (size_t i = 0; i < length; i++)
        value = value * 10 + (text[start + i] - '0');
    return value;
}

static size_t count_digits(const char *text, size_t at) {
    size_t count = 0;
    while (lex_is_digit_byte(text[at + count]))
        count++;
    return count;
}

static void report_date_digits(Lexer *lexer, Span span, CalendarDate date) {
    bool possible = calendar_is_valid(date);
    Text right = {0};
    text_add(&right, lexer->text + span.start, 4);
    text_add_string(&right, date.month < 10 ? "-0" : "-");
    text_add_integer(&right, date.month);
    text_add_string(&right, date.day < 10 ? "-0" : "-");
    text_add_integer(&right, date.day);
    char *typed = mem_copy(lexer->text + span.start, span.end - span.start);
    lex_report(lexer, MSG_DATE_DIGITS, span, ARGS(typed, possible ? text_string(&right) : "2027-02-14"));
    mem_free(typed);
    text_free(&right);
}

/* `2027-02-14T18:30`, as loggers write it, would otherwise be a date with a strange unit. */
static void report_time(Lexer *lexer, Token *token) {
    size_t end = lexer->at + 1;
    while (lex_is_digit_byte(lexer->text[end]) || (lexer->text[end] && strchr(":.Z+-", lexer->text[end])))
        end++;
    char *date = mem_copy(lexer->text + token->span.start, lexer->at - token->span.start);
    token->span.end = (uint32_t)(lexer->at = end);
    lex_report(lexer, MSG_DATE_TIME, token->span, ARGS(date));
    mem_free(date);
}

/* Four digits, `-`, one or two, `-`, one to three, all touching, are meant as a date and never subtract. */
static bool read_date(Lexer *lexer, Token *token, size_t start) {
    const char *text = lexer->text;
    size_t months = text[start + 4] == '-' ? count_digits(text, start + 5) : 0;
    if (months < 1 || months > 2 || text[start + 5 + months] != '-')
        return false;
    size_t day_at = start + 6 + months;
    size_t days = count_digits(text, day_at);
    if (days < 1 || days > 3)
        return false;
    CalendarDate date = {.year = read_integer(text, start, 4),
                         .month = read_integer(text, start + 5, months),
                         .day = read_integer(text, day_at, days)};
    lexer->at = day_at + days;
    token->type = TOKEN_DATE;
    token->span = lex_span(start, lexer->at);
    if (months != 2 || days != 2) {
        report_date_digits(lexer, token->span, date);
    } else if (!calendar_is_valid(date)) {
        char *typed = mem_copy(text + start, lexer->at - start);
        lex_report(lexer, MSG_DATE_IMPOSSIBLE, token->span, ARGS(typed));
        mem_free(typed);
    } else {
        token->number = (double)calendar_days(date);
        if (text[lexer->at] == 'T' && lex_is_digit_byte(text[lexer->at + 1]))
            report_time(lexer, token);
    }
    return true;
}

static void add_iso_date(Text *out, int year, int month, int day) {
    CalendarDate date = {.year = year, .month = month, .day = day};
    if (!calendar_is_valid(date))
        return;
    message_add_joint(out, out->length == 0, true, PHRASE_JOINED_OR);
    text_add_integer(out, year);
    text_add_string(out, month < 10 ? "-0" : "-");
    text_add_integer(out, month);
    text_add_string(out, day < 10 ? "-0" : "-");
    text_add_integer(out, day);
}

/* `02/14/2027`, `10-02-2027`, `1.10.2027`: one or two digits, the same again, four digits. */
typedef struct PartedDate {
    size_t end;
    int first, middle, year;
    bool ordered; /* first is the month, middle the day */
} PartedDate;

/* `2027/10/1`, the year first. */
static bool find_year_first(const Lexer *lexer, size_t start, size_t end, PartedDate *date) {
    const char *text = lexer->text;
    size_t middle = end - start == 4 && text[end] == '/' ? count_digits(text, end + 1) : 0;
    size_t third = end + 1 + middle + 1,
           last = middle && text[third - 1] == '/' ? count_digits(text, third) : 0;
    if (last < 1 || last > 2 || middle > 2 || lex_is_letter_byte(text[third + last]) ||
        (text[third + last] && strchr("/.^", text[third + last])))
        return false;
    *date = (PartedDate){.end = third + last,
                         .first = read_integer(text, end + 1, middle),
                         .middle = read_integer(text, third, last),
                         .year = read_integer(text, start, 4),
                         .ordered = true};
    return date->year >= 1900 && date->year < 2200;
}

/* Numbers parted by `sign`, from `start` on, where the first number ends at `end`. */
static bool find_parted_date(const Lexer *lexer, size_t start, size_t end, char sign, PartedDate *date) {
    const char *text = lexer->text;
    size_t second = end + 1, digits = text[end] == sign && end - start <= 2 ? count_digits(text, second) : 0;
    size_t third = second + digits + 1;
    if (digits < 1 || digits > 2 || text[third - 1] != sign || count_digits(text, third) != 4 ||
        lex_is_letter_byte(text[third + 4]) || text[third + 4] == sign)
        return false;
    if (start > 0 && strchr("/^-.", text[start - 1]))
        return false;
    *date = (PartedDate){.end = third + 4,
                         .first = read_integer(text, start, end - start),
                         .middle = read_integer(text, second, digits),
                         .year = read_integer(text, third, 4)};
    return date->year >= 1900 && date->year < 2200;
}

/* With spaces around its signs. */
static void add_spaced(Text *out, const char *typed, char sign) {
    for (const char *p = typed; *p; p++) {
        bool apart = *p == sign;
        text_add_string(out, apart ? " " : "");
        text_add_char(out, *p);
        text_add_string(out, apart ? " " : "");
    }
}

/* `02/14/2027` would divide twice, `10-02-2027` subtract, and neither was hardly meant to. False when no day
 * of our time can be read in it. */
static bool read_signed_date(Lexer *lexer, Token *token, size_t start, size_t end, char sign) {
    PartedDate date;
    bool year_first = sign == '/' && find_year_first(lexer, start, end, &date);
    if (!year_first && !find_parted_date(lexer, start, end, sign, &date))
        return false;
    Text iso = {0}, apart = {0};
    add_iso_date(&iso, date.year, date.first, date.middle);
    if (date.first != date.middle && !date.ordered)
        add_iso_date(&iso, date.year, date.middle, date.first);
    bool found = iso.length > 0;
    if (found) {
        char *typed = mem_copy(lexer->text + start, date.end - start);
        add_spaced(&apart, typed, sign);
        lexer->at = date.end;
        token->type = TOKEN_DATE;
        token->span = lex_span(start, lexer->at);
        lex_report(lexer, sign == '/' ? MSG_DATE_SLASHES : MSG_DATE_HYPHENS, token->span,
                   ARGS(typed, text_string(&iso), text_string(&apart)));
        mem_free(typed);
    }
    text_free(&iso);
    text_free(&apart);
    return found;
}

/* The line with one reading of a date in place of `whole`; "" when there is no such day. `comma`: a text
 * follows, as in `event`, and a comma goes before it. */
static void add_dated_line(const Lexer *lexer, Span whole, int year, int month, int day, bool comma,
                           Text *out) {
    Text iso = {0};
    add_iso_date(&iso, year, month, day);
    bool possible = iso.length > 0;
    text_add_string(&iso, comma ? "," : "");
    if (possible && lexer->literal)
        text_add_string(out, text_string(&iso));
    else if (possible)
        lex_line_with(lexer, whole.start, whole, text_string(&iso), out);
    text_free(&iso);
}

/* `1.10.2027`: the day first, as where points are written; the month first too, if that is a date. */
static bool read_pointed_date(Lexer *lexer, Token *token, size_t start, size_t end) {
    PartedDate date;
    if (!find_parted_date(lexer, start, end, '.', &date))
        return false;
    size_t bytes, next = lex_skip_blanks(lexer, date.end);
    bool text_follows = lex_quote_at(lexer, next, &bytes) != 0;
    Span whole = lex_span(start, date.end);
    Text line = {0}, other = {0};
    add_dated_line(lexer, whole, date.year, date.middle, date.first, text_follows, &line);
    if (date.first != date.middle)
        add_dated_line(lexer, whole, date.year, date.first, date.middle, text_follows, &other);
    bool found = line.length > 0 || other.length > 0;
    if (found) {
        char *typed = mem_copy(lexer->text + start, date.end - start);
        bool either = line.length && other.length;
        MessageArg only = arg_text(text_string(line.length ? &line : &other));
        lexer->at = date.end;
        token->type = text_follows ? TOKEN_BAD : TOKEN_DATE; /* the comma is reported as well */
        token->span = whole;
        Diag *diag = lex_report(lexer, MSG_DATE_POINTS, whole,
                                ARGS(typed, either ? only : arg_mending(only, MENDS_LINE | SURELY)));
        if (diag && either)
            diag_hint(diag, HINT_EITHER_LINE, ARGS(text_string(&line), text_string(&other)));
        mem_free(typed);
    }
    text_free(&line);
    text_free(&other);
    return found;
}

/* ---- numbers ---- */

/* Past digits and single `_` between them. */
static size_t skip_digits(Lexer *lexer, size_t at) {
    const char *text = lexer->text;
    for (;; at++) {
        if (lex_is_digit_byte(text[at]))
            continue;
        if (text[at] != '_')
            return at;
        if (!lex_is_digit_byte(text[at + 1])) {
            lex_report(lexer, MSG_NUMBER_UNDERSCORE, lex_span(at, at + 1), NO_ARGS);
            while (text[at] == '_')
                at++;
            if (!lex_is_digit_byte(text[at]))
                return at;
        }
    }
}

/* Past `e-3`, if a digit follows the `e`: else it is a word. */
static size_t skip_exponent(const char *text, size_t at) {
    static const char minus_sign[] = "\xE2\x88\x92";
    if (text[at] != 'e' && text[at] != 'E')
        return at;
    size_t digits_at = at + 1;
    if (text[digits_at] == '-' || text[digits_at] == '+')
        digits_at++;
    else if (strncmp(text + digits_at, minus_sign, 3) == 0)
        digits_at += 3;
    return lex_is_digit_byte(text[digits_at]) ? digits_at + count_digits(text, digits_at) : at;
}

/* Digits on both sides of a touching `/`, then a unit: `1/2 tsp`. */
static bool read_fraction(Lexer *lexer, size_t at, double *value, size_t *end) {
    const char *text = lexer->text;
    size_t slash = at + count_digits(text, at);
    size_t digits = text[slash] == '/' ? count_digits(text, slash + 1) : 0;
    size_t after = slash + 1 + digits;
    if (slash == at || digits == 0 || !lex_starts_unit(lexer, lex_skip_blanks(lexer, after)))
        return false;
    double above = 0, below = 0;
    bool fits = read_decimal(text, at, slash, &above) && read_decimal(text, slash + 1, after, &below);
    if (!fits || below == 0) {
        lex_report(lexer, fits ? MSG_FRACTION_ZERO : MSG_NUMBER_TOO_LARGE, lex_span(at, after), NO_ARGS);
        below = 1;
    }
    *value = above / below;
    *end = after;
    return true;
}

/* What may follow whole digits: `/2` of a fraction, ` 1/2` or `½` of a mixed number. */
static size_t read_fraction_part(Lexer *lexer, size_t start, size_t end, double *value) {
    size_t after, bytes;
    if (read_fraction(lexer, start, value, &after))
        return after;
    size_t next = lex_skip_blanks(lexer, end);
    double part;
    if (lex_is_digit_byte(lexer->text[next]))
        return next > end && read_fraction(lexer, next, &part, &after) ? (*value += part, after) : end;
    if ((unsigned char)lexer->text[next] == 0xC2 &&
        lex_vulgar_fraction(lex_code_point(lexer, next, &bytes), &part)) {
        *value += part;
        return next + bytes;
    }
    return end;
}

/* `100.000,5`, `1.5,5`: a point and a comma. Points between groups of three are left out in what one number
 * would be. */
static size_t report_point_comma(Lexer *lexer, size_t start, size_t comma) {
    const char *text = lexer->text;
    size_t end = comma + 1 + count_digits(text, comma + 1), point = start + count_digits(text, start);
    bool grouped = text[point] == '.' && count_digits(text, point + 1) == 3 && point + 4 == comma;
    Text one = {0}, two = {0};
    text_add(&one, text + start, point - start);
    if (!grouped)
        text_add_char(&one, '.');
    text_add(&one, text + point + 1, comma - point - 1);
    if (grouped)
        text_add_char(&one, '.');
    text_add(&one, text + comma + 1, end - comma - 1);
    text_add(&two, text + start, comma - start);
    text_add_string(&two, ", ");
    text_add(&two, text + comma + 1, end - comma - 1);
    char *typed = mem_copy(text + start, end - start);
    lex_report(lexer, MSG_NUMBER_COMMA, lex_span(start, end),
               ARGS(typed, text_string(&one), text_string(&two)));
    mem_free(typed);
    text_free(&one);
    text_free(&two);
    return end;
}

/* `1,5` outside brackets: a decimal comma, or two things without a space? Reads on as if it were a point. */
static size_t report_comma(Lexer *lexer, size_t start, size_t comma) {
    const char *text = lexer->text;
    size_t digits = count_digits(text, comma + 1);
    size_t end = comma + 1 + digits;
    char *typed = mem_copy(text + start, end - start);
    char *point = mem_copy(text + start, end - start);
    point[comma - start] = '.';
    Text whole = {0}, two = {0};
    text_add(&whole, text + start, comma - start);
    text_add(&two, text + start, comma - start);
    text_add(&whole, text + comma + 1, digits);
    text_add_string(&two, ", ");
    text_add(&two, text + comma + 1, digits);
    MessageId id = digits == 3 ? MSG_NUMBER_COMMA_THOUSANDS : MSG_NUMBER_COMMA;
    lex_report(lexer, id, lex_span(start, end), ARGS(typed, point, text_string(&two), text_string(&whole)));
    mem_free(typed);
    mem_free(point);
    text_free(&whole);
    text_free(&two);
    return end;
}

static void report_typed(Lexer *lexer, MessageId id, size_t start, size_t end) {
    char *typed = mem_copy(lexer->text + start, end - start);
    lex_report(lexer, id, lex_span(start, end), ARGS(typed));
    mem_free(typed);
}

/* The `.5` after whole digits. Sets `decimal` when there was one. */
static size_t read_point(Lexer *lexer, size_t start, size_t end, bool *decimal) {
    const char *text = lexer->text;
    if (text[end] != '.')
        return end;
    if (text[end + 1] == '.' && lex_is_digit_byte(text[end + 2]))
        return end; /* `1..10`: the parser says what it thinks of it */
    if (!lex_is_digit_byte(text[end + 1])) {
        if (lex_is_letter_byte(text[end + 1]))
            return end; /* `5.name`: the parser says what it thinks of it */
        report_typed(lexer, MSG_NUMBER_POINT_END, start, end);
        *decimal = true;
        return end + 1;
    }
    *decimal = true;
    end = skip_digits(lexer, end + 1);
    if (text[end] == '.' && lex_is_digit_byte(text[end + 1])) {
        size_t wrong = end;
        while (text[wrong] == '.' && lex_is_digit_byte(text[wrong + 1]))
            wrong = skip_digits(lexer, wrong + 1);
        report_typed(lexer, MSG_NUMBER_TWO_POINTS, start, wrong);
        lexer->at = wrong; /* how far it was read; the value ends at the second point */
    }
    return end;
}

/* After `^` whole digits stand for themselves: `m^2/3 g` divides. */
static bool is_exponent(const Lexer *lexer, size_t start) {
    if (start > 0 && lexer->text[start - 1] == '-')
        start--;
    return start > 0 && lexer->text[start - 1] == '^';
}

/* The digits, point and exponent; `digits_only` is set. */
static void read_plain(Lexer *lexer, Token *token, size_t start, size_t end) {
    bool decimal = false;
    size_t digits_end = read_point(lexer, start, end, &decimal);
    if (lexer->text[digits_end - 1] == '.') /* `5.`, reported */
        end = digits_end - 1;
    else
        end = digits_end;
    if (lexer->at < digits_end)
        lexer->at = digits_end;
    size_t after = skip_exponent(lexer->text, lexer->at);
    token->digits_only = !decimal && after == lexer->at;
    if (end == lexer->at)
        end = after;
    lexer->at = after;
    if (!read_decimal(lexer->text, start, end, &token->number))
        lex_report(lexer, MSG_NUMBER_TOO_LARGE, lex_span(start, after), NO_ARGS);
}

void lex_read_number(Lexer *lexer, Token *token) {
    size_t start = lexer->at, bytes;
    token->type = TOKEN_NUMBER;
    if (!lex_is_digit_byte(lexer->text[start])) {
        lex_vulgar_fraction(lex_code_point(lexer, start, &bytes), &token->number);
        lexer->at = start + bytes;
        return;
    }
    size_t end = skip_digits(lexer, start);
    if (end - start == 4 && count_digits(lexer->text, start) == 4 && read_date(lexer, token, start))
        return;
    if (read_signed_date(lexer, token, start, end, '/') || read_signed_date(lexer, token, start, end, '-') ||
        read_pointed_date(lexer, token, start, end))
        return;
    read_plain(lexer, token, start, end);
    bool comma =
        lexer->text[lexer->at] == ',' && lex_is_digit_byte(lexer->text[lexer->at + 1]) && !lexer->in_brackets;
    if (!token->digits_only && comma && memchr(lexer->text + start, '.', lexer->at - start))
        lexer->at = report_point_comma(lexer, start, lexer->at);
    if (!token->digits_only || is_exponent(lexer, start))
        return;
    end = lexer->at;
    lexer->at = read_fraction_part(lexer, start, end, &token->number);
    token->digits_only = lexer->at == end;
    if (token->digits_only && comma)
        lexer->at = report_comma(lexer, start, end);
}
