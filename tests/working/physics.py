# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The published relations of docs/model.md on plain numbers, written a second time: nothing here is shared with the C code.

Gravity is relative density at 20 °C/20 °C, shares are from 0 to 1, temperatures in °C, densities in kg/m³ unless a name says
otherwise. The long lists of coefficients are read from tests/published/, which names where each was printed."""

import csv
import functools
import math
import pathlib
import re

PUBLISHED = pathlib.Path(__file__).resolve().parent.parent / "published"
WATER = 998.20123  # kg/m³ at 20 °C: the first coefficient of OIML R 22; docs/model.md prints 998.2012


def rows(name):
    """Of a table in tests/published/."""
    with open(PUBLISHED / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _alcohol_terms():
    a, b, c = {}, {}, {}
    for row in rows("oiml_r22_coefficients.csv"):
        k, value = int(row["k"]), float(row["value"])
        if row["name"] == "A":
            a[k] = value
        elif row["name"] == "B":
            b[k] = value
        else:
            c[int(row["i"]), k] = value
    assert (len(a), len(b), len(c)) == (12, 6, 36), "OIML R 22 has 54 coefficients"
    return a, b, c


def _sucrose_terms():
    terms = {}
    for row in rows("sucrose_density_coefficients.csv"):
        found = re.match(r"c\[(\d)\]\[(\d)\]", row["coefficient"])
        if row["formula"].startswith("SPS-4") and found:
            terms[int(found[1]), int(found[2]) + 1] = float(row["value"])
    assert len(terms) == 20, "ICUMSA SPS-4 has 20 coefficients"
    return terms


_A, _B, _C = _alcohol_terms()
_SUCROSE = _sucrose_terms()


def solve(f, low, high):
    """Where f, which rises or falls throughout, is 0 between low and high, by Ridders' method; None if it is not 0 there."""
    at_low, at_high = f(low), f(high)
    if at_low == 0 or at_high == 0:
        return low if at_low == 0 else high
    if (at_low > 0) == (at_high > 0):
        return None
    for _ in range(100):
        middle = (low + high) / 2
        at_middle = f(middle)
        if at_middle == 0:
            return middle
        bend = math.sqrt(at_middle**2 - at_low * at_high)
        new = middle + (middle - low) * math.copysign(at_middle / bend, at_middle * (at_low - at_high))
        at_new = f(new)
        if at_new == 0:
            return new
        ends = sorted([(low, at_low), (middle, at_middle), (new, at_new), (high, at_high)])
        for (left, at_left), (right, at_right) in zip(ends, ends[1:]):
            if (at_left > 0) != (at_right > 0):
                moved = (left, right) != (low, high)
                low, at_low, high, at_high = left, at_left, right, at_right
                break
        if not moved or high - low <= 1e-15 * (abs(low) + abs(high)):
            break
    return (low + high) / 2


# ---- water and alcohol: OIML R 22 ----


def alcohol_density(p, t=20.0):
    """kg/m³ at a share p of alcohol by mass."""
    d = t - 20.0
    rho = sum(value * p ** (k - 1) for k, value in _A.items())
    rho += sum(value * d**k for k, value in _B.items())
    return rho + sum(value * p**k * d**i for (i, k), value in _C.items())


ALCOHOL = alcohol_density(1.0)  # 789.2391


def volume_share(p, t=20.0):
    """Strength by volume, 0 to 1, with both volumes at t."""
    return p * alcohol_density(p, t) / alcohol_density(1.0, t)


@functools.lru_cache(maxsize=100_000)
def mass_share(q, t=20.0):
    """The inverse of volume_share."""
    return solve(lambda p: volume_share(p, t) - q, 0.0, 1.0)


@functools.lru_cache(maxsize=100_000)
def alcohol_gravity(abv):
    """Relative density of water and alcohol alone, of a strength in %ABV."""
    return alcohol_density(mass_share(abv / 100.0)) / WATER


SIXTY_F = (60.0 - 32.0) / 1.8


def abv_of_proof(proof):
    """27 CFR 30.11: twice the strength with both volumes at 60 °F."""
    return 100.0 * volume_share(mass_share(proof / 200.0, SIXTY_F))


def proof_of_abv(abv):
    return 200.0 * volume_share(mass_share(abv / 100.0), SIXTY_F)


# ---- water and sugar: ICUMSA SPS-4, Bettin and Spieweck ----


def water_density(t=20.0):
    top = 999.83952 + t * (16.952577 + t * (-7.9905127e-3 + t * (-46.241757e-6 + t * (105.84601e-9 - t * 281.03006e-12))))
    return top / (1.0 + 16.887236e-3 * t)


def sucrose_density(w, t=20.0):
    d = (t - 20.0) / 100.0
    return water_density(t) + sum(value * d**j * w**i for (j, i), value in _SUCROSE.items())


def gravity_of_brix(brix):
    return sucrose_density(brix / 100.0) / water_density()


@functools.lru_cache(maxsize=100_000)
def brix_of_gravity(sg):
    """°Bx, below 0 for what is lighter than water."""
    return solve(lambda brix: gravity_of_brix(brix) - sg, -30.0, 90.0)


def solids_of_gravity(sg):
    """g/L of dissolved solids in a sugar solution."""
    return brix_of_gravity(sg) / 100.0 * sg * WATER


@functools.lru_cache(maxsize=100_000)
def gravity_of_solids(grams):
    """Of a sugar solution with so many g/L."""
    if grams == 0.0:
        return 1.0
    return gravity_of_brix(solve(lambda brix: brix / 100.0 * gravity_of_brix(brix) * WATER - grams, -30.0, 90.0))


# ---- alcohol and solids together: Tabarié (OIV-MA-AS2-03B), Balling 1865 ----

SOLIDS_TO_ALCOHOL = 2.0665  # g of solids make 1 g of alcohol


def mixed_gravity(abv, grams):
    return alcohol_gravity(abv) + gravity_of_solids(grams) - 1.0


def mixed_volume(water, alcohol, solids):
    """L at 20 °C of so many kg of each."""
    mass = water + alcohol + solids
    if mass <= 0.0:
        return 0.0
    volume = water / (WATER / 1000.0) + alcohol / (ALCOHOL / 1000.0) + solids / 1.6
    for _ in range(200):
        abv = 100.0 * alcohol / (volume * ALCOHOL / 1000.0)
        new = mass / (WATER / 1000.0) / mixed_gravity(abv, 1000.0 * solids / volume)
        if abs(new - volume) <= 1e-13 * volume:
            return new
        volume = new
    raise ArithmeticError("the volume does not settle")


def fermented(water, alcohol, solids, formed):
    """The masses once `formed` kg of alcohol were made: carbon dioxide and yeast leave."""
    return water, alcohol + formed, solids - SOLIDS_TO_ALCOHOL * formed


def gravity_of_masses(water, alcohol, solids):
    return (water + alcohol + solids) / mixed_volume(water, alcohol, solids) / (WATER / 1000.0)


def strength_of_masses(water, alcohol, solids):
    """%ABV."""
    return 100.0 * alcohol / (mixed_volume(water, alcohol, solids) * ALCOHOL / 1000.0)


def must_masses(sg):
    """kg of water, alcohol and solids in 1 kg of a juice."""
    w = brix_of_gravity(sg) / 100.0
    return 1.0 - w, 0.0, w


def formed_at_gravity(masses, sg):
    """kg of alcohol that bring these masses down to a gravity; None if all solids are not enough."""
    if abs(gravity_of_masses(*masses) - sg) < 1e-10:
        return 0.0
    return solve(lambda e: gravity_of_masses(*fermented(*masses, e)) - sg, 0.0, masses[2] / SOLIDS_TO_ALCOHOL)


def abv(original, final):
    masses = must_masses(original)
    return strength_of_masses(*fermented(*masses, formed_at_gravity(masses, final)))


# ---- instruments ----

GLASS = 25e-6  # per °C, ISO 1768


def hydrometer(reading, at, calibrated):
    density = reading * water_density(calibrated) / (1.0 + GLASS * (at - calibrated))
    w = solve(lambda share: sucrose_density(share, at) - density, -0.3, 0.9)
    return sucrose_density(w) / water_density()


def alcoholmeter(reading, at, calibrated):
    """%ABV at 20 °C from %ABV as read."""
    density = alcohol_density(mass_share(reading / 100.0), calibrated) / (1.0 + GLASS * (at - calibrated))
    return 100.0 * volume_share(solve(lambda p: alcohol_density(p, at) - density, 0.0, 1.0))


def _sucrose_index(brix):
    return 1.33299 + 1.42701190e-3 * brix + 5.4229762e-6 * brix**2 + 1.75952381e-8 * brix**3 - 1.19047619e-12 * brix**4


def refractometer(reading, original):
    """Present gravity, from a reading in °Bx and the original gravity."""
    masses = must_masses(original)
    seen = _sucrose_index(reading) - _sucrose_index(0.0)

    def excess(e):
        water, alcohol, solids = fermented(*masses, e)
        volume = mixed_volume(water, alcohol, solids)
        ethanol, sugar = 1000.0 * alcohol / volume, 1000.0 * solids / volume
        brix = brix_of_gravity(gravity_of_solids(sugar))
        return 5.8235e-5 * ethanol + 8.0715e-8 * ethanol**2 + _sucrose_index(brix) - _sucrose_index(0.0) - seen

    return gravity_of_masses(*fermented(*masses, solve(excess, 0.0, masses[2] / SOLIDS_TO_ALCOHOL)))


# ---- carbon dioxide: Weiss 1974, Regulation (EEC) 2676/90 chapter 37, Antoine ----

ATM = 101.325  # kPa


def co2_dissolved(at, pressure, strength=0.0, sugar=0.0):
    """Weiss, above 40 °C Carroll: g/L under a partial pressure in kPa, of a drink of so many %ABV and g/L of sugar."""
    kelvin, p = at + 273.15, pressure / ATM
    k0 = math.exp(-58.0931 + 90.5069 * 100.0 / kelvin + 22.2940 * math.log(kelvin / 100.0))
    b = -1636.75 + 12.0408 * kelvin - 0.0327957 * kelvin**2 + 3.16528e-5 * kelvin**3
    fugacity = p * math.exp(b * p / (82.057 * kelvin))
    moles = k0 * fugacity
    if at > 40.0 + 1e-9:
        henry = math.exp(-6.8346 + 12817.0 / kelvin - 3.7668e6 / kelvin**2 + 2.997e8 / kelvin**3)  # MPa
        share = fugacity * ATM / 1000.0 / henry
        moles = 998.2 / 18.015 * share / (1.0 - share)
    return moles * 44.009 * (0.86 - 0.01 * strength) / 0.86 * (1.0 - 0.00144 * sugar)


def co2_pressure(at, dissolved, strength=0.0, sugar=0.0):
    """kPa, absolute."""
    return solve(lambda p: co2_dissolved(at, p, strength, sugar) - dissolved, 0.0, 3000.0)


def water_vapour(at):
    """kPa."""
    return 10.0 ** (8.07131 - 1730.63 / (233.426 + at)) * 13.5951 * 9.80665 / 1000.0


# ---- sulphite: OIV-MA-AS323-04C ----

_PKT = {20: (1.798, 1.897, 1.997, 2.099), 25: (2.000, 2.098, 2.198, 2.301), 30: (2.219, 2.299, 2.394, 2.503),
        35: (2.334, 2.397, 2.488, 2.607), 40: (2.493, 2.527, 2.606, 2.728)}


def sulphite_pk(strength, at):
    """The mixed constant, linear between the values in the table; colder than 20 °C that of 20 °C, above 15 %ABV that of 15."""
    strength, at = min(strength, 15.0), max(at, 20.0)
    row, place = min(20 + 5 * int((at - 20.0) // 5), 35), min(int(strength // 5), 2)
    down, across = (at - row) / 5.0, strength / 5.0 - place

    def along(values):
        return values[place] + across * (values[place + 1] - values[place])

    thermodynamic = along(_PKT[row]) + down * (along(_PKT[row + 5]) - along(_PKT[row]))
    return thermodynamic - (0.075 + 0.0006 * strength) * (1.0 + 0.0019 * (at - 20.0))
