/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statements of one piece (language.md §5), and the choice between all of them. */
#include "front/parse_state.h"

#include <string.h>

Statement *parser_statement(Parser *parser, StatementType type, uint32_t start) {
    Statement *statement = arena_alloc(parser->arena, sizeof *statement);
    statement->type = type;
    statement->span = (Span){start, parser->previous.span.end};
    return statement;
}

/* ---- documentation comments ---- */

static bool is_doc_at(const char *text, size_t at) {
    return text[at] == '#' && text[at + 1] == '#';
}

static size_t skip_plain_blanks(const char *text, size_t at) {
    while (text[at] == ' ' || text[at] == '\t')
        at++;
    return at;
}

static size_t line_start(const char *text, size_t at) {
    while (at > 0 && text[at - 1] != '\n')
        at--;
    return at;
}

/* Adds what stands after `##` up to the end of the line. */
static void add_doc_line(Text *doc, const char *text, size_t at) {
    at += 2;
    at += text[at] == ' ';
    size_t end = at + strcspn(text + at, "\n");
    while (end > at && (text[end - 1] == ' ' || text[end - 1] == '\t' || text[end - 1] == '\r'))
        end--;
    if (doc->length > 0)
        text_add_char(doc, '\n');
    text_add(doc, text + at, end - at);
}

/* The `##` lines right above. No text reaches over a line, so a line that begins with `##` is a comment. */
static void add_doc_above(Text *doc, const char *text, size_t start) {
    size_t own = line_start(text, start), first = own;
    if (skip_plain_blanks(text, own) < start)
        return;
    while (first > 0) {
        size_t line = line_start(text, first - 1);
        if (!is_doc_at(text, skip_plain_blanks(text, line)))
            break;
        first = line;
    }
    for (size_t line = first; line < own; line += strcspn(text + line, "\n") + 1)
        add_doc_line(doc, text, skip_plain_blanks(text, line));
}

const char *parse_doc(Parser *parser, uint32_t start, uint32_t header_end) {
    const char *text = parser->lexer.text;
    Text doc = {0};
    add_doc_above(&doc, text, start);
    size_t after = skip_plain_blanks(text, header_end);
    if (is_doc_at(text, after))
        add_doc_line(&doc, text, after);
    const char *kept = doc.length ? arena_copy(parser->arena, doc.bytes, doc.length) : NULL;
    text_free(&doc);
    return kept;
}

/* ---- values and names ---- */

static Statement *parse_let(Parser *parser) {
    uint32_t start = parser->token.span.start;
    Span span;
    parser_advance(parser);
    const char *name = parse_name(parser, &span, MSG_LET_NAME);
    if (!name || !parse_name_ends(parser, span) || !parser_expect(parser, TOKEN_ASSIGN, MSG_LET_EQUAL))
        return NULL;
    Node *value = parse_expression(parser);
    if (!value)
        return NULL;
    Statement *statement = parser_statement(parser, STATEMENT_LET, start);
    statement->as.let.name = name;
    statement->as.let.name_span = span;
    statement->as.let.value = value;
    return statement;
}

/* `x = e`, at the name. */
static Statement *parse_assign(Parser *parser) {
    uint32_t start = parser->token.span.start;
    Span span;
    const char *name = parse_name(parser, &span, MSG_LET_NAME);
    if (!name)
        return NULL;
    parser_advance(parser);
    Node *value = parse_expression(parser);
    if (!value)
        return NULL;
    Statement *statement = parser_statement(parser, STATEMENT_ASSIGN, start);
    statement->as.let.name = name;
    statement->as.let.name_span = span;
    statement->as.let.value = value;
    return statement;
}

static Statement *parse_input(Parser *parser) {
    uint32_t start = parser->token.span.start;
    Span span;
    Node *from = NULL, *to = NULL;
    parser_advance(parser);
    const char *name = parse_name(parser, &span, MSG_INPUT_NAME);
    if (!name || !parse_name_ends(parser, span))
        return NULL;
    if (parser_accept(parser, TOKEN_FROM)) {
        from = parse_expression(parser);
        if (!from || !parser_expect(parser, TOKEN_TO, MSG_RANGE_TO))
            return NULL;
        to = parse_expression(parser);
        if (!to)
            return NULL;
    }
    if (!parser_expect(parser, TOKEN_ASSIGN, MSG_INPUT_EQUAL))
        return NULL;
    Node *value = parse_expression(parser);
    if (!value)
        return NULL;
    Statement *statement = parser_statement(parser, STATEMENT_INPUT, start);
    statement->doc = parse_doc(parser, start, parser->previous.span.end);
    statement->as.input.name = name;
    statement->as.input.name_span = span;
    statement->as.input.from = from;
    statement->as.input.to = to;
    statement->as.input.value = value;
    return statement;
}

/* ---- what is shown ---- */

static bool parse_show_item(Parser *parser, ShowItem *item) {
    *item = (ShowItem){0};
    Span source = {parser->token.span.start, 0};
    item->expr = parse_expression(parser);
    if (!item->expr)
        return false;
    if (parser->token.type == TOKEN_COLON && item->expr->type == NODE_TEXT && !item->expr->bracketed) {
        item->label = item->expr;
        parser_advance(parser);
        item->expr = parse_expression(parser);
        if (!item->expr)
            return false;
    }
    source.end = parser->previous.span.end;
    if (!item->label) {
        Text label = {0};
        lex_copy_source(&parser->lexer, source, &label);
        item->source_label = arena_copy(parser->arena, text_string(&label), label.length);
        text_free(&label);
    }
    return parse_format(parser, &item->format);
}

static Statement *parse_show(Parser *parser) {
    uint32_t start = parser->token.span.start;
    ShowItem *items = NULL, item;
    int count = 0, capacity = 0;
    parser_advance(parser);
    do {
        if (!parse_show_item(parser, &item))
            return NULL;
        PARSER_PUSH(parser, items, count, capacity, item);
    } while (parser_accept(parser, TOKEN_COMMA));
    Statement *statement = parser_statement(parser, STATEMENT_SHOW, start);
    statement->as.show.items = items;
    statement->as.show.count = count;
    return statement;
}

/* A word and one expression. */
static Statement *parse_simple(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    parser_advance(parser);
    if (type == STATEMENT_EXPECT && parser_accept(parser, TOKEN_ERROR))
        type = STATEMENT_EXPECT_ERROR;
    Node *expr = parse_expression(parser);
    if (!expr)
        return NULL;
    Statement *statement = parser_statement(parser, type, start);
    statement->as.simple.expr = expr;
    return statement;
}

static Statement *parse_event(Parser *parser) {
    uint32_t start = parser->token.span.start;
    parser_advance(parser);
    Node *date = parse_expression(parser);
    if (!date || !parser_expect(parser, TOKEN_COMMA, MSG_EVENT_COMMA))
        return NULL;
    Node *text = parse_expression(parser);
    if (!text)
        return NULL;
    Statement *statement = parser_statement(parser, STATEMENT_EVENT, start);
    statement->as.event.date = date;
    statement->as.event.text = text;
    return statement;
}

static Statement *parse_column(Parser *parser) {
    uint32_t start = parser->token.span.start;
    parser_advance(parser);
    if (parser->token.type != TOKEN_TEXT && parser->token.type != TOKEN_RAW_TEXT) {
        parser_report_next(parser, MSG_COLUMN_LABEL, NO_ARGS);
        return NULL;
    }
    Node *label = parse_text(parser);
    if (!label || !parser_expect(parser, TOKEN_ASSIGN, MSG_COLUMN_EQUAL))
        return NULL;
    Node *expr = parse_expression(parser);
    FormatSpec format;
    if (!expr || !parse_format(parser, &format))
        return NULL;
    Statement *statement = parser_statement(parser, STATEMENT_COLUMN, start);
    statement->as.column.label = label;
    statement->as.column.expr = expr;
    statement->as.column.format = format;
    return statement;
}

static Statement *parse_word_alone(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    parser_advance(parser);
    return parser_statement(parser, type, start);
}

/* ---- find ---- */

static bool parse_unknown(Parser *parser, Unknown *unknown) {
    *unknown = (Unknown){0};
    unknown->name = parse_name(parser, &unknown->name_span, MSG_FIND_NAME);
    if (!unknown->name || !parser_expect(parser, TOKEN_FROM, MSG_FIND_FROM))
        return false;
    unknown->from = parse_expression(parser);
    if (!unknown->from || !parser_expect(parser, TOKEN_TO, MSG_RANGE_TO))
        return false;
    unknown->to = parse_expression(parser);
    if (!unknown->to)
        return false;
    unknown->whole = parser_accept(parser, TOKEN_WHOLE);
    return true;
}

/* One ==, <= or >=. */
static Node *parse_condition(Parser *parser) {
    Node *node = parse_expression(parser);
    if (!node || parser->token.type == TOKEN_ASSIGN)
        return node; /* a single `=` is said where the statement should end */
    Operator op = node->type == NODE_BINARY ? node->as.binary.op : OPERATOR_NEGATE;
    if (op == OPERATOR_EQUAL || op == OPERATOR_LESS_EQUAL || op == OPERATOR_GREATER_EQUAL)
        return node;
    MessageId message = op == OPERATOR_LESS || op == OPERATOR_GREATER ? MSG_FIND_STRICT
                        : op == OPERATOR_AND                          ? MSG_FIND_AND
                                                                      : MSG_FIND_CONDITION;
    Span span = op == OPERATOR_NEGATE ? node->span : node->as.binary.operator_span;
    parser_report(parser, message, message == MSG_FIND_CONDITION ? node->span : span,
                  ARGS(op == OPERATOR_LESS ? "<" : ">"));
    return NULL;
}

/* `least` or `most`, which may begin the next line. */
static int parse_direction(Parser *parser) {
    Lexer ahead = parser->lexer;
    Token token = parser->token;
    ahead.quiet = true;
    while (token.type == TOKEN_NEWLINE)
        token = lex_next(&ahead);
    if (token.type != TOKEN_LEAST && token.type != TOKEN_MOST)
        return 0;
    ahead.quiet = parser->lexer.quiet;
    parser->lexer = ahead;
    parser->token = token;
    parser_advance(parser);
    return token.type == TOKEN_LEAST ? -1 : 1;
}

static Statement *parse_find(Parser *parser) {
    Statement *statement = parser_statement(parser, STATEMENT_FIND, parser->token.span.start);
    int unknowns = 0, conditions = 0;
    Unknown unknown;
    parser_advance(parser);
    do {
        if (!parse_unknown(parser, &unknown))
            return NULL;
        PARSER_PUSH(parser, statement->as.find.unknowns, statement->as.find.unknown_count, unknowns, unknown);
    } while (parser_accept(parser, TOKEN_COMMA));
    if (!parser_expect(parser, TOKEN_SO, MSG_FIND_SO))
        return NULL;
    do {
        Node *condition = parse_condition(parser);
        if (!condition)
            return NULL;
        PARSER_PUSH(parser, statement->as.find.conditions, statement->as.find.condition_count, conditions,
                    condition);
    } while (parser_accept(parser, TOKEN_COMMA));
    statement->as.find.direction = parse_direction(parser);
    if (statement->as.find.direction != 0 && !(statement->as.find.goal = parse_expression(parser)))
        return NULL;
    statement->span.end = parser->previous.span.end;
    return statement;
}

/* ---- unit, use ---- */

static Statement *parse_unit_statement(Parser *parser) {
    uint32_t start = parser->token.span.start;
    Span span;
    Node *value = NULL;
    bool is_money = false;
    parser_advance(parser);
    const char *name = parse_name(parser, &span, MSG_UNIT_NAME);
    if (!name)
        return NULL;
    if (parser_accept(parser, TOKEN_IS)) {
        const char *word = parser->token.type == TOKEN_WORD ? parser_token_text(parser, &parser->token) : "";
        is_money = strcmp(word, "money") == 0;
        if (!is_money) {
            parser_report_next(parser, MSG_UNIT_MONEY, ARGS(name));
            return NULL;
        }
        parser_advance(parser);
    } else if (parser_accept(parser, TOKEN_ASSIGN)) {
        value = parse_expression(parser);
        if (!value)
            return NULL;
    }
    Statement *statement = parser_statement(parser, STATEMENT_UNIT, start);
    statement->doc = parse_doc(parser, start, parser->previous.span.end);
    statement->as.unit.name = name;
    statement->as.unit.name_span = span;
    statement->as.unit.value = value;
    statement->as.unit.is_money = is_money;
    return statement;
}

static Statement *parse_use(Parser *parser) {
    Statement *statement = parser_statement(parser, STATEMENT_USE, parser->token.span.start);
    parser_advance(parser);
    Node *path = NULL;
    if (parser->token.type != TOKEN_TEXT && parser->token.type != TOKEN_RAW_TEXT)
        parser_report_next(parser, MSG_USE_TEXT, NO_ARGS);
    else
        path = parse_text(parser);
    if (!path)
        return NULL;
    if (path->as.text.count != 1 || !path->as.text.parts[0].literal) {
        parser_report(parser, MSG_USE_PLAIN, path->span, NO_ARGS);
        return NULL;
    }
    statement->as.use.path = path->as.text.parts[0].literal;
    statement->as.use.path_span = path->span;
    if (parser_accept(parser, TOKEN_AS)) {
        statement->as.use.alias = parse_name(parser, &statement->as.use.alias_span, MSG_USE_ALIAS);
        if (!statement->as.use.alias)
            return NULL;
    }
    statement->span.end = parser->previous.span.end;
    return statement;
}

/* ---- statements that begin with a name ---- */

/* Words of the language only here, at the start of a statement. */
typedef struct ContextWord {
    const char *word;
    StatementType type;
} ContextWord;

static const ContextWord context_words[] = {
    {"print", STATEMENT_PRINT},     {"heading", STATEMENT_HEADING}, {"note", STATEMENT_NOTE},
    {"caution", STATEMENT_CAUTION}, {"event", STATEMENT_EVENT},     {"plot", STATEMENT_TABLE},
};
enum { CONTEXT_WORDS = sizeof context_words / sizeof *context_words };

static const char *const statement_words[] = {
    "let",    "show",  "input", "find",    "if",      "for",     "while", "table",
    "expect", "use",   "unit",  "give",    "stop",    "column",  "print", "end",
    "note",   "event", "skip",  "formula", "heading", "caution", "plot",
};

/* Words of other habits, and what is written here instead. */
static const char *const foreign_words[][2] = {
    {"elseif", "else if"},   {"elif", "else if"}, {"set", "let"},    {"var", "let"},
    {"function", "formula"}, {"return", "give"},  {"import", "use"}, {"assert", "expect"},
};

bool parse_is_context_word(const char *word) {
    for (size_t i = 0; i < CONTEXT_WORDS; i++)
        if (strcmp(context_words[i].word, word) == 0)
            return true;
    return false;
}

static Token look_ahead(const Parser *parser) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    return lex_next(&ahead);
}

/* `note "…"` is the statement, `note = 5` and `note + 1` are about a value of that name. */
static bool begins_value(const Parser *parser, const Token *next) {
    bool touches_word = next->span.start == parser->token.span.end;
    char after = parser->lexer.text[next->span.end];
    switch ((int)next->type) {
    case TOKEN_TEXT:
    case TOKEN_RAW_TEXT:
    case TOKEN_NUMBER:
    case TOKEN_DATE:
    case TOKEN_WORD:
    case TOKEN_LEFT_ROUND:
    case TOKEN_LEFT_CURLY:
    case TOKEN_TRUE:
    case TOKEN_FALSE:
    case TOKEN_NONE:
    case TOKEN_NOT:
    case TOKEN_IF:
        return true;
    case TOKEN_LEFT_SQUARE:
        return !touches_word;
    case TOKEN_MINUS:
        return !touches_word && after != ' ' && after != '\t';
    default:
        return false;
    }
}

static bool find_context_word(const Parser *parser, const char *word, const Token *next,
                              StatementType *type) {
    for (size_t i = 0; i < CONTEXT_WORDS; i++) {
        if (strcmp(context_words[i].word, word) != 0)
            continue;
        *type = context_words[i].type;
        return begins_value(parser, next);
    }
    return false;
}

static const char *find_foreign(const Parser *parser, const char *word, const Token *next) {
    bool call = next->type == TOKEN_LEFT_ROUND && next->span.start == parser->token.span.end;
    if (call || !begins_value(parser, next))
        return NULL;
    for (size_t i = 0; i < sizeof foreign_words / sizeof *foreign_words; i++)
        if (strcmp(word, foreign_words[i][0]) == 0)
            return foreign_words[i][1];
    return NULL;
}

/* A name and then something that cannot follow one: most likely a mistyped word of the language. */
static bool report_mistyped(Parser *parser, const char *word, const Token *next) {
    const char *nearest = find_foreign(parser, word, next);
    int distance = nearest ? 0 : 99;
    bool value = next->type == TOKEN_TEXT || next->type == TOKEN_RAW_TEXT || next->type == TOKEN_NUMBER;
    if (!value && !nearest && next->type != TOKEN_WORD)
        return false;
    if (next->type == TOKEN_WORD && parse_is_unit_name(parser, parser_source(parser, next->span)))
        return false;
    for (size_t i = 0; i < sizeof statement_words / sizeof *statement_words; i++)
        text_nearest(word, statement_words[i], &nearest, &distance);
    if (nearest)
        parser_report_next(parser, MSG_STATEMENT_WORD_NEAR, ARGS(word, nearest));
    else if (value && next->type != TOKEN_NUMBER)
        parser_report_next(parser, MSG_STATEMENT_WORD, ARGS(word));
    return parser->failed;
}

static Statement *parse_expression_statement(Parser *parser) {
    uint32_t start = parser->token.span.start;
    Node *expr = parse_expression(parser);
    if (!expr)
        return NULL;
    bool part = expr->type == NODE_FIELD || expr->type == NODE_INDEX;
    if (parser->token.type == TOKEN_ASSIGN && part && !expr->bracketed) {
        const Node *object = expr->type == NODE_FIELD ? expr->as.field.object : expr->as.index.object;
        parser_report_next(parser, MSG_ASSIGN_PART, ARGS(parser_source(parser, object->span)));
        return NULL;
    }
    if (parser->token.type == TOKEN_ASSIGN && expr->type == NODE_CALL && !expr->bracketed) {
        parser_report(parser, MSG_ASSIGN_CALL, expr->span, ARGS(parser_source(parser, expr->span)));
        return NULL;
    }
    Statement *statement = parser_statement(parser, STATEMENT_EXPRESSION, start);
    statement->as.simple.expr = expr;
    return statement;
}

static Statement *parse_from_name(Parser *parser) {
    Token next = look_ahead(parser);
    if (next.type == TOKEN_ASSIGN)
        return parse_assign(parser);
    char *word = parser_token_text(parser, &parser->token);
    StatementType type;
    if (find_context_word(parser, word, &next, &type))
        return type == STATEMENT_EVENT   ? parse_event(parser)
               : type == STATEMENT_TABLE ? parse_table(parser)
                                         : parse_simple(parser, type);
    if (report_mistyped(parser, word, &next))
        return NULL;
    return parse_expression_statement(parser);
}

/* ---- all of them ---- */

static Statement *parse_any(Parser *parser) {
    switch ((int)parser->token.type) {
    case TOKEN_LET:
        return parse_let(parser);
    case TOKEN_INPUT:
        return parse_input(parser);
    case TOKEN_SHOW:
        return parse_show(parser);
    case TOKEN_FORMULA:
        return parse_formula(parser);
    case TOKEN_GIVE:
        return parse_simple(parser, STATEMENT_GIVE);
    case TOKEN_IF:
        return parse_if_statement(parser);
    case TOKEN_FOR:
        return parse_for(parser);
    case TOKEN_WHILE:
        return parse_while(parser);
    case TOKEN_STOP:
        return parse_word_alone(parser, STATEMENT_STOP);
    case TOKEN_SKIP:
        return parse_word_alone(parser, STATEMENT_SKIP);
    case TOKEN_FIND:
        return parse_find(parser);
    case TOKEN_TABLE:
        return parse_table(parser);
    case TOKEN_COLUMN:
        return parse_column(parser);
    case TOKEN_EXPECT:
        return parse_simple(parser, STATEMENT_EXPECT);
    case TOKEN_UNIT:
        return parse_unit_statement(parser);
    case TOKEN_USE:
        return parse_use(parser);
    case TOKEN_WORD:
        return parse_from_name(parser);
    default:
        return parse_expression_statement(parser);
    }
}

/* Where a statement may not stand it is still read whole, so that its `end` is no second mistake. */
static MessageId find_misplaced(const Parser *parser, StatementType type) {
    BodyKind body = parser->body;
    bool table = body == BODY_TABLE || body == BODY_IN_TABLE;
    if (type == STATEMENT_COLUMN)
        return body == BODY_TABLE ? MSG_NONE : MSG_COLUMN_PLACE;
    bool held = type == STATEMENT_LET || type == STATEMENT_ASSIGN || type == STATEMENT_IF ||
                type == STATEMENT_STOP ||
                type == STATEMENT_SKIP; /* whether rows can be left out the checker knows */
    if (table && !held)
        return MSG_TABLE_HOLDS;
    bool top = type == STATEMENT_FORMULA || type == STATEMENT_INPUT || type == STATEMENT_UNIT ||
               type == STATEMENT_USE;
    /* after an error a block may seem to go on too long */
    return top && body != BODY_FILE && !parser_has_errors(parser) ? MSG_TOP_ONLY : MSG_NONE;
}

static bool ends_statement(TokenType type) {
    return type == TOKEN_NEWLINE || type == TOKEN_SEMICOLON || type == TOKEN_END || type == TOKEN_END_WORD ||
           type == TOKEN_ELSE;
}

/* `by = 5`: a keyword where a name is given a value. */
static bool report_keyword_assigned(Parser *parser) {
    if (!lex_is_keyword(parser->token.type) || look_ahead(parser).type != TOKEN_ASSIGN)
        return false;
    parser_report_next(parser, MSG_NAME_IS_KEYWORD, ARGS(lex_keyword_text(parser->token.type)));
    return true;
}

Statement *parse_statement(Parser *parser) {
    Token first = parser->token;
    Statement *statement = NULL;
    parser->statement_start = first.span.start;
    if (parser_enter(parser) && !report_keyword_assigned(parser))
        statement = parse_any(parser);
    parser_leave(parser);
    if (!statement) {
        parser->units_uncertain |= first.type == TOKEN_UNIT || first.type == TOKEN_USE;
        return NULL;
    }
    bool ended_itself = parser->previous.type == TOKEN_END_WORD; /* `if c then skip end show x` */
    if (!ended_itself && !ends_statement(parser->token.type)) {
        parser_report_extra(parser);
        return NULL;
    }
    MessageId misplaced = find_misplaced(parser, statement->type);
    if (misplaced == MSG_NONE)
        return statement;
    parser_report(parser, misplaced, first.span, ARGS(parser_source(parser, first.span)));
    parser->failed = false;
    return NULL;
}
