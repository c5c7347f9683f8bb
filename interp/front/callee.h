/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The formula that a call means, and which argument goes to which parameter: one rule for compiling and for
 * the check of kinds. */
#ifndef RUNDLET_CALLEE_H
#define RUNDLET_CALLEE_H

#include "front/compile.h"

typedef enum CalleeFound {
    CALLEE_FOUND,
    CALLEE_NO_ALIAS,  /* nothing was brought in under that qualifier */
    CALLEE_NOT_THERE, /* the qualifier's module has no such formula */
    CALLEE_UNKNOWN
} CalleeFound;

/* The file's own formulas come first, then the library, which is loaded if need be. `index`: the formula's
 * number in the registry. */
CalleeFound callee_find(const Registry *registry, const Module *module, const CompileHost *host,
                        const Node *call, int *index);

typedef enum BindingState {
    BINDING_DONE,
    BINDING_NO_LABEL,
    BINDING_TOO_MANY,
    BINDING_TWICE,
    BINDING_MISSING
} BindingState;

typedef struct CalleeBinding {
    BindingState state;
    int argument;  /* the one at fault, for all but a missing one */
    int parameter; /* the one given twice, or missing */
} CalleeBinding;

/* Fills `bound`, one a parameter (NULL: left out), of CALL_ARGUMENTS_MAX entries that are NULL before; not
 * for a variadic one. */
CalleeBinding callee_bind(const Node *call, const Formula *formula, const ArgumentExpr **bound);

#endif
