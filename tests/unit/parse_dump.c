/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A parsed tree as one line of s-expressions, so that tests can compare it as text: the word of a node or
 * statement, then its parts as front/language.def lists them. What was left out leaves nothing behind. */
#include "parse_dump.h"

#include <string.h>

#include "front/tree.h"
#include "numbers/format.h"

static const char *const operator_names[] = {
    [OPERATOR_NEGATE] = "neg",       [OPERATOR_NOT] = "not",       [OPERATOR_OR] = "or",
    [OPERATOR_AND] = "and",          [OPERATOR_EQUAL] = "==",      [OPERATOR_NOT_EQUAL] = "!=",
    [OPERATOR_LESS] = "<",           [OPERATOR_LESS_EQUAL] = "<=", [OPERATOR_GREATER] = ">",
    [OPERATOR_GREATER_EQUAL] = ">=", [OPERATOR_ADD] = "+",         [OPERATOR_SUBTRACT] = "-",
    [OPERATOR_MULTIPLY] = "*",       [OPERATOR_DIVIDE] = "/",      [OPERATOR_OF] = "of",
    [OPERATOR_MODULO] = "mod",       [OPERATOR_POWER] = "^",
};

/* Nodes that begin with a word of their own; an operator has its name instead. */
static const char *const node_names[] = {
    [NODE_TEXT] = "text",
    [NODE_ATTACH] = "attach",
    [NODE_PLUS_MINUS] = "±",
    [NODE_LIST] = "list",
    [NODE_COMPREHENSION] = "each",
    [NODE_RECORD] = "record",
    [NODE_CALL] = "call",
    [NODE_INDEX] = "index",
    [NODE_FIELD] = "field",
    [NODE_NEAR] = "near",
    [NODE_AS] = "as",
    [NODE_WITH] = "with",
    [NODE_IF] = "if",
    [NODE_FIND] = "find",
};

static void add_parts(Text *out, const void *owner, const Part *parts);
static void add_block(Text *out, const Block *block);

/* A blank, unless something was just opened. */
static void add_gap(Text *out) {
    char last = out->length ? out->bytes[out->length - 1] : '(';
    if (!strchr("({.", last))
        text_add_char(out, ' ');
}

static void add_word(Text *out, const char *word) {
    add_gap(out);
    text_add_string(out, word);
}

static void add_quoted(Text *out, const char *bytes) {
    add_gap(out);
    text_add_char(out, '"');
    for (; *bytes; bytes++) {
        if (strchr("\"\\", *bytes))
            text_add_char(out, '\\');
        if (*bytes == '\n')
            text_add_string(out, "\\n");
        else if (*bytes == '\t')
            text_add_string(out, "\\t");
        else
            text_add_char(out, *bytes);
    }
    text_add_char(out, '"');
}

static void add_format(Text *out, FormatSpec format) {
    if (format.mode == FORMAT_DEFAULT)
        return;
    add_word(out, word_at(format.mode == FORMAT_PLACES ? WORD_PLACES : WORD_DIGITS)->text);
    text_add_char(out, ' ');
    text_add_integer(out, format.count);
}

/* ` g/L` as `g*L^-1` */
static void add_unit(Text *out, const UnitExpr *unit) {
    for (int i = 0; i < unit->count; i++) {
        const UnitTerm *term = &unit->terms[i];
        text_add_char(out, i == 0 ? ' ' : '*');
        if (term->qualifier) {
            text_add_string(out, term->qualifier);
            text_add_char(out, '.');
        }
        text_add_string(out, term->name);
        if (term->exponent == 1)
            continue;
        text_add_char(out, '^');
        text_add_integer(out, term->exponent);
    }
}

static void add_leaf(Text *out, const Node *node) {
    if (node->type == NODE_NUMBER) {
        format_shortest(out, node->as.number);
    } else if (node->type == NODE_DATE) {
        text_add_string(out, "(date ");
        text_add_integer(out, (long long)node->as.number);
        text_add_char(out, ')');
    } else if (node->type == NODE_TRUTH) {
        text_add_string(out, node->as.truth ? "true" : "false");
    } else if (node->type == NODE_NAME) {
        text_add_string(out, node->as.name.name);
    } else {
        text_add_string(out, "none");
    }
}

static void add_node(Text *out, const Node *node) {
    const char *name = node->type == NODE_UNARY    ? operator_names[node->as.unary.op]
                       : node->type == NODE_BINARY ? operator_names[node->as.binary.op]
                                                   : node_names[node->type];
    add_gap(out);
    if (!name) {
        add_leaf(out, node);
        return;
    }
    text_add_char(out, '(');
    text_add_string(out, name);
    add_parts(out, node, tree_node_parts(node->type));
    text_add_char(out, ')');
}

/* ---- parts ---- */

/* Structures with a name of their own stand in brackets, others side by side. */
static void add_items(Text *out, const void *owner, const Part *list) {
    const char *items;
    int count;
    memcpy(&items, (const char *)owner + list->at, sizeof items);
    memcpy(&count, (const char *)owner + list->count_at, sizeof count);
    PartKind first = list->of[0].kind, second = list->of[1].kind;
    bool parameters = first == PART_NAME && second == PART_NAME;
    bool bare = first != PART_NAME && second != PART_TEXT;
    if (parameters)
        text_add_string(out, " (");
    for (int i = 0; i < count; i++) {
        if (!bare) {
            add_gap(out);
            text_add_char(out, '(');
        }
        add_parts(out, items + (size_t)i * list->size, list->of);
        if (!bare)
            text_add_char(out, ')');
    }
    if (parameters)
        text_add_char(out, ')');
}

static void add_pointer(Text *out, const Part *part, const void *pointer) {
    const KindExpr *kind = pointer;
    if (part->kind == PART_NODE) {
        add_node(out, pointer);
    } else if (part->kind == PART_UNIT) {
        add_unit(out, pointer);
    } else if (part->kind == PART_TEXT) {
        add_quoted(out, pointer);
    } else if (part->kind == PART_KIND) {
        add_word(out, "is");
        if (kind->word)
            add_word(out, kind->word);
        else
            add_unit(out, kind->unit);
    } else {
        add_word(out, pointer);
        if (part->kind != PART_NAME)
            text_add_char(out, part->kind == PART_LABEL ? ':' : '.');
    }
}

static void add_part(Text *out, const Part *part, const void *at) {
    const void *pointer;
    switch (part->kind) {
    case PART_FORMAT:
        add_format(out, *(const FormatSpec *)at);
        return;
    case PART_FLAG:
        if (*(const bool *)at)
            add_word(out, word_at((int)part->word)->text);
        return;
    case PART_DIRECTION:
        if (*(const int *)at != 0)
            add_word(out, word_at(*(const int *)at < 0 ? WORD_LEAST : WORD_MOST)->text);
        return;
    case PART_BLOCK:
        add_block(out, at);
        return;
    case PART_TURNS:
        add_parts(out, at, part->of);
        return;
    default:
        memcpy(&pointer, at, sizeof pointer);
        if (pointer)
            add_pointer(out, part, pointer);
    }
}

static void add_part_of(Text *out, const void *owner, const Part *part) {
    if (part->kind == PART_LIST)
        add_items(out, owner, part);
    else
        add_part(out, part, (const char *)owner + part->at);
}

static void add_parts(Text *out, const void *owner, const Part *parts) {
    for (const Part *part = parts; part->kind != PART_END; part++)
        add_part_of(out, owner, part);
}

/* ---- statements ---- */

/* Bodies that are not there: of a formula that is one expression, of an `if` without `else`. */
static bool lacks_block(const Statement *statement) {
    return (statement->type == STATEMENT_FORMULA && statement->as.formula.expr) ||
           (statement->type == STATEMENT_IF && !statement->as.choice.has_otherwise);
}

static void add_statement(Text *out, const Statement *statement) {
    const char *word = word_of_statement(statement->type);
    const Part *part = tree_statement_parts(statement->type);
    if (!word)
        word = statement->type == STATEMENT_ASSIGN       ? "set"
               : statement->type == STATEMENT_EXPRESSION ? "value"
                                                         : "expect-error";
    add_gap(out);
    text_add_char(out, '(');
    text_add_string(out, word);
    for (; part->kind != PART_END; part++)
        if (part->kind != PART_BLOCK || !lacks_block(statement))
            add_part_of(out, statement, part);
    if (statement->doc) {
        add_word(out, "doc");
        add_quoted(out, statement->doc);
    }
    text_add_char(out, ')');
}

static void add_block(Text *out, const Block *block) {
    text_add_string(out, " {");
    for (int i = 0; i < block->count; i++)
        add_statement(out, block->items[i]);
    text_add_char(out, '}');
}

void parse_dump(Text *out, const Program *program) {
    for (int i = 0; i < program->block.count; i++)
        add_statement(out, program->block.items[i]);
}
