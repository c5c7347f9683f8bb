/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Doubles to decimal text and back, without the C library's formatting and without its locale.
 *
 * Every way of printing starts from one decimal: the shortest that reads back as the same double and, among
 * those, the closest. It is found with integers alone, by R. Giulietti's method ("The Schubfach way to render
 * doubles", 2020, revised 2022): with k chosen so that 10^k is just below the spacing of doubles, at most the
 * two multiples of 10^k beside the number, and the two of 10^(k+1), need to be looked at. It needs 10^-k to
 * 126 bits, for 617 values of k. These come from 24 stored powers 10^(27 i), 192 bits each, times an exact
 * 5^j: the product cut to 126 bits is right for every k in use (checked with integers of any length;
 * test_format compares with the C library). */
#include "numbers/format.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

__extension__ typedef unsigned __int128 Wide;

enum { POWER_STEP = 27, POWER_FIRST = -11, POWER_ROWS = 24 };

/* 10^(27 i), i from -11: the top 192 bits, most significant word first, the highest bit set, cut off. */
static const uint64_t TEN_POWERS[POWER_ROWS][3] = {
    {0xA76C582338ED2621, 0xAF2AF2B80AF6F24E, 0x657C8F4D43323A36}, /* 10^-297 */
    {0x873E4F75E2224E68, 0x5A7744A6E804A291, 0xCC35EDDFCF0996D7}, /* 10^-270 */
    {0xDA7F5BF590966848, 0xAF39A475506A899E, 0xA30294CC2934E662}, /* 10^-243 */
    {0xB080392CC4349DEC, 0xBD8D794D96AACFB3, 0xFE13A5C86AF64418}, /* 10^-216 */
    {0x8E938662882AF53E, 0x547EB47B7282EE9C, 0x41B0230E1421487D}, /* 10^-189 */
    {0xE65829B3046B0AFA, 0x0CB4A5A3112A5112, 0xA3B561B1CB208396}, /* 10^-162 */
    {0xBA121A4650E4DDEB, 0x92F34D62616CE413, 0x21A0183E10583CD3}, /* 10^-135 */
    {0x964E858C91BA2655, 0x3A6A07F8D510F86F, 0xE9082F25E9C5E9EC}, /* 10^-108 */
    {0xF2D56790AB41C2A2, 0xFAE27299423FB9C3, 0x3695DAD7E8858901}, /* 10^-81 */
    {0xC428D05AA4751E4C, 0xAA97E14C3C26B886, 0x96842DC95323F5A8}, /* 10^-54 */
    {0x9E74D1B791E07E48, 0x775EA264CF55347D, 0xCA49F1C05120C9C7}, /* 10^-27 */
    {0x8000000000000000, 0x0000000000000000, 0x0000000000000000}, /* 10^0 */
    {0xCECB8F27F4200F3A, 0x0000000000000000, 0x0000000000000000}, /* 10^27 */
    {0xA70C3C40A64E6C51, 0x999090B65F67D924, 0x0000000000000000}, /* 10^54 */
    {0x86F0AC99B4E8DAFD, 0x69A028BB3DED71A3, 0xDF9F915627C04E28}, /* 10^81 */
    {0xDA01EE641A708DE9, 0xE80E6F4820CC9495, 0xD74BAAD03BC1D8D3}, /* 10^108 */
    {0xB01AE745B101E9E4, 0x5EC05DCFF72E7F8F, 0xC04C79FFE324301F}, /* 10^135 */
    {0x8E41ADE9FBEBC27D, 0x14588F13BE847307, 0x23BD6A2059C002F5}, /* 10^162 */
    {0xE5D3EF282A242E81, 0x8F1668C8A86DA5FA, 0xF0B5CCF5176ECC7C}, /* 10^189 */
    {0xB9A74A0637CE2EE1, 0x6D953E2BD7173692, 0x88EFB0037AC08BDE}, /* 10^216 */
    {0x95F83D0A1FB69CD9, 0x4ABDAF101564F98E, 0x0D5A4AF7B3A98E47}, /* 10^243 */
    {0xF24A01A73CF2DCCF, 0xBC633B39673C8CEC, 0x3D9C44CD2F36917C}, /* 10^270 */
    {0xC3B8358109E84F07, 0x0A862F80EC4700C8, 0x02606EA01029DC37}, /* 10^297 */
    {0x9E19DB92B4E31BA9, 0x6C07A2C26A8346D1, 0x4944D9F52CD0DEC2}, /* 10^324 */
};

/* 5^j for j = 0 … 26, shifted left until the highest bit is set: 10^j except for a power of two. */
static const uint64_t FIVE_POWERS[POWER_STEP] = {
    0x8000000000000000, 0xA000000000000000, 0xC800000000000000, 0xFA00000000000000, 0x9C40000000000000,
    0xC350000000000000, 0xF424000000000000, 0x9896800000000000, 0xBEBC200000000000, 0xEE6B280000000000,
    0x9502F90000000000, 0xBA43B74000000000, 0xE8D4A51000000000, 0x9184E72A00000000, 0xB5E620F480000000,
    0xE35FA931A0000000, 0x8E1BC9BF04000000, 0xB1A2BC2EC5000000, 0xDE0B6B3A76400000, 0x8AC7230489E80000,
    0xAD78EBC5AC620000, 0xD8D726B7177A8000, 0x878678326EAC9000, 0xA968163F0A57B400, 0xD3C21BCECCEDA100,
    0x84595161401484A0, 0xA56FA5B99019A5C8,
};

/* ---- the shortest decimal ---- */

#define LOW_63 (UINT64_MAX >> 1)

/* A power of ten times a power of two: high × 2^63 + low, 126 bits and rounded up. */
typedef struct Power {
    uint64_t high;
    uint64_t low;
} Power;

static Power power_of_ten(int exponent) {
    int row = (exponent - POWER_FIRST * POWER_STEP) / POWER_STEP;
    const uint64_t *ten = TEN_POWERS[row];
    Wide five = FIVE_POWERS[exponent - (row + POWER_FIRST) * POWER_STEP];
    Wide carry = (five * ten[1] + (five * ten[2] >> 64)) >> 64;
    Wide product = five * ten[0] + carry; /* the upper half of 256 bits, of which 255 or 256 are in use */
    Wide top = (product >> (product >> 127 ? 2 : 1)) + 1;
    return (Power){(uint64_t)(top >> 63), (uint64_t)top & LOW_63};
}

/* power × number / 2^126, rounded down, with the last bit set when anything was cut off. */
static uint64_t scaled(Power power, uint64_t number) {
    uint64_t tail = (uint64_t)((Wide)power.low * number >> 64);
    Wide product = (Wide)power.high * number;
    uint64_t middle = ((uint64_t)product >> 1) + tail;
    uint64_t whole = (uint64_t)(product >> 64) + (middle >> 63);
    return whole | ((middle & LOW_63) != 0);
}

static int floor_shift(int64_t number, int bits) {
    return (int)(number < 0 ? -((-number + ((int64_t)1 << bits) - 1) >> bits) : number >> bits);
}

/* Logarithms as fixed-point products (Giulietti 2020, section 8): floor(e log10 2), floor(e log10 2 + log10
 * 3/4), floor(e log2 10). */
static int log10_of_power_of_two(int e) {
    return floor_shift(e * 661971961083LL, 41);
}
static int log10_of_three_quarters(int e) {
    return floor_shift(e * 661971961083LL - 274743187321LL, 41);
}
static int log2_of_power_of_ten(int e) {
    return floor_shift(e * 913124641741LL, 38);
}

/* c × 2^q, c > 0, as the shortest whole number × 10^k within the doubles' rounding interval. */
static uint64_t shortest(uint64_t c, int q, bool lowest_of_binade, int *exponent) {
    uint64_t odd = c & 1; /* an even c owns the ends of its interval */
    int k = lowest_of_binade ? log10_of_three_quarters(q) : log10_of_power_of_two(q);
    int shift = q + log2_of_power_of_ten(-k) + 2;
    Power power = power_of_ten(-k);
    uint64_t number = c << 2; /* all in quarters */
    uint64_t at = scaled(power, number << shift);
    uint64_t from = scaled(power, (number - (lowest_of_binade ? 1 : 2)) << shift) + odd;
    uint64_t to = scaled(power, (number + 2) << shift) - odd;
    uint64_t below = at >> 2;
    if (below >= 10) {
        uint64_t tens = below / 10;
        bool low_fits = from <= 40 * tens, high_fits = 40 * tens + 40 <= to;
        if (low_fits != high_fits) {
            *exponent = k + 1;
            return high_fits ? tens + 1 : tens;
        }
    }
    *exponent = k;
    bool low_fits = from <= 4 * below, high_fits = 4 * below + 4 <= to;
    if (low_fits != high_fits)
        return high_fits ? below + 1 : below;
    uint64_t half = 4 * below + 2;
    return at < half || (at == half && (below & 1) == 0) ? below : below + 1;
}

/* number × 10^exponent into digits without zeros at their end. */
static void set_digits(Decimal *decimal, uint64_t number, int exponent) {
    char digits[20];
    int first = sizeof digits;
    while (number >= 100) {
        unsigned pair = (unsigned)(number % 100);
        number /= 100;
        digits[--first] = (char)('0' + pair % 10);
        digits[--first] = (char)('0' + pair / 10);
    }
    if (number >= 10)
        digits[--first] = (char)('0' + number % 10);
    digits[--first] = (char)('0' + (number >= 10 ? number / 10 : number));
    int end = sizeof digits;
    decimal->exponent = end - first + exponent;
    while (end > first && digits[end - 1] == '0')
        end--;
    decimal->count = end - first;
    memcpy(decimal->digits, digits + first, (size_t)decimal->count);
}

Decimal format_decimal(double number) {
    assert(isfinite(number));
    Decimal decimal = {.negative = signbit(number) != 0};
    double size = fabs(number);
    if (size == 0)
        return decimal;
    if (size < 0x1p53 && size == (double)(uint64_t)size) { /* whole: it is its own shortest */
        set_digits(&decimal, (uint64_t)size, 0);
        return decimal;
    }
    uint64_t bits;
    memcpy(&bits, &size, sizeof bits);
    int biased = (int)(bits >> 52);
    uint64_t fraction = bits & ((UINT64_C(1) << 52) - 1);
    uint64_t c = biased ? fraction | UINT64_C(1) << 52 : fraction;
    int exponent, q = (biased ? biased : 1) - 1075;
    uint64_t digits = shortest(c, q, fraction == 0 && biased > 1, &exponent);
    set_digits(&decimal, digits, exponent);
    return decimal;
}

/* ---- rounding ---- */

/* Whether cutting the digits from `keep` on rounds up: half to even. */
static bool rounds_up(const Decimal *decimal, int keep) {
    char next = decimal->digits[keep];
    if (next != '5' || decimal->count > keep + 1)
        return next >= '5';
    return keep > 0 && (decimal->digits[keep - 1] - '0') % 2 == 1;
}

void format_round(Decimal *decimal, int places) {
    int keep = decimal->exponent + places;
    if (keep >= decimal->count)
        return;
    bool up = keep >= 0 && rounds_up(decimal, keep);
    int count = keep > 0 ? keep : 0;
    while (count > 0 && decimal->digits[count - 1] == (up ? '9' : '0'))
        count--;
    if (up && count > 0) {
        decimal->digits[count - 1]++;
    } else if (up) { /* 0.96 becomes 1.0 */
        decimal->digits[count++] = '1';
        decimal->exponent++;
    }
    decimal->count = count;
}

/* ---- writing ---- */

/* The digits from `first` on, `wanted` of them, with zeros where there are none. */
static void write_digits(Text *out, const Decimal *decimal, int first, int wanted) {
    int before = first < 0 ? (-first < wanted ? -first : wanted) : 0;
    text_add_repeated(out, '0', (size_t)before);
    first += before;
    wanted -= before;
    int there = decimal->count - first;
    there = there < 0 ? 0 : there > wanted ? wanted : there;
    if (there > 0)
        text_add(out, decimal->digits + first, (size_t)there);
    text_add_repeated(out, '0', (size_t)(wanted - there));
}

static void write_fixed(Text *out, const Decimal *decimal, int places) {
    if (decimal->negative && decimal->count > 0)
        text_add_char(out, '-');
    int exponent = decimal->count ? decimal->exponent : 0;
    if (exponent > 0)
        write_digits(out, decimal, 0, exponent);
    else
        text_add_char(out, '0');
    if (places <= 0)
        return;
    text_add_char(out, '.');
    write_digits(out, decimal, exponent, places);
}

/* With an exponent, `digits` significant digits (never zero itself). */
static void write_exponent(Text *out, const Decimal *decimal, int digits) {
    if (decimal->negative)
        text_add_char(out, '-');
    write_digits(out, decimal, 0, 1);
    if (digits > 1) {
        text_add_char(out, '.');
        write_digits(out, decimal, 1, digits - 1);
    }
    text_add_char(out, 'e');
    text_add_integer(out, decimal->exponent - 1);
}

/* The places after the point that show every digit. */
static int places_in_use(const Decimal *decimal) {
    return decimal->count > decimal->exponent ? decimal->count - decimal->exponent : 0;
}

/* Beyond 1e-4 … 1e9 a number is easier to read with an exponent. */
static bool wants_exponent(const Decimal *decimal) {
    if (decimal->count == 0)
        return false;
    bool is_1e9 = decimal->exponent == 10 && decimal->count == 1 && decimal->digits[0] == '1';
    return decimal->exponent < -3 || (decimal->exponent >= 10 && !is_1e9);
}

static void round_digits(Decimal *decimal, int digits) {
    format_round(decimal, digits - decimal->exponent);
}

void format_places(Text *out, double number, int places) {
    Decimal decimal = format_decimal(number);
    format_round(&decimal, places);
    write_fixed(out, &decimal, places);
}

void format_digits(Text *out, double number, int digits) {
    Decimal decimal = format_decimal(number);
    round_digits(&decimal, digits);
    if (decimal.count == 0)
        decimal.exponent = 1; /* 0.00 has three digits */
    if (wants_exponent(&decimal))
        write_exponent(out, &decimal, digits);
    else
        write_fixed(out, &decimal, digits - decimal.exponent);
}

void format_plain(Text *out, double number) {
    Decimal decimal = format_decimal(number), rounded = decimal;
    round_digits(&rounded, decimal.exponent > 4 ? decimal.exponent : 4);
    if (!wants_exponent(&rounded)) {
        write_fixed(out, &rounded, places_in_use(&rounded));
        return;
    }
    round_digits(&decimal, 4);
    write_exponent(out, &decimal, decimal.count);
}

void format_shortest(Text *out, double number) {
    Decimal decimal = format_decimal(number);
    /* Wider limits than for people: a whole number is written out as long as each of its digits means
     * something. */
    if (decimal.count && (decimal.exponent < -3 || decimal.exponent > 17))
        write_exponent(out, &decimal, decimal.count);
    else
        write_fixed(out, &decimal, places_in_use(&decimal));
}

/* ---- reading ---- */

/* A number taken apart: its digits as a whole number when there are few, and the power of ten of the last
 * one. */
typedef struct Literal {
    bool negative;
    uint64_t whole;
    int count; /* significant digits */
    long exponent;
} Literal;

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* A run of digits, `_` allowed between two; at least one. Each counts `step` towards the exponent. */
static bool read_run(const char **at, const char *end, long step, Literal *literal) {
    const char *p = *at;
    if (p == end || !is_digit(*p))
        return false;
    for (; p < end; p++) {
        if (*p == '_' && p + 1 < end && is_digit(p[1]))
            continue;
        if (!is_digit(*p))
            break;
        literal->exponent += step;
        if (literal->count == 0 && *p == '0')
            continue;
        if (literal->count++ < 19)
            literal->whole = literal->whole * 10 + (uint64_t)(*p - '0');
    }
    *at = p;
    return true;
}

/* `e`, a sign and digits; far beyond the doubles it stands still. */
static bool read_exponent(const char **at, const char *end, Literal *literal) {
    const char *p = *at + 1;
    bool negative = p < end && *p == '-';
    if (p < end && (*p == '-' || *p == '+'))
        p++;
    if (p == end)
        return false;
    long exponent = 0;
    for (; p < end && is_digit(*p); p++)
        exponent = exponent < 100000000 ? exponent * 10 + (*p - '0') : exponent;
    literal->exponent += negative ? -exponent : exponent;
    *at = p;
    return is_digit(p[-1]);
}

static bool take_apart(const char *bytes, size_t length, Literal *literal) {
    const char *at = bytes, *end = bytes + length;
    if (at < end && *at == '-') {
        literal->negative = true;
        at++;
    }
    if (!read_run(&at, end, 0, literal))
        return false;
    if (at < end && *at == '.') {
        at++;
        if (!read_run(&at, end, -1, literal))
            return false;
    }
    if (at < end && (*at == 'e' || *at == 'E') && !read_exponent(&at, end, literal))
        return false;
    return at == end;
}

/* The C library rounds correctly; without a point in it, a number reads the same under every locale. */
static double read_slowly(const char *bytes, size_t length, long exponent) {
    Text plain = {0};
    for (size_t i = 0; i < length && bytes[i] != 'e' && bytes[i] != 'E'; i++)
        if (is_digit(bytes[i]))
            text_add_char(&plain, bytes[i]);
    text_add_char(&plain, 'e');
    text_add_integer(&plain, exponent);
    double number = strtod(plain.bytes, NULL);
    text_free(&plain);
    return number;
}

bool format_read(const char *bytes, size_t length, double *number) {
    static const double tens[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                  1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    Literal literal = {0};
    if (!take_apart(bytes, length, &literal))
        return false;
    double read;
    /* Both parts are exact doubles, so one operation rounds once (W. D. Clinger, PLDI 1990). */
    bool exact = FLT_EVAL_METHOD == 0 && literal.count <= 19 && literal.whole <= UINT64_C(1) << 53;
    if (exact && literal.exponent >= 0 && literal.exponent <= 22)
        read = (double)literal.whole * tens[literal.exponent];
    else if (exact && literal.exponent < 0 && literal.exponent >= -22)
        read = (double)literal.whole / tens[-literal.exponent];
    else
        read = read_slowly(bytes, length, literal.exponent);
    if (!isfinite(read))
        return false;
    *number = literal.negative ? -read : read;
    return true;
}
