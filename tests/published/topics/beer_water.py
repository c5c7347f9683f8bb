# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which expression answers each topic of beer_water.csv: see test_rows.py."""

SALTS = {"CaSO4.2H2O": "gypsum", "CaCl2.2H2O": "calcium chloride dihydrate", "MgSO4.7H2O": "epsom salt",
         "NaHCO3": "baking soda", "NaCl": "table salt", "Ca(OH)2": "slaked lime", "CaCO3": "chalk",
         "MgCl2.6H2O": "magnesium chloride hexahydrate"}
IONS = {"Ca": "calcium", "Mg": "magnesium", "Na": "sodium", "SO4": "sulphate", "Cl": "chloride", "HCO3": "bicarbonate"}
AGENTS = {"K2S2O5": "potassium metabisulphite", "Na2S2O5": "sodium metabisulphite", "Na2SO3": "sodium sulphite",
          "ascorbic": "ascorbic acid"}
# g/mol, CIAAW abridged: what turns a share by mass into a molar mass, and back.
ATOMS = {"calcium": 40.078, "magnesium": 24.305, "sodium": 22.990}
ACIDS = {"lactic": 90.078, "phosphoric": 97.994}
# Taken off both sides of a share: how many g of chlorine a metabisulphite takes, so its molar mass.
CHLORINE = 2 * 70.90


def ions(salt, ion, mass="1 g", volume="1 L"):
    return f'number(salt_ions("{salt}", {mass}, {volume}).{ion} as mg/L)'


def per_litre(row):
    return ions(SALTS[row["of"]], IONS[row["ion"]], volume="1 gal")


def per_gram(row):
    """Two salts that the library does not know follow from those that it knows."""
    dihydrate = "calcium chloride dihydrate"
    if row["of"] == "CaCl2":  # the dihydrate without its water
        whole = f"({ions(dihydrate, 'calcium')} + {ions(dihydrate, 'chloride')})"
        return f"1000 * {ions(dihydrate, IONS[row['ion']])} / {whole}"
    if row["of"] == "KCl":  # potassium is heavier than sodium by half of what one metabisulphite is heavier by
        heavier = f"({dechlorinated('K2S2O5')} - {dechlorinated('Na2S2O5')})"
        sodium = f"{ions('table salt', 'sodium')} / {ions('table salt', 'chloride')}"
        return f"1000 / (1 + {sodium} + 2 * {heavier})"
    return ions(SALTS[row["of"]], IONS[row["ion"]])


def dechlorinated(agent):
    return f'number(chlorine_dose(1 L, 1 mg/L, with: "{AGENTS[agent]}") as mg)'


def molar_mass(row):
    if row["of"] in AGENTS:
        return f"{CHLORINE} * {dechlorinated(row['of'])}"
    salt = SALTS[row["of"]]
    ion = next(ion for ion in ("calcium", "magnesium", "sodium") if ion.startswith(row["of"][0].lower()) or
               IONS.get(row["of"][:2]) == ion)
    return f"1000 * {ATOMS[ion]} / {ions(salt, ion)}"


def hardness(row):
    """Of one degree; MgO is counted by the molar masses of the two, 40.304 and 100.086 g/mol."""
    caco3 = "number(1 °dH as mg/L)"
    return f"{caco3} * 40.304 / 100.086" if "MgO" in row["out"] else caco3


def residual(row):
    """Hardness as the ion itself: 40.078 and 24.305 g for each 100.086 g of CaCO3."""
    return (f"number(residual_alkalinity({row['KH']}, calcium: {row['CaH']} * 40.078 / 100.086, "
            f"magnesium: {row['MgH']} * 24.305 / 100.086) as °dH)")


def shift(row):
    buffer = row["buffer"].replace("meq/(kg pH)", "meq/kg")
    return f"number(mash_ph(5.7 pH, {buffer}, {row['RA']}, {row['R']})) - 5.7"


def needed(acid, share, density, alkalinity, before, after):
    return (f'number(acid_needed(1000000 L, {alkalinity}, from: {before} pH, to: {after} pH, acid: "{acid}", '
            f'share: {share}, density: {density}) as mL)')


def strength(acid, share, density, after):
    """meq/mL: water without carbonate, at pH 7, takes just the hydrogen ions that a pH has, less the hydroxide."""
    meq = f"1000000000 * (10^(-{after}) - 10^({after} - 14))"
    return f"{meq} / {needed(acid, share, density, '0 mg/L', '7', after)}"


def fraction(row):
    return f"{strength(row['of'], '50 %', '1 kg/L', row['pH'])} * {ACIDS[row['of']]} / 500"


def acid_strength(row):
    return strength(row["of"], row["share"], f"{row['density']} kg/L", row["pH"])


def acid_to(row):
    volume = needed("lactic", "88 %", "1.21 kg/L", row["alk"], row["pH0"], row["pH1"])
    return f"{volume} * {strength('lactic', '88 %', '1.21 kg/L', row['pH1'])} / 1000000"


TOPICS = {
    "water.salt_gal": per_litre,
    "water.salt": per_gram,
    "water.molar_mass": molar_mass,
    "water.dH": hardness,
    "water.as_caco3": lambda row: f"number({row['mg/L']} meq / 61.016 as mg)",
    "water.RA_dH": residual,
    "water.mash_shift": shift,
    "water.acid_fraction": fraction,
    "water.acid_strength": acid_strength,
    "water.acid_to_pH": acid_to,
    "water.dechlorinate": lambda row: dechlorinated(row["agent"]),
}

# Plummer and Busenberg 1982: a + b T + c/T + d log10 T + e/T², T in K.
EQUILIBRIA = {
    "K1": (-356.3094, -0.06091964, 21834.37, 126.8339, -1684915),
    "K2": (-107.8871, -0.03252849, 5151.79, 38.92561, -563713.9),
    "KH": (108.3865, 0.01985076, -6919.53, -40.45154, 669365),
    "CaHCO3": (1209.120, 0.31294, -34765.05, -478.782, 0),
    "calcite": (-171.9065, -0.077993, 2839.319, 71.595, 0),
    "aragonite": (-171.9773, -0.077993, 2903.293, 71.595, 0),
    "vaterite": (-172.1295, -0.077993, 3074.688, 71.595, 0),
}


def equilibrium(row):
    a, b, c, d, e = EQUILIBRIA[row["of"]]
    kelvin = f"number({row['T']} as K)"
    return f"{a} + {b} * {kelvin} + {c} / {kelvin} + {d} * log10({kelvin}) + {e} / {kelvin}^2"


PLAIN = {
    "water.logK": (equilibrium, "acid_needed works at 25 °C only, with K1 and K2, which water.acid_to_pH holds; the others "
                                "it does not need"),
    "water.kolbach_pH": ("0.03 * number({RA} as °dH)", "Kolbach's shift is that of cast-out wort; mash_ph does not use it"),
}
