#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The printed working, followed by hand: test_recompute.py PROGRAM [--show]

Every script of examples/ is run with --working --report json, and each step is worked out again from its printed text by
evaluate.py, which shares nothing with the program: the numbers in `with_values` must give `value` to its last printed digit,
unless the step says that it is rounded. Then a digit of each value is changed, which has to be noticed. --show prints each
step that was not checked."""

import collections
import json
import os
import pathlib
import subprocess
import sys

import compare
from follow import Follower

EXAMPLES = pathlib.Path(__file__).resolve().parent.parent.parent / "examples"
SECONDS = 60
SHARE = 0.9  # of all steps, at least so many are to be checked

# Formulas that are not worked out here, and why.
UNKNOWN = {
    "log_state": "its verdict rests on the confidence of a trend, Student's t",
    "log_curve": "fits a curve with four parameters and a prior",
    "log_forecast": "takes the profile likelihood of such a fit",
}

# What is known to be wrong, until it is mended: the script and the text of the step, and what is the matter.
OPEN = {
    ("house_recipe", "spirit_needed(racked, with: spirit(strength: 40.0 %ABV), target: 16.0 %ABV)"):
        "racked was made with amounts of four digits, and its volume decides the fifth of the dose",
    ("bottle_safety", "bottle_verdict(ferment(juice(gravity: 1.057 SG), to: 0.994415802102735 SG), 6 bar, warmest: 14.0 °C, floor: none)"):
        "3.23e-13 g/L of sugar are none",
    ("nutrient_plan", "medium"): "a text as an input has no quotes",
}


def steps_of(program, script):
    done = subprocess.run([program, "--working", "--report", "json", script.name], cwd=script.parent, timeout=SECONDS,
                          stdin=subprocess.DEVNULL, capture_output=True)
    if done.returncode:
        sys.exit(f"{script.name}: status {done.returncode}: {done.stderr.decode()}")
    return json.loads(done.stdout)["items"]


def changed_digits(value):
    """The value with the last digit of its first number one higher, and one lower."""
    number = compare.NUMBER.search(value)
    if not number or "e" in number[0]:
        return
    step = 10.0 ** -compare.decimals(number[0])
    for sign in (1, -1):
        other = f"{float(number[0]) + sign * step:.{compare.decimals(number[0])}f}"
        yield value[:number.start()] + other + value[number.end():]


def unnoticed(outcome):
    """Whether a change passes. What lies halfway between two printed numbers could be either, and is not taken for one."""
    for value in changed_digits(outcome.value):
        try:
            outcome.again(value, False)
            return True
        except compare.Differs:
            pass
    return False


def main():
    program, shown = os.path.abspath(sys.argv[1]), "--show" in sys.argv
    totals, unknown, wrong, blind, open_ones = collections.Counter(), collections.Counter(), [], [], set()
    for script in sorted(EXAMPLES.glob("*.rlet")):
        follower = Follower(script.stem, script.read_text(encoding="utf-8"), EXAMPLES)
        follower.report(steps_of(program, script))
        count = collections.Counter(outcome.how for outcome in follower.outcomes)
        totals += count
        unknown.update(outcome.why for outcome in follower.outcomes if outcome.how == "unknown")
        for outcome in follower.outcomes:
            if outcome.how in ("wrong", "unclear") and (script.stem, outcome.text) in OPEN:
                open_ones.add((script.stem, outcome.text))
            elif outcome.how in ("wrong", "unclear"):
                wrong.append(outcome)
        blind += [outcome for outcome in follower.outcomes if outcome.how == "checked" and outcome.again and unnoticed(outcome)]
        print(f"{script.stem}: " + ", ".join(f"{number} {how}" for how, number in sorted(count.items())))
        for outcome in follower.outcomes:
            if shown and outcome.how in ("wrong", "unclear", "unknown", "rounded"):
                print(f"  {outcome.how}: {outcome}")
    return judge(totals, unknown, wrong, blind, open_ones)


def judge(totals, unknown, wrong, blind, open_ones):
    done = totals["checked"] + totals["literal"] + totals["rounded"]
    steps = done + totals["wrong"] + totals["unknown"] + totals["unclear"]
    faults = [f"{outcome.how}: {outcome}" for outcome in wrong]
    faults += [f"{where[0]}: {where[1]} is in OPEN, and right now" for where in OPEN if where not in open_ones]
    faults += [f"a changed digit is not noticed: {outcome}" for outcome in blind]
    faults += [f"{name} is not worked out here, and UNKNOWN does not say why" for name in unknown if name not in UNKNOWN]
    faults += [f"{name} is in UNKNOWN, and no step needs it" for name in UNKNOWN if name not in unknown]
    if done < SHARE * steps or not totals["pour"]:
        faults.append(f"only {done} of {steps} steps and {totals['pour']} columns of pours were checked; --show prints the others")
    print(f"{done} of {steps} steps checked ({totals['rounded']} as rounded), {totals['pour']} columns of pours; "
          f"{totals['unknown']} need a formula that is not known here, {totals['unclear']} are unclear")
    print(*faults, sep="\n", end="\n" if faults else "")
    return 1 if faults or not steps else 0


if __name__ == "__main__":
    sys.exit(main())
