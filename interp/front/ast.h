/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tree between parser and compiler. Plain data in an arena; texts in it are NUL-terminated and live as
 * long. */
#ifndef RUNDLET_AST_H
#define RUNDLET_AST_H

#include <stdbool.h>
#include <stddef.h>
#include "base/source.h"
#include "numbers/format.h"

typedef struct Arena Arena;
Arena *arena_new(void);
void *arena_alloc(Arena *arena, size_t size); /* zeroed */
char *arena_copy(Arena *arena, const char *bytes, size_t length);
char *arena_copy_composed(Arena *arena, const char *bytes, size_t length); /* text_add_composed */
void arena_free(Arena *arena);

/* One unit of a unit expression: `floz`, `club.can`, `s^-2`. */
typedef struct UnitTerm {
    const char *qualifier; /* alias before the dot, or NULL */
    const char *name;      /* as typed, pasted spellings already folded (`º` to `°`) */
    int exponent;          /* sign of a preceding `/` included: m/s^2 is m^1 s^-2 */
    Span span;
} UnitTerm;

typedef struct UnitExpr {
    UnitTerm *terms;
    int count;
    Span span;
} UnitExpr;

typedef enum NodeType {
#define NODE(type, ...) NODE_##type,
#include "front/language.def"
} NodeType;

typedef enum Operator {
    OPERATOR_NEGATE,
    OPERATOR_NOT,
    OPERATOR_OR,
    OPERATOR_AND,
    OPERATOR_EQUAL,
    OPERATOR_NOT_EQUAL,
    OPERATOR_LESS,
    OPERATOR_LESS_EQUAL,
    OPERATOR_GREATER,
    OPERATOR_GREATER_EQUAL,
    OPERATOR_ADD,
    OPERATOR_SUBTRACT,
    OPERATOR_MULTIPLY,
    OPERATOR_DIVIDE,
    OPERATOR_OF,
    OPERATOR_MODULO,
    OPERATOR_POWER
} Operator;

static inline bool operator_compares(Operator op) {
    return op >= OPERATOR_EQUAL && op <= OPERATOR_GREATER_EQUAL;
}

typedef struct Node Node;

typedef struct TextPart {
    const char *literal; /* bytes with escapes resolved, or NULL for an interpolated expression */
    size_t length;
    Node *expr;
    FormatSpec format;
} TextPart;

typedef struct FieldExpr { /* `malic: 5 g/L` of a record or of `with` */
    const char *name;      /* NULL: `computed` */
    Node *computed;        /* `"{acid}": 5 g/L`: a NODE_TEXT, or NULL */
    Span name_span;
    Node *value;
} FieldExpr;

typedef struct ArgumentExpr {
    const char *label; /* NULL for a positional one */
    Span label_span;
    Node *value;
} ArgumentExpr;

typedef struct Unknown {
    const char *name;
    Span name_span;
    Node *from;
    Node *to;
    bool whole;
} Unknown;

typedef struct FindTree { /* a statement, or an expression in brackets */
    Unknown *unknowns;
    Node **conditions; /* each a NODE_BINARY with == <= or >= */
    Node *goal;
    int unknown_count;
    int condition_count;
    int direction; /* 0 none, -1 least, +1 most */
} FindTree;

struct Node {
    NodeType type;
    Span span;      /* the whole expression, brackets excluded */
    bool bracketed; /* stood in round brackets */
    unsigned short
        height; /* levels of the tree below and with it; at most a few thousand, so walkers may recurse */
    union {
        double number; /* NUMBER; DATE: days since 1970-01-01 */
        bool truth;
        struct {
            TextPart *parts;
            int count;
        } text;
        struct {
            const char *name;
        } name;
        struct {
            Node *operand;
            UnitExpr *unit;
        } attach; /* ATTACH: a primary followed by a unit; AS */
        struct {
            Node *value;
            Node *uncertainty;
            UnitExpr *unit;
            Span operator_span;
        } plus_minus;
        /* unit: the one unit after `1.050 ± 0.002 SG`, meant for both plain numbers; else NULL */
        struct {
            Node **items;
            int count;
        } list;
        struct {
            Node *body;
            const char *variable;
            Span variable_span;
            const char *second; /* `for name, value in`; or NULL */
            Span second_span;
            Node *list;
            Node *condition;
            bool flat; /* the body is a comprehension after another `for`, whose items are this one's */
        } comprehension;
        struct {
            FieldExpr *fields;
            int count;
        } record;
        struct {
            const char *qualifier;
            const char *name;
            Span name_span;
            ArgumentExpr *args;
            int count;
        } call;
        struct {
            Node *object;
            Node *index;
        } index;
        struct {
            Node *object;
            const char *name;
            Span name_span;
        } field;
        struct {
            Operator op;
            Node *operand;
            Span operator_span;
        } unary;
        struct {
            Operator op;
            Node *left;
            Node *right;
            Span operator_span;
        } binary;
        struct {
            Node *value;
            Node *target;
            Node *within;
        } near; /* x near y within d */
        struct {
            Node *operand;
            FieldExpr *fields;
            int count;
        } with;
        struct {
            Node *condition;
            Node *then;
            Node *otherwise;
        } choice;
        FindTree find;
    } as;
};

typedef struct KindExpr { /* after `is`: one of the kind words, or a unit */
    const char *word;     /* NULL when it is a unit */
    UnitExpr *unit;
    Span span;             /* of the alternatives, too */
    struct KindExpr *next; /* `volume or mass`, in the library only: another that will do */
} KindExpr;

typedef struct Parameter {
    const char *label; /* what a caller writes; equals name unless two words are there */
    const char *name;  /* what the body reads */
    Span span;
    KindExpr *kind; /* NULL for any */
    Node *initial;  /* the default; NULL: required */
} Parameter;

/* The turns of a loop: a list, or from … to … by …. */
typedef struct TurnsExpr {
    const char *name; /* NULL: there are none */
    Span name_span;
    const char *second; /* of `name, value in list`; or NULL */
    Span second_span;
    Node *list; /* or NULL: a range */
    Node *from, *to, *by;
} TurnsExpr;

typedef struct Statement Statement;
typedef struct Block {
    Statement **items;
    int count;
} Block;

typedef enum StatementType {
#define STATEMENT(type, ...) STATEMENT_##type,
#include "front/language.def"
    NO_STATEMENT
} StatementType;

/* Where a statement may be written. */
typedef enum Allowed {
    ALLOWED_TOP,      /* at the top level of a file */
    ALLOWED_BODY,     /* and in bodies, but not in that of a table */
    ALLOWED_ANYWHERE, /* and in that of a table */
    ALLOWED_TABLE     /* in that of a table, nowhere else */
} Allowed;
Allowed statement_allowed(StatementType type);

typedef struct ShowItem {
    Node *label;              /* a NODE_TEXT, or NULL: then `source_label` is the label */
    const char *source_label; /* source of the expression, spaces and newlines made one */
    Node *expr;
    FormatSpec format;
} ShowItem;

typedef struct Branch { /* of an `if` */
    Node *condition;
    Block block;
} Branch;

typedef struct Formula_ {
    const char *name;
    Span name_span;
    Parameter *params;
    int param_count;
    KindExpr *result; /* NULL for any */
    Node *expr;       /* one-line formula, or NULL */
    Block block;      /* block formula */
    /* Only in the library: a formula written in C. */
    const char *native; /* the name after `= native`, or NULL */
    Span native_span;
    bool variadic;            /* `values...` */
    const char *result_rule;  /* `is like x`, `is root of x`, `is list of x and y`: its first word, or NULL */
    const char *result_of[2]; /* the parameters it names; the second may be NULL */
} FormulaTree;

struct Statement {
    StatementType type;
    Span span;       /* from its first word to its last character */
    const char *doc; /* `##` comment lines joined by '\n', or NULL */
    union {
        struct {
            const char *name;
            Span name_span;
            Node *value;
        } let; /* LET, ASSIGN */
        struct {
            const char *name;
            Span name_span;
            Node *from;  /* or NULL */
            Node *to;    /* NULL: `from` is a list of choices */
            Node *value; /* NULL: the first choice */
        } input;
        struct {
            ShowItem *items;
            int count;
        } show;
        struct {
            Node *expr;
        } simple; /* PRINT HEADING NOTE CAUTION GIVE EXPRESSION */
        struct {
            Node *condition; /* EXPECT_ERROR: what is to fail */
            Node *why;       /* a NODE_TEXT, or NULL */
        } expect;            /* EXPECT EXPECT_ERROR */
        struct {
            Node *date;
            Node *text;
        } event;
        FormulaTree formula;
        struct {
            Branch *branches;
            int count;
            Block otherwise;
            bool has_otherwise;
        } choice; /* IF */
        struct {
            TurnsExpr turns;
            Block body;
        } for_;
        struct {
            Node *condition;
            Block body;
        } while_;
        FindTree find;
        struct {
            TurnsExpr turns;
            TurnsExpr across; /* `table x …, y …`: one column for each y */
            Block body;
            bool is_plot; /* `plot`: a table that is drawn */
        } table;
        struct {
            Node *label;
            Node *expr;
            FormatSpec format;
        } column; /* label: a NODE_TEXT */
        struct {
            const char *name;
            Span name_span;
            Node *value;
            bool is_money;
        } unit; /* value NULL: count or money */
        struct {
            const char *path;
            Span path_span;
            const char *alias;
            Span alias_span;
        } use;
    } as;
};

/* What was typed in the words of every day, `gallons`, and how the program writes it. */
typedef struct Respelling {
    Span span;
    const char *text;
} Respelling;

typedef struct Program {
    Arena *arena;
    Block block;
    Respelling *respelled; /* in the order of the source */
    int respelled_count;
} Program;

void program_free(Program *program);

#endif
