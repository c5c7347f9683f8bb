# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The formulas for readings, doses, gas and servings of docs/reference/library.md, written a second time from the sources it
names, for evaluate.py; those for numbers and liquids are in library.py."""

import datetime
import math

import liquids
import physics
from library import (abv_of, ceil, celsius, fermentable, formula, g_l, grams, half_away, kilopascals, litres, needs_floor, of,
                     portion, same_unit, sg, share_of, whole)
from liquids import Liquid
from quantities import Quantity, Unclear, add, convert, dimensions, multiply, number_in, plain, rounded, simple

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


@formula("real_attenuation original final by?")
def real_attenuation(evaluator, original, final, by="balance"):
    """The share of solids by mass: 2.0665 g of them are gone for each g of alcohol. Brewers take the real extract as
    0.1808 OE + 0.8192 AE."""
    if by == "brewers":
        first, last = number_in(original, "°P"), number_in(final, "°P")
        real = 0.1808 * first + 0.8192 * last
        return of(100.0 * (first - real) / first / (1.0 - 0.005161 * real), "%")
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


@formula("water_density at")
def water_density(evaluator, at):
    return _kg_m3(physics.water_density(celsius(at)))


@formula("alcohol_density strength at?")
def alcohol_density(evaluator, strength, at=None):
    return _kg_m3(physics.alcohol_density(physics.mass_share(abv_of(strength) / 100.0), celsius(at, 20.0)))


@formula("sugar_density gravity at?")
def sugar_density(evaluator, gravity, at=None):
    return _kg_m3(physics.sucrose_density(physics.brix_of_gravity(sg(gravity)) / 100.0, celsius(at, 20.0)))


def _kg_m3(density):
    return Quantity(density, (("kg", 1), ("m", -3)))


@formula("sugar_gravity solids")
def sugar_gravity(evaluator, solids):
    return of(physics.gravity_of_solids(g_l(solids)), "SG")


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


@formula("formol titrant normality sample")
def formol(evaluator, titrant, normality, sample):
    return of(14007.0 * simple(normality) * litres(titrant) / litres(sample), "mg/L")


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


@formula("co2_pressure at dissolved strength? sugar?")
def co2_pressure(evaluator, at, dissolved, strength=None, sugar=None):
    return of(physics.co2_pressure(celsius(at), g_l(dissolved), abv_of(strength, 0.0), g_l(sugar, 0.0)), "kPa")


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
        sweet, all_solids = x.per_litre(fermentable(x, floor)), x.per_litre(x.dissolved)
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
    count = half_away(convert(x, step.unit).number / step.number)
    return same_unit(step, (max(count, 1.0) if x.number > 0 else count) * step.number)


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


@formula("log_slope log over? reading?")
def log_slope(evaluator, log, over=None, reading=None):
    """A straight line by least squares through the readings of the last `over`, never fewer than three; `reading` turns only
    its ±."""
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
