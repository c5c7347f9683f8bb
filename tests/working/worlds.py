# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The ± of a script's results, and what each source has in it, worked out again: the script is run once with each source moved
up and once moved down by its standard uncertainty, and half the difference is what that source contributes (docs/model.md,
"Uncertainty"; JCGM 100:2008, 5.1.3 note 2). Only scripts of `input`, `let`, `find` of one equation, and `show` can be run."""

import re

import physics
import script
from parse import parse
from quantities import Quantity, Unclear, convert


def split_items(text):
    """The items of a `show`, at the commas outside brackets and texts."""
    items, depth, start, quoted = [], 0, 0, False
    for at, sign in enumerate(text):
        quoted ^= sign == '"'
        depth += 0 if quoted else (sign in "([{") - (sign in ")]}")
        if sign == "," and not depth and not quoted:
            items.append(text[start:at])
            start = at + 1
    return [item.strip() for item in [*items, text[start:]]]


def sources_in(tree, owner):
    """{id of a ± in the tree: the name that it was given to}"""
    found = {}
    if isinstance(tree, tuple) and tree and tree[0] == "±":
        found[id(tree)] = owner
    if isinstance(tree, (tuple, list)):
        for part in tree:
            found.update(sources_in(part, owner))
    return found


class Straight:
    """A script as a list of statements."""

    def __init__(self, text, folder):
        self.evaluator = script.read(text, folder)
        self.statements, self.sources = [], {}
        for line in script.lines_of(text):
            self.read(line)

    def read(self, line):
        units = self.evaluator.units
        given = re.match(r"(?:input (\w+)(?: from .+? to .+?)?|let (\w+)) = (.+)", line)
        if given:
            name, tree = given[1] or given[2], parse(given[3], units)
            self.sources.update(sources_in(tree, name))
            self.statements.append(("let", name, tree))
        elif line.startswith("find "):
            self.statements.append(("find", None, parse(line, units)))
        elif line.startswith("show "):
            for item in split_items(line[5:]):
                labelled = re.match(r'("(?:[^"\\]|\\.)*"): (.+)', item)
                shown = re.sub(r" to \d+ (places|digits)$", "", labelled[2] if labelled else item)
                self.statements.append(("show", None, parse(shown, units)))
        elif line and not re.match(r"(unit|heading|note|print|expect|event|formula|caution)\b", line):
            raise Unclear(f"a statement such as {line}")

    def run(self, moved=None, sign=0.0):
        """What each `show` gives, with a source moved by `sign` times its ±."""
        evaluator, shown = self.evaluator, []
        evaluator.known, evaluator.moved = {}, (moved, sign)
        for kind, name, tree in self.statements:
            if kind == "let":
                evaluator.known[name] = evaluator.value(tree, evaluator.known)
            elif kind == "find":
                self.find(tree)
            else:
                shown.append(evaluator.value(tree, evaluator.known))
        return shown

    def find(self, tree):
        ((name, low, high, whole),), conditions, goal = tree[1:]
        if whole or goal or len(conditions) != 1 or conditions[0][0] != "==":
            raise Unclear("a find of more than one equation")
        known = self.evaluator.known
        low, high = self.evaluator.value(low, known), self.evaluator.value(high, known)

        def apart(number):
            inner = {**known, name: Quantity(number, low.unit, low.units)}
            left, right = (self.evaluator.value(part, inner) for part in conditions[0][1:3])
            return left.number - convert(right, left.unit).number

        known[name] = Quantity(physics.solve(apart, low.number, convert(high, low.unit).number), low.unit, low.units)

    def uncertainties(self):
        """For each `show`: its uncertainty, and {the name a source was given to: its part of that in %}, the largest first."""
        parts = [{} for _ in self.run()]
        for source, name in self.sources.items():
            for part, up, down in zip(parts, self.run(source, 1.0), self.run(source, -1.0)):
                half = (up.number - convert(down, up.unit).number) / 2.0 if isinstance(up, Quantity) else 0.0
                part[name, source] = half**2
        for part in parts:
            whole = sum(part.values())
            ranked = sorted(((100.0 * square / whole, name) for (name, _), square in part.items()), reverse=True) if whole else []
            yield whole**0.5, ranked


def check(text, folder, items):
    """What is wrong with the ± that a report shows, and how many were compared."""
    wrong, count = [], 0
    shown = [item for item in items if item["item"] == "show"]
    results = list(Straight(text, folder).uncertainties())
    if len(results) != len(shown):
        return [f"{len(shown)} results are shown, not {len(results)}"], 0
    for item, (uncertainty, ranked) in zip(shown, results):
        said = item.get("uncertainty", 0.0)
        count += 1
        if abs(said - uncertainty) > 1e-3 * uncertainty + 1e-12:
            wrong.append(f"{item['label']}: ± {said}, and it comes to {uncertainty:.6g}")
        for share, (percent, name) in zip(item.get("shares", []), ranked):
            count += 1
            if abs(share["percent"] - percent) > 0.1 or not re.search(rf"\b{name}\b", share["source"]):
                wrong.append(f"{item['label']}: {share['source']} has {share['percent']:.1f} %, and {name} {percent:.1f} % here")
    return wrong, count
