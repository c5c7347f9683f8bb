/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Growing byte strings; UTF-8 with the character data of utf8proc. */
#include "base/text.h"

#include <string.h>
#include <utf8proc.h>

#include "base/mem.h"

static void make_room(Text *text, size_t extra) {
    size_t needed = text->length + extra + 1;
    if (extra > SIZE_MAX / 2) { /* only a difference that wrapped below zero is that large */
        text->bytes = mem_resize_array(text->bytes, extra, sizeof(uint64_t)); /* refuses it, and ends there */
        return;
    }
    if (needed <= text->capacity)
        return;
    size_t capacity = text->capacity < 32 ? 64 : text->capacity * 2;
    if (capacity < needed)
        capacity = needed;
    text->bytes = mem_resize(text->bytes, capacity);
    text->capacity = capacity;
}

void text_add(Text *text, const char *bytes, size_t length) {
    make_room(text, length);
    if (length)
        memcpy(text->bytes + text->length, bytes, length);
    text->length += length;
    text->bytes[text->length] = '\0';
}

void text_add_string(Text *text, const char *string) {
    text_add(text, string, strlen(string));
}

void text_add_char(Text *text, char c) {
    text_add(text, &c, 1);
}

void text_add_repeated(Text *text, char c, size_t times) {
    make_room(text, times);
    memset(text->bytes + text->length, c, times);
    text->length += times;
    text->bytes[text->length] = '\0';
}

void text_add_padding(Text *text, size_t used, size_t width) {
    if (used < width)
        text_add_repeated(text, ' ', width - used);
}

void text_add_integer(Text *text, long long number) {
    char digits[24];
    size_t at = sizeof digits;
    unsigned long long rest = number < 0 ? 0ULL - (unsigned long long)number : (unsigned long long)number;
    do {
        digits[--at] = (char)('0' + rest % 10);
        rest /= 10;
    } while (rest);
    if (number < 0)
        digits[--at] = '-';
    text_add(text, digits + at, sizeof digits - at);
}

void text_add_code_point(Text *text, uint32_t code_point) {
    char encoded[4];
    text_add(text, encoded, utf8_encode(code_point, encoded));
}

void text_clear(Text *text) {
    text->length = 0;
    if (text->bytes)
        text->bytes[0] = '\0';
}

void text_free(Text *text) {
    mem_free(text->bytes);
    *text = (Text){0};
}

char *text_take(Text *text) {
    char *bytes = text->bytes ? text->bytes : mem_copy("", 0);
    *text = (Text){0};
    return bytes;
}

const char *text_string(const Text *text) {
    return text->bytes ? text->bytes : "";
}

size_t utf8_decode(const char *bytes, size_t length, uint32_t *code_point) {
    if (length == 0)
        return 0;
    utf8proc_int32_t decoded = 0;
    utf8proc_ssize_t used = utf8proc_iterate((const utf8proc_uint8_t *)bytes,
                                             (utf8proc_ssize_t)(length > 4 ? 4 : length), &decoded);
    if (used <= 0)
        return 0;
    *code_point = (uint32_t)decoded;
    return (size_t)used;
}

size_t utf8_encode(uint32_t code_point, char out[4]) {
    return (size_t)utf8proc_encode_char((utf8proc_int32_t)code_point, (utf8proc_uint8_t *)out);
}

bool utf8_is_ascii(const char *bytes, size_t length) {
    for (size_t i = 0; i < length; i++)
        if (bytes[i] & 0x80)
            return false;
    return true;
}

void text_add_composed(Text *text, const char *bytes, size_t length) {
    const utf8proc_uint8_t *from = (const utf8proc_uint8_t *)bytes;
    utf8proc_ssize_t size = (utf8proc_ssize_t)length;
    utf8proc_ssize_t most =
        utf8_is_ascii(bytes, length) ? 0 : utf8proc_decompose(from, size, NULL, 0, UTF8PROC_DECOMPOSE);
    if (most <= 0) { /* ASCII, or no UTF-8 */
        text_add(text, bytes, length);
        return;
    }
    utf8proc_int32_t *points =
        mem_array((size_t)most + 1, sizeof *points); /* and the end that reencode sets */
    utf8proc_ssize_t count = utf8proc_decompose(from, size, points, most, UTF8PROC_DECOMPOSE);
    utf8proc_ssize_t used =
        count > 0 ? utf8proc_reencode(points, count, UTF8PROC_COMPOSE | UTF8PROC_STABLE) : 0;
    if (used > 0)
        text_add(text, (const char *)points, (size_t)used);
    else
        text_add(text, bytes, length);
    mem_free(points);
}

bool utf8_is_valid(const char *bytes, size_t length, size_t *bad_offset) {
    for (size_t at = 0; at < length;) {
        if ((unsigned char)bytes[at] < 0x80) {
            at++;
            continue;
        }
        uint32_t code_point;
        size_t used = utf8_decode(bytes + at, length - at, &code_point);
        if (used == 0) {
            *bad_offset = at;
            return false;
        }
        at += used;
    }
    return true;
}

size_t utf8_count(const char *bytes, size_t length) {
    size_t count = 0;
    for (size_t at = 0; at < length; count++) {
        uint32_t code_point;
        size_t used = utf8_decode(bytes + at, length - at, &code_point);
        at += used ? used : 1;
    }
    return count;
}

size_t utf8_width(const char *bytes, size_t length) {
    size_t width = 0;
    for (size_t at = 0; at < length;) {
        uint32_t code_point = 0;
        size_t used = utf8_decode(bytes + at, length - at, &code_point);
        int columns = used ? utf8proc_charwidth((utf8proc_int32_t)code_point) : 1;
        width += columns > 0 ? (size_t)columns : 0;
        at += used ? used : 1;
    }
    return width;
}

bool utf8_is_control(uint32_t code_point) {
    return code_point < 0x20 || (code_point >= 0x7F && code_point < 0xA0);
}

void text_add_clean(Text *text, const char *bytes, size_t length, const char *kept, const char *instead) {
    for (size_t at = 0; at < length;) {
        uint32_t code_point = 0;
        size_t used = utf8_decode(bytes + at, length - at, &code_point);
        bool unfit = !used || (utf8_is_control(code_point) && !(code_point && strchr(kept, (int)code_point)));
        if (unfit)
            text_add_string(text, instead);
        else
            text_add(text, bytes + at, used);
        at += used ? used : 1;
    }
}

bool utf8_is_letter(uint32_t code_point) {
    if (code_point < 0x80)
        return code_point == '_' || (code_point >= 'a' && code_point <= 'z') ||
               (code_point >= 'A' && code_point <= 'Z');
    if (code_point == 0xBA || code_point == 0xAA || code_point == 0xB5)
        return false; /* º ª µ: read as ° and µ of a unit, never part of a name */
    switch (
        (int)utf8proc_category((utf8proc_int32_t)code_point)) { /* as int: most categories are not letters */
    case UTF8PROC_CATEGORY_LU:
    case UTF8PROC_CATEGORY_LL:
    case UTF8PROC_CATEGORY_LT:
    case UTF8PROC_CATEGORY_LM:
    case UTF8PROC_CATEGORY_LO:
    case UTF8PROC_CATEGORY_MN:
    case UTF8PROC_CATEGORY_MC:
        return true;
    default:
        return false;
    }
}

bool utf8_is_digit(uint32_t code_point) {
    return code_point >= '0' && code_point <= '9';
}

/* ---- near names ---- */

enum { NEAR_MAX = 64 };

static int fold(char c) {
    return c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : (unsigned char)c;
}

static int smallest(int a, int b, int c) {
    int least = a < b ? a : b;
    return least < c ? least : c;
}

bool text_differs_in_case(const char *a, size_t a_length, const char *b, size_t b_length) {
    size_t at = 0, other = 0;
    bool differs = false;
    while (at < a_length && other < b_length) {
        uint32_t left = 0, right = 0;
        size_t used = utf8_decode(a + at, a_length - at, &left);
        size_t beside = utf8_decode(b + other, b_length - other, &right);
        if (!used || !beside)
            return false;
        if (left != right) {
            if (utf8proc_tolower((utf8proc_int32_t)left) != utf8proc_tolower((utf8proc_int32_t)right))
                return false;
            differs = true;
        }
        at += used;
        other += beside;
    }
    return differs && at == a_length && other == b_length;
}

int text_distance(const char *a, const char *b) {
    size_t na = strlen(a), nb = strlen(b);
    if (na > NEAR_MAX || nb > NEAR_MAX)
        return 99;
    int rows[3][NEAR_MAX + 1];
    int *before = rows[0], *last = rows[1], *now = rows[2];
    for (size_t j = 0; j <= nb; j++)
        last[j] = (int)j;
    for (size_t i = 1; i <= na; i++) {
        now[0] = (int)i;
        for (size_t j = 1; j <= nb; j++) {
            int cost = fold(a[i - 1]) != fold(b[j - 1]);
            now[j] = smallest(last[j] + 1, now[j - 1] + 1, last[j - 1] + cost);
            bool swapped =
                i > 1 && j > 1 && fold(a[i - 1]) == fold(b[j - 2]) && fold(a[i - 2]) == fold(b[j - 1]);
            if (swapped && before[j - 2] + 1 < now[j])
                now[j] = before[j - 2] + 1;
        }
        int *spare = before;
        before = last;
        last = now;
        now = spare;
    }
    return last[nb];
}

/* Words of up to three letters are near only when they are made of the same letters; `length` of both. */
static bool same_letters(const char *a, const char *b, size_t length) {
    unsigned char counts[256] = {0};
    for (size_t i = 0; i < length; i++)
        counts[fold(a[i])]++;
    for (size_t i = 0; i < length; i++)
        if (counts[fold(b[i])]-- == 0)
            return false;
    return true;
}

/* Every slip of a short word is another word: ug is not kg, pct not pt. */
static bool is_near(const char *wanted, const char *candidate, int distance) {
    size_t length = strlen(wanted), letters = utf8_count(wanted, length);
    if (letters <= 3)
        return strlen(candidate) == length && same_letters(wanted, candidate, length);
    if (letters <= 5)
        return distance <= 1 && fold(wanted[0]) == fold(candidate[0]);
    return distance <= (letters < 9 ? 2 : 3);
}

void text_nearest(const char *wanted, const char *candidate, const char **best, int *best_distance) {
    int distance = text_distance(wanted, candidate);
    if (distance < *best_distance && is_near(wanted, candidate, distance)) {
        *best = candidate;
        *best_distance = distance;
    }
}

uint64_t text_hash(const char *bytes, size_t length) {
    uint64_t hash = 14695981039346656037u;
    for (size_t i = 0; i < length; i++)
        hash = (hash ^ (unsigned char)bytes[i]) * 1099511628211u;
    return hash ? hash : 1;
}
