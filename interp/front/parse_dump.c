/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A parsed tree as one line of s-expressions, so that tests can compare it as text. */
#include "front/parse.h"

#include <string.h>

#include "numbers/format.h"

static const char *const operator_names[] = {
    [OPERATOR_NEGATE] = "neg",       [OPERATOR_NOT] = "not",       [OPERATOR_OR] = "or",
    [OPERATOR_AND] = "and",          [OPERATOR_EQUAL] = "==",      [OPERATOR_NOT_EQUAL] = "!=",
    [OPERATOR_LESS] = "<",           [OPERATOR_LESS_EQUAL] = "<=", [OPERATOR_GREATER] = ">",
    [OPERATOR_GREATER_EQUAL] = ">=", [OPERATOR_ADD] = "+",         [OPERATOR_SUBTRACT] = "-",
    [OPERATOR_MULTIPLY] = "*",       [OPERATOR_DIVIDE] = "/",      [OPERATOR_OF] = "of",
    [OPERATOR_MODULO] = "mod",       [OPERATOR_POWER] = "^",
};

static void add_node(Text *out, const Node *node);
static void add_block(Text *out, const Block *block);

/* ` word`, nothing for NULL */
static void add_word(Text *out, const char *word) {
    if (!word)
        return;
    text_add_char(out, ' ');
    text_add_string(out, word);
}

/* ` x`, ` -` for a node that is not there */
static void add_child(Text *out, const Node *node) {
    text_add_char(out, ' ');
    if (node)
        add_node(out, node);
    else
        text_add_char(out, '-');
}

static void add_quoted(Text *out, const char *bytes, size_t length) {
    text_add_char(out, '"');
    for (size_t i = 0; i < length; i++) {
        if (bytes[i] == '"' || bytes[i] == '\\')
            text_add_char(out, '\\');
        if (bytes[i] == '\n')
            text_add_string(out, "\\n");
        else if (bytes[i] == '\t')
            text_add_string(out, "\\t");
        else
            text_add_char(out, bytes[i]);
    }
    text_add_char(out, '"');
}

static void add_format(Text *out, FormatSpec format) {
    if (format.mode == FORMAT_DEFAULT)
        return;
    text_add_string(out, format.mode == FORMAT_PLACES ? " places " : " digits ");
    text_add_integer(out, format.count);
}

/* ` g/L` as `g*L^-1` */
static void add_unit(Text *out, const UnitExpr *unit) {
    for (int i = 0; unit && i < unit->count; i++) {
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

static void add_text(Text *out, const Node *node) {
    text_add_string(out, "(text");
    for (int i = 0; i < node->as.text.count; i++) {
        const TextPart *part = &node->as.text.parts[i];
        if (part->literal) {
            text_add_char(out, ' ');
            add_quoted(out, part->literal, part->length);
            continue;
        }
        add_child(out, part->expr);
        add_format(out, part->format);
    }
    text_add_char(out, ')');
}

static void add_fields(Text *out, const FieldExpr *fields, int count) {
    for (int i = 0; i < count; i++) {
        text_add_string(out, " (");
        text_add_string(out, fields[i].name);
        add_child(out, fields[i].value);
        text_add_char(out, ')');
    }
}

static void add_call(Text *out, const Node *node) {
    text_add_string(out, "(call ");
    if (node->as.call.qualifier) {
        text_add_string(out, node->as.call.qualifier);
        text_add_char(out, '.');
    }
    text_add_string(out, node->as.call.name);
    for (int i = 0; i < node->as.call.count; i++) {
        const ArgumentExpr *argument = &node->as.call.args[i];
        add_word(out, argument->label);
        if (argument->label)
            text_add_char(out, ':');
        add_child(out, argument->value);
    }
    text_add_char(out, ')');
}

/* `(word a b c)`; a node that is not there at the end is left out */
static void add_form(Text *out, const char *word, const Node *a, const Node *b, const Node *c) {
    text_add_char(out, '(');
    text_add_string(out, word);
    add_child(out, a);
    if (b || c)
        add_child(out, b);
    if (c)
        add_child(out, c);
    text_add_char(out, ')');
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

static void add_plus_minus(Text *out, const Node *node) {
    text_add_string(out, "(±");
    add_child(out, node->as.plus_minus.value);
    add_child(out, node->as.plus_minus.uncertainty);
    add_unit(out, node->as.plus_minus.unit);
    text_add_char(out, ')');
}

static void add_list(Text *out, const Node *node) {
    text_add_string(out, "(list");
    for (int i = 0; i < node->as.list.count; i++)
        add_child(out, node->as.list.items[i]);
    text_add_char(out, ')');
}

static void add_comprehension(Text *out, const Node *node) {
    text_add_string(out, "(each");
    add_child(out, node->as.comprehension.body);
    add_word(out, node->as.comprehension.variable);
    add_child(out, node->as.comprehension.list);
    if (node->as.comprehension.condition)
        add_child(out, node->as.comprehension.condition);
    text_add_char(out, ')');
}

/* An operand, then a unit, a field's name or changed fields. */
static void add_tailed(Text *out, const Node *node) {
    static const char *const words[] = {
        [NODE_ATTACH] = "(attach", [NODE_AS] = "(as", [NODE_FIELD] = "(field", [NODE_WITH] = "(with"};
    text_add_string(out, words[node->type]);
    if (node->type == NODE_ATTACH) {
        add_child(out, node->as.attach.operand);
        add_unit(out, node->as.attach.unit);
    } else if (node->type == NODE_AS) {
        add_child(out, node->as.as.operand);
        add_unit(out, node->as.as.unit);
    } else if (node->type == NODE_FIELD) {
        add_child(out, node->as.field.object);
        add_word(out, node->as.field.name);
    } else {
        add_child(out, node->as.with.operand);
        add_fields(out, node->as.with.fields, node->as.with.count);
    }
    text_add_char(out, ')');
}

static void add_node(Text *out, const Node *node) {
    switch (node->type) {
    case NODE_NUMBER:
    case NODE_TRUTH:
    case NODE_NONE:
    case NODE_DATE:
    case NODE_NAME:
        add_leaf(out, node);
        return;
    case NODE_TEXT:
        add_text(out, node);
        return;
    case NODE_ATTACH:
    case NODE_AS:
    case NODE_FIELD:
    case NODE_WITH:
        add_tailed(out, node);
        return;
    case NODE_PLUS_MINUS:
        add_plus_minus(out, node);
        return;
    case NODE_LIST:
        add_list(out, node);
        return;
    case NODE_COMPREHENSION:
        add_comprehension(out, node);
        return;
    case NODE_RECORD:
        text_add_string(out, "(record");
        add_fields(out, node->as.record.fields, node->as.record.count);
        text_add_char(out, ')');
        return;
    case NODE_CALL:
        add_call(out, node);
        return;
    case NODE_INDEX:
        add_form(out, "index", node->as.index.object, node->as.index.index, NULL);
        return;
    case NODE_UNARY:
        add_form(out, operator_names[node->as.unary.op], node->as.unary.operand, NULL, NULL);
        return;
    case NODE_BINARY:
        add_form(out, operator_names[node->as.binary.op], node->as.binary.left, node->as.binary.right, NULL);
        return;
    case NODE_NEAR:
        add_form(out, "near", node->as.near.value, node->as.near.target, node->as.near.within);
        return;
    case NODE_IF:
        add_form(out, "if", node->as.choice.condition, node->as.choice.then, node->as.choice.otherwise);
        return;
    }
}

/* ---- statements ---- */

static void add_show(Text *out, const Statement *statement) {
    for (int i = 0; i < statement->as.show.count; i++) {
        const ShowItem *item = &statement->as.show.items[i];
        text_add_string(out, " (");
        if (item->label)
            add_node(out, item->label);
        else
            add_quoted(out, item->source_label, strlen(item->source_label));
        add_child(out, item->expr);
        add_format(out, item->format);
        text_add_char(out, ')');
    }
}

static void add_kind(Text *out, const KindExpr *kind) {
    if (!kind)
        return;
    text_add_string(out, " is");
    add_word(out, kind->word);
    add_unit(out, kind->unit);
}

static void add_formula(Text *out, const FormulaTree *formula) {
    add_word(out, formula->name);
    text_add_string(out, " (");
    for (int i = 0; i < formula->param_count; i++) {
        const Parameter *param = &formula->params[i];
        text_add_string(out, i ? " (" : "(");
        text_add_string(out, param->label);
        add_word(out, param->name);
        add_kind(out, param->kind);
        if (param->initial)
            add_child(out, param->initial);
        text_add_char(out, ')');
    }
    text_add_char(out, ')');
    add_kind(out, formula->result);
    if (formula->expr)
        add_child(out, formula->expr);
    else
        add_block(out, &formula->block);
}

static void add_choice(Text *out, const Statement *statement) {
    for (int i = 0; i < statement->as.choice.count; i++) {
        add_child(out, statement->as.choice.conditions[i]);
        add_block(out, &statement->as.choice.blocks[i]);
    }
    if (!statement->as.choice.has_otherwise)
        return;
    text_add_string(out, " else");
    add_block(out, &statement->as.choice.otherwise);
}

static void add_find(Text *out, const Statement *statement) {
    for (int i = 0; i < statement->as.find.unknown_count; i++) {
        const Unknown *unknown = &statement->as.find.unknowns[i];
        text_add_string(out, " (");
        text_add_string(out, unknown->name);
        add_child(out, unknown->from);
        add_child(out, unknown->to);
        text_add_string(out, unknown->whole ? " whole)" : ")");
    }
    for (int i = 0; i < statement->as.find.condition_count; i++)
        add_child(out, statement->as.find.conditions[i]);
    if (statement->as.find.direction == 0)
        return;
    text_add_string(out, statement->as.find.direction < 0 ? " least" : " most");
    add_child(out, statement->as.find.goal);
}

static void add_range(Text *out, const Node *from, const Node *to, const Node *by) {
    add_child(out, from);
    add_child(out, to);
    if (by)
        add_child(out, by);
}

static void add_turns(Text *out, const TurnsExpr *turns) {
    if (turns->name)
        add_word(out, turns->name);
    if (turns->list)
        add_child(out, turns->list);
    else if (turns->from)
        add_range(out, turns->from, turns->to, turns->by);
}

static void add_table(Text *out, const Statement *statement) {
    add_turns(out, &statement->as.table.turns);
    add_turns(out, &statement->as.table.across);
    add_block(out, &statement->as.table.body);
}

static void add_unit_statement(Text *out, const Statement *statement) {
    add_word(out, statement->as.unit.name);
    if (statement->as.unit.is_money)
        text_add_string(out, " money");
    if (statement->as.unit.value)
        add_child(out, statement->as.unit.value);
}

static void add_input(Text *out, const Statement *statement) {
    add_word(out, statement->as.input.name);
    if (statement->as.input.from)
        add_range(out, statement->as.input.from, statement->as.input.to, NULL);
    add_child(out, statement->as.input.value);
}

static const char *const statement_names[] = {
    [STATEMENT_LET] = "let",
    [STATEMENT_ASSIGN] = "set",
    [STATEMENT_INPUT] = "input",
    [STATEMENT_SHOW] = "show",
    [STATEMENT_PRINT] = "print",
    [STATEMENT_HEADING] = "heading",
    [STATEMENT_NOTE] = "note",
    [STATEMENT_CAUTION] = "caution",
    [STATEMENT_EVENT] = "event",
    [STATEMENT_FORMULA] = "formula",
    [STATEMENT_GIVE] = "give",
    [STATEMENT_IF] = "if",
    [STATEMENT_FOR] = "for",
    [STATEMENT_WHILE] = "while",
    [STATEMENT_STOP] = "stop",
    [STATEMENT_SKIP] = "skip",
    [STATEMENT_FIND] = "find",
    [STATEMENT_TABLE] = "table",
    [STATEMENT_COLUMN] = "column",
    [STATEMENT_EXPECT] = "expect",
    [STATEMENT_EXPECT_ERROR] = "expect-error",
    [STATEMENT_UNIT] = "unit",
    [STATEMENT_USE] = "use",
    [STATEMENT_EXPRESSION] = "value",
};

static void add_parts(Text *out, const Statement *statement) {
    switch (statement->type) {
    case STATEMENT_LET:
    case STATEMENT_ASSIGN:
        add_word(out, statement->as.let.name);
        add_child(out, statement->as.let.value);
        return;
    case STATEMENT_INPUT:
        add_input(out, statement);
        return;
    case STATEMENT_SHOW:
        add_show(out, statement);
        return;
    case STATEMENT_PRINT:
    case STATEMENT_HEADING:
    case STATEMENT_NOTE:
    case STATEMENT_CAUTION:
    case STATEMENT_GIVE:
    case STATEMENT_EXPECT:
    case STATEMENT_EXPECT_ERROR:
    case STATEMENT_EXPRESSION:
        add_child(out, statement->as.simple.expr);
        return;
    case STATEMENT_EVENT:
        add_child(out, statement->as.event.date);
        add_child(out, statement->as.event.text);
        return;
    case STATEMENT_FORMULA:
        add_formula(out, &statement->as.formula);
        return;
    case STATEMENT_IF:
        add_choice(out, statement);
        return;
    case STATEMENT_FOR:
        add_turns(out, &statement->as.for_.turns);
        add_block(out, &statement->as.for_.body);
        return;
    case STATEMENT_WHILE:
        add_child(out, statement->as.while_.condition);
        add_block(out, &statement->as.while_.body);
        return;
    case STATEMENT_STOP:
    case STATEMENT_SKIP:
    case NO_STATEMENT:
        return;
    case STATEMENT_FIND:
        add_find(out, statement);
        return;
    case STATEMENT_TABLE:
        add_table(out, statement);
        return;
    case STATEMENT_COLUMN:
        add_child(out, statement->as.column.label);
        add_child(out, statement->as.column.expr);
        add_format(out, statement->as.column.format);
        return;
    case STATEMENT_UNIT:
        add_unit_statement(out, statement);
        return;
    case STATEMENT_USE:
        text_add_char(out, ' ');
        add_quoted(out, statement->as.use.path, strlen(statement->as.use.path));
        add_word(out, statement->as.use.alias);
        return;
    }
}

static void add_statement(Text *out, const Statement *statement) {
    text_add_char(out, '(');
    text_add_string(out, statement_names[statement->type]);
    add_parts(out, statement);
    if (statement->doc) {
        text_add_string(out, " doc ");
        add_quoted(out, statement->doc, strlen(statement->doc));
    }
    text_add_char(out, ')');
}

static void add_block(Text *out, const Block *block) {
    text_add_string(out, " {");
    for (int i = 0; i < block->count; i++) {
        if (i)
            text_add_char(out, ' ');
        add_statement(out, block->items[i]);
    }
    text_add_char(out, '}');
}

void parse_dump(Text *out, const Program *program) {
    for (int i = 0; i < program->block.count; i++) {
        if (i)
            text_add_char(out, ' ');
        add_statement(out, program->block.items[i]);
    }
}
