# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What answers the rows of beer_balances.csv: see ../test_rows.py."""

# The pressure at which water boils at a temperature.
VAPOUR = "number((find p from 1 kPa to 1000 kPa so boiling_point(pressure: p) == {T}) as {unit})"


def made_of(row):
    """100 g of a drink by the shares of what is in it."""
    parts = {name: float(row.get(name, "0").split()[0]) for name in ("alcohol", "sucrose", "hexose")}
    water = 100 - sum(parts.values())
    liquid = f"water(mass: {water} g)"
    if parts["alcohol"] > 0:
        liquid += f" + spirit(100 %ABV, mass: {parts['alcohol']} g)"
    sweet = parts["sucrose"] + parts["hexose"]
    if sweet > 0:
        liquid += f" + {sweet} g of sugar()"
    return liquid, "hexose" if parts["hexose"] > 0 else "sucrose"


def freezing(row):
    liquid, sugar = made_of(row)
    return f'number(freezing_point({liquid}, sugar: "{sugar}") as °C)'


def molal(row):
    """Moles in 1 kg of water: alcohol acts as an ideal solution does, the sugar of fruit counts as hexose."""
    if row["of"] == "ideal":
        return f"number(freezing_point(water(mass: 1 kg) + spirit(100 %ABV, mass: {row['m']} * 46.069 g)) as °C)"
    return f'number(freezing_point(water(mass: 1 kg) + {row["m"]} * 180.156 g of sugar(), sugar: "hexose") as °C)'


def line(row):
    """The Reynolds number follows from the friction, which Blasius takes to the power of -1/4."""
    long = "1 ft" if row["out"] == "psi per ft" else "1 m"
    fall = f"number(line_pressure({row['D']}, {long}, {row['Q']}) as {row['out'].split()[0] if long == '1 ft' else 'kPa'})"
    if row["out"] != "Re":
        return fall
    bore = f"number({row['D']} as m)"
    speed = f"(number({row['Q']} as m^3/s) / (3.14159265358979 / 4 * {bore}^2))"
    return f"(0.3164 / ({fall} * 1000 * 2 * {bore} / (1010 * {speed}^2)))^4"


def size(row):
    """Sizes that have a name are asked for by it; the others are only a unit."""
    name = VESSELS.get((row["n"], row["unit"]))
    unit = {"US gal": "gal", "imperial gal": "igal"}[row["unit"]]
    return f'number(vessel("{name}") as L)' if name else f"number({row['n']} {unit} as L)"


VESSELS = {("15.5", "US gal"): "half barrel", ("7.75", "US gal"): "quarter barrel", ("5.1667", "US gal"): "sixth barrel",
           ("31", "US gal"): "barrel", ("9", "imperial gal"): "firkin", ("4.5", "imperial gal"): "pin"}

TOPICS = {
    "balance.if97": lambda inputs: VAPOUR.replace("{T}", inputs["T"]).replace("{unit}", "kPa") + " / 1000",
    "balance.psat": VAPOUR.replace("{unit}", "kPa"),
    "balance.boiling": "number(boiling_point(pressure: {p}) as °C)",
    "balance.boiling_alt": "number(boiling_point(altitude: {h}) as °C)",
    "balance.isa": "number(air_pressure({h}) as {out})",
    "balance.freeze": freezing,
    "balance.freeze_molal": molal,
    "balance.line": line,
    "balance.head": 'number(line_pressure(5 mm, 0 m, 1 L/min, rise: 1 ft) as psi)',
    "balance.barrel_share": 'number({L} L / vessel("barrel"))',
    "balance.case_barrel": 'number({n} * {floz} floz / vessel("barrel"))',
    "balance.volume": size,
    "balance.water_density": "number(water_density({T}) as kg/m^3)",
    "balance.concentrate": "number(evaporate({V1} of juice(gravity: {SG1} SG), to: {V2}).gravity as SG)",
    "balance.water_needed": "number(brewing_water({batch}, evaporation: {evap}, trub: {trub}, grist: malt(mass: {grain}), "
                            "absorption: {absorb}) as L)",
}
