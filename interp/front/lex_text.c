/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Texts: quotes of every pasted kind, escapes, and the way over a text or an interpolation without parsing
 * it. */
#include "front/lex_state.h"

#include <string.h>

#include "base/mem.h"

/* A text ends at its own quote: each opening quote with those that close it. */
typedef struct QuotePair {
    const char *open;
    const char *close;
    const char *other_close; /* or NULL */
    bool raw;
} QuotePair;

static const QuotePair quote_pairs[] = {
    {NULL, NULL, NULL, false},
    {"\"", "\"", NULL, false},
    {"\xE2\x80\x9C", "\xE2\x80\x9D", NULL, false},           /* “ ” */
    {"\xE2\x80\x9D", "\xE2\x80\x9D", NULL, false},           /* ” ” */
    {"\xE2\x80\x9E", "\xE2\x80\x9C", "\xE2\x80\x9D", false}, /* „ “ and „ ” */
    {"'", "'", NULL, true},
    {"\xE2\x80\x98", "\xE2\x80\x99", NULL, true},           /* ‘ ’ */
    {"\xE2\x80\x99", "\xE2\x80\x99", NULL, true},           /* ’ ’ */
    {"\xE2\x80\x9A", "\xE2\x80\x98", "\xE2\x80\x99", true}, /* ‚ ‘ and ‚ ’ */
};
enum { QUOTE_COUNT = sizeof quote_pairs / sizeof *quote_pairs };

unsigned char lex_quote_at(const Lexer *lexer, size_t at, size_t *bytes) {
    const char *text = lexer->text + at;
    if (*text != '"' && *text != '\'' && (unsigned char)*text != 0xE2)
        return 0;
    for (unsigned char i = 1; i < QUOTE_COUNT; i++) {
        *bytes = strlen(quote_pairs[i].open);
        if (strncmp(text, quote_pairs[i].open, *bytes) == 0)
            return i;
    }
    return 0;
}

bool lex_quote_is_raw(unsigned char quote) {
    return quote_pairs[quote].raw;
}

const char *lex_closing_quote(unsigned char quote) {
    return quote_pairs[quote].close;
}

/* How many bytes of a closing quote are here; 0: none. */
static size_t closing_bytes(const Lexer *lexer, size_t at, unsigned char quote) {
    const QuotePair *pair = &quote_pairs[quote];
    size_t bytes = strlen(pair->close);
    if (strncmp(lexer->text + at, pair->close, bytes) == 0)
        return bytes;
    return pair->other_close && strncmp(lexer->text + at, pair->other_close, bytes) == 0 ? bytes : 0;
}

/* A newline, the end, or the CR of a CR LF. */
static bool at_line_end(const Lexer *lexer, size_t at) {
    return at >= lexer->length || lexer->text[at] == '\n' || lex_is_line_cr(lexer, at);
}

void lex_read_raw(Lexer *lexer, Token *token, unsigned char quote, size_t bytes) {
    size_t start = lexer->at, at = start + bytes, closing = 0;
    while (!at_line_end(lexer, at) && (closing = closing_bytes(lexer, at, quote)) == 0)
        at++;
    token->type = TOKEN_RAW_TEXT;
    token->quote = quote;
    lexer->at = at + closing;
    if (closing == 0)
        lex_report(lexer, MSG_TEXT_UNFINISHED, lex_span(start, start + bytes),
                   ARGS(lex_closing_quote(quote)));
}

Span lex_raw_span(const Lexer *lexer, const Token *token) {
    size_t bytes = strlen(quote_pairs[token->quote].open);
    size_t start = token->span.start + bytes, end = token->span.end;
    if (end >= start + bytes && closing_bytes(lexer, end - bytes, token->quote))
        end -= bytes;
    return lex_span(start, end);
}

/* ---- pieces of a text ---- */

static void read_escape(Lexer *lexer, Text *out) {
    static const char from[] = "nt\"\\{}", to[] = "\n\t\"\\{}";
    char c = lexer->text[lexer->at + 1];
    const char *known = c ? strchr(from, c) : NULL;
    if (known) {
        text_add_char(out, to[known - from]);
        lexer->at += 2;
        return;
    }
    size_t bytes;
    if (at_line_end(lexer, lexer->at + 1)) {
        lexer->at++; /* the missing quote is the mistake */
        return;
    }
    lex_code_point(lexer, lexer->at + 1, &bytes);
    if (lex_quote_at(lexer, lexer->at + 1, &bytes)) {
        text_add(out, lexer->text + lexer->at + 1, bytes); /* a pasted \” means itself */
    } else {
        char *typed = mem_copy(lexer->text + lexer->at, 1 + bytes);
        lex_report(lexer, MSG_TEXT_ESCAPE, lex_span(lexer->at, lexer->at + 1 + bytes), ARGS(typed));
        mem_free(typed);
    }
    lexer->at += 1 + bytes;
}

static bool is_plain(char c) {
    return c != '"' && c != '\\' && c != '{' && c != '\n' && c != '\r' && c != '\0' &&
           (unsigned char)c != 0xE2;
}

TextPiece lex_text_piece(Lexer *lexer, unsigned char quote, Text *out) {
    for (;;) {
        size_t start = lexer->at;
        while (is_plain(lexer->text[lexer->at]))
            lexer->at++;
        text_add(out, lexer->text + start, lexer->at - start);
        if (at_line_end(lexer, lexer->at))
            return PIECE_UNFINISHED;
        size_t closing = closing_bytes(lexer, lexer->at, quote);
        if (closing) {
            lexer->at += closing;
            return PIECE_CLOSED;
        }
        if (lexer->text[lexer->at] == '{') {
            lexer->at++;
            return PIECE_BRACE;
        }
        if (lexer->text[lexer->at] == '\\')
            read_escape(lexer, out);
        else
            text_add_char(out, lexer->text[lexer->at++]);
    }
}

/* ---- over a text without parsing it ---- */

enum { LEX_NESTING = 256, BRACE = 255 };

/* Follows nested quotes and braces from an open one to where it closes: the place of that `}`, or after that
 * quote. 0 when the line ends before, or when they are nested deeper than anyone writes. */
static size_t find_close(const Lexer *lexer, size_t at, unsigned char first) {
    unsigned char open[LEX_NESTING];
    int depth = 0;
    open[0] = first;
    while (!at_line_end(lexer, at)) {
        unsigned char top = open[depth];
        char c = lexer->text[at];
        size_t bytes = top == BRACE ? 0 : closing_bytes(lexer, at, top);
        unsigned char inner = 0;
        if (bytes || (top == BRACE && c == '}')) {
            if (depth-- == 0)
                return at + bytes;
            at += bytes ? bytes : 1;
            continue;
        }
        if (top == BRACE)
            inner = c == '{' ? BRACE : lex_quote_at(lexer, at, &bytes);
        else if (c == '{' && !quote_pairs[top].raw)
            inner = BRACE;
        else if (c == '\\' && !quote_pairs[top].raw && !at_line_end(lexer, at + 1))
            at++;
        if (inner) {
            if (++depth == LEX_NESTING)
                return 0;
            open[depth] = inner;
        }
        at += inner && inner != BRACE ? bytes : 1;
    }
    return 0;
}

size_t lex_text_end(const Lexer *lexer, size_t at, unsigned char quote) {
    return find_close(lexer, at, quote);
}

size_t lex_brace_end(const Lexer *lexer, size_t at) {
    return find_close(lexer, at, BRACE);
}

/* ---- source as a label ---- */

void lex_copy_source(const Lexer *lexer, Span span, Text *out) {
    bool blank = false;
    size_t at = span.start;
    while (at < span.end) {
        size_t next = lex_skip_blanks(lexer, at), bytes;
        char c = lexer->text[next];
        if (next > at || c == '\n' || c == '\r' || c == '#') {
            if (c == '#')
                while (!at_line_end(lexer, next))
                    next++;
            at = next + (c == '\n' || c == '\r');
            blank = true;
            continue;
        }
        if (blank && out->length > 0)
            text_add_char(out, ' ');
        blank = false;
        unsigned char quote = lex_quote_at(lexer, at, &bytes);
        next = quote ? lex_text_end(lexer, at + bytes, quote) : at + 1;
        if (next == 0 || next > span.end)
            next = span.end;
        text_add(out, lexer->text + at, next - at);
        at = next;
    }
}

/* ---- a line to be typed ---- */

size_t lex_line_end(const Lexer *lexer, size_t at) {
    Lexer ahead = *lexer;
    ahead.quiet = true;
    ahead.at = at;
    size_t end = at;
    for (;;) {
        Token token = lex_next(&ahead);
        if (token.type == TOKEN_NEWLINE || token.type == TOKEN_END)
            return end;
        end = token.span.end;
        if (token.type != TOKEN_TEXT)
            continue;
        end = lex_text_end(&ahead, end, token.quote);
        if (end == 0) { /* it began inside a text: the whole line then */
            end = token.span.end;
            while (!at_line_end(lexer, end))
                end++;
            return end;
        }
        ahead.at = end;
    }
}

void lex_line_with(const Lexer *lexer, size_t from, Span span, const char *text, Text *out) {
    size_t start = from < span.start ? from : span.start;
    while (start > 0 && lexer->text[start - 1] != '\n')
        start--;
    start = lex_skip_blanks(lexer, start);
    text_add(out, lexer->text + start, span.start - start);
    text_add_string(out, text);
    text_add(out, lexer->text + span.end, lex_line_end(lexer, span.end) - span.end);
}
