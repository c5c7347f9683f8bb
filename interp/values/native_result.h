/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a formula written in C gives, as far as the check of kinds can know it without a run. */
#ifndef RUNDLET_NATIVE_RESULT_H
#define RUNDLET_NATIVE_RESULT_H

#include "quantities/unit.h"

typedef enum ResultRule {
    RESULT_UNKNOWN, /* nothing is known: a record, or whatever a text holds */
    RESULT_UNIT,    /* a quantity in `unit` */
    RESULT_TEXT,
    RESULT_LIST,
    RESULT_LIQUID,
    RESULT_FIRST,   /* what the first argument is */
    RESULT_EXTREME, /* what the first value, or the items of the only list, are */
    RESULT_SUM,     /* likewise; of nothing it is the number 0 */
    RESULT_ROOT,    /* of the first argument */
    RESULT_SORT,    /* a list of what the first holds */
    RESULT_APPEND,  /* the first, with the second in it */
    RESULT_RANGE    /* a list of what the first argument is */
} ResultRule;

typedef struct NativeResult {
    ResultRule rule;
    UnitId unit; /* of RESULT_UNIT */
} NativeResult;

#endif
