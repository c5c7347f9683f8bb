# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The table of deviations of docs/model.md: the numbers are those of test_model_table, the words stand here."""

import math
import os
import re
import subprocess

OF_LAW = "computed from the same law, a pin without weight of its own"
CHART = "a US trade chart of unknown origin (Speers & MacIntosh 2013)"
EU_37 = "Commission Regulation (EEC) 2676/90 ch. 37"

# (table, quantity of the test): (what it is, its unit, who published it). In the order of the page.
SECTIONS = {
    "Alcohol and water": {
        ("alcohol_density_and_strength", "rho_p_t"):
            ("density by % mass, 0 to 40 °C", "kg/m³",
             "OIML R 22, printed cells, 0.005; Perry's Handbook (NBS Bulletin 9), 0.06; a US Bureau of Standards "
             "table, second-hand, read from a scan, 0.13"),
        ("alcohol_density_and_strength", "rho_q20"): ("density by %ABV, 20 °C", "kg/m³", "OIV-MA-AS312-02"),
        ("alcohol_density_and_strength", "wt_from_q60"): ("% mass from % vol at 60 °F", "% mass", "USP 29 (NBS Bulletin 9)"),
        ("alcohol_density_and_strength", "q60_from_wt"): ("% vol at 60 °F from % mass", "% vol", "USP 29 (NBS Bulletin 9)"),
        ("alcohol_density_and_strength", "sg60_air_q60"):
            ("relative density weighed in air, 60 °F", "", "USP 29 (NBS Bulletin 9)"),
        ("alcohol_density_and_strength", "sg25_air_q60"):
            ("relative density weighed in air, 25 °C", "", "USP 29 (NBS Bulletin 9)"),
        ("alcohol_density_and_strength", "wt_from_d2020"): ("% mass from relative density 20/20", "% mass", "GOST 12787-2021"),
        ("crc_solutions", "ethanol, density, g/cm3"): ("density by % mass, 20 °C", "g/cm³", "CRC Handbook, 102nd ed."),
        ("proof_and_drinks", "uk_proof_mass_pct"): ("UK proof spirit", "% mass", "Cooley's Cyclopaedia, 6th ed."),
        ("proof_and_drinks", "uk_proof_abv20C"): ("UK proof spirit", "%ABV", "57.15 % as widely printed, common practice"),
        ("proof_and_drinks", "uk_degrees_from_abv20"):
            ("UK degrees from %ABV", "degrees", "SI 1979/241 art. 3 (166.4); trade equivalence (70)"),
        ("proof_and_drinks", "us_proof_from_abv20"): ("US proof against 2 × %ABV", "proof", "the rule of thumb"),
        ("proof_and_drinks", "abv60_from_abw"): ("% vol at 60 °F from % mass", "% vol", "USP 29"),
        ("proof_and_drinks", "standard_drink_g_from_mL"):
            ("alcohol of one standard drink", "g", "NIAAA; Australian Government"),
    },
    "Dilution and contraction": {
        ("contraction", "water_per_100_vol_of_spirit"): ("water in 100 gal of spirit", "gal", "27 CFR 30.66"),
        ("contraction", "water_to_add_per_100gal"): ("water that brings 191 to 188 proof", "gal", "27 CFR 30.66"),
        ("contraction", "wine_gal_per_lb"): ("gallons in a pound", "gal", "27 CFR 30.64, 30.41"),
        ("contraction", "proof_gal_per_1000lb"): ("proof gallons in 1000 lb", "gal", "27 CFR 30.64"),
        ("contraction", "proof_gal_of_lb"): ("proof gallons in 321.5 lb", "gal", "27 CFR 30.63"),
        ("contraction", "volume_factor_to_60F"): ("volume at 60 °F to that at 68 °F", "", "27 CFR 30.25"),
        ("contraction", "alcohol_vol_per_100"): ("% vol of proof spirit", "% vol", "Cooley's Cyclopaedia, 6th ed."),
        ("contraction", "mix_volume"): ("volume of 100 of alcohol and 81.80 of water", "volumes", "Cooley's Cyclopaedia, 6th ed."),
        ("contraction", "spirit_mL_for_1L"):
            ("spirit in 1 L of a weaker one", "mL", "State Pharmacopoeia XI, second-hand; tolerance 0.6 to 1.1"),
        ("contraction", "spirit_g_for_1kg"): ("spirit in 1 kg of a weaker one", "g", "State Pharmacopoeia XI, second-hand"),
        ("contraction", "water_to_add_per_100vol"):
            ("water to add to 100 volumes, 15 °C", "volumes", "Gay-Lussac's table, second-hand"),
        ("contraction", "excess_molar_volume"):
            ("excess molar volume at its mole fraction 0.082", "cm³/mol", "Marsh & Richards 1980"),
    },
    "Water and sugar": {
        ("water_density", "Bettin and Spieweck"): ("density of water, 0 to 40 °C", "kg/m³", "Bettin & Spieweck 1990"),
        ("water_density", "OIML R 22, p = 0"): ("water of the alcohol formula", "kg/m³", "OIML R 22"),
        ("water_density", "Tanaka 2001 (another formula)"): ("density of water", "kg/m³", "Tanaka 2001: another formula"),
        ("sucrose_density", "density"): ("density by °Bx, 15 and 20 °C", "kg/m³", "Plato's table, second-hand through a university's"),
        ("crc_solutions", "sucrose, density, g/cm3"): ("density of sucrose solutions", "g/cm³", "CRC Handbook, 102nd ed."),
        ("crc_solutions", "other sugars as sucrose, density, g/cm3"):
            ("glucose, fructose, maltose counted as sucrose", "g/cm³", "CRC Handbook, 102nd ed."),
        ("sucrose_density", "sucrose_conc"): ("sucrose by °Bx", "g/L", "Plato's table, second-hand through a university's"),
        ("sucrose_density", "sg_true_20_20"): ("SG by °Bx", "SG", "NBS Circular 440, table 109"),
        ("sucrose_density", "sg_apparent_20_20_air"): ("SG weighed in air", "SG", "NBS Circular 440, table 114"),
        ("sucrose_density", "sg_17.5_17.5"): ("SG at 17.5/17.5 °C", "SG", "Gerlach, after Cooley's Cyclopaedia"),
        ("sucrose_density", "baume145"): ("°Be by °Bx", "°Be", "Junk & Pancoast 1973; Mohos 2010"),
        ("dry_extract", "dissolved solids from gravity, g/L"):
            ("solids by SG against total dry extract", "g/L", "OIV-MA-AS2-03B, as in GOST R 51620-2000"),
        ("must", "gravity of concentrate"): ("SG of juice concentrate of 70 °Bx", "SG", "a trade specification, second-hand"),
        ("must", "dilution, degBx"): ("1 + 4 1/3 dilution of 48 °Bx", "°Bx", "21 CFR 146.120, a legal minimum"),
    },
    "Fermentation": {
        ("fermentation_cases", "balling_A_from_p_n"): ("alcohol from original and real extract", "% mass", "Balling 1865"),
        ("fermentation_cases", "balling_oe_from_A_n"): ("original extract from alcohol", "°P", "Balling 1865"),
        ("fermentation_cases", "balling_b"): ("his factor b", "", "Balling 1865"),
        ("fermentation_cases", "tabB"): ("alcohol from D = n - m, by his own quotient q", "% mass", "Balling 1865, table B"),
        ("fermentation_cases", "cutaia_mean"): ("alcohol of beers, means of 112 and 221", "% mass", "Cutaia et al. 2009"),
        ("fermentation_cases", "hmrc"): ("strength from a drop in gravity", "%ABV", "UK excise notice 226, 30.3"),
        ("fermentation_cases", "oiv_linear"): ("potential strength of 24.2 °Bx", "%ABV", "OIV table of musts, second-hand"),
    },
    "Instruments": {
        ("hydrometer", "true_proof_from_reading"): ("true proof from a warm reading", "proof", "27 CFR 30.23, 30.61"),
        ("hydrometer", "glass_hydrometer_reading"):
            ("glass alcoholometer at 40 to 85 °F", "% vol", "a 19th-century table, second-hand, read from a scan"),
        ("temperature_corrections", "Brix hydrometer, computed"):
            ("correction of a Brix hydrometer, 20 °C", "°Bx", OF_LAW),
        ("temperature_corrections", "Balling's saccharometer, 17.5 degC"):
            ("correction of a saccharometer below 22 °C", "°Bx", "Balling"),
        ("sucrose_density", "nD"): ("refractive index of sucrose, up to 75 °Bx", "", "CRC Handbook; ICUMSA 1974"),
        ("crc_solutions", "sucrose, refractive index"): ("refractive index of sucrose", "", "CRC Handbook, 102nd ed."),
        ("crc_solutions", "ethanol, refractive index"):
            ("refractive index of ethanol, up to 16 % mass", "", "CRC Handbook, 102nd ed."),
        ("crc_solutions", "other sugars as sucrose, refractive index"):
            ("glucose, fructose, maltose counted as sucrose", "", "CRC Handbook, 102nd ed."),
    },
    "Carbon dioxide": {
        ("chemistry_and_units", "carbonation.bunsen"):
            ("Bunsen coefficient, 5 to 35 °C", "vols", "Murray & Riley 1971, in NIST SRD 106"),
        ("chemistry_and_units", "carbonation.ostwald"): ("Ostwald coefficient, 25 °C", "", "Findlay & Shen 1912, in NIST SRD 106"),
        ("chemistry_and_units", "carbonation.henry_tempcoef"):
            ("its change with temperature at 25 °C", "K", "Sander's compilation, 2400 K for Weiss"),
        ("chemistry_and_units", "carbonation.g_per_100g"):
            ("dissolved at 1 atm in all", "g/100 g", "an older textbook table, second-hand"),
        ("chemistry_and_units", "carbonation.mole_fraction (another law)"):
            ("mole fraction × 1000, 0 to 40 °C", "", "CRC Handbook (Carroll et al. 1991): another law"),
        ("chemistry_and_units", "carbonation.eu_formula (another law)"): ("dissolved at 20 °C", "g/L", f"{EU_37}: another law"),
        ("chemistry_and_units", "carbonation.beer_table"): ("CO2 of beer by gauge", "g/L", "an anonymous trade table, second-hand"),
        ("chemistry_and_units", "carbonation.sparkling_bottle"):
            ("sparkling wine at 5.8 bar, 12 °C", "g/L", "ACS Omega 6 (2021) 9672; Sci. Rep. 7 (2017) 10702"),
        ("chemistry_and_units", "carbonation.kH_sparkling"):
            ("solubility in wine, 10 °C", "g/(L bar)", "ACS Omega 6 (2021) 9672"),
        ("chemistry_and_units", "carbonation.keg_gauge"): ("gauge of a keg, 32 to 68 °F", "psi", f"{CHART}; {EU_37}; pins"),
        ("chemistry_and_units", "carbonation.sealed_bottle"): ("gauge of a closed bottle", "bar", f"{EU_37}; a pin"),
        ("chemistry_and_units", "carbonation.tirage"):
            ("24 g/L of sugar in a closed bottle", "bar", "Oxford Companion to Wine, 5 to 6 atm; temperature assumed"),
        ("chemistry_and_units", "carbonation.us_still_limit"): ("0.392 g/100 mL", "vols", "27 CFR 24.10, converted"),
        ("chemistry_and_units", "carbonation.g_per_L_water"): ("dissolved in water", "g/L", OF_LAW),
        ("chemistry_and_units", "carbonation.residual"): ("left after fermentation", "g/L", OF_LAW),
        ("chemistry_and_units", "carbonation.priming"): ("dextrose for 20 L", "g", OF_LAW),
        ("chemistry_and_units", "carbonation.co2_yield"): ("CO2 of 1 g of glucose", "g", OF_LAW),
        ("chemistry_and_units", "safety.fermentation_co2"): ("CO2 of 20 L fermenting", "g", OF_LAW),
    },
    "Energy": {
        ("chemistry_and_units", "energy.wine"): ("energy of the alcohol in 100 mL at 12 %ABV", "kcal", "a table of food energy, second-hand"),
    },
}
HEAD = ["| quantity | unit | rows | mean | largest | of tolerance | published in |", "|---|---|---|---|---|---|---|"]


class Fault(Exception):
    pass


def measured(program):
    """(table, quantity): the cells behind them, as the test prints them."""
    done = subprocess.run([program, "-j1"], env=dict(os.environ, MODEL_TABLE="1"), stdin=subprocess.DEVNULL,
                          capture_output=True, timeout=300, text=True, encoding="utf-8", check=False)
    if done.returncode != 0:
        raise Fault(f"{program} fails:\n{done.stderr}")
    rows = re.findall(r"^\| ([a-z_]+) \| (.+?) \| (\d+) \| (\S+) \| (\S+) \| (\S+) \|$", done.stdout, re.M)
    if not rows:
        raise Fault(f"{program} prints no table")
    return {(table, quantity): [re.sub(r"e([+-])0(\d)$", r"e\1\2", cell) for cell in cells] for table, quantity, *cells in rows}


def markdown(program):
    rows = measured(program)
    out = []
    for title, words in SECTIONS.items():
        out += [f"**{title}**", "", *HEAD]
        for key, (what, unit, source) in words.items():
            if key not in rows:
                raise Fault(f"test_model_table measures no {key[1]} of {key[0]} any more")
            out.append(f"| {what} | {unit} | {' | '.join(rows.pop(key))} | {source} |")
        out.append("")
    if rows:
        raise Fault(f"model_table.py has no words for {', '.join(f'{quantity} of {table}' for table, quantity in rows)}")
    return "\n".join(out)


def numbers_near(a, b):
    """Equal to one step of the second digit, or both nothing: what compilers round otherwise."""
    try:
        x, y = float(a), float(b)
    except ValueError:
        return False
    larger = max(abs(x), abs(y))
    return larger < 1e-9 or abs(x - y) <= 1.01 * 10 ** (math.floor(math.log10(larger)) - 1)


def is_near(page, made):
    """Whether two tables say the same."""
    ours, theirs = [re.split(r" ?\| ?|\n", text) for text in (page, made)]
    return len(ours) == len(theirs) and all(a == b or numbers_near(a, b) for a, b in zip(ours, theirs))
