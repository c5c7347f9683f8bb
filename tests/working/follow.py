# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Follows the steps of one script, as --report json gives them, by working each out again from its text (evaluate.py).

A step is right if its text with its values, or its own where they are the same, comes to the value that is printed. A name
that stays in it is that of a step before, worked out here too."""

import collections
import dataclasses
import re
from decimal import Decimal

import compare
import finds
import library
import script
from evaluate import UNFOLLOWED, Known
from liquids import Liquid
from parse import parse
from quantities import Quantity, Unclear, add, convert

ERRORS = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)


@dataclasses.dataclass
class Outcome:
    """how: checked, literal, rounded, wrong, unknown (a formula that is not known here), unclear, pour (a column
    of one) or assumption."""

    how: str
    where: str
    text: str
    value: str
    why: str = ""
    again: object = None  # of a checked one: a function that checks another value in its place

    def __str__(self):
        return f"{self.where}: {self.text} = {self.value}" + (f": {self.why}" if self.why else "")


def each_in(tree):
    """The first comprehension in a tree."""
    if isinstance(tree, tuple) and tree and tree[0] == "each":
        return tree
    if isinstance(tree, (tuple, list)):
        return next(filter(None, map(each_in, tree)), None)
    return None


def with_argument(tree, formula, label, value):
    """The tree with an argument added to the calls of a formula that do not have it."""
    if isinstance(tree, tuple) and tree[:2] == ("call", formula) and all(mark != label for mark, _ in tree[2]):
        return ("call", formula, [*with_argument(tree[2], formula, label, value), (label, value)])
    if isinstance(tree, (tuple, list)):
        return type(tree)(with_argument(part, formula, label, value) for part in tree)
    return tree


class Follower:
    def __init__(self, name, text, folder):
        self.name, self.evaluator = name, script.read(text, folder)
        self.outcomes, self.given, self.waiting, self.lists = [], {}, [], {}

    def report(self, items):
        for item in items:
            self.in_table = "columns" in item
            turns = collections.defaultdict(dict)  # what each turn of a loop or row of a table knows
            for shown in item.get("columns", [item]):
                self.working(shown, shown.get("label") or "", turns)
        for name, expression, value, self.label in self.waiting:
            self.note("unclear", f"{name} = {expression}", value, "not all that it finds is given")

    def working(self, shown, label, turns):
        self.label, self.turns = label, turns
        for earlier in shown.get("earlier", []):
            given = self.given.get(earlier["name"])
            if given != earlier["label"]:
                self.note("wrong", "worked out before", earlier["name"], f"under {given}, not {earlier['label']}")
        steps = shown.get("steps", [])
        for step in steps:
            self.step(step, self.evaluator.known, step is steps[-1])

    def note(self, how, text, value, why="", again=None):
        self.outcomes.append(Outcome(how, f"{self.name}, {self.label}", text, value, why, again))

    # ---- one step ----

    def step(self, step, scope, last=False):
        if step["role"] == "turn":
            self.turn(step, scope)
            return
        text = step["with_values"] or step["expression"]
        x, tree = UNFOLLOWED, None
        try:
            tree = parse(text, self.evaluator.units)
        except Unclear as unclear:
            self.note("unclear", text, step["value"], str(unclear))
        given = self.children(step, tree, scope)
        if tree is None:
            return x
        try:
            if tree[0] == "find":
                return self.found(step, tree, scope)
            x = self.worked_out(step, tree, scope) if given is UNFOLLOWED else given
            other = None if step["with_values"] or given is not UNFOLLOWED else self.by_printed(step, tree, scope)
            self.compare(step, text, x, last, other)
        except compare.Differs as differs:
            self.note("wrong", text, step["value"], f"a side comes to {differs}")
        except Unclear as unclear:
            self.unfollowed(step, text, str(unclear))
        except ERRORS as error:
            self.unfollowed(step, text, f"{type(error).__name__}: {error}")
        if step["table"]:
            self.table(step, x)
        if x is not UNFOLLOWED:
            self.assumptions(step, tree, scope, x)
        if step["name"] and step["role"] in ("step", "input"):
            scope[step["name"]] = Known(x, self.printed(step["value"]))
            self.given[step["name"]] = self.label
        if isinstance(x, list):
            self.lists[step["expression"]] = Known(x, self.printed(step["value"]))
        return x

    def worked_out(self, step, tree, scope):
        if step["role"] == "beside":
            return finds.beside(self.evaluator, step, self.unknown, scope)
        return self.evaluator.value(tree, scope)

    def by_printed(self, step, tree, scope):
        """The same, with names as they were printed: a reader may take either."""
        self.evaluator.as_printed = True
        try:
            return self.worked_out(step, tree, scope)
        except (Unclear, *ERRORS):
            return None
        finally:
            self.evaluator.as_printed = False

    def found(self, step, tree, scope):
        """An answer of a find; with the last of them, all are put to its conditions."""
        answer, names = self.printed(step["value"]), [name for name, *_ in tree[1]]
        name = step["name"] or names[0]
        if not step["name"]:
            scope = dict(scope)
        scope[name] = Known(answer)
        self.given[name] = self.label
        self.waiting.append((name, step["expression"], step["value"], self.label))
        found = [one for one in self.waiting if one[1] == step["expression"]]
        if [one[0] for one in found] == names:
            self.waiting = [one for one in self.waiting if one[1] != step["expression"]]
            how, why = "checked", ""
            try:
                finds.check(self.evaluator, tree, scope)
            except compare.Differs as differs:
                how, why = "wrong", str(differs)
            except Unclear as unclear:
                how, why = "unclear", str(unclear)
            for name, expression, value, _ in found:
                self.note(how, f"{name} = {expression}", value, why)
        return answer

    def compare(self, step, text, x, last, other=None):
        """The last step of a result has the digits that the script asks for. other: what the step may come to as well."""
        def again(value, ties, x=x):
            compare.check(self.evaluator, x, value, step["rounded"], last, ties)
        try:
            again(step["value"], True)
        except compare.Differs as differs:
            try:
                again(step["value"], True, other)
            except (compare.Differs, Unclear):
                self.note("wrong", text, step["value"], f"it comes to {differs}")
                return
            self.note("checked", text, step["value"], again=lambda value, ties: again(value, ties, other))
            return
        how = "rounded" if step["rounded"] else "literal" if text == step["value"] else "checked"
        self.note(how, text, step["value"], again=again)

    def unfollowed(self, step, text, why):
        formula = re.fullmatch(r"formula (\w+)", why)
        self.note("unknown" if formula else "unclear", text, step["value"], formula[1] if formula else why)

    def printed(self, value):
        """A printed value, where it can be read back."""
        try:
            return self.evaluator.evaluate(value)
        except (Unclear, *ERRORS):
            return UNFOLLOWED

    def assumptions(self, step, tree, scope, x):
        """`demand is taken to be "medium"`: with that added to the call, the step comes to the same."""
        for said in step["assumptions"]:
            taken = re.match(r"(\w+) is taken to be (.+); for another value, add \1: … to (\w+)\(…\)$", said)
            if not taken:
                continue
            try:
                added = with_argument(tree, taken[3], taken[1], parse(taken[2], self.evaluator.units))
                again = self.evaluator.value(added, scope)
            except (Unclear, *ERRORS) as error:
                self.unfollowed(step, said, str(error))
                continue
            same = self.evaluator.words(again, digits=12) == self.evaluator.words(x, digits=12)
            self.note("assumption" if same else "wrong", said, step["value"], "" if same else f"then it is {self.evaluator.words(again)}")

    # ---- steps within ----

    def children(self, step, tree, scope):
        """Those inside a formula know its own names; those of a list, its items. The last inside is what the formula gives."""
        inner, turns = dict(scope), collections.Counter()
        if tree and tree[0] == "find":
            self.unknown = tree[1][0][0]
            inner.update(self.answers(tree, step, scope))
        formula = self.evaluator.formulas.get(tree[1]) if tree and tree[0] == "call" else None
        if formula:
            try:
                arguments = [(label, self.evaluator.value(part, scope)) for label, part in tree[2]]
                inner = self.evaluator.bind(formula, arguments)
            except (Unclear, *ERRORS):
                pass
        given = UNFOLLOWED
        for child in step["children"]:
            if child["inside"] or tree and tree[0] == "find":
                x = self.step(child, inner)
                given = x if child["inside"] and formula else given
                continue
            turns[child["expression"]] += 1
            self.step(child, self.among(tree, turns[child["expression"]], scope))
        return given

    def answers(self, tree, step, scope):
        """Of a find, as far as they are printed yet."""
        known = {name: scope[name] for name, *_ in tree[1] if name in scope}
        return {**known, step["name"] or tree[1][0][0]: Known(self.printed(step["value"]))}

    def among(self, tree, turn, scope):
        """What a list's own names stand for, at its first, second or third item."""
        each = each_in(tree)
        if not each:
            return scope
        names, source, test = each[2][0]
        try:
            items = self.evaluator.value(source, scope)
            held = [item for item in items if test is None or self.evaluator.truth(test, {**scope, names[-1]: item})]
            return {**scope, names[-1]: held[turn - 1]}
        except (Unclear, *ERRORS):
            return scope

    # ---- loops ----

    def turn(self, step, scope):
        known = self.turns[step["turn"]]
        x = self.item(step, scope)
        if x is not UNFOLLOWED and step["name"]:
            listed = self.lists.get(step["expression"])
            other = listed.printed[step["turn"] - 1] if listed and step["turn"] <= len(listed.printed) else None
            self.compare(step, f"turn {step['turn']} of {step['expression']}", x, False, other)
        if step["name"]:
            known[step["name"]] = Known(x, self.printed(step["value"]))
        inner = collections.ChainMap(known, scope)
        for child in step["children"]:
            self.step(child, inner, child is step["children"][-1])
        if not self.in_table:
            scope.update((name, x) for name, x in known.items() if name != step["name"])

    def item(self, step, scope):
        """What a loop's name stands for in a turn: of `a to b by c`, or of a list."""
        try:
            steps = re.fullmatch(r"(.+?) to (.+?)(?: by (.+))?", step["expression"])
            if not steps:
                listed = self.lists.get(step["expression"])
                items = listed.worked_out if listed else self.evaluator.evaluate(step["expression"], scope)
                return items[step["turn"] - 1]
            low, high, by = (self.evaluator.evaluate(part, scope) if part else None for part in steps.groups())
            if by is None and step["turns"] == 61:  # a plot without a step
                by = add(high, low, -1)
                by = Quantity(by.number / 60, by.unit, by.units)
            if by is None:
                by = Quantity(1.0, ((library.DIFFERENCES.get(low.unit[0][0], low.unit[0][0]), 1),) if low.unit else (), low.units)
            return add(low, Quantity(by.number * (step["turn"] - 1), by.unit, by.units))
        except (Unclear, *ERRORS):
            return UNFOLLOWED

    # ---- pours ----

    def table(self, step, x):
        """Each column adds up as it is printed; only the volume of what was poured may be another: it shrinks mostly, and grows a
        little where spirits of 10 and 30 %ABV meet (OIML R 22)."""
        (_, *heads), *parts, together, poured = step["table"]
        for place, head in enumerate(heads, 1):
            cells = [row[place].split(" ", 1) for row in (*parts, together, poured)]
            if len({unit for _, unit in cells}) != 1:
                self.note("wrong", f"{head} of {step['expression']}", str(cells), "in several units")
                continue
            *given, whole, made = (Decimal(number) for number, _ in cells)
            said = " + ".join(str(number) for number in given) + f" = {whole} {cells[0][1]}, poured {made}"
            if sum(given) != whole:
                self.note("wrong", f"{head} of {step['expression']}", said, f"they come to {sum(given)}")
            elif head != "volume" and made != whole:
                self.note("wrong", f"{head} of {step['expression']}", said, "poured, it is another amount")
            elif isinstance(x, Liquid):
                self.column(step, head, f"{made} {cells[0][1]}", x)

    def column(self, step, head, printed, x):
        """What was poured, worked out."""
        kilograms = {"water": x.water, "sugar": x.sugar, "other solids": x.solids, "alcohol": x.alcohol, "acid": x.acid,
                     "nitrogen": x.nitrogen, "sulphite": x.sulphite, "bitter acids": x.bitter}
        if head in kilograms:
            made = Quantity(kilograms[head], (("kg", 1),), self.evaluator.units)
        else:
            made = library.property_of(x, head, self.evaluator.units)
        number, unit = printed.split(" ", 1)
        made = convert(made, parse("1 " + unit, self.evaluator.units)[2])
        # The amounts poured were printed with four digits.
        if abs(made.number - float(number)) > max(10.0 ** -compare.decimals(number), 6e-4 * abs(made.number)):
            self.note("wrong", f"{head} of {step['expression']}", printed, f"it comes to {self.evaluator.words(made)}")
        else:
            self.note("pour", f"{head} of {step['expression']}", printed)
