/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers to text and back: the printing rules of docs/reference/language.md, "How a quantity prints", the
 * shortest decimal against the C library, and no difference under a locale with another decimal point. */
#include <criterion/criterion.h>
#include <float.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "numbers/format.h"

#define NOT_A_NUMBER ((double)NAN)

typedef void (*Printer)(Text *out, double number, int count);

static void plain(Text *out, double number, int unused) {
    (void)unused;
    format_plain(out, number);
}

static void shortest(Text *out, double number, int unused) {
    (void)unused;
    format_shortest(out, number);
}

typedef struct Row {
    double number;
    int count;
    const char *want;
} Row;

static void check_rows(const char *name, Printer print, const Row *rows, size_t count) {
    for (size_t i = 0; i < count; i++) {
        Text out = {0};
        print(&out, rows[i].number, rows[i].count);
        cr_expect_str_eq(text_string(&out), rows[i].want, "%s(%.17g, %d): got %s, want %s", name,
                         rows[i].number, rows[i].count, text_string(&out), rows[i].want);
        text_free(&out);
    }
}

#define CHECK(print, rows) check_rows(#print, print, rows, sizeof(rows) / sizeof *(rows))

/* The wanted texts follow from docs/reference/language.md, "How a quantity prints": half to even on the
 * shortest decimal, no minus before zeros.
 */
Test(format, places) {
    static const Row rows[] = {
        {0, 0, "0"},
        {0, 2, "0.00"},
        {-0.0, 1, "0.0"},
        {1.05, 3, "1.050"},
        {19.2969, 1, "19.3"},
        {2.675, 2, "2.68"}, /* the double is below the half, its shortest decimal is not */
        {2.665, 2, "2.66"},
        {0.125, 2, "0.12"},
        {0.375, 2, "0.38"},
        {0.5, 0, "0"},
        {1.5, 0, "2"},
        {2.5, 0, "2"},
        {0.50001, 0, "1"},
        {-0.5, 0, "0"},
        {-1.5, 0, "-2"},
        {0.05, 1, "0.0"},
        {0.06, 1, "0.1"},
        {0.05, 0, "0"},
        {-0.04, 1, "0.0"},
        {-0.06, 1, "-0.1"},
        {9.9995, 3, "10.000"},
        {999.95, 1, "1000.0"},
        {0.95, 1, "1.0"},
        {0.85, 1, "0.8"},
        {99.99, 1, "100.0"},
        {1e-4, 3, "0.000"},
        {1e-300, 15, "0.000000000000000"},
        {123456789, 2, "123456789.00"},
        {1e21, 1, "1000000000000000000000.0"},
        {0.1, 15, "0.100000000000000"},
        {0.1, 20, "0.10000000000000000000"},
        {0.3333333333333333, 15, "0.333333333333333"},
        {5e-324, 2, "0.00"},
    };
    CHECK(format_places, rows);
    Text out = {0};
    format_places(&out, 1e300, 2);
    cr_expect_eq(out.length, 304, "1e300 has 301 digits and two places");
    cr_expect_eq(strspn(out.bytes + 1, "0"), 300);
    text_free(&out);
}

Test(format, digits) {
    static const Row rows[] = {
        {2.5, 4, "2.500"},
        {0, 3, "0.00"},
        {0, 1, "0"},
        {-0.0, 2, "0.0"},
        {9.9995, 4, "10.00"},
        {9.9994, 4, "9.999"},
        {0.9996, 3, "1.00"},
        {123456, 3, "123000"},
        {-123456, 3, "-123000"},
        {0.00012345, 3, "0.000123"},
        {0.0001, 1, "0.0001"},
        {0.000099996, 4, "0.0001000"},
        {0.000012345, 3, "1.23e-5"},
        {1e9, 2, "1000000000"},
        {1.2e9, 3, "1.20e9"},
        {999999999.6, 9, "1000000000"},
        {1e300, 3, "1.00e300"},
        {2.25, 2, "2.2"},
        {2.35, 2, "2.4"},
        {1.0, 15, "1.00000000000000"},
        {10.53, 2, "11"},
    };
    CHECK(format_digits, rows);
}

/* "4 significant digits but never fewer than all digits before the point, zeros after the point dropped, no
 * exponent between 1e-4 and 1e9". */
Test(format, plain) {
    static const Row rows[] = {
        {0, 0, "0"},
        {-0.0, 0, "0"},
        {5, 0, "5"},
        {8, 0, "8"},
        {-6, 0, "-6"},
        {40, 0, "40"},
        {1.05, 0, "1.05"},
        {0.1 + 0.2, 0, "0.3"},
        {18.1699765632, 0, "18.17"},
        {18.927058920000001, 0, "18.93"},
        {3.785411784, 0, "3.785"},
        {12345.678, 0, "12346"},
        {12345.5, 0, "12346"},
        {12344.5, 0, "12344"},
        {99999.5, 0, "100000"},
        {9.9995, 0, "10"},
        {9.9985, 0, "9.998"},
        {999.95, 0, "1000"},
        {999.85, 0, "999.8"},
        {2.675, 0, "2.675"},
        {0.125, 0, "0.125"},
        {0.00012345, 0, "0.0001234"},
        {1e-4, 0, "0.0001"},
        {0.000099996, 0, "0.0001"}, /* rounded first, then looked at */
        {0.00009999, 0, "9.999e-5"},
        {1e-5, 0, "1e-5"},
        {-2.5e-7, 0, "-2.5e-7"},
        {1e9, 0, "1000000000"},
        {-1e9, 0, "-1000000000"},
        {999999999.5, 0, "1000000000"},
        {1000000000.4, 0, "1000000000"},
        {1000000001, 0, "1e9"},
        {1234567890, 0, "1.235e9"},
        {1.2345e10, 0, "1.234e10"},
        {1e300, 0, "1e300"},
        {5e-324, 0, "5e-324"},
        {DBL_MAX, 0, "1.798e308"},
    };
    CHECK(plain, rows);
}

Test(format, shortest) {
    static const Row rows[] = {
        {0, 0, "0"},
        {-0.0, 0, "0"},
        {0.1, 0, "0.1"},
        {0.1 + 0.2, 0, "0.30000000000000004"},
        {1.05, 0, "1.05"},
        {100, 0, "100"},
        {-9007199254740991, 0, "-9007199254740991"},
        {9007199254740993.0, 0, "9007199254740992"},
        {12345678901234567.0, 0, "12345678901234568"},
        {1e17, 0, "1e17"},
        {1e23, 0, "1e23"},
        {9.5367431640625e-7, 0, "9.5367431640625e-7"},
        {1e-4, 0, "0.0001"},
        {5e-324, 0, "5e-324"},
        {2.2250738585072014e-308, 0, "2.2250738585072014e-308"},
        {DBL_MAX, 0, "1.7976931348623157e308"},
    };
    CHECK(shortest, rows);
}

/* ---- against the C library ---- */

/* The fewest digits that read back, as the C library finds them by trying. */
static int fewest_digits(double number, char *out, size_t size) {
    for (int digits = 1;; digits++) {
        snprintf(out, size, "%.*e", digits - 1, number);
        if (digits == 17 || strtod(out, NULL) == number)
            return digits;
    }
}

static double value_of(const Decimal *decimal) {
    char text[64];
    snprintf(text, sizeof text, "%.*se%d", decimal->count, decimal->digits,
             decimal->exponent - decimal->count);
    return strtod(text, NULL);
}

/* It must read back, be as short as the library's, and with as many digits be the same (it is the closest).
 * At the lower end of a binade the library's trial can miss a shorter one that is not the closest of its
 * length. */
static void check_shortest(double number) {
    char library[40];
    int digits = fewest_digits(number, library, sizeof library);
    Decimal decimal = format_decimal(number);
    cr_assert(value_of(&decimal) == number, "%.17g: %.*s does not read back", number, decimal.count,
              decimal.digits);
    cr_assert(decimal.count <= digits, "%.17g: %d digits, %s has fewer", number, decimal.count, library);
    if (decimal.count == digits) {
        char ours[64];
        snprintf(ours, sizeof ours, "%c%s%.*se%+03d", decimal.digits[0], decimal.count > 1 ? "." : "",
                 decimal.count - 1, decimal.digits + 1, decimal.exponent - 1);
        cr_assert_str_eq(ours, library);
    }
    Text text = {0};
    double back = 0;
    format_shortest(&text, number);
    cr_assert(format_read(text.bytes, text.length, &back) && back == number, "%s reads back as %.17g",
              text.bytes, back);
    text_free(&text);
}

static uint64_t next_random(uint64_t *state) {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

Test(format, shortest_agrees_with_the_library) {
    for (int e = -1074; e <= 1023; e++) { /* both sides of every power of two */
        double power = ldexp(1, e);
        check_shortest(power);
        check_shortest(nextafter(power, HUGE_VAL));
        if (power > 5e-324)
            check_shortest(nextafter(power, 0));
    }
    for (int e = -323; e <= 308; e++) {
        char text[16];
        snprintf(text, sizeof text, "1e%d", e);
        check_shortest(strtod(text, NULL));
    }
    for (uint64_t bits = 1; bits < 3000; bits++) { /* the smallest there are */
        double tiny;
        memcpy(&tiny, &bits, sizeof tiny);
        check_shortest(tiny);
    }
    uint64_t state = 88172645463325252U;
    for (int i = 0; i < 30000; i++) {
        uint64_t bits = next_random(&state) >> 1;
        double any;
        memcpy(&any, &bits, sizeof any);
        if (isfinite(any) && any > 0)
            check_shortest(any);
        check_shortest((double)(1 + next_random(&state) % 100000000) / 1000); /* what people type */
        check_shortest((double)(1 + next_random(&state) % 1000000) /
                       (double)(1 + next_random(&state) % 997)); /* and compute */
    }
}

/* Rounding the shortest decimal is rounding the library's 17 digits wherever no half is near. */
Test(format, places_agree_with_the_library) {
    uint64_t state = 2463534242U;
    for (int i = 0; i < 20000; i++) {
        double number = ((double)(next_random(&state) % 2000000001) - 1e9) / 7e5;
        int places = (int)(next_random(&state) % 8);
        char library[64];
        snprintf(library, sizeof library, "%.*f", places, number);
        double half = fabs(fmod(fabs(number) * pow(10, places), 1) - 0.5);
        Text out = {0};
        format_places(&out, number, places);
        bool zero = strspn(library, "-0.") == strlen(library);
        if (half > 1e-4 && !zero)
            cr_assert_str_eq(text_string(&out), library);
        text_free(&out);
    }
}

/* ---- reading ---- */

Test(format, read) {
    static const struct {
        const char *text;
        double want; /* NOT_A_NUMBER: refused */
    } rows[] = {
        {"0", 0},
        {"1050", 1050},
        {"1.050", 1.05},
        {"2.5e-3", 2.5e-3},
        {"2.5E+3", 2500},
        {"1_000", 1000},
        {"1_000.000_1", 1000.0001},
        {"-6", -6},
        {"-0.5", -0.5},
        {"0.30000000000000004", 0.1 + 0.2},
        {"000000000000000000000000012", 12},
        {"0.000000000000000000000000000012", 1.2e-29},
        {"9007199254740993", 9007199254740992.0},
        {"9007199254740993.00000000000000000000000000000000001", 9007199254740994.0},
        {"123456789012345678901234567890", 123456789012345678901234567890.0},
        {"1.7976931348623157e308", DBL_MAX},
        {"1.7976931348623159e308", NOT_A_NUMBER},
        {"1e309", NOT_A_NUMBER},
        {"1e999999999999999999999", NOT_A_NUMBER},
        {"1e-999999999999999999999", 0},
        {"0e999999999999999999999", 0},
        {"5e-324", 5e-324},
        {"1e23", 1e23},
        {"8.5e22", 8.5e22},
        {"", NOT_A_NUMBER},
        {".5", NOT_A_NUMBER},
        {"5.", NOT_A_NUMBER},
        {"1,5", NOT_A_NUMBER},
        {"1 000", NOT_A_NUMBER},
        {" 1", NOT_A_NUMBER},
        {"1 ", NOT_A_NUMBER},
        {"1e", NOT_A_NUMBER},
        {"1e+", NOT_A_NUMBER},
        {"1e5.5", NOT_A_NUMBER},
        {"+1", NOT_A_NUMBER},
        {"--1", NOT_A_NUMBER},
        {"1_", NOT_A_NUMBER},
        {"_1", NOT_A_NUMBER},
        {"1__0", NOT_A_NUMBER},
        {"1_.5", NOT_A_NUMBER},
        {"0x10", NOT_A_NUMBER},
        {"nan", NOT_A_NUMBER},
        {"inf", NOT_A_NUMBER},
        {"1.2.3", NOT_A_NUMBER},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double got = NOT_A_NUMBER;
        bool read = format_read(rows[i].text, strlen(rows[i].text), &got);
        cr_expect_eq(read, !isnan(rows[i].want), "'%s' read: %d", rows[i].text, read);
        if (read)
            cr_expect(got == rows[i].want, "'%s' is %.17g, want %.17g", rows[i].text, got, rows[i].want);
    }
    double got = 0;
    cr_expect(format_read("12345", 3, &got) && got == 123, "only so many bytes are read");
}

Test(format, read_agrees_with_the_library) {
    uint64_t state = 362436069U;
    for (int i = 0; i < 50000; i++) {
        char text[64];
        int digits = 1 + (int)(next_random(&state) % 25);
        int length = snprintf(text, sizeof text, "%d.", (int)(next_random(&state) % 10));
        for (int d = 0; d < digits; d++)
            text[length++] = (char)('0' + next_random(&state) % 10);
        length += snprintf(text + length, 8, "e%d", (int)(next_random(&state) % 640) - 330);
        double got = NOT_A_NUMBER, want = strtod(text, NULL);
        bool read = format_read(text, (size_t)length, &got);
        cr_assert_eq(read, isfinite(want), "%s", text);
        if (read)
            cr_assert(got == want, "%s: %.17g, the library %.17g", text, got, want);
    }
}

/* de_DE writes a comma; nothing here may see it. */
Test(format, locale_never_matters) {
    const char *const names[] = {"de_DE", "de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "pl_PL.UTF-8"};
    bool set = false;
    for (size_t i = 0; i < sizeof names / sizeof *names && !set; i++)
        set = setlocale(LC_ALL, names[i]) && localeconv()->decimal_point[0] == ',';
    if (!set)
        cr_skip_test("no locale with a decimal comma is installed");
    char comma[16];
    snprintf(comma, sizeof comma, "%.1f", 1.5);
    cr_assert_str_eq(comma, "1,5", "the locale must be one that matters");
    Text out = {0};
    format_places(&out, 1.05, 3);
    text_add_char(&out, ' ');
    format_plain(&out, 12345.678);
    text_add_char(&out, ' ');
    format_shortest(&out, 0.1 + 0.2);
    cr_expect_str_eq(text_string(&out), "1.050 12346 0.30000000000000004");
    text_free(&out);
    double got = 0;
    cr_expect(format_read("1.050", 5, &got) && got == 1.05);
    cr_expect(format_read("0.30000000000000004", 19, &got) && got == 0.1 + 0.2);
    cr_expect(format_read("1.7976931348623157e308", 22, &got) && got == DBL_MAX);
    cr_expect_not(format_read("1,5", 3, &got));
}
