# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The answers of a `find`, put to its conditions. An equation has to hold within the last printed digit of the answers. That a
best value is the best is checked only where there are no conditions."""

import compare
from parse import parse
from quantities import Quantity, Unclear, convert, decimals_of

SIDES = ("==", "<", "<=", ">", ">=")


def check(evaluator, tree, scope):
    """Raises Unclear if a condition cannot be worked out, and Differs if one does not hold for the answers in `scope`."""
    _, unknowns, conditions, goal = tree
    answers = {}
    for unknown, _, _, whole in unknowns:
        x = scope[unknown].printed
        if not isinstance(x, Quantity):
            raise Unclear(f"the answer {unknown} cannot be read back")
        answers[unknown] = x, 0.0 if whole else 0.5 * 10.0 ** -decimals_of(x)[0]
    inner = {**scope, **{unknown: x for unknown, (x, _) in answers.items()}}
    for condition in conditions:
        holds(evaluator, condition, answers, inner)
    if goal and not conditions:
        best(evaluator, goal, answers, inner)
    (unknown, low, _, whole), *others = unknowns
    if whole and not others and not goal:
        smallest(evaluator, conditions, unknown, inner, evaluator.value(low, scope))


def apart(evaluator, condition, scope):
    """By how much its left side is above its right one."""
    if condition[0] not in SIDES:
        raise Unclear(f"a condition with {condition[0]}")
    left, right = evaluator.value(condition[1], scope), evaluator.value(condition[2], scope)
    return left.number - convert(right, left.unit).number


def holds(evaluator, condition, answers, scope):
    """Within what the digits left out of the answers can move it."""
    here = apart(evaluator, condition, scope)
    slack = 1e-9
    for unknown, (x, spread) in answers.items():
        if spread:
            moved = {**scope, unknown: Quantity(x.number + spread, x.unit, x.units)}
            slack += abs(apart(evaluator, condition, moved) - here)
    sign = condition[0]
    if (abs(here) > slack * 1.1 if sign == "==" else here > slack if sign in ("<", "<=") else here < -slack):
        raise compare.Differs(f"sides that are {here:.3g} apart")


def best(evaluator, goal, answers, scope):
    """Without conditions: no answer a little lower or higher is better."""
    sign, tree = 1.0 if goal[0] == "least" else -1.0, goal[1]
    here = evaluator.value(tree, scope)
    for unknown, (x, spread) in answers.items():
        for step in (-1.0, 1.0):
            moved = {**scope, unknown: Quantity(x.number + step * (4.0 * spread or 1.0), x.unit, x.units)}
            if sign * (convert(evaluator.value(tree, moved), here.unit).number - here.number) < -1e-9:
                raise compare.Differs(f"{evaluator.words(moved[unknown])}, which is better")


def smallest(evaluator, conditions, unknown, scope, low):
    """One less would not do."""
    x = scope[unknown]
    less = Quantity(x.number - 1.0, x.unit, x.units)
    if less.number < convert(low, x.unit).number:
        return
    inner = {**scope, unknown: less}
    if all(evaluator.truth(condition, inner) for condition in conditions):
        raise compare.Differs(f"{evaluator.words(less)}, which would do as well")


def beside(evaluator, step, unknown, scope):
    """The condition a step beside a whole-number answer: worked out anew, and its printed sides compared."""
    tree = parse(step["expression"], evaluator.units)
    inner = {**scope, unknown: evaluator.evaluate(step["name"])}
    if step["with_values"]:
        printed = parse(step["with_values"], evaluator.units)
        for part, said in zip(tree[1:3], step["with_values"].split(f" {printed[0]} ")):
            compare.check(evaluator, evaluator.value(part, inner), said, formatted=True)
    return evaluator.truth(tree, inner)
