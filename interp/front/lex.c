/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words, signs and spaces. Plain ASCII takes the short way; pasted characters are looked up in tables. */
#include "front/lex_state.h"

#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "front/word.h"

/* ---- tables ---- */

/* Pasted characters that are read as what they mean. */
typedef struct PastedSign {
    uint32_t code_point;
    TokenType type;
    int exponent;
} PastedSign;

static const PastedSign pasted_signs[] = {
    {0xB1, TOKEN_PLUS_MINUS, 0},  {0xB2, TOKEN_SUPERSCRIPT, 2}, {0xB3, TOKEN_SUPERSCRIPT, 3},
    {0xB7, TOKEN_STAR, 0},        {0xD7, TOKEN_STAR, 0},        {0xF7, TOKEN_SLASH, 0},
    {0x2212, TOKEN_MINUS, 0},     {0x22C5, TOKEN_STAR, 0},      {0xB5, TOKEN_UNIT_WORD, 0},
    {0x2103, TOKEN_UNIT_WORD, 0}, {0x2109, TOKEN_UNIT_WORD, 0},
};

/* Signs of other habits, and what is written here instead. */
typedef struct ForeignSign {
    const char *typed;
    const char *instead;
    const char
        *other; /* what to write instead elsewhere, as `says` puts it; NULL: `instead` will always do */
    MessageId says;
} ForeignSign;

static const ForeignSign foreign_signs[] = {
    {"===", "==", NULL, MSG_NONE},
    {"**", "^", NULL, MSG_NONE},
    {"=>", ">=", NULL, MSG_NONE},
    {"=<", "<=", NULL, MSG_NONE},
    {"<>", "!=", NULL, MSG_NONE},
    {":=", "=", NULL, MSG_NONE},
    {"&&", "and", NULL, MSG_NONE},
    {"||", "or", NULL, MSG_NONE},
    {"//", "/", "#", PHRASE_DIVIDE_OR_REMARK},
    {"&", "and", NULL, MSG_NONE},
    {"|", "or", NULL, MSG_NONE},
    {"!", "not", NULL, MSG_NONE},
    {"+=", "x = x + 1", NULL, MSG_NONE},
    {"*=", "x = x * 2", NULL, MSG_NONE},
    {"/=", "x = x / 2", NULL, MSG_NONE},
    {"-=", "x = x - 1", NULL, MSG_NONE},
    {"\xE2\x80\x93", "-", NULL, MSG_NONE},
    {"\xE2\x80\x94", "-", NULL, MSG_NONE},
    {"\xE2\x89\xA4", "<=", NULL, MSG_NONE},
    {"\xE2\x89\xA5", ">=", NULL, MSG_NONE},
    {"\xE2\x89\xA0", "!=", NULL, MSG_NONE},
    {"\xE2\x81\x84", "/", NULL, MSG_NONE},
    {"\xC2\xAB", "\"", NULL, MSG_NONE},
    {"\xC2\xBB", "\"", NULL, MSG_NONE},
    {"\xE2\x85\x93", "1/3", "1 / 3", PHRASE_FRACTION_OR_DIVISION},
    {"\xE2\x85\x94", "2/3", "2 / 3", PHRASE_FRACTION_OR_DIVISION},
    {"\xE2\x85\x9B", "1/8", "1 / 8", PHRASE_FRACTION_OR_DIVISION},
    {"\xE2\x86\x92", "as", NULL, MSG_NONE},
    {"\xC2\xB9", "^1", NULL, MSG_NONE},
    {"\xE2\x81\xB4", "^4", NULL, MSG_NONE},
    {"\xE2\x88\x9A", "sqrt(2)", NULL, MSG_NONE},
};

/* ---- reporting ---- */

enum { MOST_REPORTS = 100 };

bool lex_is_full(const Lexer *lexer) {
    return lexer->reported >= MOST_REPORTS;
}

Diag *lex_report(Lexer *lexer, MessageId id, Span span, MessageArg *args) {
    if (lexer->quiet || lex_is_full(lexer)) {
        args_free(args);
        return NULL;
    }
    lexer->reported++;
    Diag *diag = diag_add(lexer->errors, id, lexer->source, span, args);
    if (lexer->literal)
        diag_hint_alone(diag);
    return diag;
}

/* ---- characters ---- */

uint32_t lex_code_point(const Lexer *lexer, size_t at, size_t *bytes) {
    uint32_t code_point = 0;
    *bytes = 0;
    if (at >= lexer->length)
        return 0;
    *bytes = utf8_decode(lexer->text + at, lexer->length - at, &code_point);
    if (*bytes == 0)
        *bytes = 1; /* cannot be: the text was checked; still never stand still */
    return code_point;
}

/* The space separators of Unicode, no-break spaces among them. */
static bool is_wide_blank(uint32_t c) {
    return c == 0xA0 || c == 0x1680 || (c >= 0x2000 && c <= 0x200A) || c == 0x202F || c == 0x205F ||
           c == 0x3000;
}

size_t lex_skip_blanks(const Lexer *lexer, size_t at) {
    const char *text = lexer->text;
    for (;;) {
        while (text[at] == ' ' || text[at] == '\t' || lex_is_line_cr(lexer, at))
            at++;
        unsigned char c = (unsigned char)text[at];
        if (c != 0xC2 && c != 0xE1 && c != 0xE2 && c != 0xE3)
            return at;
        size_t bytes;
        if (!is_wide_blank(lex_code_point(lexer, at, &bytes)))
            return at;
        at += bytes;
    }
}

char lex_peek(const Lexer *lexer, bool over_newlines) {
    size_t at = lex_skip_blanks(lexer, lexer->at);
    while (over_newlines && lexer->text[at] == '\n')
        at = lex_skip_blanks(lexer, at + 1);
    return lexer->text[at];
}

size_t lex_peek_place(const Lexer *lexer) {
    return lex_skip_blanks(lexer, lexer->at);
}

static bool is_degree(uint32_t c) {
    return c == 0xB0 || c == 0xBA;
}

/* Past letters, digits and `_` of any alphabet. */
static size_t skip_word(const Lexer *lexer, size_t at) {
    const char *text = lexer->text;
    for (;;) {
        while (lex_is_letter_byte(text[at]) || lex_is_digit_byte(text[at]))
            at++;
        size_t bytes;
        if ((unsigned char)text[at] < 0x80 || !utf8_is_letter(lex_code_point(lexer, at, &bytes)))
            return at;
        at += bytes;
    }
}

static bool is_letter_at(const Lexer *lexer, size_t at) {
    size_t bytes;
    return lex_is_letter_byte(lexer->text[at]) ||
           ((unsigned char)lexer->text[at] >= 0x80 && utf8_is_letter(lex_code_point(lexer, at, &bytes)));
}

/* ---- words ---- */

bool lex_is_keyword(TokenType type) {
    return (int)type >= TOKEN_FIRST_KEYWORD && type < TOKEN_COUNT;
}

const char *lex_keyword_text(TokenType type) {
    const Word *word = word_of_token(type);
    return word ? word->text : "";
}

TokenType lex_find_keyword(const char *word, size_t length) {
    const Word *found = word_find(word, length);
    return found ? found->token : TOKEN_WORD;
}

static void read_word(Lexer *lexer, Token *token) {
    size_t start = lexer->at, end = skip_word(lexer, start), bytes;
    token->type = lex_find_keyword(lexer->text + start, end - start);
    if ((unsigned char)lexer->text[end] == 0xC2 && is_degree(lex_code_point(lexer, end, &bytes)) &&
        !is_letter_at(lexer, end + bytes)) {
        token->type = TOKEN_UNIT_WORD; /* `C°` */
        end += bytes;
    }
    lexer->at = end;
}

/* `%` and the letters touching it, unless they are a word of the language: `5%of` is 5 % of. */
static void read_percent(Lexer *lexer, Token *token) {
    size_t end = skip_word(lexer, lexer->at + 1), letters = end - lexer->at - 1;
    token->type = TOKEN_UNIT_WORD;
    if (letters == 0 || lex_is_digit_byte(lexer->text[lexer->at + 1]) ||
        lex_find_keyword(lexer->text + lexer->at + 1, letters) != TOKEN_WORD)
        end = lexer->at + 1;
    lexer->at = end;
}

static void read_degree(Lexer *lexer, Token *token, size_t bytes) {
    size_t start = lexer->at;
    lexer->at = skip_word(lexer, start + bytes);
    token->type = TOKEN_UNIT_WORD;
    if (lexer->at > start + bytes)
        return;
    size_t word = start + bytes + 1; /* `20 ° C`; the text may end at the sign */
    size_t end = lexer->text[word - 1] == ' ' ? skip_word(lexer, word) : word;
    if (end > word && !lex_is_digit_byte(lexer->text[word]) &&
        lex_find_keyword(lexer->text + word, end - word) == TOKEN_WORD) {
        lexer->at = end;
        return;
    }
    token->type = TOKEN_BAD;
    lex_report(lexer, MSG_LONE_DEGREE, lex_span(start, lexer->at), NO_ARGS);
}

bool lex_starts_unit(const Lexer *lexer, size_t at) {
    size_t bytes;
    if (lexer->text[at] == '%' || (lexer->unit_follows && at == lexer->length))
        return true;
    if (is_letter_at(lexer, at)) {
        size_t end = skip_word(lexer, at);
        return lex_find_keyword(lexer->text + at, end - at) == TOKEN_WORD;
    }
    uint32_t c = lex_code_point(lexer, at, &bytes);
    return is_degree(c) || c == 0xB5 || c == 0x2103 || c == 0x2109;
}

char *lex_copy_word(const Lexer *lexer, Span span, Arena *arena) {
    char *copy = arena_copy_composed(arena, lexer->text + span.start, span.end - span.start);
    size_t length = strlen(copy);
    uint32_t c = 0;
    if (length >= 3 && utf8_decode(copy, length, &c) == 3 && (c == 0x2103 || c == 0x2109)) {
        copy[0] = (char)0xC2; /* ℃ and ℉ take three bytes, and so do °C and °F */
        copy[1] = (char)0xB0;
        copy[2] = c == 0x2103 ? 'C' : 'F';
    }
    for (size_t i = 0; i + 1 < length; i++)
        if ((unsigned char)copy[i] == 0xC2 && (unsigned char)copy[i + 1] == 0xBA)
            copy[i + 1] = (char)0xB0;
    return copy;
}

/* ---- signs ---- */

/* Without the spaces and stars around it. */
static void add_remark(Text *out, const char *text, size_t start, size_t end) {
    while (start < end && strchr(" \t\r\n*", text[start]))
        start++;
    while (end > start && strchr(" \t\r\n*", text[end - 1]))
        end--;
    text_add_string(out, "# ");
    text_add(out, text + start, end - start);
}

/* The line with its remark after a #: what is before it, what is after it, and the remark. */
static void report_remark_line(Lexer *lexer, Span whole, size_t inside, size_t inside_end) {
    Text remark = {0}, line = {0};
    const char *text = lexer->text;
    size_t line_end = whole.end + strcspn(text + whole.end, "\n"), behind = lex_skip_blanks(lexer, whole.end);
    if (behind < line_end)
        text_add(&remark, text + behind, line_end - behind);
    text_add_string(&remark, behind < line_end ? " " : "");
    add_remark(&remark, text, inside, inside_end);
    lex_line_with(lexer, whole.start, lex_span(whole.start, line_end), text_string(&remark), &line);
    lex_report(lexer, MSG_REMARK_SIGN, lex_span(whole.start, inside),
               ARGS(arg_mending(arg_taken(ARG_TEXT, &line), MENDS_LINE | SURELY)));
    text_free(&remark);
}

/* A remark of several lines: shows its first one that is not empty. */
static void report_remark_lines(Lexer *lexer, Span whole, size_t inside, size_t inside_end) {
    const char *const blanks = " \t\r\n*";
    Text first = {0};
    while (inside < inside_end && strchr(blanks, lexer->text[inside]))
        inside++;
    size_t end = inside + strcspn(lexer->text + inside, "\n");
    add_remark(&first, lexer->text, inside, end < inside_end ? end : inside_end);
    Diag *diag = lex_report(lexer, MSG_REMARK_SIGN, lex_span(whole.start, whole.start + 2), NO_ARGS);
    if (diag)
        diag_hint(diag, HINT_REMARK_LINES, ARGS(text_string(&first)));
    text_free(&first);
}

/* A remark of another habit, from `//` to the end of its line, or in signs like those of this one. Passes it.
 */
static bool report_remark(Lexer *lexer) {
    const char *text = lexer->text;
    size_t start = lexer->at, inside = start + 2;
    bool star = strncmp(text + start, "/*", 2) == 0;
    if ((!star && strncmp(text + start, "//", 2) != 0) || lexer->literal)
        return false;
    size_t line_end = inside + strcspn(text + inside, "\n"), after = lex_skip_blanks(lexer, inside);
    if (!star && (lex_is_digit_byte(text[after]) || text[after] == '('))
        return false; /* hardly a remark */
    const char *brace = star ? NULL : strchr(text + inside, '}');
    if (brace && brace < text + line_end && strchr(brace, '"') && strchr(brace, '"') < text + line_end)
        return false; /* inside a text */
    const char *close = star ? strstr(text + inside, "*/") : NULL;
    size_t inside_end = close ? (size_t)(close - text) : line_end;
    Span whole = lex_span(start, close ? inside_end + 2 : line_end);
    lexer->at = whole.end;
    if (lexer->quiet)
        return true;
    if (inside_end > line_end)
        report_remark_lines(lexer, whole, inside, inside_end);
    else
        report_remark_line(lexer, whole, inside, inside_end);
    return true;
}

static MessageArg say_instead(const ForeignSign *sign) {
    if (sign->other)
        return arg_phrase(sign->says, ARGS(sign->instead, sign->other));
    bool example =
        strpbrk(sign->instead, "x(") != NULL; /* `x = x + 1`, `sqrt(2)`: it is not what takes its place */
    return arg_mending(arg_text(sign->instead), example ? MENDS_NOTHING : MENDS_PLACE | SURELY);
}

/* Is it a sign of another habit? Says what to write instead. */
static bool report_foreign(Lexer *lexer) {
    if (report_remark(lexer))
        return true;
    for (size_t i = 0; i < sizeof foreign_signs / sizeof *foreign_signs; i++) {
        size_t length = strlen(foreign_signs[i].typed);
        if (strncmp(lexer->text + lexer->at, foreign_signs[i].typed, length) != 0)
            continue;
        lex_report(lexer, MSG_SIGN_INSTEAD, lex_span(lexer->at, lexer->at + length),
                   ARGS(foreign_signs[i].typed, say_instead(&foreign_signs[i])));
        lexer->at += length;
        return true;
    }
    return false;
}

static bool is_invisible(uint32_t c) {
    return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0xAD || (c >= 0x200B && c <= 0x200F) ||
           (c >= 0x2028 && c <= 0x202E) || (c >= 0x2060 && c <= 0x206F) || c == 0xFEFF;
}

static void report_stray(Lexer *lexer, uint32_t c, size_t bytes) {
    Span span = lex_span(lexer->at, lexer->at + bytes);
    lexer->at += bytes;
    if (lexer->quiet)
        return;
    char name[16], *typed = mem_copy(lexer->text + span.start, bytes);
    snprintf(name, sizeof name, "U+%04X", (unsigned)c);
    MessageId id = MSG_STRAY_CHARACTER;
    if (is_invisible(c))
        id = MSG_STRAY_INVISIBLE;
    else if (c == '$' || (c >= 0xA2 && c <= 0xA5) || (c >= 0x20A0 && c <= 0x20CF))
        id = MSG_STRAY_MONEY;
    lex_report(lexer, id, span, ARGS(is_invisible(c) ? name : typed));
    mem_free(typed);
}

static void read_stray(Lexer *lexer, Token *token) {
    size_t bytes;
    token->type = TOKEN_BAD;
    if (!lexer->quiet && report_foreign(lexer))
        return;
    uint32_t c = lex_code_point(lexer, lexer->at, &bytes);
    report_stray(lexer, c, bytes);
}

static void read_quote(Lexer *lexer, Token *token, unsigned char quote, size_t bytes) {
    if (lex_quote_is_raw(quote)) {
        lex_read_raw(lexer, token, quote, bytes);
        return;
    }
    token->type = TOKEN_TEXT;
    token->quote = quote;
    lexer->at += bytes;
}

/* Anything beyond ASCII. */
static void read_pasted(Lexer *lexer, Token *token) {
    size_t bytes;
    double part;
    uint32_t c = lex_code_point(lexer, lexer->at, &bytes);
    unsigned char quote;
    if (utf8_is_letter(c)) {
        read_word(lexer, token);
        return;
    }
    if (is_degree(c)) {
        read_degree(lexer, token, bytes);
        return;
    }
    if (lex_vulgar_fraction(c, &part)) {
        lex_read_number(lexer, token);
        return;
    }
    if ((quote = lex_quote_at(lexer, lexer->at, &bytes)) != 0) {
        read_quote(lexer, token, quote, bytes);
        return;
    }
    for (size_t i = 0; i < sizeof pasted_signs / sizeof *pasted_signs; i++) {
        if (pasted_signs[i].code_point != c)
            continue;
        lex_code_point(lexer, lexer->at, &bytes);
        token->type = pasted_signs[i].type;
        token->number = pasted_signs[i].exponent;
        lexer->at += bytes;
        if (c == 0xB5)
            lexer->at = skip_word(lexer, lexer->at);
        return;
    }
    read_stray(lexer, token);
}

static void take(Lexer *lexer, Token *token, TokenType type, size_t bytes) {
    token->type = type;
    lexer->at += bytes;
}

typedef struct Sign {
    char typed;
    TokenType alone;
    TokenType before_equal; /* TOKEN_BAD: no such sign */
} Sign;

static const Sign signs[] = {
    {'(', TOKEN_LEFT_ROUND, TOKEN_BAD},  {')', TOKEN_RIGHT_ROUND, TOKEN_BAD},
    {'[', TOKEN_LEFT_SQUARE, TOKEN_BAD}, {']', TOKEN_RIGHT_SQUARE, TOKEN_BAD},
    {'{', TOKEN_LEFT_CURLY, TOKEN_BAD},  {'}', TOKEN_RIGHT_CURLY, TOKEN_BAD},
    {',', TOKEN_COMMA, TOKEN_BAD},       {':', TOKEN_COLON, TOKEN_BAD},
    {';', TOKEN_SEMICOLON, TOKEN_BAD},   {'=', TOKEN_ASSIGN, TOKEN_EQUAL},
    {'<', TOKEN_LESS, TOKEN_LESS_EQUAL}, {'>', TOKEN_GREATER, TOKEN_GREATER_EQUAL},
    {'!', TOKEN_BAD, TOKEN_NOT_EQUAL},   {'+', TOKEN_PLUS, TOKEN_BAD},
    {'-', TOKEN_MINUS, TOKEN_BAD},       {'*', TOKEN_STAR, TOKEN_BAD},
    {'/', TOKEN_SLASH, TOKEN_BAD},       {'^', TOKEN_CARET, TOKEN_BAD},
};

/* Could a sign of another habit begin like this, though its first character is one of ours? */
static bool may_be_foreign(const char *text) {
    return strchr("=*>/&|<", text[1]) && text[1] && strchr("=*<:+-/", text[0]) && text[0];
}

static void read_sign(Lexer *lexer, Token *token) {
    static const char minus_sign[] = "\xE2\x88\x92";
    const char *text = lexer->text + lexer->at;
    if (text[0] == '+' && (text[1] == '-' || strncmp(text + 1, minus_sign, 3) == 0)) {
        take(lexer, token, TOKEN_PLUS_MINUS, text[1] == '-' ? 2 : 4);
        return;
    }
    bool equal = text[1] == '=' && text[2] != '=';
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        if (signs[i].typed != text[0])
            continue;
        if (equal && signs[i].before_equal != TOKEN_BAD)
            take(lexer, token, signs[i].before_equal, 2);
        else if (may_be_foreign(text) && report_foreign(lexer))
            return;
        else if (signs[i].alone != TOKEN_BAD)
            take(lexer, token, signs[i].alone, 1);
        else
            break;
        return;
    }
    read_stray(lexer, token);
}

/* A point before a field, or `.5` where a number should begin. */
static void read_dot(Lexer *lexer, Token *token) {
    size_t start = lexer->at;
    char before = start > 0 ? lexer->text[start - 1] : ' ';
    take(lexer, token, TOKEN_DOT, 1);
    if (!lex_is_digit_byte(lexer->text[lexer->at]) || lex_is_letter_byte(before) ||
        lex_is_digit_byte(before) || before == ')' || before == ']' || (unsigned char)before >= 0x80)
        return;
    token->type = TOKEN_NUMBER;
    while (lex_is_digit_byte(lexer->text[lexer->at]))
        lexer->at++;
    char *typed = mem_copy(lexer->text + start, lexer->at - start);
    lex_report(lexer, MSG_NUMBER_POINT_START, lex_span(start, lexer->at), ARGS(typed));
    mem_free(typed);
}

/* ---- public ---- */

void lexer_init(Lexer *lexer, Source *source, DiagList *errors) {
    *lexer = (Lexer){.source = source, .text = source->text, .length = source->length, .errors = errors};
    if (strncmp(source->text, "\xEF\xBB\xBF", 3) == 0)
        lexer->at = 3;
}

static void skip_to_token(Lexer *lexer) {
    lexer->at = lex_skip_blanks(lexer, lexer->at);
    if (lexer->text[lexer->at] != '#' || lexer->literal)
        return;
    const char *newline = memchr(lexer->text + lexer->at, '\n', lexer->length - lexer->at);
    lexer->at = newline ? (size_t)(newline - lexer->text) : lexer->length;
}

Token lex_next(Lexer *lexer) {
    skip_to_token(lexer);
    size_t bytes, start = lexer->at;
    Token token = {.type = TOKEN_BAD, .span = lex_span(start, start)};
    char c = lexer->text[start];
    if (start >= lexer->length)
        token.type = TOKEN_END;
    else if (c == '\n')
        take(lexer, &token, TOKEN_NEWLINE, 1);
    else if (lex_is_letter_byte(c))
        read_word(lexer, &token);
    else if (lex_is_digit_byte(c))
        lex_read_number(lexer, &token);
    else if ((unsigned char)c >= 0x80)
        read_pasted(lexer, &token);
    else if (c == '"' || c == '\'')
        read_quote(lexer, &token, lex_quote_at(lexer, start, &bytes), 1);
    else if (c == '%')
        read_percent(lexer, &token);
    else if (c == '.')
        read_dot(lexer, &token);
    else
        read_sign(lexer, &token);
    token.span.end = (uint32_t)lexer->at;
    return token;
}
