# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Liquids as masses that are conserved (docs/reference/language.md, "Liquids", and docs/model.md), for the recomputed working.
Masses are in kg, volumes in L, gravities SG, strengths %ABV."""

import dataclasses

import physics
from quantities import Quantity, Unclear

UNFERMENTABLE = 0.18  # of a juice's solids, USDA SR 09016
INERT = 0.10  # what a verdict on a bottle may rely on
MALT_UNFERMENTABLE, MALT_INERT = 0.30, 0.20  # the same of malt: common practice


@dataclasses.dataclass
class Liquid:
    water: float = 0.0
    alcohol: float = 0.0
    sugar: float = 0.0  # what yeast ferments
    solids: float = 0.0  # dissolved solids that stay
    assumed: float = 0.0  # of those, what only our default says
    inert: float = 0.0  # of those, what a bottle's verdict may rely on
    least: float = 0.0  # less than that was never seen to stay: then nothing is known
    acid: float = 0.0
    nitrogen: float = 0.0
    sulphite: float = 0.0
    bitter: float = 0.0
    colour: float = 0.0  # EBC times m³
    malt: float = 0.0  # of the solids before fermentation, what came from malt
    cost: Quantity = None
    form: str = "mixed"  # "dry", "honey"
    unit: str = ""  # of volume or mass, as it was measured
    disproved: bool = False  # less was left than a juice is known to leave

    @property
    def dissolved(self):
        return self.sugar + self.solids

    @property
    def mass(self):
        return self.water + self.alcohol + self.dissolved

    @property
    def volume(self):
        if self.form == "honey":
            return self.mass / (honey_gravity(self.water / self.mass) * physics.WATER / 1000.0)
        return physics.mixed_volume(self.water, self.alcohol, self.dissolved)

    @property
    def masses(self):
        return self.water, self.alcohol, self.dissolved

    @property
    def gravity(self):
        return self.mass / self.volume / (physics.WATER / 1000.0)

    @property
    def strength(self):
        return 100.0 * self.alcohol / (self.volume * physics.ALCOHOL / 1000.0)

    def scaled(self, times):
        cost = Quantity(self.cost.number * times, self.cost.unit, self.cost.units) if self.cost else None
        return dataclasses.replace(self, **{part: getattr(self, part) * times for part in PARTS}, cost=cost)

    def per_litre(self, part):
        return 1000.0 * part / self.volume


PARTS = ("water", "alcohol", "sugar", "solids", "assumed", "inert", "least", "acid", "nitrogen", "sulphite", "bitter",
         "colour", "malt")


# Relative density of honey by its water in %, as in White (1975): at 17 and 18 seen, at the ends from memory.
HONEY = ((13.0, 1.4457), (17.0, 1.4237), (18.0, 1.4171), (21.0, 1.3950))


def honey_gravity(water):
    for (low, heavy), (high, light) in zip(HONEY, HONEY[1:]):
        if low <= 100.0 * water + 1e-9 and 100.0 * water - 1e-9 <= high:
            return heavy + (100.0 * water - low) / (high - low) * (light - heavy)
    raise Unclear(f"the density of honey with {100 * water:g} % of water")


def poured(a, b):
    """Masses add up; so does cost where either has one."""
    if a.mass == 0.0 or b.mass == 0.0:
        full = b if a.mass == 0.0 else a
        return dataclasses.replace(full, unit=a.unit or b.unit)
    cost = a.cost or b.cost
    if a.cost and b.cost:
        cost = Quantity(a.cost.number + b.cost.number, a.cost.unit, a.cost.units)
    parts = {part: getattr(a, part) + getattr(b, part) for part in PARTS}
    return Liquid(**parts, cost=cost, unit=a.unit if a.form != "dry" else b.unit, disproved=a.disproved or b.disproved)


def of_solids(volume, gravity):
    """kg of water and of solids in a sugar solution."""
    mass = volume * gravity * physics.WATER / 1000.0
    solids = mass * physics.brix_of_gravity(gravity) / 100.0
    return mass - solids, solids


def juice(gravity, volume=1.0, unfermentable=None, **more):
    water, solids = of_solids(volume, gravity)
    share = UNFERMENTABLE if unfermentable is None else unfermentable
    return Liquid(water=water, sugar=solids * (1 - share), solids=solids * share,
                  assumed=solids * share if unfermentable is None else 0.0, inert=solids * min(INERT, share),
                  least=solids * INERT, **more)


def malt(mass, solids, unfermentable=None, **more):
    """Wort, syrup or powder: mass in kg, solids a share of it."""
    kilos = mass * solids
    stays = kilos * (MALT_UNFERMENTABLE if unfermentable is None else unfermentable)
    return Liquid(water=mass - kilos, sugar=kilos - stays, solids=stays, assumed=stays if unfermentable is None else 0.0,
                  inert=min(stays, MALT_INERT * kilos), least=MALT_INERT * kilos, malt=kilos,
                  form="dry" if solids > 0.85 else "mixed", **more)


def spirit(strength, volume=1.0, **more):
    p = physics.mass_share(strength / 100.0)
    mass = volume * physics.alcohol_density(p) / 1000.0
    return Liquid(water=mass * (1 - p), alcohol=mass * p, **more)


def measured(volume, gravity, strength, sugar=None, **more):
    """A liquid as it was measured; sugar in g/L, all solids if it was not given."""
    mass = volume * gravity * physics.WATER / 1000.0
    alcohol = strength / 100.0 * volume * physics.ALCOHOL / 1000.0
    grams = physics.solids_of_gravity(gravity - physics.alcohol_gravity(strength) + 1.0)
    if grams < -1e-9:
        raise Unclear("its gravity leaves no room for its strength")
    solids = grams * volume / 1000.0
    sweet = solids if sugar is None else sugar * volume / 1000.0
    return Liquid(water=mass - alcohol - solids, alcohol=alcohol, sugar=sweet, solids=solids - sweet, inert=solids - sweet, **more)


def formed(l, gravity):
    e = physics.formed_at_gravity(l.masses, gravity)
    if e is None:
        raise Unclear(f"it cannot ferment to {gravity} SG")
    return e


def with_floor(l, floor):
    """Where a forced sample stopped shows how much of the solids is sugar."""
    sugar = physics.SOLIDS_TO_ALCOHOL * formed(l, floor)
    rest = l.dissolved - sugar
    return dataclasses.replace(l, sugar=sugar, solids=rest, inert=rest, least=0.0, assumed=0.0, disproved=False)


def fermented(l, e):
    """The liquid once e kg of alcohol were made; a default share of unfermentable solids gives way."""
    left = l.sugar - physics.SOLIDS_TO_ALCOHOL * e
    solids, assumed, inert = l.solids, l.assumed, l.inert
    disproved = l.disproved or solids + left < l.least * (1 - 1e-9)
    if left < 0.0:
        if -left > assumed * (1 + 1e-9) + 1e-12:
            raise Unclear("there is not that much sugar in it")
        solids, assumed, left = solids + left, assumed + left, 0.0
    inert = 0.0 if disproved else min(inert, solids)
    return dataclasses.replace(l, alcohol=l.alcohol + e, sugar=left, solids=solids, assumed=assumed, inert=inert,
                               disproved=disproved)


def ferment(l, to=None, tolerance=None, attenuation=None, floor=None):
    if floor is not None:
        l = with_floor(l, floor)
    most = l.sugar / physics.SOLIDS_TO_ALCOHOL
    if attenuation is not None:
        to = physics.gravity_of_brix(physics.brix_of_gravity(l.gravity) * (1 - attenuation))
    if to is not None:
        return fermented(l, formed(l, to))
    if tolerance is not None and l.strength < tolerance:
        def excess(e):
            return physics.strength_of_masses(*physics.fermented(*l.masses, e)) - tolerance
        e = physics.solve(excess, 0.0, most)
        return fermented(l, most if e is None else e)
    return fermented(l, 0.0 if tolerance is not None else most)


def needed(l, strong, target, by):
    """How much of `strong`, in units of the whole of it, brings l to a strength or a gravity (`by`)."""
    def excess(times):
        return getattr(poured(l, strong.scaled(times)), by) - target
    high = 1e-3 * l.mass / strong.mass
    for _ in range(40):
        if (excess(0.0) > 0) != (excess(high) > 0):
            return physics.solve(excess, 0.0, high)
        high *= 2.0
    raise Unclear("no amount of it will do")
