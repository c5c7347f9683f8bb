#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The working in each form of a report (docs/reference/program.md, "Reports"): test_forms.py PROGRAM"""

import json
import os
import pathlib
import subprocess
import sys
import tempfile
import xml.etree.ElementTree

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "reports"))
from scenes import check, foreign, play  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
EXAMPLES = pathlib.Path(__file__).resolve().parents[2] / "examples"
SECONDS = 60
KEYS = ["role", "name", "expression", "with_values", "value", "unit", "rounded", "formula", "about", "source", "assumptions",
        "table", "inside", "children"]


def run(form, script, *options, folder=EXAMPLES):
    done = subprocess.run([PROGRAM, *options, "--report", form, "--today", "2027-10-01", script], cwd=folder, timeout=SECONDS,
                          stdin=subprocess.DEVNULL, capture_output=True)
    return done.stdout.decode(), done.returncode


def report(form, script, *options):
    out, status = run(form, script, *options)
    check(status == 0, f"{script} as {form}: status {status}")
    return out


def report_of(form, text, *options, status=0):
    with tempfile.TemporaryDirectory() as folder:
        pathlib.Path(folder, "a.rlet").write_text(text, encoding="utf-8")
        out, got = run(form, "a.rlet", *options, folder=folder)
        check(got == status, f"status {got}: {out}")
        return out


def examples():
    return sorted(path.name for path in EXAMPLES.glob("*.rlet"))


def results(report, all_columns=False):
    """The shown values and the columns of a report as JSON: of a table or plot all but its first, that of the loop."""
    for item in report["items"]:
        if item["item"] == "show":
            yield item
        yield from item.get("columns", [])[not all_columns:]


def steps_of(steps):
    for step in steps:
        yield step
        yield from steps_of(step["children"])


# ---- JSON ----

def check_step(step, where):
    more = ["turn", "turns"] if step["role"] == "turn" else ["found_with"] if "found_with" in step else []
    check(sorted(step) == sorted(KEYS + more), f"{where}: {sorted(step)}")
    check(isinstance(step["rounded"], bool) and isinstance(step["inside"], bool), f"{where}: {step}")
    check(all(step[key] is None or isinstance(step[key], str) for key in KEYS[:6] + KEYS[7:10]), f"{where}: {step}")
    check(step["expression"] or step["role"] == "turn", f"{where}: a step without an expression: {step}")
    if step["table"] is not None:
        heads, *rows = step["table"]
        check(rows and all(len(row) == len(heads) for row in rows), f"{where}: {step['table']}")


def json_has_steps():
    """Each shown value and each column of each example has its steps, each step the documented keys."""
    for script in examples():
        for result in results(json.loads(report("json", script, "--working"))):
            where = f"{script}, {result['label']}"
            check("steps" in result, f"{where}: no steps")
            check(result["steps"] or result.get("earlier"), f"{where}: nothing to follow")
            for step in steps_of(result["steps"]):
                check_step(step, where)


def json_ends_with_the_value():
    """The last step of a shown value has the value that is shown."""
    for script in examples():
        for item in json.loads(report("json", script, "--working"))["items"]:
            if item["item"] != "show" or not item["steps"] or item["unit"] is None:
                continue
            last = item["steps"][-1]
            check(last["unit"] == item["unit"], f"{script}, {item['label']}: {last['unit']} for {item['unit']}")


def json_without():
    """Without --working a report as JSON has no key of the working, and is otherwise the same."""
    def bare(value):
        if isinstance(value, dict):
            return {key: bare(inner) for key, inner in value.items() if key not in ("steps", "earlier", "shares", "more_shares")}
        return [bare(inner) for inner in value] if isinstance(value, list) else value

    for script in examples():
        plain = json.loads(report("json", script))
        check(bare(plain) == plain, f"{script} has steps without being asked")
        check(bare(json.loads(report("json", script, "--working"))) == plain, f"{script} differs beside its steps")


def json_shares():
    """The sources of a ± come with their shares, the largest first: they sum to 100 % where there are no more than three."""
    script = "let a = 5 gal ± 0.15 gal\nlet b = 2 gal ± 0.08 gal\nshow \"c\": a * b / 1 gal\n"
    shares = json.loads(report_of("json", script, "--working"))["items"][0]["shares"]
    check([share["source"] for share in shares] == ["b", "a"], shares)
    # the variances of a product add as the squares of the relative ±: 16/25 and 9/25 (JCGM 100:2008, 5.1.6)
    check(all(abs(share["percent"] - wanted) < 0.1 for share, wanted in zip(shares, (64, 36))), shares)


# ---- text ----

def plain(text, *options):
    with tempfile.TemporaryDirectory() as folder:
        pathlib.Path(folder, "a.rlet").write_text(text, encoding="utf-8")
        done = subprocess.run([PROGRAM, "--working", *options, "a.rlet"], cwd=folder, timeout=SECONDS, stdin=subprocess.DEVNULL,
                              capture_output=True)
        return done.stdout.decode(), done.stderr.decode(), done.returncode


def text_as_the_run():
    """The report as text has the same working as the run without a form, between the results and the checks."""
    for script in examples():
        text = report("text", script, "--working")
        done = subprocess.run([PROGRAM, "--working", "--today", "2027-10-01", script], cwd=EXAMPLES, timeout=SECONDS,
                              stdin=subprocess.DEVNULL, capture_output=True)
        working = done.stdout.decode().partition("\nWorking\n")[2]
        check(working and working in text, f"{script}: {text}")
        check(text.endswith(working) or text.partition(working)[2].startswith("\nchecks "), f"{script}: {text}")


def text_within_the_limit():
    """The working counts as output: of one too large the first results come, and the run says so."""
    script = "let a = 2 L\nshow \"first\": a * 2\n" + "".join(f"show \"more {n}\": a * {n}\n" for n in range(3, 40))
    whole, _, status = plain(script)
    results = len(whole.partition("\nWorking\n")[0])
    check(status == 0 and len(whole) > results + 1000, whole)
    for room in (results, results + 1, results + 200, len(whole) - 1):
        out, error, status = plain(script, "--limit", f"output={room}B")
        check(status == 3 and "the results are larger than their limit" in error, f"{room}: {status} {error}")
        check(len(out) <= room and whole.startswith(out.rstrip("\n")), f"{room}: {out}")
    out, _, _ = plain(script, "--limit", f"output={results + 200}B")
    check("first:\n  a = 2 L\n  a * 2 = 2 L * 2 = 4 L\n" in out, out)
    check(plain(script, "--limit", f"output={len(whole)}B") == (whole, "", 0), "just enough room")


ODD = "let x = 3\nshow \"\x07| `` <b>\": \"a\\n\x1b[1m`|` <i>&{x}\"  # \x1b\nlet y = [\n  1 L,\n  2 L]\nshow \"y\": sum(y)\n"


def text_is_clean():
    """What a script has of controls and line ends reaches no terminal."""
    out, _, status = plain(ODD)
    check(status == 0 and all(char == "\n" or char.isprintable() for char in out), repr(out))
    check("a [1m" not in out.partition("\nWorking\n")[0] and "  \"a\\n [1m`|` <i>&{x}\"" in out, out)


BRANCHES = """\
let a = 5 L
let n = 1 L
while n < 40 L do
  n = n * 2
end
show "n": n
if a > 6 L then
  n = n - 1 L
else
  n = n + a
end
show "then": n
"""
LOOP_WORKED = """\
  turn 1 of 6, while n < 40 L:
    since n < 40 L, as 1 L < 40 L
    n = n * 2 = 1 L * 2 = 2 L
  turn 6 of 6, while n < 40 L:
    since n < 40 L, as 32 L < 40 L
    n = n * 2 = 32 L * 2 = 64 L
  after turn 6:
    since n < 40 L does not hold: 64 L < 40 L is false
"""
BRANCH_WORKED = """\
  since a > 6 L does not hold: 5 L > 6 L is false
  n = n + a = 64 L + 5 L = 69 L
"""


def text_of_branches():
    """A loop shows its first and its last turn and what it went on for, a branch why it was taken."""
    got = plain(BRANCHES)[0].partition("\nWorking\n-------\n")[2]
    check(LOOP_WORKED in got and BRANCH_WORKED in got, got)


def text_says_rounded():
    """A step whose printed numbers, of 15 digits at most, give another last digit than the printed value says so."""
    got = plain("let third = 1 L / 3\nshow \"rest\": third - 0.333 L to 14 digits\n")[0]
    # by hand: 0.333333333333333 - 0.333 = 0.000333333333333, and 1/3 - 0.333 as a double is 0.0003333333333332966
    check(got.endswith("= 0.333333333333333 L - 0.333 L = 0.00033333333333330 L (rounded)\n"), got)


# ---- Markdown ----

def one_line(text):
    return "".join(char if char.isprintable() else " " for char in text)


def tokens_of(markdown_it, text):
    for token in markdown_it.MarkdownIt("commonmark").enable("table").parse(text):
        yield token
        yield from token.children or []


def markdown_has_all():
    """As Markdown each expression of each example is a code span, each pour a table, and no text of a script is a mark."""
    markdown_it = foreign("markdown_it", "markdown-it")
    if not markdown_it:
        return
    for script in examples():
        got = json.loads(report("json", script, "--working"))
        steps = [step for result in results(got) for step in steps_of(result["steps"])]
        tokens = list(tokens_of(markdown_it, report("markdown", script, "--working")))
        code = [token.content for token in tokens if token.type == "code_inline"]
        values = [token.content for token in tokens if token.type == "text"]  # a name's own value is one, no expression
        for step in (step for step in steps if step["role"] in ("step", "side")):
            for text in filter(None, (step["name"], step["expression"], step["with_values"])):
                check(one_line(text) in code or f" = {text}" in values, f"{script}: {text} is no code span")
        tables = sum(item["item"] == "table" for item in got["items"])
        pours = sum(step["table"] is not None for step in steps)
        found = [token.type for token in tokens]
        check(found.count("table_open") - ("Calendar" in str(tokens)) >= tables + pours, f"{script}: {pours} pours")
        check("fence" not in found and "code_block" not in found and "em_open" not in found, f"{script}: {set(found)}")


def markdown_is_nested():
    """The steps are a list in the item of their result, those within a formula a list in the item of the call."""
    markdown_it = foreign("markdown_it", "markdown-it")
    if not markdown_it:
        return
    script = "formula twice(x)\n  let y = x * 2\n  give y\nend\nlet a = 3 L\nshow \"b\": twice(a)\n"
    depth, seen = 0, {}
    for token in tokens_of(markdown_it, report_of("markdown", script, "--working")):
        depth += (token.type == "bullet_list_open") - (token.type == "bullet_list_close")
        if token.type == "inline":
            seen[token.content.split(" ")[0]] = depth
    check(seen["b"] == 1 and seen["`twice(a)`"] == 2 and seen["`y`"] == 3, seen)


def markdown_of_odd_texts():
    """Backticks, bars, tags and controls of a script are read as they were written."""
    text = report_of("markdown", ODD, "--working")
    check(all(char == "\n" or char.isprintable() for char in text), repr(text))
    markdown_it = foreign("markdown_it", "markdown-it")
    if not markdown_it:
        return
    tokens = list(tokens_of(markdown_it, text))
    code = [token.content for token in tokens if token.type == "code_inline"]
    check("\"a\\n [1m`|` <i>&{x}\"" in code, code)
    check(not [token for token in tokens if token.type.startswith(("html", "table"))], tokens)


# ---- HTML ----

def pages():
    for script in examples():
        yield script, json.loads(report("json", script, "--working")), report("html", script, "--working")


def html_parses():
    """A page with the working is well-formed for an XML parser, and without an error for an HTML one."""
    html5lib = foreign("html5lib")
    for _, _, page in pages():
        xml.etree.ElementTree.fromstring(page.replace("://www.w3.org/2000/svg", ""))
        if html5lib:
            html5lib.HTMLParser(strict=True).parse(page)
    xml.etree.ElementTree.fromstring(report_of("html", ODD, "--working"))


def text_of(element):
    return "".join(element.itertext())


def html_folds():
    """Each result and each column has a closed fold-out that says whose working it is, and no script."""
    for script, got, page in pages():
        tree = xml.etree.ElementTree.fromstring(page.replace("://www.w3.org/2000/svg", ""))
        folds = tree.findall(".//details[@class='how']")
        labels = [one_line(result["label"]) for result in results(got, all_columns=True) if "steps" in result]
        check([text_of(fold.find("summary")) for fold in folds] == [f"working: {label}" for label in labels], script)
        check(not any("open" in fold.attrib for fold in folds) and tree.find(".//script") is None, script)
        plain = report("html", script)
        check("<details class=\"how\"" not in plain and "class=\"folds\"" not in plain, f"{script} has folds without being asked")


def html_has_all():
    """A page has each expression of each step as code, each = in a line of its own, and each pour as a table with headers."""
    for script, got, page in pages():
        tree = xml.etree.ElementTree.fromstring(page.replace("://www.w3.org/2000/svg", ""))
        code = {text_of(element) for element in tree.iter("code")}
        shown = {text_of(element) for part in tree.findall(".//span[@class='part']") for element in part}
        parts = [text_of(element) for element in tree.findall(".//span[@class='part']")]
        check(parts and all(part.startswith("= ") and part.count("\n") == 0 for part in parts), f"{script}: {parts}")
        steps = [step for result in results(got, all_columns=True) for step in steps_of(result.get("steps", []))]
        for step in (step for step in steps if step["role"] in ("step", "side")):
            for text in filter(None, (step["name"], step["expression"], step["with_values"])):
                check(one_line(text) in code | shown, f"{script}: {text} is no code")
        tables = tree.findall(".//table[@class='data pour']")
        pours = [step["table"] for step in steps if step["table"]]
        check([[[text_of(cell) for cell in row][1:] for row in table.iter("tr")] for table in tables] ==
              [[row[1:] for row in pour] for pour in pours], f"{script}: {pours}")
        for table in tables:
            heads = table.findall("thead/tr/th") + table.findall("tbody/tr/th")
            check(all("scope" in head.attrib and text_of(head) for head in heads), script)
            check(all(row[0].tag == "th" for row in table.iter("tr")), script)


# ---- all forms ----

def data_forms_without():
    """CSV and tables are the same with the working and without it: their lines are data."""
    for script in examples():
        for form in ("csv", "tables"):
            check(report(form, script, "--working") == report(form, script), f"{script} as {form}")


def calendar_describes():
    """A calendar has the working in its own description, with the rest of the text form, and not in its events."""
    plain, worked = (report("calendar", "house_recipe.rlet", *options).replace("\r\n ", "")
                     for options in ((), ("--working",)))
    differing = [(a, b) for a, b in zip(plain.splitlines(), worked.splitlines()) if a != b]
    check(len(plain.splitlines()) == len(worked.splitlines()) and len(differing) == 1, differing)
    before, after = differing[0]
    check(before.startswith("DESCRIPTION:program ") and "\\nWorking\\n-------\\n" in after, differing)


def forms_within_the_limit():
    """In each form the working counts as output: a report too large with it holds the first results and theirs, and says so."""
    script = "let a = 2 L\nshow \"first\": a * 2\n" + "".join(f"show \"more {n}\": a * {n}\n" for n in range(3, 40))
    for form in ("text", "json", "markdown", "html"):
        whole = report_of(form, script, "--working")
        room = len(report_of(form, script).encode()) + 500
        check(len(whole.encode()) > room + 500, f"{form}: {len(whole)}")
        cut = report_of(form, script, "--working", "--limit", f"output={room}B", status=3)
        check(len(cut.encode()) <= room and "a * 2" in cut, f"{form}: {cut}")
        check("more 39" not in cut and "larger than their limit" in cut, f"{form}: {cut}")


sys.exit(play([json_has_steps, json_ends_with_the_value, json_without, json_shares, text_as_the_run, text_within_the_limit,
               text_is_clean, text_of_branches, text_says_rounded, markdown_has_all, markdown_is_nested,
               markdown_of_odd_texts, html_parses, html_folds, html_has_all, data_forms_without, calendar_describes,
               forms_within_the_limit]))
