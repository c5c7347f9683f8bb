/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statements that hold others, up to their `end`: if, for, while, table, formula. After a mistake in a header
 * the body is read all the same, so that its `end` finds its beginning. */
#include "front/parse_state.h"

#include <string.h>

/* ---- bodies ---- */

/* `end` or `else` that belongs to nothing. After an error it may well be its consequence. */
static void skip_stray(Parser *parser) {
    bool end = parser->token.type == TOKEN_END_WORD;
    if (!parser_has_errors(parser))
        parser_report_next(parser, end ? MSG_END_STRAY : MSG_ELSE_STRAY, NO_ARGS);
    parser->failed = false;
    parser_advance(parser);
}

static void declare(Parser *parser, const Statement *statement) {
    const ParseHost *host = parser->host;
    bool unit = statement->type == STATEMENT_UNIT;
    if ((!unit && statement->type != STATEMENT_USE) || !host || !host->declared)
        return;
    bool lost = parser_uses_lost_unit(parser, statement);
    if (!lost && host->declared(host->context, statement, parser->errors))
        return;
    if (unit)
        parser_lose_unit(parser, statement->as.unit.name);
    else
        parser->units_uncertain = true;
}

static void give_up(Parser *parser) {
    parser->lexer.at = parser->lexer.length;
    parser->token = lex_next(&parser->lexer);
}

void parse_body(Parser *parser, Block *block, BodyKind kind, bool before_else) {
    BodyKind outer = parser->body;
    int capacity = block->count, names = parser->names.count;
    parser->body = kind;
    for (;;) {
        TokenType type = parser->token.type;
        if (lex_is_full(&parser->lexer) && type != TOKEN_END) {
            give_up(parser);
        } else if (type == TOKEN_NEWLINE || type == TOKEN_SEMICOLON) {
            parser_advance(parser);
        } else if (type == TOKEN_END || (type == TOKEN_END_WORD && kind != BODY_FILE) ||
                   (type == TOKEN_ELSE && before_else)) {
            break;
        } else if (type == TOKEN_END_WORD || type == TOKEN_ELSE) {
            skip_stray(parser);
        } else {
            Statement *statement = parse_statement(parser);
            if (statement) {
                PARSER_PUSH(parser, block->items, block->count, capacity, statement);
                declare(parser, statement);
            } else if (parser->failed) {
                parser_skip_statement(parser);
            }
        }
    }
    parser->body = outer;
    parser_forget_names(parser, names);
}

/* The `end` of a block that `opener` began. */
static bool parse_end(Parser *parser, const Token *opener) {
    if (parser_accept(parser, TOKEN_END_WORD))
        return true;
    if (!parser_has_errors(parser)) {
        parser->unfinished = true;
        parser_report(parser, MSG_BLOCK_OPEN, opener->span, ARGS(parser_source(parser, opener->span)));
        parser->failed = false;
    }
    return false;
}

/* The body of a table may hold `if`, and that no more than the table itself. */
static BodyKind inner_body(const Parser *parser) {
    return parser->body == BODY_TABLE || parser->body == BODY_IN_TABLE ? BODY_IN_TABLE : BODY_PLAIN;
}

/* The body and `end` after a header; `good` says whether the header was. */
static bool parse_rest(Parser *parser, const Token *opener, Block *body, BodyKind kind, bool good) {
    parse_body(parser, body, kind, false);
    return parse_end(parser, opener) && good;
}

static Statement *finish(Parser *parser, Statement *statement, bool good) {
    statement->span.end = parser->previous.span.end;
    return good ? statement : NULL;
}

/* ---- if ---- */

/* `if c then` or the same after `else`, and its body. */
static bool parse_branch(Parser *parser, Statement *statement, int *capacity) {
    parser_advance(parser);
    Branch branch = {.condition = parse_expression(parser)};
    bool good = branch.condition && parser_expect(parser, TOKEN_THEN, MSG_IF_THEN);
    if (!good)
        parser_skip_header(parser, TOKEN_THEN);
    parse_body(parser, &branch.block, inner_body(parser), true);
    PARSER_PUSH(parser, statement->as.choice.branches, statement->as.choice.count, *capacity, branch);
    return good;
}

Statement *parse_if_statement(Parser *parser, StatementType type) {
    Token opener = parser->token;
    Statement *statement = parser_statement(parser, type, opener.span.start);
    int capacity = 0;
    bool good = parse_branch(parser, statement, &capacity);
    while (parser_accept(parser, TOKEN_ELSE)) {
        /* `else if` on one line continues with the same `if`; on a new line an `if` of its own begins */
        if (parser->token.type == TOKEN_IF && !parser->token.after_newline) {
            good = parse_branch(parser, statement, &capacity) && good;
            continue;
        }
        statement->as.choice.has_otherwise = true;
        parse_body(parser, &statement->as.choice.otherwise, inner_body(parser), false);
        break;
    }
    good = parse_end(parser, &opener) && good;
    return finish(parser, statement, good);
}

/* ---- loops ---- */

/* `from a to b`, `by c` if it is there. */
static bool parse_range(Parser *parser, TurnsExpr *turns) {
    parser_advance(parser);
    turns->from = parse_range_start(parser);
    if (!turns->from || !parser_expect(parser, TOKEN_TO, MSG_RANGE_TO))
        return false;
    turns->to = parse_expression(parser);
    if (!turns->to)
        return false;
    if (!parser_accept(parser, TOKEN_BY))
        return true;
    turns->by = parse_expression(parser);
    return turns->by && !parser_report_reading_step(parser, turns->by);
}

/* `for i in 1..10` */
static bool report_dots(Parser *parser) {
    const char *text = parser->lexer.text;
    uint32_t dots = parser->token.span.end, end = dots + 2;
    if (parser->token.type != TOKEN_NUMBER || strncmp(text + dots, "..", 2) != 0)
        return false;
    end += (uint32_t)strspn(text + end, "0123456789");
    Text range = {0};
    text_add_string(&range, "from ");
    text_add_string(&range, parser_token_text(parser, &parser->token));
    text_add_string(&range, " to ");
    text_add_string(&range, parser_source(parser, (Span){dots + 2, end}));
    Span in = parser->previous.span;
    MessageArg line = parser_line_surely(parser, (Span){in.start, end}, text_string(&range));
    text_free(&range);
    parser_report(parser, MSG_RANGE_DOTS, (Span){parser->token.span.start, end}, ARGS(line));
    return true;
}

/* Is there a `to` further on in the line? */
static bool goes_to(const Parser *parser) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    Token next;
    do
        next = lex_next(&ahead);
    while (next.type != TOKEN_TO && next.type != TOKEN_NEWLINE && next.type != TOKEN_END &&
           next.type != TOKEN_TEXT && next.type != TOKEN_DO && next.type != TOKEN_SEMICOLON);
    return next.type == TOKEN_TO;
}

/* `for n in 1 to 3`, `for n = 1 to 3`: shows it with `from`, and what is no range with `in`. Returns false.
 */
static bool report_from_to(Parser *parser, Span sign, bool range) {
    const char *word = range ? "from" : "in";
    parser_report(parser, range ? MSG_RANGE_DOTS : MSG_TURNS_IN, sign,
                  ARGS(parser_line_surely(parser, sign, word)));
    return false;
}

static bool parse_values_of_turns(Parser *parser, TurnsExpr *turns, MessageId missing) {
    if (parser_accept(parser, TOKEN_COMMA) &&
        !(turns->second = parse_name(parser, &turns->second_span, MSG_FOR_SECOND)))
        return false;
    if (turns->second && !parser_expect(parser, TOKEN_IN, MSG_FOR_IN_LIST))
        return false;
    Span in = parser->token.span;
    if (turns->second || parser_accept(parser, TOKEN_IN)) {
        if (report_dots(parser) || !(turns->list = parse_expression(parser)))
            return false;
        return turns->second || parser->token.type != TOKEN_TO || report_from_to(parser, in, true);
    }
    if (parser->token.type == TOKEN_ASSIGN)
        return report_from_to(parser, in, goes_to(parser));
    if (parser->token.type == TOKEN_FROM)
        return parse_range(parser, turns);
    parser_report_next(parser, missing, ARGS(turns->name));
    return false;
}

/* What `for` and `table` share: a name and a list or a range, after the word or comma that opens them. The
 * caller forgets the name again. */
static bool parse_turns(Parser *parser, TurnsExpr *turns, MessageId missing) {
    parser_advance(parser);
    turns->name = parse_name(parser, &turns->name_span, MSG_FOR_NAME);
    if (!turns->name)
        return false;
    bool good = parse_values_of_turns(parser, turns, missing);
    parser_declare(parser, turns->name);
    if (turns->second)
        parser_declare(parser, turns->second);
    return good;
}

/* A header that ends without `do` is shown with it. */
static bool expect_do(Parser *parser) {
    Span end = {parser->previous.span.end, parser->previous.span.end};
    bool bare = parser->token.type == TOKEN_NEWLINE || parser->token.type == TOKEN_END;
    return bare ? parser_expect_in_line(parser, TOKEN_DO, MSG_LOOP_DO, end, " do")
                : parser_expect(parser, TOKEN_DO, MSG_LOOP_DO);
}

Statement *parse_for(Parser *parser, StatementType type) {
    Token opener = parser->token;
    Statement *statement = parser_statement(parser, type, opener.span.start);
    int names = parser->names.count;
    bool good = parse_turns(parser, &statement->as.for_.turns, MSG_FOR_FORM) && expect_do(parser);
    if (!good)
        parser_skip_header(parser, TOKEN_DO);
    good = parse_rest(parser, &opener, &statement->as.for_.body, BODY_PLAIN, good);
    parser_forget_names(parser, names);
    return finish(parser, statement, good);
}

Statement *parse_while(Parser *parser, StatementType type) {
    Token opener = parser->token;
    Statement *statement = parser_statement(parser, type, opener.span.start);
    parser_advance(parser);
    statement->as.while_.condition = parse_expression(parser);
    bool good = statement->as.while_.condition && expect_do(parser);
    if (!good)
        parser_skip_header(parser, TOKEN_DO);
    good = parse_rest(parser, &opener, &statement->as.while_.body, BODY_PLAIN, good);
    return finish(parser, statement, good);
}

static TokenType look_ahead_type(const Parser *parser) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    return lex_next(&ahead).type;
}

/* `table d from 0 mL to 10 mL by 5 mL: d, 2 * d`, at the colon: shows it with its columns. */
static bool report_columns(Parser *parser) {
    Token colon = parser->token;
    Text columns = {0};
    if (look_ahead_type(parser) == TOKEN_NEWLINE)
        return false;
    do {
        parser_advance(parser);
        Node *expr = parse_expression(parser);
        if (!expr)
            break;
        text_add_string(&columns, "; column ");
        text_add_string(&columns, parser_source(parser, expr->span));
    } while (parser->token.type == TOKEN_COMMA);
    text_add_string(&columns, "; end");
    bool whole = parser->token.type == TOKEN_NEWLINE || parser->token.type == TOKEN_END;
    Span rest = {colon.span.start, parser->token.span.start};
    if (whole)
        parser_report(parser, MSG_TABLE_COLON, colon.span,
                      ARGS(parser_line_surely(parser, rest, text_string(&columns))));
    text_free(&columns);
    return whole;
}

Statement *parse_table(Parser *parser, StatementType type) {
    Token opener = parser->token;
    Statement *statement = parser_statement(parser, type, opener.span.start);
    statement->as.table.is_plot = opener.type != TOKEN_TABLE;
    int names = parser->names.count;
    bool good = parse_turns(parser, &statement->as.table.turns, MSG_TABLE_FORM);
    if (good && parser->token.type == TOKEN_COMMA)
        good = parse_turns(parser, &statement->as.table.across, MSG_TABLE_FORM);
    if (good && parser->token.type == TOKEN_COLON && report_columns(parser)) {
        parser_forget_names(parser, names);
        return NULL; /* no body follows */
    }
    bool opened = good && parser_accept(parser, TOKEN_DO); /* as loops have it */
    TokenType next = parser->token.type;
    if (good && !opened && next != TOKEN_NEWLINE && next != TOKEN_SEMICOLON && next != TOKEN_END) {
        parser_report_extra(parser);
        good = false;
    }
    if (!good)
        parser_skip_header(parser, TOKEN_END);
    good = parse_rest(parser, &opener, &statement->as.table.body, BODY_TABLE, good);
    parser_forget_names(parser, names);
    return finish(parser, statement, good);
}

/* ---- formulas ---- */

/* Does a `)` follow on this line? If not, that is what is missing. */
static bool closes_on_line(const Parser *parser) {
    const char *rest = parser->lexer.text + parser->lexer.at;
    return rest[strcspn(rest, ")\n")] == ')';
}

/* `[label] name [is KIND] [: default]` */
static bool parse_parameter(Parser *parser, Parameter *parameter) {
    *parameter = (Parameter){.span = parser->token.span};
    if (!parser_at_word(parser)) {
        parser_report_next(parser, MSG_PARAMETER_NAME, NO_ARGS);
        return false;
    }
    Token first = parser->token;
    parameter->label = parameter->name = parser_token_text(parser, &parser->token);
    parser_advance(parser);
    if (parser->token.type == TOKEN_WORD) {
        parameter->name = parser_token_text(parser, &parser->token);
        parameter->span = span_join(parameter->span, parser->token.span);
        parser_advance(parser);
    } else if (lex_is_keyword(first.type)) {
        parser_report_label_alone(parser, &first);
        return false;
    }
    if (parser_accept(parser, TOKEN_IS) && !(parameter->kind = parse_kind(parser)))
        return false;
    if (parser->token.type == TOKEN_ASSIGN && closes_on_line(parser)) {
        parser_report_next(parser, MSG_PARAMETER_EQUAL, ARGS(parameter->name));
        return false;
    }
    return !parser_accept(parser, TOKEN_COLON) || (parameter->initial = parse_expression(parser)) != NULL;
}

static bool parse_parameters(Parser *parser, FormulaTree *formula) {
    int capacity = 0;
    while (parser->token.type != TOKEN_RIGHT_ROUND && parser->token.type != TOKEN_END) {
        Parameter parameter;
        if (!parse_parameter(parser, &parameter))
            return false;
        parser_declare(parser, parameter.name);
        PARSER_PUSH(parser, formula->params, formula->param_count, capacity, parameter);
        while (parser_in_library(parser) && parser_accept(parser, TOKEN_DOT)) /* `values...` */
            formula->variadic = true;
        if (!parser_accept(parser, TOKEN_COMMA))
            break;
    }
    return true;
}

/* ---- formulas written in C, in the library only ---- */

static bool at_word(Parser *parser, const char *word) {
    return parser_in_library(parser) && parser->token.type == TOKEN_WORD &&
           strcmp(parser_token_text(parser, &parser->token), word) == 0;
}

/* What a formula gives as its arguments have it: `like x`, `root of x`, `list of x and y`. True when there is
 * such a rule. */
static bool parse_result_rule(Parser *parser, FormulaTree *formula) {
    bool like = at_word(parser, "like"), root = at_word(parser, "root");
    bool list = at_word(parser, "list") && strncmp(parser->lexer.text + parser->lexer.at, " of ", 4) == 0;
    Span span;
    if (!like && !root && !list)
        return false;
    formula->result_rule = parser_token_text(parser, &parser->token);
    parser_advance(parser);
    if (like || parser_expect(parser, TOKEN_OF, MSG_KIND_WANTED))
        formula->result_of[0] = parse_name(parser, &span, MSG_KIND_WANTED);
    if (formula->result_of[0] && parser_accept(parser, TOKEN_AND))
        formula->result_of[1] = parse_name(parser, &span, MSG_KIND_WANTED);
    return true;
}

/* `is KIND`, if it is there. */
static bool parse_result(Parser *parser, FormulaTree *formula) {
    if (!parser_accept(parser, TOKEN_IS))
        return true;
    if (parse_result_rule(parser, formula))
        return !parser->failed;
    formula->result = parse_kind(parser);
    return formula->result != NULL;
}

/* `native NAME`, the function in C. */
static bool parse_native(Parser *parser, FormulaTree *formula) {
    parser_advance(parser);
    formula->native = parse_name(parser, &formula->native_span, MSG_FORMULA_NAME);
    return formula->native != NULL;
}

/* `f(a, b) is KIND`, up to `=` or the end of the line. */
static bool parse_formula_head(Parser *parser, FormulaTree *formula) {
    parser_advance(parser);
    formula->name = parse_name(parser, &formula->name_span, MSG_FORMULA_NAME);
    if (!formula->name)
        return false;
    if (parser->token.type != TOKEN_LEFT_ROUND) {
        parser_report_next(parser, MSG_FORMULA_BRACKETS, ARGS(formula->name));
        return false;
    }
    Span opened = parser->token.span;
    parser_open(parser);
    if (!parse_parameters(parser, formula))
        return false;
    if (parser->token.type == TOKEN_ASSIGN) {
        parser_report(parser, MSG_BRACKET_OPEN, opened, ARGS("(", ")"));
        return false;
    }
    if (!parser_close(parser, TOKEN_RIGHT_ROUND, opened))
        return false;
    if (!parse_result(parser, formula))
        return false;
    TokenType next = parser->token.type;
    if (next == TOKEN_ASSIGN || next == TOKEN_NEWLINE || next == TOKEN_SEMICOLON || next == TOKEN_END)
        return true;
    parser_report_next(parser, MSG_FORMULA_BODY, ARGS(formula->name));
    return false;
}

/* After a bad head: past its expression, or past its block. */
static void skip_formula(Parser *parser, const Token *opener) {
    if (parser->token.type == TOKEN_GIVE && !parser->token.after_newline) { /* all on one line */
        parser_skip_statement(parser);
        parser_accept(parser, TOKEN_END_WORD);
        return;
    }
    if (parser->token.type == TOKEN_ASSIGN)
        parser->brackets = 0; /* the closing bracket was what was missing */
    parser_skip_header(parser, TOKEN_ASSIGN);
    if (parser->previous.type == TOKEN_ASSIGN) {
        parser_skip_statement(parser);
        return;
    }
    Block dropped = {0};
    parse_rest(parser, opener, &dropped, BODY_PLAIN, false);
}

/* `formula f(x) = native f`, outside the library. */
static bool report_native(Parser *parser, const FormulaTree *formula) {
    Lexer ahead = parser->lexer;
    ahead.quiet = true;
    bool native = parser->token.type == TOKEN_WORD && !parser_in_library(parser) &&
                  strcmp(parser_token_text(parser, &parser->token), "native") == 0;
    Token name = native ? lex_next(&ahead) : (Token){.type = TOKEN_END};
    if (name.type != TOKEN_WORD || parser_is_value(parser, "native"))
        return false;
    const char *body = formula->param_count ? formula->params[0].name : "5 gal";
    parser_report_next(parser, MSG_NATIVE_PLACE,
                       ARGS(parser_line_with(parser, span_join(parser->token.span, name.span), body)));
    return true;
}

/* Head and body; `head_end` is where a remark about it may be. */
static bool parse_formula_parts(Parser *parser, FormulaTree *formula, const Token *opener,
                                uint32_t *head_end) {
    if (!parse_formula_head(parser, formula)) {
        skip_formula(parser, opener);
        return false;
    }
    *head_end = parser->previous.span.end;
    if (!parser_accept(parser, TOKEN_ASSIGN))
        return parse_rest(parser, opener, &formula->block, BODY_PLAIN, true);
    if (report_native(parser, formula))
        return false;
    bool good = at_word(parser, "native") ? parse_native(parser, formula)
                                          : (formula->expr = parse_expression(parser)) != NULL;
    *head_end = parser->previous.span.end;
    return good;
}

Statement *parse_formula(Parser *parser, StatementType type) {
    Token opener = parser->token;
    Statement *statement = parser_statement(parser, type, opener.span.start);
    int names = parser->names.count;
    uint32_t head_end = 0;
    parser->names.in_formula = true;
    bool good = parse_formula_parts(parser, &statement->as.formula, &opener, &head_end);
    parser->names.in_formula = false;
    parser_forget_names(parser, names);
    statement->doc = good ? parse_doc(parser, opener.span.start, head_end) : NULL;
    return finish(parser, statement, good);
}
