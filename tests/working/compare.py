# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Compares a value that was worked out with one that was printed, to the last printed digit."""

import math
import re

import library
from liquids import Liquid
from parse import Parser
from quantities import Quantity, Unclear, convert, decimals_of, dimensions, shown

NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
UNIT = re.compile(r" ?([^\W\d]|[%°])[^\s,}\])]*")


class Differs(Exception):
    """What was printed and what comes out."""


def decimals(printed):
    mantissa, _, exponent = printed.partition("e")
    return len(mantissa.partition(".")[2]) - int(exponent or 0)


class Comparison:
    """loose: the step says that its values are rounded; then two units of the last digit are allowed. formatted: the script
    says how many digits it wants, so fewer may be printed than usual. ties: what is halfway between two printed numbers may
    be printed as either."""

    def __init__(self, evaluator, printed, loose=False, formatted=False, ties=True):
        self.evaluator, self.printed, self.at, self.formatted = evaluator, printed, 0, formatted
        self.units_off = 2.5 if loose else 0.5 * (1 + 1e-9) if ties else 0.5 * (1 - 1e-6)

    def whole(self, x):
        if isinstance(x, str):
            if x != self.printed:
                raise Differs(f"“{x}”")
            return
        self.value(x)
        if self.at != len(self.printed):
            raise Differs(f"{self.evaluator.words(x)}, and nothing like “{self.printed[self.at:]}”")

    def take(self, text, x):
        if not self.printed.startswith(text, self.at):
            raise Differs(self.evaluator.words(x))
        self.at += len(text)

    def value(self, x):
        if isinstance(x, Quantity):
            self.quantity(x)
        elif isinstance(x, Liquid):
            parts = library.shown_parts(x, self.evaluator.units)
            for place, part in enumerate(parts):
                self.take(", " if place else "", x)
                self.quantity(part)
            self.take(" dry" if x.form == "dry" else "", x)
        elif isinstance(x, list):
            self.take("[", x)
            for place, item in enumerate(x):
                self.take(", " if place else "", x)
                if place and self.printed.startswith(f"… {len(x) - place} more", self.at):
                    self.take(f"… {len(x) - place} more", x)
                    break
                self.value(item)
            self.take("]", x)
        elif isinstance(x, dict):
            self.take("{", x)
            for place, (key, item) in enumerate(x.items()):
                name = key if re.fullmatch(r"[^\W\d]\w*", key) else f'"{key}"'
                self.take(f"{', ' if place else ''}{name}: ", x)
                self.value(item)
            self.take("}", x)
        elif isinstance(x, str):
            self.take('"' + x + '"', x)
        else:
            self.take(self.evaluator.words(x), x)

    def quantity(self, x):
        match = NUMBER.match(self.printed, self.at)
        if not match:
            raise Differs(self.evaluator.words(x))
        self.at = match.end()
        spread = re.compile(r" ± (\S+)").match(self.printed, self.at)
        if spread:
            self.at = spread.end()
        unit = UNIT.match(self.printed, self.at) if x.unit else None
        if unit:
            self.at = unit.end()
            try:
                x = convert(x, Parser(unit[0].strip(), self.evaluator.units).unit())
            except Unclear:
                raise Differs(self.evaluator.words(x)) from None
        elif dimensions(x.unit, x.units):
            raise Differs(self.evaluator.words(x))
        else:
            x = convert(x, ())
        if abs(x.number) < 1e-9 and float(match[0]) == 0.0:
            return  # what binary fractions leave of nothing
        places = decimals(match[0])
        if spread and "." not in match[0]:  # 2050 ± 100: to the place of the second digit of the ±
            places = min(0, 1 - math.floor(math.log10(float(spread[1]))))
        elif not spread and not self.formatted:
            places = max(places, decimals_of(x)[0])  # zeros at the end may have been left out
        apart = abs(x.number - float(match[0]))
        if apart > self.units_off * 10.0**-places + 1e-12 * abs(x.number):
            raise Differs(shown(x, min(places + 2, 15)))


def check(evaluator, x, printed, loose=False, formatted=False, ties=True):
    """Raises Differs with what x comes to, if that is not what was printed."""
    Comparison(evaluator, printed, loose, formatted, ties).whole(x)
