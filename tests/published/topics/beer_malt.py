# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which expressions answer the rows of beer_malt.csv."""


def points(given):
    if given["out"] == "pts":
        return f"number(points_of({given['extract']} * {given['efficiency']}))"
    return f"number(points_of({given['extract']}))"


def congress(given):
    return f"number(congress_extract({given['P']}, {given['M']}) * (1 - {given['M']}) as %)"


def litre_degrees(given):
    """Degrees (0.001 SG) of the litres of wort that 1 kg makes, from the points of 1 lb in 1 US gal."""
    return f"number(points_of({given['extract']})) * number(1 gal as L) / number(1 lb as kg)"


def first_wort(given):
    """The rows give the extract on the malt as it is."""
    malt = f"malt(extract: {given['extract']} / (1 - {given['M']}), moisture: {given['M']})"
    gravity = f"first_wort({malt}, {given['R']}, conversion: {given.get('conversion', '100 %')})"
    return f"number(({gravity} - 1.000 SG) as pts)" if given["out"] == "pts" else f"number({gravity} as °P)"


def batch(given):
    """The extract is that of the malt as it is."""
    malt = f"malt(extract: {given['extract']}, moisture: 0%)"
    return f"number(malt_needed({given['V']}, {given['SG']} SG, {malt}, efficiency: {given['efficiency']}) as kg)"


def trade_yield(given):
    """The trade shrinks the hot wort by 0.96 and counts 1 kg to the litre of water: our yield of the cold wort so shrunk."""
    cold = f"brewhouse_yield(0.96 * {given['V']}, at: 20 °C, gravity: {given['P']}, grist: malt(mass: {given['m']}))"
    return f"number({cold} * (1 kg/L / water_density(20 °C)) as %)"


TOPICS = {
    "malt.points_added": lambda given: "number(((1 gal of water() + 1 lb of sugar()).gravity - 1.000 SG) as pts)",
    "malt.points": points,
    "malt.congress": congress,
    "malt.asis_from_dry": "number(malt(extract: {dry}, moisture: {M}).as_is)",
    "malt.hwe": litre_degrees,
    "malt.first_wort": first_wort,
    "malt.batch": batch,
    "malt.brewhouse_yield": trade_yield,
    "malt.syrup_points": "number(points_of({solids}))",
}

PLAIN = {
    "malt.sum100": ("{water} + {protein} + {fat} + {ash} + {carb}",
                    "a check of the transcription: no formula counts protein, fat or ash"),
}
