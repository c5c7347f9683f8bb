/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the parser share: parse.c (state, errors, going on after one), parse_unit.c,
 * parse_expr.c, parse_primary.c, parse_statement.c, parse_block.c, parse_slips.c.
 *
 * A function that meets an error reports it, sets `failed` and returns NULL (or false); its callers return at
 * once. The statement loop then skips to the next statement and continues. While `failed` is set nothing more
 * is reported. */
#ifndef RUNDLET_PARSE_STATE_H
#define RUNDLET_PARSE_STATE_H

#include "front/lex.h"
#include "front/parse.h"
#include "front/word.h"
#include "values/name_map.h"

enum {
    PARSE_NESTING =
        400, /* of expressions (a bracket counts two) and blocks: bounds the parser's own recursion */
    PARSE_HEIGHT = 2000 /* levels of a tree: bounds the recursion of whoever walks it */
};

/* Where a statement is: decides what may be there. */
typedef enum BodyKind { BODY_FILE, BODY_PLAIN, BODY_TABLE, BODY_IN_TABLE } BodyKind;

/* What the script has given values to (parse_names.c). */
typedef struct ParserNames {
    NameMap known; /* how many declarations of a name are in force */
    const char **order;
    int count, capacity;
    NameMap of_file; /* read when a formula first asks */
    bool file_is_read, in_formula;
} ParserNames;

typedef struct Parser {
    Lexer lexer;
    Token token;           /* the one to be read next */
    Token previous;        /* the last one read */
    const ParseHost *host; /* may be NULL */
    DiagList *errors;
    Arena *arena;
    int first_error;  /* errors there were before */
    int brackets;     /* open ones: inside them a newline is a space */
    int texts;        /* interpolations being parsed: in a text it is not */
    int depth;        /* of nesting, expressions and blocks together */
    int waiting_else; /* expressions `if` still without their `else` */
    BodyKind body;
    uint32_t statement_start; /* of the statement being read: skipping never stops there */
    NameMap lost_units;       /* units whose declaration failed: using them is not a mistake of its own */
    bool units_uncertain;     /* a `use` failed, and with it units that nobody can name */
    bool failed;
    bool too_deep; /* the error was nesting: do not look inside again */
    int range;     /* brackets and one more, while the `from` of a range is read: `to` belongs to it */
    ParserNames names;
    Respelling *respelled; /* what was typed in the words of every day, for the canonical line */
    int respelled_count, respelled_capacity;
    bool unfinished;
} Parser;

/* ---- parse.c ---- */

void parser_init(Parser *parser, Source *source, const ParseHost *host, DiagList *errors, Arena *arena);
/* Invalid UTF-8 or a NUL in the source: reported, false. */
bool parser_check_text(Parser *parser);
void parser_advance(Parser *parser);
bool parser_accept(Parser *parser, TokenType type);
bool parser_has_errors(const Parser *parser);
/* Does the next token touch the last one? */
bool parser_touches(const Parser *parser);
/* Open and close a bracket: the token is read, newlines inside count as spaces. */
void parser_open(Parser *parser);
bool parser_close(Parser *parser, TokenType type, Span opened);

/* An error at a span. Sets `failed`; NULL when one was reported before. */
Diag *parser_report(Parser *parser, MessageId id, Span span, MessageArg *args);
/* An error at the next token: something else should be there. At the end of the source this may mean that
 * the input is unfinished. */
Diag *parser_report_next(Parser *parser, MessageId id, MessageArg *args);
/* As parser_expect; what is missing is shown in the line, with `text` in place of a span. */
bool parser_expect_in_line(Parser *parser, TokenType type, MessageId missing, Span span, const char *text);
/* Underlines a second place. `diag` may be NULL. */
void parser_label(Diag *diag, Span span);
/* The next token cannot follow a complete value or statement: the likeliest reason. */
void parser_report_extra(Parser *parser);
/* Says `missing` at the next token, unless that token itself tells more. */
bool parser_expect(Parser *parser, TokenType type, MessageId missing);
/* The nesting goes one deeper; false after reporting that it is too deep. Always pair with parser_leave. */
bool parser_enter(Parser *parser);
void parser_leave(Parser *parser);

/* Source between two places or of a token, copied. */
char *parser_source(Parser *parser, Span span);
char *parser_token_text(Parser *parser, const Token *token);

/* After an error: on to the end of the statement, or past the header of a block up to its body. */
void parser_skip_statement(Parser *parser);
void parser_skip_header(Parser *parser, TokenType opener);

/* Room for one more in an array that lies in the arena. */
void *parser_grow(Parser *parser, void *items, int count, int *capacity, size_t size);
#define PARSER_PUSH(parser, items, count, capacity, item)                                                    \
    ((items) = parser_grow((parser), (items), (count), &(capacity), sizeof *(items)),                        \
     (items)[(count)++] = (item))

/* A name being declared or changed. `wanted` is said when no word is there. */
const char *parse_name(Parser *parser, Span *span, MessageId wanted);
/* False after reporting that what is declared, `batch-size`, is joined by `-`. */
bool parse_name_ends(Parser *parser, Span name);

/* `text` stands for a span in the canonical spelling of what is parsed. */
void parser_respell(Parser *parser, Span span, const char *text);

/* ---- parse_names.c ---- */

/* From now on the name is a value; `name` lives as long as the arena. */
void parser_declare(Parser *parser, const char *name);
/* Drops the names declared since there were `kept` of them. */
void parser_forget_names(Parser *parser, int kept);
/* Has the script, or an earlier entry of the prompt, given it a value here? */
bool parser_is_value(Parser *parser, const char *name);
/* After the `[` of a list: declares the names of the comprehension that it may be, which are after their
 * use. */
void parser_declare_ahead(Parser *parser);
void parser_free_names(Parser *parser);

/* ---- parse_slips.c ---- */

/* The line of the statement being read, without its remark, with `text` in place of a span: to be typed. */
MessageArg parser_line_with(Parser *parser, Span span, const char *text);
/* The same, where nothing else can have been meant: the prompt runs it. */
MessageArg parser_line_surely(Parser *parser, Span span, const char *text);
/* `5 gal to litrs`, at `to` or `in`: a word that is nearly a unit. */
bool parser_report_target(Parser *parser);
/* After a value there is a word that is not a unit, the token: true after reporting a slip that it gives
 * away.
 */
bool parser_report_unit_slip(Parser *parser, Span word, const char *name);
/* The token is a value right behind a text, `show "Batch" batch`: true after reporting how the two are
 * joined. */
bool parser_report_behind_text(Parser *parser);
/* The line with quotes around what stands from the token to the end of the line, which `words` becomes. */
MessageArg parser_line_quoted(Parser *parser, Span *words);
/* Behind `from` of an input: true after reporting that its choices are no list, `from "dry", "sweet"`. */
bool parser_report_bare_choices(Parser *parser);
/* The token is a reserved word where a name is declared. `before` goes in front of the name offered. */
void parser_report_reserved(Parser *parser, const char *before);
/* Is the reserved word at the token what follows a name, which is missing? `find from 0 to 5` */
bool parser_name_is_left_out(const Parser *parser);
/* Was the reserved word at the token told to be one where it was declared? */
bool parser_was_reserved(const Parser *parser);
/* A parameter that is nothing but a reserved word, read already. */
void parser_report_label_alone(Parser *parser, const Token *word);
/* True after reporting that a text begins with three quotes, which the token is. */
bool parser_report_triple_quotes(Parser *parser);
/* True after reporting that a step is a temperature, not a difference: `by 5 °F`. */
bool parser_report_reading_step(Parser *parser, const Node *by);

/* ---- parse_unit.c ---- */

bool parse_is_unit_name(Parser *parser, const char *name);
/* A statement that declares units could not be read: `first` is its first word. */
void parser_lose_units(Parser *parser, const Token *first);
void parser_lose_unit(Parser *parser, const char *name);
/* Is a unit declared by one whose own declaration failed? */
bool parser_uses_lost_unit(Parser *parser, const Statement *statement);
/* After `in` or `to`: does a unit follow, so that they convert? */
bool parse_unit_follows(const Parser *parser);
/* After a value: `g/L`, with the next token its first word. `*` and `/` continue only before a unit that is
 * not the name of a value here, unless nothing else could be (after `as` and `is`). */
UnitExpr *parse_unit(Parser *parser, bool only_a_unit);
KindExpr *parse_kind(Parser *parser);
bool parser_in_library(const Parser *parser);

/* ---- parse_expr.c ---- */

Node *parse_expression(Parser *parser);
/* What is between `from` and `to`. */
Node *parse_range_start(Parser *parser);
bool parser_at_operator(const Parser *parser); /* one that is between two values */
/* A value with unit and ±, no operators: what a literal may be. */
Node *parse_measured(Parser *parser);
/* A node whose span runs from `start` to the last token read. */
Node *parser_node(Parser *parser, NodeType type, uint32_t start);
/* The node, finished: its height is that of its parts and one. */
Node *parser_measured(Node *node);
/* The same, but NULL after an error when the tree has become too high. */
Node *parser_checked(Parser *parser, Node *node);

/* ---- parse_primary.c ---- */

/* A primary with its calls, indexes, fields and unit. `first` is a primary read already, or NULL. */
Node *parse_postfix(Parser *parser, Node *first, uint32_t start);
Node *parse_text(Parser *parser);
/* `to 2 places`, if it is there. */
bool parse_format(Parser *parser, FormatSpec *format);
bool parse_fields(Parser *parser, FieldExpr **fields, int *count);
bool parser_at_word(const Parser *parser); /* a name or a keyword */

/* ---- parse_statement.c, parse_block.c ---- */

void parse_body(Parser *parser, Block *block, BodyKind kind, bool before_else);
Statement *parse_statement(Parser *parser);
Statement *parser_statement(Parser *parser, StatementType type, uint32_t start);
/* At its first word (ASSIGN, EXPRESSION: its first token), of the type it opens. Several rows share some. */
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wredundant-decls"
#define STATEMENT(type, allowed, parse, ...) Statement *parse(Parser *parser, StatementType type);
#include "front/language.def"
#pragma GCC diagnostic pop
/* At the word `find`; false after an error. */
bool parse_find_tree(Parser *parser, FindTree *find);
/* Documentation comments above a statement and at the end of its line; NULL for none. */
const char *parse_doc(Parser *parser, uint32_t start, uint32_t header_end);

#endif
