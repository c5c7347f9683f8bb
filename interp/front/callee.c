/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "front/callee.h"

#include <string.h>

static CalleeFound found_formula(const Registry *registry, int index, Callee *callee) {
    const Formula *formula = registry->formulas[index];
    *callee = (Callee){.params = formula->params,
                       .param_count = formula->param_count,
                       .usage = formula->usage,
                       .formula = formula,
                       .index = index};
    return CALLEE_FOUND;
}

static CalleeFound found_native(const NativeSignature *native, Callee *callee) {
    *callee = (Callee){.params = native->params,
                       .param_count = native->param_count,
                       .usage = native->usage,
                       .variadic = native->variadic,
                       .native = native};
    return CALLEE_FOUND;
}

CalleeFound callee_find(const Registry *registry, const Module *module, const CompileHost *host,
                        const Node *call, Callee *callee) {
    const char *name = call->as.call.name, *qualifier = call->as.call.qualifier;
    int index, other;
    if (qualifier) {
        if (!name_map_get(&module->aliases, qualifier, &other))
            return CALLEE_NO_ALIAS;
        if (!name_map_get(&registry->modules[other]->formulas, name, &index))
            return CALLEE_NOT_THERE;
        return found_formula(registry, index, callee);
    }
    if (name_map_get(&module->formulas, name, &index))
        return found_formula(registry, index, callee);
    const NativeSignature *native = host->native(host->context, name);
    if (native)
        return found_native(native, callee);
    index = host->library_formula(host->context, name);
    return index >= 0 ? found_formula(registry, index, callee) : CALLEE_UNKNOWN;
}

static int find_label(const Callee *callee, const char *label) {
    for (int i = 0; i < callee->param_count; i++)
        if (strcmp(callee->params[i].label, label) == 0)
            return i;
    return -1;
}

CalleeBinding callee_bind(const Node *call, const Callee *callee, const ArgumentExpr **bound) {
    int next = 0;
    for (int i = 0; i < call->as.call.count; i++) {
        const ArgumentExpr *arg = &call->as.call.args[i];
        int at = arg->label ? find_label(callee, arg->label) : next++;
        if (at < 0)
            return (CalleeBinding){BINDING_NO_LABEL, i, at};
        if (at >= callee->param_count)
            return (CalleeBinding){BINDING_TOO_MANY, i, at};
        if (bound[at])
            return (CalleeBinding){BINDING_TWICE, i, at};
        bound[at] = arg;
    }
    for (int i = 0; i < callee->param_count; i++)
        if (!bound[i] && !callee->params[i].optional)
            return (CalleeBinding){BINDING_MISSING, -1, i};
    return (CalleeBinding){BINDING_DONE, -1, -1};
}
