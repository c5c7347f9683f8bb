/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Byte builder, UTF-8, near names, and where lines break. */
#include <criterion/criterion.h>
#include <limits.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"
#include "base/wrap.h"

Test(text, padding) {
    static const struct {
        size_t used, width, added;
    } rows[] = {{0, 5, 5}, {4, 5, 1}, {5, 5, 0}, {6, 5, 0}, {0, 0, 0}, {SIZE_MAX, 5, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Text text = {0};
        text_add_padding(&text, rows[i].used, rows[i].width);
        cr_expect_eq(text.length, rows[i].added, "row %zu", i);
        cr_expect_eq(strspn(text_string(&text), " "), rows[i].added, "row %zu", i);
        text_free(&text);
    }
}

static void leave(void) {
    exit(7);
}

/* A difference that wrapped below zero ends in the one way memory fails, and not behind the buffer. */
Test(text, repeating_refuses_what_wrapped, .exit_code = 7) {
    Text text = {0};
    size_t five = 5, six = 6;
    text_add_string(&text, "there");
    mem_set_failure_handler(leave);
    text_add_repeated(&text, ' ', five - six);
}

Test(text, builder) {
    Text text = {0};
    cr_expect_str_eq(text_string(&text), "");
    text_add_string(&text, "a");
    text_add(&text, "b\0c", 3);
    text_add(&text, NULL, 0);
    text_add_char(&text, 'd');
    text_add_repeated(&text, '-', 3);
    text_add_repeated(&text, '-', 0);
    cr_expect_eq(text.length, 8);
    cr_expect_eq(memcmp(text.bytes, "ab\0cd---", 9), 0, "ends with NUL");
    text_clear(&text);
    cr_expect_str_eq(text_string(&text), "");
    for (int i = 0; i < 1000; i++)
        text_add_integer(&text, i % 10);
    cr_expect_eq(text.length, 1000);
    cr_expect_eq(strlen(text.bytes), 1000);
    char *taken = text_take(&text);
    cr_expect_eq(strspn(taken, "0123456789"), 1000);
    mem_free(taken);
    cr_expect_eq(text.bytes, NULL);
    taken = text_take(&text);
    cr_expect_str_eq(taken, "", "taking from an empty builder is no NULL");
    mem_free(taken);
    text_free(&text);
    text_free(&text);
}

Test(text, integers_and_code_points) {
    Text text = {0};
    const long long numbers[] = {0, -7, LLONG_MAX, LLONG_MIN};
    for (size_t i = 0; i < 4; i++) {
        text_add_integer(&text, numbers[i]);
        text_add_char(&text, ' ');
    }
    cr_expect_str_eq(text.bytes, "0 -7 9223372036854775807 -9223372036854775808 ");
    text_clear(&text);
    const uint32_t points[] = {'a', 0xB0, 0x20AC, 0x1F34E};
    for (size_t i = 0; i < 4; i++)
        text_add_code_point(&text, points[i]);
    cr_expect_str_eq(text.bytes, "a°€🍎");
    text_free(&text);
}

/* Well and ill formed byte sequences: The Unicode Standard 15.0, table 3-7 and section 3.9. */
Test(text, utf8) {
    static const struct {
        const char *bytes;
        size_t used; /* 0: invalid */
        uint32_t code_point;
    } rows[] = {
        {"A", 1, 'A'},
        {"\xC2\x80", 2, 0x80},
        {"\xDF\xBF", 2, 0x7FF},
        {"\xE0\xA0\x80", 3, 0x800},
        {"\xED\x9F\xBF", 3, 0xD7FF},
        {"\xEF\xBF\xBD", 3, 0xFFFD},
        {"\xF0\x90\x80\x80", 4, 0x10000},
        {"\xF4\x8F\xBF\xBF", 4, 0x10FFFF},
        {"\x80", 0, 0},     /* a continuation alone */
        {"\xC0\x80", 0, 0}, /* overlong */
        {"\xC1\xBF", 0, 0},
        {"\xE0\x9F\xBF", 0, 0},
        {"\xF0\x8F\xBF\xBF", 0, 0},
        {"\xED\xA0\x80", 0, 0},     /* a surrogate */
        {"\xF4\x90\x80\x80", 0, 0}, /* above 10FFFF */
        {"\xF5\x80\x80\x80", 0, 0},
        {"\xC2", 0, 0}, /* cut short */
        {"\xE2\x82", 0, 0},
        {"\xE2\x28\xA1", 0, 0},
        {"\xFF", 0, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        uint32_t code_point = 0;
        size_t length = strlen(rows[i].bytes), bad = 99;
        cr_expect_eq(utf8_decode(rows[i].bytes, length, &code_point), rows[i].used, "row %zu", i);
        cr_expect_eq(utf8_is_valid(rows[i].bytes, length, &bad), rows[i].used > 0, "row %zu", i);
        if (rows[i].used == 0) {
            cr_expect_eq(bad, 0, "row %zu", i);
            continue;
        }
        char back[4];
        cr_expect_eq(code_point, rows[i].code_point, "row %zu", i);
        cr_expect_eq(utf8_encode(code_point, back), length, "row %zu", i);
        cr_expect_eq(memcmp(back, rows[i].bytes, length), 0, "row %zu", i);
    }
    uint32_t none;
    size_t bad = 0;
    cr_expect_eq(utf8_decode("A", 0, &none), 0);
    cr_expect_not(utf8_is_valid("ab°\xFFz", 6, &bad));
    cr_expect_eq(bad, 4);
}

Test(text, counts_and_widths) {
    cr_expect_eq(utf8_count("20 °Bx", strlen("20 °Bx")), 6);
    cr_expect_eq(utf8_count("a\xFF\xFF", 3), 3, "an invalid byte counts as one");
    cr_expect_eq(utf8_width("20 °Bx", strlen("20 °Bx")), 6);
    cr_expect_eq(utf8_width("梨酒", strlen("梨酒")), 4, "East Asian wide");
    cr_expect_eq(utf8_width("e\u0301", 3), 1, "a combining accent takes no room");
    cr_expect_eq(utf8_width("", 0), 0);
}

Test(text, letters) {
    const uint32_t letters[] = {'a', 'Z', '_', 0xE9, 0x3B2, 0x42F, 0x68A8, 0x301};
    const uint32_t others[] = {'0', '-', ' ', 0xB0, 0xBA, 0xAA, 0xB5, 0xD7, 0x2212, 0xBD, 0x2019, 0x1F34E};
    for (size_t i = 0; i < sizeof letters / sizeof *letters; i++)
        cr_expect(utf8_is_letter(letters[i]), "U+%04X", letters[i]);
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        cr_expect_not(utf8_is_letter(others[i]), "U+%04X", others[i]);
    cr_expect(utf8_is_digit('0') && utf8_is_digit('9') && !utf8_is_digit('a') && !utf8_is_digit(0x664));
}

/* Distances counted by hand; "kitten" and "sitting" are the example of the literature (Wagner and Fischer
 * 1974). */
Test(text, distance) {
    static const struct {
        const char *a, *b;
        int want;
    } rows[] = {
        {"", "", 0},
        {"", "abc", 3},
        {"kitten", "sitting", 3},
        {"gravity", "gravity", 0},
        {"Gravity", "GRAVITY", 0},
        {"gravtiy", "gravity", 1},
        {"volme", "volume", 1},
        {"volumee", "volume", 1},
        {"strenght", "strength", 1},
        {"ab", "ba", 1},
        {"abc", "ca", 3},
        {"must", "most", 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_expect_eq(text_distance(rows[i].a, rows[i].b), rows[i].want, "%s, %s: %d", rows[i].a, rows[i].b,
                     text_distance(rows[i].a, rows[i].b));
        cr_expect_eq(text_distance(rows[i].b, rows[i].a), rows[i].want, "%s, %s", rows[i].b, rows[i].a);
    }
    char longest[70];
    memset(longest, 'a', sizeof longest - 1);
    longest[69] = '\0';
    cr_expect_eq(text_distance(longest, "a"), 99);
    longest[64] = '\0';
    cr_expect_eq(text_distance(longest, longest), 0);
}

static const char *nearest(const char *wanted) {
    static const char *const names[] = {"batch", "syrup", "target", "must", "ph", "x"};
    const char *best = NULL;
    int distance = 99;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        text_nearest(wanted, names[i], &best, &distance);
    return best ? best : "none";
}

Test(text, nearest_only_when_near) {
    static const char *const rows[][2] = {{"bacth", "batch"}, {"sirup", "syrup"}, {"trget", "target"},
                                          {"mist", "must"},   {"pH", "ph"},       {"X", "x"},
                                          {"y", "none"},      {"zzz", "none"},    {"barrel", "none"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_str_eq(nearest(rows[i][0]), rows[i][1], "%s: %s", rows[i][0], nearest(rows[i][0]));
}

Test(text, piece_of_a_line) {
    static const struct {
        const char *text, *piece;
        size_t columns;
    } rows[] = {
        {"plain words", "plain", 40},
        {"abv(1.05 SG, 1.00 SG), or", "abv(1.05 SG, 1.00 SG),", 40},
        {"abv(1.05 SG, 1.00 SG), or", "abv(1.05", 12},
        {"a(b(1 gal, [2, 3]), c) d", "a(b(1 gal, [2, 3]), c)", 40},
        {"a(b(1 gal, 2), c) d", "a(b(1", 10},
        {"never( closed here", "never(", 40},
        {"(a remark in brackets)", "(a", 40},
        {"`save \"a b.rlet\"` now", "`save \"a b.rlet\"`", 40},
        {"`it", "`it", 40},
        {"say(\"a) b\") c", "say(\"a) b\")", 40},
        {"5 gal of it", "5 gal", 40},
        {"10 000 g, say", "10 000 g,", 40},
        {"5, 6", "5,", 40},
        {"let x = 5 gal and", "let x = 5 gal", 40},
        {"let x = 5 gal and", "let", 8},
        {"rundlet --seed 7 FILE", "rundlet --seed 7 FILE", 40},
        {"x == y", "x == y", 40},
        {"r with {a: 1}; or", "r with {a: 1};", 40},
        {"r with", "r", 40},
        {"r with care", "r", 40},
        {"é(é, é) é", "é(é, é)", 7},
        {"5 ", "5", 40},
        {"x", "x", 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        size_t length = wrap_piece(rows[i].text, strlen(rows[i].text), rows[i].columns);
        cr_expect_eq(length, strlen(rows[i].piece), "row %zu: %.*s", i, (int)length, rows[i].text);
    }
}
