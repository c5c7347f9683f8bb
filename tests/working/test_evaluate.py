#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""evaluate.py against values worked out by hand and published ones; it takes no part of the program: test_evaluate.py

Otherwise test_recompute.py might find two mistakes that agree."""

import sys

import compare
import physics
from evaluate import Evaluator
from quantities import Unclear

HAND = "by hand"
LANGUAGE = "docs/reference/language.md"
NIST = "NIST SP 811, appendix B.8"
BALLING = "Balling 1865, as in tests/published/fermentation_cases.csv"

# expression, what it comes to, where that is from
CASES = [
    ("5 gal + 2 L", "5.528 gal", "by hand: 2/3.785411784 = 0.5283"),
    ("1/2 tsp + 1 1/2 cup", "72.5 tsp", "by hand: a cup is 48 tsp"),
    ("12 floz / 5 min", "2.4 floz/min", HAND),
    ("0.96 g/L * 5 gal", "18.17 g", "by hand: 0.96 × 18.92706"),
    ("50 pts * 1 gal / 1.25 gal", "40.0 pts", HAND),
    ("6 gal - 7 can", "5.125 gal", "by hand: 8 cans of a pint in a gallon"),
    ("60.95 crown / 15 gal", "4.063 crown/gal", HAND),
    ("20.000 g/L * 0.75772 gal", "57.37 g", "by hand: 0.75772 × 3.785412 × 20 = 57.366"),
    ("7.3574 %ABV * 4.8000 gal / 100 %ABV as L", "1.337 L", "by hand: 0.073574 × 18.16998"),
    ("12 g/(L*h)", "12 g/L/h", LANGUAGE),
    ("1 lb / 1 gal as g/L", "119.8 g/L", NIST + ": 119.8264"),
    ("1 gal as L", "3.785 L", NIST),
    ("1 L as floz", "33.81 floz", "27 CFR 24.10: 33.814"),
    ("1 ipt as L", "0.5683 L", NIST),
    ("1 atm as psi", "14.7 psi", NIST + ": 14.69595"),
    ("1 mmHg as Pa", "133.3 Pa", NIST + ": 133.3224"),
    ("1 kcal as kJ", "4.184 kJ", NIST),
    ("68 °F as °C", "20.0 °C", NIST),
    ("68 °F - 60 °F", "8 F°", LANGUAGE),
    ("20 °C + 9 F°", "25.0 °C", LANGUAGE),
    ("-5 °C", "-5.0 °C", HAND),
    ("1.050 SG + 10 pts", "1.060 SG", LANGUAGE),
    ("1.050 SG - 1.000 SG", "50.0 pts", LANGUAGE),
    ("-2^2", "-4", LANGUAGE),
    ("2^3^2", "512", "by hand: from the right"),
    ("7 - 3 - 2 * 2 ^ 2", "-4", HAND),
    ("17 mod 12", "5", HAND),
    ("35 mod 12 + 1/2 cup / 1 cup", "11.5", HAND),
    ("5% * 2", "10 %", LANGUAGE),
    ("5% + 1", "1.05", LANGUAGE),
    ("10% * 200 g", "20 g", LANGUAGE),
    ("4% of 5.048 gal", "0.2019 gal", "by hand: 0.20192"),
    ("number(5%)", "5", LANGUAGE),
    ("0.1 gal + 0.2 gal == 0.3 gal and not 20 °C != 68 °F", "true", LANGUAGE),
    ("1.050 SG near 1.052 SG within 1 pts or 3 gal <= 12 L", "true", "by hand: 3 gal are 11.36 L"),
    ("if 6.302 g/L > 5.5 g/L then \"sharp\" else \"mild\"", "sharp", HAND),
    ('"{2/3 kg to 2 places} of {"{1 + 1} x"}"', "0.67 kg of 2 x", LANGUAGE),
    ("{acid: 5 g/L, name: \"late\"} with {acid: 6 g/L}", '{acid: 6 g/L, name: "late"}', LANGUAGE),
    ("{malic: 5 g/L}.malic * 2", "10 g/L", HAND),
    ("[3, 1, 2][-1] + [3, 1, 2][1]", "5", HAND),
    ("[x ^ 2 for x in [3, 1, 2] if x > 1]", "[9, 4]", LANGUAGE),
    ("range(1 vols, 3 vols, by: 0.5 vols)", "[1 vols, 1.5 vols, 2 vols, 2.5 vols, 3 vols]", HAND),
    ("2027-01-31 + 1 month", "2027-02-28", LANGUAGE),
    ("2028-02-28 + 2 day", "2028-03-01", "by hand: a leap year"),
    ("2027-03-01 - 2027-02-14", "15 day", LANGUAGE),
    ("weekday(2027-02-14)", "Sunday", LANGUAGE),
    ("round(2.5) + round(-2.5) + round(104.3, 5)", "105", "by hand: halves away from zero"),
    ("floor(5 gal / 750 mL)", "25", "by hand: 25.24"),
    ("measure_up(3.45 gal, 0.1 gal)", "3.5 gal", HAND),
    ("max(140.117 mg/L - 50.6438 mg/L, 0 mg/L)", "89.47 mg/L", HAND),
    ("mean(20 °C, 68 °F, 22 °C)", "20.7 °C", LANGUAGE),
    # Published worked examples.
    ("40 proof as %ABW", "16.3 %ABW", "USP 29, alcoholometric table: 16.27"),
    ("26.38 %ABW as proof", "64.0 proof", "the same table, 32 % vol at 60 °F"),
    ("10 °Bx as SG", "1.040 SG", "NBS Circular 440, table 109: 1.03998"),
    ("20 °Bx as °Be", "11.1 °Be", "Junk and Pancoast 1973"),
    ("100 g/L as °Bx", None, "a concentration is no gravity"),
    ("3 gal + 5 kg", None, "a volume and a mass"),
    ("2 * 68 °F", None, LANGUAGE + ", \"Amounts and readings\""),
    ("acid_as(1 g/L, from: \"malic\", to: \"tartaric\") to", None, "no expression"),
    ("titratable(12 mL, 0.1, 15 mL, acid: \"tartaric\")", "6.003 g/L", "by hand: 0.8 × 7.504; 6.0 in a laboratory exercise"),
    ("deacidify_dose(1 L, 1 g/L)", "1.493 g", "molar masses: 100.115/67.04"),
    ("acid_as(1 g/L, from: \"tartaric\", to: \"sulphuric\")", "0.6535 g/L", "by hand: 49.04/75.04; 0.65 in AWRI technical note 14"),
    ("metabisulphite_dose(20 L, 50 mg/L)", "1.736 g", "by hand: 1/0.576"),
    ("free_so2(0.8 mg/L, pH: 3.3 pH)", "25.52 mg/L", "by hand: 0.8 × (1 + 10^1.49); 26 in a widely reprinted table"),
    ("dap_dose(1 L, 203.6 mg/L)", "0.9598 g", "27 CFR 24.246: 0.96 g/L"),
    ("standard_drinks(1 L of spirit(40 %ABV), 0.6 floz / 40%)", "1", "NIAAA: 0.6 floz of alcohol are 14 g: 1.0003"),
    ("abv(1.0465 SG, 1.000 SG)", "6.1 %ABV", "UK excise notice 226: 6.0 %ABV, cut to one decimal; 6.08 here"),
]



def share_of_alcohol(solids):
    water, alcohol, left = physics.fermented(1.0 - solids, 0.0, solids, solids / physics.SOLIDS_TO_ALCOHOL)
    return 100.0 * alcohol / (water + alcohol + left)


# physics.py against published rows: what, got, printed, tolerance, source
PUBLISHED = [
    ("water and alcohol, 40 % by mass, 20 °C", physics.alcohol_density(0.40, 20.0), 935.2, 0.18, "CRC Handbook, 102nd ed."),
    ("pure alcohol", physics.ALCOHOL, 789.24, 0.005, "OIML R 22, its text"),
    ("water", physics.water_density(4.0), 999.9720, 0.0001, "Bettin and Spieweck 1990"),
    ("water of the alcohol formula", physics.alcohol_density(0.0, 0.0), 999.8369, 0.0001, "OIML R 22"),
    ("vapour of water at 100 °C", physics.water_vapour(100.0), 101.325, 0.2, "1 atm, by definition of the old scale"),
    ("CO2 in water at 15 °C, Bunsen", physics.co2_dissolved(15.0, 101.325) / 1.9768, 1.01, 0.012, "Murray and Riley 1971"),
    ("% by mass of alcohol, wort of 12 % fermented out", share_of_alcohol(0.12), 6.190, 0.001, BALLING),
    ("pK at 20 °C and 10 %ABV", physics.sulphite_pk(10.0, 20.0), 1.916, 0.0005, "OIV-MA-AS323-04C, table 2, from memory"),
    ("hydrometer of 60 °F in water of 60 °F", physics.hydrometer(1.0, physics.SIXTY_F, physics.SIXTY_F), 1.0, 1e-9, HAND),
]


def rows():
    """More of the same from tests/published/."""
    for row in physics.rows("alcohol_density_and_strength.csv"):
        if row["quantity"] == "rho_p_t" and row["status"] == "ok" and row["source"].startswith("OIML"):
            got = physics.alcohol_density(float(row["input1"]) / 100, float(row["t_C"]))
            yield f"{row['input1']} % at {row['t_C']} °C", got, float(row["expected"]), float(row["tolerance"]), row["source"]
        if row["quantity"] == "rho_q20":
            got = physics.alcohol_density(physics.mass_share(float(row["input1"]) / 100))
            yield f"{row['input1']} %ABV", got, float(row["expected"]), float(row["tolerance"]), row["source"]
    for row in physics.rows("water_density.csv"):
        got = physics.water_density(float(row["t_C"]))
        yield f"water at {row['t_C']} °C", got, float(row["bettin_spieweck_its90_kg_m3"]), 5.1e-5, "Bettin and Spieweck 1990"
    for row in physics.rows("crc_solutions.csv"):
        density = {"ethanol": physics.alcohol_density, "sucrose": physics.sucrose_density}.get(row["substance"])
        if density and row["density_g_cm3_20C"]:
            got, printed = density(float(row["mass_pct"]) / 100) / 1000, float(row["density_g_cm3_20C"])
            yield f"{row['substance']} {row['mass_pct']} %", got, printed, 1.9e-4, "CRC Handbook, 102nd ed."


def evaluator():
    made = Evaluator()
    made.declare_unit("can", "1 pt")
    made.declare_unit("crown", "money")
    return made


def check_cases():
    wrong, worker = [], evaluator()
    for text, expected, source in CASES:
        try:
            x = worker.evaluate(text)
            compare.check(worker, x, expected or "")
            if expected is None:
                wrong.append(f"{text} is worked out as {worker.words(x)}: {source}")
        except compare.Differs as differs:
            wrong.append(f"{text}: {differs}, not {expected} ({source})")
        except Unclear as unclear:
            if expected is not None:
                wrong.append(f"{text}: {unclear}")
    return wrong, len(CASES)


def check_published():
    wrong, count = [], 0
    for what, got, printed, tolerance, source in [*PUBLISHED, *rows()]:
        count += 1
        if not abs(got - printed) <= tolerance:
            wrong.append(f"{what}: {got}, not {printed} ({source})")
    return wrong, count


def check_digits():
    """What is a unit of the last digit off is caught; a tie is not, and neither are zeros left out at the end."""
    wrong, worker = [], evaluator()
    for text, printed, holds in [("1/3", "0.3333", True), ("1/3 as %", "33.33 %", True), ("2 / 3", "0.6667", True), ("2 / 3", "0.6666", False),
                                 ("2 / 3", "0.667", False), ("0.25", "0.25", True), ("0.2500", "0.3", False), ("1.0006", "1", False),
                                 ("1000.4 g", "1000 g", True), ("1000.6 g", "1000 g", False), ("1.0625 g", "1.062 g", True),
                                 ("1.0625 g", "1.063 g", True), ("1.0625 g", "1.064 g", False), ("1 gal", "1 L", False),
                                 ("1.0496 SG", "1.050 SG", True), ("1.0496 SG", "1.049 SG", False), ("1.0496 SG", "1.0496 SG", True),
                                 ("1 kg as g", "1 kg", True), ("[1, 2]", "[1, 2", False), ("{a: 1}", "{a: 1}", True), ("{a: 1}", "{b: 1}", False),
                                 ("true", "true", True), ("true", "false", False), ('"a"', "a", True), ('"a"', "b", False),
                                 ("2 L of water()", "2 L, 1.000 SG, 0.0 %ABV", True), ("2 L of water()", "2 L, 1.001 SG, 0.0 %ABV", False),
                                 ("sugar()", "1 kg dry", True), ("2027-02-14", "2027-02-14", True), ("2027-02-14", "2027-02-15", False)]:
        x = worker.evaluate(text.replace("1/3 as %", "1 / 3 * 100% / 1").replace("1/3", "1 / 3"))
        try:
            compare.check(worker, x, printed)
            caught = False
        except compare.Differs:
            caught = True
        if caught == holds:
            wrong.append(f"{text} = {printed} is {'refused' if caught else 'let through'}")
    return wrong, 30


def main():
    failed = 0
    for check in (check_cases, check_published, check_digits):
        wrong, count = check()
        failed += len(wrong)
        print(f"{check.__name__}: {count - len(wrong)} of {count} hold")
        print(*(f"  {line}" for line in wrong), sep="\n", end="\n" if wrong else "")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
