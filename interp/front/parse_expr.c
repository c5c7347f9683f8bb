/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Operators (docs/reference/language.md, "Expressions"), from `or` down to ±, by one table of levels. */
#include "front/parse_state.h"
#include "front/tree.h"

#include <string.h>

#include "quantities/unit.h"

enum {
    LEVEL_NONE,
    LEVEL_OR,
    LEVEL_AND,
    LEVEL_NOT,
    LEVEL_COMPARE, /* does not chain */
    LEVEL_AS,      /* does not chain */
    LEVEL_WITH,
    LEVEL_ADD,
    LEVEL_MULTIPLY
};

typedef struct Infix {
    int level; /* LEVEL_NONE: no operator between two values */
    Operator op;
} Infix;

static const Infix infixes[TOKEN_COUNT] = {
    [TOKEN_OR] = {LEVEL_OR, OPERATOR_OR},
    [TOKEN_AND] = {LEVEL_AND, OPERATOR_AND},
    [TOKEN_EQUAL] = {LEVEL_COMPARE, OPERATOR_EQUAL},
    [TOKEN_NOT_EQUAL] = {LEVEL_COMPARE, OPERATOR_NOT_EQUAL},
    [TOKEN_LESS] = {LEVEL_COMPARE, OPERATOR_LESS},
    [TOKEN_LESS_EQUAL] = {LEVEL_COMPARE, OPERATOR_LESS_EQUAL},
    [TOKEN_GREATER] = {LEVEL_COMPARE, OPERATOR_GREATER},
    [TOKEN_GREATER_EQUAL] = {LEVEL_COMPARE, OPERATOR_GREATER_EQUAL},
    [TOKEN_NEAR] = {LEVEL_COMPARE, OPERATOR_EQUAL},
    [TOKEN_AS] = {LEVEL_AS, OPERATOR_EQUAL},
    [TOKEN_WITH] = {LEVEL_WITH, OPERATOR_EQUAL},
    [TOKEN_PLUS] = {LEVEL_ADD, OPERATOR_ADD},
    [TOKEN_MINUS] = {LEVEL_ADD, OPERATOR_SUBTRACT},
    [TOKEN_STAR] = {LEVEL_MULTIPLY, OPERATOR_MULTIPLY},
    [TOKEN_SLASH] = {LEVEL_MULTIPLY, OPERATOR_DIVIDE},
    [TOKEN_OF] = {LEVEL_MULTIPLY, OPERATOR_OF},
    [TOKEN_MOD] = {LEVEL_MULTIPLY, OPERATOR_MODULO},
};

bool parser_at_operator(const Parser *parser) {
    return infixes[parser->token.type].level != LEVEL_NONE;
}

/* ---- nodes ---- */

Node *parser_node(Parser *parser, NodeType type, uint32_t start) {
    Node *node = arena_alloc(parser->arena, sizeof *node);
    node->type = type;
    node->span = (Span){start, parser->previous.span.end};
    node->height = 1;
    return node;
}

static void raise(void *context, const Node *child) {
    Node *node = context;
    if (child->height >= node->height)
        node->height = (unsigned short)(child->height + 1);
}

Node *parser_measured(Node *node) {
    tree_visit_node(node, &(TreeVisit){.node = raise, .context = node});
    return node;
}

Node *parser_checked(Parser *parser, Node *node) {
    if (parser_measured(node)->height <= PARSE_HEIGHT)
        return node;
    parser_report(parser, MSG_TOO_LONG, parser->previous.span, NO_ARGS);
    return NULL;
}

static Node *binary_node(Parser *parser, Operator op, Node *left, Node *right, Span operator_span,
                         uint32_t start) {
    Node *node = parser_node(parser, NODE_BINARY, start);
    node->as.binary.op = op;
    node->as.binary.left = left;
    node->as.binary.right = right;
    node->as.binary.operator_span = operator_span;
    return parser_checked(parser, node);
}

static Node *unary_node(Parser *parser, Operator op, Node *operand, Span operator_span) {
    Node *node = parser_node(parser, NODE_UNARY, operator_span.start);
    node->as.unary.op = op;
    node->as.unary.operand = operand;
    node->as.unary.operator_span = operator_span;
    return parser_measured(node);
}

/* ---- ± and what binds tighter than multiplication ---- */

/* `1.050 ± 0.002 SG`: the unit after two plain numbers is meant for both. */
static void share_unit(Node *node) {
    Node *value = node->as.plus_minus.value, *right = node->as.plus_minus.uncertainty;
    if (value->type != NODE_NUMBER || value->bracketed || right->type != NODE_ATTACH || right->bracketed)
        return;
    Node *number = right->as.attach.operand;
    if (number->type != NODE_NUMBER || number->bracketed)
        return;
    node->as.plus_minus.unit = right->as.attach.unit;
    node->as.plus_minus.uncertainty = number;
}

static Node *parse_plus_minus(Parser *parser, Node *first, uint32_t start) {
    Node *value = parse_postfix(parser, first, start);
    if (!value || parser->token.type != TOKEN_PLUS_MINUS)
        return value;
    Span sign = parser->token.span;
    parser_advance(parser);
    if (parser->token.type == TOKEN_MINUS) {
        parser_report_next(parser, MSG_UNCERTAINTY_SIGN, ARGS(parser_source(parser, sign)));
        return NULL;
    }
    Node *uncertainty = parse_postfix(parser, NULL, parser->token.span.start);
    if (!uncertainty)
        return NULL;
    if (parser->token.type == TOKEN_PLUS_MINUS) {
        parser_report_next(parser, MSG_UNCERTAINTY_TWICE, NO_ARGS);
        return NULL;
    }
    Node *node = parser_node(parser, NODE_PLUS_MINUS, start);
    node->as.plus_minus.value = value;
    node->as.plus_minus.uncertainty = uncertainty;
    node->as.plus_minus.operator_span = sign;
    share_unit(node);
    return parser_measured(node);
}

static Node *parse_unary(Parser *parser);

static Node *parse_power(Parser *parser, Node *first, uint32_t start) {
    Node *base = parse_plus_minus(parser, first, start);
    if (!base)
        return NULL;
    Span sign = parser->token.span;
    if (parser->token.type == TOKEN_SUPERSCRIPT) {
        double power = parser->token.number;
        parser_advance(parser);
        Node *exponent = parser_node(parser, NODE_NUMBER, sign.start);
        exponent->as.number = power;
        return binary_node(parser, OPERATOR_POWER, base, exponent, sign, start);
    }
    if (!parser_accept(parser, TOKEN_CARET))
        return base;
    Node *exponent = parse_unary(parser);
    return exponent ? binary_node(parser, OPERATOR_POWER, base, exponent, sign, start) : NULL;
}

/* A `-` touching a number belongs to it, unless `^` follows: -2^2 is -4. The token is the number. */
static Node *parse_negative(Parser *parser, Span sign) {
    const Token *token = &parser->token;
    bool touching = token->type == TOKEN_NUMBER && token->span.start == sign.end;
    const char *after = parser->lexer.text + lex_peek_place(&parser->lexer);
    bool power = *after == '^' || strncmp(after, "\xC2\xB2", 2) == 0 || strncmp(after, "\xC2\xB3", 2) == 0;
    if (touching && !power) {
        double number = -token->number;
        parser_advance(parser);
        Node *literal = parser_node(parser, NODE_NUMBER, sign.start);
        literal->as.number = number;
        return parse_power(parser, literal, sign.start);
    }
    Node *operand = parse_unary(parser);
    return operand ? unary_node(parser, OPERATOR_NEGATE, operand, sign) : NULL;
}

/* A `+` that touches a number is its sign; else there is nothing that it could mean. */
static Node *parse_positive(Parser *parser, Span sign) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Token next = lex_next(&ahead);
    if (next.type != TOKEN_NUMBER || next.span.start != sign.end) {
        parser_report_next(parser, MSG_PLUS_SIGN, NO_ARGS);
        return NULL;
    }
    parser_advance(parser);
    return parse_power(parser, NULL, sign.start);
}

static Node *parse_unary(Parser *parser) {
    Node *node = NULL;
    Span sign = parser->token.span;
    if (parser_enter(parser)) {
        if (parser_accept(parser, TOKEN_MINUS))
            node = parse_negative(parser, sign);
        else if (parser->token.type == TOKEN_PLUS &&
                 (parser->previous.type != TOKEN_NEWLINE || parser->lexer.literal))
            node = parse_positive(parser, sign);
        else if (parser->token.type == TOKEN_NOT)
            parser_report_next(parser, MSG_NOT_BRACKETS, NO_ARGS);
        else
            node = parse_power(parser, NULL, sign.start);
    }
    parser_leave(parser);
    return node;
}

Node *parse_measured(Parser *parser) {
    return parse_unary(parser);
}

/* ---- operators between two values ---- */

static Node *parse_binary(Parser *parser, int least);

/* `x/2 tsp` without spaces reads both as (x/2) tsp and as x / (2 tsp). */
static bool is_ambiguous_half(const Parser *parser, const Node *left, const Node *right, Span sign) {
    const char *text = parser->lexer.text;
    if (right->type != NODE_ATTACH || right->bracketed || right->as.attach.operand->type != NODE_NUMBER)
        return false;
    bool has_unit = left->type == NODE_ATTACH || left->type == NODE_PLUS_MINUS;
    if (right->as.attach.operand->bracketed || (has_unit && !left->bracketed))
        return false;
    char before = text[sign.start - 1];
    return before != ' ' && before != '\t' && right->span.start == sign.end;
}

static void report_half(Parser *parser, const Node *right, Span sign, uint32_t start) {
    Span number = right->as.attach.operand->span, whole = {start, right->span.end};
    parser_report(parser, MSG_HALF_UNIT, whole,
                  ARGS(parser_source(parser, whole), parser_source(parser, (Span){start, number.end}),
                       parser_source(parser, right->as.attach.unit->span),
                       parser_source(parser, (Span){start, sign.start}), parser_source(parser, right->span)));
}

/* The unit of a literal's difference; NULL when it is not a literal, "" for a plain number. */
static const char *difference_of(Parser *parser, const Node *node) {
    if (node->type == NODE_NUMBER)
        return "";
    if (node->type == NODE_DATE)
        return " day";
    if (node->type != NODE_ATTACH || node->as.attach.operand->type != NODE_NUMBER)
        return NULL;
    const char *difference = unit_difference_name(parser_source(parser, node->as.attach.unit->span));
    size_t length = strlen(difference);
    char *name = arena_alloc(parser->arena, length + 2); /* ends in the zeros of the arena */
    if (length) {                                        /* pH has none */
        name[0] = ' ';
        memcpy(name + 1, difference, length);
    }
    return name;
}

/* A tolerance that fits what is read off an instrument; of others a hundredth. */
static const struct {
    const char *unit, *number;
} tolerances[] = {{" day", "1"}, {" pts", "1"}, {" C°", "0.5"}, {" F°", "0.5"}};

static void report_near(Parser *parser, const Node *target, Span comparison) {
    const char *unit = difference_of(parser, target);
    const char *typed = parser_source(parser, comparison);
    Diag *diag = parser_report_next(parser, MSG_NEAR_WITHIN, ARGS(typed));
    const char *number = "0.01";
    for (size_t i = 0; unit && i < sizeof tolerances / sizeof *tolerances; i++)
        if (strcmp(unit, tolerances[i].unit) == 0)
            number = tolerances[i].number;
    if (diag && unit)
        diag_hint(diag, HINT_WITHIN, ARGS(typed, number, unit));
}

/* `x near y within d`, with `near` read. */
static Node *parse_near(Parser *parser, Node *value, uint32_t start) {
    Node *target = parse_binary(parser, LEVEL_AS);
    if (!target)
        return NULL;
    if (!parser_accept(parser, TOKEN_WITHIN)) {
        report_near(parser, target, (Span){start, target->span.end});
        return NULL;
    }
    Node *within = parse_binary(parser, LEVEL_AS);
    if (!within)
        return NULL;
    Node *node = parser_node(parser, NODE_NEAR, start);
    node->as.near.value = value;
    node->as.near.target = target;
    node->as.near.within = within;
    return parser_measured(node);
}

static Node *parse_as(Parser *parser, Node *operand, uint32_t start) {
    UnitExpr *unit = parse_unit(parser, true);
    if (!unit)
        return NULL;
    Node *node = parser_node(parser, NODE_AS, start);
    node->as.attach.operand = operand;
    node->as.attach.unit = unit;
    return parser_measured(node);
}

static Node *parse_with(Parser *parser, Node *operand, uint32_t start) {
    if (parser->token.type != TOKEN_LEFT_CURLY) {
        parser_report_next(parser, MSG_WITH_CURLY, NO_ARGS);
        return NULL;
    }
    Node *node = parser_node(parser, NODE_WITH, start);
    node->as.with.operand = operand;
    if (!parse_fields(parser, &node->as.with.fields, &node->as.with.count))
        return NULL;
    node->span.end = parser->previous.span.end;
    return parser_checked(parser, node);
}

static Node *parse_right(Parser *parser, TokenType type, Node *left, Span sign, uint32_t start) {
    if (type == TOKEN_NEAR)
        return parse_near(parser, left, start);
    if (type == TOKEN_AS)
        return parse_as(parser, left, start);
    if (type == TOKEN_WITH)
        return parse_with(parser, left, start);
    Node *right = parse_binary(parser, infixes[type].level + 1);
    if (right && type == TOKEN_SLASH && is_ambiguous_half(parser, left, right, sign)) {
        report_half(parser, right, sign, start);
        return NULL;
    }
    return right ? binary_node(parser, infixes[type].op, left, right, sign, start) : NULL;
}

/* After a comparison, `as` or `with` a tighter operator, or the same again, needs brackets. Shows them. */
static void report_chain(Parser *parser, int level, const Node *left, uint32_t start) {
    char *typed = parser_source(parser, (Span){start, parser->previous.span.end});
    char *sign = parser_token_text(parser, &parser->token);
    Diag *diag;
    if (level == LEVEL_COMPARE && left->type == NODE_BINARY) {
        uint32_t middle = left->as.binary.operator_span.end;
        while (parser->lexer.text[middle] == ' ')
            middle++;
        char *right = parser_source(parser, (Span){middle, parser->previous.span.end});
        diag = parser_report_next(parser, MSG_CHAIN_COMPARE, ARGS(typed, right, sign));
    } else {
        diag = parser_report_next(parser, MSG_CHAIN_BRACKETS, ARGS(typed, sign));
    }
    parser_label(diag, left->span);
}

/* `68 F in C`, `5 gal to L`: in and to convert where a unit follows, and nothing else could be meant. */
static bool at_conversion(const Parser *parser) {
    TokenType type = parser->token.type;
    if (type == TOKEN_TO && parser->range == parser->brackets + 1)
        return false; /* from a to b */
    return (type == TOKEN_IN || type == TOKEN_TO) && parse_unit_follows(parser);
}

/* Operators of at least this level, left to right. Inside a chain the tree grows to the left without
 * recursion. */
static Node *parse_binary(Parser *parser, int least) {
    uint32_t start = parser->token.span.start;
    int loosest = LEVEL_MULTIPLY; /* what was read last binds so: nothing tighter may follow it */
    Node *left;
    Span sign = parser->token.span;
    if (parser->token.type == TOKEN_NOT && least <= LEVEL_NOT) {
        if (!parser_enter(parser)) {
            parser_leave(parser);
            return NULL;
        }
        parser_advance(parser);
        Node *operand = parse_binary(parser, LEVEL_NOT);
        parser_leave(parser);
        left = operand ? unary_node(parser, OPERATOR_NOT, operand, sign) : NULL;
    } else {
        left = parse_unary(parser);
    }
    while (left) {
        bool converts = at_conversion(parser);
        TokenType type = converts ? TOKEN_AS : parser->token.type;
        int level = infixes[type].level;
        if (level == LEVEL_NONE || level < least)
            return left;
        bool single = level == LEVEL_COMPARE || level == LEVEL_AS;
        if (level > loosest || (single && level == loosest)) {
            report_chain(parser, loosest, left, start);
            return NULL;
        }
        sign = parser->token.span;
        if (converts)
            parser_respell(parser, sign, "as");
        parser_advance(parser);
        left = parse_right(parser, type, left, sign, start);
        loosest = level;
    }
    return NULL;
}

Node *parse_range_start(Parser *parser) {
    int outer = parser->range;
    parser->range = parser->brackets + 1;
    Node *node = parse_expression(parser);
    parser->range = outer;
    return node;
}

Node *parse_expression(Parser *parser) {
    Node *node = NULL;
    if (parser_enter(parser))
        node = parse_binary(parser, LEVEL_OR);
    parser_leave(parser);
    return node;
}
