#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every line that help offers runs: the example of each formula, the lines of `help words` and of topics, those of units and of words.
help_examples.py PROGRAM"""

import ast
import pathlib
import re
import subprocess
import sys
import tempfile

import make_reference

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
TOP = pathlib.Path(__file__).resolve().parent.parent
SILENT = ("let ", "unit can", "formula ", "quit")  # what shows nothing
FEWEST = 100


def run(folder, lines):
    done = subprocess.run([PROGRAM, "--prompt"], input="".join(line + "\n" for line in lines), capture_output=True, cwd=folder,
                          timeout=60, text=True, encoding="utf-8")
    return done.returncode, done.stdout, done.stderr


def faults(folder):
    examples = []
    for path in sorted((TOP / "stdlib").glob("*.rlet")):
        text = path.read_text(encoding="utf-8")
        for name in re.findall(r"^formula (\w+)\(", text, re.M):
            found = re.search(rf"^## Example(?: with a file)?: (.*)\nformula {name}\(", text, re.M)
            if not found:
                yield f"{path.name}: {name} has no `## Example: …` as the last line above it"
            elif not re.search(rf"\b{name}\(", found[1]):
                yield f"{path.name}: the example of {name} does not call it"
            else:
                examples.append(found[1])
    if len(examples) < FEWEST:
        yield f"only {len(examples)} examples were found"
    (pathlib.Path(folder) / "readings.csv").write_text("when,gravity [SG]\n2027-10-17,1.050\n", encoding="utf-8")
    for example in examples:
        status, out, err = run(folder, [example])
        if status or err or not out.strip():
            yield f"{example}: status {status}\n{out}{err}"
    rows = make_reference.phrases()
    if len(rows) < 50:
        yield f"only {len(rows)} phrases were found"
    for says, line, see in rows:
        status, out, err = run(folder, [line])
        if status or err or not (out.strip() or line.startswith(SILENT)):
            yield f"{says}: {line}: status {status}\n{out}{err}"
        status, out, err = run(folder, [f"help {see}"])
        if see and (status or err or not out.startswith((see, f"  {see}"))):
            yield f"{says}: help {see} tells nothing:\n{out}{err}"
        for phrase in says.split(", "):
            status, out, err = run(folder, [f"help {phrase}"])
            known = out.startswith((phrase + "(", phrase + ":", f"  {phrase}"))  # something is called so
            if status or not (known or line in out):
                yield f"help {phrase} does not find {line}:\n{out}{err}"


def word_examples():
    """(word, [line, …]) of each example in front/language.def; `end` and what is further in go on with the last."""
    text = (TOP / "interp/front/language.def").read_text(encoding="utf-8")
    string = r'"(?:[^"\\]|\\.)*"\s*'
    for word, form in re.findall(rf'^(?:KEYWORD|CONTEXT)\(\w+, "(\w+)",[^"]*(?:{string})+,\s*((?:{string})+)\)', text, re.M):
        lines = ast.literal_eval(f"({form})").split("\n")
        starts = [at for at, line in enumerate(lines) if line != "end" and not line.startswith(" ")]
        for at, end in zip(starts, [*starts[1:], len(lines)]):
            yield word, lines[at:end]


def word_faults(folder):
    (pathlib.Path(folder) / "club.rlet").write_text("formula dose(x is volume) = x * 2 g/L\n", encoding="utf-8")
    examples = list(word_examples())
    if len(examples) < 40:
        yield f"only {len(examples)} examples of words were found"
    for word, lines in examples:
        status, out, err = run(folder, lines)
        if status or err:
            yield f"{word}: {lines}: status {status}\n{out}{err}"


def topic_faults(folder):
    topics = make_reference.prompt_topics()
    if len(topics) < 5:
        yield f"only {len(topics)} topics were found"
    for says, tells, line in topics:
        status, out, err = run(folder, [line or "1"])
        if status or err or not out.strip():
            yield f"{says}: {line}: status {status}\n{out}{err}"
        for asked in says.split(", "):
            status, out, err = run(folder, [f"help {asked}"])
            if status or err or any(f"  {told}\n" not in out for told in [*tells.split("\n"), *([f"Example: {line}"] if line else [])]):
                yield f"help {asked} does not tell {tells!r}:\n{out}{err}"


def main():
    with tempfile.TemporaryDirectory() as folder:
        found = [*faults(folder), *topic_faults(folder), *word_faults(folder)]
    for fault in found:
        print(fault)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
