# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which expressions answer the rows of beer_mash_heat.csv."""

KILOGRAM = "malt(mass: 1 kg, moisture: {M})"  # water comes by mass: {R} L/kg as so many kg


def water_of(given):
    return given["R"].replace("L/kg", "kg")


def strike(given):
    """The rows without slaking get back the warmth that our balance counts on."""
    strike_water = (f"strike_temperature({KILOGRAM.format(**given)}, {water_of(given)}, from: {given['Tg']}, "
                    f"to: {given['Tm']})")
    if given["slaking"] == "0":
        strike_water += f" + wetting_heat({given['M']}) * 1 kg / ({water_of(given)} * 4.184 kJ/kg/C°)"
    return f"number(({strike_water}) as °C)"


def initial_heat(given):
    """The mash that strike water of T makes: our balance, worked backwards."""
    return (f"number((find mash_at from 0 °C to {given['T']} so strike_temperature({KILOGRAM.format(**given)}, "
            f"{water_of(given)}, from: {given['Tg']}, to: mash_at) == {given['T']}) as °C)")


def slaking_correction(given):
    """By how much the heat of wetting warms the mash."""
    warms = f"wetting_heat({given['M']}) / (malt_specific_heat({given['M']}) + {given['R'].replace('L/kg', '')} * 4.184 kJ/kg/C°)"
    return f"number({warms} as {'F°' if given['out'].startswith('F') else 'C°'})"


TOPICS = {
    "heat.cp_malt_rel": "malt_specific_heat({M}) / 4.184 kJ/kg/C°",
    "heat.cp_malt": "number(malt_specific_heat({M}))",
    "heat.slaking_correction": slaking_correction,
    "heat.slaking_heat": "number(wetting_heat({M}))",
    "heat.initial_heat": initial_heat,
    "heat.strike": strike,
    "heat.decoction": "number(decoction({T1}, {T2}, boiling: {Tb})) / 100",
    "heat.cp_water": "number(specific_heat(at: {T}))",
    "heat.cp_wort": "number(specific_heat({P}, at: {T}))",
    "heat.cp_solid": lambda given: f"number(vessel_heat(1 kg, of: \"{given['of'].replace('soda-lime ', '')}\"))",
    "heat.latent": "number(latent_heat({T}))",
    "heat.boiloff": "number(boil_off({kW} kW, efficiency: 100%))",
}

PLAIN = {
    "heat.energy": ("number({mass} * ({cp} kJ/kg/C°) * ({T2} - {T1})) / 3600",
                    "the row gives the specific heat, which `heating_time` works out itself"),
}
