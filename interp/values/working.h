/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The working of a shown value: the steps that led to it, as a person would write them down. */
#ifndef RUNDLET_WORKING_H
#define RUNDLET_WORKING_H

#include <stdbool.h>

/* What a step is, and how JSON calls it. */
#define WORKING_ROLES(ROLE)                                                                                  \
    ROLE(STEP, "step")                                                                                       \
    ROLE(INPUT, "input")     /* of the script */                                                             \
    ROLE(UNIT, "unit")       /* of the script: what one of it is */                                          \
    ROLE(BECAUSE, "because") /* a condition that held or did not, and decided what follows */                \
    ROLE(HOLDS, "holds")     /* a condition of a find, at its answer; its sides are its children */          \
    ROLE(SIDE, "side")       /* of such a condition; or what a find makes least or most */                   \
    ROLE(BESIDE, "beside")   /* the condition a step beside a whole-number answer, which is its name */      \
    ROLE(TURN, "turn")       /* of a loop; its children are the steps of that turn */

typedef enum WorkingRole {
#define ROLE(role, word) WORKING_##role,
    WORKING_ROLES(ROLE)
#undef ROLE
} WorkingRole;

/* What was poured together: a row of heads, then one for each thing, each with its parts, all of them, and
 * what they made. */
typedef struct WorkingTable {
    char **cells; /* row by row */
    int rows, columns;
} WorkingTable;

typedef struct WorkingStep WorkingStep;
struct WorkingStep {
    WorkingRole role;
    char *name;         /* that the value was given; NULL: none */
    char *expression;   /* as the script has it */
    char *with_values;  /* the same with the values of its names; NULL where nothing changes */
    char *value;        /* as it prints */
    char *unit;         /* of a quantity; NULL: a plain number, or no quantity */
    char *formula;      /* that was called; NULL: none, or it was called in an earlier step */
    char *about;        /* what that, or an input, stands for; NULL: nothing is known */
    char *source;       /* where that formula comes from; NULL likewise */
    char *found_with;   /* another unknown of the same find, whose step has the working; NULL: no such */
    char **assumptions; /* what was taken for granted, and what to type to change it */
    int assumption_count, assumption_capacity;
    WorkingTable table; /* of a pour */
    int turn, turns;    /* TURN: its number, and how many there were */
    bool inside;        /* of another step: within the formula it called, not before it */
    bool rounded;       /* the values as printed give another last digit */
    bool literal;       /* the expression is the value, as a script may write it */
    WorkingStep *children;
    int child_count, child_capacity;
};

/* A source of a ±, and its share in that of the value. */
typedef struct WorkingShare {
    char *name;
    double percent;
} WorkingShare;

enum { WORKING_SHARES_MOST = 3 };

/* A name whose steps came with an earlier result. */
typedef struct WorkingEarlier {
    char *name, *label;
} WorkingEarlier;

/* Of one shown value, or a column: the last step is its own. */
typedef struct Working {
    WorkingStep *steps;
    int count, capacity;
    WorkingEarlier *earlier;
    int earlier_count, earlier_capacity;
    WorkingShare shares[WORKING_SHARES_MOST]; /* the largest first */
    int share_count, more_shares;             /* so many that are not among them */
} Working;

WorkingStep *working_add(WorkingStep **steps, int *count, int *capacity); /* an empty one */
void working_clear_step(WorkingStep *step);                               /* frees what it holds */
void working_assume(WorkingStep *step, char *text);                       /* takes it */
void working_table_new(WorkingTable *table, int rows, int columns);       /* cells NULL */
char **working_cell(const WorkingTable *table, int row, int column);
void working_free(Working *working);
const char *working_role_word(WorkingRole role);

#endif
