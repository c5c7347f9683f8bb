#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs Rundlet scripts and compares what they say with what is expected.

    run_scripts.py KIND FILE…              RUNDLET in the environment names the program
    run_scripts.py KIND --only CASE FILE…  runs one case of each case file
    run_scripts.py KIND --update FILE…     rewrites what is expected; by hand only, and read the difference

A file is one script (.rlet), or a case file (.cases; cases.py tells its form), whose cases are reported by name.

lang      The expectation stands in comments on the line itself:
              show 1 gal + 1 L          #= 1 gal + 1 L = 1.264 gal
              show a, b                 #= a = 1 #= b = 2
              let x = 5 gal + 2 lb      #! a volume and a mass cannot be added
          All `#=` of the file, in order, are the lines of standard output (empty lines aside); a table's or a loop's
          lines may stand below it, each as `#= …` on a line of its own. Each `#!` is the message of one diagnostic on
          that line, and makes the status 1; without any, the status is 0 and nothing is said on standard error. A
          script without both must hold an `expect`.
errors    Standard error is, byte for byte, what stands below ---- in the case. The status is 1,
          or, of a case with notes of --check alone, 0.
stdlib    Status 0, nothing on standard error, at least one `expect`.
examples  Status 0, nothing on standard error; standard output is tests/examples/NAME.out.

Comment lines at the top of a script may say `# status 2` (errors) and `# arguments batch="5 gal"` (all kinds).
A script runs in its own folder under its bare name, with no shelf of the user's in sight."""

import os
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile

from cases import CaseFile, Malformed

TESTS = pathlib.Path(__file__).resolve().parent
SECONDS = 60
DIAGNOSTIC = re.compile(r"^([^\s:]+):(\d+):(\d+): (.*)$")
# Words of the workshop that no message for people may hold.
INTERNAL = re.compile(r"\b(nan|inf|null|NULL|opcode|bytecode|tokens?|lexer|parser|compiler|assert\w*|segmentation|errno)\b")


class Failure(Exception):
    pass


class Script:
    def __init__(self, path):
        self.path = pathlib.Path(path).resolve()
        self.data = self.path.read_bytes()
        self.text = self.data.decode("utf-8", errors="replace")
        self.status, self.arguments = None, []
        for line in self.text.lstrip("\ufeff").splitlines():
            if not line.startswith("#"):
                break
            said = re.match(r"# status (\d+)\s*$", line)
            if said:
                self.status = int(said.group(1))
            said = re.match(r"# arguments (.*)$", line)
            if said:
                self.arguments = shlex.split(said.group(1))

    def run(self):
        environment = dict(os.environ, XDG_DATA_HOME="/no-such-folder", NO_COLOR="1")
        # Options go before the script, NAME=VALUE behind it; both may be given.
        options = [word for word in self.arguments if word.startswith("-")]
        values = [word for word in self.arguments if not word.startswith("-")]
        try:
            done = subprocess.run([program(), *options, self.path.name, *values], cwd=self.path.parent, env=environment,
                                  stdin=subprocess.DEVNULL, capture_output=True, timeout=SECONDS)
        except subprocess.TimeoutExpired:
            raise Failure(f"ran longer than {SECONDS} s") from None
        if done.returncode < 0:
            raise Failure(f"killed by signal {-done.returncode}\n{text_of(done.stderr)}")
        return done


def program():
    found = os.environ.get("RUNDLET")
    if not found:
        sys.exit("RUNDLET must name the program")
    return os.path.abspath(found)


def text_of(data):
    return data.decode("utf-8", errors="backslashreplace")


def difference(title, want, got):
    """Both sides in full: scripts are short, and a reader sees at once what changed."""
    shown = [f"{title}: expected"] + [f"  |{line}" for line in want] + ["got"] + [f"  |{line}" for line in got]
    return "\n".join(shown)


def require_quiet(done):
    if done.returncode != 0:
        raise Failure(f"status {done.returncode}, expected 0\n{text_of(done.stderr)}")
    if done.stderr:
        raise Failure(f"said on standard error:\n{text_of(done.stderr)}")


def has_expect(text):
    return re.search(r"^\s*expect\b", text, re.M) is not None


def expectations(text):
    """The `#=` texts in order, and (line, message) of each `#!`."""
    outputs, errors = [], []
    for number, line in enumerate(text.splitlines(), 1):
        pieces = re.split(r"(?:^|(?<=\s))#(=|!)(?= |$)", line)
        for mark, said in zip(pieces[1::2], pieces[2::2]):
            if mark == "=":
                outputs.append(said.strip())
            else:
                errors.append((number, said.strip()))
    return outputs, errors


def run_lang(script, update):
    del update
    outputs, errors = expectations(script.text)
    if not outputs and not errors and not has_expect(script.text):
        raise Failure("expects nothing: write #=, #! or expect")
    done = script.run()
    said = [line.strip() for line in text_of(done.stdout).splitlines() if line.strip()]
    if outputs and said != [line for line in outputs if line]:
        raise Failure(difference("output", outputs, said) + f"\nstandard error:\n{text_of(done.stderr)}")
    if not errors:
        require_quiet(done)
        return
    found = []
    for line in text_of(done.stderr).splitlines():
        match = DIAGNOSTIC.match(line)
        if match and match.group(1) == script.path.name:
            found.append((int(match.group(2)), match.group(4)))
    if sorted(found) != sorted(errors):
        raise Failure(difference("diagnostics", [f"{n}: {m}" for n, m in errors], [f"{n}: {m}" for n, m in found])
                      + f"\nstandard error:\n{text_of(done.stderr)}")
    if done.returncode != (script.status or 1):
        raise Failure(f"status {done.returncode}, expected {script.status or 1}")


def run_errors(script, update):
    done = script.run()
    golden = script.path.with_suffix(".err")
    if update:
        golden.write_bytes(done.stderr)
    want = golden.read_bytes() if golden.exists() else b""
    if not want.strip():
        raise Failure(f"expects nothing below ----; standard error was:\n{text_of(done.stderr)}")
    if done.stderr != want:
        raise Failure(difference("standard error", text_of(want).splitlines(), text_of(done.stderr).splitlines()))
    status = 1 if script.status is None else script.status
    notes = "--check" in script.arguments and all(": note: " in line for line in text_of(want).splitlines()
                                                  if DIAGNOSTIC.match(line))
    if done.returncode != status or (status == 0) != notes:
        raise Failure(f"status {done.returncode}, expected {status}; notes of --check alone, and nothing else, make it 0")
    for line in text_of(want).splitlines():
        words = INTERNAL.search(line)
        if words and not re.match(r"\s*\d* \|", line):  # source lines may hold any word
            raise Failure(f"an internal word, {words.group(0)}: {line}")


def run_stdlib(script, update):
    del update
    if not has_expect(script.text):
        raise Failure("holds no expect")
    require_quiet(script.run())


def run_examples(script, update):
    done = script.run()
    require_quiet(done)
    golden = TESTS / "examples" / (script.path.stem + ".out")
    if update:
        golden.parent.mkdir(exist_ok=True)
        golden.write_bytes(done.stdout)
    if not golden.exists():
        raise Failure(f"tests/examples/{golden.name} is missing; the output was:\n{text_of(done.stdout)}")
    want = golden.read_bytes()
    if not want.strip() or done.stdout != want:
        raise Failure(difference("output", text_of(want).splitlines(), text_of(done.stdout).splitlines()))


KINDS = {"lang": run_lang, "errors": run_errors, "stdlib": run_stdlib, "examples": run_examples}


def run_script(kind, path, name, update):
    """One script; its name and what is wrong, or None."""
    try:
        KINDS[kind](Script(path), update)
    except Failure as failure:
        return name, str(failure)
    return name, None


def run_cases(kind, path, only, update):
    """All cases of a file, each in a folder with the others and their files, as if they were single scripts."""
    file = CaseFile(path)
    said, results = {}, []
    with tempfile.TemporaryDirectory() as root:
        folder = file.unpack(pathlib.Path(root))
        for case in file.cases:
            if only and case.name != only:
                continue
            script = folder / f"{case.name}.rlet"
            results.append(run_script(kind, script, f"{kind}/{file.topic}/{case.name}", update))
            if script.with_suffix(".err").exists():
                said[case.name] = script.with_suffix(".err").read_bytes()
    if update:
        file.rewrite(said)
    return results


def run_file(kind, path, only, update):
    if not path.endswith(".cases"):
        return [run_script(kind, path, path, update)]
    try:
        return run_cases(kind, path, only, update)
    except Malformed as fault:
        return [(path, str(fault))]


def main():
    arguments = sys.argv[1:]
    update = "--update" in arguments
    arguments = [word for word in arguments if word != "--update"]
    only = None
    if "--only" in arguments[:-1]:
        at = arguments.index("--only")
        only = arguments[at + 1]
        del arguments[at:at + 2]
    if len(arguments) < 2 or arguments[0] not in KINDS:
        print(__doc__)
        return 2
    results = [result for path in arguments[1:] for result in run_file(arguments[0], path, only, update)]
    failures = [result for result in results if result[1]]
    for name, wrong in results:
        print(f"{'FAILED' if wrong else 'passed'} {name}")
    for name, wrong in failures:
        print(f"\n{name}: {wrong}")
    print(f"{len(results) - len(failures)} passed, {len(failures)} failed")
    return 1 if failures or not results else 0


if __name__ == "__main__":
    sys.exit(main())
