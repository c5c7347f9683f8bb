/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The check of kinds: calls. A formula of this file that is one expression is looked into with the samples of
 * the call; of others what they declare (`is mass`) is known, of a native its NativeResult. */
#include <string.h>

#include "front/callee.h"
#include "front/check_state.h"
#include "values/kind_check.h"

enum { CALLS_MAX = 4 }; /* formulas looked into from one another; more, and a circle, is not known */

/* ---- natives ---- */

static Guess of_values(const Checker *c, const Guess *args, int count, bool may_be_none) {
    bool list = count == 1 && args[0].value.tag == TAG_LIST;
    Guess all = list ? guess_item(c, args[0].value) : args[0];
    if (list && may_be_none && args[0].value.as.list->count == 0)
        return guess_unknown();
    for (int i = 1; i < count && guess_known(all); i++)
        all = guess_join(c, all, args[i]);
    bool fits = value_is_quantity(all.value) || all.value.tag == TAG_LIQUID;
    return fits ? guess_loosened(c, all) : guess_unknown();
}

static Guess root_of(const Checker *c, Guess x) {
    UnitId unit = UNIT_NUMBER;
    double factor;
    Fault ignored = {0};
    if (x.value.tag != TAG_AMOUNT)
        return guess_unknown();
    bool plain = x.value.unit == UNIT_NUMBER || x.value.unit == UNIT_PERCENT;
    bool known = plain || unit_square_root(c->registry->units, x.value.unit, &unit, &factor, &ignored);
    fault_clear(&ignored);
    return known ? guess_of_unit(c, unit) : guess_unknown();
}

static Guess appended(const Checker *c, Guess list, Guess item) {
    if (list.value.tag != TAG_LIST || !guess_known(item))
        return guess_of_tag(c, TAG_LIST);
    if (list.value.as.list->count > 0)
        item = guess_join(c, guess_item(c, list.value), item);
    else if (!list.exact)
        item = guess_unknown();
    return (Guess){.value = guess_list_of(c, item)};
}

static Guess native_result(const Checker *c, NativeResult result, const Guess *args, int count) {
    Guess first = count > 0 ? args[0] : guess_unknown();
    switch (result.rule) {
    case RESULT_UNKNOWN:
        break;
    case RESULT_UNIT:
        return guess_of_unit(c, result.unit);
    case RESULT_TEXT:
        return guess_of_tag(c, TAG_TEXT);
    case RESULT_LIST:
        return guess_of_tag(c, TAG_LIST);
    case RESULT_LIQUID:
        return guess_of_tag(c, TAG_LIQUID);
    case RESULT_FIRST:
        return value_is_quantity(first.value) ? guess_computed(c, first.value, false) : guess_unknown();
    case RESULT_EXTREME:
    case RESULT_SUM:
        return count > 0 ? of_values(c, args, count, result.rule == RESULT_SUM) : guess_unknown();
    case RESULT_ROOT:
        return root_of(c, first);
    case RESULT_SORT:
        return (Guess){.value = guess_list_of(c, guess_item(c, first.value))};
    case RESULT_APPEND:
        return appended(c, first, count > 1 ? args[1] : guess_unknown());
    case RESULT_RANGE:
        return (Guess){.value = guess_list_of(c, value_is_quantity(first.value) ? first : guess_unknown())};
    }
    return guess_unknown();
}

/* ---- what a call may say of its formula ---- */

static bool find_callee(const Checker *c, const Node *node, Callee *callee) {
    return callee_find(c->registry, c->module, c->host, node, callee) == CALLEE_FOUND;
}

const KindCheck *check_parameter_kind(const Formula *formula, int index) {
    const Chunk *chunk = formula->chunk;
    for (int i = 0; chunk && i < chunk->count; i++)
        if (chunk->code[i].op == OP_CHECK_KIND && chunk->code[i].x == 0 && chunk->code[i].a == index)
            return &chunk->kinds[chunk->code[i].d];
    return NULL;
}

const KindCheck *check_result_kind(const Formula *formula) {
    const Chunk *chunk = formula->chunk;
    for (int i = 0; chunk && i < chunk->count; i++)
        if (chunk->code[i].op == OP_CHECK_KIND && chunk->code[i].x == 1)
            return &chunk->kinds[chunk->code[i].d];
    return NULL;
}

bool check_call_gives(const Checker *c, const Node *node) {
    Callee callee;
    if (!find_callee(c, node, &callee))
        return false;
    return callee.native
               ? callee.native->result.rule != RESULT_UNKNOWN
               : !checker_formula_is_faulty(c, callee.formula) && check_result_kind(callee.formula) != NULL;
}

/* ---- arguments ---- */

/* Fills `given` (one a parameter, NULL: left out); false for a call that was reported already. */
static bool bind(const Node *node, const Callee *callee, const Node **given) {
    const ArgumentExpr *bound[CALL_ARGUMENTS_MAX] = {NULL};
    if (callee->param_count > CALL_ARGUMENTS_MAX || callee_bind(node, callee, bound).state != BINDING_DONE)
        return false;
    for (int i = 0; i < callee->param_count; i++)
        given[i] = bound[i] ? bound[i]->value : NULL;
    return true;
}

static Guess native_call(Checker *c, const Node *node, const Callee *callee) {
    const Node *given[CALL_ARGUMENTS_MAX] = {NULL};
    Guess args[CALL_ARGUMENTS_MAX];
    int count = callee->param_count;
    if (callee->native->variadic) {
        count = node->as.call.count;
        for (int i = 0; i < count; i++)
            given[i] = node->as.call.args[i].value;
    } else if (!bind(node, callee, given)) {
        return guess_unknown();
    }
    for (int i = 0; i < count; i++)
        args[i] = given[i] ? check_expr(c, given[i]) : guess_unknown();
    return native_result(c, callee->native->result, args, count);
}

/* ---- formulas ---- */

/* The body of a one-line formula with the samples of a call. */
static Guess look_into(Checker *c, const FormulaTree *tree, const Formula *formula, const Guess *args) {
    Checker inner = *c; /* its names, not the caller's */
    inner.in_formula = true;
    inner.depth = 0;
    inner.first_local = inner.locals.count;
    inner.silent++;
    inner.calls++;
    for (int i = 0; i < tree->param_count; i++) {
        const Parameter *param = &tree->params[i];
        const KindCheck *kind = check_parameter_kind(formula, i);
        Guess guess = guess_known(args[i]) ? args[i] : kind ? guess_of_check(c, kind) : guess_unknown();
        checker_declare(&inner, param->name, guess);
    }
    Guess result = check_expr(&inner, tree->expr);
    checker_forget(&inner, inner.first_local);
    c->locals = inner.locals; /* it may have grown */
    c->steps = inner.steps;
    return guess_known(result) ? guess_computed(c, result.value, false) : result;
}

/* A mistake inside a formula that this call brings about: told there, with the call that led to it. */
static void report_inside(Checker *c, const Node *node, const Formula *formula, Span at, Fault *fault) {
    Text trace = {0};
    text_add_string(&trace, "in formula ");
    text_add_string(&trace, formula->name);
    text_add_string(&trace, ", called at ");
    source_add_place(&trace, c->source, node->span.start);
    check_report_in(c, fault, c->source, at, text_string(&trace));
    text_free(&trace);
}

/* The default of a parameter as the formula would compute it; it may read other parameters, which are not
 * known here. */
static Guess default_of(Checker *c, const FormulaTree *tree, int index) {
    const Node *initial = tree ? tree->params[index].initial : NULL;
    bool fixed =
        initial && (initial->type == NODE_NUMBER || initial->type == NODE_ATTACH ||
                    initial->type == NODE_TEXT || initial->type == NODE_TRUTH || initial->type == NODE_DATE);
    if (!fixed || (initial->type == NODE_ATTACH && initial->as.attach.operand->type != NODE_NUMBER))
        return guess_unknown();
    c->silent++;
    Guess guess = initial->type == NODE_TEXT ? guess_of_tag(c, TAG_TEXT) : check_expr(c, initial);
    c->silent--;
    return guess;
}

/* Fills `args`, in the order of the parameters; false after a mistake of kind among them. */
static bool check_arguments(Checker *c, const Node *node, const Callee *callee, const Node *const *given,
                            Guess *args) {
    const FormulaTree *tree = checker_formula_tree(c, callee->formula);
    for (int i = 0; i < callee->param_count; i++)
        args[i] = given[i] ? check_expr(c, given[i]) : default_of(c, tree, i);
    for (int i = 0; i < callee->param_count; i++) {
        const KindCheck *kind = guess_known(args[i]) ? check_parameter_kind(callee->formula, i) : NULL;
        Fault fault = {0};
        if (!kind || kind_check_is(c->registry->units, kind, args[i].value, false, &fault))
            continue;
        if (!args[i].exact && value_is_quantity(args[i].value)) /* a sample's number is no one's */
            kind_hint_wanted(c->registry->units,
                             kind->is_unit ? unit_get(c->registry->units, kind->unit)->kind : kind->kind,
                             UNIT_NUMBER, value_none(), &fault);
        if (given[i]) /* told at the argument, as a run does */
            check_report(c, &fault, (CodeSpan){.at = given[i]->span});
        else
            report_inside(c, node, callee->formula, tree->params[i].span, &fault);
        return false;
    }
    return true;
}

static Guess formula_call(Checker *c, const Node *node, const Callee *callee) {
    const Node *given[CALL_ARGUMENTS_MAX] = {NULL};
    Guess args[CALL_ARGUMENTS_MAX];
    const Formula *formula = callee->formula;
    if (checker_formula_is_faulty(c, formula)) {
        for (int i = 0; i < node->as.call.count; i++)
            check_expr(c, node->as.call.args[i].value);
        return guess_unknown();
    }
    if (!bind(node, callee, given) || !check_arguments(c, node, callee, given, args))
        return guess_unknown();
    const FormulaTree *tree = checker_formula_tree(c, formula);
    const KindCheck *result = check_result_kind(formula);
    Guess inside =
        tree && tree->expr && c->calls < CALLS_MAX ? look_into(c, tree, formula, args) : guess_unknown();
    Fault fault = {0};
    if (result && guess_known(inside) &&
        !kind_check_is(c->registry->units, result, inside.value, true, &fault)) {
        report_inside(c, node, formula, tree->expr->span, &fault);
        return guess_unknown();
    }
    return guess_known(inside) || !result ? inside : guess_of_check(c, result);
}

Guess check_call(Checker *c, const Node *node) {
    Callee callee;
    if (node->as.call.count > CALL_ARGUMENTS_MAX || !find_callee(c, node, &callee))
        return guess_unknown();
    return callee.native ? native_call(c, node, &callee) : formula_call(c, node, &callee);
}
