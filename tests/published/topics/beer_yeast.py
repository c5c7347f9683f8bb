# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What answers the rows of beer_yeast.csv: see ../test_rows.py."""


def real_by_extract(inputs):
    """(OE - RE)/OE of real_attenuation f, which is that divided by 1 - 0.005161 RE."""
    degree = f"real_attenuation({inputs['OG']} SG, {inputs['FG']} SG, by: \"brewers\")"
    extract = f"number({inputs['OG']} SG as °P)"
    left = f"((1 - {degree}) / (1 / {extract} - 0.005161 * {degree}))"
    return f"100 * (1 - {left} / {extract})"


TOPICS = {
    "yeast.cells": "number(cells_needed({V}, {P}, rate: {rate}))",
    "yeast.dry_grams": "number(dry_yeast(cells_needed({V}, {P}, rate: {rate}), per: {per_g} Gcell/g, viable: {viable}%) as g)",
    "yeast.viable": "{cells} ^ 2 / number(dry_yeast({cells} Gcell, per: 1 Gcell/g, viable: {viable}%) as g)",
    "yeast.o2_water": "number(oxygen_saturation({T}) as mg/L)",
    "yeast.o2_wort": "number(oxygen_saturation({T}, gravity: {P}) as mg/L)",
    "yeast.rdf": 'number(real_attenuation({OG} SG, {FG} SG, by: "brewers"))',
    "yeast.real": real_by_extract,
    "yeast.starter_extract": "number({V} * sugar_of({SG} SG) / {solids} as g)",
}

PLAIN = {
    "yeast.doublings": ("ln({to} / {from}) / ln(2)", "no formula of the library counts doublings"),
}
