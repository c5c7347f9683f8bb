/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Characters to words and signs (docs/reference/language.md, "Scripts"): one at a time, on demand.
 *
 * The lexer knows no grammar. A text is read in pieces, because an interpolation `{…}` in it holds any
 * expression: the parser gets TOKEN_TEXT at the opening quote, then asks for the pieces and parses what lies
 * between them. */
#ifndef RUNDLET_LEX_H
#define RUNDLET_LEX_H

#include "base/diag.h"
#include "base/text.h"
#include "front/ast.h"

typedef enum TokenType {
    TOKEN_END, /* of the whole source */
    TOKEN_NEWLINE,
    TOKEN_SEMICOLON,
    TOKEN_BAD, /* an error was reported already */
    TOKEN_NUMBER,
    TOKEN_DATE,
    TOKEN_WORD,      /* a name, or a unit where one is expected */
    TOKEN_UNIT_WORD, /* can only be a unit: `%`, `%ABV`, `°C`, `C°` */
    TOKEN_TEXT,      /* the opening quote of a text */
    TOKEN_RAW_TEXT,  /* a whole '…' */
    TOKEN_SUPERSCRIPT,
    TOKEN_LEFT_ROUND,
    TOKEN_RIGHT_ROUND,
    TOKEN_LEFT_SQUARE,
    TOKEN_RIGHT_SQUARE,
    TOKEN_LEFT_CURLY,
    TOKEN_RIGHT_CURLY,
    TOKEN_COMMA,
    TOKEN_COLON,
    TOKEN_DOT,
    TOKEN_ASSIGN,
    TOKEN_EQUAL,
    TOKEN_NOT_EQUAL,
    TOKEN_LESS,
    TOKEN_LESS_EQUAL,
    TOKEN_GREATER,
    TOKEN_GREATER_EQUAL,
    TOKEN_PLUS,
    TOKEN_MINUS,
    TOKEN_STAR,
    TOKEN_SLASH,
    TOKEN_CARET,
    TOKEN_PLUS_MINUS,
#define KEYWORD(id, ...) TOKEN_##id,
#include "front/language.def"
    TOKEN_COUNT
} TokenType;

enum { TOKEN_FIRST_KEYWORD = TOKEN_PLUS_MINUS + 1 };

typedef struct Token {
    TokenType type;
    Span span;
    double number;       /* NUMBER; DATE: days since 1970-01-01; SUPERSCRIPT: the exponent */
    bool digits_only;    /* NUMBER: nothing but digits and `_` */
    bool after_newline;  /* the first on its line, spaces aside */
    unsigned char quote; /* TEXT, RAW_TEXT: which pair of quotes */
} Token;

typedef struct Lexer {
    Source *source;
    const char *text; /* the source's, NUL-terminated */
    size_t length;
    size_t at; /* after the last token */
    DiagList *errors;
    int reported;      /* errors so far; those beyond a hundred are dropped */
    bool quiet;        /* report nothing: while looking ahead or skipping */
    bool in_brackets;  /* inside brackets `1,5` is two things */
    bool literal;      /* the text is one literal and no script: no remarks, and errors hint at that */
    bool unit_follows; /* … and its unit is elsewhere, as in the heading of a column */
} Lexer;

/* Starts at the first character; a byte-order mark is left out. The text must be valid UTF-8. */
void lexer_init(Lexer *lexer, Source *source, DiagList *errors);
/* The next token; after the end TOKEN_END for ever. */
Token lex_next(Lexer *lexer);
/* Adds an error unless the lexer is quiet or has reported too many. May give NULL. */
Diag *lex_report(Lexer *lexer, MessageId id, Span span, MessageArg *args);
bool lex_is_full(const Lexer *lexer); /* no further error would be kept */

typedef enum TextPiece { PIECE_BRACE, PIECE_CLOSED, PIECE_UNFINISHED } TextPiece;
/* Reads a text on to `{`, its closing quote or the end of the line, and past the first two. Escapes are
 * resolved. */
TextPiece lex_text_piece(Lexer *lexer, unsigned char quote, Text *out);
/* The place after the quote that closes a text whose inside begins at `at`; 0 when its line ends before. */
size_t lex_text_end(const Lexer *lexer, size_t at, unsigned char quote);
/* The place of the `}` that closes an interpolation whose inside begins at `at`; 0 when its line ends before.
 */
size_t lex_brace_end(const Lexer *lexer, size_t at);
/* The inside of a raw text. */
Span lex_raw_span(const Lexer *lexer, const Token *token);
/* The quote that would close a text. */
const char *lex_closing_quote(unsigned char quote);

/* A word as the tree keeps it: pasted spellings folded (`º` to `°`, `℃` to `°C`). */
char *lex_copy_word(const Lexer *lexer, Span span, Arena *arena);
/* The first character after the current token that is not a space, newlines skipped on request. Reads one
 * byte.
 */
char lex_peek(const Lexer *lexer, bool over_newlines);
size_t lex_peek_place(const Lexer *lexer); /* where that is, on the same line */
/* Copies source to `out`, runs of spaces and newlines made one space, comments left out, texts as they stand.
 */
void lex_copy_source(const Lexer *lexer, Span span, Text *out);
/* Where the line that continues at `at` ends: before its remark, but not before a # in a text. */
size_t lex_line_end(const Lexer *lexer, size_t at);
/* The line that holds `from`, up to its remark, with `text` in place of a span: what is to be typed. */
void lex_line_with(const Lexer *lexer, size_t from, Span span, const char *text, Text *out);

bool lex_is_keyword(TokenType type);
/* The token type of a reserved word, TOKEN_WORD for any other. */
TokenType lex_find_keyword(const char *word, size_t length);
const char *lex_keyword_text(TokenType type); /* "" for other types */

#endif
