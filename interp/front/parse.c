/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The parser's state, its errors, how it continues after one, and the entry points of parse.h. */
#include "front/parse_state.h"

#include <string.h>

#include "base/mem.h"
#include "quantities/unit.h"

/* ---- tokens ---- */

/* After these a newline does not end the statement (docs/reference/language.md, "Scripts"). */
static bool continues(TokenType type) {
    switch ((int)type) {
    case TOKEN_COMMA:
    case TOKEN_COLON:
    case TOKEN_ASSIGN:
    case TOKEN_EQUAL:
    case TOKEN_NOT_EQUAL:
    case TOKEN_LESS:
    case TOKEN_LESS_EQUAL:
    case TOKEN_GREATER:
    case TOKEN_GREATER_EQUAL:
    case TOKEN_PLUS:
    case TOKEN_MINUS:
    case TOKEN_STAR:
    case TOKEN_SLASH:
    case TOKEN_CARET:
    case TOKEN_PLUS_MINUS:
        return true;
    default:
        return word_token_has(type, TRAIT_CONTINUES);
    }
}

void parser_advance(Parser *parser) {
    parser->previous = parser->token;
    parser->lexer.in_brackets = parser->brackets > 0;
    bool skip = parser->texts == 0 && (parser->brackets > 0 || continues(parser->previous.type));
    bool after_newline = parser->previous.type == TOKEN_NEWLINE;
    for (;;) {
        parser->token = lex_next(&parser->lexer);
        if (parser->token.type != TOKEN_NEWLINE || !skip)
            break;
        after_newline = true;
    }
    parser->token.after_newline = after_newline;
}

bool parser_accept(Parser *parser, TokenType type) {
    if (parser->token.type != type)
        return false;
    parser_advance(parser);
    return true;
}

bool parser_touches(const Parser *parser) {
    return parser->token.span.start == parser->previous.span.end;
}

void parser_open(Parser *parser) {
    parser->brackets++;
    parser_advance(parser);
}

bool parser_has_errors(const Parser *parser) {
    return parser->errors->count > parser->first_error;
}

bool parser_enter(Parser *parser) {
    if (++parser->depth <= PARSE_NESTING)
        return true;
    parser_report(parser, MSG_TOO_DEEP, parser->token.span, NO_ARGS);
    parser->too_deep = true;
    return false;
}

void parser_leave(Parser *parser) {
    parser->depth--;
}

char *parser_source(Parser *parser, Span span) {
    return arena_copy_composed(parser->arena, parser->lexer.text + span.start, span.end - span.start);
}

char *parser_token_text(Parser *parser, const Token *token) {
    if (token->type == TOKEN_TEXT) {
        size_t end = lex_text_end(&parser->lexer, token->span.end, token->quote);
        if (end)
            return parser_source(parser, (Span){token->span.start, (uint32_t)end});
    }
    return parser_source(parser, token->span);
}

void *parser_grow(Parser *parser, void *items, int count, int *capacity, size_t size) {
    if (count < *capacity)
        return items;
    *capacity = *capacity ? *capacity * 2 : 1; /* most units have one term, most calls one argument */
    void *larger = arena_alloc(parser->arena, (size_t)*capacity * size);
    if (count)
        memcpy(larger, items, (size_t)count * size);
    return larger;
}

/* ---- errors ---- */

Diag *parser_report(Parser *parser, MessageId id, Span span, MessageArg *args) {
    if (parser->failed) {
        args_free(args);
        return NULL;
    }
    parser->failed = true;
    return lex_report(&parser->lexer, id, span, args);
}

/* The source ends where it may continue: inside a bracket, or after a sign or word that needs something after
 * it. */
static void note_end(Parser *parser) {
    bool open = parser->texts == 0 && (parser->brackets > 0 || continues(parser->previous.type));
    if (parser->token.type == TOKEN_END && open && !parser_has_errors(parser))
        parser->unfinished = true;
}

Diag *parser_report_next(Parser *parser, MessageId id, MessageArg *args) {
    bool told = parser->failed || parser->token.type == TOKEN_BAD; /* the lexer reports a bad one */
    if (told) {
        parser->failed = true;
        args_free(args);
        return NULL;
    }
    note_end(parser);
    Span span = parser->token.span;
    if (parser->token.type == TOKEN_NEWLINE || parser->token.type == TOKEN_END) {
        /* what is missing is missing after the last word, not on the next line */
        span = (Span){parser->previous.span.end, parser->previous.span.end};
    } else if (parser->token.type == TOKEN_TEXT) {
        size_t end = lex_text_end(&parser->lexer, span.end, parser->token.quote);
        span.end = end ? (uint32_t)end : span.end;
    }
    return parser_report(parser, id, span, args);
}

void parser_label(Diag *diag, Span span) {
    if (diag)
        diag_label(diag, span, "");
}

/* `then`, `do`, `to` … at the head of the next line: one mistake, and the statement continues there. */
static bool report_broken_line(Parser *parser, TokenType type) {
    if (parser->failed || !lex_is_keyword(type) || parser->token.type != TOKEN_NEWLINE)
        return false;
    if (type == TOKEN_ELSE && parser->body != BODY_FILE)
        return false; /* may belong to the block around */
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Token next;
    do
        next = lex_next(&ahead);
    while (next.type == TOKEN_NEWLINE);
    if (next.type != type)
        return false;
    lex_report(&parser->lexer, MSG_LINE_OPERATOR, next.span, ARGS(lex_keyword_text(type)));
    while (parser->token.type == TOKEN_NEWLINE)
        parser_advance(parser);
    parser_advance(parser);
    return true;
}

/* `said`: what was reported as missing, else NULL. */
static bool expect_token(Parser *parser, TokenType type, MessageId missing, Diag **said) {
    *said = NULL;
    if (parser_accept(parser, type))
        return true;
    if (report_broken_line(parser, type))
        return true;
    bool compares = type == TOKEN_THEN || type == TOKEN_ELSE || type == TOKEN_DO;
    if (compares && parser->token.type == TOKEN_ASSIGN)
        parser_report_extra(parser); /* `if x = 5 then` */
    else
        *said = parser_report_next(parser, missing, ARGS(parser_token_text(parser, &parser->previous)));
    return false;
}

bool parser_expect(Parser *parser, TokenType type, MessageId missing) {
    Diag *said;
    return expect_token(parser, type, missing, &said);
}

bool parser_expect_in_line(Parser *parser, TokenType type, MessageId missing, Span span, const char *text) {
    Diag *said;
    bool found = expect_token(parser, type, missing, &said);
    if (said)
        diag_hint(said, HINT_WRITE, ARGS(parser_line_surely(parser, span, text)));
    return found;
}

/* `abv 1.055 SG 1.002 SG`: the line with brackets for a call, or inside them with a comma. */
static MessageArg line_as_call(Parser *parser, const Token *left, const Token *right) {
    bool value = left->type == TOKEN_WORD && parser_is_value(parser, parser_token_text(parser, left));
    if (parser->brackets > 0 || left->type != TOKEN_WORD || value)
        return parser_line_surely(parser, (Span){left->span.end, right->span.start}, ", ");
    Text call = {0};
    uint32_t end = (uint32_t)lex_line_end(&parser->lexer, right->span.start);
    text_add_char(&call, '(');
    text_add(&call, parser->lexer.text + right->span.start, end - right->span.start);
    text_add_char(&call, ')');
    MessageArg line = parser_line_surely(parser, (Span){left->span.end, end}, text_string(&call));
    text_free(&call);
    return line;
}

/* `1.055` is written so of a gravity alone: it is shown with its unit. */
static void end_argument(Text *out, const char *number, bool has_unit) {
    bool gravity = strlen(number) == 5 && (strncmp(number, "1.0", 3) == 0 || strncmp(number, "1.1", 3) == 0 ||
                                           strncmp(number, "0.9", 3) == 0);
    text_add_string(out, gravity && !has_unit ? " SG" : "");
}

/* The numbers with their units from the token to the end of the statement, with commas between them. False
 * when anything else is there. */
static bool add_arguments(Parser *parser, Text *out, uint32_t *end) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    const char *number = NULL;
    bool has_unit = false;
    Token token = parser->token;
    for (*end = token.span.start;
         token.type == TOKEN_NUMBER || token.type == TOKEN_WORD || token.type == TOKEN_UNIT_WORD;
         token = lex_next(&ahead)) {
        if (token.type == TOKEN_NUMBER && number) {
            end_argument(out, number, has_unit);
            text_add_string(out, ", ");
        } else {
            text_add(out, ahead.text + *end, token.span.start - *end);
        }
        has_unit = token.type != TOKEN_NUMBER;
        number = has_unit ? number : parser_source(parser, token.span);
        text_add(out, ahead.text + token.span.start, token.span.end - token.span.start);
        *end = token.span.end;
    }
    if (number)
        end_argument(out, number, has_unit);
    return token.type == TOKEN_NEWLINE || token.type == TOKEN_SEMICOLON || token.type == TOKEN_END;
}

/* `abv 1.055 1.002`: shows the call in full. */
static void hint_call(Parser *parser, Diag *diag, const Token *name) {
    Text call = {0};
    uint32_t end;
    text_add_char(&call, '(');
    const ParseHost *host = parser->host;
    bool formula = name->type == TOKEN_WORD && host && host->is_formula &&
                   host->is_formula(host->context, parser_token_text(parser, name));
    bool known = diag && formula && parser->brackets == 0 && !parser->lexer.literal &&
                 !parser_is_value(parser, parser_token_text(parser, name)) &&
                 add_arguments(parser, &call, &end);
    text_add_char(&call, ')');
    if (known) {
        MessageArg line = parser_line_with(parser, (Span){name->span.end, end}, text_string(&call));
        diag_hint(diag, HINT_WRITE, ARGS(arg_mending(line, MENDS_NOTHING)));
    }
    text_free(&call);
}

/* Two numbers: digits in groups are one number of somebody else's, a whole number and a fraction want a unit.
 */
static void report_two_numbers(Parser *parser) {
    const Token *left = &parser->previous, *right = &parser->token;
    char *first = parser_token_text(parser, left), *second = parser_token_text(parser, right);
    bool grouped = left->type == TOKEN_NUMBER && left->digits_only && right->digits_only &&
                   strlen(second) == 3 && strlen(first) <= 3;
    bool fraction = left->type == TOKEN_NUMBER && left->digits_only && right->digits_only &&
                    parser->lexer.text[parser->lexer.at] == '/';
    Diag *diag = parser_report_next(parser,
                                    grouped    ? MSG_NUMBER_GROUPED
                                    : fraction ? MSG_MIXED_NEEDS_UNIT
                                               : MSG_TWO_NUMBERS,
                                    ARGS(first, second, line_as_call(parser, left, right)));
    if (!grouped && !fraction)
        hint_call(parser, diag, left);
    bool percent = first[strlen(first) - 1] == '%';
    if (diag && percent)
        diag_hint(diag, HINT_REMAINDER, ARGS(parser_line_surely(parser, left->span, "mod")));
    parser_label(diag, left->span);
}

static void report_extra_bracket(Parser *parser) {
    const Token *token = &parser->token, *left = &parser->previous;
    char *sign = parser_token_text(parser, token);
    if (left->type == TOKEN_WORD)
        parser_report_next(parser, MSG_BLANK_BEFORE_BRACKET, ARGS(parser_token_text(parser, left), sign));
    else
        parser_report_next(parser, MSG_OPERATOR_MISSING, ARGS(sign));
}

/* What an extra token most likely means, one row each. */
typedef struct ExtraRow {
    TokenType type;
    MessageId message;
} ExtraRow;

static const ExtraRow extra_rows[] = {
    {TOKEN_TEXT, MSG_EXTRA_TEXT},           {TOKEN_RAW_TEXT, MSG_EXTRA_TEXT},
    {TOKEN_RIGHT_ROUND, MSG_EXTRA_CLOSING}, {TOKEN_RIGHT_SQUARE, MSG_EXTRA_CLOSING},
    {TOKEN_RIGHT_CURLY, MSG_EXTRA_CLOSING}, {TOKEN_TO, MSG_FORMAT_ELSEWHERE},
    {TOKEN_COLON, MSG_EXTRA_COLON},         {TOKEN_COMMA, MSG_EXTRA_COMMA},
    {TOKEN_LEFT_CURLY, MSG_EXTRA_CURLY},    {TOKEN_IF, MSG_EXTRA_IF},
};

/* `5 in` is a length, `x in L` a conversion. */
static void report_extra_in(Parser *parser) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Token next = lex_next(&ahead);
    bool inch = parser->previous.type == TOKEN_NUMBER && next.type != TOKEN_WORD &&
                next.type != TOKEN_UNIT_WORD && next.type != TOKEN_LEFT_SQUARE;
    if (inch) {
        parser_report_next(parser, MSG_UNIT_UNKNOWN_NEAR,
                           ARGS("in", arg_mending(arg_text(unit_instead("in")), MENDS_PLACE | SURELY)));
        return;
    }
    Span left = parser->previous.span;
    Diag *diag = parser_report_next(parser, MSG_EXTRA_IN, NO_ARGS);
    size_t length = strcspn(ahead.text + next.span.start, "]\n");
    if (!diag || next.type != TOKEN_LEFT_SQUARE || ahead.text[next.span.start + length] != ']')
        return;
    uint32_t end = next.span.start + (uint32_t)length + 1;
    char *asks = message_take(PHRASE_LIST_HAS, ARGS(parser_source(parser, (Span){next.span.start, end}),
                                                    parser_source(parser, left)));
    diag_hint(diag, HINT_IN_LIST, ARGS(parser_line_surely(parser, (Span){left.start, end}, asks)));
    mem_free(asks);
}

void parser_report_extra(Parser *parser) {
    const Token *token = &parser->token;
    bool value = token->type == TOKEN_NUMBER || token->type == TOKEN_DATE || token->type == TOKEN_TEXT;
    if ((value || token->type == TOKEN_COMMA) && parser_report_behind_text(parser))
        return;
    if (token->type == TOKEN_NUMBER || token->type == TOKEN_DATE) {
        report_two_numbers(parser);
        return;
    }
    if (token->type == TOKEN_LEFT_ROUND || token->type == TOKEN_LEFT_SQUARE) {
        report_extra_bracket(parser);
        return;
    }
    bool converts = token->type == TOKEN_TO || token->type == TOKEN_IN;
    if (converts && parser_report_target(parser))
        return;
    if (token->type == TOKEN_IN) {
        report_extra_in(parser);
        return;
    }
    if (token->type == TOKEN_ASSIGN) {
        MessageArg line = parser_line_surely(parser, token->span, "==");
        parser_report_next(parser, MSG_ASSIGN_INSIDE, ARGS(line));
        return;
    }
    MessageId message = MSG_EXTRA;
    for (size_t i = 0; i < sizeof extra_rows / sizeof *extra_rows; i++)
        if (extra_rows[i].type == token->type)
            message = extra_rows[i].message;
    parser_report_next(parser, message, ARGS(parser_token_text(parser, token)));
}

bool parser_close(Parser *parser, TokenType type, Span opened) {
    if (parser->token.type == type) {
        parser->brackets--;
        parser_advance(parser);
        return true;
    }
    char *sign = parser_source(parser, opened);
    const char *closing = type == TOKEN_RIGHT_ROUND ? ")" : type == TOKEN_RIGHT_SQUARE ? "]" : "}";
    const Token *token = &parser->token;
    bool value = token->type == TOKEN_NUMBER || token->type == TOKEN_TEXT || token->type == TOKEN_RAW_TEXT ||
                 token->type == TOKEN_DATE;
    bool other_line = token->after_newline || token->type == TOKEN_END || token->type == TOKEN_NEWLINE ||
                      token->type == TOKEN_SEMICOLON ||
                      (lex_is_keyword(token->type) && token->type != TOKEN_IF && token->type != TOKEN_FOR);
    if (token->type == TOKEN_BAD) {
        parser->failed = true;
    } else if (token->after_newline && value) {
        Span gap = {parser->previous.span.end, parser->previous.span.end};
        parser_report(parser, MSG_COMMA_MISSING, gap, ARGS(parser_token_text(parser, &parser->previous)));
    } else if (other_line) {
        note_end(parser);
        parser_report(parser, MSG_BRACKET_OPEN, opened, ARGS(sign, closing));
    } else if (token->type == TOKEN_RIGHT_ROUND || token->type == TOKEN_RIGHT_SQUARE ||
               token->type == TOKEN_RIGHT_CURLY) {
        Diag *diag = parser_report_next(parser, MSG_BRACKET_OTHER,
                                        ARGS(sign, parser_token_text(parser, token), closing));
        parser_label(diag, opened);
    } else {
        parser_report_extra(parser);
    }
    return false;
}

const char *parse_name(Parser *parser, Span *span, MessageId wanted) {
    const Token *token = &parser->token;
    const char *word = token->type == TOKEN_END ? "" : parser_token_text(parser, token);
    if (lex_is_keyword(token->type) && !parser_name_is_left_out(parser)) {
        parser_report_reserved(parser, "");
    } else if (token->type == TOKEN_UNIT_WORD) {
        parser_report_next(parser, MSG_NAME_LETTERS, ARGS(word));
    } else if (token->type != TOKEN_WORD) {
        parser_report_next(parser, wanted, ARGS(parser_token_text(parser, &parser->previous)));
    } else {
        *span = token->span;
        parser_advance(parser);
        return word;
    }
    return NULL;
}

bool parse_name_ends(Parser *parser, Span name) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Span whole = name;
    TokenType type = parser->token.type;
    uint32_t at = parser->token.span.start;
    while (type == TOKEN_MINUS && at == whole.end) {
        Token word = lex_next(&ahead);
        if ((word.type != TOKEN_WORD && !lex_is_keyword(word.type)) || word.span.start != at + 1)
            break;
        whole.end = word.span.end;
        Token next = lex_next(&ahead);
        type = next.type;
        at = next.span.start;
    }
    if (whole.end == name.end)
        return true;
    char *typed = parser_source(parser, whole), *joined = parser_source(parser, whole);
    for (char *p = joined; *p; p++)
        *p = *p == '-' ? '_' : *p;
    parser_report(parser, MSG_NAME_HYPHEN, whole, ARGS(typed, joined));
    return false;
}

/* ---- going on after an error ---- */

/* Such a word cannot be at the head of a line inside brackets, unless as a label. */
static bool begins_statement(const Parser *parser) {
    const Token *token = &parser->token;
    return word_token_has(token->type, TRAIT_RESUMES) && token->after_newline &&
           token->span.start != parser->statement_start && lex_peek(&parser->lexer, false) != ':';
}

/* Steps over one token while skipping; texts as wholes, so that brackets in them do not count. */
static void skip_token(Parser *parser) {
    if (parser->token.type == TOKEN_TEXT) {
        size_t end = lex_text_end(&parser->lexer, parser->token.span.end, parser->token.quote);
        if (end == 0) {
            const char *from = parser->lexer.text + parser->lexer.at;
            end = parser->lexer.at + strcspn(from, "\n");
        }
        parser->lexer.at = end;
    }
    parser_advance(parser);
}

static int bracket_step(TokenType type) {
    switch ((int)type) {
    case TOKEN_LEFT_ROUND:
    case TOKEN_LEFT_SQUARE:
    case TOKEN_LEFT_CURLY:
        return 1;
    case TOKEN_RIGHT_ROUND:
    case TOKEN_RIGHT_SQUARE:
    case TOKEN_RIGHT_CURLY:
        return -1;
    default:
        return 0;
    }
}

typedef struct Skip {
    int depth;        /* of brackets */
    TokenType opener; /* of a header: `then` or `do`; else TOKEN_END */
    TokenType last;   /* the last token skipped */
} Skip;

static bool stops_skipping(Parser *parser, const Skip *skip) {
    TokenType type = parser->token.type;
    if (type == TOKEN_END || begins_statement(parser))
        return true;
    if (skip->depth > 0)
        return false;
    if (type == TOKEN_ELSE && parser->waiting_else > 0) {
        parser->waiting_else--; /* belongs to an expression */
        return false;
    }
    return type == TOKEN_NEWLINE || type == TOKEN_SEMICOLON || type == TOKEN_END_WORD || type == TOKEN_ELSE ||
           (skip->opener != TOKEN_END && type == skip->opener);
}

static TokenType skip_on(Parser *parser, TokenType opener) {
    if (parser->too_deep) { /* nothing sensible can be said about the rest */
        parser->lexer.at = parser->lexer.length;
        parser->token = lex_next(&parser->lexer);
    }
    Skip skip = {.depth = parser->brackets, .opener = opener, .last = parser->previous.type};
    bool quiet = parser->lexer.quiet;
    parser->brackets = parser->texts = 0;
    parser->lexer.quiet = true;
    while (!stops_skipping(parser, &skip)) {
        TokenType type = parser->token.type;
        skip.depth += bracket_step(type);
        if (skip.depth < 0)
            skip.depth = 0;
        if (type == TOKEN_IF && opener == TOKEN_END)
            parser->waiting_else++;
        if (type != TOKEN_NEWLINE)
            skip.last = type;
        skip_token(parser);
    }
    parser->lexer.quiet = quiet;
    parser->waiting_else = 0;
    parser->failed = parser->too_deep = false;
    return skip.last;
}

/* A line that ends in `do` or `then` opened a block, whatever was wrong with it: its `end` is not a mistake.
 */
static void skip_block(Parser *parser) {
    Block dropped = {0};
    if (parser->depth >= PARSE_NESTING)
        return;
    parser->depth++;
    do
        parse_body(parser, &dropped, BODY_PLAIN, true);
    while (parser_accept(parser, TOKEN_ELSE));
    parser->depth--;
    parser_accept(parser, TOKEN_END_WORD);
}

void parser_skip_statement(Parser *parser) {
    TokenType last = skip_on(parser, TOKEN_END);
    bool at_line_end = parser->token.type == TOKEN_NEWLINE || parser->token.after_newline;
    if ((last == TOKEN_DO || last == TOKEN_THEN) && at_line_end)
        skip_block(parser);
}

void parser_skip_header(Parser *parser, TokenType opener) {
    skip_on(parser, opener);
    if (opener != TOKEN_END)
        parser_accept(parser, opener);
}

/* ---- entry points ---- */

void parser_respell(Parser *parser, Span span, const char *text) {
    Respelling change = {.span = span, .text = text};
    PARSER_PUSH(parser, parser->respelled, parser->respelled_count, parser->respelled_capacity, change);
}

static ParseStatus end_program(Parser *parser, Program *program) {
    program->respelled = parser->respelled;
    program->respelled_count = parser->respelled_count;
    parser_free_names(parser);
    if (parser->unfinished)
        return PARSE_UNFINISHED;
    return parser_has_errors(parser) ? PARSE_ERRORS : PARSE_OK;
}

void parser_init(Parser *parser, Source *source, const ParseHost *host, DiagList *errors, Arena *arena) {
    *parser = (Parser){.host = host, .errors = errors, .arena = arena, .first_error = errors->count};
    lexer_init(&parser->lexer, source, errors);
    parser->token.type = TOKEN_NEWLINE; /* so that the first token is after a newline */
    parser->token.span = (Span){(uint32_t)parser->lexer.at, (uint32_t)parser->lexer.at};
}

bool parser_check_text(Parser *parser) {
    size_t bad = 0;
    const Lexer *lexer = &parser->lexer;
    const char *nul = memchr(lexer->text, '\0', lexer->length);
    if (!utf8_is_valid(lexer->text, lexer->length, &bad)) {
        parser_report(parser, MSG_NOT_UTF8, (Span){(uint32_t)bad, (uint32_t)bad + 1}, NO_ARGS);
        return false;
    }
    if (nul) {
        bad = (size_t)(nul - lexer->text);
        parser_report(parser, MSG_STRAY_INVISIBLE, (Span){(uint32_t)bad, (uint32_t)bad + 1}, ARGS("U+0000"));
        return false;
    }
    return true;
}

static Program *begin_program(Parser *parser, Source *source, const ParseHost *host, DiagList *errors) {
    Arena *arena = arena_new();
    Program *program = arena_alloc(arena, sizeof *program);
    program->arena = arena;
    parser_init(parser, source, host, errors, arena);
    return program;
}

ParseStatus parse_program(Source *source, const ParseHost *host, DiagList *errors, Program **program) {
    Parser parser;
    *program = begin_program(&parser, source, host, errors);
    if (!parser_check_text(&parser))
        return PARSE_ERRORS;
    parser_advance(&parser);
    parse_body(&parser, &(*program)->block, BODY_FILE, false);
    return end_program(&parser, *program);
}

ParseStatus parse_one(Source *source, size_t at, const ParseHost *host, DiagList *errors, Program **program) {
    Parser parser;
    int capacity = 0;
    *program = begin_program(&parser, source, host, errors);
    Block *block = &(*program)->block;
    parser.lexer.at = at;
    parser_advance(&parser);
    Statement *statement = parse_statement(&parser);
    if (statement)
        PARSER_PUSH(&parser, block->items, block->count, capacity, statement);
    return end_program(&parser, *program) == PARSE_OK ? PARSE_OK : PARSE_ERRORS;
}
