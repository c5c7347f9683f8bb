#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every formula of the library says where its constants come from, in a paragraph of the comment above it:

    ## Constants: 67.04 and 75.04 g/mol (equivalents): molar masses; 20 g/L (range): our own limit

An item names its numbers, then after ": " their origin. Which formulas need one is read from the sources: those in
Rundlet with a number in them other than 0, 1, 2, 10, 100, 1000 and the powers of two, for each such number; those in C
whose file includes a header of interp/physics. A number that a formula in C names must stand in the C sources. Lists what
is missing, and exits 1. `--list` lists the numbers of each formula."""

import pathlib
import re
import sys

TOP = pathlib.Path(__file__).resolve().parent.parent
NUMBER = re.compile(r"(?<![\w.^])(\d[\d_]*(?:\.\d+)?(?:e[+-]?\d+)?)(?![\d_]*[-:]\d)", re.I)
PLAIN = {0, 1, 2, 10, 100, 1000}
STRING = re.compile(r'"(?:\\.|[^"\\])*"')
HOLE = re.compile(r"\{([^{}]*)\}")
FEWEST = {"Rundlet": 40, "C": 25}


class Formula:
    def __init__(self, name, comment, documented, code):
        self.name, self.comment, self.documented, self.code = name, comment, documented, code
        self.native = (re.search(r"= native (\w+)$", code.split("\n")[0]) or [None, None])[1]

    def numbers(self):
        """The numbers of the code that are worth a word, as they are written."""
        found = []
        for line in self.code.split("\n"):
            found += NUMBER.findall(without_texts(line))
        return list(dict.fromkeys(number for number in found if not is_plain(number)))

    def constants(self):
        """[(what is named, its origin), …], or None without the paragraph."""
        text = re.search(r"^Constants: (.*?)(?=^(?:Source|Example)|\Z)", self.comment, re.M | re.S)
        if not text:
            return None
        items = " ".join(text[1].split()).split("; ")
        return [tuple(item.split(": ", 1)) if ": " in item else (item, "") for item in items]


def without_texts(line):
    """The code of a line: without its remark and its texts, but with what is worked out inside those."""
    holes = []

    def inside(match):
        holes.extend(re.sub(r" to \d+ (?:places|digits)", "", hole) for hole in HOLE.findall(match[0]))
        return ' "" '

    line = STRING.sub(inside, line)
    return re.sub(r"#.*", "", line) + " ".join([""] + holes)


def is_plain(number):
    value = float(number.replace("_", ""))
    return value in PLAIN or (value == int(value) and value > 0 and int(value) & (int(value) - 1) == 0)


def formulas(path):
    """The formulas of a file of the library, each with the comment that stands right above it."""
    lines = path.read_text(encoding="utf-8").split("\n")
    starts = [at for at, line in enumerate(lines) if re.match(r" *formula \w+\(", line)]
    for at, following in zip(starts, starts[1:] + [len(lines)]):
        above = at
        while above > 0 and re.match(r" *#", lines[above - 1]):
            above -= 1
        comment = "\n".join(re.sub(r"^ *#+ ?", "", line) for line in lines[above:at])
        documented = above < at and lines[at - 1].startswith("##")
        yield Formula(re.search(r"formula (\w+)", lines[at])[1], comment, documented, "\n".join(lines[at:following]))


def natives_of_physics():
    """The natives of those C files that work with interp/physics, and what is written in these and in its sources."""
    names, texts = set(), [path.read_text(encoding="utf-8") for path in (TOP / "interp/physics").glob("*.[ch]")]
    for path in sorted((TOP / "interp/runtime").glob("native_*.c")):
        text = path.read_text(encoding="utf-8")
        if '#include "physics/' in text:
            names.update(re.findall(r"NATIVE\((\w+)\)", text))
            texts.append(text)
    texts.append((TOP / "interp/runtime/cautions.c").read_text(encoding="utf-8"))
    return names, {value(number) for text in texts for number in re.findall(r"(?<![\w.])\d+\.?\d*(?:[eE][+-]?\d+)?", text)}


def value(number):
    return float(number.replace("_", ""))


def faults_of(formula, natives, written):
    if formula.native and formula.native not in natives:
        return []
    numbers, items = formula.numbers(), formula.constants()
    if items is None:
        needs = numbers or (formula.native and formula.documented)
        return [f"{formula.name} does not say where its constants come from: {', '.join(numbers) or formula.native}"] if needs else []
    faults = [f"{formula.name}: no origin is told: {what}" for what, origin in items if not origin]
    named = {value(number) for what, _ in items for number in re.findall(r"(?<![\w.])\d[\d_]*(?:\.\d+)?(?:e[+-]?\d+)?", what)}
    faults += [f"{formula.name}: the constant {number} is not named" for number in numbers if value(number) not in named]
    if formula.native:
        own = {value(number) for number in NUMBER.findall(without_texts(formula.code))}
        faults += [f"{formula.name}: {number:g} is not in the C sources" for number in sorted(named - written - own)]
    return faults


def main():
    natives, written = natives_of_physics()
    faults, counts = [], {"Rundlet": 0, "C": 0}
    for path in sorted((TOP / "stdlib").glob("*.rlet")):
        for formula in formulas(path):
            faults += [f"stdlib/{path.name}: {fault}" for fault in faults_of(formula, natives, written)]
            counts["C" if formula.native else "Rundlet"] += formula.constants() is not None
            if "--list" in sys.argv and formula.numbers():
                print(f"{path.stem}: {formula.name}: {' '.join(formula.numbers())}")
    for fault in faults:
        print(fault)
    print(f"{counts['Rundlet']} formulas in Rundlet and {counts['C']} in C name their constants, {len(faults)} faults")
    return 1 if faults or any(counts[sort] < FEWEST[sort] for sort in FEWEST) else 0


if __name__ == "__main__":
    sys.exit(main())
