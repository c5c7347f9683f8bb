/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "front/callee.h"

#include <string.h>

CalleeFound callee_find(const Registry *registry, const Module *module, const CompileHost *host,
                        const Node *call, int *index) {
    const char *name = call->as.call.name, *qualifier = call->as.call.qualifier;
    int other;
    if (qualifier) {
        if (!name_map_get(&module->aliases, qualifier, &other))
            return CALLEE_NO_ALIAS;
        return name_map_get(&registry->modules[other]->formulas, name, index) ? CALLEE_FOUND
                                                                              : CALLEE_NOT_THERE;
    }
    if (name_map_get(&module->formulas, name, index))
        return CALLEE_FOUND;
    *index = host->library_formula(host->context, name);
    return *index >= 0 ? CALLEE_FOUND : CALLEE_UNKNOWN;
}

static int find_label(const Formula *formula, const char *label) {
    for (int i = 0; i < formula->param_count; i++)
        if (strcmp(formula->params[i].label, label) == 0)
            return i;
    return -1;
}

CalleeBinding callee_bind(const Node *call, const Formula *formula, const ArgumentExpr **bound) {
    int next = 0;
    for (int i = 0; i < call->as.call.count; i++) {
        const ArgumentExpr *arg = &call->as.call.args[i];
        int at = arg->label ? find_label(formula, arg->label) : next++;
        if (at < 0)
            return (CalleeBinding){BINDING_NO_LABEL, i, at};
        if (at >= formula->param_count)
            return (CalleeBinding){BINDING_TOO_MANY, i, at};
        if (bound[at])
            return (CalleeBinding){BINDING_TWICE, i, at};
        bound[at] = arg;
    }
    for (int i = 0; i < formula->param_count; i++)
        if (!bound[i] && !formula->params[i].optional)
            return (CalleeBinding){BINDING_MISSING, -1, i};
    return (CalleeBinding){BINDING_DONE, -1, -1};
}
