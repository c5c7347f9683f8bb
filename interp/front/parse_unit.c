/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units and kinds (docs/reference/language.md, "Quantities"). Whether a word is a unit the host decides. */
#include "front/parse_state.h"

#include <string.h>

#include "quantities/unit.h"

enum { LARGEST_POWER = 99, SHORTEST_PLURAL_STEM = 3 };

static bool is_unit(const Parser *parser, const char *qualifier, const char *name) {
    const ParseHost *host = parser->host;
    return host && host->is_unit && host->is_unit(host->context, qualifier, name);
}

static bool is_alias(const Parser *parser, const char *name) {
    const ParseHost *host = parser->host;
    return host && host->is_alias && host->is_alias(host->context, name);
}

/* `weeks`: a unit where a unit stands, yet free to name a value. */
static bool is_plural(Parser *parser, const char *qualifier, const char *name) {
    size_t length = strlen(name);
    if (length <= SHORTEST_PLURAL_STEM || name[length - 1] != 's')
        return false;
    return is_unit(parser, qualifier, arena_copy(parser->arena, name, length - 1));
}

bool parse_is_unit_name(Parser *parser, const char *name) {
    return is_unit(parser, NULL, name) && !is_plural(parser, NULL, name);
}

/* A word that `lexer` has just passed, and `.name` after the alias of a `use … as`. Widens the token over
 * both. */
static void read_term(const Parser *parser, Lexer *lexer, Token *word, UnitTerm *term) {
    *term = (UnitTerm){.name = lex_copy_word(lexer, word->span, parser->arena), .exponent = 1};
    if (word->type == TOKEN_WORD && lexer->text[lexer->at] == '.' && is_alias(parser, term->name)) {
        lexer->at++;
        Token inner = lex_next(lexer);
        term->qualifier = term->name;
        term->name = lex_copy_word(lexer, inner.span, parser->arena);
        word->span.end = inner.span.end;
    }
    term->span = word->span;
}

/* `^2`, `^-1` or `²` after a unit. */
static bool parse_power_of_unit(Parser *parser, UnitTerm *term) {
    int sign = 1;
    if (parser->token.type == TOKEN_SUPERSCRIPT) {
        term->exponent *= (int)parser->token.number;
        parser_advance(parser);
        return true;
    }
    if (!parser_accept(parser, TOKEN_CARET))
        return true;
    if (parser_accept(parser, TOKEN_MINUS))
        sign = -1;
    const Token *token = &parser->token;
    if (token->type != TOKEN_NUMBER || !token->digits_only || token->number > LARGEST_POWER) {
        parser_report_next(parser, MSG_UNIT_POWER, ARGS(term->name));
        return false;
    }
    term->exponent *= sign * (int)token->number;
    parser_advance(parser);
    return true;
}

/* A unit, or a word that may follow a value: `if c them` misses `then`. */
static const char *find_nearest(const Parser *parser, const char *name) {
    const ParseHost *host = parser->host;
    const char *nearest = unit_instead(name);
    int distance = 99;
    if (nearest)
        return nearest;
    if (host && host->nearest_unit)
        nearest = host->nearest_unit(host->context, name);
    if (nearest)
        distance = text_distance(name, nearest);
    const Word *word;
    for (int i = WORD_COUNT - 1; strlen(name) > 2 && (word = word_at(i)); i--) /* `from` before `for` */
        if (word->traits & TRAIT_JOINS)
            text_nearest(name, word->text, &nearest, &distance);
    return nearest;
}

/* `fl oz`, `US gal`: a unit that others write as two words. Widens the span over both. */
static const char *find_two_words(const Parser *parser, Span *span) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Token next = lex_next(&ahead);
    if (next.type != TOKEN_WORD)
        return NULL;
    Span both = span_join(*span, next.span);
    const char *right =
        unit_instead(arena_copy(parser->arena, parser->lexer.text + both.start, both.end - both.start));
    if (right)
        *span = both;
    return right;
}

/* `5 gal juice(…)` wants `of`; after anything but an amount a sign is missing. */
static void report_call(Parser *parser, const UnitTerm *term, char *typed) {
    const Token *left = &parser->previous;
    bool amount = left->type == TOKEN_UNIT_WORD ||
                  (left->type == TOKEN_WORD && is_unit(parser, NULL, parser_token_text(parser, left)));
    parser_report(parser, amount ? MSG_UNIT_UNKNOWN_OF : MSG_UNIT_UNKNOWN_CALL, term->span, ARGS(typed));
}

static UnitExpr *report_unknown(Parser *parser, const UnitTerm *term) {
    Span span = term->span;
    const char *nearest = find_two_words(parser, &span);
    bool calls = parser->lexer.text[term->span.end] == '(';
    if (!nearest && !calls)
        nearest = find_nearest(parser, term->name);
    char *typed = parser_source(parser, span);
    if (nearest)
        parser_report(parser, MSG_UNIT_UNKNOWN_NEAR, span, ARGS(typed, nearest));
    else if (calls)
        report_call(parser, term, typed);
    else
        parser_report(parser, MSG_UNIT_UNKNOWN, term->span, ARGS(typed));
    return NULL;
}

/* `*` or `/` go on only before a unit name: looks at the word after the sign, and takes both if it is one. */
static bool parse_next_term(Parser *parser, UnitTerm *term, bool only_a_unit) {
    TokenType sign = parser->token.type;
    if (sign != TOKEN_STAR && sign != TOKEN_SLASH)
        return false;
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Token word;
    do
        word = lex_next(&ahead);
    while (word.type == TOKEN_NEWLINE && parser->texts == 0);
    if (word.type != TOKEN_WORD && word.type != TOKEN_UNIT_WORD)
        return false;
    read_term(parser, &ahead, &word, term);
    if (ahead.text[ahead.at] == '(' || !is_unit(parser, term->qualifier, term->name))
        return false; /* a name touching `(` is a call */
    if (!only_a_unit && is_plural(parser, term->qualifier, term->name))
        return false; /* `30 g / days`: a value may have that name */
    term->exponent = sign == TOKEN_SLASH ? -1 : 1;
    ahead.quiet = parser->lexer.quiet;
    parser->lexer = ahead;
    parser->token = word;
    parser_advance(parser);
    return true;
}

static UnitExpr *parse_terms(Parser *parser, UnitTerm term, bool only_a_unit) {
    UnitExpr *unit = arena_alloc(parser->arena, sizeof *unit);
    int capacity = 0;
    unit->span = term.span;
    do {
        if (!parse_power_of_unit(parser, &term))
            return NULL;
        PARSER_PUSH(parser, unit->terms, unit->count, capacity, term);
    } while (parse_next_term(parser, &term, only_a_unit));
    unit->span.end = parser->previous.span.end;
    return unit;
}

UnitExpr *parse_unit(Parser *parser, bool only_a_unit) {
    UnitTerm term;
    if (parser->token.type != TOKEN_WORD && parser->token.type != TOKEN_UNIT_WORD) {
        parser_report_next(parser, MSG_UNIT_WANTED, ARGS(parser_token_text(parser, &parser->previous)));
        return NULL;
    }
    read_term(parser, &parser->lexer, &parser->token, &term);
    if (!is_unit(parser, term.qualifier, term.name) && !parser->units_uncertain)
        return report_unknown(parser, &term);
    parser_advance(parser);
    return parse_terms(parser, term, only_a_unit);
}

static void report_unknown_kind(Parser *parser, const char *word) {
    const char *nearest = NULL;
    int distance = 99;
    kind_nearest(word, &nearest, &distance);
    parser_report_next(parser, nearest ? MSG_KIND_UNKNOWN_NEAR : MSG_KIND_UNKNOWN,
                       ARGS(word, nearest ? nearest : ""));
}

bool parser_in_library(const Parser *parser) {
    return parser->host && parser->host->library;
}

static KindExpr *parse_kind_word(Parser *parser) {
    const Token *token = &parser->token;
    bool none = parser_in_library(parser) && token->type == TOKEN_NONE;
    bool formula = token->type == TOKEN_FORMULA && !token->after_newline;
    if (token->type != TOKEN_WORD && token->type != TOKEN_UNIT_WORD && !none && !formula) {
        parser_report_next(parser, MSG_KIND_WANTED, NO_ARGS);
        return NULL;
    }
    KindExpr *kind = arena_alloc(parser->arena, sizeof *kind);
    char *word = lex_copy_word(&parser->lexer, token->span, parser->arena);
    kind->span = token->span;
    Kind known;
    if (none || kind_find(word, &known) || (parser_in_library(parser) && kind_group(word))) {
        kind->word = word;
        parser_advance(parser);
        return kind;
    }
    if (!is_unit(parser, NULL, word) && !is_alias(parser, word)) {
        report_unknown_kind(parser, word);
        return NULL;
    }
    kind->unit = parse_unit(parser, true);
    if (!kind->unit)
        return NULL;
    kind->span = kind->unit->span;
    return kind;
}

KindExpr *parse_kind(Parser *parser) {
    KindExpr *first = parse_kind_word(parser);
    for (KindExpr *last = first; last && parser_in_library(parser) && parser->token.type == TOKEN_OR;) {
        parser_advance(parser);
        last = last->next = parse_kind_word(parser);
        if (!last)
            return NULL;
        first->span.end = last->span.end;
    }
    return first;
}
