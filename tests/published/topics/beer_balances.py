# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What answers the rows of beer_balances.csv: see ../test_rows.py."""

# The pressure at which water boils at a temperature.
VAPOUR = "number((find p from 1 kPa to 1000 kPa so boiling_point(pressure: p) == {T}) as {unit})"

TOPICS = {
    "balance.if97": lambda inputs: VAPOUR.replace("{T}", inputs["T"]).replace("{unit}", "kPa") + " / 1000",
    "balance.psat": VAPOUR.replace("{unit}", "kPa"),
    "balance.boiling": "number(boiling_point(pressure: {p}) as °C)",
    "balance.boiling_alt": "number(boiling_point(altitude: {h}) as °C)",
    "balance.isa": "number(air_pressure({h}) as {out})",
}
