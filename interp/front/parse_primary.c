/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is between operators: numbers, texts, names, calls, lists, records, and what is attached to them.
 */
#include "front/parse_state.h"

#include <stdlib.h>
#include <string.h>

bool parser_at_word(const Parser *parser) {
    return parser->token.type == TOKEN_WORD || lex_is_keyword(parser->token.type);
}

/* After `(`, `,` or `{` a word before `:` is a label, keyword or unit or not. */
static bool at_label(const Parser *parser) {
    return parser_at_word(parser) && lex_peek(&parser->lexer, parser->texts == 0) == ':';
}

/* ---- texts ---- */

bool parse_format(Parser *parser, FormatSpec *format) {
    *format = (FormatSpec){FORMAT_DEFAULT, 0};
    if (!parser_accept(parser, TOKEN_TO))
        return true;
    const Token *token = &parser->token;
    if (token->type != TOKEN_NUMBER || !token->digits_only || token->number > 15) {
        parser_report_next(parser, MSG_FORMAT_COUNT, NO_ARGS);
        return false;
    }
    format->count = (int)token->number;
    parser_advance(parser);
    const char *word = parser->token.type == TOKEN_WORD ? parser_token_text(parser, &parser->token) : "";
    if (word_is_counted(word, WORD_PLACES)) {
        format->mode = FORMAT_PLACES;
    } else if (word_is_counted(word, WORD_DIGITS)) {
        format->mode = FORMAT_DIGITS;
    } else {
        parser_report_next(parser, MSG_FORMAT_WORD, ARGS(parser_token_text(parser, &parser->previous)));
        return false;
    }
    parser_advance(parser);
    return true;
}

typedef struct Parts {
    TextPart *items;
    int count, capacity;
} Parts;

static void add_literal(Parser *parser, Parts *parts, Text *literal) {
    if (literal->length == 0)
        return;
    TextPart part = {.literal = arena_copy(parser->arena, text_string(literal), literal->length),
                     .length = literal->length};
    PARSER_PUSH(parser, parts->items, parts->count, parts->capacity, part);
    text_clear(literal);
}

/* The inside of `{…}`; the next token is its first. */
static bool parse_inside(Parser *parser, TextPart *part, Span brace) {
    if (parser->token.type == TOKEN_RIGHT_CURLY) {
        parser_report(parser, MSG_TEXT_BRACE_EMPTY, span_join(brace, parser->token.span), NO_ARGS);
        return false;
    }
    part->expr = parse_expression(parser);
    if (!part->expr || !parse_format(parser, &part->format))
        return false;
    if (parser->token.type == TOKEN_RIGHT_CURLY)
        return true;
    if (parser->token.type == TOKEN_NEWLINE || parser->token.type == TOKEN_END)
        parser_report(parser, MSG_TEXT_BRACE_OPEN, brace, NO_ARGS); /* a remark swallowed the rest */
    else
        parser_report_extra(parser);
    return false;
}

/* After a mistake inside `{…}` the text continues after its `}`: the rest of the line may be sound. */
static void resume_text(Parser *parser, size_t close) {
    parser->lexer.at = close + 1;
    parser->failed = false;
}

/* One interpolation, with its `{` read. False when the rest of the line cannot be made sense of. */
static bool parse_interpolation(Parser *parser, Parts *parts) {
    size_t open = parser->lexer.at - 1, close = lex_brace_end(&parser->lexer, parser->lexer.at);
    Span brace = {(uint32_t)open, (uint32_t)open + 1};
    int brackets = parser->brackets, waiting = parser->waiting_else;
    if (close == 0) {
        parser_report(parser, MSG_TEXT_BRACE_OPEN, brace, NO_ARGS);
        return false;
    }
    TextPart part = {0};
    parser->texts++;
    parser->token = (Token){.type = TOKEN_LEFT_CURLY, .span = brace};
    parser_open(parser);
    bool good = parse_inside(parser, &part, brace);
    parser->texts--;
    parser->brackets = brackets;
    if (!good) {
        if (parser->too_deep)
            return false;
        resume_text(parser, close);
        parser->waiting_else = waiting;
        part.expr =
            parser_node(parser, NODE_NONE, brace.start); /* an error is noted; the tree will not run */
    }
    PARSER_PUSH(parser, parts->items, parts->count, parts->capacity, part);
    return true;
}

static bool parse_pieces(Parser *parser, const Token *open, Parts *parts) {
    Text literal = {0};
    TextPiece piece;
    bool good = true;
    while (good && (piece = lex_text_piece(&parser->lexer, open->quote, &literal)) == PIECE_BRACE) {
        add_literal(parser, parts, &literal);
        good = parse_interpolation(parser, parts);
    }
    if (good)
        add_literal(parser, parts, &literal);
    text_free(&literal);
    if (!good) { /* the rest of the line is lost */
        parser->lexer.at += strcspn(parser->lexer.text + parser->lexer.at, "\n");
        parser->token.type = TOKEN_BAD;
    } else if (piece == PIECE_UNFINISHED && !parser->failed) {
        lex_report(&parser->lexer, MSG_TEXT_UNFINISHED, open->span, ARGS(lex_closing_quote(open->quote)));
    }
    return good;
}

Node *parse_text(Parser *parser) {
    Token open = parser->token;
    Parts parts = {0};
    if (parser_report_triple_quotes(parser))
        return NULL;
    if (open.type == TOKEN_RAW_TEXT) {
        Span inside = lex_raw_span(&parser->lexer, &open);
        TextPart part = {.literal = parser_source(parser, inside), .length = inside.end - inside.start};
        if (part.length > 0)
            PARSER_PUSH(parser, parts.items, parts.count, parts.capacity, part);
    } else if (!parse_pieces(parser, &open, &parts)) {
        return NULL;
    }
    parser->token = open;
    parser->token.span.end = (uint32_t)parser->lexer.at;
    parser_advance(parser);
    Node *node = parser_node(parser, NODE_TEXT, open.span.start);
    node->as.text.parts = parts.items;
    node->as.text.count = parts.count;
    return parser_measured(node);
}

/* ---- calls ---- */

/* `ferment(j, to 1.004 SG)`: a word that only a label can be, without its colon. */
static bool report_label(Parser *parser) {
    TokenType type = parser->token.type;
    bool label =
        type == TOKEN_TO || type == TOKEN_FROM || type == TOKEN_WITH || type == TOKEN_BY || type == TOKEN_IN;
    if (!label)
        return false;
    char *word = parser_token_text(parser, &parser->token),
         *colon = arena_alloc(parser->arena, strlen(word) + 2);
    memcpy(colon, word, strlen(word));
    colon[strlen(word)] = ':';
    parser_report_next(parser, MSG_ARGUMENT_COLON,
                       ARGS(word, parser_line_surely(parser, parser->token.span, colon)));
    return true;
}

static bool parse_argument(Parser *parser, ArgumentExpr *argument) {
    *argument = (ArgumentExpr){0};
    if (at_label(parser)) {
        argument->label = parser_token_text(parser, &parser->token);
        argument->label_span = parser->token.span;
        parser_advance(parser);
        parser_advance(parser);
    }
    if (report_label(parser))
        return false;
    argument->value = parse_expression(parser);
    if (argument->value && argument->value->type == NODE_NAME && parser->token.type == TOKEN_ASSIGN) {
        parser_report_next(parser, MSG_ARGUMENT_EQUAL, ARGS(argument->value->as.name.name));
        return false;
    }
    return argument->value != NULL;
}

/* `name` was read and touches the `(` that comes next. */
static Node *parse_call(Parser *parser, const char *qualifier, const char *name, Span name_span,
                        uint32_t start) {
    Node *node = parser_node(parser, NODE_CALL, start);
    Span opened = parser->token.span;
    int capacity = 0;
    node->as.call.qualifier = qualifier;
    node->as.call.name = name;
    node->as.call.name_span = name_span;
    parser_open(parser);
    while (parser->token.type != TOKEN_RIGHT_ROUND) {
        ArgumentExpr argument;
        if (parser->token.type == TOKEN_END || !parse_argument(parser, &argument))
            break;
        PARSER_PUSH(parser, node->as.call.args, node->as.call.count, capacity, argument);
        if (!parser_accept(parser, TOKEN_COMMA))
            break;
    }
    if (parser->failed || !parser_close(parser, TOKEN_RIGHT_ROUND, opened))
        return NULL;
    node->span.end = parser->previous.span.end;
    return parser_measured(node);
}

static Node *parse_name_or_call(Parser *parser) {
    Span span = parser->token.span;
    char *name = parser_token_text(parser, &parser->token);
    parser_advance(parser);
    if (parser->token.type == TOKEN_LEFT_ROUND && parser_touches(parser))
        return parse_call(parser, NULL, name, span, span.start);
    Node *node = parser_node(parser, NODE_NAME, span.start);
    node->as.name.name = name;
    return node;
}

/* ---- lists and records ---- */

/* `for x in list if c`, after the word `for`, into a node that has its body. */
static bool parse_clause(Parser *parser, Node *node) {
    node->as.comprehension.variable = parse_name(parser, &node->as.comprehension.variable_span, MSG_FOR_NAME);
    if (!node->as.comprehension.variable)
        return false;
    if (parser_accept(parser, TOKEN_COMMA)) {
        node->as.comprehension.second =
            parse_name(parser, &node->as.comprehension.second_span, MSG_FOR_SECOND);
        if (!node->as.comprehension.second)
            return false;
    }
    if (!parser_expect(parser, TOKEN_IN, MSG_FOR_IN_LIST))
        return false;
    node->as.comprehension.list = parse_expression(parser);
    if (!node->as.comprehension.list)
        return false;
    if (parser_accept(parser, TOKEN_IF))
        node->as.comprehension.condition = parse_expression(parser);
    return !parser->failed;
}

enum { COMPREHENSION_CLAUSES = 20 };

/* After the first `for`. Each further one is a comprehension of its own in the body of the one before it. */
static Node *parse_comprehension(Parser *parser, Node *body, Span opened) {
    Node *outer = NULL, **place = &outer, *nodes[COMPREHENSION_CLAUSES];
    int count = 0;
    do {
        if (count == COMPREHENSION_CLAUSES) {
            parser_report(parser, MSG_TOO_DEEP, parser->previous.span, NO_ARGS);
            return NULL;
        }
        Node *node = nodes[count++] = *place = parser_node(parser, NODE_COMPREHENSION, opened.start);
        if (!parse_clause(parser, node))
            return NULL;
        place = &node->as.comprehension.body;
    } while (parser_accept(parser, TOKEN_FOR));
    *place = body;
    if (!parser_close(parser, TOKEN_RIGHT_SQUARE, opened))
        return NULL;
    for (int i = count - 1; i >= 0; i--) {
        nodes[i]->as.comprehension.flat = i < count - 1;
        nodes[i]->span.end = parser->previous.span.end;
        parser_measured(nodes[i]);
    }
    return outer;
}

/* After the `[`. */
static Node *parse_items(Parser *parser, Span opened) {
    int capacity = 0;
    Node *node = parser_node(parser, NODE_LIST, opened.start);
    while (parser->token.type != TOKEN_RIGHT_SQUARE && parser->token.type != TOKEN_END) {
        Node *item = parse_expression(parser);
        if (!item)
            return NULL;
        if (node->as.list.count == 0 && parser_accept(parser, TOKEN_FOR))
            return parse_comprehension(parser, item, opened);
        PARSER_PUSH(parser, node->as.list.items, node->as.list.count, capacity, item);
        if (!parser_accept(parser, TOKEN_COMMA))
            break;
    }
    if (!parser_close(parser, TOKEN_RIGHT_SQUARE, opened))
        return NULL;
    node->span.end = parser->previous.span.end;
    return parser_measured(node);
}

static Node *parse_list(Parser *parser) {
    Span opened = parser->token.span;
    int names = parser->names.count;
    parser_open(parser);
    parser_declare_ahead(parser);
    Node *node = parse_items(parser, opened);
    parser_forget_names(parser, names);
    return node;
}

/* A word, or a text; with `{…}` in it the name is worked out when the script runs. */
static bool parse_key(Parser *parser, FieldExpr *field) {
    field->name_span = parser->token.span;
    if (parser_at_word(parser)) {
        field->name = parser_token_text(parser, &parser->token);
        parser_advance(parser);
        return true;
    }
    if (parser->token.type != TOKEN_TEXT && parser->token.type != TOKEN_RAW_TEXT) {
        parser_report_next(parser, MSG_FIELD_WANTED, NO_ARGS);
        return false;
    }
    Node *text = parse_text(parser);
    if (!text)
        return false;
    bool plain = text->as.text.count == 0 || (text->as.text.count == 1 && text->as.text.parts[0].literal);
    field->name_span = text->span;
    if (plain)
        field->name = text->as.text.count ? text->as.text.parts[0].literal : "";
    else
        field->computed = text;
    return true;
}

static int compare_fields(const void *a, const void *b) {
    const FieldExpr *left = a, *right = b;
    int order = strcmp(left->name, right->name);
    if (order != 0)
        return order;
    return left->name_span.start < right->name_span.start ? -1
                                                          : left->name_span.start > right->name_span.start;
}

/* Sorted, so that a very long record is checked in good time too. */
static bool check_fields(Parser *parser, const FieldExpr *fields, int count) {
    if (count < 2)
        return true;
    FieldExpr *sorted = arena_alloc(parser->arena, (size_t)count * sizeof *sorted);
    int named = 0;
    for (int i = 0; i < count; i++)
        if (fields[i].name)
            sorted[named++] = fields[i];
    qsort(sorted, (size_t)named, sizeof *sorted, compare_fields);
    for (int i = 1; i < named; i++) {
        if (strcmp(sorted[i - 1].name, sorted[i].name) != 0)
            continue;
        Diag *diag = parser_report(parser, MSG_FIELD_TWICE, sorted[i].name_span, ARGS(sorted[i].name));
        parser_label(diag, sorted[i - 1].name_span);
        return false;
    }
    return true;
}

/* `{name = "oak"}` shows the line with its colon. */
static bool expect_colon(Parser *parser) {
    Span sign = {parser->previous.span.end, parser->token.span.end};
    return parser->token.type == TOKEN_ASSIGN
               ? parser_expect_in_line(parser, TOKEN_COLON, MSG_FIELD_COLON, sign, ":")
               : parser_expect(parser, TOKEN_COLON, MSG_FIELD_COLON);
}

bool parse_fields(Parser *parser, FieldExpr **fields, int *count) {
    Span opened = parser->token.span;
    int capacity = 0;
    parser_open(parser);
    while (parser->token.type != TOKEN_RIGHT_CURLY && parser->token.type != TOKEN_END) {
        FieldExpr field = {0};
        if (!parse_key(parser, &field) || !expect_colon(parser))
            return false;
        field.value = parse_expression(parser);
        if (!field.value)
            return false;
        PARSER_PUSH(parser, *fields, *count, capacity, field);
        if (!parser_accept(parser, TOKEN_COMMA))
            break;
    }
    return parser_close(parser, TOKEN_RIGHT_CURLY, opened) && check_fields(parser, *fields, *count);
}

static Node *parse_record(Parser *parser) {
    Node *node = parser_node(parser, NODE_RECORD, parser->token.span.start);
    if (!parse_fields(parser, &node->as.record.fields, &node->as.record.count))
        return NULL;
    node->span.end = parser->previous.span.end;
    return parser_measured(node);
}

/* ---- the other primaries ---- */

static Node *parse_choice(Parser *parser) {
    uint32_t start = parser->token.span.start;
    parser_advance(parser);
    parser->waiting_else++;
    Node *condition = parse_expression(parser);
    if (!condition || !parser_expect(parser, TOKEN_THEN, MSG_IF_THEN))
        return NULL;
    Node *then = parse_expression(parser);
    if (!then || !parser_expect(parser, TOKEN_ELSE, MSG_IF_ELSE))
        return NULL;
    parser->waiting_else--;
    Node *otherwise = parse_expression(parser);
    if (!otherwise)
        return NULL;
    Node *node = parser_node(parser, NODE_IF, start);
    node->as.choice.condition = condition;
    node->as.choice.then = then;
    node->as.choice.otherwise = otherwise;
    return parser_measured(node);
}

/* A `find` whose value is asked for. */
static Node *parse_find_value(Parser *parser) {
    Node *node = parser_node(parser, NODE_FIND, parser->token.span.start);
    int names = parser->names.count;
    bool good = parse_find_tree(parser, &node->as.find);
    parser_forget_names(parser, names);
    if (!good)
        return NULL;
    node->span.end = parser->previous.span.end;
    return parser_measured(node);
}

static Node *parse_brackets(Parser *parser) {
    Span opened = parser->token.span;
    parser_open(parser);
    if (parser->token.type == TOKEN_RIGHT_ROUND) {
        parser_report(parser, MSG_BRACKETS_EMPTY, span_join(opened, parser->token.span), NO_ARGS);
        return NULL;
    }
    Node *node = parse_expression(parser);
    if (!node || !parser_close(parser, TOKEN_RIGHT_ROUND, opened))
        return NULL;
    node->bracketed = true;
    return node;
}

/* No value can begin with this token: the likeliest reason. */
static Node *report_no_value(Parser *parser) {
    const Token *token = &parser->token;
    bool at_start = parser->previous.type == TOKEN_NEWLINE || parser->previous.type == TOKEN_SEMICOLON;
    char *typed = parser_token_text(parser, token);
    if (token->type == TOKEN_UNIT_WORD)
        parser_report_next(parser, MSG_UNIT_ALONE, ARGS(typed));
    else if (parser->previous.type == TOKEN_NEWLINE && parser_at_operator(parser))
        parser_report_next(parser, MSG_LINE_OPERATOR, ARGS(typed));
    else if (at_start)
        parser_report_next(parser, MSG_STATEMENT_START, ARGS(typed));
    else if (lex_is_keyword(token->type) && !token->after_newline)
        parser_report_next(parser, MSG_KEYWORD_AS_VALUE, ARGS(typed));
    else
        parser_report_next(parser, MSG_VALUE_WANTED, ARGS(parser_token_text(parser, &parser->previous)));
    return NULL;
}

static Node *parse_simple(Parser *parser, NodeType type) {
    Token token = parser->token;
    parser_advance(parser);
    Node *node = parser_node(parser, type, token.span.start);
    if (type == NODE_TRUTH)
        node->as.truth = token.type == TOKEN_TRUE;
    else
        node->as.number = token.number;
    return node;
}

static Node *parse_primary(Parser *parser) {
    switch ((int)parser->token.type) {
    case TOKEN_NUMBER:
        return parse_simple(parser, NODE_NUMBER);
    case TOKEN_DATE:
        return parse_simple(parser, NODE_DATE);
    case TOKEN_TRUE:
    case TOKEN_FALSE:
        return parse_simple(parser, NODE_TRUTH);
    case TOKEN_NONE:
        return parse_simple(parser, NODE_NONE);
    case TOKEN_WORD:
        return parse_name_or_call(parser);
    case TOKEN_TEXT:
    case TOKEN_RAW_TEXT:
        return parse_text(parser);
    case TOKEN_LEFT_ROUND:
        return parse_brackets(parser);
    case TOKEN_LEFT_SQUARE:
        return parse_list(parser);
    case TOKEN_LEFT_CURLY:
        return parse_record(parser);
    case TOKEN_IF:
        return parse_choice(parser);
    case TOKEN_FIND:
        return parse_find_value(parser);
    default:
        return report_no_value(parser);
    }
}

/* ---- what is attached ---- */

static bool is_alias(const Parser *parser, const Node *node) {
    const ParseHost *host = parser->host;
    return node->type == NODE_NAME && !node->bracketed && host && host->is_alias &&
           host->is_alias(host->context, node->as.name.name);
}

/* `.name`, or `alias.name(…)`. */
static Node *parse_field(Parser *parser, Node *object, uint32_t start) {
    parser_advance(parser);
    if (!parser_at_word(parser)) {
        parser_report_next(parser, MSG_FIELD_NAME, NO_ARGS);
        return NULL;
    }
    Span span = parser->token.span;
    char *name = parser_token_text(parser, &parser->token);
    parser_advance(parser);
    if (parser->token.type == TOKEN_LEFT_ROUND && parser_touches(parser)) {
        if (is_alias(parser, object))
            return parse_call(parser, object->as.name.name, name, span, start);
        char *left = parser_source(parser, (Span){start, object->span.end});
        parser_report(parser, MSG_FIELD_CALLED, (Span){start, span.end}, ARGS(left, name));
        return NULL;
    }
    Node *node = parser_node(parser, NODE_FIELD, start);
    node->as.field.object = object;
    node->as.field.name = name;
    node->as.field.name_span = span;
    return parser_checked(parser, node);
}

static Node *parse_index(Parser *parser, Node *object, uint32_t start) {
    Span opened = parser->token.span;
    parser_open(parser);
    if (parser->token.type == TOKEN_RIGHT_SQUARE) {
        parser_report(parser, MSG_INDEX_EMPTY, span_join(opened, parser->token.span), NO_ARGS);
        return NULL;
    }
    Node *index = parse_expression(parser);
    if (!index || !parser_close(parser, TOKEN_RIGHT_SQUARE, opened))
        return NULL;
    Node *node = parser_node(parser, NODE_INDEX, start);
    node->as.index.object = object;
    node->as.index.index = index;
    return parser_checked(parser, node);
}

static Node *parse_attach(Parser *parser, Node *operand, uint32_t start) {
    char *typed = NULL;
    if (operand->type == NODE_ATTACH && !operand->bracketed)
        typed = parser_source(parser, (Span){start, parser->previous.span.end});
    UnitExpr *unit = parse_unit(parser, parser->lexer.literal);
    if (!unit)
        return NULL;
    if (typed) {
        Diag *diag = parser_report(parser, MSG_UNIT_ALREADY, unit->span,
                                   ARGS(typed, parser_source(parser, unit->span)));
        parser_label(diag, operand->as.attach.unit->span);
        return NULL;
    }
    Node *node = parser_node(parser, NODE_ATTACH, start);
    node->as.attach.operand = operand;
    node->as.attach.unit = unit;
    return parser_checked(parser, node);
}

Node *parse_postfix(Parser *parser, Node *first, uint32_t start) {
    Node *node = first ? first : parse_primary(parser);
    while (node) {
        TokenType type = parser->token.type;
        if (type == TOKEN_DOT)
            node = parse_field(parser, node, start);
        else if (type == TOKEN_LEFT_SQUARE && parser_touches(parser))
            node = parse_index(parser, node, start);
        else if (type == TOKEN_WORD || type == TOKEN_UNIT_WORD)
            node = parse_attach(parser, node, start);
        else
            break;
    }
    return node;
}
