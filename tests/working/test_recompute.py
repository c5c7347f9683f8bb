#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The printed working, followed by hand: test_recompute.py PROGRAM [--show]

Every script of examples/, some of them with other inputs, the script of docs/tutorial.md and every example of the library is
run with --working --report json, and each step is worked out again from its printed text by evaluate.py, which shares nothing with the program: the
numbers in `with_values` must give `value` to its last printed digit, unless the step says that it is rounded. Then a digit of
each value is changed, which has to be noticed. Of scripts with a ±, the uncertainty of each result and the shares of its
sources are worked out again too. --show prints each step that was not checked."""

import collections
import datetime
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

import compare
import worlds
from follow import Follower

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
EXAMPLES = ROOT / "examples"
SECONDS = 60
TODAY = datetime.date(2027, 10, 1)
SHARE = 0.9  # of all steps, at least so many are to be checked

# Formulas that are not worked out here, and why.
UNKNOWN = {
    "log_state": "its verdict rests on the confidence of a trend, Student's t",
    "log_curve": "fits a curve with four parameters and a prior",
    "log_forecast": "takes the profile likelihood of such a fit",
    "log_trend": "Student's t again",
}

# Scripts of examples/ with other inputs.
VARIED = [
    ("acid_balance", ["used=6.1 mL", "batch=23 L"]),
    ("bottle_safety", ["final=1.003 SG", "rated=8 bar"]),
    ("bottle_safety", ["final=1.003 SG", "sampled=true", "floor=1.001 SG"]),
    ("bottle_safety", ["original=1.069 SG", "final=1.010 SG", "warmest=24 °C"]),
    ("bottling_labels", ["batch=28-02", "size=750 mL", "final=1.002 SG"]),
    ("brew_day_sheet", ["batch=5 gal", "shed=40 °F"]),
    ("cans_of_concentrate", ["batch=10 gal"]),
    ("cans_of_concentrate", ["batch=40 gal", "pressed=1.039 SG", "syrup_brix=34.2 °Bx"]),
    ("cans_of_concentrate", ["wanted=1.083 SG", "syrup_brix=24.7 °Bx"]),
    ("cheapest_blend", ["total=20 gal", "acid_wanted=5.9 g/L"]),
    ("house_recipe", ["batch=5 gal"]),
    ("house_recipe", ["batch=22 gal", "pressed=1.039 SG", "thawed=61.9 °Bx", "target=1.074 SG", "strong=30.2 %ABV"]),
    ("keg_or_bottle", ["cellar=50 °F", "sparkle=2.8 vols"]),
    ("kettle_yield", ["gravity=13 °P", "sack=5.5 kg", "batch=25 L"]),
    ("larger_vessel", ["vessel=0.5 gal"]),
    ("larger_vessel", ["vessel=12 gal"]),
    ("malt_syrup_ale", ["pot=20 L", "alpha=5.2%"]),
    ("malt_syrup_ale", ["batch=23 L", "pot=17 L", "bitter=9 IBU", "tap=6 °C"]),
    ("nutrient_plan", ["batch=28 gal", "original=1.068 SG"]),
    ("oak_finish", ["rack=2027-12-01", "target=18 %ABV"]),
    ("pale_ale", ["batch=9 L", "altitude=1600 m", "bitterness=34 IBU", "efficiency=64%"]),
    ("pale_ale", ["batch=5 L", "original=1.051 SG", "tun=0 kg"]),
    ("raspberry_mead", ["batch=11 gal", "berries=23 lb", "sampled=true", "final=0.998 SG"]),
    ("sugar_or_concentrate", ["batch=29 gal", "pressed=1.053 SG"]),
    ("pasteurise_sweet_cider", ["gas=1.1 vols", "final=1.022 SG", "headspace=8%", "hottest=63 °C"]),
    ("sweet_and_still", ["gravity=0.996 SG", "sharpness=3.7 pH"]),
    ("three_ciders", ["total=23 gal", "bitter_share=15%"]),
    ("tired_yeast", ["original=1.121 SG", "batch=7 gal"]),
    ("water_salts", ["sulphate=70 mg/L", "chloride=130 mg/L", "mash_water=23 L"]),
    ("traditional_mead", ["batch=12 gal", "target=1.081 SG", "limit=11 %ABV", "yeast_wants=medium"]),
    ("true_readings", ["first_at=91 °F", "glass=9.4 °Bx"]),
]

WITH_DOUBT = ["dose_with_doubt", "how_strong"]  # scripts with a ± that worlds.py can run

# What is known to be wrong until it is mended: the run, how the text of the step begins, and what is the matter. A row that no
# step needs any more fails the test.
OPEN = [
    ("tutorial", "priming_dose(cider, 2.2 vols, 68 °F)", "the gravity that cider was made with needs a digit more"),
]


def open_row(outcome):
    """Of OPEN, if the outcome is known."""
    return next((row for row in OPEN if outcome.where.split(", ")[0] == row[0] and outcome.text.startswith(row[1])), None)


def steps_of(program, script, inputs=()):
    done = subprocess.run([program, "--working", "--report", "json", "--today", TODAY.isoformat(), script.name, *inputs], cwd=script.parent, timeout=SECONDS,
                          stdin=subprocess.DEVNULL, capture_output=True)
    if done.returncode:
        sys.exit(f"{script.name} {inputs}: status {done.returncode}: {done.stderr.decode()}")
    return json.loads(done.stdout)["items"]


def tutorial():
    """The script that docs/tutorial.md ends with: the last of its blocks, with those that it continues."""
    text = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
    script = longest = ""
    for words, block in re.findall(r"^```rundlet([^\n]*)\n(.*?)^```", text, re.MULTILINE | re.DOTALL):
        script = script + block if "continued" in words else block
        longest = max(longest, script, key=len)
    return longest


def library_examples():
    """As scripts: the lines before the last `;` and what it shows."""
    for file in sorted((ROOT / "stdlib").glob("*.rlet")):
        for example in re.findall(r"^## Example: (.+)", file.read_text(encoding="utf-8"), re.MULTILINE):
            *before, shown = example.split("; ")
            yield "\n".join([*before, "show " + shown]) + "\n"


def followed(program):
    """Each run, followed, and its name."""
    for script in sorted(EXAMPLES.glob("*.rlet")):
        text = script.read_text(encoding="utf-8")
        for inputs in [[], *(inputs for name, inputs in VARIED if name == script.stem)]:
            follower = Follower(" ".join([script.stem, *inputs]), text, EXAMPLES)
            follower.report(steps_of(program, script, inputs))
            yield follower
    with tempfile.TemporaryDirectory() as folder:
        script = pathlib.Path(folder, "tutorial.rlet")
        script.write_text(tutorial(), encoding="utf-8")
        follower = Follower("tutorial", tutorial(), pathlib.Path(folder))
        follower.report(steps_of(program, script))
        yield follower
        script, outcomes = pathlib.Path(folder, "example.rlet"), []
        for text in library_examples():
            script.write_text(text, encoding="utf-8")
            follower = Follower("library", text, pathlib.Path(folder))
            follower.evaluator.today = TODAY
            follower.report(steps_of(program, script))
            outcomes += follower.outcomes
        follower.outcomes = outcomes
        yield follower


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


def doubts(program):
    """What is wrong with the ± of results. One that is changed by a hundredth has to be noticed."""
    faults = []
    for name in WITH_DOUBT:
        script = EXAMPLES / f"{name}.rlet"
        text, items = script.read_text(encoding="utf-8"), steps_of(program, script)
        wrong, count = worlds.check(text, EXAMPLES, items)
        print(f"{name}: {count} uncertainties and shares, {len(wrong)} wrong")
        faults += [f"{name}, {line}" for line in wrong] + ([] if count else [f"{name} has no ±"])
        for item in filter(lambda item: "uncertainty" in item, items):
            changed = [dict(other, uncertainty=1.01 * item["uncertainty"]) if other is item else other for other in items]
            if not worlds.check(text, EXAMPLES, changed)[0]:
                faults.append(f"{name}: another ± of {item['label']} is not noticed")
    return faults


def main():
    program, shown = os.path.abspath(sys.argv[1]), "--show" in sys.argv
    totals, unknown, wrong, blind, open_ones = collections.Counter(), collections.Counter(), [], [], set()
    for follower in followed(program):
        name = follower.name
        count = collections.Counter(outcome.how for outcome in follower.outcomes)
        totals += count
        unknown.update(outcome.why for outcome in follower.outcomes if outcome.how == "unknown")
        for outcome in follower.outcomes:
            if outcome.how in ("wrong", "unclear"):
                row = open_row(outcome)
                open_ones.add(row)
                wrong += [] if row else [outcome]
        blind += [outcome for outcome in follower.outcomes if outcome.how == "checked" and outcome.again and unnoticed(outcome)]
        print(f"{name}: " + ", ".join(f"{number} {how}" for how, number in sorted(count.items())))
        for outcome in follower.outcomes:
            if shown and outcome.how in ("wrong", "unclear", "unknown", "rounded"):
                print(f"  {outcome.how}: {outcome}")
    return judge(totals, unknown, wrong, blind, open_ones, doubts(program))


def judge(totals, unknown, wrong, blind, open_ones, faults):
    done = totals["checked"] + totals["literal"] + totals["rounded"]
    steps = done + totals["wrong"] + totals["unknown"] + totals["unclear"]
    faults += [f"{outcome.how}: {outcome}" for outcome in wrong]
    faults += [f"{row[0]}: {row[1]}… is in OPEN, and right now: delete its row" for row in OPEN if row not in open_ones]
    faults += [f"a changed digit is not noticed: {outcome}" for outcome in blind]
    faults += [f"{name} is not worked out here, and UNKNOWN does not say why" for name in unknown if name not in UNKNOWN]
    faults += [f"{name} is in UNKNOWN, and no step needs it" for name in UNKNOWN if name not in unknown]
    if done < SHARE * steps or not totals["pour"] or not totals["assumption"]:
        faults.append(f"only {done} of {steps} steps and {totals['pour']} columns of pours were checked; --show prints the others")
    print(f"{done} of {steps} steps checked ({totals['rounded']} as rounded), {totals['pour']} columns of pours, {totals['assumption']} assumptions; "
          f"{totals['unknown']} need a formula that is not known here; {len(OPEN)} rows of OPEN wait to be mended")
    print(*faults, sep="\n", end="\n" if faults else "")
    return 1 if faults or not steps else 0


if __name__ == "__main__":
    sys.exit(main())
