/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The parts of nodes and statements. */
#include "front/tree.h"

#include <string.h>

/* ---- parts of parts ---- */

#define END_OF_PARTS                                                                                         \
    { .kind = PART_END }
#define FIELD_OF(part_kind, type, member)                                                                    \
    { .kind = (part_kind), .at = offsetof(type, member) }

static const Part item_parts[] = {{.kind = PART_NODE}, END_OF_PARTS}; /* of an array of nodes */
static const Part text_parts[] = {FIELD_OF(PART_TEXT, TextPart, literal), FIELD_OF(PART_NODE, TextPart, expr),
                                  FIELD_OF(PART_FORMAT, TextPart, format), END_OF_PARTS};
static const Part field_parts[] = {FIELD_OF(PART_NAME, FieldExpr, name),
                                   FIELD_OF(PART_NODE, FieldExpr, computed),
                                   FIELD_OF(PART_NODE, FieldExpr, value), END_OF_PARTS};
static const Part argument_parts[] = {FIELD_OF(PART_LABEL, ArgumentExpr, label),
                                      FIELD_OF(PART_NODE, ArgumentExpr, value), END_OF_PARTS};
static const Part parameter_parts[] = {
    FIELD_OF(PART_NAME, Parameter, label), FIELD_OF(PART_NAME, Parameter, name),
    FIELD_OF(PART_KIND, Parameter, kind), FIELD_OF(PART_NODE, Parameter, initial), END_OF_PARTS};
static const Part turns_parts[] = {FIELD_OF(PART_NAME, TurnsExpr, name),
                                   FIELD_OF(PART_NAME, TurnsExpr, second),
                                   FIELD_OF(PART_NODE, TurnsExpr, list),
                                   FIELD_OF(PART_NODE, TurnsExpr, from),
                                   FIELD_OF(PART_NODE, TurnsExpr, to),
                                   FIELD_OF(PART_NODE, TurnsExpr, by),
                                   END_OF_PARTS};
static const Part shown_parts[] = {
    FIELD_OF(PART_NODE, ShowItem, label), FIELD_OF(PART_TEXT, ShowItem, source_label),
    FIELD_OF(PART_NODE, ShowItem, expr), FIELD_OF(PART_FORMAT, ShowItem, format), END_OF_PARTS};
static const Part branch_parts[] = {FIELD_OF(PART_NODE, Branch, condition),
                                    FIELD_OF(PART_BLOCK, Branch, block), END_OF_PARTS};
static const Part unknown_parts[] = {FIELD_OF(PART_NAME, Unknown, name),
                                     FIELD_OF(PART_NODE, Unknown, from),
                                     FIELD_OF(PART_NODE, Unknown, to),
                                     {.kind = PART_FLAG, .at = offsetof(Unknown, whole), .word = WORD_WHOLE},
                                     END_OF_PARTS};

/* ---- the rows of the table ---- */

#define NO_PARTS                END_OF_PARTS
#define PART(part_kind, member) FIELD_OF(PART_##part_kind, Owner, as.member)
#define LIST(items, counted, type, parts)                                                                    \
    {                                                                                                        \
        .kind = PART_LIST, .at = offsetof(Owner, as.items), .count_at = offsetof(Owner, as.counted),         \
        .size = sizeof(type), .of = (parts)                                                                  \
    }
#define FLAG(member, id)                                                                                     \
    { .kind = PART_FLAG, .at = offsetof(Owner, as.member), .word = (id) }
#define TURNS(member)                                                                                        \
    { .kind = PART_TURNS, .at = offsetof(Owner, as.member), .of = turns_parts }

#define Owner                           Node
#define NODE(type, check, compile, ...) static const Part node_parts_##type[] = {__VA_ARGS__, END_OF_PARTS};
#include "front/language.def"
#undef Owner

#define Owner Statement
#define STATEMENT(type, allowed, parse, check, compile, ...)                                                 \
    static const Part statement_parts_##type[] = {__VA_ARGS__, END_OF_PARTS};
#include "front/language.def"
#undef Owner

const Part *tree_node_parts(NodeType type) {
    static const Part *const parts[] = {
#define NODE(type, ...) [NODE_##type] = node_parts_##type,
#include "front/language.def"
    };
    return parts[type];
}

const Part *tree_statement_parts(StatementType type) {
    static const Part *const parts[] = {
#define STATEMENT(type, ...) [STATEMENT_##type] = statement_parts_##type,
#include "front/language.def"
    };
    return parts[type];
}

/* ---- going through them ---- */

static void visit_parts(const void *owner, const Part *parts, const TreeVisit *visit) {
    for (const Part *part = parts; part->kind != PART_END; part++) {
        const char *at = (const char *)owner + part->at;
        if (part->kind == PART_NODE) {
            const Node *node;
            memcpy(&node, at, sizeof node);
            if (node && visit->node)
                visit->node(visit->context, node);
        } else if (part->kind == PART_BLOCK) {
            if (visit->block)
                visit->block(visit->context, (const Block *)(const void *)at);
        } else if (part->kind == PART_TURNS) {
            visit_parts(at, part->of, visit);
        } else if (part->kind == PART_LIST) {
            const char *items;
            int count;
            memcpy(&items, at, sizeof items); /* whatever they are */
            memcpy(&count, (const char *)owner + part->count_at, sizeof count);
            for (int i = 0; i < count; i++)
                visit_parts(items + (size_t)i * part->size, part->of, visit);
        }
    }
}

void tree_visit_node(const Node *node, const TreeVisit *visit) {
    visit_parts(node, tree_node_parts(node->type), visit);
}

void tree_visit_statement(const Statement *statement, const TreeVisit *visit) {
    visit_parts(statement, tree_statement_parts(statement->type), visit);
}

const char *tree_declared_name(const Statement *statement) {
    switch ((int)statement->type) {
    case STATEMENT_FORMULA:
        return statement->as.formula.name;
    case STATEMENT_UNIT:
        return statement->as.unit.name;
    case STATEMENT_INPUT:
        return statement->as.input.name;
    case STATEMENT_LET:
        return statement->as.let.name;
    default:
        return NULL;
    }
}

static bool has_block(const Part *part) {
    for (; part->kind != PART_END; part++)
        if (part->kind == PART_BLOCK || (part->kind == PART_LIST && has_block(part->of)))
            return true;
    return false;
}

bool tree_has_block(StatementType type) {
    return has_block(tree_statement_parts(type));
}
