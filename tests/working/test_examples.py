#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The working of each script of examples/, as `rundlet --working` prints it below the results: test_examples.py PROGRAM
[--update]

Each, and that of each script of scripts/ beside this file, is compared with examples/NAME.txt; that of house_recipe in each other form that has it with
house_recipe.json, .md and .html. --update rewrites the files; by hand only, and read the difference."""

import difflib
import os
import pathlib
import subprocess
import sys

PROGRAM = os.path.abspath(sys.argv[1])
HERE = pathlib.Path(__file__).resolve().parent / "examples"
EXAMPLES = HERE.parents[2] / "examples"
SCRIPTS = HERE.parent / "scripts"  # what the examples have none of
TODAY = "2027-10-01"
HEAD = "\nWorking\n-------\n"
NOTE = "note: the working is not complete"
FORMS = {"json": "json", "markdown": "md", "html": "html"}
IN_ALL_FORMS = "house_recipe"
SECONDS = 60


def run(script, *options):
    done = subprocess.run([PROGRAM, "--working", *options, "--today", TODAY, script], cwd=EXAMPLES, timeout=SECONDS,
                          stdin=subprocess.DEVNULL, capture_output=True)
    return done.stdout.decode() if done.returncode == 0 else f"status {done.returncode}\n{done.stderr.decode()}"


def working(script):
    """What comes below the results, which tests/examples has."""
    out = run(script)
    if NOTE in out:
        return out
    return out[out.index(HEAD) + 1:] if HEAD in out else f"no working:\n{out}"


def outputs():
    for script in sorted(EXAMPLES.glob("*.rlet")):
        yield f"{script.stem}.txt", working(script.name)
    for script in sorted(SCRIPTS.glob("*.rlet")):
        yield f"scripts_{script.stem}.txt", working(str(script))
    for form, suffix in FORMS.items():
        yield f"{IN_ALL_FORMS}.{suffix}", run(IN_ALL_FORMS + ".rlet", "--report", form)


def compare(name, got):
    path = HERE / name
    wanted = path.read_text(encoding="utf-8") if path.exists() else ""
    if got == wanted:
        print(f"ok: {name}")
        return True
    print(f"not ok: {name}")
    print("\n".join(difflib.unified_diff(wanted.splitlines(), got.splitlines(), "expected", "printed", lineterm="")))
    return False


def main():
    made = dict(outputs())
    if "--update" in sys.argv:
        HERE.mkdir(exist_ok=True)
        for name, text in made.items():
            (HERE / name).write_text(text, encoding="utf-8")
        return 0
    failed = [name for name, text in made.items() if not compare(name, text)]
    failed += [path.name for path in HERE.iterdir() if path.name not in made and not print(f"not ok: {path.name} has no script")]
    print(f"{len(made)} files, {len(failed)} failed")
    return 1 if failed else 0


sys.exit(main())
