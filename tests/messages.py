#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every message has a golden test: each row of interp/base/messages.def must be seen in a case of tests/errors, or in
what tests/cli and tests/prompt expect. Lists the rows that are not, and exits 1. `--seen` lists where each was found."""

import pathlib
import re
import sys

from cases import case_files

# Rows that cannot be provoked from outside, each with its reason. Keep it short.
UNREACHABLE = {
    "LIQUID_NOT_CONVERGED": "the last word of a bracketed solve that has never failed",
}
FEWEST_BAD_SCRIPTS = 120

TESTS = pathlib.Path(__file__).resolve().parent
TABLE = TESTS.parent / "interp/base/messages.def"
TOKEN = re.compile(r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\])*"|\w+|[(),]|\s+|.', re.S)
ESCAPES = {"n": "\n", "t": "\t"}


def unquote(literal):
    return re.sub(r"\\(.)", lambda match: ESCAPES.get(match.group(1), match.group(1)), literal[1:-1])


def rows():
    """(id, class, text, hint) of each MESSAGE(…) in the table; adjacent strings are joined."""
    current, found = None, []
    for token in TOKEN.findall(TABLE.read_text(encoding="utf-8")):
        if token.isspace() or token.startswith(("/*", "//")):
            continue
        if token == "MESSAGE":
            current = [""]
        elif current is None or token == "(":
            continue
        elif token == ",":
            current.append("")
        elif token == ")":
            found.append(tuple(current))
            current = None
        else:
            current[-1] += unquote(token) if token.startswith('"') else token
    return found


def pattern_of(text):
    """A pattern for what the row prints: its fixed words, with anything where %1 … %6 stand."""
    pieces = re.split(r"%[1-6]", text.replace("%%", "%"))
    return ".*".join(re.escape(piece) for piece in pieces)


def corpus():
    """(name, first lines of diagnostics) of the golden errors; (name, whole text) of the others."""
    golden, others = [], []
    for file in case_files(TESTS / "errors"):
        for case in file.cases:
            lines = case.expected.decode("utf-8").splitlines()
            golden.append((f"errors/{file.topic}/{case.name}",
                           [re.sub(r"^(?:\S+?:\d+:\d+|rundlet): (?:note: )?", "", line) for line in lines]))
    for folder in ("cli", "prompt"):
        for path in sorted((TESTS / folder).rglob("*")):
            if path.is_file() and path.suffix != ".pyc":
                others.append((path.relative_to(TESTS), path.read_text(encoding="utf-8", errors="replace")))
    return golden, others


def where(text, golden, others):
    whole = re.compile(pattern_of(text))
    for name, lines in golden:
        if any(whole.fullmatch(line) for line in lines):
            return name
    if not re.sub(r"%[1-6]", "", text).strip():
        return None  # a row of arguments only would match any text
    for name, content in others:
        if whole.search(content):
            return name
    return None


def where_as_reason(text, golden):
    """A mistake that only a literal alone can have is told in the hint that its text was refused with."""
    reason = re.compile(r"\s*hint: " + pattern_of(text) + r"(?:[:;]|$)")
    return next((path for path, lines in golden if any(reason.match(line) for line in lines)), None)


def main():
    golden, others = corpus()
    table = rows()
    of_literals = set(re.findall(r"^LITERAL_HINT\((\w+),", TABLE.read_text(encoding="utf-8"), re.M))
    missing = []
    for row in table:
        if len(row) != 4:
            print(f"messages.def: {row[0]}: a row has four parts")
            missing.append(row)
            continue
        found = where(row[2], golden, others)
        if not found and row[0] in of_literals:
            found = where_as_reason(row[2], golden)
        if "--seen" in sys.argv:
            print(f"{row[0]}: {found or '-'}")
        if found and row[0] in UNREACHABLE:
            print(f"{row[0]} is listed as unreachable, but {found} reaches it")
            missing.append(row)
        elif not found and row[0] not in UNREACHABLE:
            print(f"no golden test: {row[0]}: {row[2]}")
            missing.append(row)
    for name in sorted(set(UNREACHABLE) - {row[0] for row in table}):
        print(f"{name} is listed as unreachable, but is no row")
        missing.append(name)
    print(f"{len(table)} messages, {len(golden)} bad scripts, {len(missing)} faults")
    if len(golden) < FEWEST_BAD_SCRIPTS:
        print(f"fewer than {FEWEST_BAD_SCRIPTS} bad scripts in tests/errors")
        return 1
    return 1 if missing or not table else 0


if __name__ == "__main__":
    sys.exit(main())
