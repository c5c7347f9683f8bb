# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The formulas for grain, hops, water, yeast, honey, fruit and heat of docs/reference/library.md, written a second time from
the sources it names, for evaluate.py. Those that came before are in library.py and library_cider.py."""

import math

import liquids
import physics
from library import abv_of, celsius, ebc, evaporate, formula, g_l, grams, kilopascals, litres, of, share_of, sg
from quantities import Quantity, convert, number_in, simple

LITRE = 0.99820123  # kg of water at 20 °C
JOULES = 4.184  # kJ to heat 1 kg of water by 1 °C


def _number(x, unit, otherwise=None):
    """Of an argument, in a compound unit such as L/kg."""
    if x is None:
        return otherwise
    above, _, below = unit.partition("/")
    return number_in(x, above, (below, -1)) if below else number_in(x, above)


def _kilos(x, otherwise=None):
    return otherwise if x is None else grams(x) / 1000.0


# ---- grain ----


@formula("malt mass? extract? moisture? colour? cost?")
def malt(evaluator, mass=None, extract=None, moisture=None, colour=None, cost=None):
    dry, wet = share_of(extract, 0.80), share_of(moisture, 0.04)
    return {"mass": mass or of(1.0, "kg"), "extract": of(100.0 * dry, "%"), "moisture": of(100.0 * wet, "%"),
            "colour": colour or of(4.0, "EBC"), "cost": cost, "as_is": of(100.0 * dry * (1.0 - wet), "%")}


def _malts(grist):
    return grist if isinstance(grist, list) else [grist]


@formula("malts_of grist")
def malts_of(evaluator, grist):
    return _malts(grist)


def _sums(grist):
    """kg of malt, of extract and of water in it."""
    malts = _malts(grist)
    return (sum(_kilos(m["mass"]) for m in malts), sum(_kilos(m["mass"]) * simple(m["as_is"]) for m in malts),
            sum(_kilos(m["mass"]) * simple(m["moisture"]) for m in malts))


@formula("congress_extract wort moisture")
def congress_extract(evaluator, wort, moisture):
    """50 g of malt are made up to 450 g: EBC 4.5.1, ASBC Malt-4."""
    p, wet = number_in(wort, "°P"), 100.0 * simple(moisture)
    return of(p * (wet + 800.0) / (100.0 - p) / (1.0 - wet / 100.0), "%")


def _sg_points(grams_per_litre):
    return 1000.0 * (physics.gravity_of_solids(grams_per_litre) - 1.0)


@formula("points_of solids")
def points_of(evaluator, solids):
    return of(_sg_points(simple(solids) * 453.59237 / 3.785411784), "pts")


@formula("malt_needed volume gravity malt efficiency?")
def malt_needed(evaluator, volume, gravity, malt, efficiency=None):
    extract = litres(volume) * physics.solids_of_gravity(sg(gravity)) / 1000.0
    return of(extract / simple(malt["as_is"]) / share_of(efficiency, 0.75), "kg")


@formula("spent_grain malt moisture? conversion?")
def spent_grain(evaluator, malt, moisture=None, conversion=None):
    kilos, extract, water = _sums(malt)
    return of((kilos - water - extract * share_of(conversion, 1.0)) / (1.0 - share_of(moisture, 0.80)), "kg")


def _malt_colour(colour, kilos, measured_at, made):
    """EBC times m³; of the liquid itself, or of a wort of some gravity made from it."""
    if colour is None:
        return 0.0
    volume = made.volume if measured_at is None else 1000.0 * kilos / physics.solids_of_gravity(sg(measured_at))
    return ebc(colour) * volume / 1000.0


@formula("malt_liquid mass solids unfermentable? bitterness? colour? volume? cost?")
def malt_liquid(evaluator, mass, solids, unfermentable=None, bitterness=None, colour=None, volume=None, cost=None):
    made = liquids.malt(_kilos(mass), simple(solids), share_of(unfermentable), cost=cost, unit=mass.unit[0][0])
    made.colour = ebc(colour, 0.0) * litres(volume, 0.0) / 1000.0
    made.bitter = g_l(bitterness, 0.0) * litres(volume, 0.0) / 1000.0
    return made


@formula("wort gravity volume? unfermentable? colour? bitterness? cost?")
def wort(evaluator, gravity, volume=None, unfermentable=None, colour=None, bitterness=None, cost=None):
    size = litres(volume, 1.0)
    made = liquids.malt(size * sg(gravity) * LITRE, number_in(gravity, "°P") / 100.0, share_of(unfermentable), cost=cost,
                        unit=volume.unit[0][0] if volume is not None else "L")
    made.colour, made.bitter = ebc(colour, 0.0) * size / 1000.0, g_l(bitterness, 0.0) * size / 1000.0
    return made


@formula("malt_syrup mass solids? unfermentable? colour? cost? bitterness? measured_at?")
def malt_syrup(evaluator, mass, solids=None, unfermentable=None, colour=None, cost=None, measured_at=None, bitterness=None,
               share=0.79):
    size, dry = _kilos(mass), share_of(solids, share)
    made = liquids.malt(size, dry, share_of(unfermentable), cost=cost, unit=mass.unit[0][0])
    made.colour = _malt_colour(colour, size * dry, measured_at, made)
    if bitterness is not None:
        made.bitter = g_l(bitterness) * made.volume / 1000.0
    return made


@formula("malt_powder mass solids? unfermentable? colour? cost? bitterness? measured_at?")
def malt_powder(evaluator, mass, measured_at=None, **more):
    more["measured_at"] = measured_at or of(10.0, "°P")
    return malt_syrup(evaluator, mass, share=0.96, **more)


# ---- mash ----


@formula("first_wort grist ratio conversion?")
def first_wort(evaluator, grist, ratio, conversion=None):
    kilos, extract, water = _sums(grist)
    e = extract / kilos * share_of(conversion, 1.0)
    return of(physics.gravity_of_brix(100.0 * e / (e + _number(ratio, "L/kg") + water / kilos)), "SG")


@formula("mash grist water efficiency? absorption? unfermentable?")
def mash(evaluator, grist, water, efficiency=None, absorption=None, unfermentable=None):
    kilos, extract, _ = _sums(grist)
    volume = litres(water) - _number(absorption, "L/kg", 0.95) * kilos
    dissolved = extract * share_of(efficiency, 0.75)
    gravity = physics.gravity_of_solids(1000.0 * dissolved / volume)
    mass = volume * gravity * LITRE
    made = liquids.malt(mass, dissolved / mass, share_of(unfermentable), unit=water.unit[0][0])
    made.colour = number_in(grist_colour(evaluator, grist, of(volume, "L")), "EBC") * volume / 1000.0
    costs = [m["cost"] for m in _malts(grist) if m["cost"]]
    made.cost = Quantity(sum(x.number for x in costs), costs[0].unit, costs[0].units) if costs else None
    return made


def _swelling(at, brix):
    """Density relative to 20 °C: ICUMSA SPS-4 as far as 80 °C, from there on that of water."""
    solids = brix / 100.0
    warm = physics.sucrose_density(solids, min(at, 80.0)) / physics.sucrose_density(solids, 20.0)
    return warm * (physics.water_density(at) / physics.water_density(80.0) if at > 80.0 else 1.0)


@formula("cooled_volume volume at gravity? to?")
def cooled_volume(evaluator, volume, at, gravity=None, end=None):
    brix = number_in(gravity, "°P") if gravity is not None else 0.0
    times = _swelling(celsius(at), brix) / _swelling(celsius(end, 20.0), brix)
    return Quantity(volume.number * times, volume.unit, volume.units)


@formula("brewhouse_yield volume at gravity grist")
def brewhouse_yield(evaluator, volume, at, gravity, grist):
    brix = number_in(gravity, "°P")
    mass = litres(volume) * _swelling(celsius(at), brix) * physics.gravity_of_brix(brix) * LITRE
    return of(100.0 * mass * brix / 100.0 / _sums(grist)[0], "%")


@formula("brewing_water batch evaporation? trub? grist? absorption?")
def brewing_water(evaluator, batch, evaporation=None, trub=None, grist=None, absorption=None):
    held = _sums(grist)[0] * _number(absorption, "L/kg", 0.95) if grist is not None else 0.0
    total = litres(batch) + litres(evaporation, 0.0) + litres(trub, 0.0) + held
    return convert(of(total, "L"), batch.unit)


# °F by which malt of some % moisture warms 2.68 times its mass of water: Brewing Room Book 1984/85.
SLAKING = ((0.0, 5.5), (1.0, 5.0), (2.0, 4.0), (3.0, 3.5), (4.0, 3.0), (6.0, 2.5), (8.0, 2.0))


def _malt_heat(moisture):
    return (0.38 + 0.62 * moisture) * JOULES


def _wetting(moisture):
    heats = [(at, warms / 1.8 * (_malt_heat(at / 100.0) + 2.68 * JOULES)) for at, warms in SLAKING]
    pairs = list(zip(heats, heats[1:]))
    (low, first), (high, last) = next((pair for pair in pairs if 100.0 * moisture <= pair[1][0] + 1e-9), pairs[-1])
    return first + (100.0 * moisture - low) / (high - low) * (last - first)


def _grist_heat(grist):
    return sum(_kilos(m["mass"]) * _malt_heat(simple(m["moisture"])) for m in _malts(grist))


def _water_kilos(water):
    return _kilos(water) if len(water.unit) == 1 and water.unit[0][0] in ("kg", "g", "lb", "oz") else litres(water) * LITRE


@formula("malt_specific_heat moisture")
def malt_specific_heat(evaluator, moisture):
    return Quantity(_malt_heat(simple(moisture)), (("kJ", 1), ("kg", -1), ("C°", -1)))


@formula("wetting_heat moisture")
def wetting_heat(evaluator, moisture):
    return Quantity(_wetting(simple(moisture)), (("kJ", 1), ("kg", -1)))


VESSEL_HEAT = {"stainless steel": 0.50, "aluminium": 0.897, "copper": 0.384, "glass": 0.84}  # kJ/(kg °C)


@formula("vessel_heat mass of?")
def vessel_heat(evaluator, mass, of="stainless steel"):
    return Quantity(_kilos(mass) * VESSEL_HEAT[of.lower()], (("kJ", 1), ("C°", -1)))


@formula("strike_temperature grist water from to vessel? vessel_at?")
def strike_temperature(evaluator, grist, water, start, end, vessel=None, vessel_at=None):
    wanted, cold = celsius(end), celsius(start)
    holds = _number(vessel, "kJ/C°", 0.0)
    freed = sum(_kilos(m["mass"]) * _wetting(simple(m["moisture"])) for m in _malts(grist))
    need = _grist_heat(grist) * (wanted - cold) + holds * (wanted - celsius(vessel_at, cold)) - freed
    return convert(of(wanted + need / (_water_kilos(water) * JOULES), "°C"), end.unit)


@formula("infusion grist water from to with? vessel?")
def infusion(evaluator, grist, water, start, end, strong=None, vessel=None):
    holds = _grist_heat(grist) + _water_kilos(water) * JOULES + _number(vessel, "kJ/C°", 0.0)
    kilos = holds * (celsius(end) - celsius(start)) / JOULES / (celsius(strong, 100.0) - celsius(end))
    return Quantity(water.number * kilos / _water_kilos(water), water.unit, water.units)


# ---- hops ----

MALOWICKI = ((7.9e11, 11858.0), (4.1e12, 12994.0))  # Malowicki & Shellhammer 2005, per minute


def _isomerised(minutes, at):
    k1, k2 = (a * math.exp(-b / (at + 273.15)) for a, b in MALOWICKI)
    return k1 / (k2 - k1) * (math.exp(-k1 * minutes) - math.exp(-k2 * minutes))


@formula("isomerised time at?")
def isomerised(evaluator, time, at=None):
    return of(100.0 * _isomerised(number_in(time, "min"), celsius(at, 100.0)), "%")


def _air(metres):
    return 101.325 * (1.0 - 2.25577e-5 * metres) ** 5.25588


@formula("air_pressure altitude")
def air_pressure(evaluator, altitude):
    return of(_air(number_in(altitude, "m")), "kPa")


IF97 = (0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
        0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3)


def _saturation(kelvin):
    """MPa: IAPWS-IF97, equation 30."""
    n = (None, *IF97)
    t = kelvin + n[9] / (kelvin - n[10])
    a, b, c = t * t + n[1] * t + n[2], n[3] * t * t + n[4] * t + n[5], n[6] * t * t + n[7] * t + n[8]
    return (2.0 * c / (-b + math.sqrt(b * b - 4.0 * a * c))) ** 4


def _boiling(kpa):
    return physics.solve(lambda t: 1000.0 * _saturation(t + 273.15) - kpa, 1.0, 200.0)


@formula("boiling_point altitude? pressure?")
def boiling_point(evaluator, altitude=None, pressure=None):
    return of(_boiling(kilopascals(pressure) if pressure is not None else _air(number_in(altitude, "m") if altitude else 0.0)),
              "°C")


@formula("hop mass alpha boiled at? kettle? cost?")
def hop(evaluator, mass, alpha, boiled, at=None, kettle=None, cost=None):
    return {"mass": mass, "alpha": convert(alpha, (("%", 1),)), "boiled": boiled, "at": at,
            "kettle": of(100.0 * share_of(kettle, 0.92), "%"), "cost": cost}


def _tinseth(minutes, gravity):
    return 1.65 * 0.000125 ** (gravity - 1.0) * (1.0 - math.exp(-0.04 * minutes)) / 4.15


def _rager(minutes, gravity):
    share = (18.11 + 13.86 * math.tanh((minutes - 31.32) / 18.27)) / 100.0
    return share / (1.0 + max(gravity - 1.050, 0.0) / 0.2)


FITS = {"tinseth": _tinseth, "rager": _rager}


@formula("utilisation time gravity? by? at?")
def utilisation(evaluator, time, gravity=None, by="kinetics", at=None):
    minutes = number_in(time, "min")
    if by in FITS:
        return of(100.0 * FITS[by](minutes, sg(gravity, 1.050)), "%")
    return of(100.0 * _isomerised(minutes, celsius(at, 100.0)) * 0.92 * 0.66, "%")


def _rates(at):
    return [a * math.exp(-b / (at + 273.15)) for a, b in MALOWICKI]


SOLUBLE = 90.0  # mg/L of alpha acids in hot wort: Malowicki 2004


def _in_wort(additions, volume, boiling, soluble):
    """mg/L of iso-alpha acids: what boils longest goes in first, then the stands, the warmest first."""
    order = sorted((a for a in additions if a["at"] is None), key=lambda a: -number_in(a["boiled"], "min"))
    order += sorted((a for a in additions if a["at"] is not None), key=lambda a: -celsius(a["at"]))
    dissolved = iso = 0.0
    clock = None
    for a in order:
        minutes = number_in(a["boiled"], "min") if a["at"] is None else 0.0
        if clock is not None:
            dissolved *= math.exp(-_rates(boiling)[0] * (clock - minutes))
        clock = minutes
        counts = max(min(1000.0 * grams(a["mass"]) * simple(a["alpha"]) / volume, soluble - dissolved), 0.0)
        dissolved += counts
        iso += counts * simple(a["kettle"]) * _isomerised(number_in(a["boiled"], "min"), celsius(a["at"], boiling))
        if a["at"] is not None:  # the next stand comes after this one
            dissolved *= math.exp(-_rates(celsius(a["at"]))[0] * number_in(a["boiled"], "min"))
    return iso


def _later(additions, volume, boiling, soluble):
    """mg/L where the rest dissolves later: integrated in small steps (Runge and Kutta) over the boil and the stands."""
    def slopes(alpha, iso, k1, k2):
        return -k1 * min(alpha, soluble), k1 * min(alpha, soluble) - k2 * iso

    def pass_by(alpha, iso, minutes, at):
        k1, k2 = _rates(at)
        steps = max(int(minutes * 40), 1)
        d = minutes / steps
        for _ in range(steps):
            a1, i1 = slopes(alpha, iso, k1, k2)
            a2, i2 = slopes(alpha + d / 2 * a1, iso + d / 2 * i1, k1, k2)
            a3, i3 = slopes(alpha + d / 2 * a2, iso + d / 2 * i2, k1, k2)
            a4, i4 = slopes(alpha + d * a3, iso + d * i3, k1, k2)
            alpha, iso = alpha + d / 6 * (a1 + 2 * a2 + 2 * a3 + a4), iso + d / 6 * (i1 + 2 * i2 + 2 * i3 + i4)
        return alpha, iso

    def given(a):
        return 1000.0 * grams(a["mass"]) * simple(a["alpha"]) / volume

    alpha = iso = 0.0
    boiled = sorted((a for a in additions if a["at"] is None), key=lambda a: -number_in(a["boiled"], "min"))
    times = [number_in(a["boiled"], "min") for a in boiled] + [0.0]
    for a, now, then in zip(boiled, times, times[1:]):
        alpha, iso = pass_by(alpha + given(a), iso, now - then, boiling)
    for a in sorted((a for a in additions if a["at"] is not None), key=lambda a: -celsius(a["at"])):
        alpha, iso = pass_by(alpha + given(a), iso, number_in(a["boiled"], "min"), celsius(a["at"]))
    return iso * sum(given(a) * simple(a["kettle"]) for a in additions) / sum(map(given, additions))


@formula("boil wort to hops cellar? by? altitude? soluble? undissolved?")
def boil(evaluator, wort, end, hops, cellar=None, by="kinetics", altitude=None, soluble=None, undissolved="lost"):
    after = evaporate(evaluator, wort, end)
    additions = hops if isinstance(hops, list) else [hops]
    costs = [x for x in [after.cost, *(a["cost"] for a in additions)] if x]
    after.cost = Quantity(sum(x.number for x in costs), costs[0].unit, costs[0].units) if costs else None
    if by == "kinetics":
        boiling = _boiling(_air(number_in(altitude, "m") if altitude else 0.0))
        law = _later if undissolved == "later" else _in_wort
        iso = law(additions, after.volume, boiling, number_in(soluble, ("mg", 1), ("L", -1)) if soluble else SOLUBLE)
        iso *= share_of(cellar, 0.66)
    else:
        points = [100.0 * l.dissolved / l.mass for l in (wort, after)]
        gravity = (physics.gravity_of_brix(points[0]) + physics.gravity_of_brix(points[1])) / 2.0
        iso = sum(1000.0 * grams(a["mass"]) * simple(a["alpha"]) / after.volume * FITS[by](number_in(a["boiled"], "min"), gravity)
                  for a in additions)
    after.bitter += iso * after.volume / 1e6
    return after


@formula("alpha_lost index slope?")
def alpha_lost(evaluator, index, slope=None):
    return of(simple(slope) * math.log10(simple(index) / 0.25) if slope else 110.0 * math.log10(simple(index) / 0.25), "%")


@formula("alpha_left alpha age at lost over? at_reference?")
def alpha_left(evaluator, alpha, age, at, lost, over=None, at_reference=None):
    rate = -math.log(1.0 - simple(lost)) / (number_in(over, "day") if over is not None else 180.0)
    slowed = rate * 2.0 ** ((celsius(at) - celsius(at_reference, 20.0)) / 15.0)
    return of(100.0 * simple(alpha) * math.exp(-slowed * number_in(age, "day")), "%")


# ---- colour ----


@formula("grist_colour grist volume")
def grist_colour(evaluator, grist, volume):
    mcu = sum(_kilos(m["mass"]) / 0.45359237 * number_in(m["colour"], "°L") for m in _malts(grist))
    return of(1.4922 * (mcu / (litres(volume) / 3.785411784)) ** 0.6859 * 25.0 / 12.7, "EBC")


@formula("wort_colour grist volume")
def wort_colour(evaluator, grist, volume):
    colour = grist_colour(evaluator, grist, volume)
    return colour if number_in(colour, "SRM") <= 50.0 else None


# ---- water ----

CACO3 = 2 * 50.04  # g/mol, as the unit meq counts it
ATOMS = {"Ca": 40.078, "Mg": 24.305, "Na": 22.990, "S": 32.06, "O": 15.999, "Cl": 35.45, "C": 12.011, "H": 1.008, "K": 39.098}


def _molar(formula_of):
    return sum(ATOMS[atom] * count for atom, count in formula_of.items())


HCO3, SO4 = {"H": 1, "C": 1, "O": 3}, {"S": 1, "O": 4}
WATER_OF = {"H": 2, "O": 1}
# What a mole of each salt is made of, and the moles of ions it gives.
SALTS = {
    "gypsum": ({"Ca": 1, "S": 1, "O": 6, "H": 4}, {"calcium": 1, "sulphate": 1}),
    "calcium chloride dihydrate": ({"Ca": 1, "Cl": 2, "H": 4, "O": 2}, {"calcium": 1, "chloride": 2}),
    "epsom salt": ({"Mg": 1, "S": 1, "O": 11, "H": 14}, {"magnesium": 1, "sulphate": 1}),
    "baking soda": ({"Na": 1, "H": 1, "C": 1, "O": 3}, {"sodium": 1, "bicarbonate": 1}),
    "table salt": ({"Na": 1, "Cl": 1}, {"sodium": 1, "chloride": 1}),
    "slaked lime": ({"Ca": 1, "O": 2, "H": 2}, {"calcium": 1}),
    "chalk": ({"Ca": 1, "C": 1, "O": 3}, {"calcium": 1, "bicarbonate": 2}),
    "magnesium chloride hexahydrate": ({"Mg": 1, "Cl": 2, "H": 12, "O": 6}, {"magnesium": 1, "chloride": 2}),
}
IONS = {"calcium": {"Ca": 1}, "magnesium": {"Mg": 1}, "sodium": {"Na": 1}, "sulphate": SO4, "chloride": {"Cl": 1},
        "bicarbonate": HCO3}


@formula("salt_ions salt mass volume")
def salt_ions(evaluator, salt, mass, volume):
    whole, gives = SALTS[salt.lower()]
    per_litre = 1000.0 * grams(mass) / _molar(whole) / litres(volume)
    return {ion: of(per_litre * gives.get(ion, 0) * _molar(atoms), "mg/L") for ion, atoms in IONS.items()}


@formula("residual_alkalinity alkalinity calcium magnesium")
def residual_alkalinity(evaluator, alkalinity, calcium, magnesium):
    """Kolbach: everything in equivalents."""
    ca, mg = (1000.0 * g_l(x) * 2.0 / ATOMS[ion] for x, ion in ((calcium, "Ca"), (magnesium, "Mg")))
    return of(1000.0 * g_l(alkalinity) - (ca / 3.5 + mg / 7.0) * CACO3 / 2.0, "mg/L")


@formula("mash_ph base buffer residual ratio")
def mash_ph(evaluator, base, buffer, residual, ratio):
    per_kg = simple(buffer) if simple(buffer) > 5.0 else simple(buffer) / (CACO3 / 2.0 * 1e-6)  # meq, or as a share by mass
    shift = 1000.0 * g_l(residual) / (CACO3 / 2.0) * _number(ratio, "L/kg") / per_kg
    return of(base.number + shift, "pH")


PLUMMER = ((-356.3094, -0.06091964, 21834.37, 126.8339, -1684915.0),
           (-107.8871, -0.03252849, 5151.79, 38.92561, -563713.9))  # Plummer & Busenberg 1982: log10 K1 and K2
KELVIN_25 = 298.15


def _carbonic():
    return [10.0 ** (a + b * KELVIN_25 + c / KELVIN_25 + d * math.log10(KELVIN_25) + e / KELVIN_25**2) for a, b, c, d, e in PLUMMER]


def _charges(ph, total):
    """Per litre: those of carbonate, and of hydroxide less hydrogen."""
    k1, k2 = _carbonic()
    h = 10.0**-ph
    return total * (h * k1 + 2.0 * k1 * k2) / (h * h + h * k1 + k1 * k2) + 1e-14 / h - h


# g/mol and the densities known: share of acid and kg/L, ECHA; lactic acid from memory.
ACIDS = {"lactic": (90.078, ((0.0, 0.997), (0.88, 1.21))),
         "phosphoric": (97.994, ((0.0, 0.997), (0.10, 1.0517), (0.75, 1.575), (0.85, 1.69)))}


def _loses(acid, ph):
    """Charges that a mole of it gives up."""
    if acid == "lactic":
        return 1.0 / (1.0 + 10.0 ** (3.86 - ph))
    steps, powers = (2.148, 7.206, 12.342), [1.0]
    for pk in steps:
        powers.append(powers[-1] * 10.0 ** (ph - pk))
    return sum(i * power for i, power in enumerate(powers)) / sum(powers)


@formula("acid_needed volume alkalinity from to acid? share? density?")
def acid_needed(evaluator, volume, alkalinity, start, end, acid="lactic", share=None, density=None):
    alk = g_l(alkalinity) / (CACO3 / 2.0)
    total = (alk - _charges(start.number, 0.0)) / (_charges(start.number, 1.0) - _charges(start.number, 0.0))
    moles = alk - _charges(end.number, total)
    weight, known = ACIDS[acid]
    part = share_of(share, 0.88)
    low, high = next(pair for pair in zip(known, known[1:]) if part <= pair[1][0])
    along = (part - low[0]) / (high[0] - low[0])
    dense = 1.0 / ((1.0 - along) / low[1] + along / high[1])
    if density is not None:
        dense = density.number if not density.unit else number_in(density, "kg", ("L", -1))
    return of(litres(volume) * moles / (part * dense * 1000.0 / weight * _loses(acid, end.number)) * 1000.0, "mL")


@formula("chlorine_dose volume chlorine with?")
def chlorine_dose(evaluator, volume, chlorine, strong="potassium metabisulphite"):
    salt = {"potassium metabisulphite": _molar({"K": 2, "S": 2, "O": 5}), "sodium metabisulphite": _molar({"Na": 2, "S": 2, "O": 5})}
    return of(litres(volume) * g_l(chlorine) * salt[strong] / 2.0 / (2.0 * ATOMS["Cl"]), "g")


# ---- yeast ----


@formula("cells_needed volume gravity rate?")
def cells_needed(evaluator, volume, gravity, rate=None):
    return of(share_of(rate, 0.75) * litres(volume) * number_in(gravity, "°P"), "Gcell")


@formula("dry_yeast cells per? viable?")
def dry_yeast(evaluator, cells, per=None, viable=None):
    return of(_number(cells, "Gcell") / _number(per, "Gcell/g", 10.0) / share_of(viable, 1.0), "g")


@formula("oxygen_saturation at gravity? pressure?")
def oxygen_saturation(evaluator, at, gravity=None, pressure=None):
    t = celsius(at) + 273.15
    log = -139.34411 + 157570.1 / t - 6.642308e7 / t**2 + 1.2438e10 / t**3 - 8.621949e11 / t**4
    plato = number_in(gravity, "°P") if gravity is not None else 0.0
    return of(math.exp(log) * (1.0 - 0.0175 * plato) * kilopascals(pressure, 101.325) / 101.325, "mg/L")


# ---- honey ----


@formula("honey_water index at?")
def honey_water(evaluator, index, at=None):
    n = simple(index) + 0.00023 * (celsius(at, 20.0) - 20.0)
    return of((-0.26810 - math.log10(n - 1.0)) / 0.002243, "%")


# g in 100 g of raw fruit, water and sugar: USDA SR 26; acid: Belitz & Grosch, table 18.3, and there the sugar of blackcurrant.
FRUIT = {"apple": (85.56, 10.39, 0.6), "apricot": (86.35, 9.24, 1.4), "blackberry": (88.15, 4.88, 1.7),
         "blackcurrant": (81.96, 6.3, 2.6), "blueberry": (84.21, 9.96, 0.0), "cranberry": (87.13, 4.04, 0.0),
         "elderberry": (79.80, None, 0.0), "grape": (80.54, 15.48, 0.9), "peach": (88.87, 8.39, 0.6), "pear": (83.96, 9.75, 0.2),
         "plum": (87.23, 9.92, 1.5), "quince": (83.80, None, 0.0), "raspberry": (85.75, 4.42, 2.1),
         "red currant": (83.95, 7.37, 2.3), "sour cherry": (86.13, 8.49, 1.8), "strawberry": (90.95, 4.89, 1.1),
         "sweet cherry": (82.25, 12.82, 1.0)}


@formula("fruit of mass sugar? cost?")
def fruit(evaluator, of, mass, sugar=None, cost=None):
    water, sweet, acid = FRUIT[of.lower()]
    share = share_of(sugar) if sugar is not None else sweet / 100.0
    kilos = _kilos(mass)
    return liquids.Liquid(water=kilos * water / 100.0, sugar=kilos * share, acid=kilos * acid / 100.0, cost=cost,
                          unit=mass.unit[0][0])


# ---- heat ----


@formula("pasteurisation_rate at")
def pasteurisation_rate(evaluator, at):
    return Quantity(1.393 ** (celsius(at) - 60.0), (("PU", 1), ("min", -1)))


@formula("pasteurising_time units at")
def pasteurising_time(evaluator, units, at):
    return of(_number(units, "PU") / 1.393 ** (celsius(at) - 60.0), "min")


def _units(minutes, start, end):
    """PU of a straight piece: Simpson's rule on the part of it that is at 50 °C or warmer."""
    low, high = min(start, end), max(start, end)
    if high < 50.0:
        return 0.0
    minutes *= 1.0 if low >= 50.0 else (high - 50.0) / (high - low)
    low, steps = max(low, 50.0), 200
    heights = [1.393 ** (low + (high - low) * i / steps - 60.0) for i in range(steps + 1)]
    return minutes / steps / 3.0 * (heights[0] + heights[-1] + 4.0 * sum(heights[1:-1:2]) + 2.0 * sum(heights[2:-1:2]))


@formula("pasteurisation log")
def pasteurisation(evaluator, log):
    def minute(when):
        return number_in(when, "min") if isinstance(when, Quantity) else when.toordinal() * 1440.0

    read = sorted((minute(r["when"]), celsius(r["temp"])) for r in log if r["temp"] is not None)
    return of(sum(_units(b[0] - a[0], a[1], b[1]) for a, b in zip(read, read[1:])), "PU")


@formula("juice_hold at")
def juice_hold(evaluator, at):
    return of(6.0 * 10.0 ** (-(celsius(at) * 1.8 + 32.0 - 160.0) / 15.37), "s")


def _heated(carbonation, at, headspace, strength, closed, sugar):
    """Gauge pressure, kPa: the CO2 is shared between the drink and what is left of the gas space."""
    cool, warm, empty = celsius(closed, 20.0), celsius(at), share_of(headspace, 0.05)
    abv, sweet = abv_of(strength, 6.0), g_l(sugar, 0.0)

    def swells(start, end):
        return physics.water_density(start) / physics.water_density(end) * (1.0 + 1e-5 * abv * (end - start))

    drink, space = (1.0 - empty) * swells(cool, 20.0), 1.0 + 25e-6 * (warm - cool) - (1.0 - empty) * swells(cool, warm)
    gas = drink * g_l(carbonation)
    above = space * 44.009 / (8.314462618 * (warm + 273.15))
    held = physics.solve(lambda p: drink * physics.co2_dissolved(warm, p, abv, sweet) + above * p - gas, 0.0, 3000.0)
    air = physics.ATM * empty / space * (warm + 273.15) / (cool + 273.15)
    return held + air + physics.water_vapour(warm) - physics.ATM


@formula("hot_gas_pressure carbonation at headspace? strength? closed? sugar?")
def hot_gas_pressure(evaluator, carbonation, at, headspace=None, strength=None, closed=None, sugar=None):
    x = of(_heated(carbonation, at, headspace, strength, closed, sugar), "kPa")
    return convert(x, (("psi", 1),)) if at.unit == (("°F", 1),) else convert(x, (("bar", 1),))


@formula("hot_bottle_pressure carbonation at headspace? strength? closed? sugar?")
def hot_bottle_pressure(evaluator, carbonation, at, headspace=None, strength=None, closed=None, sugar=None):
    return hot_gas_pressure(evaluator, carbonation, at, headspace, strength, closed, sugar)


@formula("cooling_time from to around constant")
def cooling_time(evaluator, start, end, around, constant):
    room = celsius(around)
    return Quantity(constant.number * math.log((celsius(start) - room) / (celsius(end) - room)), constant.unit, constant.units)


@formula("cooling_constant from to around time")
def cooling_constant(evaluator, start, end, around, time):
    room = celsius(around)
    return Quantity(time.number / math.log((celsius(start) - room) / (celsius(end) - room)), time.unit, time.units)


def _heat_capacity(solids, t):
    """kJ/(kg °C): water and carbohydrate by mass, Choi & Okos 1986."""
    of_water = 4.1762 - 9.0864e-5 * t + 5.4731e-6 * t * t
    return (1.0 - solids) * of_water + solids * (1.5488 + 1.9625e-3 * t - 5.9399e-6 * t * t)


@formula("specific_heat gravity? at?")
def specific_heat(evaluator, gravity=None, at=None):
    solids = 0.0 if gravity is None else number_in(gravity, "°P") / 100.0
    return Quantity(_heat_capacity(solids, celsius(at, 20.0)), (("kJ", 1), ("kg", -1), ("C°", -1)))


@formula("heating_time what from to power efficiency?")
def heating_time(evaluator, what, start, end, power, efficiency=None):
    if isinstance(what, Quantity):
        kilos, solids = _water_kilos(what), 0.0
    else:
        kilos, solids = what.mass, what.dissolved / what.mass
    low, high = celsius(start), celsius(end)
    middle = (low + high) / 2.0  # Simpson's rule is exact for a square
    mean = (_heat_capacity(solids, low) + 4.0 * _heat_capacity(solids, middle) + _heat_capacity(solids, high)) / 6.0
    return of(kilos * mean * (high - low) / (number_in(power, "kW") * share_of(efficiency, 0.90)) / 60.0, "min")


def _latent(t):
    """kJ/kg, steam tables, as docs/reference/library.md fits them."""
    return 2500.9 - 2.365 * t - 7.9e-6 * t**3


@formula("latent_heat at")
def latent_heat(evaluator, at):
    return Quantity(_latent(celsius(at)), (("kJ", 1), ("kg", -1)))


@formula("boil_off power efficiency?")
def boil_off(evaluator, power, efficiency=None):
    return Quantity(3600.0 * number_in(power, "kW") * share_of(efficiency, 0.90) / _latent(100.0), (("kg", 1), ("h", -1)))


@formula("decoction from to boiling?")
def decoction(evaluator, start, end, boiling=None):
    return of(100.0 * (celsius(end) - celsius(start)) / (celsius(boiling, 100.0) - celsius(start)), "%")


# ---- balances ----


@formula("freezing_point liquid sugar?")
def freezing_point(evaluator, liquid, sugar="sucrose"):
    alcohol = 1000.0 * liquid.alcohol / liquid.water / 46.069
    sweet = 1000.0 * liquid.dissolved / liquid.water / (342.297 if sugar == "sucrose" else 180.156)
    return of(-1.858 * (alcohol + sweet * (1.0 + (0.115 if sugar == "sucrose" else 0.03) * sweet)), "°C")


@formula("line_pressure diameter length flow rise?")
def line_pressure(evaluator, diameter, length, flow, rise=None):
    d, q = number_in(diameter, "m"), _number(flow, "L/s") / 1000.0
    speed = 4.0 * q / (math.pi * d * d)
    re = 1010.0 * speed * d / 0.0019
    friction = 64.0 / re if re < 2300.0 else 0.3164 * re**-0.25
    climb = 1010.0 * 9.80665 * (number_in(rise, "m") if rise is not None else 0.0)
    taken = of((friction * number_in(length, "m") / d * 1010.0 * speed * speed / 2.0 + climb) / 1000.0, "kPa")
    return convert(taken, (("psi", 1),)) if length.unit[0][0] in ("ft", "inch") else taken


@formula("sanitiser_dose volume wanted stock")
def sanitiser_dose(evaluator, volume, wanted, stock):
    return of(litres(volume) * 1000.0 * g_l(wanted) / (10.0 * 100.0 * simple(stock)), "mL")


VESSELS = {"half barrel": (15.5, "gal"), "quarter barrel": (7.75, "gal"), "sixth barrel": (31 / 6, "gal"), "firkin": (9, "igal"),
           "pin": (4.5, "igal"), "barrel": (31, "gal")}


@formula("vessel name")
def vessel(evaluator, name):
    return of(*map(lambda x: x, VESSELS[name.lower()]))
