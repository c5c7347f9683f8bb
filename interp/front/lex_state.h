/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the lexer share: lex.c (words and signs), lex_number.c, lex_text.c. */
#ifndef RUNDLET_LEX_STATE_H
#define RUNDLET_LEX_STATE_H

#include "front/lex.h"

static inline bool lex_is_digit_byte(char c) {
    return c >= '0' && c <= '9';
}

static inline bool lex_is_letter_byte(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

static inline Span lex_span(size_t start, size_t end) {
    return (Span){.start = (uint32_t)start, .end = (uint32_t)end};
}

/* A CR that belongs to a line end: before LF, or the last character. */
static inline bool lex_is_line_cr(const Lexer *lexer, size_t at) {
    return lexer->text[at] == '\r' && (lexer->text[at + 1] == '\n' || at + 1 == lexer->length);
}

/* The code point at an offset, and its bytes; 0 and 0 at the end. */
uint32_t lex_code_point(const Lexer *lexer, size_t at, size_t *bytes);
/* Past spaces (no newline), the no-break ones included. */
size_t lex_skip_blanks(const Lexer *lexer, size_t at);
/* Does a word begin here that can be a unit: letters that are not a keyword, `%`, `°C`? */
bool lex_starts_unit(const Lexer *lexer, size_t at);

/* A number or date that begins with a digit, or with ½ ¼ ¾. Moves the lexer past it. */
void lex_read_number(Lexer *lexer, Token *token);
/* Is it ½ ¼ or ¾? Then its value. */
bool lex_vulgar_fraction(uint32_t code_point, double *value);

/* A quote at this offset: its number, or 0; `bytes` is how many it takes. */
unsigned char lex_quote_at(const Lexer *lexer, size_t at, size_t *bytes);
bool lex_quote_is_raw(unsigned char quote);
/* Reads a whole raw text whose opening quote of `bytes` bytes is at the lexer's place. */
void lex_read_raw(Lexer *lexer, Token *token, unsigned char quote, size_t bytes);

#endif
