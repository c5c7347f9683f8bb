# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a reader of the working takes from the script itself: its units, and its formulas of one expression, or of `let` and
`give` alone. Anything else of it stays unread."""

import re

from evaluate import Evaluator, Formula
from parse import parse


def lines_of(text):
    """Each statement on one line: without comments, with its open brackets closed."""
    whole = ""
    for line in text.splitlines():
        masked = re.sub(r'"[^"]*"', lambda found: "x" * len(found[0]), line)
        comment = masked.find("#")
        whole += (line if comment < 0 else line[:comment]).rstrip()
        bare = re.sub(r'"[^"]*"', "", whole)
        if sum(map(bare.count, "([{")) > sum(map(bare.count, ")]}")) or whole.endswith(("=", ",", "+")):
            whole += " "
            continue
        yield whole.strip()
        whole = ""


def parameters_of(text, units):
    found = []
    for parameter in filter(None, text.split(", ")):
        words, _, default = parameter.partition(": ")
        names = words.split(" is ")[0].split()
        found.append((names[0], names[-1], parse(default, units) if default else None))
    return found


def body_of(lines, units):
    """[(name, tree), …] up to `end`; None if there is more than `let` and `give`. A `give` has no name."""
    body = []
    for line in lines:
        if line == "end":
            return body
        let = re.match(r"(?:let (\w+) =|give) (.+)", line)
        if not let:
            return None
        body.append((let[1], parse(let[2], units)))
    return None


def read(text, folder):
    """An evaluator that knows the units and formulas of a script."""
    evaluator = Evaluator()
    evaluator.folder = folder
    lines = list(lines_of(text))
    for line in lines:
        unit = re.match(r"unit (\w+)\s*(?:is (money)|= (.+))?$", line)
        if unit:
            evaluator.declare_unit(unit[1], unit[2] or unit[3])
    for place, line in enumerate(lines):
        formula = re.match(r"formula (\w+)\((.*?)\)(?: is \w+)?(?: = (.+))?$", line)
        if formula:
            if formula[3]:
                body = [(None, parse(formula[3], evaluator.units))]
            else:
                body = body_of(lines[place + 1:], evaluator.units)
            evaluator.formulas[formula[1]] = Formula(parameters_of(formula[2], evaluator.units), body)
    return evaluator
