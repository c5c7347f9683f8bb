#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks that each file of the tree says who holds its copyright and under which licence: licences.py [FOLDER]

A source, a script of stdlib/ or examples/, or any other text that can hold a comment has the two SPDX lines at its top,
in the one form below. What cannot hold them is named in .reuse/dep5, in the manner of the REUSE specification. No golden
output may show such a line: it belongs to the file, not to a report."""

import fnmatch
import re
import sys

import tree_files

TOP = tree_files.top_of_tree()
HOLDER, LICENCE = "the Rundlet developers", "GPL-3.0-or-later"
TAG = "SPDX-"
LINES = [f"{TAG}FileCopyrightText: {HOLDER}", f"{TAG}License-Identifier: {LICENCE}"]
TOP_LINES = 4  # of a file, within which they stand
TEXT_OF_LICENCE = "LICENSE"
# These say it themselves; no stanza may excuse them.
OWN_LINES = re.compile(r"\.(c|h|def|py|sh|cmake|in|1|cases)$|(^|/)CMakeLists\.txt$|^(examples|tests|\.ci)/run$|"
                       r"^(stdlib|examples|tests/stdlib)/.*\.rlet$")
GOLDEN = re.compile(r"\.(out|err|json|html|ics)$|^tests/reports/.*\.(txt|csv|md)$")


def stanzas():
    """The patterns of .reuse/dep5, each with its holder and licence. A * there matches any text, / too."""
    found = []
    for stanza in (TOP / ".reuse" / "dep5").read_text(encoding="utf-8").split("\n\n"):
        fields = dict(re.findall(r"^([A-Z][\w-]*): *((?:.|\n(?= ))*)", stanza, flags=re.M))
        if "Files" in fields:
            found += [(pattern, fields.get("Copyright"), fields.get("License")) for pattern in fields["Files"].split()]
    return found


def fault_of(name, covered_by):
    data = (TOP / name).read_bytes()
    text = data.decode("utf-8", errors="replace")
    if GOLDEN.search(name) and TAG in text:
        return "a golden output shows a line of the licence"
    head = text.splitlines()[:TOP_LINES]
    said = [re.sub(r"^\W+|[\s*/]+$", "", line) for line in head if TAG in line]
    if said or OWN_LINES.search(name):
        return None if said == LINES else f"its first {TOP_LINES} lines hold {said or 'none'} of {LINES}"
    if not covered_by:
        return "neither its first lines nor .reuse/dep5 say its licence"
    if any((holder, licence) != (HOLDER, LICENCE) for _, holder, licence in covered_by):
        return f".reuse/dep5 does not say {HOLDER}, {LICENCE}"
    return None


def main():
    patterns, used, faults, names = stanzas(), set(), [], tree_files.files_below(TOP)
    for name in names:
        if name == TEXT_OF_LICENCE:
            continue
        covered_by = [stanza for stanza in patterns if fnmatch.fnmatchcase(name, stanza[0])]
        used.update(pattern for pattern, _, _ in covered_by)
        fault = fault_of(name, covered_by if not OWN_LINES.search(name) else [])
        if fault:
            faults.append(f"{name}: {fault}")
    faults += [f".reuse/dep5: {pattern} matches no file" for pattern, _, _ in patterns if pattern not in used]
    if TEXT_OF_LICENCE not in names or "GNU GENERAL PUBLIC LICENSE" not in (TOP / TEXT_OF_LICENCE).read_text(encoding="utf-8"):
        faults.append(f"{TEXT_OF_LICENCE}: the text of the licence is missing")
    print("\n".join(faults))
    print(f"{len(names)} files, {len(faults)} faults")
    return 1 if faults or len(names) < 200 else 0


if __name__ == "__main__":
    sys.exit(main())
