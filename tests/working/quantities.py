# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Quantities with units, as docs/reference/language.md describes them: the units by their published definitions, the scales
that are not straight lines by physics.py, and how a quantity prints. Nothing is shared with the C code."""

import math
from decimal import ROUND_HALF_EVEN, Decimal

import physics


class Unclear(Exception):
    """The text cannot be worked out; says why."""


# One of each in the base unit of its kind: dm³ (L), g, s, dm, C°, points, %ABV, kPa, kJ.
_INCH = 0.254  # dm, NIST SP 811
_GALLON = 231 * _INCH**3  # NIST Handbook 44
_POUND = 453.59237  # NIST SP 811
_IMPERIAL = 4.54609  # NIST SP 811
_POUND_FORCE = _POUND / 1000.0 * 9.80665  # N

_VOLUME = {"L": 1, "mL": 1e-3, "cL": 1e-2, "dL": 0.1, "hL": 100, "m3": 1000, "gal": _GALLON, "qt": _GALLON / 4,
           "pt": _GALLON / 8, "cup": _GALLON / 16, "floz": _GALLON / 128, "tbsp": _GALLON / 256, "tsp": _GALLON / 768,
           "bbl": 31 * _GALLON, "igal": _IMPERIAL, "iqt": _IMPERIAL / 4, "ipt": _IMPERIAL / 8, "ifloz": _IMPERIAL / 160}
_MASS = {"kg": 1000, "g": 1, "mg": 1e-3, "tonne": 1e6, "lb": _POUND, "oz": _POUND / 16, "gr": _POUND / 7000, "meq": 0.05004}
_LENGTH = {"m": 10, "cm": 0.1, "mm": 0.01, "inch": _INCH, "ft": 12 * _INCH}
_TIME = {"s": 1, "min": 60, "h": 3600, "day": 86400, "week": 604800}
_PRESSURE = {"kPa": 1, "Pa": 1e-3, "bar": 100, "psi": _POUND_FORCE / 0.0254**2 / 1000.0, "atm": 101.325,
             "mmHg": 13.5951 * 9.80665 / 1000.0}
_STRENGTHS = ("%ABV", "%ABW", "proof")
READINGS = {"°C": "temperature", "°F": "temperature", "K": "temperature", "SG": "gravity", "°Bx": "gravity", "°P": "gravity",
            "°Oe": "gravity", "°Be": "gravity", "pH": "acidity"}
DIFFERENCE = {"temperature": "C°", "gravity": "pts"}
SAME = {"degC": "°C", "degF": "°F", "Bx": "°Bx", "Plato": "°P", "Oe": "°Oe", "Baume": "°Be", "Cdeg": "C°", "Fdeg": "F°", "dH": "°dH", "Lov": "°L"}

# name -> (factor, ((dimension, power), …))
UNITS = {"%": (0.01, ())}
for _table, _dimensions in ((_VOLUME, (("length", 3),)), (_MASS, (("mass", 1),)), (_LENGTH, (("length", 1),)),
                            (_TIME, (("time", 1),)), (_PRESSURE, (("pressure", 1),)),
                            ({"kJ": 1, "J": 1e-3, "kcal": 4.184}, (("energy", 1),)),
                            ({"C°": 1, "F°": 1 / 1.8}, (("degree", 1),)), ({"pts": 1}, (("point", 1),)),
                            ({"month": 1}, (("month", 1),)),
                            ({"ppm": 1e-3, "vols": 1.9768, "IBU": 1e-3, "°dH": 17.85e-3}, (("length", -3), ("mass", 1))),
                            ({"W": 1e-3, "kW": 1}, (("energy", 1), ("time", -1))),
                            ({"EBC": 12.7 / 25, "SRM": 1}, (("colour", 1),)), ({"PU": 1}, (("pasteurisation", 1),)),
                            ({"Gcell": 1e9, "Mcell": 1e6}, (("cell", 1),))):
    UNITS.update({name: (factor, _dimensions) for name, factor in _table.items()})
UNITS["°L"] = (1.0, (("colour", 1),))
for _name in _STRENGTHS:
    UNITS[_name] = (1.0, (("strength", 1),))
for _name, _kind in READINGS.items():
    UNITS[_name] = (1.0, (("reading of " + _kind, 1),))
BUILT = {"ppm": (("g", 1), ("L", -1)), "IBU": (("mg", 1), ("L", -1)), "°dH": (("mg", 1), ("L", -1)), "vols": (("g", 1), ("L", -1))}  # what they are taken apart into


class Quantity:
    """A number and its unit, a tuple of (name, power) as written."""

    __slots__ = ("number", "unit", "units")

    def __init__(self, number, unit=(), units=UNITS):
        self.number, self.unit, self.units = float(number), tuple(unit), units

    def __repr__(self):
        return f"{self.number!r} {unit_text(self.unit)}".strip()

    @property
    def kind(self):
        """As a reading, else None."""
        return READINGS.get(self.unit[0][0]) if len(self.unit) == 1 and self.unit[0][1] == 1 else None


def plain(number):
    return Quantity(number)


def dimensions(unit, units):
    total = {}
    for name, power in unit:
        for dimension, times in units[name][1]:
            total[dimension] = total.get(dimension, 0) + times * power
    return {dimension: power for dimension, power in total.items() if power}


def factor(unit, units):
    return math.prod(units[name][0] ** power for name, power in unit)


def unit_text(unit):
    """g/L, pts/day, m/s^2, L^-1."""
    def one(name, power):
        return name if power == 1 else f"{name}^{power}"
    over = "·".join(one(name, power) for name, power in unit if power > 0)
    if not over:
        return "·".join(one(name, power) for name, power in unit)
    return over + "".join("/" + one(name, -power) for name, power in unit if power < 0)


# ---- scales ----

_TO_C = {"°C": lambda x: x, "°F": lambda x: (x - 32) / 1.8, "K": lambda x: x - 273.15}
_FROM_C = {"°C": lambda x: x, "°F": lambda x: x * 1.8 + 32, "K": lambda x: x + 273.15}
_TO_SG = {"SG": lambda x: x, "°Bx": physics.gravity_of_brix, "°P": physics.gravity_of_brix, "°Oe": lambda x: 1 + x / 1000,
          "°Be": lambda x: 145 / (145 - x)}
_FROM_SG = {"SG": lambda x: x, "°Bx": physics.brix_of_gravity, "°P": physics.brix_of_gravity, "°Oe": lambda x: 1000 * (x - 1),
            "°Be": lambda x: 145 - 145 / x}
_TO_ABV = {"%ABV": lambda x: x, "%ABW": lambda x: 100 * physics.volume_share(x / 100), "proof": physics.abv_of_proof}
_FROM_ABV = {"%ABV": lambda x: x, "%ABW": lambda x: 100 * physics.mass_share(x / 100), "proof": physics.proof_of_abv}
# Colours by way of SRM; °L after common practice.
_TO_SRM = {"SRM": lambda x: x, "EBC": lambda x: x * 12.7 / 25, "°L": lambda x: 1.3546 * x - 0.76}
_FROM_SRM = {"SRM": lambda x: x, "EBC": lambda x: x * 25 / 12.7, "°L": lambda x: (x + 0.76) / 1.3546}
_SCALES = {name: (to, back) for tos, backs in ((_TO_C, _FROM_C), (_TO_SG, _FROM_SG), (_TO_ABV, _FROM_ABV), (_TO_SRM, _FROM_SRM))
           for name in tos for to, back in ((tos[name], backs),)}


def convert(x, unit):
    """x in another unit of its kind."""
    if x.unit == unit:
        return x
    mine, wanted = dimensions(x.unit, x.units), dimensions(unit, x.units)
    if mine != wanted:
        raise Unclear(f"{x!r} cannot be told in {unit_text(unit) or 'plain numbers'}")
    if len(x.unit) == 1 and len(unit) == 1 and x.unit[0][0] in _SCALES and x.unit[0][1] == 1:
        to, backs = _SCALES[x.unit[0][0]]
        return Quantity(backs[unit[0][0]](to(x.number)), unit, x.units)
    return Quantity(x.number * (factor(x.unit, x.units) / factor(unit, x.units)), unit, x.units)


def number_in(x, *unit):
    """Its number in a unit, given by name or as (name, power), …"""
    return convert(x, tuple((part, 1) if isinstance(part, str) else part for part in unit)).number


def simple(x):
    """Of a plain number or percentage, its value."""
    return convert(x, ()).number


# ---- arithmetic ----


def add(a, b, sign=1):
    if a.kind and b.kind:
        if sign > 0:
            raise Unclear("two readings cannot be added")
        base = {"temperature": "°C", "gravity": "SG"}[a.kind]
        size = 1000 if a.kind == "gravity" else 1
        difference = Quantity(size * (number_in(a, base) - number_in(b, base)), ((DIFFERENCE[a.kind], 1),), a.units)
        return convert(difference, (("F°", 1),)) if a.unit[0][0] == "°F" else difference
    if a.kind:
        step = number_in(b, DIFFERENCE[a.kind])
        base = {"temperature": "°C", "gravity": "SG"}[a.kind]
        moved = number_in(a, base) + sign * (step / 1000 if a.kind == "gravity" else step)
        return convert(Quantity(moved, ((base, 1),), a.units), a.unit)
    if b.kind:
        if sign < 0:
            raise Unclear("a reading cannot be taken from an amount")
        return add(b, a)
    if not a.unit or not b.unit:
        return plain(simple(a) + sign * simple(b))
    return Quantity(a.number + sign * convert(b, a.unit).number, a.unit, a.units)


def _apart(unit, number):
    """Built units such as vols in their parts."""
    parts = []
    for name, power in unit:
        if name in BUILT:
            number *= UNITS[name][0] ** power
            parts += [(part, times * power) for part, times in BUILT[name]]
        else:
            parts.append((name, power))
    return parts, number


def multiply(a, b, power=1):
    """a * b, or a / b with power -1. Units of one kind cancel, the right one being converted to the left one."""
    for x in (a, b):
        if x.kind:
            raise Unclear(f"{x!r} is a reading, and is not multiplied")
    if power < 0 and b.number == 0:
        raise Unclear("division by zero")
    if a.unit == (("%", 1),) and not b.unit:
        return Quantity(a.number * b.number**power, a.unit, a.units)
    if b.unit == (("%", 1),) and not a.unit and power > 0:
        return Quantity(a.number * b.number, b.unit, b.units)
    a, b = (plain(simple(x)) if x.unit == (("%", 1),) else x for x in (a, b))
    units = a.units if a.unit else b.units
    if not b.unit:
        return Quantity(a.number * b.number**power, a.unit, units)
    if not a.unit and power > 0:
        return Quantity(a.number * b.number, b.unit, units)
    left, number = _apart(a.unit, a.number)
    right, other = _apart(b.unit, b.number)
    number *= other**power
    for name, times in right:
        times *= power
        kind = units[name][1]
        for place, (mine, had) in enumerate(left):
            if units[mine][1] == kind and had * times < 0 or mine == name:
                number *= (units[name][0] / units[mine][0]) ** times
                left[place] = (mine, had + times)
                break
        else:
            left.append((name, times))
    return Quantity(number, [(name, times) for name, times in left if times], units)


def raised(a, b):
    times = simple(b)
    if not a.unit or a.unit == (("%", 1),):
        return plain(simple(a) ** times)
    if times != round(times):
        raise Unclear("a quantity is raised to whole powers only")
    return Quantity(a.number**times, [(name, int(power * times)) for name, power in a.unit], a.units)


def compare(a, b):
    """-1, 0 or 1; equal to within 1e-9 of the larger side, or of one unit of the left."""
    if bool(a.unit) != bool(b.unit):
        a, b = plain(simple(a)), plain(simple(b))
    x, y = a.number, convert(b, a.unit).number
    if abs(x - y) <= 1e-9 * max(abs(x), abs(y), 1.0):
        return 0
    return -1 if x < y else 1


# ---- how a quantity prints ----

_DECIMALS = {"SG": 3, "pH": 2, "month": None}
_DECIMALS.update({name: 1 for name in ("°Bx", "°P", "°C", "°F", "%ABV", "%ABW", "proof", "°Oe", "°Be", "pts", "IBU", "EBC", "SRM",
                                      "°L")})


def decimals_of(x):
    """How many decimals it prints with, and whether zeros at the end are left out."""
    if len(x.unit) == 1 and x.unit[0][1] == 1:
        name = x.unit[0][0]
        if _DECIMALS.get(name) is not None:
            return _DECIMALS[name], False
        if any(dimension.startswith("money ") for dimension, _ in x.units[name][1]):
            return 2, False
    if x.number == 0:
        return 0, True
    return max(0, 3 - math.floor(math.log10(float(f"{abs(x.number):.3e}")))), True


def rounded(number, places):
    """On the shortest decimal that stands for the number, but for its last digits, halves to even."""
    return Decimal(f"{number:.13g}").quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)


def shown(x, places=None, digits=None):
    if digits is not None and x.number:
        places = max(0, digits - 1 - math.floor(math.log10(float(f"{abs(x.number):.{digits - 1}e}"))))
    strip = False
    if places is None:
        places, strip = decimals_of(x)
    text = f"{rounded(x.number, places):f}"
    if strip and "." in text:
        text = text.rstrip("0").rstrip(".")
    if text.startswith("-") and not text.strip("-0."):
        text = text[1:]
    return f"{text} {unit_text(x.unit)}" if x.unit else text
