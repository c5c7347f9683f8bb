/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units and kinds (docs/reference/language.md, "Quantities"). Whether a word is a unit the host decides. */
#include "front/parse_state.h"

#include <string.h>

#include "quantities/unit.h"

enum { LARGEST_POWER = 99, WORDS_OF_UNIT = 3 };

static bool is_unit(const Parser *parser, const char *qualifier, const char *name) {
    const ParseHost *host = parser->host;
    return host && host->is_unit && host->is_unit(host->context, qualifier, name);
}

static bool is_alias(const Parser *parser, const char *name) {
    const ParseHost *host = parser->host;
    return host && host->is_alias && host->is_alias(host->context, name);
}

bool parse_is_unit_name(Parser *parser, const char *name) {
    return is_unit(parser, NULL, name);
}

static bool is_word(const Token *token) {
    return token->type == TOKEN_WORD || token->type == TOKEN_UNIT_WORD;
}

/* `fl oz`, `degrees F`, `% ABV`: the longest unit of several words that begins with this one. Widens the
 * token over them. */
static void read_more_words(const Parser *parser, Lexer *lexer, Token *word, UnitTerm *term) {
    Lexer ahead = *lexer;
    Span end = word->span;
    Text joined = {0};
    text_add_string(&joined, term->name);
    ahead.quiet = true;
    for (int i = 1; i < WORDS_OF_UNIT; i++) {
        Token next = lex_next(&ahead);
        if (!is_word(&next))
            break;
        if (next.span.start > end.end)
            text_add_char(&joined, ' ');
        text_add_string(&joined, lex_copy_word(&ahead, next.span, parser->arena));
        end = next.span;
        if (is_unit(parser, NULL, text_string(&joined))) {
            term->name = arena_copy(parser->arena, text_string(&joined), joined.length);
            word->span.end = end.end;
            bool quiet = lexer->quiet;
            *lexer = ahead;
            lexer->quiet = quiet;
        }
    }
    text_free(&joined);
}

/* A word that `lexer` has just passed, `.name` after the alias of a `use … as`, and further words of a unit.
 * Widens the token over all of them. */
static void read_term(const Parser *parser, Lexer *lexer, Token *word, UnitTerm *term) {
    *term = (UnitTerm){.name = lex_copy_word(lexer, word->span, parser->arena), .exponent = 1};
    if (word->type == TOKEN_WORD && lexer->text[lexer->at] == '.' && is_alias(parser, term->name)) {
        lexer->at++;
        Token inner = lex_next(lexer);
        term->qualifier = term->name;
        term->name = lex_copy_word(lexer, inner.span, parser->arena);
        word->span.end = inner.span.end;
    } else {
        read_more_words(parser, lexer, word, term);
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

/* `US pt`: a unit that others write as two words. Widens the span over both. */
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

/* `5 gal juice(…)` needs `of`; after anything but an amount a sign is missing. */
static void report_call(Parser *parser, const UnitTerm *term, char *typed) {
    const Token *left = &parser->previous;
    bool amount = left->type == TOKEN_UNIT_WORD ||
                  (left->type == TOKEN_WORD && is_unit(parser, NULL, parser_token_text(parser, left)));
    parser_report(parser, amount ? MSG_UNIT_UNKNOWN_OF : MSG_UNIT_UNKNOWN_CALL, term->span, ARGS(typed));
}

/* Operators in words. */
static const char *const sign_words[][2] = {
    {"plus", "+"}, {"minus", "-"}, {"times", "*"}, {"multiplied by", "*"}, {"divided by", "/"},
};

/* How many bytes at `text` spell `words`, any spaces for a space; 0 if they do not, or continue as a word. */
static uint32_t spelled_bytes(const char *text, const char *words) {
    const char *at = text;
    for (; *words; words++) {
        if (*words != ' ' && *at != *words)
            return 0;
        at += *words == ' ' ? strspn(at, " \t") : 1;
    }
    bool goes_on = (*at >= 'a' && *at <= 'z') || (*at >= 'A' && *at <= 'Z') || *at == '_';
    return goes_on ? 0 : (uint32_t)(at - text);
}

/* Spellings with points and signs in them. */
static const char *const signed_units[][2] = {
#define SIGNED(spelling, unit) {spelling, unit},
#include "quantities/spelling.def"
};

/* Reports what a row says to write in place of the words at a term; false if none of them stands there. */
static bool report_words(Parser *parser, const UnitTerm *term, const char *const (*rows)[2], size_t count,
                         MessageId id) {
    const char *text = parser->lexer.text + term->span.start;
    for (size_t i = 0; i < count; i++) {
        uint32_t bytes = spelled_bytes(text, rows[i][0]);
        if (!bytes)
            continue;
        Span span = {term->span.start, term->span.start + bytes};
        parser_report(
            parser, id, span,
            ARGS(parser_source(parser, span), arg_mending(arg_text(rows[i][1]), MENDS_PLACE | SURELY)));
        return true;
    }
    return false;
}

static bool report_signed_unit(Parser *parser, const UnitTerm *term) {
    return report_words(parser, term, signed_units, sizeof signed_units / sizeof *signed_units,
                        MSG_UNIT_UNKNOWN_NEAR);
}

bool parser_report_target(Parser *parser) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Token word = lex_next(&ahead);
    char *name = word.type == TOKEN_WORD ? parser_source(parser, word.span) : NULL;
    const char *nearest = name ? find_nearest(parser, name) : NULL;
    if (!nearest)
        return false;
    parser_report(parser, MSG_UNIT_UNKNOWN_NEAR, word.span, ARGS(name, arg_meant(name, nearest)));
    return true;
}

static UnitExpr *report_unknown(Parser *parser, const UnitTerm *term) {
    Span span = term->span;
    if (report_words(parser, term, sign_words, sizeof sign_words / sizeof *sign_words, MSG_SIGN_INSTEAD) ||
        parser_report_unit_slip(parser, span, term->name))
        return NULL;
    const char *nearest = find_two_words(parser, &span);
    bool calls = parser->lexer.text[term->span.end] == '(';
    if (!nearest && !calls)
        nearest = find_nearest(parser, term->name);
    char *typed = parser_source(parser, span);
    if (nearest)
        parser_report(parser, MSG_UNIT_UNKNOWN_NEAR, span, ARGS(typed, arg_meant(typed, nearest)));
    else if (calls)
        report_call(parser, term, typed);
    else
        parser_report(parser, MSG_UNIT_UNKNOWN, term->span, ARGS(typed));
    return NULL;
}

/* ---- units whose declaration failed ---- */

void parser_lose_unit(Parser *parser, const char *name) {
    name_map_set(&parser->lost_units, name, 1);
}

void parser_lose_units(Parser *parser, const Token *first) {
    Lexer lexer = parser->lexer;
    lexer.quiet = true;
    lexer.at = first->span.end;
    Token name = lex_next(&lexer);
    if (first->type == TOKEN_UNIT && (name.type == TOKEN_WORD || lex_is_keyword(name.type)))
        parser_lose_unit(parser, parser_source(parser, name.span));
    else if (first->type == TOKEN_UNIT || first->type == TOKEN_USE)
        parser->units_uncertain = true;
}

/* The name or its plural. */
static bool may_be_lost(Parser *parser, const char *name) {
    int found;
    size_t length = strlen(name);
    bool plural = length > 1 && name[length - 1] == 's';
    return parser->units_uncertain || name_map_get(&parser->lost_units, name, &found) ||
           (plural && name_map_get(&parser->lost_units, arena_copy(parser->arena, name, length - 1), &found));
}

bool parser_uses_lost_unit(Parser *parser, const Statement *statement) {
    const Node *value = statement->type == STATEMENT_UNIT ? statement->as.unit.value : NULL;
    if (!value || value->type != NODE_ATTACH)
        return false;
    const UnitExpr *unit = value->as.attach.unit;
    for (int i = 0; i < unit->count; i++)
        if (!is_unit(parser, unit->terms[i].qualifier, unit->terms[i].name))
            return true; /* it passed as one that may be lost */
    return false;
}

/* ---- units of several words and signs ---- */

bool parse_unit_follows(const Parser *parser) {
    Lexer ahead = parser->lexer;
    UnitTerm term;
    ahead.quiet = true;
    Token word = lex_next(&ahead);
    if (!is_word(&word))
        return false;
    read_term(parser, &ahead, &word, &term);
    return is_unit(parser, term.qualifier, term.name) && ahead.text[ahead.at] != '(';
}

/* `grams per liter` */
static bool at_per(Parser *parser) {
    return parser->token.type == TOKEN_WORD &&
           strcmp(parser_token_text(parser, &parser->token), "per") == 0 && parse_unit_follows(parser);
}

/* The name of a value here, or a word too common for a unit after a sign. In `mg/L`, which has no spaces, a
 * unit's own name is the unit all the same. */
static bool names_value(Parser *parser, const UnitTerm *term, bool touching) {
    const ParseHost *host = parser->host;
    if (term->qualifier || !host)
        return false;
    if (host->stands_alone && host->stands_alone(host->context, term->name))
        return true;
    bool one_word = touching && host->is_unit_name && host->is_unit_name(host->context, term->name);
    return !one_word && parser_is_value(parser, term->name);
}

static void respell_term(Parser *parser, const UnitTerm *term) {
    const ParseHost *host = parser->host;
    if (term->qualifier || !host || !host->everyday)
        return;
    const char *canonical = host->everyday(host->context, term->name);
    if (canonical)
        parser_respell(parser, term->span, canonical);
}

/* `*`, `/` or `per` continue only before a unit name: looks at the word after the sign, and takes both if it
 * is one. */
static bool parse_next_term(Parser *parser, UnitTerm *term, bool only_a_unit) {
    bool per = at_per(parser);
    TokenType sign = per ? TOKEN_SLASH : parser->token.type;
    Span before = parser->previous.span, at = parser->token.span;
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
    if (!only_a_unit && !per &&
        names_value(parser, term, at.start == before.end && at.end == word.span.start))
        return false; /* `30 g / days`: a value of that name */
    if (per)
        parser_respell(parser, (Span){before.end, word.span.start}, "/");
    term->exponent = sign == TOKEN_SLASH ? -1 : 1;
    ahead.quiet = parser->lexer.quiet;
    parser->lexer = ahead;
    parser->token = word;
    parser_advance(parser);
    return true;
}

/* `^2`, `²` or `^-1` after a term in brackets, at `lexer`; false when something else follows `^`. */
static bool read_power(Lexer *lexer, UnitTerm *term) {
    Lexer ahead = *lexer;
    Token token = lex_next(&ahead);
    int sign = 1;
    if (token.type == TOKEN_SUPERSCRIPT) {
        term->exponent *= (int)token.number;
        *lexer = ahead;
        return true;
    }
    if (token.type != TOKEN_CARET)
        return true;
    token = lex_next(&ahead);
    if (token.type == TOKEN_MINUS) {
        sign = -1;
        token = lex_next(&ahead);
    }
    if (token.type != TOKEN_NUMBER || !token.digits_only || token.number > LARGEST_POWER)
        return false;
    term->exponent *= sign * (int)token.number;
    *lexer = ahead;
    return true;
}

enum { BRACKET_TERMS = 8 };

/* `(worker*h)` at `lexer`, after a `/`: as terms of the unit before it. Gives how many; 0 when it is no
 * bracket that holds nothing but units, or one that a script's own value is in. */
static int read_bracket(Parser *parser, Lexer *lexer, UnitTerm *terms, bool only_a_unit) {
    Token token = lex_next(lexer);
    TokenType sign = TOKEN_STAR;
    int count = 0;
    if (token.type != TOKEN_LEFT_ROUND)
        return 0;
    while (count < BRACKET_TERMS) {
        UnitTerm *term = &terms[count];
        token = lex_next(lexer);
        if (!is_word(&token))
            return 0;
        read_term(parser, lexer, &token, term);
        if (lexer->text[lexer->at] == '(' || !is_unit(parser, term->qualifier, term->name) ||
            (!only_a_unit && names_value(parser, term, false)))
            return 0;
        term->exponent = sign == TOKEN_STAR ? -1 : 1;
        if (!read_power(lexer, term))
            return 0;
        count++;
        token = lex_next(lexer);
        sign = token.type;
        if (sign == TOKEN_RIGHT_ROUND)
            break;
        if (sign != TOKEN_STAR && sign != TOKEN_SLASH)
            return 0;
    }
    char after = lex_peek(lexer, false);
    return sign == TOKEN_RIGHT_ROUND && after != '^' ? count : 0;
}

/* `/(…)`, if only units are in the brackets. */
static bool parse_bracket(Parser *parser, UnitExpr *unit, int *capacity, bool only_a_unit) {
    UnitTerm terms[BRACKET_TERMS];
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    int count = parser->token.type == TOKEN_SLASH ? read_bracket(parser, &ahead, terms, only_a_unit) : 0;
    for (int i = 0; i < count; i++) {
        PARSER_PUSH(parser, unit->terms, unit->count, *capacity, terms[i]);
        respell_term(parser, &terms[i]);
    }
    if (count == 0)
        return false;
    ahead.quiet = parser->lexer.quiet;
    parser->lexer = ahead;
    parser->token = (Token){.type = TOKEN_RIGHT_ROUND, .span = {(uint32_t)ahead.at - 1, (uint32_t)ahead.at}};
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
        respell_term(parser, &term);
        while (parse_bracket(parser, unit, &capacity, only_a_unit)) {
        }
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
    if (report_signed_unit(parser, &term))
        return NULL;
    if (!is_unit(parser, term.qualifier, term.name) && !may_be_lost(parser, term.name))
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
