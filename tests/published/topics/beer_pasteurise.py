# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which expressions answer the topics of beer_pasteurise.csv: see ../test_rows.py."""


def curve(inputs):
    """Minutes and °C, "0:20 12:62 …"."""
    readings = (reading.split(":") for reading in inputs["curve"].split())
    log = ", ".join(f"{{when: {when} min, temp: {temp} °C}}" for when, temp in readings)
    return f"number(pasteurisation([{log}]))"


def mole_fraction(inputs):
    """Up to 40 °C the library follows Weiss, up to 3 % away from the relation that this row is about."""
    kelvin = f"number({inputs['T']} as K)"
    if float(inputs["T"].split()[0]) <= 40:
        return (f"number({inputs['p']} as kPa) / exp(-6.8346 + 12817 / {kelvin} - 3.7668e6 / {kelvin}^2 "
                f"+ 2.997e8 / {kelvin}^3)")
    moles = f"number(co2_solubility({inputs['T']}, {inputs['p']}) as g/L) / 44.009"
    return f"1000 * {moles} / ({moles} + 998.2 / 18.015)"


def full_of_liquid(inputs):
    """The air alone, shut in above a tenth of the bottle, shows by its pressure how far the drink and the glass swell."""
    at, grown = inputs["T"], f"(1 + 25e-6 * number({inputs['T']} - 20 °C as C°))"
    air = (f"((hot_gas_pressure(0 vols, {at}, headspace: 10%, strength: {inputs['A']} %ABV) - water_vapour({at}) + 1 atm)"
           f" / (1 atm * number({at} as K) / 293.15))")
    swollen = f"(({grown} - 0.1 / {air}) / 0.9)"
    return f"100 * (1 - {grown} / {swollen})"


TOPICS = {
    "pasteurise.rate": "number(pasteurisation_rate({T}) as PU/min)",
    "pasteurise.pu": "number(pasteurisation([{when: 0 min, temp: {T}}, {when: {t}, temp: {T}}]))",
    "pasteurise.fda_z": "number({T2} - {T1} as F°) / log10(juice_hold({T1}) / juice_hold({T2}))",
    "pasteurise.fda_time": "number(juice_hold({T}) as s)",
    "pasteurise.curve": curve,
    "pasteurise.expansion": "100 * (water_density({T0}) / water_density({T}) - 1)",
    "pasteurise.bottle":
        "number(hot_gas_pressure({vols} vols, {T}, headspace: {head}, strength: {A} %ABV) as bar)",
    "pasteurise.min_head": full_of_liquid,
    "gas.co2_mole_fraction": mole_fraction,
    "gas.co2_g_per_L": "number(co2_solubility({T}, {p}) as g/L)",
}
