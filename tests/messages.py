#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is read as an error, hint, note or caution is a row of interp/base/messages.def, and each row has a golden test:
a case of tests/errors or tests/lang, or what tests/cli, tests/prompt, tests/stdlib, tests/examples, tests/reports and
tests/working expect. Below the renderers no C file words anything itself. Lists what fails, and exits 1. `--seen` lists where each row
was found."""

import pathlib
import re
import sys

from cases import case_files

# Rows that cannot be provoked from outside, each with its reason. Keep it short.
UNREACHABLE = {
    "MSG_LIQUID_NOT_CONVERGED": "the last word of a bracketed solve that has never failed",
}
FEWEST_BAD_SCRIPTS = 120
FOLDERS = ("cli", "prompt", "lang", "stdlib", "examples", "reports", "working")

# Tables and functions below the renderers that hold words of more than one piece, and why they are no messages.
WORDS_IN_C = {
    "quantities/unit.c": ({"kinds", "groups"}, "the names of kinds"),
    "front/parse_statement.c": ({"foreign_words"}, "what people type, and the words to write instead"),
    "front/parse_unit.c": ({"sign_words"}, "what people type, and the signs to write instead"),
    "facade/session_script.c": ({"add_statements"}, "a line of script"),
}
# Elsewhere a help text or a page may be worded in C, but nothing that is handed over as a message.
TAKES_MESSAGES = re.compile(
    r"\b(?:ARGS|arg_\w+|args_\w+|fault_\w+|kind_fault\w*|diag_\w+|native_(?:fail|wants|note|caution|assume)|vm_note|"
    r"finder_fail\w*|compiler_error|parser_report\w*|lex_report|report_(?:text|say_once|caution_topic|assume)|"
    r"message_take|console_complain|complain|fail\w*)\(")
WORDED_LAYERS = {"output", "programs"}

TESTS = pathlib.Path(__file__).resolve().parent
INTERP = TESTS.parent / "interp"
TABLE = INTERP / "base/messages.def"
TOKEN = re.compile(r'/\*.*?\*/|//[^\n]*|#[^\n]*|"(?:\\.|[^"\\])*"|\w+|[(),]|\s+|.', re.S)
C_TOKEN = re.compile(r'/\*.*?\*/|//[^\n]*|#include[^\n]*|\'(?:\\.|[^\'\\])*\'|"(?:\\.|[^"\\])*"', re.S)
BROKEN = re.compile(r"\s*\n\s*(?:#[=!]\s*)?|\\n\s+")  # a line end within what is expected
SEVERAL_WORDS = re.compile(r"[^\W\d_]{2,}[ ,:;]+[^\W\d_]+")
ESCAPES = {"n": "\n", "t": "\t"}
# By macro: the prefix of its ids, how many parts it has, and which of them a person reads: (part, before it).
ROWS = {
    "MESSAGE": ("MSG_", 4, [(2, "message")]),
    "LITERAL": ("MSG_", 5, [(2, "message"), (4, "reason")]),
    "HINT": ("HINT_", 2, [(1, "hint")]),
    "NOTE": ("NOTE_", 2, [(1, "anywhere")]),
    "CAUTION": ("CAUTION_", 2, [(1, "anywhere")]),
    "PHRASE": ("PHRASE_", 2, [(1, "anywhere")]),
}


def unquote(literal):
    return re.sub(r"\\(.)", lambda match: ESCAPES.get(match.group(1), match.group(1)), literal[1:-1])


def rows():
    """(macro, [id, …]) of each row of the table; adjacent strings are joined."""
    current, found = None, []
    for token in TOKEN.findall(TABLE.read_text(encoding="utf-8")):
        if token.isspace() or token.startswith(("/*", "//", "#")):
            continue
        if token in ROWS:
            current = (token, [""])
        elif current is None or token == "(":
            continue
        elif token == ",":
            current[1].append("")
        elif token == ")":
            found.append(current)
            current = None
        else:
            current[1][-1] += unquote(token) if token.startswith('"') else token
    return found


def pattern_of(text):
    """A pattern for what the row prints: its fixed words, with anything on the line where %1 … %6 stand."""
    return ".{0,160}?".join(re.escape(piece) for piece in re.split(r"%[1-6]", text))


def has_words(text):
    return re.search(r"[^\W\d_]", re.sub(r"%[1-6]", "", text)) is not None


class Corpus:
    """What the golden tests expect: the diagnostics of tests/errors by line, and everything as text whose lines are
    not broken."""

    def __init__(self):
        self.golden, self.others = [], []
        for file in case_files(TESTS / "errors"):
            for case in file.cases:
                lines = case.expected.decode("utf-8").splitlines()
                self.golden.append((f"errors/{file.topic}/{case.name}",
                                    [re.sub(r"^(?:\S+?:\d+:\d+|rundlet): (?:note: )?", "", line) for line in lines]))
        for folder in FOLDERS:
            for path in sorted((TESTS / folder).rglob("*")):
                if path.is_file() and path.suffix != ".pyc":
                    text = path.read_text(encoding="utf-8", errors="replace")
                    self.others.append((path.relative_to(TESTS), BROKEN.sub(" ", text)))

    def find(self, text, where):
        pattern = pattern_of(text)
        line = re.compile({"message": pattern, "hint": r"\s*hint: " + pattern,
                           "reason": r"\s*hint: (?:.*: )?" + pattern + r"(?:[:;].*)?", "anywhere": ".*" + pattern + ".*"}[where])
        for name, lines in self.golden:
            if any(line.fullmatch(each) for each in lines):
                return name
        if where == "reason":
            return None
        anywhere = re.compile(pattern)
        folders = ("cli", "prompt") if where == "message" else FOLDERS
        return next((str(path) for path, content in self.others
                     if path.parts[0] in folders and anywhere.search(content)), None)


def words_in_c():
    """Each text of several words that a C file has where a row should be, and each exemption that nothing needs."""
    for path in sorted(INTERP.rglob("*.[ch]")):
        name, source = path.relative_to(INTERP), path.read_text(encoding="utf-8")
        calls = spans_of_calls(source) if name.parts[0] in WORDED_LAYERS else None
        unused = set(WORDS_IN_C.get(str(name), (set(),))[0])
        for match in C_TOKEN.finditer(source):
            text = match.group(0)
            if not text.startswith('"') or not SEVERAL_WORDS.search(unquote(text)):
                continue
            told = calls is None or any(start < match.start() < end for start, end in calls)
            exempt = definition_at(source, match.start(), WORDS_IN_C.get(str(name), (set(),))[0])
            unused.discard(exempt)
            if told and not exempt:
                yield f"interp/{name}:{source.count(chr(10), 0, match.start()) + 1}: {text} belongs into messages.def"
        for stale in sorted(unused):
            yield f"WORDS_IN_C: {stale} in {name} holds no words"


def definition_at(source, at, names):
    """Which of these tables and functions a place of a C file lies in; None for none. They end with a brace in the
    first column."""
    for name in names:
        for match in re.finditer(rf"^\S[^;\n]*\b{name}(?:(?:\[[^]]*\])+ = |\([^;{{]*\) )\{{", source, re.M):
            if match.end() <= at < source.index("\n}", match.end()):
                return name
    return None


def spans_of_calls(source):
    """Where the arguments of functions that take messages begin and end."""
    blank = C_TOKEN.sub(lambda match: " " * len(match.group(0)), source)
    spans = []
    for call in TAKES_MESSAGES.finditer(blank):
        depth, at = 1, call.end()
        while depth and at < len(blank):
            depth += {"(": 1, ")": -1}.get(blank[at], 0)
            at += 1
        spans.append((call.end(), at))
    return spans


def check_row(macro, row, corpus, code):
    """What is wrong with a row, in words."""
    prefix, parts, read = ROWS[macro]
    name = prefix + row[0]
    if len(row) != parts:
        return [f"messages.def: {name}: a {macro} has {parts} parts"]
    if name not in code:
        return [f"no C file names {name}"]
    faults = []
    for part, where in read:
        found = None
        if has_words(row[part]):
            found = corpus.find(row[part], where)
            if not found and macro == "LITERAL" and part == 2:  # told only in the hint that its text is refused with
                found = corpus.find(row[part], "reason")
        elif macro != "MESSAGE" or name not in UNREACHABLE:
            continue  # arguments alone: nothing to read that another row has not
        if "--seen" in sys.argv:
            print(f"{name}: {found or '-'}")
        if found and name in UNREACHABLE:
            faults.append(f"{name} is listed as unreachable, but {found} reaches it")
        elif not found and name not in UNREACHABLE:
            faults.append(f"no golden test: {name}: {row[part]}")
    return faults


def main():
    corpus, table = Corpus(), rows()
    code = set()
    for path in INTERP.rglob("*.[ch]"):
        code.update(re.findall(r"\b(?:MSG|HINT|NOTE|CAUTION|PHRASE)_\w+", path.read_text(encoding="utf-8")))
    faults = [fault for macro, row in table for fault in check_row(macro, row, corpus, code)]
    ids = {ROWS[macro][0] + row[0] for macro, row in table}
    faults += [f"{name} is listed as unreachable, but is no row" for name in sorted(set(UNREACHABLE) - ids)]
    faults += list(words_in_c())
    for fault in faults:
        print(fault)
    print(f"{len(table)} rows, {len(corpus.golden)} bad scripts, {len(faults)} faults")
    if len(corpus.golden) < FEWEST_BAD_SCRIPTS:
        print(f"fewer than {FEWEST_BAD_SCRIPTS} bad scripts in tests/errors")
        return 1
    return 1 if faults or not table else 0


if __name__ == "__main__":
    sys.exit(main())
