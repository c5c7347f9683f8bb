# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The formulas of docs/reference/library.md, written a second time from the sources it names, for evaluate.py. A formula that
is not here makes the expression Unclear; tests/working/test_recompute.py says why it is left out."""

import csv
import dataclasses
import datetime
import math
import re

import liquids
import physics
from liquids import Liquid
from quantities import Quantity, Unclear, add, compare, convert, dimensions, multiply, number_in, plain, rounded, simple

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


@formula("range a b by?")
def range_of(evaluator, a, b, by=None):
    step = by or same_unit(a, 1.0)
    count = (convert(b, a.unit).number - a.number) / (convert(step, a.unit).number if not a.kind else step.number)
    return [same_unit(a, a.number + k * convert(step, a.unit).number) for k in range(int(count + 1e-9) + 1)]


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
    if name in ("nitrogen", "sulphite"):
        return of(1000.0 * l.per_litre(getattr(l, name)), "mg/L")
    if name == "gravity":
        return of(l.gravity, "SG")
    if name == "strength":
        return of(l.strength, "%ABV")
    if name == "alcohol":
        return of(1000.0 * l.alcohol, "g")
    if name == "potential":
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
        elif name == "sugar":
            given["sugar"] = g_l(x) * l.volume / 1000.0
            given["solids"] = l.dissolved - given["sugar"]
            given.update(assumed=0.0, inert=given["solids"])
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
    return [property_of(l, name, units) for name in ("volume", "gravity", "strength")]


def _riders(volume, acid=None, nitrogen=None, sulphite=None, cost=None):
    litre = volume / 1000.0
    return {"acid": g_l(acid, 0.0) * litre, "nitrogen": g_l(nitrogen, 0.0) * litre, "sulphite": g_l(sulphite, 0.0) * litre,
            "cost": cost}


def _of_size(make, volume, mass, **riders):
    """By volume, or by mass: as much as that mass takes up."""
    if mass is not None:
        size = grams(mass) / 1000.0 / make(1.0).mass
        return dataclasses.replace(make(size, **_riders(size, **riders)), unit=mass.unit[0][0])
    size = litres(volume) if volume is not None else 1.0
    return dataclasses.replace(make(size, **_riders(size, **riders)), unit=volume.unit[0][0] if volume is not None else "L")


@formula("juice gravity volume? acid? nitrogen? unfermentable? cost? mass?")
def juice(evaluator, gravity, volume=None, unfermentable=None, mass=None, **riders):
    share = share_of(unfermentable)
    return _of_size(lambda size, **more: liquids.juice(sg(gravity), size, share, **more), volume, mass, **riders)


@formula("water volume? mass? cost?")
def water(evaluator, volume=None, mass=None, cost=None):
    return _of_size(lambda size, **more: Liquid(water=size * physics.WATER / 1000.0, **more), volume, mass, cost=cost)


@formula("spirit strength volume? cost? mass?")
def spirit(evaluator, strength, volume=None, cost=None, mass=None):
    return _of_size(lambda size, **more: liquids.spirit(abv_of(strength), size, **more), volume, mass, cost=cost)


@formula("liquid volume? gravity strength? sugar? acid? nitrogen? sulphite? cost? mass? floor?")
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
    return of(l.per_litre(_bottle_sugar(l, floor)), "g/L")


def _bottle_sugar(l, floor=None):
    """kg that may ferment in a closed bottle."""
    if floor is not None:
        return liquids.with_floor(l, sg(floor)).sugar
    return l.dissolved - l.inert


@formula("needs_floor l")
def needs_floor(evaluator, l):
    """Is its gravity lower than 10 % of a juice's solids allow?"""
    return l.disproved


# ---- strength and attenuation ----


@formula("abv original final")
def abv(evaluator, original, final):
    return of(physics.abv(sg(original), sg(final)), "%ABV")


@formula("abv_quick original final")
def abv_quick(evaluator, original, final):
    return of(131.25 * (sg(original) - sg(final)), "%ABV")


@formula("final_gravity original strength")
def final_gravity(evaluator, original, strength):
    masses = physics.must_masses(sg(original))
    most = masses[2] / physics.SOLIDS_TO_ALCOHOL
    e = physics.solve(lambda e: physics.strength_of_masses(*physics.fermented(*masses, e)) - abv_of(strength), 0.0, most)
    return of(physics.gravity_of_masses(*physics.fermented(*masses, e)), "SG")


@formula("original_gravity final strength")
def original_gravity(evaluator, final, strength):
    done = liquids.measured(1.0, sg(final), abv_of(strength))
    solids = done.dissolved + physics.SOLIDS_TO_ALCOHOL * done.alcohol
    return of(physics.gravity_of_brix(100.0 * solids / (done.water + solids)), "SG")


@formula("attenuation original final")
def attenuation(evaluator, original, final):
    return of(100.0 * (1.0 - number_in(final, "°P") / number_in(original, "°P")), "%")


@formula("real_attenuation original final")
def real_attenuation(evaluator, original, final):
    """The share of solids by mass: 2.0665 g of them are gone for each g of alcohol."""
    masses = physics.must_masses(sg(original))
    return of(100.0 * physics.SOLIDS_TO_ALCOHOL * physics.formed_at_gravity(masses, sg(final)) / masses[2], "%")


@formula("potential gravity unfermentable?")
def potential(evaluator, gravity, unfermentable=None):
    share = share_of(unfermentable, liquids.UNFERMENTABLE)
    return of(physics.solids_of_gravity(sg(gravity)) * (1.0 - share) / 16.83, "%ABV")


# ---- readings ----


@formula("hydrometer reading at calibrated?")
def hydrometer(evaluator, reading, at, calibrated=None):
    return convert(of(physics.hydrometer(sg(reading), celsius(at), celsius(calibrated, 20.0)), "SG"), reading.unit)


@formula("alcoholmeter reading at calibrated?")
def alcoholmeter(evaluator, reading, at, calibrated=None):
    return of(physics.alcoholmeter(abv_of(reading), celsius(at), celsius(calibrated, 20.0)), "%ABV")


@formula("refractometer reading original")
def refractometer(evaluator, reading, original):
    return of(physics.refractometer(number_in(reading, "°Bx"), sg(original)), "SG")


@formula("sugar_of gravity")
def sugar_of(evaluator, gravity):
    return of(physics.solids_of_gravity(sg(gravity)), "g/L")


# ---- acid, sulphite, sorbate, nitrogen ----

EQUIVALENT = {"malic": 67.04, "tartaric": 75.04, "citric": 64.04, "citric monohydrate": 70.05, "lactic": 90.08, "acetic": 60.05,
              "sulphuric": 49.04}


@formula("titratable titrant normality sample acid?")
def titratable(evaluator, titrant, normality, sample, acid="malic"):
    return of(litres(titrant) * simple(normality) * EQUIVALENT[acid] / litres(sample), "g/L")


@formula("acid_as amount from to")
def acid_as(evaluator, amount, start, end):
    return same_unit(amount, amount.number * EQUIVALENT[end] / EQUIVALENT[start])


@formula("acid_dose volume add")
def acid_dose(evaluator, volume, add):
    return of(litres(volume) * g_l(add), "g")


@formula("deacidify_dose volume drop with?")
def deacidify_dose(evaluator, volume, drop, strong="bicarbonate"):
    """KHCO3 100.115 for one equivalent of malic acid, CaCO3 100.086 for two."""
    per_gram = {"bicarbonate": 100.115 / 67.04, "carbonate": 100.086 / 134.08}[strong]
    return of(litres(volume) * g_l(drop) * per_gram, "g")


@formula("metabisulphite_dose volume add share?")
def metabisulphite_dose(evaluator, volume, add, share=None):
    return of(litres(volume) * g_l(add) / share_of(share, 0.576), "g")


@formula("sorbate_dose volume sorbic?")
def sorbate_dose(evaluator, volume, sorbic=None):
    return of(litres(volume) * g_l(sorbic, 0.2) * 150.22 / 112.13, "g")


def _ionised(pH, pK, strength, at):
    if pK is not None:
        constant = simple(pK)
    elif strength is None and at is None:
        constant = 1.81
    else:
        constant = physics.sulphite_pk(abv_of(strength, 4.5), celsius(at, 20.0))
    return 1.0 + 10.0 ** (number_in(pH, "pH") - constant)


@formula("molecular_so2 free pH pK? strength? at?")
def molecular_so2(evaluator, free, pH, pK=None, strength=None, at=None):
    return of(1000.0 * g_l(free) / _ionised(pH, pK, strength, at), "mg/L")


@formula("free_so2 molecular pH pK? strength? at?")
def free_so2(evaluator, molecular, pH, pK=None, strength=None, at=None):
    return of(1000.0 * g_l(molecular) * _ionised(pH, pK, strength, at), "mg/L")


@formula("nitrogen_need gravity demand? unfermentable?")
def nitrogen_need(evaluator, gravity, demand="medium", unfermentable=None):
    rate = {"low": 0.75, "medium": 0.90, "high": 1.25}[demand] if isinstance(demand, str) else number_in(demand, "mg", ("g", -1))
    share = share_of(unfermentable, liquids.UNFERMENTABLE)
    return of(rate * physics.solids_of_gravity(sg(gravity)) * (1.0 - share), "mg/L")


@formula("dap_dose volume add")
def dap_dose(evaluator, volume, add):
    return of(litres(volume) * g_l(add) * 132.06 / 28.014, "g")


@formula("nutrient_steps dose original steps? unfermentable?")
def nutrient_steps(evaluator, dose, original, steps=None, unfermentable=None):
    """Half at the start, the rest evenly over the first third of the sugar."""
    count = int(simple(steps)) if steps else 3
    must = liquids.juice(sg(original), 1.0, share_of(unfermentable, liquids.UNFERMENTABLE))
    if count == 1:
        return [{"dose": dose, "at": original}]
    found = [{"dose": same_unit(dose, dose.number / 2), "at": original}]
    for k in range(1, count):
        e = must.sugar * k / (count - 1) / 3 / physics.SOLIDS_TO_ALCOHOL
        at = of(physics.gravity_of_masses(*physics.fermented(*must.masses, e)), "SG")
        found.append({"dose": same_unit(dose, dose.number / 2 / (count - 1)), "at": at})
    return found


# ---- carbon dioxide ----

YIELD = {"sucrose": 0.5143, "glucose": 0.4886, "dextrose": 0.4442}  # g of CO2 from 1 g, by molar masses


def _as_gauged(kilopascals, at):
    """In psi where the temperature was read in °F."""
    x = of(kilopascals, "kPa")
    return convert(x, (("psi", 1),)) if at.unit == (("°F", 1),) else x


@formula("water_vapour at")
def water_vapour(evaluator, at):
    return of(physics.water_vapour(celsius(at)), "kPa")


@formula("co2_solubility at pressure? strength? sugar?")
def co2_solubility(evaluator, at, pressure=None, strength=None, sugar=None):
    return of(physics.co2_dissolved(celsius(at), kilopascals(pressure, physics.ATM),
                                    abv_of(strength, 0.0), g_l(sugar, 0.0)), "g/L")


@formula("residual_carbonation at strength?")
def residual_carbonation(evaluator, at, strength=None):
    return of(physics.co2_dissolved(celsius(at), physics.ATM, abv_of(strength, 6.0)) / 1.9768, "vols")


@formula("keg_pressure at carbonation strength? sugar? ambient?")
def keg_pressure(evaluator, at, carbonation, strength=None, sugar=None, ambient=None):
    inside = physics.co2_pressure(celsius(at), g_l(carbonation), abv_of(strength, 6.0), g_l(sugar, 0.0))
    outside = kilopascals(ambient, physics.ATM)
    return _as_gauged(inside + physics.water_vapour(celsius(at)) - outside, at)


@formula("carbonation pressure at strength? sugar? ambient?")
def carbonation(evaluator, pressure, at, strength=None, sugar=None, ambient=None):
    absolute = kilopascals(pressure) + kilopascals(ambient, physics.ATM) - physics.water_vapour(celsius(at))
    return of(physics.co2_dissolved(celsius(at), absolute, abv_of(strength, 6.0), g_l(sugar, 0.0)) / 1.9768, "vols")


def _contents(x, strength, floor):
    """What a bottle holds: g/L that ferment, %ABV afterwards, g/L of solids that stay."""
    if isinstance(x, Liquid):
        sweet, all_solids = x.per_litre(_bottle_sugar(x, floor)), x.per_litre(x.dissolved)
        inside = x.strength + sweet / 16.83
        return sweet, inside if strength is None else max(abv_of(strength), x.strength), max(all_solids - sweet, 0.0)
    return g_l(x), abv_of(strength, 6.0), 0.0


def _sealed(at, dissolved, strength, solids):
    """Gauge pressure in kPa."""
    return physics.co2_pressure(at, dissolved, strength, solids) + physics.water_vapour(at) - physics.ATM


@formula("bottle_pressure sugar at residual? with? strength? warmest? floor?")
def bottle_pressure(evaluator, sugar, at, residual=None, strong="sucrose", strength=None, warmest=None, floor=None):
    sweet, alcohol, solids = _contents(sugar, strength, floor)
    if residual is not None:
        left = g_l(residual)
    else:
        left = physics.co2_dissolved(celsius(warmest, 10.0), physics.ATM, alcohol)
    made = sweet * YIELD["sucrose" if isinstance(sugar, Liquid) else strong]
    return _as_gauged(_sealed(celsius(at), made + left, alcohol, solids), at)


@formula("priming_dose volume carbonation at with? strength? floor?")
def priming_dose(evaluator, volume, carbonation, at, strong="sucrose", strength=None, floor=None):
    if isinstance(volume, Liquid):
        sweet, alcohol, _ = _contents(volume, strength, floor)
        amount = volume.volume
    else:
        sweet, alcohol, amount = 0.0, abv_of(strength, 6.0), litres(volume)
    made = physics.co2_dissolved(celsius(at), physics.ATM, alcohol) + YIELD["sucrose"] * sweet
    return of(amount * max(g_l(carbonation) - made, 0.0) / YIELD[strong], "g")


@formula("bottle_verdict l rated warmest? floor?")
def bottle_verdict(evaluator, l, rated, warmest=None, floor=None):
    """Without a ±: within 6 bar at 20 °C and, with the air shut in and 15 % less CO2 dissolved, within the rating at 30 °C,
    with one point of gravity more (2.2 g/L of sugar)."""
    sweet, alcohol, solids = _contents(l, None, floor)
    all_solids = l.per_litre(l.dissolved) + physics.SOLIDS_TO_ALCOHOL * 7.892 * l.strength
    if floor is None and needs_floor(evaluator, l) or (l.per_litre(l.dissolved) - sweet) / all_solids > 0.25:
        raise Unclear("no verdict")
    gas = YIELD["sucrose"] * sweet + physics.co2_dissolved(celsius(warmest, 10.0), physics.ATM, alcohol)
    doubt = gas + 2.2 * YIELD["sucrose"]
    warm = _sealed(20.0, doubt, alcohol, solids) / 100.0
    worst = (_sealed(30.0, doubt / 0.85, alcohol, solids) + physics.ATM) / 100.0
    rating = number_in(rated, "bar")
    if warm > 6.0:
        reason = f"it may reach {rounded(warm, 2)} bar at 20 °C, and the limit is 6 bar"
    else:
        how = "it stays below" if worst <= rating else "it may reach"
        side = "within" if worst <= rating else "above"
        reason = f"{how} {rounded(worst, 2)} bar at 30 °C with the air shut in, {side} the rating of {evaluator.words(of(rating, 'bar'))}"
    return {"fits": warm <= 6.0 and worst <= rating, "reason": reason, "sugar": of(sweet, "g/L"),
            "at_20": of(_sealed(20.0, gas, alcohol, solids) / 100.0, "bar"),
            "at_30": of(_sealed(30.0, gas, alcohol, solids) / 100.0, "bar")}


# ---- pouring, sweetening, serving ----


@formula("sweeten_dose l target")
def sweeten_dose(evaluator, l, target):
    return of(1000.0 * liquids.needed(l, Liquid(sugar=1.0, form="dry"), sg(target), "gravity"), "g")


def _needed_volume(l, strong, target, units):
    times = liquids.needed(l, strong, abv_of(target), "strength")
    x = Quantity(times * strong.volume, (("L", 1),), units)
    volume = l.unit and dimensions(((l.unit, 1),), units) == {"length": 3}
    return convert(x, ((l.unit, 1),)) if volume else x


@formula("spirit_needed l with target")
def spirit_needed(evaluator, l, strong, target):
    return _needed_volume(l, strong, target, evaluator.units)


@formula("water_needed l target")
def water_needed(evaluator, l, target):
    return _needed_volume(l, Liquid(water=physics.WATER / 1000.0), target, evaluator.units)


@formula("fortify l with target")
def fortify(evaluator, l, strong, target):
    return liquids.poured(l, strong.scaled(liquids.needed(l, strong, abv_of(target), "strength")))


@formula("wood_dose volume rate")
def wood_dose(evaluator, volume, rate):
    return of(litres(volume) * g_l(rate), "g")


@formula("spirit_left spirit wood uptake")
def spirit_left(evaluator, spirit, wood, uptake):
    return add(spirit, multiply(wood, uptake), -1)


@formula("steeping_start rack time")
def steeping_start(evaluator, rack, time):
    days = number_in(time, "day")
    return rack - datetime.timedelta(days=int(whole(days) if whole(days) is not None else math.ceil(days)))


@formula("servings volume size")
def servings(evaluator, volume, size):
    return plain(litres(volume) / litres(size))


@formula("standard_drinks l size alcohol?")
def standard_drinks(evaluator, l, size, alcohol=None):
    return plain(portion(size, l).alcohol * 1000.0 / grams(alcohol, 14.0))


@formula("serving_energy l size")
def serving_energy(evaluator, l, size):
    glass = portion(size, l)
    return {"kJ": of(29e3 * glass.alcohol + 17e3 * glass.dissolved, "kJ"), "kcal": of(7e3 * glass.alcohol + 4e3 * glass.dissolved, "kcal")}


@formula("serving_cost l size")
def serving_cost(evaluator, l, size):
    return portion(size, l).cost


# ---- blending and measuring out ----


@formula("scale recipe from to")
def scale(evaluator, recipe, start, end):
    times = convert(end, start.unit).number / start.number
    scaled_kinds = ({"length": 3}, {"mass": 1})

    def grown(x):
        if isinstance(x, Liquid):
            return x.scaled(times)
        if isinstance(x, dict):
            return {key: grown(item) for key, item in x.items()}
        if isinstance(x, list):
            return [grown(item) for item in x]
        if isinstance(x, Quantity):
            kinds = dimensions(x.unit, x.units)
            if kinds in scaled_kinds or len(kinds) == 1 and next(iter(kinds)).split()[0] in ("money", "count"):
                return same_unit(x, x.number * times)
        return x

    return grown(recipe)


@formula("parts high low target")
def parts(evaluator, high, low, target):
    if target.kind == "gravity":
        unit = "°Bx" if target.unit[0][0] in ("°Bx", "°P") else "SG"
        ends, size = [number_in(x, unit) for x in (high, low, target)], 1000.0 if unit == "SG" else 1.0
        return {"high": plain(size * (ends[2] - ends[1])), "low": plain(size * (ends[0] - ends[2]))}
    return {"high": plain(target.number - convert(low, target.unit).number), "low": plain(convert(high, target.unit).number - target.number)}


@formula("trial_dose sample dose batch")
def trial_dose(evaluator, sample, dose, batch):
    return same_unit(dose, dose.number * convert(batch, sample.unit).number / sample.number)


@formula("measure x step")
def measure(evaluator, x, step):
    return same_unit(step, max(half_away(convert(x, step.unit).number / step.number), 1.0) * step.number)


@formula("measure_up x step")
def measure_up(evaluator, x, step):
    return same_unit(step, max(ceil(evaluator, plain(convert(x, step.unit).number / step.number)).number, 1.0) * step.number)


@formula("spoons mass per?")
def spoons(evaluator, mass, per=None):
    return of(grams(mass) / (number_in(per, "g", ("tsp", -1)) if per else 5.0), "tsp")


@formula("mix_temperature volume_a at_a volume_b at_b")
def mix_temperature(evaluator, volume_a, at_a, volume_b, at_b):
    b = convert(volume_b, volume_a.unit).number
    share = b / (volume_a.number + b)
    return convert(of(celsius(at_a) + share * (celsius(at_b) - celsius(at_a)), "°C"), at_a.unit)


@formula("log_slope log over?")
def log_slope(evaluator, log, over=None):
    """A straight line by least squares through the readings of the last `over`, never fewer than three."""
    days = [(row["when"] - log[0]["when"]).days for row in log]
    span = number_in(over, "day") if over else 7.0
    used = [k for k, day in enumerate(days) if day >= max(days) - span - 1e-9]
    used = used if len(used) >= 3 else range(max(0, len(days) - 3), len(days))
    x, y = [days[k] for k in used], [1000.0 * sg(log[k]["gravity"]) for k in used]
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    slope = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y)) / sum((a - mean_x) ** 2 for a in x)
    return of(slope, "pts/day")


@formula("curve_gravity curve at")
def curve_gravity(evaluator, curve, at):
    """A logistic or a Gompertz curve by its steepest fall and when that is (Zwietering et al. 1990, from memory)."""
    days = (at - curve["began"]).days if isinstance(at, datetime.date) else number_in(at, "day")
    start, end, after = sg(curve["start"]), sg(curve["final"]), days - number_in(curve["middle"], "day")
    pace = number_in(curve["steepest"], "pts", ("day", -1)) / (1000.0 * (start - end)) * after
    if curve["shape"] == "Gompertz":
        fallen = math.exp(-math.exp(-math.e * pace))
    else:
        fallen = 1.0 / (1.0 + math.exp(-4.0 * pace))
    return of(start - (start - end) * fallen, "SG")
