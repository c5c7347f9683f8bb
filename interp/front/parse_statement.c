/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statements of one piece (docs/reference/language.md, "Statements"), and the choice between all of them. */
#include "front/parse_state.h"

#include <string.h>

Statement *parser_statement(Parser *parser, StatementType type, uint32_t start) {
    Statement *statement = arena_alloc(parser->arena, sizeof *statement);
    statement->type = type;
    statement->span = (Span){start, parser->previous.span.end};
    return statement;
}

static Token look_ahead(const Parser *parser) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    return lex_next(&ahead);
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

/* Adds what is after `##` up to the end of the line. */
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

Statement *parse_let(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    Span span;
    parser_advance(parser);
    const char *name = parse_name(parser, &span, MSG_LET_NAME);
    if (!name || !parse_name_ends(parser, span) || !parser_expect(parser, TOKEN_ASSIGN, MSG_LET_EQUAL))
        return NULL;
    Node *value = parse_expression(parser);
    if (!value)
        return NULL;
    parser_declare(parser, name);
    Statement *statement = parser_statement(parser, type, start);
    statement->as.let.name = name;
    statement->as.let.name_span = span;
    statement->as.let.value = value;
    return statement;
}

/* `x = e`, at the name. */
Statement *parse_assign(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    Span span;
    const char *name = parse_name(parser, &span, MSG_LET_NAME);
    if (!name)
        return NULL;
    parser_advance(parser);
    Node *value = parse_expression(parser);
    if (!value)
        return NULL;
    Statement *statement = parser_statement(parser, type, start);
    statement->as.let.name = name;
    statement->as.let.name_span = span;
    statement->as.let.value = value;
    return statement;
}

/* After `from`: a list, or the name of one, and no `to`. */
static bool may_be_choices(const Parser *parser, const Node *from) {
    return parser->token.type != TOKEN_TO && (from->type == NODE_LIST || from->type == NODE_NAME);
}

/* `input x = 3 gal to 5 gal`. */
static bool report_range_behind(Parser *parser, Span name, const Node *value) {
    if (parser->token.type != TOKEN_TO)
        return false;
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    size_t at = lex_peek_place(&ahead), end = at + strcspn(ahead.text + at, "\n#;");
    while (end > at && strchr(" \t\r", ahead.text[end - 1]))
        end--;
    char *first = parser_source(parser, value->span),
         *last = parser_source(parser, (Span){(uint32_t)at, (uint32_t)end});
    Text line = {0};
    const char *const parts[] = {"input ", parser_source(parser, name), " from ", first, " to ", last, " = ",
                                 first};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        text_add_string(&line, parts[i]);
    parser_report_next(parser, MSG_INPUT_RANGE_FORM, ARGS(text_string(&line)));
    text_free(&line);
    return true;
}

Statement *parse_input(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    Span span;
    Node *from = NULL, *to = NULL;
    parser_advance(parser);
    const char *name = parse_name(parser, &span, MSG_INPUT_NAME);
    if (!name || !parse_name_ends(parser, span))
        return NULL;
    if (parser_accept(parser, TOKEN_FROM)) {
        if (parser_report_bare_choices(parser))
            return NULL;
        from = parse_range_start(parser);
        if (!from || (!may_be_choices(parser, from) && !parser_expect(parser, TOKEN_TO, MSG_RANGE_TO)))
            return NULL;
        if (parser->previous.type == TOKEN_TO && !(to = parse_expression(parser)))
            return NULL;
    }
    Node *value = NULL;
    bool has_choices = from && !to;
    if (!has_choices && !parser_expect(parser, TOKEN_ASSIGN, MSG_INPUT_EQUAL))
        return NULL;
    if ((!has_choices || parser_accept(parser, TOKEN_ASSIGN)) && !(value = parse_expression(parser)))
        return NULL;
    if (!from && report_range_behind(parser, span, value))
        return NULL;
    parser_declare(parser, name);
    Statement *statement = parser_statement(parser, type, start);
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

Statement *parse_show(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    ShowItem *items = NULL, item;
    int count = 0, capacity = 0;
    parser_advance(parser);
    do {
        if (!parse_show_item(parser, &item))
            return NULL;
        PARSER_PUSH(parser, items, count, capacity, item);
    } while (parser_accept(parser, TOKEN_COMMA));
    Statement *statement = parser_statement(parser, type, start);
    statement->as.show.items = items;
    statement->as.show.count = count;
    return statement;
}

/* `note remember to shake`: two words in a row, of which the second is not a unit, are a text without its
 * quotes. */
static bool report_bare_words(Parser *parser, StatementType type) {
    bool says = type == STATEMENT_PRINT || type == STATEMENT_NOTE || type == STATEMENT_HEADING ||
                type == STATEMENT_CAUTION;
    if (!says || parser->token.type != TOKEN_WORD)
        return false;
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Token next = lex_next(&ahead);
    bool word = next.type == TOKEN_WORD && !parse_is_unit_name(parser, parser_source(parser, next.span));
    bool keyword =
        next.type == TOKEN_TO || next.type == TOKEN_IN || next.type == TOKEN_BY || next.type == TOKEN_FROM;
    if (!word && !keyword)
        return false;
    Span words;
    MessageArg line = parser_line_quoted(parser, &words);
    parser_report(parser, MSG_SAY_QUOTES, words, ARGS(line));
    return true;
}

/* A word and one expression. */
Statement *parse_word_and_value(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    parser_advance(parser);
    if (type != STATEMENT_EXPECT && type != STATEMENT_EXPECT_ERROR && report_bare_words(parser, type))
        return NULL;
    Node *expr = parse_expression(parser);
    if (!expr)
        return NULL;
    Statement *statement = parser_statement(parser, type, start);
    statement->as.simple.expr = expr;
    return statement;
}

/* `else "why"`, if it is there. Any other `else` belongs to an `if` around it. */
static bool parse_why(Parser *parser, Node **why) {
    TokenType next = parser->token.type == TOKEN_ELSE && !parser->token.after_newline
                         ? look_ahead(parser).type
                         : TOKEN_END;
    bool unquoted = next == TOKEN_WORD && parser->body == BODY_FILE;
    if (next != TOKEN_TEXT && next != TOKEN_RAW_TEXT && !unquoted)
        return true;
    parser_advance(parser);
    if (unquoted) {
        Span words;
        MessageArg line = parser_line_quoted(parser, &words);
        parser_report(parser, MSG_SAY_QUOTES, words, ARGS(line));
        return false;
    }
    *why = parse_text(parser);
    return *why != NULL;
}

Statement *parse_expect(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    parser_advance(parser);
    if (parser_accept(parser, TOKEN_ERROR))
        type = STATEMENT_EXPECT_ERROR;
    Node *why = NULL, *condition = parse_expression(parser);
    uint32_t end = parser->previous.span.end;
    if (!condition || !parse_why(parser, &why))
        return NULL;
    Statement *statement = parser_statement(parser, type, start);
    statement->span.end = end; /* the check itself: its own words are said beside it */
    statement->as.expect.condition = condition;
    statement->as.expect.why = why;
    return statement;
}

Statement *parse_event(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    parser_advance(parser);
    Node *date = parse_expression(parser);
    if (!date || !parser_expect(parser, TOKEN_COMMA, MSG_EVENT_COMMA))
        return NULL;
    Node *text = parse_expression(parser);
    if (!text)
        return NULL;
    Statement *statement = parser_statement(parser, type, start);
    statement->as.event.date = date;
    statement->as.event.text = text;
    return statement;
}

/* `column dose = d`, `column "dose": d`: shows the line with a label and its =. */
static void report_column_head(Parser *parser, MessageId id, Span head, const char *label) {
    Text instead = {0};
    text_add_string(&instead, *label == '"' ? "" : "\"");
    text_add_string(&instead, label);
    text_add_string(&instead, *label == '"' ? " =" : "\" =");
    MessageArg line = parser_line_surely(parser, head, text_string(&instead));
    text_free(&instead);
    Diag *diag = parser_report(parser, id, head, NO_ARGS);
    if (diag)
        diag_hint(diag, HINT_WRITE, ARGS(line));
    else
        args_free(ARGS(line));
}

/* The label and its =; NULL after an error. */
static Node *parse_column_label(Parser *parser) {
    Node *label = parse_text(parser);
    if (!label)
        return NULL;
    if (parser->token.type == TOKEN_COLON) {
        report_column_head(parser, MSG_COLUMN_EQUAL, span_join(label->span, parser->token.span),
                           parser_source(parser, label->span));
        return NULL;
    }
    return parser_expect(parser, TOKEN_ASSIGN, MSG_COLUMN_EQUAL) ? label : NULL;
}

/* Without a label, the expression is its own, as in `show`. */
static Node *label_of(Parser *parser, const Node *expr) {
    TextPart *part = arena_alloc(parser->arena, sizeof *part);
    Text source = {0};
    lex_copy_source(&parser->lexer, expr->span, &source);
    *part = (TextPart){.literal = arena_copy(parser->arena, text_string(&source), source.length),
                       .length = source.length};
    text_free(&source);
    Node *label = parser_node(parser, NODE_TEXT, expr->span.start);
    label->as.text.parts = part;
    label->as.text.count = 1;
    return parser_measured(label);
}

Statement *parse_column(Parser *parser, StatementType type) {
    uint32_t start = parser->token.span.start;
    parser_advance(parser);
    bool labelled = parser->token.type == TOKEN_TEXT || parser->token.type == TOKEN_RAW_TEXT;
    Node *label = labelled ? parse_column_label(parser) : NULL;
    if (labelled && !label)
        return NULL;
    Node *expr = parse_expression(parser);
    FormatSpec format;
    bool headed = parser->token.type == TOKEN_ASSIGN || parser->token.type == TOKEN_COLON;
    if (expr && !label && expr->type == NODE_NAME && headed) {
        report_column_head(parser, MSG_COLUMN_LABEL, span_join(expr->span, parser->token.span),
                           expr->as.name.name);
        return NULL;
    }
    if (!expr || !parse_format(parser, &format))
        return NULL;
    Statement *statement = parser_statement(parser, type, start);
    statement->as.column.label = label ? label : label_of(parser, expr);
    statement->as.column.expr = expr;
    statement->as.column.format = format;
    return statement;
}

Statement *parse_word_alone(Parser *parser, StatementType type) {
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
    unknown->from = parse_range_start(parser);
    if (!unknown->from || !parser_expect(parser, TOKEN_TO, MSG_RANGE_TO))
        return false;
    unknown->to = parse_expression(parser);
    if (!unknown->to)
        return false;
    unknown->whole = parser_accept(parser, TOKEN_WHOLE);
    parser_declare(parser, unknown->name);
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

bool parse_find_tree(Parser *parser, FindTree *find) {
    int unknowns = 0, conditions = 0;
    Unknown unknown;
    parser_advance(parser);
    do {
        if (!parse_unknown(parser, &unknown))
            return false;
        PARSER_PUSH(parser, find->unknowns, find->unknown_count, unknowns, unknown);
    } while (parser_accept(parser, TOKEN_COMMA));
    find->direction = parse_direction(parser); /* a goal alone will do */
    if (find->direction != 0)
        return (find->goal = parse_expression(parser)) != NULL;
    if (!parser_expect(parser, TOKEN_SO, MSG_FIND_SO))
        return false;
    do {
        Node *condition = parse_condition(parser);
        if (!condition)
            return false;
        PARSER_PUSH(parser, find->conditions, find->condition_count, conditions, condition);
    } while (parser_accept(parser, TOKEN_COMMA));
    find->direction = parse_direction(parser);
    return find->direction == 0 || (find->goal = parse_expression(parser)) != NULL;
}

Statement *parse_find(Parser *parser, StatementType type) {
    Statement *statement = parser_statement(parser, type, parser->token.span.start);
    if (!parse_find_tree(parser, &statement->as.find))
        return NULL;
    statement->span.end = parser->previous.span.end;
    return statement;
}

/* ---- unit, use ---- */

Statement *parse_unit_statement(Parser *parser, StatementType type) {
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
        is_money = strcmp(word, word_at(WORD_MONEY)->text) == 0;
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
    Statement *statement = parser_statement(parser, type, start);
    statement->doc = parse_doc(parser, start, parser->previous.span.end);
    statement->as.unit.name = name;
    statement->as.unit.name_span = span;
    statement->as.unit.value = value;
    statement->as.unit.is_money = is_money;
    return statement;
}

Statement *parse_use(Parser *parser, StatementType type) {
    Statement *statement = parser_statement(parser, type, parser->token.span.start);
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

/* Words of other habits, and what is written here instead. */
static const char *const foreign_words[][2] = {
    {"elseif", "else if"},   {"elif", "else if"}, {"set", "let"},       {"var", "let"},
    {"function", "formula"}, {"def", "formula"},  {"fn", "formula"},    {"func", "formula"},
    {"return", "give"},      {"import", "use"},   {"assert", "expect"}, {"convert", "show"},
    {"calculate", "show"},   {"compute", "show"}, {"display", "show"},
};

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
        return true;
    case TOKEN_LEFT_SQUARE:
        return !touches_word;
    case TOKEN_MINUS:
        return !touches_word && after != ' ' && after != '\t';
    default:
        return word_token_has(next->type, TRAIT_VALUE);
    }
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
    int distance = 99;
    if (nearest) {
        parser_report_next(parser, MSG_FOREIGN_WORD,
                           ARGS(word, parser_line_surely(parser, parser->token.span, nearest)));
        return true;
    }
    bool value = next->type == TOKEN_TEXT || next->type == TOKEN_RAW_TEXT || next->type == TOKEN_NUMBER;
    if (!value && !nearest && next->type != TOKEN_WORD)
        return false;
    if (next->type == TOKEN_WORD && parse_is_unit_name(parser, parser_source(parser, next->span)))
        return false;
    const Word *row;
    for (int i = 0; (row = word_at(i)); i++)
        if (row->opens != NO_STATEMENT || row->token == TOKEN_END_WORD)
            text_nearest(word, row->text, &nearest, &distance);
    if (nearest)
        parser_report_next(parser, MSG_STATEMENT_WORD_NEAR, ARGS(word, arg_meant(word, nearest)));
    else if (value && next->type != TOKEN_NUMBER)
        parser_report_next(parser, MSG_STATEMENT_WORD, ARGS(word));
    return parser->failed;
}

Statement *parse_expression_statement(Parser *parser, StatementType type) {
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
    Statement *statement = parser_statement(parser, type, start);
    statement->as.simple.expr = expr;
    return statement;
}

/* ---- all of them ---- */

typedef Statement *ParseStatement(Parser *parser, StatementType type);
static ParseStatement *const parsers[] = {
#define STATEMENT(type, allowed, parse, ...) [STATEMENT_##type] = parse,
#include "front/language.def"
};

static Statement *parse_from_name(Parser *parser) {
    Token next = look_ahead(parser);
    if (next.type == TOKEN_ASSIGN)
        return parse_assign(parser, STATEMENT_ASSIGN);
    char *name = parser_token_text(parser, &parser->token);
    const Word *word = word_find(name, strlen(name));
    if (word && word->opens != NO_STATEMENT && begins_value(parser, &next))
        return parsers[word->opens](parser, word->opens);
    if (report_mistyped(parser, name, &next))
        return NULL;
    return parse_expression_statement(parser, STATEMENT_EXPRESSION);
}

static Statement *parse_any(Parser *parser) {
    if (parser->token.type == TOKEN_WORD)
        return parse_from_name(parser);
    const Word *word = word_of_token(parser->token.type);
    StatementType type = word && word->opens != NO_STATEMENT ? word->opens : STATEMENT_EXPRESSION;
    return parsers[type](parser, type);
}

/* Where a statement may not be it is still read whole, so that its `end` is not a second mistake. */
static MessageId find_misplaced(const Parser *parser, StatementType type) {
    BodyKind body = parser->body;
    Allowed allowed = statement_allowed(type);
    bool table = body == BODY_TABLE || body == BODY_IN_TABLE;
    if (allowed == ALLOWED_TABLE)
        return body == BODY_TABLE ? MSG_NONE : MSG_COLUMN_PLACE;
    if (table && allowed != ALLOWED_ANYWHERE) /* whether rows can be left out the checker knows */
        return MSG_TABLE_HOLDS;
    /* after an error a block may seem to continue too long */
    return allowed == ALLOWED_TOP && body != BODY_FILE && !parser_has_errors(parser) ? MSG_TOP_ONLY
                                                                                     : MSG_NONE;
}

static bool ends_statement(TokenType type) {
    return type == TOKEN_NEWLINE || type == TOKEN_SEMICOLON || type == TOKEN_END || type == TOKEN_END_WORD ||
           type == TOKEN_ELSE;
}

/* `by = 5`: a keyword where a name is given a value. */
static bool report_keyword_assigned(Parser *parser) {
    if (!lex_is_keyword(parser->token.type) || look_ahead(parser).type != TOKEN_ASSIGN)
        return false;
    parser_report_reserved(parser, parser_was_reserved(parser) ? "" : "let ");
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
        parser_lose_units(parser, &first);
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
    if (misplaced == MSG_TABLE_HOLDS && statement->type == STATEMENT_EXPRESSION)
        parser_report(
            parser, MSG_TABLE_EXPRESSION, statement->span,
            ARGS(parser_line_surely(parser, (Span){first.span.start, first.span.start}, "column ")));
    else
        parser_report(parser, misplaced, first.span, ARGS(parser_source(parser, first.span)));
    parser->failed = false;
    return NULL;
}
