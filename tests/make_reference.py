#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes the generated pages of docs/, or says which are not current.

    RUNDLET=build/dev/rundlet tests/make_reference.py [--check] [--model build/dev/tests/test_model_table]

library.md            whole: what `help NAME` says of each formula, by topic
units.md              whole: the rows of interp/quantities/unit.def
words.md              whole: the rows of interp/programs/phrases.def
program.md            what stands between <!-- made: help --> and <!-- end -->: --help
model.md              what stands between <!-- made: deviations --> and <!-- end -->: the table of test_model_table,
                      left alone without --model. Its numbers are compared as numbers: compilers differ in the last bits.

With --check nothing is written, and the status is 1 when a page is not current."""

import argparse
import fractions
import json
import os
import pathlib
import re
import subprocess
import sys

import model_table

TOP = pathlib.Path(__file__).resolve().parent.parent
REFERENCE = TOP / "docs" / "reference"
MADE = "<!-- Made by tests/make_reference.py from {}: change those, and run it again. -->\n"

# Topics in the order of the page, and in each what comes first; the rest follows by its name. A formula without a topic
# is an error, one that is not named here is none.
TOPICS = {
    "Liquids": ("making and changing them: language.md, \"Liquids\"",
                "juice water spirit sugar dextrose honey liquid ferment bottle_sugar needs_floor evaporate without_water resize take lose"),
    "Properties": ("of water, alcohol, sugar, carbon dioxide and air",
                   "water_density alcohol_density sugar_density sugar_of sugar_gravity boiling_point air_pressure"),
    "Readings": ("of instruments, corrected", "hydrometer refractometer alcoholmeter"),
    "Strength": ("from gravities, and back", "abv abv_quick attenuation real_attenuation potential final_gravity"),
    "Blending": ("in proportion, and measuring out", "parts trial_dose scale measure measure_up spoons"),
    "Fortifying": ("with a stronger liquid, and diluting with water", "fortify spirit_needed water_needed"),
    "Sweetening": ("and the salt that helps keep it still", "sweeten_dose sorbate_dose"),
    "Nutrients": ("for the yeast", "nitrogen_need dap_dose nutrient_steps formol"),
    "Sulphite": ("free, molecular, and the salt", "molecular_so2 free_so2 metabisulphite_dose"),
    "Acid": ("measured, counted, raised and lowered", "titratable acid_as acid_dose deacidify_dose"),
    "Carbonation": ("in kegs and bottles",
                    "keg_pressure carbonation residual_carbonation priming_dose bottle_pressure bottle_verdict water_vapour"),
    "Log": ("of a fermentation, judged", "log_state log_forecast log_slope log_trend log_curve curve_gravity"),
    "Wood": ("and steeping spirit on it", "wood_dose steeping_start spirit_left"),
    "Serving": ("glasses, energy, drinks and cost", "servings serving_energy standard_drinks serving_cost"),
    "Grain": ("malt and what is in it", "malt malt_needed wort congress_extract points_of spent_grain malt_syrup malt_powder"),
    "Mash": ("from the grain to the kettle",
             "mash first_wort brewing_water strike_temperature infusion decoction cooled_volume brewhouse_yield "
             "vessel_heat malt_specific_heat wetting_heat"),
    "Hops": ("in the boil, after it, and in the store", "hop boil utilisation isomerised alpha_lost alpha_left"),
    "Colour": ("of a wort from its grist", "grist_colour"),
    "Water": ("for brewing: salts, acids, chlorine", "salt_ions residual_alkalinity acid_needed mash_ph chlorine_dose"),
    "Yeast": ("how much, and the air it needs", "cells_needed dry_yeast oxygen_saturation"),
    "Honey and fruit": ("in a must", "honey_water fruit"),
    "Heat": ("heating, cooling, pasteurising",
             "mix_temperature heating_time cooling_time pasteurisation pasteurisation_rate pasteurising_time juice_hold "
             "hot_bottle_pressure"),
    "Balances": ("freezing, dispensing, cleaning, vessels", "freezing_point line_pressure sanitiser_dose vessel"),
    "General": ("numbers, lists, texts, dates, and what a formula of your own may need",
                "round floor ceil abs sqrt exp ln log10 sin cos tan min max sum mean length sort append join range number "
                "kind has_fields text today weekday tolerance correlated match find_all replace split upper lower quantity read "
                "limited at_least named_entry refuse"),
}


class Fault(Exception):
    pass


# ---- library.md ----

def prompt(program, lines):
    done = subprocess.run([program, "--prompt"], input="".join(line + "\n" for line in lines), capture_output=True,
                          timeout=60, text=True, encoding="utf-8", check=True)
    if done.stderr:
        raise Fault(f"the prompt says: {done.stderr}")
    return done.stdout


# Parts of other formulas, which `help` leaves out of its list.
LEFT_OUT = ["limited", "at_least", "water_vapour", "co2_pressure", "malts_of", "malt_liquid", "wort_colour"]


def formula_names(program):
    listed = prompt(program, ["help"]).split("Formulas (help NAME explains each):")
    if len(listed) != 2:
        raise Fault("`help` at the prompt lists no formulas any more")
    names = re.sub(rf"^  ({'|'.join(TOPICS)})  ", "", listed[1], flags=re.M)
    return names.split() + LEFT_OUT


def topics_of_formulas():
    """A formula belongs to the topic of its file."""
    return {name: path.stem.capitalize().replace("_", " ") for path in (TOP / "stdlib").glob("*.rlet")
            for name in re.findall(r"^formula (\w+)\(", path.read_text(encoding="utf-8"), re.M)}


class Doc:
    """What `help NAME` prints: the usage, a text, the arguments, the source, remarks."""

    def __init__(self, name, lines):
        self.usage, self.text, self.arguments, self.source, self.remarks, self.example = lines[0], "", [], "", [], ""
        self.constants = ""
        where = "text"
        fields = [at for at, line in enumerate(lines) if line.startswith("  Every liquid has: ")]
        del lines[fields[0] if fields else len(lines):]
        # What else has that name, such as the unit min, starts a line.
        lines = lines[:1] + [line for line in lines[1:] if line.startswith("  ")]
        if not self.usage.startswith(name + "("):
            raise Fault(f"help {name} begins with: {self.usage}")
        parameters = set(re.findall(r"\w+", self.usage))
        for line in (line.strip() for line in lines[1:]):
            argument = re.match(r"(\w+(?:, \w+)*): (.*)", line)
            if line.startswith("Source: "):
                self.source, where = line[len("Source: "):], "source"
            elif line.startswith("Constants: "):
                self.constants, where = line[len("Constants: "):], "constants"
            elif re.match("Example( with a file)?: ", line):
                self.example, where = line.split(": ", 1)[1], "end"
            elif argument and set(argument[1].split(", ")) <= parameters:
                self.arguments.append(list(argument.groups()))
                where = "argument"
            elif where == "text":
                self.text = f"{self.text} {line}".strip()
            elif where == "source":
                self.source += " " + line
            elif where == "constants":
                self.constants += " " + line
            elif where == "remark" and not self.remarks[-1].endswith("."):
                self.remarks[-1] += " " + line
            elif self.arguments[-1][1].endswith(".") and line[:1].isupper():
                self.remarks.append(line)
                where = "remark"
            else:
                self.arguments[-1][1] += " " + line
        if not self.text or not self.source or not self.example:
            raise Fault(f"{name} has no text, no Source: line or no Example: line")

    def markdown(self, name):
        out = [f"### {name}", "", f"`{self.usage}`", "", plain(self.text), ""]
        out += [f"- {', '.join(f'`{one}`' for one in names.split(', '))}: {plain(what)}" for names, what in self.arguments]
        out += [""] if self.arguments else []
        out += [line for remark in self.remarks for line in (plain(remark), "")]
        out += [f"Example: `{self.example}`", "", f"Source: {plain(self.source)}", ""]
        return out + ([f"Constants: {plain(self.constants)}", ""] if self.constants else [])


def plain(text):
    return re.sub(r"[<*]", lambda found: "\\" + found[0], text)


def docs_of(program, names):
    """One session, with a mark of ours between the answers."""
    lines = [line for name in names for line in (f"help {name}", '"----"')]
    answers = prompt(program, lines).split("----\n")
    return {name: Doc(name, answer.rstrip("\n").split("\n")) for name, answer in zip(names, answers)}


def library_page(program):
    names, topics = formula_names(program), topics_of_formulas()
    docs = docs_of(program, names)
    by_topic = {topic: [] for topic in TOPICS}
    for name in names:
        if topics.get(name) not in by_topic:
            raise Fault(f"{name} has no topic that TOPICS knows: {topics.get(name)}")
        by_topic[topics[name]].append(name)
    out = [MADE.format("the doc comments in stdlib/*.rlet"), LIBRARY_HEAD]
    order = {topic: {name: at for at, name in enumerate(first.split())} for topic, (_, first) in TOPICS.items()}
    for topic, listed in by_topic.items():
        listed.sort(key=lambda name: (order[topic].get(name, 999), name))
        links = " · ".join(f"[{name}](#{name})" for name in listed)
        out.append(f"- **{topic}** ({TOPICS[topic][0]}): {links}")
    out.append("")
    for topic, listed in by_topic.items():
        out += [f"## {topic}", ""]
        for name in listed:
            out += docs[name].markdown(name)
    return "\n".join(out).rstrip("\n") + "\n"


LIBRARY_HEAD = """# The library

Every formula that comes with Rundlet, by topic. `help NAME` at the prompt shows the same text, and `source NAME` the formula
itself with its units, and where each number in it comes from. You may leave out a parameter that has a default value; you may also leave out one with
`?`, which then counts as not given; `…` takes any number of values. Pass arguments by position or by label. A value out of range
is an error that names the range. Doses are worked out from what you measured: weigh twice, and read the cautions a run
prints. What the formulas are based on, and how closely they agree with published tables, is in [model.md](../model.md).
"""


# ---- words.md ----

def phrases():
    """(what people say, what they type, what help tells more about) of each row."""
    text = (TOP / "interp/programs/phrases.def").read_text(encoding="utf-8")
    cell = r'"((?:\\.|[^"\\])*)"'
    return [tuple(re.sub(r"\\(.)", r"\1", part) for part in row)
            for row in re.findall(rf"^PHRASE\({cell}, {cell}, {cell}\)$", text, re.M)]


def prompt_topics():
    """(what people ask, what `help` answers, a line to type or "") of each row."""
    text = (TOP / "interp/programs/phrases.def").read_text(encoding="utf-8")
    cell = r'"(?:\\.|[^"\\])*"'
    found = re.findall(rf"^TOPIC\(({cell}),((?:\s+{cell})+),\s+({cell})\)$", text, re.M)
    return [tuple("".join(json.loads(one) for one in re.findall(cell, part)) for part in row) for row in found]


WORDS_HEAD = """# What you say, and what you type

Every line on the right runs as it stands: at the prompt, or in a script behind `show`. `help words` at the prompt shows the
same table, and `help` followed by words of your own, as in `help too sweet`, searches it together with the names and the
texts of all formulas.

| what you say | what you type | more |
|---|---|---|
"""


def words_page():
    topics = topics_of_formulas()
    rows = [f"| {says} | `{kind}` | {f'[{see}](library.md#{see})' if see in topics else f'`help {see}`' if see else ''} |"
            for says, kind, see in phrases()]
    return MADE.format("interp/programs/phrases.def") + WORDS_HEAD + "\n".join(rows) + "\n"


# ---- units.md ----

KINDS = {"NUMBER": "Plain numbers", "VOLUME": "Volume", "MASS": "Mass", "LENGTH": "Length", "TIME": "Time",
         "TEMPERATURE": "Temperature, a reading", "TEMPERATURE_DIFFERENCE": "Difference of temperature",
         "GRAVITY": "Gravity, a reading", "GRAVITY_DIFFERENCE": "Difference of gravity", "STRENGTH": "Strength",
         "PRESSURE": "Pressure", "CONCENTRATION": "Concentration and density", "ACIDITY": "Acidity, a reading",
         "ENERGY": "Energy", "POWER": "Power", "COLOUR": "Colour", "PASTEURISATION": "Pasteurisation", "CELLS": "Cells of yeast",
         "DATE": "Date, a reading", "MONTHS": "Months of the calendar", "OTHER": "Energy of a volume"}
BASES = {"VOLUME": "L", "MASS": "g", "CONCENTRATION": "g/L", "PRESSURE": "kPa", "ENERGY": "kJ"}  # else the first one
SCALES = {"PERCENT": "1/100"}
# Their factor is to another kind: a difference of gravity counts in SG, a strength in %ABV.
WORDS_FOR = {"pts": "0.001 of the SG scale"}


def rows_of_units():
    """The arguments of every UNIT and QUOTIENT row, as written."""
    text = re.sub(r"/\*.*?\*/", "", (TOP / "interp/quantities/unit.def").read_text(encoding="utf-8"), flags=re.S)
    text = re.sub(r"^#(?:.*\\\n)*.*\n", "", text, flags=re.M)
    rows = []
    for found in re.finditer(r'^(UNIT|QUOTIENT)\(((?:"(?:[^"\\]|\\.)*"|[^"])*?)\)$', text, re.M):
        cells = [cell.strip() for cell in re.findall(r'((?:"(?:[^"\\]|\\.)*"|\((?:[^()])*\)|[^,"(])+)(?:,|$)', found[2])]
        if len(cells) != (9 if found[1] == "UNIT" else 8):
            raise Fault(f"unit.def: a row of another form: {found[0]}")
        rows.append((found[1], cells))
    return rows


def spellings():
    """By the id of a unit: what is read for it beside its name and alias, as spelling.def has it."""
    text = (TOP / "interp/quantities/spelling.def").read_text(encoding="utf-8")
    found = {}
    for spelling, unit in re.findall(r'^(?:EVERYDAY|ALONE)\("([^"]+)", (\w+)\)', text, re.M):
        found.setdefault(unit, []).append(spelling)
    return found


class Unit:
    def __init__(self, macro, cells, spelled):
        self.typed = spelled.get(cells[0], [])
        if macro == "UNIT":
            _, name, alias, self.kind, self.scale, factor, places, _, source = cells
        else:
            (_, name, _, _, self.kind, _, factor, source), alias, self.scale, places = cells, "NULL", "LINEAR", "-1"
        self.name, self.source = name.strip('"'), source.strip('"')
        self.alias = "" if alias == "NULL" else alias.strip('"')
        self.places = int(places)
        exact = re.sub(r"([0-9.]+(?:e-?[0-9]+)?)L?", r'fractions.Fraction("\1")', factor)
        self.factor = eval(exact, {"fractions": fractions})  # numbers, * and / of a file of ours

    def row(self, base):
        is_ = f"{decimal(self.factor / base.factor)} {base.name}"
        if self.scale != "LINEAR":
            is_ = SCALES.get(self.scale, "a scale")
        is_ = WORDS_FOR.get(self.name, is_)
        places = f"{self.places} decimals" if self.places >= 0 else "4 digits"
        places = {"1 decimals": "1 decimal", "0 decimals": "ISO 8601"}.get(places, places)
        typed = ", ".join(f"`{word}`" for word in [self.alias, *self.typed] if word)
        return f"| `{self.name}` | {typed} | {is_} | {places} | {self.source} |"


def decimal(number):
    """Exact where it ends within 20 digits, else 12 digits."""
    rest = number.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    places = 0
    while rest == 1 and (number * 10 ** places).denominator > 1:
        places += 1
    if rest != 1 or places > 20:
        return f"≈ {float(number):.12g}"
    digits = str(abs(number.numerator * 10 ** places // number.denominator)).rjust(places + 1, "0")
    return digits[:-places] + "." + digits[-places:] if places else digits


def units_page():
    spelled = spellings()
    units = [Unit(macro, cells, spelled) for macro, cells in rows_of_units()]
    units = [unit for unit in units if unit.name and unit.kind != "DATE"]
    out = [MADE.format("interp/quantities/unit.def"), UNITS_HEAD]
    for kind in dict.fromkeys(unit.kind for unit in units):
        if kind not in KINDS:
            raise Fault(f"unit.def: KINDS has no words for {kind}")
        of_kind = [unit for unit in units if unit.kind == kind]
        base = next((unit for unit in of_kind if unit.name == BASES.get(kind)), of_kind[0])
        out += [f"## {KINDS[kind]}", "", "| unit | also typed | 1 of it is | prints with | source |", "|---|---|---|---|---|"]
        out += [unit.row(base) for unit in of_kind] + [""]
    return "\n".join(out).rstrip("\n") + "\n"


UNITS_HEAD = """# Units

The units that come with Rundlet. `units KIND` at the prompt lists them too; how they behave is described in
[language.md](language.md), "Quantities". A number here is exact unless it has ≈ before it, which means that its decimals do
not end. "4 digits" means four significant digits, without trailing zeros. A unit called a scale is converted by the
published relation named beside it, not by a fixed factor.

What is also typed may have an `s` at its end and, where it has three letters or more, any capitals: `Gallons`, `BRIX`.
Results always print the name in the first column.

There are also dates, compound units built with `*`, `/` and `^` (`pts*gal/lb`), and units of your own:
`unit can = 12 floz`, `unit bottle`, `unit crown is money`.
"""


# ---- pages with a part that is made ----

def part_of(page, name):
    found = re.search(rf"(<!-- made: {name} -->\n)(.*?)(<!-- end -->\n)", page, re.S)
    if not found:
        raise Fault(f"no lines <!-- made: {name} --> and <!-- end -->")
    return found


def replace_part(page, name, text):
    found = part_of(page, name)
    return page[:found.start(2)] + text + page[found.end(2):]


def help_part(program):
    done = subprocess.run([program, "--help"], stdin=subprocess.DEVNULL, capture_output=True, timeout=60, text=True,
                          encoding="utf-8", check=True)
    return f"```console\n$ rundlet --help\n{done.stdout}```\n"


def wanted_pages(program, model):
    yield REFERENCE / "library.md", library_page(program)
    yield REFERENCE / "words.md", words_page()
    yield REFERENCE / "units.md", units_page()
    path = REFERENCE / "program.md"
    yield path, replace_part(path.read_text(encoding="utf-8"), "help", help_part(program))
    if model:
        path = TOP / "docs" / "model.md"
        page = path.read_text(encoding="utf-8")
        made = model_table.markdown(model)
        same = model_table.is_near(part_of(page, "deviations")[2], made)
        yield path, page if same else replace_part(page, "deviations", made)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--model", metavar="PROGRAM")
    arguments = parser.parse_args()
    if "RUNDLET" not in os.environ:
        parser.error("RUNDLET names the program")
    stale = 0
    for path, wanted in wanted_pages(os.path.abspath(os.environ["RUNDLET"]), arguments.model):
        name = path.relative_to(TOP)
        if path.exists() and path.read_text(encoding="utf-8") == wanted:
            print(f"{name}: current")
            continue
        stale += 1
        print(f"{name}: not current; tests/make_reference.py makes it" if arguments.check else f"{name}: written")
        if not arguments.check:
            path.write_text(wanted, encoding="utf-8")
    return 1 if arguments.check and stale else 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except (Fault, model_table.Fault) as fault:
        sys.exit(f"make_reference.py: {fault}")
