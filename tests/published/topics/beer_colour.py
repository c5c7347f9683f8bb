# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What answers the rows of beer_colour.csv: see ../test_rows.py."""

LAW = "(number({colour} as SRM) / 1.4922) ^ (1 / 0.6859)"  # from SRM back to MCU

TOPICS = {
    "colour.ebc": "number({A430} * {dilution} * 12.7 SRM as EBC)",
    "colour.ebc_per_srm": "number(1 SRM as EBC)",
    "colour.srm_from_lovibond": "number({L} as SRM)",
    "colour.power_law": "number(grist_colour(malt(mass: 1 lb, colour: {MCU} °L), 1 gal) as SRM)",
    "colour.mcu": LAW.replace("{colour}", "grist_colour(malt(mass: {mass}, colour: {L}), {V})"),
    "colour.dilute": "number((juice(gravity: 1.000 SG, volume: {V1}, colour: {SRM} SRM) + water(volume: {V2} - {V1})).colour as SRM)",
}
