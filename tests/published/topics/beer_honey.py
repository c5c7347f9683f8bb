# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which expression answers each topic of beer_honey.csv: see test_rows.py."""


def must(mass, water, volume):
    """Honey made up with water to a volume."""
    honey = f"{mass} of honey(water: {water})"
    top_up = f"(find w from 0 L to {volume} so ({honey} + w of water()).volume == {volume})"
    return f"number(({honey} + {top_up} of water()).gravity as SG)"


def needed(row):
    """How much of 1 kg of honey thinned to that gravity fits the volume."""
    honey = f"1 kg of honey(water: {row['W']})"
    thinned = f"({honey} + (find w from 0 L to 20 L so ({honey} + w of water()).gravity == {row['SG']} SG) of water())"
    return f"number({row['V']} as L) / number({thinned}.volume as L)"


def points_added(row):
    share = row["solids"].split()[0]
    return f"number((1 lb of honey(water: (100 - {share}) %) + 1 gal of water()).gravity - 1.000 SG as pts)"


TOPICS = {
    "honey.water": "number(honey_water({n}))",
    # 998.20123 kg/m³ is water at 20 °C, OIML R 22.
    "honey.density": "number(honey(water: {W} %).density as kg/m^3) / 998.20123",
    "honey.must": lambda row: must(row["m"], row["W"], row["V"]),
    "malt.points_added": points_added,
    "honey.needed": needed,
    "syrup.sg": "number({Bx} °Bx as SG)",
}
