#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds each row of tests/published/beer_*.csv to its tolerance: test_rows.py RUNDLET.

Beside each table, topics/TABLE.py says in its dict TOPICS which expression of the language answers a topic:

    "hops.iso": "100 * isomerised({t}, at: {T})"

It gives a plain number in the unit that the row asks for. {t} is what the row's inputs say of t, and {1}, {2} … stand for
the inputs that have no name. Instead of an expression there may be a function of the inputs, which returns one. The
dict PLAIN is for topics that no formula of the library answers: there the row checks the language's arithmetic alone, and
the value says why. Its form is {topic: (expression, reason)}."""

import csv
import importlib.util
import json
import math
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
SECONDS = 100
# How the tables write units, and how the language does.
SPELLINGS = [("degC", "°C"), ("degF", "°F"), ("degP", "°P"), ("degL", "°L"), ("degBx", "°Bx")]


def inputs_of(text):
    """A row's inputs by name, those without one by their place."""
    inputs = {}
    for place, part in enumerate(text.split(";"), 1):
        name, sign, value = part.partition("=")
        if not sign:
            name, value = str(place), part
        for written, spelling in SPELLINGS:
            value = re.sub(rf"\b{written}\b", spelling, value)
        inputs[name.strip()] = value.strip()
    return inputs


def module_of(table):
    path = HERE / "topics" / f"{table.stem}.py"
    spec = importlib.util.spec_from_file_location(table.stem, path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def expression_of(row, topics):
    expression = topics[row["topic"]]
    inputs = inputs_of(row["inputs"])
    if callable(expression):
        return expression(inputs)
    return re.sub(r"\{(\w+)\}", lambda found: inputs[found[1]], expression)


def shown(program, expressions):
    """The number of each expression, all its digits, from one run; whoever fails says why."""
    with tempfile.TemporaryDirectory() as folder:
        script = pathlib.Path(folder) / "rows.rlet"
        script.write_text("".join(f"show {expression}\n" for expression in expressions), encoding="utf-8")
        done = subprocess.run([program, "--report", "json", script], capture_output=True, text=True, encoding="utf-8",
                              timeout=SECONDS)
    if done.returncode:
        return None, done.stderr
    items = [item for item in json.loads(done.stdout)["items"] if item["item"] == "show"]
    return [item["value"] if item["unit"] is None else math.nan for item in items], ""


def answers(program, expressions):
    values, _ = shown(program, expressions)
    if values is not None:
        return [(value, "") for value in values]
    found = []
    for expression in expressions:  # one at a time, to find those that fail
        values, fault = shown(program, [expression])
        found.append((values[0] if values else math.nan, fault))
    return found


def check(program, table):
    """The failures of one table, in words, and how many rows it has."""
    module = module_of(table)
    plain = {topic: expression for topic, (expression, _) in getattr(module, "PLAIN", {}).items()}
    topics = {**module.TOPICS, **plain}
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    faults = [f"{table.name}: no row asks for {topic} any more" for topic in topics.keys() - {row["topic"] for row in rows}]
    known = [row for row in rows if row["topic"] in topics]
    faults += [f"{table.name}: {row['topic']} has no expression" for row in rows if row["topic"] not in topics]
    expressions = [expression_of(row, topics) for row in known]
    for row, expression, (value, fault) in zip(known, expressions, answers(program, expressions)):
        miss = abs(value - float(row["expected"]))
        if not miss <= float(row["tolerance"]):
            faults.append(f"{table.name}: {row['topic']} ({row['inputs']}): {expression} gives {value!r}, and "
                          f"{row['expected']} within {row['tolerance']} was wanted {fault}")
    return faults, len(rows)


def main():
    tables = sorted(HERE.glob("beer_*.csv"))
    if not tables:
        sys.exit("there is no table")
    total, count = [], 0
    for table in tables:
        faults, rows = check(sys.argv[1], table)
        total += faults
        count += rows
    if total:
        sys.exit("\n".join(total))
    print(f"{count} rows of {len(tables)} tables")


if __name__ == "__main__":
    main()
