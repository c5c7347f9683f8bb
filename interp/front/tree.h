/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each kind of node and statement holds: the last columns of its row in front/language.def. Whoever goes
 * through a whole tree reads them here, and has no case for each kind. */
#ifndef RUNDLET_TREE_H
#define RUNDLET_TREE_H

#include "front/word.h"

typedef enum PartKind {
    PART_END,
    PART_NODE,      /* Node *; NULL where it was left out */
    PART_NAME,      /* const char *; NULL likewise */
    PART_QUALIFIER, /* the same before a dot, */
    PART_LABEL,     /* before a colon, */
    PART_TEXT,      /* in quotes */
    PART_UNIT,      /* UnitExpr *; NULL likewise */
    PART_KIND,      /* KindExpr *; NULL likewise */
    PART_FORMAT,    /* FormatSpec */
    PART_FLAG,      /* bool: was `word` written? */
    PART_DIRECTION, /* int: least below 0, most above */
    PART_TURNS,     /* TurnsExpr */
    PART_LIST,      /* an array of structures, and an int that counts them */
    PART_BLOCK      /* Block */
} PartKind;

typedef struct Part Part;
struct Part {
    PartKind kind;
    size_t at;       /* offset in what holds it */
    size_t count_at; /* LIST: offset of the count */
    size_t size;     /* LIST: of a structure */
    const Part *of;  /* LIST, TURNS: what each holds */
    WordId word;     /* FLAG */
};

/* In the order they are written; the last is PART_END. */
const Part *tree_node_parts(NodeType type);
const Part *tree_statement_parts(StatementType type);

/* Calls back for the expressions and the blocks right below; either may be NULL. */
typedef struct TreeVisit {
    void (*node)(void *context, const Node *node);
    void (*block)(void *context, const Block *block);
    void *context;
} TreeVisit;
void tree_visit_node(const Node *node, const TreeVisit *visit);
void tree_visit_statement(const Statement *statement, const TreeVisit *visit);

/* The name that a formula, a unit, an input or a `let` declares; NULL for any other statement. */
const char *tree_declared_name(const Statement *statement);
/* Does it hold other statements? */
bool tree_has_block(StatementType type);

#endif
