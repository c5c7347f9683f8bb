#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The working in each form of a report (docs/reference/program.md, "Reports"): test_forms.py PROGRAM"""

import json
import os
import pathlib
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "reports"))
from scenes import check, play  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
EXAMPLES = pathlib.Path(__file__).resolve().parents[2] / "examples"
SECONDS = 60
KEYS = ["role", "name", "expression", "with_values", "value", "unit", "rounded", "formula", "about", "source", "assumptions",
        "table", "inside", "children"]


def run(form, script, *options, folder=EXAMPLES):
    done = subprocess.run([PROGRAM, *options, "--report", form, "--today", "2027-10-01", script], cwd=folder, timeout=SECONDS,
                          stdin=subprocess.DEVNULL, capture_output=True)
    return done.stdout.decode(), done.returncode


def report(form, script, *options):
    out, status = run(form, script, *options)
    check(status == 0, f"{script} as {form}: status {status}")
    return out


def report_of(form, text, *options, status=0):
    with tempfile.TemporaryDirectory() as folder:
        pathlib.Path(folder, "a.rlet").write_text(text, encoding="utf-8")
        out, got = run(form, "a.rlet", *options, folder=folder)
        check(got == status, f"status {got}: {out}")
        return out


def examples():
    return sorted(path.name for path in EXAMPLES.glob("*.rlet"))


def results(report):
    """The shown values and the columns of a report as JSON: of a table or plot all but its first, that of the loop."""
    for item in report["items"]:
        if item["item"] == "show":
            yield item
        yield from item.get("columns", [])[1:]


def steps_of(steps):
    for step in steps:
        yield step
        yield from steps_of(step["children"])


# ---- JSON ----

def check_step(step, where):
    turn = ["turn", "turns"] if step["role"] == "turn" else []
    check(sorted(step) == sorted(KEYS + turn), f"{where}: {sorted(step)}")
    check(isinstance(step["rounded"], bool) and isinstance(step["inside"], bool), f"{where}: {step}")
    check(all(step[key] is None or isinstance(step[key], str) for key in KEYS[:6] + KEYS[7:10]), f"{where}: {step}")
    check(step["expression"] or step["role"] == "turn", f"{where}: a step without an expression: {step}")
    if step["table"] is not None:
        heads, *rows = step["table"]
        check(rows and all(len(row) == len(heads) for row in rows), f"{where}: {step['table']}")


def json_has_steps():
    """Each shown value and each column of each example has its steps, each step the documented keys."""
    for script in examples():
        for result in results(json.loads(report("json", script, "--working"))):
            where = f"{script}, {result['label']}"
            check("steps" in result, f"{where}: no steps")
            check(result["steps"] or result.get("earlier"), f"{where}: nothing to follow")
            for step in steps_of(result["steps"]):
                check_step(step, where)


def json_ends_with_the_value():
    """The last step of a shown value has the value that is shown."""
    for script in examples():
        for item in json.loads(report("json", script, "--working"))["items"]:
            if item["item"] != "show" or not item["steps"] or item["unit"] is None:
                continue
            last = item["steps"][-1]
            check(last["unit"] == item["unit"], f"{script}, {item['label']}: {last['unit']} for {item['unit']}")


def json_without():
    """Without --working a report as JSON has no key of the working, and is otherwise the same."""
    def bare(value):
        if isinstance(value, dict):
            return {key: bare(inner) for key, inner in value.items() if key not in ("steps", "earlier", "shares", "more_shares")}
        return [bare(inner) for inner in value] if isinstance(value, list) else value

    for script in examples():
        plain = json.loads(report("json", script))
        check(bare(plain) == plain, f"{script} has steps without being asked")
        check(bare(json.loads(report("json", script, "--working"))) == plain, f"{script} differs beside its steps")


def json_shares():
    """The sources of a ± come with their shares, the largest first: they sum to 100 % where there are no more than three."""
    script = "let a = 5 gal ± 0.15 gal\nlet b = 2 gal ± 0.08 gal\nshow \"c\": a * b / 1 gal\n"
    shares = json.loads(report_of("json", script, "--working"))["items"][0]["shares"]
    check([share["source"] for share in shares] == ["b", "a"], shares)
    # the variances of a product add as the squares of the relative ±: 16/25 and 9/25 (JCGM 100:2008, 5.1.6)
    check(all(abs(share["percent"] - wanted) < 0.1 for share, wanted in zip(shares, (64, 36))), shares)


sys.exit(play([json_has_steps, json_ends_with_the_value, json_without, json_shares]))
