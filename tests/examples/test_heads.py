#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every command in the head of an example runs, and so does the example with each ranged input at either end of its
range, one at a time. test_heads.py PROGRAM

A value at an end may be refused, but then in words that say what to give: a hint, the range that is allowed, or the
script's own. That of a find, which only tells what its two sides were, is not enough."""

import concurrent.futures
import pathlib
import re
import shlex
import subprocess
import sys

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
EXAMPLES = pathlib.Path(__file__).resolve().parents[2] / "examples"
COMMAND = re.compile(r"^#(.*?)\brundlet ((?:--\S+ \S+ )*\w+\.rlet\b.*)$", re.M)
RANGED = re.compile(r"^input (\w+) from (.+?) to (.+?) = ", re.M)
ADVICE = re.compile(r"^   (?:hint|try): (?!.*the two sides are)| must lie between | must be above |^[^\n]*:\d+: (?!this check does not hold).*\(.* against .*\)$", re.M)


def commands(text):
    head = re.match(r"(?:#.*\n)*", text).group()
    for before, line in COMMAND.findall(head):
        yield shlex.split(line.split(" > ")[0]), {1} if "refused" in before else {0}


def ends(name, text):
    for given, *limits in RANGED.findall(text):
        for limit in limits:
            yield [name, f"{given}={limit}"], {0, 1}


def fault_of(case):
    """None, or what is wrong."""
    arguments, allowed = case
    done = subprocess.run([PROGRAM, *arguments], cwd=EXAMPLES, capture_output=True, timeout=60, text=True, encoding="utf-8")
    fine = ADVICE.search(done.stderr) if done.returncode else not done.stderr
    if fine and done.returncode in allowed:
        return None
    return f"rundlet {shlex.join(arguments)}: status {done.returncode}\n{done.stderr}"


def main():
    cases = []
    for path in sorted(EXAMPLES.glob("*.rlet")):
        text = path.read_text(encoding="utf-8")
        cases += [*commands(text), *ends(path.name, text)]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        faults = [fault for fault in pool.map(fault_of, cases) if fault]
    print("\n".join(faults))
    heads = sum(len(allowed) == 1 for _, allowed in cases)
    print(f"{heads} commands, {len(cases) - heads} ends of ranges; {len(faults)} faults")
    return 1 if faults or heads < 8 or len(cases) < 150 else 0


if __name__ == "__main__":
    sys.exit(main())
