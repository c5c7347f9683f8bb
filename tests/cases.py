#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads case files: all small scripts about one topic, each with what is expected of it.

    cases.py unpack FOLDER FILE.cases…   writes them as single files, FOLDER/tests/KIND/TOPIC/CASE.rlet: the build does
                                         that for the programs in C that read every script. Empties FOLDER first
    cases.py check                       no script is left outside a case file where case files are the rule

A case file is plain text. Four kinds of line have a meaning, and only at the left margin:

    # A word about the topic, and what several of its cases use:
    ++++ parts/club.rlet
    formula dose(volume) = volume * 2 g/L

    ==== clash_formula
    use "parts/club.rlet"
    formula dose(x) = x
    ----
    clash_formula.rlet:2:9: there is already a formula called dose
    …

    ==== crlf
    %%%% "let x = 5 gal\\r\\nshow x\\r\\n"

    ==== NAME    begins a case: a script that runs as NAME.rlet. The empty line before it belongs to nothing.
    ----         begins what is expected on standard error (in tests/errors; --update of run_scripts.py writes it)
    ++++ PATH    begins a file that lies beside the script; above the first case, beside all scripts. PATH may begin
                 with ../ up to three times: the scripts run in a folder as deep as tests/KIND/TOPIC
    %%%% EXPR    stands for the text or bytes a Python expression gives: what no editor shows (other line ends, bytes
                 that are not UTF-8, a script without a last newline), and scripts too long to read"""

import pathlib
import re
import shutil
import sys
import tempfile

TESTS = pathlib.Path(__file__).resolve().parent
ONLY_CASES = ["errors"]  # folders whose scripts are all in case files
MARKED = re.compile(rb"(====|\+\+\+\+|%%%%|----$)(?: (.*))?$")
CONTROL = re.compile(rb"[\x00-\x08\x0b-\x1f\x7f]")


class Malformed(Exception):
    pass


class Case:
    def __init__(self, name, line):
        self.name, self.line = name, line
        self.script, self.files = b"", {}
        self.expected = None  # bytes, where the case has a ---- line
        self.first, self.last = None, None  # the lines of `expected`, as indices into the file's lines


class CaseFile:
    """One file: `cases` in order, `shared` files by path. Raises Malformed, with the line's number."""

    def __init__(self, path):
        self.path = pathlib.Path(path).resolve()
        self.topic = self.path.stem
        self.lines = self.path.read_bytes().splitlines(keepends=True)
        self.cases, self.shared = [], {}
        self._read()
        if not self.cases:
            raise Malformed(f"{self.path}: holds no case")

    def _read(self):
        case, part = None, "head"  # part: head, script, expected, or the path of a file
        files = self.shared
        for index, whole in enumerate(self.lines):
            line = whole.rstrip(b"\n")
            marked = MARKED.match(line)
            mark, rest = (marked.group(1), marked.group(2)) if marked else (None, None)
            if mark == b"====":
                self._close(case, files, index)
                case = self._open(rest, index)
                files, part = case.files, "script"
            elif mark == b"++++":
                part = self._path(rest, index, files)
                files[part] = b""
            elif mark == b"----":
                if not case or case.expected is not None:
                    self._fail(index, "---- belongs once behind each script")
                case.expected, case.first, part = b"", index + 1, "expected"
            elif part == "expected":
                pass
            elif part == "head":
                if line and not line.startswith(b"#"):
                    self._fail(index, "above the first case, write # and a space before the text")
            elif part == "script":
                case.script += self._bytes(whole, mark, rest, index)
            else:
                files[part] += self._bytes(whole, mark, rest, index)
        self._close(case, files, len(self.lines))
        for number, one in enumerate(self.cases):
            self._clash(one, self.cases[:number])

    def _open(self, rest, index):
        name = (rest or b"").decode("utf-8", errors="replace")
        if not re.fullmatch(r"\w+", name, re.A):
            self._fail(index, "write ==== and a name of letters, digits and _")
        self.cases.append(Case(name, index + 1))
        return self.cases[-1]

    def _close(self, case, files, end):
        """The empty line that ends a case belongs to nothing, whatever part of the case it follows."""
        blank = end > 0 and self.lines[end - 1] == b"\n"
        if case and case.expected is not None:
            case.last = max(case.first, end - 1 if blank else end)
            case.expected = b"".join(self.lines[case.first:case.last])
        elif blank and files:
            last = list(files)[-1]
            files[last] = files[last][:-1]
        elif blank and case:
            case.script = case.script[:-1]

    def _bytes(self, whole, mark, rest, index):
        if mark == b"%%%%":
            made = eval(rest.decode("utf-8"), {})  # pylint: disable=eval-used
            return made.encode("utf-8") if isinstance(made, str) else made
        try:
            whole.decode("utf-8")
        except UnicodeDecodeError:
            self._fail(index, "not UTF-8; write %%%% and the bytes: %%%% b\"…\\xe9…\\n\"")
        if CONTROL.search(whole):
            self._fail(index, "a control character; write %%%% and the text: %%%% \"…\\r\\n\"")
        return whole

    def _path(self, rest, index, files):
        path = (rest or b"").decode("utf-8", errors="replace")
        if not re.fullmatch(r"(\.\./){0,3}(?!\.)[^/]+(/(?!\.)[^/]+)*", path) or path in files:
            self._fail(index, "write ++++ and the path of a new file, from the folder of the script")
        return path

    def _clash(self, case, others):
        for other in others:
            if other.name == case.name:
                self._fail(case.line - 1, f"there is a case {case.name} above")
        for path, data in case.files.items():
            if path in self.shared or any(other.files.get(path, data) != data for other in others):
                self._fail(case.line - 1, f"another {path} is above")

    def _fail(self, index, why):
        raise Malformed(f"{self.path}:{index + 1}: {why}")

    def unpack(self, root):
        """Writes all cases as single files into ROOT/tests/KIND/TOPIC, which it gives: CASE.rlet, CASE.err if one is
        expected, and their files."""
        folder = root / "tests" / self.path.parent.relative_to(TESTS) / self.topic
        for case in self.cases:
            write(folder / f"{case.name}.rlet", case.script)
            if case.expected is not None:
                write(folder / f"{case.name}.err", case.expected)
            for path, data in case.files.items():
                write(folder / path, data)
        for path, data in self.shared.items():
            write(folder / path, data)
        return folder

    def rewrite(self, expected):
        """Puts what is in `expected`, by case name, in the place of what the file expects."""
        for case in reversed(self.cases):
            said = expected.get(case.name)
            if said is None or said == case.expected:
                continue
            if case.expected is None:
                end = self._end(case)
                self.lines[end:end] = [b"----\n", said]
            else:
                self.lines[case.first:case.last] = [said]
        self.path.write_bytes(b"".join(self.lines))

    def _end(self, case):
        """Behind the last line of a case that expects nothing yet."""
        behind = [other.line - 1 for other in self.cases if other.line > case.line]
        end = min(behind, default=len(self.lines))
        return end - 1 if self.lines[end - 1] == b"\n" else end


def write(path, data):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def case_files(*roots):
    for root in roots:
        for path in sorted(root.rglob("*.cases")):
            yield CaseFile(path)


def unpack_all(into, *roots):
    """Unpacks every case file below the roots, folders of tests/, each into a folder of `into` by itself."""
    for number, file in enumerate(case_files(*roots)):
        yield file.unpack(into / str(number))


def unpack_for_build(into, paths):
    """All into INTO/tests/KIND/TOPIC; cases that are gone go, and what lies outside the folders is left out."""
    # ninja makes the folder before; a failed unpacking leaves a part and no stamp
    if into.exists() and {path.name for path in into.iterdir()} - {"stamp", "tests"}:
        raise Malformed(f"{into}: not a folder of unpacked cases")
    shutil.rmtree(into, ignore_errors=True)
    into.mkdir(parents=True)
    for path in paths:
        with tempfile.TemporaryDirectory() as root:
            file = CaseFile(path)
            folder = file.unpack(pathlib.Path(root))
            shutil.copytree(folder, into / folder.relative_to(root))
    (into / "stamp").touch()


def check():
    """A script that no entry of CTest runs would only seem to be tested."""
    lost = [path for name in ONLY_CASES for path in sorted((TESTS / name).rglob("*"))
            if path.is_file() and path.suffix != ".cases"]
    for path in lost:
        print(f"{path.relative_to(TESTS)}: nobody runs this; write it as a case of a .cases file (see cases.py)")
    count = sum(len(file.cases) for file in case_files(TESTS))
    print(f"{count} cases, {len(lost)} files outside")
    return 1 if lost or count < 100 else 0


def main():
    try:
        if sys.argv[1:] == ["check"]:
            return check()
        if len(sys.argv) > 3 and sys.argv[1] == "unpack":
            unpack_for_build(pathlib.Path(sys.argv[2]).resolve(), sys.argv[3:])
            return 0
    except Malformed as fault:
        print(fault)
        return 1
    print(__doc__)
    return 2


if __name__ == "__main__":
    sys.exit(main())
