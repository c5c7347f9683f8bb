#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds interp/ to its layers: a file includes only lower layers and its own. Checks too that the few things only one
place may do (allocate, read a terminal's line, leave the program, print a double) are done nowhere else, that no source
file outgrows a reader, and that the table in DEVELOPERS.md is the one used here. Prints each offence and exits 1."""

import pathlib
import re
import sys

# Lowest first. Each is a folder of interp/.
LAYERS = ["base", "numbers", "find", "physics", "quantities", "values", "front", "runtime", "output", "facade", "programs"]
FRONT = ["base", "facade", "programs"]  # what the program itself may include
MOST_LINES = 900

# (what a call looks like, files that may, what to say)
RESERVED_CALLS = [
    (r"\b(?:malloc|calloc|realloc|reallocarray|aligned_alloc|free|strdup|strndup|asprintf|getline)\s*\(",
     r"base/mem\.c", "only base/mem.c allocates: use mem_…"),
    (r"\b(?:exit|_exit|_Exit|quick_exit)\s*\(", r"programs/main\.c", "only programs/main.c leaves the program"),
    (r"\babort\s*\(", r"base/mem\.c|programs/main\.c", "only base/mem.c and programs/main.c abort"),
]
DOUBLE_CONVERSION = re.compile(r"%[-+#0']*[0-9.*]*L?[aAeEfFgG](?![A-Za-z])")
PRINTERS = re.compile(r"\b\w*printf\s*\(")
FORMAT_FILE = "numbers/format.c"

TOP = pathlib.Path(__file__).resolve().parent.parent
INTERP = TOP / "interp"


def code_of(text, keep_strings=False):
    """The text without comments, character constants and what stands in strings; line ends stay."""
    pattern = re.compile(r'//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\'', re.S)

    def blank(match):
        piece = match.group(0)
        if piece[0] == "/":
            return "\n" * piece.count("\n")
        return piece if keep_strings and piece[0] == '"' else piece[0] + piece[0]

    return pattern.sub(blank, text)


def line_of(text, offset):
    return text.count("\n", 0, offset) + 1


def check_includes(name, code, say):
    own = LAYERS.index(name.split("/")[0])
    for match in re.finditer(r'^[ \t]*#[ \t]*include[ \t]*([<"])([^">\n]+)[">]', code, re.M):
        bracket, target = match.groups()
        line = line_of(code, match.start())
        if bracket == '"':
            layer = target.split("/")[0] if "/" in target else LAYERS[own]
            if layer not in LAYERS:
                say(line, f'"{target}" is in no layer')
            elif LAYERS.index(layer) > own:
                say(line, f'{LAYERS[own]} may not include "{target}" from above it')
            elif LAYERS[own] == "programs" and layer not in FRONT:
                say(line, f'programs reach the core through the facade: not "{target}"')
        elif target.startswith("readline/") and not re.match(r"programs/prompt", name):
            say(line, "only programs/prompt* includes readline")
        elif target.startswith("criterion/"):
            say(line, "the program does not include the test framework")


def check_calls(name, code, say):
    for pattern, allowed, message in RESERVED_CALLS:
        if re.fullmatch(allowed, name):
            continue
        for match in re.finditer(pattern, code):
            say(line_of(code, match.start()), f"{match.group(0)}…: {message}")


def check_printing(name, code, say):
    if name == FORMAT_FILE:
        return
    for match in PRINTERS.finditer(code):
        depth, end = 1, match.end()
        while end < len(code) and depth:
            if code[end] == '"':
                end = re.compile(r'"(?:\\.|[^"\\])*"').match(code, end).end()
                continue
            depth += {"(": 1, ")": -1}.get(code[end], 0)
            end += 1
        for text in re.findall(r'"(?:\\.|[^"\\])*"', code[match.end():end]):
            if DOUBLE_CONVERSION.search(text.replace("%%", "")):
                say(line_of(code, match.start()), f"{text}: only {FORMAT_FILE} turns a double into characters")


def check_file(path, offences):
    name = path.relative_to(INTERP).as_posix()

    def say(line, message):
        offences.append(f"interp/{name}:{line}: {message}")

    text = path.read_text(encoding="utf-8")
    if name.split("/")[0] not in LAYERS:
        say(1, "lies in no layer")
        return
    lines = text.count("\n")
    if path.suffix != ".def" and lines > MOST_LINES:
        say(lines, f"{lines} lines; at most {MOST_LINES}")
    with_strings = code_of(text, keep_strings=True)
    check_includes(name, with_strings, say)
    check_calls(name, code_of(text), say)
    check_printing(name, with_strings, say)


def check_table(offences):
    """DEVELOPERS.md shows the layers as a table whose first column is `name`."""
    text = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = text.split("## Layers", 1)[-1].split("\n## ", 1)[0]
    shown = re.findall(r"^\| `(\w+)/?` \|", part, re.M)
    if shown != LAYERS:
        offences.append(f"DEVELOPERS.md: its table of layers says {shown}, tests/layers.py says {LAYERS}")


def main():
    offences = []
    files = sorted(path for path in INTERP.rglob("*") if path.suffix in (".c", ".h", ".def"))
    if not files:
        offences.append("interp/ holds no source")
    for path in files:
        check_file(path, offences)
    check_table(offences)
    for offence in offences:
        print(offence)
    print(f"{len(files)} files, {len(offences)} offences")
    return 1 if offences else 0


if __name__ == "__main__":
    sys.exit(main())
