/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Literals out of texts: the parser over a text that holds nothing else, then the value of its tree. */
#include "front/literal.h"

#include <string.h>

#include "base/mem.h"
#include "front/compile.h"
#include "front/parse_state.h"
#include "values/arith.h"
#include "values/kind_check.h"

/* ---- the tree ---- */

/* Nothing but a number, a quantity, a reading with its ±, a date or a truth. */
static bool is_literal(const Node *node) {
    if (node->type == NODE_ATTACH)
        return node->as.attach.operand->type == NODE_NUMBER && !node->as.attach.operand->bracketed;
    if (node->type == NODE_PLUS_MINUS)
        return is_literal(node->as.plus_minus.value) && is_literal(node->as.plus_minus.uncertainty);
    return !node->bracketed &&
           (node->type == NODE_NUMBER || node->type == NODE_TRUTH || node->type == NODE_DATE);
}

static bool may_begin(TokenType type) {
    return type == TOKEN_NUMBER || type == TOKEN_MINUS || type == TOKEN_PLUS || type == TOKEN_DATE ||
           type == TOKEN_TRUE || type == TOKEN_FALSE;
}

/* More follows than a literal. A sum is not a mistake of form, only more than may be here; but `5 mg/l` has
 * an unknown unit, `5 g/` half of one, and `1/2` is a fraction without any. */
static void report_rest(Parser *parser) {
    Token left = parser->previous, sign = parser->token;
    if (!parser_at_operator(parser)) {
        parser_report_extra(parser);
        return;
    }
    bool touching = parser_touches(parser);
    parser_advance(parser);
    bool fraction = sign.type == TOKEN_SLASH && touching && parser_touches(parser) &&
                    left.type == TOKEN_NUMBER && left.digits_only && parser->token.type == TOKEN_NUMBER;
    bool joins = sign.type == TOKEN_SLASH || sign.type == TOKEN_STAR;
    if (fraction)
        parser_report(parser, MSG_FRACTION_NEEDS_UNIT, span_join(left.span, parser->token.span), NO_ARGS);
    else if (parser->token.type == TOKEN_END)
        parser_report_next(parser, MSG_VALUE_WANTED, ARGS(parser_token_text(parser, &sign)));
    else if (joins && (parser->token.type == TOKEN_WORD || parser->token.type == TOKEN_UNIT_WORD))
        parse_unit(parser, true);
}

static bool open_text(Parser *parser, Source *source, const ParseHost *host, bool unit_follows,
                      DiagList *errors, Arena *arena) {
    parser_init(parser, source, host, errors, arena);
    parser->lexer.literal = true;
    parser->lexer.unit_follows = unit_follows;
    if (!parser_check_text(parser))
        return false;
    parser_advance(parser);
    return true;
}

Node *parse_literal(Source *source, const ParseHost *host, bool unit_follows, DiagList *errors,
                    Arena *arena) {
    Parser parser;
    if (!open_text(&parser, source, host, unit_follows, errors, arena) || !may_begin(parser.token.type))
        return NULL;
    Node *node = parse_measured(&parser);
    if (node && parser.token.type != TOKEN_END)
        report_rest(&parser);
    bool whole = node && parser.token.type == TOKEN_END && !parser_has_errors(&parser);
    return whole && is_literal(node) ? node : NULL;
}

/* ---- one text ---- */

typedef struct Reading {
    const Registry *registry;
    const Module *module;
    ParseHost host;
    Source *source;
    Arena *arena;
    DiagList errors;
    Fault *why;
} Reading;

static bool host_is_unit(void *context, const char *qualifier, const char *name) {
    const Reading *reading = context;
    UnitId id;
    return module_find_unit(reading->registry, reading->module, qualifier, name, &id);
}

static bool host_is_alias(void *context, const char *name) {
    const Reading *reading = context;
    int number;
    return reading->module && name_map_get(&reading->module->aliases, name, &number);
}

static const char *host_everyday(void *context, const char *name) {
    const Reading *reading = context;
    return module_everyday_unit(reading->registry, reading->module, name);
}

static const char *host_nearest_unit(void *context, const char *name) {
    const Reading *reading = context;
    return module_nearest_unit(reading->module, name);
}

static void open_reading(Reading *reading, const char *bytes, size_t length) {
    const char *const blanks = " \t\r\n";
    while (length > 0 && memchr(blanks, *bytes, 4)) {
        bytes++;
        length--;
    }
    while (length > 0 && memchr(blanks, bytes[length - 1], 4))
        length--;
    reading->source = source_new("", NULL, bytes, length);
    reading->arena = arena_new();
    reading->host = (ParseHost){.context = reading};
    if (reading->registry) {
        reading->host.is_unit = host_is_unit;
        reading->host.is_alias = host_is_alias;
        reading->host.nearest_unit = host_nearest_unit;
        reading->host.everyday = host_everyday;
    }
}

/* What went wrong, in words, becomes the hint of whoever wanted the literal. */
static void explain(Fault *why, MessageId id, const char *message, const char *hint) {
    fault_clear(why);
    why->id = id;
    if (hint)
        fault_hint(why, HINT_MISTAKE_AND_HINT, ARGS(message, hint));
    else
        fault_hint(why, HINT_MISTAKE, ARGS(message));
}

/* The first mistake is the one to tell. One that is about scripts has nothing to say here. */
static bool close_reading(Reading *reading, bool read) {
    const Diag *first = reading->errors.count ? reading->errors.items[0] : NULL;
    Fault *why = reading->why;
    if (read) {
        fault_clear(why);
    } else if (why->id != MSG_NONE) { /* a value that cannot be */
        Diag *diag = diag_from_fault(why, NULL, (Span){0, 0});
        explain(why, diag->id, diag->message, diag->hint);
        diag_free(diag);
    } else if (first && message_is_of_literal(first->id)) {
        explain(why, first->id, first->message, first->hint);
    } else {
        why->id = first ? first->id : MSG_LITERAL_FORM;
    }
    arena_free(reading->arena);
    diag_list_free(&reading->errors);
    source_release(reading->source);
    return read;
}

/* ---- values ---- */

static bool read_spread(const Reading *reading, const Node *node, Literal *literal) {
    const Registry *registry = reading->registry;
    const Module *module = reading->module;
    const UnitExpr *shared = node->as.plus_minus.unit;
    Fault *why = reading->why;
    Arith arith = {.units = registry->units, .heap = registry->heap, .fault = why};
    PlusMinus how = shared ? PLUS_MINUS_SAME_UNIT : PLUS_MINUS_DIFFERENCE;
    Value spread;
    UnitId unit;
    return compile_constant(registry, module, node->as.plus_minus.value, &literal->value, why) &&
           compile_constant(registry, module, node->as.plus_minus.uncertainty, &spread, why) &&
           (!shared || (compile_unit(registry, module, shared, &unit, why) &&
                        arith_attach(&arith, literal->value, unit, &literal->value))) &&
           kind_check_spread(registry->units, literal->value, spread, how, why) &&
           arith_spread(&arith, literal->value, spread, shared != NULL, &literal->uncertainty);
}

static bool read_value(const Reading *reading, const Node *node, Literal *literal) {
    *literal = (Literal){.value = value_none()};
    if (node->type == NODE_PLUS_MINUS)
        return read_spread(reading, node, literal);
    return compile_constant(reading->registry, reading->module, node, &literal->value, reading->why);
}

bool literal_read(const Registry *registry, const Module *module, const char *bytes, size_t length,
                  Literal *literal, Fault *why) {
    Reading reading = {.registry = registry, .module = module, .why = why};
    open_reading(&reading, bytes, length);
    const Node *node = parse_literal(reading.source, &reading.host, false, &reading.errors, reading.arena);
    return close_reading(&reading, node && read_value(&reading, node, literal));
}

bool literal_is_exact(const Literal *literal, Fault *why) {
    if (literal->uncertainty == 0)
        return true;
    Diag *diag = diag_new(MSG_TEXT_SPREAD, NULL, (Span){0, 0}, NO_ARGS);
    diag_hint_alone(diag);
    explain(why, diag->id, diag->message, diag->hint);
    diag_free(diag);
    return false;
}

/* A literal with a unit of its own has one too many here. */
static bool lacks_unit(const Node *node) {
    if (node->type == NODE_PLUS_MINUS)
        return !node->as.plus_minus.unit && lacks_unit(node->as.plus_minus.value) &&
               lacks_unit(node->as.plus_minus.uncertainty);
    return node->type == NODE_NUMBER;
}

bool literal_read_number(const Registry *registry, UnitId unit, const char *bytes, size_t length,
                         Literal *literal, Fault *why) {
    Reading reading = {.registry = registry, .why = why};
    open_reading(&reading, bytes, length);
    const Node *node = parse_literal(reading.source, &reading.host, true, &reading.errors, reading.arena);
    bool read = node && lacks_unit(node) && read_value(&reading, node, literal);
    if (read)
        literal->value = value_quantity(registry->units, literal->value.as.number, unit);
    else if (node)
        why->id = MSG_UNIT_ALREADY;
    return close_reading(&reading, read);
}

bool literal_read_unit(const Registry *registry, const Module *module, const char *bytes, size_t length,
                       UnitId *unit, Fault *why) {
    Reading reading = {.registry = registry, .module = module, .why = why};
    Parser parser;
    open_reading(&reading, bytes, length);
    bool read = false;
    if (open_text(&parser, reading.source, &reading.host, false, &reading.errors, reading.arena)) {
        const UnitExpr *expr = parse_unit(&parser, true);
        if (expr && parser.token.type != TOKEN_END)
            report_rest(&parser);
        read = expr && parser.token.type == TOKEN_END && !parser_has_errors(&parser) &&
               compile_unit(registry, module, expr, unit, why);
    }
    return close_reading(&reading, read);
}

bool literal_read_date(const char *bytes, size_t length, double *days, Fault *why) {
    Reading reading = {.why = why};
    open_reading(&reading, bytes, length);
    const Node *node = parse_literal(reading.source, &reading.host, false, &reading.errors, reading.arena);
    bool read = node && node->type == NODE_DATE;
    if (read)
        *days = node->as.number;
    return close_reading(&reading, read);
}
