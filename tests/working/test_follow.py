#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What follow.py lets through and what it does not, on steps written by hand; it takes no part of the program: test_follow.py

Each right step has wrong ones beside it: a test that cannot fail is none."""

import pathlib
import sys

from follow import Follower

SCRIPT = """unit can = 12 floz
formula twice(x) = 2 * x
let bottle = 750 mL
"""
ROLES = {"role": "step", "name": None, "with_values": None, "unit": None, "rounded": False, "formula": None, "about": None,
         "source": None, "assumptions": [], "table": None, "inside": False, "children": []}


def step(expression, value, with_values=None, **more):
    return {**ROLES, "expression": expression, "value": value, "with_values": with_values, **more}


def side(expression, value, name=None):
    return step(expression, value, name=name)


def pour(*rows):
    heads = ["", "volume", "water", "sugar"]
    return [step("1 L of water()", "1 L, 1.000 SG, 0.0 %ABV", name="base"),
            step("base + 200 g of sugar()", "1.124 L, 1.068 SG, 0.0 %ABV", table=[heads, *[row.split(", ") for row in rows]])]


PARTS = ("base, 1.000 L, 0.9982 kg, 0.0000 kg", "200 g of sugar(), 0.126 L, 0.0000 kg, 0.2000 kg")
FIND = "find x from 0 L to 5 L so 2 * x == 3.1 L"
WHOLE = "find n from 0 to 9 whole so n * 330 mL >= 2 L"
TWO = "find a from 0 L to 9 L, b from 0 L to 9 L so a + b == 4 L, a == 3 * b"
BEST = "find n from 0 to 9 whole least abs(n * 330 mL - 2 L)"
HYDROMETER = "hydrometer(1.050 SG, 30 °C)"

# what, the steps of one result, whether all of them are right
CASES = [
    ("a sum", [step("a + b", "5.528 gal", "5 gal + 2 L")], True),
    ("its last digit", [step("a + b", "5.529 gal", "5 gal + 2 L")], False),
    ("a digit too few", [step("a + b", "5.53 gal", "5 gal + 2 L"), step("a", "1", "1")], False),
    ("as few as the script asks for, at the end", [step("a + b", "5.53 gal", "5 gal + 2 L")], True),
    ("rounded", [step("a / b", "0.3334", "1 / 3", rounded=True), step("a", "1", "1")], True),
    ("rounded, and far off", [step("a / b", "0.3338", "1 / 3", rounded=True), step("a", "1", "1")], False),
    ("a name of a step before", [step("3 * 2 L", "6 L", name="must"), step("must / bottle", "8", "must / 750 mL")], True),
    ("a name that none has given", [step("must / bottle", "8", "must / 750 mL")], False),
    ("a formula, by its steps within",
     [step("twice(y)", "3 L", "twice(1.5 L)", children=[step("2 * x", "3 L", "2 * 1.5 L", inside=True)])], True),
    ("steps within that give another value",
     [step("twice(y)", "3 L", "twice(1.5 L)", children=[step("2 * x", "4 L", "2 * 2 L", inside=True)])], False),
    ("an assumption", [step(HYDROMETER, "1.053 SG", assumptions=[
        "calibrated is taken to be 20 °C; for another value, add calibrated: … to hydrometer(…)"])], True),
    ("another than is in the value", [step(HYDROMETER, "1.053 SG", assumptions=[
        "calibrated is taken to be 15 °C; for another value, add calibrated: … to hydrometer(…)"])], False),
    ("the answer of a find", [step(FIND, "1.55 L", name="x")], True),
    ("its last digit", [step(FIND, "1.551 L", name="x")], False),
    ("a whole answer, and what is beside it", [step(WHOLE, "7", name="n", children=[
        side("n * 330 mL >= 2 L", "true") | {"role": "holds", "with_values": "2310 mL >= 2 L"},
        side("n * 330 mL >= 2 L", "false", "6") | {"role": "beside", "with_values": "1980 mL >= 2 L"}])], True),
    ("one beside it that is said to do", [step(WHOLE, "7", name="n", children=[
        side("n * 330 mL >= 2 L", "true", "6") | {"role": "beside", "with_values": "1980 mL >= 2 L"}])], False),
    ("one beside it with another side", [step(WHOLE, "7", name="n", children=[
        side("n * 330 mL >= 2 L", "false", "6") | {"role": "beside", "with_values": "1990 mL >= 2 L"}])], False),
    ("a whole answer that is not the smallest", [step(WHOLE, "8", name="n")], False),
    ("a whole answer that will not do", [step(WHOLE, "6", name="n")], False),
    ("two answers", [step(TWO, "3 L", name="a"), step(TWO, "1 L", name="b")], True),
    ("two answers that miss a condition", [step(TWO, "2.5 L", name="a"), step(TWO, "1.5 L", name="b")], False),
    ("a best value", [step(BEST, "6", name="n")], True),
    ("one that is not the best", [step(BEST, "7", name="n")], False),
    ("a pour", pour(*PARTS, "together, 1.126 L, 0.9982 kg, 0.2000 kg", "poured, 1.124 L, 0.9982 kg, 0.2000 kg"), True),
    ("one that does not add up",
     pour(*PARTS, "together, 1.126 L, 0.9982 kg, 0.2001 kg", "poured, 1.124 L, 0.9982 kg, 0.2001 kg"), False),
    ("one that loses water", pour(*PARTS, "together, 1.126 L, 0.9982 kg, 0.2000 kg", "poured, 1.124 L, 0.9981 kg, 0.2000 kg"), False),
    ("one of another volume", pour(*PARTS, "together, 1.126 L, 0.9982 kg, 0.2000 kg", "poured, 1.126 L, 0.9982 kg, 0.2000 kg"), False),
    ("a loop", [step("1 L to 3 L", "3 L", role="turn", name="v", turn=3, turns=3, children=[step("v * 2", "6 L", "3 L * 2", inside=True)])],
     True),
    ("a turn with another value", [step("1 L to 3 L", "2 L", role="turn", name="v", turn=3, turns=3)], False),
    ("a list's own names", [step("[y ^ 2 for y in [3, 4]]", "[9, 16]", children=[step("y ^ 2", "9"), step("y ^ 2", "16")])], True),
    ("another item", [step("[y ^ 2 for y in [3, 4]]", "[9, 16]", children=[step("y ^ 2", "16")])], False),
]


def earlier_is_told():
    """The result under which a name is said to have been worked out."""
    first = {"item": "show", "label": "Must", "steps": [step("2 * 3 L", "6 L", name="must")]}
    faults = []
    for label, right in (("Must", True), ("Juice", False)):
        follower = Follower("earlier", SCRIPT, pathlib.Path("."))
        follower.report([first, {"item": "show", "label": "Half", "earlier": [{"name": "must", "label": label}],
                                 "steps": [step("must / 2", "3 L", "6 L / 2")]}])
        if all(outcome.how in ("checked", "literal") for outcome in follower.outcomes) != right:
            faults.append(f"worked out under {label}")
    return faults


def main():
    faults = earlier_is_told()
    for what, steps, right in CASES:
        follower = Follower(what, SCRIPT, pathlib.Path("."))
        follower.report([{"item": "show", "label": "", "steps": steps}])
        bad = [str(outcome) for outcome in follower.outcomes if outcome.how in ("wrong", "unclear", "unknown")]
        if not follower.outcomes or bool(bad) == right:
            faults.append(f"{what} is {'refused: ' + '; '.join(bad) if bad else 'let through'}")
    print(f"{len(CASES) + 2} cases, {len(faults)} not as they should be")
    print(*faults, sep="\n", end="\n" if faults else "")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
