# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Works out an expression of Rundlet from its text, sharing nothing with the C code: grammar in parse.py, units in
quantities.py, liquids in liquids.py, the library's formulas in library.py and library_cider.py. It is slow and knows only
what the working of a value prints; what it does not know raises Unclear.

Values: Quantity, str, bool, None, datetime.date, list, dict (a record), Liquid, and for the name of a formula a function of
its arguments."""

import calendar
import datetime

import library
import library_beer  # noqa: F401 (the same)
import library_cider  # noqa: F401 (its formulas are entered in library.FORMULAS)
from liquids import Liquid, poured
from parse import parse
from quantities import (UNITS, Quantity, Unclear, add, compare, convert, dimensions, multiply, number_in, plain, raised,
                        shown)


MISSING = object()
UNFOLLOWED = object()  # the value of a step that could not be worked out


class Known:
    """What a name stands for: as it was worked out here, and as it was printed (UNFOLLOWED if that cannot be read back)."""

    def __init__(self, worked_out, printed=UNFOLLOWED):
        self.worked_out = printed if worked_out is UNFOLLOWED else worked_out
        self.printed = self.worked_out if printed is UNFOLLOWED else printed


class Formula:
    """Of a script: its parameters as (label, name, default or None), and what it works out in turn, as (name, tree); the last
    has no name. None, if that cannot be told."""

    def __init__(self, parameters, body):
        self.parameters, self.body = parameters, body


class Evaluator:
    """units: the built-in ones and those of the script. formulas: of the script. known: values by name."""

    def __init__(self):
        self.units = dict(UNITS)
        self.formulas = {}
        self.known = {}
        self.folder = None  # where files are read
        self.today = None  # a date
        self.moved = (None, 0.0)  # which ± is moved, and by how many times itself
        self.as_printed = False  # are names taken as they were printed?

    # ---- what a script declares ----

    def declare_unit(self, name, text):
        """`12 floz`, `money` or nothing."""
        if text == "money":
            self.units[name] = (1.0, (("money " + name, 1),))
        elif not text:
            self.units[name] = (1.0, (("count of " + name, 1),))
        else:
            x = self.evaluate(text)
            size = x.number
            for part, power in x.unit:
                size *= self.units[part][0] ** power
            self.units[name] = (size, tuple(dimensions(x.unit, self.units).items()))

    def evaluate(self, text, scope=None):
        return self.value(parse(text, self.units), self.known if scope is None else scope)

    # ---- trees ----

    def value(self, tree, scope):
        kind = tree[0]
        if kind in SIMPLE:
            return SIMPLE[kind](self, tree, scope)
        left, right = (self.value(part, scope) for part in tree[1:3])
        return self.binary(kind, left, right)

    def number(self, tree, scope):
        return Quantity(tree[1], (), self.units)

    def attach(self, tree, scope):
        x = self.value(tree[1], scope)
        if not isinstance(x, Quantity) or x.unit:
            raise Unclear(f"a unit behind {self.words(x)}, which has one")
        return Quantity(x.number, tree[2], self.units)

    def name(self, tree, scope):
        x = scope.get(tree[1], self.known.get(tree[1], MISSING))
        if isinstance(x, Known):
            x = x.printed if self.as_printed else x.worked_out
        if x is UNFOLLOWED:
            raise Unclear(f"{tree[1]} could not be worked out")
        if x is not MISSING:
            return x
        if tree[1] in self.units:
            return Quantity(1.0, ((tree[1], 1),), self.units)
        if tree[1] in self.formulas or tree[1] in library.FORMULAS:
            return lambda *arguments: self.called(tree[1], [(None, x) for x in arguments])
        raise Unclear(f"no step before says what {tree[1]} is")

    def text(self, tree, scope):
        said = ""
        for part in tree[1]:
            if part[0] == "letters":
                said += part[1]
            else:
                said += self.words(self.value(part[1], scope), part[2], part[3])
        return said

    def choice(self, tree, scope):
        return self.value(tree[2] if self.truth(tree[1], scope) else tree[3], scope)

    def truth(self, tree, scope):
        x = self.value(tree, scope)
        if not isinstance(x, bool):
            raise Unclear(f"{self.words(x)} is not true or false")
        return x

    def both(self, tree, scope):
        return self.truth(tree[1], scope) and self.truth(tree[2], scope)

    def either(self, tree, scope):
        return self.truth(tree[1], scope) or self.truth(tree[2], scope)

    def negative(self, tree, scope):
        x = self.value(tree[1], scope)
        return Quantity(-x.number, x.unit, x.units)

    def conversion(self, tree, scope):
        return convert(self.value(tree[1], scope), tree[2])

    def near(self, tree, scope):
        left, right, within = (self.value(part, scope) for part in tree[1:])
        apart = add(left, right, -1)
        return compare(Quantity(abs(apart.number), apart.unit, apart.units), within) <= 0

    def index(self, tree, scope):
        whole, at = self.value(tree[1], scope), self.value(tree[2], scope)
        if isinstance(whole, dict):
            return whole[at]
        place = int(at.number)
        return whole[place - 1 if place > 0 else place]

    def field(self, tree, scope):
        whole = self.value(tree[1], scope)
        if isinstance(whole, Liquid):
            return library.property_of(whole, tree[2], self.units)
        if not isinstance(whole, dict) or tree[2] not in whole:
            raise Unclear(f"no field {tree[2]}")
        return whole[tree[2]]

    def list(self, tree, scope):
        return [self.value(item, scope) for item in tree[1]]

    def record(self, tree, scope):
        return {self.value(key, scope): self.value(item, scope) for key, item in tree[1]}

    def each(self, tree, scope):
        found = []

        def turn(parts, inner):
            if not parts:
                found.append(self.value(tree[1], inner))
                return
            names, source, test = parts[0]
            items = self.value(source, inner)
            if isinstance(items, dict):
                pairs = list(items.items())
            else:
                pairs = [(plain(place + 1), item) for place, item in enumerate(items)]
            for first, second in pairs:
                new = dict(inner, **({names[0]: first, names[1]: second} if len(names) == 2 else {names[0]: second}))
                if test is None or self.truth(test, new):
                    turn(parts[1:], new)

        turn(tree[2], dict(scope))
        return found

    def changed(self, tree, scope):
        whole, fields = self.value(tree[1], scope), self.value(tree[2], scope)
        if isinstance(whole, dict):
            return {**whole, **fields}
        return library.with_fields(whole, fields)

    def doubtful(self, tree, scope):
        """The value in the middle, but in worlds.py."""
        x = self.value(tree[1], scope)
        source, sign = self.moved
        if source != id(tree):
            return x
        spread = self.value(tree[2], scope)
        if spread.kind or spread.unit == x.unit:
            return Quantity(x.number + sign * spread.number, x.unit, x.units)
        return add(x, Quantity(sign * spread.number, spread.unit, spread.units))

    def call(self, tree, scope):
        return self.called(tree[1], [(label, self.value(part, scope)) for label, part in tree[2]])

    def called(self, name, arguments):
        formula = self.formulas.get(name)
        if formula and formula.body is None:
            raise Unclear(f"formula {name}")
        if formula:
            inner = self.bind(formula, arguments)
            for name, part in formula.body:
                inner[name] = self.value(part, inner)
            return inner[None]
        return library.call(self, name, arguments)

    def bind(self, formula, arguments):
        scope, places = {}, [parameter[1] for parameter in formula.parameters]
        for label, x in arguments:
            name = next((name for mark, name, _ in formula.parameters if label == mark), None) if label else places[0]
            if name is None:
                raise Unclear(f"no argument {label}")
            places.remove(name)
            scope[name] = x
        for _, name, default in formula.parameters:
            if name not in scope:
                scope[name] = self.value(default, scope)
        return {**self.known, **scope}

    # ---- two values ----

    def binary(self, sign, a, b):
        if sign in ("==", "!="):
            return self.equal(a, b) == (sign == "==")
        if sign in ("<", "<=", ">", ">="):
            order = compare(a, b) if isinstance(a, Quantity) else (a > b) - (a < b)
            return {"<": order < 0, "<=": order <= 0, ">": order > 0, ">=": order >= 0}[sign]
        if isinstance(b, Liquid) and sign in ("of", "*"):
            return library.portion(a, b)
        if isinstance(a, Liquid):
            if sign == "+" and isinstance(b, Liquid):
                return poured(a, b)
            if sign in "*/":
                return a.scaled(b.number if sign == "*" else 1 / b.number)
        if isinstance(a, datetime.date):
            return self.later(sign, a, b)
        if not isinstance(a, Quantity) or not isinstance(b, Quantity):
            raise Unclear(f"{sign} between {self.words(a)} and {self.words(b)}")
        if sign in "+-":
            return add(a, b, 1 if sign == "+" else -1)
        if sign == "mod":
            step = convert(b, a.unit).number
            return Quantity(a.number % step, a.unit, a.units)
        if sign == "^":
            return raised(a, b)
        return multiply(a, b, -1 if sign == "/" else 1)

    def later(self, sign, date, x):
        if isinstance(x, datetime.date):
            return Quantity((date - x).days, (("day", 1),), self.units)
        way = 1 if sign == "+" else -1
        if x.unit == (("month", 1),):
            count = date.year * 12 + date.month - 1 + way * int(x.number)
            year, month = divmod(count, 12)
            return datetime.date(year, month + 1, min(date.day, calendar.monthrange(year, month + 1)[1]))
        return date + datetime.timedelta(days=way * round(number_in(x, "day")))

    def equal(self, a, b):
        if isinstance(a, Quantity) and isinstance(b, Quantity):
            return compare(a, b) == 0
        if isinstance(a, list) and isinstance(b, list):
            return len(a) == len(b) and all(map(self.equal, a, b))
        if isinstance(a, dict) and isinstance(b, dict):
            return a.keys() == b.keys() and all(self.equal(a[key], b[key]) for key in a)
        return type(a) is type(b) and a == b

    # ---- words ----

    def words(self, x, places=None, digits=None, inside=False):
        """As a text shows it."""
        if isinstance(x, Quantity):
            return shown(x, places, digits)
        if isinstance(x, str):
            return f'"{x}"' if inside else x
        if x is None or isinstance(x, bool):
            return {None: "none", True: "true", False: "false"}[x]
        if isinstance(x, datetime.date):
            return x.isoformat()
        if isinstance(x, list):
            return "[" + ", ".join(self.words(item, inside=True) for item in x) + "]"
        if isinstance(x, dict):
            return "{" + ", ".join(f"{key}: {self.words(item, inside=True)}" for key, item in x.items()) + "}"
        if isinstance(x, Liquid):
            return ", ".join(shown(part) for part in library.shown_parts(x, self.units)) + (" dry" if x.form == "dry" else "")
        raise Unclear(f"{x!r} has no words")


SIMPLE = {"number": Evaluator.number, "attach": Evaluator.attach, "name": Evaluator.name, "text": Evaluator.text,
          "value": lambda self, tree, scope: tree[1], "if": Evaluator.choice, "and": Evaluator.both, "or": Evaluator.either,
          "not": lambda self, tree, scope: not self.truth(tree[1], scope), "negative": Evaluator.negative,
          "as": Evaluator.conversion, "near": Evaluator.near, "index": Evaluator.index, "field": Evaluator.field,
          "list": Evaluator.list, "record": Evaluator.record, "each": Evaluator.each, "with": Evaluator.changed,
          "±": Evaluator.doubtful, "call": Evaluator.call}
