/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Growing byte strings, and UTF-8. */
#ifndef RUNDLET_TEXT_H
#define RUNDLET_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A byte builder. `Text t = {0};` is an empty one. `bytes` is NUL-terminated once anything was added. */
typedef struct Text {
    char *bytes;
    size_t length;
    size_t capacity;
} Text;

void text_add(Text *text, const char *bytes, size_t length);
void text_add_string(Text *text, const char *string);
void text_add_char(Text *text, char c);
void text_add_repeated(Text *text, char c, size_t times);
/* Spaces up to column `width` where `used` columns are taken; none when that many or more are. Whoever aligns
 * text calls this: a difference of two sizes wraps below zero. */
void text_add_padding(Text *text, size_t used, size_t width);
void text_add_integer(Text *text, long long number);
void text_add_code_point(Text *text, uint32_t code_point);
/* In composed form (Unicode NFC), so that an é is one name whichever way an editor wrote it. */
void text_add_composed(Text *text, const char *bytes, size_t length);
/* What a stranger wrote, for a terminal or a page: controls but those in `kept`, and bytes that are not
 * UTF-8, become `instead`. */
void text_add_clean(Text *text, const char *bytes, size_t length, const char *kept, const char *instead);
void text_clear(Text *text); /* keeps the memory */
void text_free(Text *text);
char *text_take(Text *text); /* the caller frees it with mem_free; never NULL; the builder is empty again */
const char *text_string(const Text *text); /* never NULL */

/* Decodes one code point. Returns the bytes read, 0 for invalid UTF-8 (overlong, surrogate, cut short) or no
 * input. */
size_t utf8_decode(const char *bytes, size_t length, uint32_t *code_point);
size_t utf8_encode(uint32_t code_point, char out[4]);
bool utf8_is_ascii(const char *bytes, size_t length);
bool utf8_is_valid(const char *bytes, size_t length, size_t *bad_offset);
size_t utf8_count(const char *bytes, size_t length); /* characters; an invalid byte counts as one */
size_t utf8_width(const char *bytes,
                  size_t length);          /* columns on a terminal (East Asian wide = 2, combining = 0) */
bool utf8_is_control(uint32_t code_point); /* C0, delete, C1 */
bool utf8_is_letter(uint32_t code_point);  /* a letter or mark of any alphabet, or '_' */
bool utf8_is_digit(uint32_t code_point);   /* ASCII digits only */

/* Are they the same but for capital and small letters? Not when they are the same altogether. */
bool text_differs_in_case(const char *a, size_t a_length, const char *b, size_t b_length);
uint64_t text_hash(const char *bytes, size_t length); /* FNV-1a; never 0 */

/* The edit distance of two short words (Damerau, adjacent swaps count one), case ignored:
 * used for "did you mean". Returns a distance, 99 when either is longer than 64 characters. */
int text_distance(const char *a, const char *b);
/* Keeps the better candidate: call for each name, start with *best = NULL, *best_distance = 99. Up to three
 * letters a name is near when it has the same letters in another order or case, up to five when its distance
 * is 1 and the first letter the same, from six when it is at most 2, from nine at most 3. */
void text_nearest(const char *wanted, const char *candidate, const char **best, int *best_distance);

#endif
