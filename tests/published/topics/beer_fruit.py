# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which expression answers each topic of beer_fruit.csv: see test_rows.py."""

NAMES = {"cherry sweet": "sweet cherry", "cherry sour": "sour cherry", "grape European": "grape",
         "grape American": "grape", "currant red": "red currant", "redcurrant": "red currant"}


def fruit(row, mass="1 kg"):
    name = NAMES.get(row["of"], row["of"])
    # Water does not depend on the sugar that has to be told for the fruits of which the table has none.
    told = ", sugar: 7 %" if name in ("elderberry", "quince") else ""
    return f'fruit("{name}", {mass}{told})'


def water(row):
    """Of all that is dissolved or water, what is not dissolved, in g for each 100 g of fruit."""
    made = fruit(row)
    return f"number({made}.mass as kg) * 100 * (1 - number({made}.brix as °Bx) / 100)"


def in_all(field):
    return lambda row: f"number({fruit(row)}.{field} * {fruit(row)}.volume as g) / 10"


def alcohol_after(row):
    """As the row counts it: 16.83 g/L of sugar for each %ABV, each kg of the fruit's water as 1 L, and no room for the
    alcohol made. `ferment` counts that room too, and Balling's yield, so that it gives 6.331 %ABV."""
    made = fruit(row, row["m"])
    alcohol = f"{row['V'].split()[0]} * {row['A']} + number({made}.sugar * {made}.volume as g) / 16.83"
    volume = f"{row['V'].split()[0]} + number({made}.mass as kg) * (1 - number({made}.brix as °Bx) / 100)"
    return f"({alcohol}) / ({volume})"


TOPICS = {
    "fruit.water": water,
    "fruit.sugar": in_all("sugar"),
    "fruit.acid": in_all("acid"),
}

PLAIN = {
    "fruit.alcohol_after": (alcohol_after, "the row leaves no room for the alcohol made; of the library it asks the fruit only"),
    "fruit.sum100": ("{water} + {protein} + {fat} + {ash} + {carb}",
                     "the formula knows no protein, fat, ash or other carbohydrate; the row shows that the table was copied "
                     "without a slip"),
}
