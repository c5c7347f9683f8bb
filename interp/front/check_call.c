/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The check of kinds: calls. A formula of this file that is one expression is looked into with the samples of
 * the call; of others what they declare (`is mass`) is known. */
#include <string.h>

#include "front/callee.h"
#include "front/check_flow.h"
#include "front/check_state.h"
#include "values/kind_check.h"

enum { CALLS_MAX = 4 }; /* formulas looked into from one another; more, and a circle, is not known */

/* ---- results that depend on arguments ---- */

/* What all are, or all items of the only one, a list. */
static Guess of_values(const Checker *c, const Guess *args, int count) {
    bool list = count == 1 && args[0].value.tag == TAG_LIST;
    Guess all = count == 0 ? guess_unknown() : list ? guess_item(c, args[0].value) : args[0];
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

static Guess list_of(const Checker *c, Guess first) {
    if (first.value.tag == TAG_LIST)
        first = guess_item(c, first.value);
    else if (!value_is_quantity(first.value))
        first = guess_unknown();
    return (Guess){.value = guess_list_of(c, first)};
}

/* What a formula in C gives, as it declares it. */
static Guess declared_result(const Checker *c, const Formula *formula, const Guess *args, int count) {
    const FormulaResult *result = &formula->result;
    const KindCheck *kind = formula_result_kind(formula);
    Guess first = result->rule == RESULT_KIND || count == 0 ? guess_unknown() : args[result->first];
    switch (result->rule) {
    case RESULT_KIND:
        return kind ? guess_of_check(c, kind) : guess_unknown();
    case RESULT_LIKE:
        if (formula->variadic)
            return of_values(c, args, count);
        return value_is_quantity(first.value) ? guess_computed(c, first.value, false) : guess_unknown();
    case RESULT_ROOT:
        return root_of(c, first);
    case RESULT_LIST:
        return result->second < 0 ? list_of(c, first) : appended(c, first, args[result->second]);
    }
    return guess_unknown();
}

/* ---- what a call may say of its formula ---- */

/* NULL for one that is not known: reported already. */
static const Formula *find_callee(const Checker *c, const Node *node) {
    int index;
    bool found = callee_find(c->registry, c->module, c->host, node, &index) == CALLEE_FOUND;
    return found ? c->registry->formulas[index] : NULL;
}

bool check_call_gives(const Checker *c, const Node *node) {
    const Formula *formula = find_callee(c, node);
    return formula && !checker_formula_is_faulty(c, formula) &&
           (formula->result.rule != RESULT_KIND || formula->result.kind >= 0);
}

/* ---- arguments ---- */

/* Fills `given` (one a parameter, NULL: left out); false for a call that was reported already. */
static bool bind(const Node *node, const Formula *callee, const Node **given) {
    const ArgumentExpr *bound[CALL_ARGUMENTS_MAX] = {NULL};
    for (int i = 0; callee->variadic && i < node->as.call.count; i++)
        given[i] = node->as.call.args[i].value;
    if (callee->variadic)
        return true;
    if (callee->param_count > CALL_ARGUMENTS_MAX || callee_bind(node, callee, bound).state != BINDING_DONE)
        return false;
    for (int i = 0; i < callee->param_count; i++)
        given[i] = bound[i] ? bound[i]->value : NULL;
    return true;
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
        const KindCheck *kind = formula_parameter_kind(formula, i);
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
    MessageArg line =
        arg_phrase(PHRASE_LINE, ARGS(arg_whole(source_locate(c->source, node->span.start).line)));
    check_report_in(c, fault, c->source, at, ARGS(formula->name, line));
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

/* A mistake of kind in an argument, or (not given) in the default of one. */
static void report_argument(Checker *c, const Node *node, const Formula *formula, int index,
                            const Node *given, Guess guess, Fault *fault) {
    const UnitTable *units = c->registry->units;
    const KindCheck *kind = formula_parameter_kind(formula, index);
    if (!guess.exact && value_is_quantity(guess.value)) /* a sample's number is no one's */
        kind_hint_wanted(units, kind_check_hinted(units, kind), UNIT_NUMBER, value_none(), fault);
    if (given) /* told at the argument, as a run does */
        check_report(c, fault, (CodeSpan){.at = given->span});
    else
        report_inside(c, node, formula, checker_formula_tree(c, formula)->params[index].span, fault);
}

/* Fills `args`, `count` in the order of the parameters; false after a mistake of kind among them. */
static bool check_arguments(Checker *c, const Node *node, const Formula *formula, const Node *const *given,
                            Guess *args, int count) {
    const FormulaTree *tree = checker_formula_tree(c, formula);
    for (int i = 0; i < count; i++)
        args[i] = given[i] ? check_expr(c, given[i]) : default_of(c, tree, i);
    for (int i = 0; i < count && !formula->variadic; i++) {
        const KindCheck *kind = guess_known(args[i]) ? formula_parameter_kind(formula, i) : NULL;
        Fault fault = {0};
        if (!kind || kind_check_is(c->registry->units, kind, args[i].value, false, &fault))
            continue;
        report_argument(c, node, formula, i, given[i], args[i], &fault);
        return false;
    }
    return true;
}

/* `f(x)` where f is a value. */
static void check_value_call(Checker *c, const Node *node) {
    Guess callee = checker_find(c, node->as.call.name);
    Fault fault = {0};
    for (int i = 0; i < node->as.call.count; i++)
        check_expr(c, node->as.call.args[i].value);
    if (node->as.call.qualifier || !guess_known(callee) || callee.value.tag == TAG_FORMULA)
        return;
    fault_set(&fault, MSG_VALUE_AS_FORMULA, ARGS(node->as.call.name));
    check_report(c, &fault, (CodeSpan){.at = node->as.call.name_span});
}

Guess check_call(Checker *c, const Node *node) {
    const Node *given[CALL_ARGUMENTS_MAX] = {NULL};
    Guess args[CALL_ARGUMENTS_MAX];
    if (node->as.call.count > CALL_ARGUMENTS_MAX)
        return guess_unknown();
    const Formula *formula = find_callee(c, node);
    if (!formula)
        check_value_call(c, node);
    if (!formula || checker_formula_is_faulty(c, formula)) {
        for (int i = 0; formula && i < node->as.call.count; i++)
            check_expr(c, node->as.call.args[i].value);
        return guess_unknown();
    }
    int count = formula->variadic ? node->as.call.count : formula->param_count;
    if (!bind(node, formula, given) || !check_arguments(c, node, formula, given, args, count))
        return guess_unknown();
    if (formula->native)
        return declared_result(c, formula, args, count);
    const FormulaTree *tree = checker_formula_tree(c, formula);
    const KindCheck *result = formula_result_kind(formula);
    if (tree && flow_gives_nothing(tree)) {
        Fault nothing = {0};
        fault_set(&nothing, MSG_NOTHING_GIVEN, ARGS(tree->name));
        report_inside(c, node, formula, tree->name_span, &nothing);
    }
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
