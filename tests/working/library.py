# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The formulas of docs/reference/library.md, written a second time from the sources it names, for evaluate.py. A formula that
is not here makes the expression Unclear; tests/working/test_recompute.py says why it is left out."""

import csv
import dataclasses
import datetime
import functools
import math
import re

import liquids
import physics
from liquids import Liquid
from quantities import Quantity, Unclear, add, compare, convert, dimensions, number_in, plain, simple

FORMULAS = {}  # name -> (parameters, function)
MISSING = object()
DIFFERENCES = {"°C": "C°", "°F": "F°", "K": "C°", "SG": "pts"}  # what a loop steps by


def formula(signature):
    """`titratable titrant normality sample acid?`: the labels, with ? where it may be left out, * for any number of values."""
    name, *labels = signature.split()

    def keep(function):
        FORMULAS[name] = ([label.rstrip("?") for label in labels], function)
        return function

    return keep


def call(evaluator, name, arguments):
    if name not in FORMULAS:
        raise Unclear(f"formula {name}")
    labels, function = FORMULAS[name]
    if labels == ["*"]:
        values = [x for _, x in arguments]
        return function(evaluator, values[0] if len(values) == 1 and isinstance(values[0], list) else values)
    given, places = {}, list(labels)
    for label, x in arguments:
        if label is None:
            label = places[0]
        if label not in places:
            raise Unclear(f"{name} has no argument {label}")
        places.remove(label)
        if x is not None:
            given[label] = x
    return function(evaluator, **{SAFE.get(label, label): x for label, x in given.items()})


SAFE = {"with": "strong", "from": "start", "to": "end", "in": "inside"}


def of(number, unit, evaluator=None):
    """A quantity of a unit by its name, or of g/L."""
    parts = tuple((part, 1 if place == 0 else -1) for place, part in enumerate(unit.split("/")))
    return Quantity(number, parts, **({"units": evaluator.units} if evaluator else {}))


def _reader(*unit):
    """A function that gives an argument's number in a unit, or another number if it was left out."""
    return lambda x, otherwise=None: otherwise if x is None else number_in(x, *unit)


g_l, litres, grams = _reader("g", ("L", -1)), _reader("L"), _reader("g")
ebc = _reader("EBC")
celsius, sg, abv_of, kilopascals = _reader("°C"), _reader("SG"), _reader("%ABV"), _reader("kPa")


def share_of(x, otherwise=None):
    return otherwise if x is None else simple(x)


def same_unit(x, number):
    return Quantity(number, x.unit, x.units)


# ---- numbers ----


def whole(x):
    """A number that counts as whole within 1e-9."""
    near = round(x)
    return float(near) if abs(x - near) <= 1e-9 * max(1.0, abs(x)) else None


@formula("ceil x")
def ceil(evaluator, x):
    near = whole(x.number)
    return same_unit(x, near if near is not None else math.ceil(x.number))


@formula("floor x")
def floor(evaluator, x):
    near = whole(x.number)
    return same_unit(x, near if near is not None else math.floor(x.number))


def half_away(x):
    """On the shortest decimal, halves away from zero."""
    return math.copysign(math.floor(float(repr(abs(x))) + 0.5), x)


@formula("round x step?")
def round_to(evaluator, x, step=None):
    size = 1.0 if step is None else step.number if not step.unit or x.kind else convert(step, x.unit).number
    return same_unit(x, half_away(float(f"{x.number / size:.12g}")) * size)


@formula("abs x")
def absolute(evaluator, x):
    return same_unit(x, abs(x.number))


@formula("sqrt x")
def root(evaluator, x):
    return Quantity(math.sqrt(x.number), [(name, power // 2) for name, power in x.unit], x.units)


for _name, _function in (("exp", math.exp), ("ln", math.log), ("log10", math.log10), ("sin", math.sin), ("cos", math.cos),
                         ("tan", math.tan)):
    formula(_name + " x")(lambda evaluator, x, f=_function: plain(f(simple(x))))


@formula("number x")
def number(evaluator, x):
    return plain(x.number)


def _extreme(values, way):
    best = values[0]
    for x in values[1:]:
        order = compare(x, best) if isinstance(x, Quantity) else (x > best) - (x < best)
        best = x if order == way else best
    return convert(best, values[0].unit) if isinstance(best, Quantity) else best


@formula("min *")
def least(evaluator, values):
    return _extreme(values, -1)


@formula("max *")
def largest(evaluator, values):
    return _extreme(values, 1)


@formula("sum *")
def total(evaluator, values):
    if not values:
        return plain(0)
    whole_of = values[0]
    for x in values[1:]:
        whole_of = liquids.poured(whole_of, x) if isinstance(x, Liquid) else add(whole_of, x)
    return whole_of


@formula("mean *")
def mean(evaluator, values):
    first = values[0]
    return same_unit(first, sum(convert(x, first.unit).number for x in values) / len(values))


@formula("length x")
def length(evaluator, x):
    return plain(len(x))


@formula("join list text")
def join(evaluator, list, text):
    return text.join(evaluator.words(x) for x in list)


@formula("concat *")
def concat(evaluator, values):
    return [item for part in values for item in part]


@formula("append list x")
def append(evaluator, list, x):
    return [*list, x]


@formula("map list formula")
def mapped(evaluator, list, formula):
    return [formula(*x) if isinstance(x, type(list)) else formula(x) for x in list]


@formula("filter list test")
def filtered(evaluator, list, test):
    answers = map(test, list) if callable(test) else test
    return [x for x, holds in zip(list, answers) if holds]


def _keys(evaluator, list, by):
    """What to sort or group by: a field's name, a formula or a list of values."""
    if callable(by):
        return [by(x) for x in list]
    if isinstance(by, str):
        return [x[by] if isinstance(x, dict) else property_of(x, by, evaluator.units) for x in list]
    return list if by is None else by


@formula("sort list by?")
def sorted_list(evaluator, list, by=None):
    keys = _keys(evaluator, list, by)

    def order(a, b):
        a, b = keys[a], keys[b]
        return compare(a, b) if isinstance(a, Quantity) else (a > b) - (a < b)

    return [list[place] for place in sorted(range(len(list)), key=functools.cmp_to_key(order))]


@formula("group list by?")
def group(evaluator, list, by=None):
    found = []
    for key, x in zip(_keys(evaluator, list, by), list):
        mine = next((part for part in found if evaluator.equal(part["key"], key)), None)
        if mine is None:
            found.append(mine := {"key": key, "items": []})
        mine["items"].append(x)
    return found


def _groups(found):
    """"0" is all of a match, "1", "2", … are its groups."""
    groups = {str(place): found[place] for place in range(found.re.groups + 1)}
    return {**groups, **found.groupdict()}


@formula("match text pattern")
def match(evaluator, text, pattern):
    found = re.search(pattern, text)
    return _groups(found) if found else None


@formula("find_all text pattern")
def find_all(evaluator, text, pattern):
    return [_groups(found) for found in re.finditer(pattern, text)]


@formula("replace text pattern with")
def replace(evaluator, text, pattern, strong):
    return re.sub(pattern, re.sub(r"\$\{?(\w+)\}?", r"\\g<\1>", strong), text)


@formula("split text pattern")
def split(evaluator, text, pattern):
    return re.split(pattern, text)


@formula("today")
def today(evaluator):
    return evaluator.today


@formula("upper text")
def upper(evaluator, text):
    return text.upper()


@formula("lower text")
def lower(evaluator, text):
    return text.lower()


@formula("quantity text")
def quantity(evaluator, text):
    return evaluator.evaluate(text)


@formula("tolerance x within")
def tolerance(evaluator, x, within):
    return x


@formula("correlated readings pairs")
def correlated(evaluator, readings, pairs):
    return readings


@formula("limited x low high what")
def limited(evaluator, x, low, high, what):
    if compare(x, low) < 0 or compare(x, high) > 0:
        raise Unclear(f"{what} out of range")
    return x


@formula("at_least x low what")
def at_least(evaluator, x, low, what):
    if compare(x, low) < 0:
        raise Unclear(f"{what} out of range")
    return x


@formula("range a b by?")
def range_of(evaluator, a, b, by=None):
    step = by or same_unit(a, 1.0)
    count = (convert(b, a.unit).number - a.number) / (convert(step, a.unit).number if not a.kind else step.number)
    return [same_unit(a, a.number + k * convert(step, a.unit).number) for k in range(int(count + 1e-9) + 1)]


@formula("named_entry entries name what more?")
def named_entry(evaluator, entries, name, what, more=None):
    return entries[name.lower()]


@formula("has_fields x names")
def has_fields(evaluator, x, names):
    return isinstance(x, dict) and all(name in x for name in names)


@formula("kind x")
def kind(evaluator, x):
    for kinds, word in ((bool, "truth"), (str, "text"), (list, "list"), (dict, "record"), (Liquid, "liquid"),
                        (datetime.date, "date")):
        if isinstance(x, kinds):
            return word
    if not isinstance(x, Quantity):
        return "none"
    if x.kind:
        return x.kind
    known = {(): "number", (("length", 3),): "volume", (("mass", 1),): "mass", (("strength", 1),): "strength",
             (("length", -3), ("mass", 1)): "concentration", (("pressure", 1),): "pressure", (("time", 1),): "time"}
    found = known.get(tuple(sorted(dimensions(x.unit, x.units).items())))
    if not found:
        raise Unclear(f"the kind of {x!r}")
    return found


@formula("text x")
def text(evaluator, x):
    return evaluator.words(x)


for _name, _part in (("year", "year"), ("month", "month"), ("day", "day")):
    formula(_name + " date")(lambda evaluator, date, part=_part: plain(getattr(date, part)))


@formula("weekday date")
def weekday(evaluator, date):
    return date.strftime("%A")


@formula("read file separator? decimal?")
def read(evaluator, file):
    """A column of dates or plain numbers; a heading such as gravity [SG] gives the unit; an empty cell is none."""
    if evaluator.folder is None:
        raise Unclear("no folder to read from")
    with open(evaluator.folder / file, encoding="utf-8", newline="") as opened:
        heads, *rows = csv.reader(opened)
    units = [re.fullmatch(r"(.+?)\s*\[(.+)\]", head.strip()) for head in heads]

    def cell(written, unit):
        if not written.strip():
            return None
        if re.fullmatch(r"\d{4}-\d\d-\d\d", written):
            return datetime.date.fromisoformat(written)
        try:
            return Quantity(float(written), ((unit[2], 1),) if unit else (), evaluator.units)
        except ValueError:
            return written

    names = [unit[1] if unit else head.strip() for head, unit in zip(heads, units)]
    return [dict(zip(names, map(cell, row, units))) for row in rows]


# ---- liquids ----


def property_of(l, name, units):
    unit_is_volume = l.unit and dimensions(((l.unit, 1),), units) == {"length": 3}
    unit_is_mass = l.unit and dimensions(((l.unit, 1),), units) == {"mass": 1}
    if name == "volume":
        x = Quantity(l.volume, (("L", 1),), units)
        return convert(x, ((l.unit, 1),)) if unit_is_volume else x
    if name == "mass":
        x = Quantity(l.mass, (("kg", 1),), units)
        return convert(x, ((l.unit, 1),)) if unit_is_mass else x
    per_litre = {"sugar": l.sugar, "sugar_most": l.dissolved - l.inert, "solids": l.dissolved, "acid": l.acid}
    if name in per_litre:
        return of(l.per_litre(per_litre[name]), "g/L")
    if name == "bitterness":
        return of(1000.0 * l.per_litre(l.bitter), "IBU")
    if name == "colour":
        return of(l.per_litre(l.colour), "EBC")
    if name in ("nitrogen", "sulphite"):
        return of(1000.0 * l.per_litre(getattr(l, name)), "mg/L")
    if name == "gravity":
        return of(l.gravity, "SG")
    if name == "strength":
        return of(l.strength, "%ABV")
    if name == "alcohol":
        return of(1000.0 * l.alcohol, "g")
    if name == "potential" and not l.alcohol:  # of what has fermented, the pages do not say what it counts
        return of(l.per_litre(l.sugar) / 16.83, "%ABV")
    if name == "energy":
        return of((29.0 * l.alcohol + 17.0 * l.dissolved) * 1000.0 / l.volume, "kJ/L")
    if name == "calories":
        return of((7.0 * l.alcohol + 4.0 * l.dissolved) * 1000.0 / l.volume, "kcal/L")
    if name == "density":
        return Quantity(l.mass / l.volume * 1000.0, (("kg", 1), ("m3", -1)))
    if name == "cost" and l.cost:
        return l.cost
    raise Unclear(f"the {name} of a liquid")


def with_fields(l, fields):
    given = {}
    for name, x in fields.items():
        if name in ("acid", "nitrogen", "sulphite"):
            given[name] = g_l(x) * l.volume / 1000.0
        elif name == "bitterness":
            given["bitter"] = g_l(x) * l.volume / 1000.0
        elif name == "colour":
            given["colour"] = ebc(x) * l.volume / 1000.0
        elif name == "sugar":
            given["sugar"] = g_l(x) * l.volume / 1000.0
            given["solids"] = l.dissolved - given["sugar"]
            given.update(assumed=0.0)
        elif name == "cost":
            given["cost"] = x
        else:
            raise Unclear(f"a liquid with another {name}")
    return dataclasses.replace(l, **given)


def portion(amount, l):
    """A volume or a mass of it, or a number of times it."""
    kinds = dimensions(amount.unit, amount.units)
    if not kinds:
        return l.scaled(simple(amount))
    if kinds == {"mass": 1}:
        times = grams(amount) / 1000.0 / l.mass
    elif kinds == {"length": 3}:
        times = litres(amount) / l.volume
    else:
        raise Unclear(f"{amount!r} of a liquid")
    unit = amount.unit[0][0] if len(amount.unit) == 1 else ""
    return dataclasses.replace(l.scaled(times), unit=unit)


def shown_parts(l, units):
    """The quantities that a liquid is shown with."""
    if l.form == "dry":
        return [property_of(l, "mass", units)]
    of_beer = [name for name, amount in (("bitterness", l.bitter), ("colour", l.colour)) if amount > 0]
    return [property_of(l, name, units) for name in ("volume", "gravity", "strength", *of_beer)]


def _riders(volume, acid=None, nitrogen=None, sulphite=None, cost=None, bitterness=None, colour=None):
    litre = volume / 1000.0
    return {"acid": g_l(acid, 0.0) * litre, "nitrogen": g_l(nitrogen, 0.0) * litre, "sulphite": g_l(sulphite, 0.0) * litre,
            "bitter": g_l(bitterness, 0.0) * litre, "colour": ebc(colour, 0.0) * litre, "cost": cost}


def _of_size(make, volume, mass, **riders):
    """By volume, or by mass: as much as that mass takes up."""
    if mass is not None:
        size = grams(mass) / 1000.0 / make(1.0).mass
        return dataclasses.replace(make(size, **_riders(size, **riders)), unit=mass.unit[0][0])
    size = litres(volume) if volume is not None else 1.0
    return dataclasses.replace(make(size, **_riders(size, **riders)), unit=volume.unit[0][0] if volume is not None else "L")


@formula("juice gravity volume? acid? nitrogen? unfermentable? cost? mass? bitterness? colour?")
def juice(evaluator, gravity, volume=None, unfermentable=None, mass=None, **riders):
    share = share_of(unfermentable)
    return _of_size(lambda size, **more: liquids.juice(sg(gravity), size, share, **more), volume, mass, **riders)


@formula("water volume? mass? cost?")
def water(evaluator, volume=None, mass=None, cost=None):
    return _of_size(lambda size, **more: Liquid(water=size * physics.WATER / 1000.0, **more), volume, mass, cost=cost)


@formula("spirit strength volume? cost? mass?")
def spirit(evaluator, strength, volume=None, cost=None, mass=None):
    return _of_size(lambda size, **more: liquids.spirit(abv_of(strength), size, **more), volume, mass, cost=cost)


@formula("liquid volume? gravity strength? sugar? acid? nitrogen? sulphite? cost? mass? floor? bitterness? colour?")
def liquid(evaluator, gravity, volume=None, strength=None, sugar=None, mass=None, floor=None, **riders):
    def make(size, **more):
        made = liquids.measured(size, sg(gravity), abv_of(strength, 0.0), g_l(sugar), **more)
        return made if floor is None else liquids.with_floor(made, sg(floor))
    return _of_size(make, volume, mass, **riders)


def _dry(mass, share, cost, **more):
    size = grams(mass, 1000.0) / 1000.0
    return Liquid(water=size * (1.0 - share), sugar=size * share, cost=cost, form="dry", unit=mass.unit[0][0] if mass else "kg", **more)


@formula("sugar mass? cost?")
def sugar(evaluator, mass=None, cost=None):
    return _dry(mass, 1.0, cost)


@formula("dextrose mass? cost?")
def dextrose(evaluator, mass=None, cost=None):
    return _dry(mass, 10.0 / 11.0, cost)


@formula("honey mass? water? unfermentable? cost?")
def honey(evaluator, mass=None, water=None, unfermentable=None, cost=None):
    size, wet = grams(mass, 1000.0) / 1000.0, share_of(water, 0.17)
    stays = (1.0 - wet) * size * share_of(unfermentable, 0.06)
    return Liquid(water=wet * size, sugar=(1.0 - wet) * size - stays, solids=stays, cost=cost, form="honey",
                  assumed=0.0 if unfermentable else stays, unit=mass.unit[0][0] if mass else "kg")


@formula("ferment l to? tolerance? attenuation? floor?")
def ferment(evaluator, l, end=None, tolerance=None, attenuation=None, floor=None):
    return liquids.ferment(l, sg(end), abv_of(tolerance),
                           share_of(attenuation), sg(floor))


@formula("take l amount")
def take(evaluator, l, amount):
    return dataclasses.replace(portion(amount, l), unit=amount.unit[0][0])


@formula("resize l amount")
def resize(evaluator, l, amount):
    return portion(amount, l)


@formula("lose l amount")
def lose(evaluator, l, amount):
    """It keeps its whole cost."""
    gone = portion(amount, l)
    return dataclasses.replace(l.scaled(1.0 - gone.mass / l.mass), cost=l.cost)


@formula("bottle_sugar l floor?")
def bottle_sugar(evaluator, l, floor=None):
    return of(l.per_litre(fermentable(l, floor)), "g/L")


def fermentable(l, floor=None):
    """kg that may ferment in a closed bottle."""
    if floor is not None:
        return liquids.with_floor(l, sg(floor)).sugar
    return l.dissolved - l.inert


def _dried(l, water):
    return dataclasses.replace(l, water=l.water - water)


@formula("without_water l water")
def without_water(evaluator, l, water):
    return _dried(l, grams(water) / 1000.0)


@formula("evaporate liquid to")
def evaporate(evaluator, liquid, end):
    """Water leaves, and nothing else."""
    if end.kind == "gravity":
        return _dried(liquid, liquid.mass - 100.0 * liquid.dissolved / number_in(end, "°Bx"))
    most = liquid.mass - max(liquid.dissolved / 0.85, 0.01 * liquid.water)
    gone = physics.solve(lambda water: _dried(liquid, water).volume - litres(end), 0.0, most)
    return dataclasses.replace(_dried(liquid, gone), unit=end.unit[0][0])


@formula("needs_floor l")
def needs_floor(evaluator, l):
    """Is its gravity lower than 10 % of a juice's solids allow?"""
    return l.disproved
