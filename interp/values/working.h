/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The working of a shown value: the steps that led to it, as a person would write them down. */
#ifndef RUNDLET_WORKING_H
#define RUNDLET_WORKING_H

#include <stdbool.h>

typedef struct WorkingStep {
    char *name;        /* that the value was given; NULL: none */
    char *expression;  /* as the script has it */
    char *with_values; /* the same with the values of its names; NULL where nothing changes */
    char *value;       /* as it prints */
    char *formula;     /* that was called; NULL: none, or it was called in an earlier step */
    char *about;       /* what that stands for; NULL: nothing is known */
    char *source;      /* where that formula comes from; NULL likewise */
    bool because;      /* it is a condition that held or failed, and decided which step follows */
    bool inside;       /* of another step: within the formula it called, not before it */
    bool rounded;      /* the values as printed give another last digit */
    struct WorkingStep *children; /* steps within: of calls in the expression, of the formula called */
    int child_count, child_capacity;
} WorkingStep;

/* Of one shown value: the last step is its own. */
typedef struct Working {
    char *label;
    WorkingStep *steps;
    int count, capacity;
} Working;

WorkingStep *working_add(WorkingStep **steps, int *count, int *capacity); /* an empty one */
void working_clear(Working *working);

#endif
