#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the code blocks of a page and compares their output: run_docs.py PAGE.md…, RUNDLET names the program.

    ```rundlet                  a script; the ```text block behind it, if any, is its output, and the status is 0
    ```rundlet as=perry.rlet    the same under that name; it stays in the page's folder for what follows
    ```rundlet continued        goes on with the script before it; only what is new is compared
    ```rundlet error            must fail; the ```text block is what it says on standard error
    ```csv as=log.csv           a file that scripts of the page read
    ```console                  lines `$ command` and what each prints, run in the page's folder with rundlet on the path

Other blocks are left alone. A page runs in a fresh folder of its own."""

import difflib
import os
import pathlib
import re
import subprocess
import sys
import tempfile

SECONDS = 60


class Block:
    def __init__(self, line, info, text):
        self.line, self.text = line, text
        words = info.split()
        self.language = words[0] if words else ""
        self.options = set(words[1:])

    def name(self):
        for option in self.options:
            if option.startswith("as="):
                return option[3:]
        return None


def blocks_of(text):
    found, current, fence = [], None, ""
    for number, line in enumerate(text.splitlines(), 1):
        opened = re.match(r"^(\s*)(`{3,})([^`]*)$", line)
        if current is None and opened:
            indent, fence, info = opened.groups()
            current, depth = Block(number, info.strip(), ""), len(indent)
        elif current is not None and line.strip() == fence:
            found.append(current)
            current = None
        elif current is not None:
            current.text += line[depth:] + "\n" if not line[:depth].strip() else line + "\n"
    if current is not None:
        raise SystemExit(f"line {current.line}: the block is not closed")
    return found


def tidy(text):
    """Blank ends of lines, and empty lines before the first and after the last, do not show on a page."""
    return [line.rstrip() for line in text.rstrip().lstrip("\n").splitlines()]


def compare(title, want, got):
    want, got = tidy(want), tidy(got)
    if want == got:
        return None
    return f"{title}:\n" + "\n".join(difflib.unified_diff(want, got, "on the page", "by the program", lineterm=""))


class Page:
    def __init__(self, path, folder, program):
        self.path, self.folder, self.program = path, folder, program
        self.faults, self.checked = [], 0
        self.script, self.output = "", ""  # of the block a `continued` one goes on with
        self.environment = dict(os.environ, NO_COLOR="1", XDG_DATA_HOME=str(folder / "shelf"),
                                PATH=f"{pathlib.Path(program).parent}:{os.environ['PATH']}")

    def fault(self, block, message):
        self.faults.append(f"{self.path}:{block.line}: {message}")

    def run(self, command, **more):
        try:
            return subprocess.run(command, cwd=self.folder, env=self.environment, stdin=subprocess.DEVNULL,
                                  timeout=SECONDS, text=True, encoding="utf-8", **more)
        except subprocess.TimeoutExpired:
            return None

    def run_script(self, block, expected):
        self.checked += 1
        script = block.text
        if "continued" in block.options:
            script = self.script + script
        name = block.name() or "example.rlet"
        (self.folder / name).write_text(script, encoding="utf-8")
        done = self.run([self.program, name], capture_output=True)
        if done is None:
            return self.fault(block, f"ran longer than {SECONDS} s")
        if "error" in block.options:
            return self.judge_error(block, expected, done)
        if done.returncode != 0 or done.stderr:
            return self.fault(block, f"status {done.returncode}\n{done.stdout}{done.stderr}")
        new = done.stdout
        if "continued" in block.options:
            if not new.startswith(self.output):
                return self.fault(block, f"its first part printed something else this time:\n{new}")
            new = new[len(self.output):]
        self.script, self.output = script, done.stdout
        if expected is not None:
            difference = compare("the output differs", expected.text, new)
            if difference:
                self.fault(block, difference)
        return None

    def judge_error(self, block, expected, done):
        if done.returncode <= 0:
            return self.fault(block, f"status {done.returncode}, but it is marked as an error\n{done.stdout}{done.stderr}")
        if expected is not None:
            difference = compare("the error differs", expected.text, done.stderr)
            if difference:
                self.fault(block, difference)
        return None

    def run_console(self, block):
        steps = re.split(r"^\$ (.*)\n", block.text, flags=re.M)
        if steps[0].strip() or len(steps) < 2:
            self.fault(block, "a console block starts with `$ command`")
        for command, expected in zip(steps[1::2], steps[2::2]):
            self.checked += 1
            done = self.run(["bash", "-c", command], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
            if done is None:
                self.fault(block, f"{command}: ran longer than {SECONDS} s")
                continue
            difference = compare(f"{command}: the output differs", expected, done.stdout)
            if difference or done.returncode < 0:
                self.fault(block, difference or f"{command}: killed")


def run_page(path, program):
    with tempfile.TemporaryDirectory() as folder:
        page = Page(path, pathlib.Path(folder), program)
        blocks = blocks_of(pathlib.Path(path).read_text(encoding="utf-8"))
        for block, behind in zip(blocks, blocks[1:] + [None]):
            if block.language == "rundlet":
                unknown = {o for o in block.options if o not in ("error", "continued") and not o.startswith("as=")}
                if unknown:
                    page.fault(block, f"unknown mark {unknown.pop()}")
                page.run_script(block, behind if behind and behind.language == "text" else None)
            elif block.language == "csv" and block.name():
                (page.folder / block.name()).write_text(block.text, encoding="utf-8")
            elif block.language == "console":
                page.run_console(block)
    for fault in page.faults:
        print(fault)
    print(f"{path}: {page.checked} checked, {len(page.faults)} faults")
    return not page.faults


def main():
    program = os.environ.get("RUNDLET")
    if not program or len(sys.argv) < 2:
        print(__doc__)
        return 2
    results = [run_page(path, os.path.abspath(program)) for path in sys.argv[1:]]
    return 0 if all(results) else 1


if __name__ == "__main__":
    sys.exit(main())
