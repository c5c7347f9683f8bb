#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The program from outside: options, streams, exit statuses, limits (docs/reference/program.md). test_cli.py PROGRAM [WORD]

Each case is a row: a name, the arguments, and what is expected. Keys: files (name: text, in a folder made for the case),
input (of standard input), status, out and err (the whole stream; a list: parts that must stand in it, in order; None: not
looked at), count (how often parts stand in the output). What is not given: no files, empty input, status 0, nothing on
either stream. WORD runs the cases named so."""

import csv
import hashlib
import io
import json
import os
import pathlib
import re
import resource
import signal
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(sys.argv[1])
SECONDS = 30
TOP = pathlib.Path(__file__).resolve().parent.parent.parent
KEYWORDS = re.findall(r'^(?:KEYWORD|CONTEXT)\(\w+, "(\w+)"', (TOP / "interp/front/language.def").read_text(encoding="utf-8"), re.M)
assert len(KEYWORDS) > 40, KEYWORDS
CAUTIOUS = "priming_dose(5 gal, 2.5 vols, 68 °F)\n"
FORMS = "text, markdown, html, json, csv, tables, calendar"

BATCH = """input batch = 1 gal          ## volume in the fermenter
input name = "late"
input dose from 0 g to 9 g = 4 g  ## sugar,
show "Twice": batch * 2
show name, dose
"""
BATCH_OUT = "Twice = 2 gal\nname = late\ndose = 4 g\n"
# One draw in six is refused by the first value; the second has nothing to do with it.
REFUSED = """formula limited(a) = if a > 6 then refuse("too much", "take less") else a
let x = 5 ± 1
show limited(x)
show x
"""
# The second turn is shown only where x is above 4, as five of six draws are; y is drawn whole.
BRANCHED = """let x = 5 ± 1
let y = 3 ± 0.1
for i from 1 to 2 do
  if i < 2 or x > 4 then show y * i end
end
show y
"""
# A failing text or cell costs what comes after it nothing; texts and tables tell in notes what some draws lack.
GAPS = """formula limited(a) = if a > 6 then refuse("too much", "take less") else a
let x = 5 ± 1
table i from 1 to 2
  column "half" = limited(x) * i / 2
end
print "at {limited(x)}, in all {x}"
table k from 3 to 4
  column "v" = if x > k then x * k else none
end
if x > 4 then print "a lot: {x * 2}" end
show "sum {limited(x)}": x
show x
"""
GAPS_OUT = """i  half
-  ----
1   2.5
2   5

note: the column half: if no ± is shown, up to 14 % of the draws (144 of 1000)
      have no such value: too much
note: 5 inside a text: 14 % of the draws (144 of 1000) have no such value: too
      much
note: 5 inside a text: 14 % of the draws (144 of 1000) have no such value: too
      much
at 5, in all 5

k           v
-  ----------
3  15.1 ± 2.8
4  20.9 ± 3.1

note: the column v: the ± of one cell comes from only 848 of 1000 draws; the
      others took another path through the script
note: 10 inside a text: the ± comes from 848 of 1000 draws; the others took
      another path through the script
a lot: 10.0 ± 1.6
note: 5 inside a text: 14 % of the draws (144 of 1000) have no such value: too
      much
sum 5 = 5; 14 % of the draws (144 of 1000) have no such value: too much
x = 4.97 ± 0.98, 95 % from 3.01 to 6.87
drawn 1000 times; --seed 2 repeats it
"""
# Only draws come to the second ±, and it is drawn too: without it none would pass 100.
LATE = """let x = 5 ± 1
let extra = 0
if x > 6 then extra = 100 ± 10 end
show extra
show x
"""
SPREAD = """let vol = 5 ± 0.1 L
let added = 2 ± 0.05 L * 1
show "twice": vol * 2, "sum": vol + added, "plain": 3
"""
# What each ± is called by the budget: the script, and the names in the order of their lines.
SOURCE_NAMES = [
    ("input x = 5 ± 0.1 L\nshow x\n", ["x"]),
    ("let log = [{when: d day, gravity: 1.050 SG - d * d * 1 pts} for d in range(0, 5)]\nshow log_slope(log)\n",
     ["± in log_slope"]),
    ("let x = tolerance(5 L, 0.1 L)\nshow x\n", ["x"]),
    ("let cider = juice(gravity: 1.048 ± 0.002 SG, volume: 20 L)\nshow cider.gravity\n", ["gravity of cider, line 1"]),
    ("let s = abv(1.050 ± 0.002 SG, 1.000 SG)\nshow s\n", ["original of s, line 1"]),
    ("show abv(1.050 ± 0.002 SG, final: 1.000 SG + (0 ± 1 pts))\n", ["final of abv, line 1", "original of abv, line 1"]),
    ('show "Strength": abv(1.050 ± 0.002 SG, 1.000 SG)\n', ["original of Strength, line 1"]),
    ('let n = 2\nshow "Batch {n}": abv(1.050 ± 0.002 SG, 1.000 SG)\n', ["original of abv, line 2"]),
    ("show sqrt(max(3 ± 0.2, 1))\n", ["x of sqrt, line 1"]),
    ("show max(3 ± 0.2, 1)\n", ["± in max, line 1"]),
    ("formula twice(x) = 2 * x\nformula of_three(f) = f(3 ± 0.2)\nshow of_three(twice)\n", ["± in f in of_three, line 2"]),
    ("let r = {acid: 5 ± 0.3 g/L}\nshow r.acid\n", ["acid of r, line 1"]),
    ("show {acid: 5 ± 0.3 g/L}.acid\n", ["acid, line 1"]),
    ("let r = {acid: 5 g/L} with {acid: 5 ± 0.3 g/L}\nshow r.acid\n", ["acid of r, line 1"]),
    ('let name = "acid"\nlet r = {"{name}": 5 ± 0.3 g/L}\nshow r.acid\n', ["± in r, line 2"]),
    ("let x = 1 + (2 ± 0.1)\nshow x\n", ["± in x, line 1"]),
    ("let x = 1\nx = 2 ± 0.1\nshow x\n", ["± in x, line 2"]),
    ("show 1 + (2 ± 0.1)\n", ["line 1"]),
    ("show (1 ± 0.1) + (2 ± 0.1)\n", ["line 1, column 7", "line 1, column 19"]),
    ("let x = (1 ± 0.1) + (2 ± 0.1)\nshow x\n", ["± in x, line 1, column 10", "± in x, line 1, column 22"]),
    ("formula f(a)\n  let g = 2 ± 0.1\n  give a * g\nend\nlet g = 1 ± 0.1\nshow f(g)\n", ["g", "g in f"]),
    ("formula f(a) = a + (1 ± 0.1)\nshow f(2)\n", ["± in f, line 1"]),
    ("formula f(a, b: 1 ± 0.1) = a + b\nshow f(2)\n", ["b of f, line 1"]),
    ("formula f(a)\n  let s = abv(a, 1.000 ± 0.002 SG)\n  give s\nend\nshow f(1.05 SG)\n", ["final of s in f, line 2"]),
    ("let sum = 0\nfor i from 1 to 2 do\n  let x = 1 ± 0.1\n  sum = sum + x\nend\nshow sum\n", ["x (1 of 2)", "x (2 of 2)"]),
    ('use "parts/a.rlet"\nlet x = 1 ± 0.1\nshow x + at_home(1)\n', ["x", "x in at_home"]),
    ('use "parts/a.rlet"\nlet z = 1 ± 0.1\nshow z + with_z(1)\n', ["z, line 2, column 9", "z, parts/a.rlet:6:9"]),
    ('use "parts/a.rlet"\nlet x = 1 ± 0.1\nshow x + far_off(1)\n', ["x", "± in far_off, parts/a.rlet:5"]),
]
SOURCES_ASIDE = """formula at_home(y)
  let x = 1 ± 0.1
  give x * y
end
formula far_off(y) = y + (1 ± 0.1)
let z = 1 ± 0.1
formula with_z(y) = y * z
"""
KINDS = """heading "Quince Lane"
show 5 gal as L
note "taste it first"
caution "leave room for the foam"
event 2027-02-14, "rack"
print "done"
event 2027-02-10, "pitch"
table d from 0 mL to 10 mL by 5 mL
  column "inverse" = 1 mL^2 / d
end
expect 1 == 1
"""
KINDS_OUT = """Quince Lane
-----------
5 gal as L = 18.93 L
note: taste it first
caution: leave room for the foam
done

d [mL]  inverse [mL]
------  ------------
     0             —
     5           0.2
    10           0.1
— division by zero

Calendar
--------
2027-02-10  Wednesday  pitch
2027-02-14  Sunday     rack
"""
ENDLESS = "let n = 0\nwhile true do n = n + 1 end\n"
TALKER = 'while true do print "round and round" end\n'
MANY = {"one.rlet": "expect 1 == 1\nexpect 2 > 1\n", "two.rlet": "expect 1 == 2\nexpect 1 == 1\n",
        "bad.rlet": "show 1 gal + 1 g\n", "none.rlet": "show 1\n"}


def usage(message, hint):
    return {"status": 2, "err": f"rundlet: {message}\n   hint: {hint}\n"}


TRY = "try rundlet --help"

WHY_ABV = """      abv: Strength from the gravities before and after fermentation, by the mass balance. Source:
           Balling 1865; OIV-MA-AS2-03B for the density of the finished liquid
"""
WHY_ABV_IT = WHY_ABV.replace("      abv", "       abv").replace("           Ball", "            Ball")

CASES = [
    # ---- running ----
    ("a script", ["a.rlet"], {"files": {"a.rlet": BATCH}, "out": BATCH_OUT}),
    ("every kind of item", ["a.rlet"], {"files": {"a.rlet": KINDS}, "out": KINDS_OUT}),
    ("standard input by its name", ["-"], {"input": "show 1 + 1\n", "out": "1 + 1 = 2\n"}),
    ("standard input without being asked", [], {"input": "show 1 + 1\n", "out": "1 + 1 = 2\n"}),
    ("an empty script", ["a.rlet"], {"files": {"a.rlet": ""}}),
    ("errors of standard input are those of -", ["-"],
     {"input": "show 1 gal + 1 g\n", "status": 1, "err": ["-:1:12: a volume and a mass cannot be added\n"]}),
    ("results before an error stay", ["a.rlet"],
     {"files": {"a.rlet": "show 1\nshow 1 gal + 1 g\nshow 2\n"}, "status": 1, "out": "1\n",
      "err": ["a.rlet:2:12: ", "    2 | show 1 gal + 1 g\n"]}),
    ("a run goes on after a failed check", ["a.rlet"],
     {"files": {"a.rlet": "expect 1 == 2\nshow 2\n"}, "status": 1, "out": "2\n", "err": ["a.rlet:1:"]}),
    ("after --, a word is a file", ["--", "-e"], {"files": {"-e": "show 1\n"}, "out": "1\n"}),
    ("a name with = is a file by its path", ["./a=b"], {"files": {"a=b": "show 1\n"}, "out": "1\n"}),
    ("options after the file", ["a.rlet", "--today", "2027-02-14"],
     {"files": {"a.rlet": "show today()\n"}, "out": "today() = 2027-02-14\n"}),
    ("a value of its option after =", ["--today=2027-02-14", "a.rlet"],
     {"files": {"a.rlet": "show today()\n"}, "out": "today() = 2027-02-14\n"}),
    # ---- inputs ----
    ("an input set", ["a.rlet", "batch=5 gal"],
     {"files": {"a.rlet": BATCH}, "out": "Twice = 10 gal\nname = late\ndose = 4 g\n"}),
    ("a text is the rest as it stands", ["a.rlet", 'name=a=b "c"'],
     {"files": {"a.rlet": BATCH}, "out": 'Twice = 2 gal\nname = a=b "c"\ndose = 4 g\n'}),
    ("an unknown input like none there is", ["a.rlet", "zzz=1 gal"],
     {"files": {"a.rlet": BATCH}, "status": 2,
      "err": "rundlet: this script has no input called zzz\n   hint: its inputs are batch, name, dose\n"}),
    ("an unknown input", ["a.rlet", "bach=1 gal"],
     {"files": {"a.rlet": BATCH}, "status": 2, "err": ["rundlet: ", "bach", "batch"]}),
    ("a value of another kind", ["a.rlet", "batch=5 g"],
     {"files": {"a.rlet": BATCH}, "status": 2, "err": ["batch must be a volume, not a mass", 'batch="1 gal"'], "out": None}),
    ("a value that is none", ["a.rlet", "batch=five"],
     {"files": {"a.rlet": BATCH}, "status": 2, "err": ["five", "1 gal"], "out": None}),
    ("a value out of range", ["a.rlet", "dose=10 g"],
     {"files": {"a.rlet": BATCH}, "status": 2, "err": ["dose", "9 g"], "out": None}),
    ("inputs listed", ["--inputs", "a.rlet"],
     {"files": {"a.rlet": BATCH},
      "out": 'batch = 1 gal                   volume in the fermenter\n'
             'name = "late"\n'
             'dose = 4 g     from 0 g to 9 g  sugar,\n'}),
    # ---- expressions ----
    ("one expression", ["-e", "5 gal as L"], {"out": "18.93 L\n"}),
    ("several expressions", ["-e", "1 + 1", "-e", '"a" == "a"'], {"out": "2\ntrue\n"}),
    ("cautions are told aside, so that what is piped on is the number", ["-e", CAUTIOUS[:-1]],
     {"out": "123.3 g\n", "err": ["caution: bottles: first make sure that the gravity stays the same"]}),
    ("one of several fails", ["-e", "1 gal + 1 g", "-e", "2"],
     {"status": 1, "out": "2\n", "err": ["prompt:1:7: a volume and a mass cannot be added\n"]}),
    ("a slip with one meaning", ["-e", "abv 1.055 1.002"],
     {"out": "7.0 %ABV\n", "err": "    read as: abv(1.055 SG, 1.002 SG)\n"}),
    ("what must be a value is not read as a statement", ["-e", "n = 5"],
     {"status": 1, "err": ["a single expression is needed here", "hint: for example: rundlet -e '5 gal as L'\n"]}),
    ("a line in everyday words", ["-e", "how many cups are in 2 gallons?"],
     {"out": "32 cup\n", "err": "    read as: 2 gallons as cups\n"}),
    ("the line that would work", ["-e", "12 psi at 40F"],
     {"status": 1, "err": ["unknown unit at", "\n    try: carbonation(12 psi, 40F)\n"]}),
    ("a hint that has shown the line", ["-e", "8 oz as mL"],
     {"status": 1, "err": "prompt:1:1: a mass cannot be converted to a volume\n    1 | 8 oz as mL\n      | ----------\n      | mass    volume\n   hint: oz is a weight; for fluid ounces write 8 floz as mL\n"}),
    ("an example of what the words ask for", ["-e", "hydrometer warm 75F"],
     {"status": 1, "err": ["\n    for example: hydrometer(1.046 SG, at: 80 °F, calibrated: 60 °F)\n"]}),
    ("a statement is no expression", ["-e", "let x = 1"],
     {"status": 1, "err": ["prompt:1:1: a single expression is needed here, and nothing else\n", "hint: for example: rundlet -e"]}),
    ("an unfinished expression", ["-e", "1 +"], {"status": 1, "err": ["prompt:1:"]}),
    # ---- checking ----
    ("nothing to say", ["--check", "a.rlet"], {"files": {"a.rlet": BATCH}}),
    ("all errors of all files", ["--check", "a.rlet", "b.rlet"],
     {"files": {"a.rlet": "show 2 )\nshow 1\nlet = 3\n", "b.rlet": "show nowhere2\n"}, "status": 1,
      "err": ["a.rlet:1:8: ", "a.rlet:3:", "b.rlet:1:6: "]}),
    ("checking does not run", ["--check", "a.rlet"], {"files": {"a.rlet": 'print "x"\nexpect 1 == 2\n'}}),
    ("an unreadable file does not keep others from being checked", ["--check", "no.rlet", "b.rlet"],
     {"files": {"b.rlet": "show nowhere2\n"}, "status": 4, "err": ["rundlet: there is no file no.rlet\n", "b.rlet:1:6: "]}),
    # ---- help ----
    ("help", ["--help"],
     {"out": ["rundlet FILE [NAME=VALUE", "-e EXPR", "--check FILE", "--expect FILE", "--inputs FILE", f"FORM: {FORMS}\n",
              "--limit", "--today", "--help", "--version", "exit status"]}),
    ("help above all else", ["--check", "--help", "--nonsense"], {"out": None}),
    ("version", ["--version"],
     {"out": "rundlet 0.1.0\nCopyright: the Rundlet developers\nLicence: GPL-3.0-or-later, without any warranty\n"}),
    # ---- a wrong command line ----
    ("unknown option, a near one", ["--reprot", "json", "a.rlet"], usage("there is no option --reprot", "did you mean --report")),
    ("unknown option, the start of one", ["--ver"], usage("there is no option --ver", "did you mean --version")),
    ("unknown option, none near", ["--zzz"], usage("there is no option --zzz", TRY)),
    ("unknown short option", ["-x"], usage("there is no option -x", TRY)),
    ("an option without its value", ["--report"], usage("--report needs FORM after it", TRY)),
    ("an empty value", ["--today="], usage("--today needs DATE after it", TRY)),
    ("-e without its expression", ["-e"], usage("-e needs EXPR after it", TRY)),
    ("a value for an option that takes none", ["--help=1"], usage("--help does not take a value", "write just --help")),
    ("no file", ["--check"], usage("--check needs a file", "write rundlet --check FILE; - is standard input")),
    ("no file for a report", ["--report", "json"],
     usage("--report json needs a file", "write rundlet --report json FILE; - is standard input")),
    ("two files", ["a.rlet", "b.rlet"],
     usage("only one file can be run at a time, and b.rlet is a second one",
           "to set an input, write NAME=VALUE; only --check and --expect take several files")),
    ("an input before the file", ["batch=5 gal", "a.rlet"],
     usage("batch=5 gal is where the file should be", "write the file first: rundlet FILE batch=5 gal")),
    ("an input without a name", ["a.rlet", "=5"], usage("=5 does not name an input", "write NAME=VALUE")),
    ("blanks around =", ["a.rlet", "batch", "=", "5 gal"],
     usage("there must be no spaces around = when setting batch", 'write batch="5 gal"')),
    ("blanks and no quotes", ["a.rlet", "batch", "=", "5", "gal", "x=1"],
     usage("there must be no spaces around = when setting batch", 'write batch="5 gal"')),
    ("a blank before =", ["a.rlet", "x=1", "batch", "=5 gal"],
     usage("there must be no spaces around = when setting batch", 'write batch="5 gal"')),
    ("a blank after =", ["a.rlet", "batch=", "5 gal"],
     usage("there must be no spaces around = when setting batch", 'write batch="5 gal"')),
    ("a blank and no value", ["a.rlet", "batch", "="],
     usage("there must be no spaces around = when setting batch", 'write batch="VALUE"')),
    ("an input for --check", ["--check", "a.rlet", "x=1"],
     usage("--check takes only files, but x=1 sets an input", "set inputs when you run a script: rundlet FILE x=1")),
    ("a file beside -e", ["-e", "1", "a.rlet"], usage("-e does not take a file such as a.rlet", TRY)),
    ("two forms of a report", ["--report", "json", "--report", "csv", "a.rlet"],
     usage("--report json and --report csv cannot be combined", "run the script once for each form")),
    ("two modes", ["--check", "--expect", "a.rlet"], usage("--check and --expect cannot be combined", TRY)),
    ("a report of an expression", ["--report", "json", "-e", "1"], usage("--report and -e cannot be combined", TRY)),
    ("no such form", ["--report", "xml", "a.rlet"], usage("there is no report form xml", f"the forms are {FORMS}")),
    ("a budget of uncertainty", ["--budget", "a.rlet"],
     {"files": {"a.rlet": SPREAD},
      "out": "twice = 10.00 ± 0.20 L\n     100 %  vol = 5.00 ± 0.10 L\nsum = 7.00 ± 0.11 L\n"
             "      80 %  vol = 5.00 ± 0.10 L\n      20 %  ± in added, line 2 = 2.000 ± 0.050 L\nplain = 3\n"}),
    ("a budget for an input set with its ±", ["--budget", "a.rlet", "x=5 ± 0.1 L"],
     {"files": {"a.rlet": "input x = 1 L\nshow x\n"}, "out": "x = 5.00 ± 0.10 L\n     100 %  x = 5.00 ± 0.10 L\n"}),
    ("random draws", ["--trials", "20000", "--seed", "3", "a.rlet"],
     {"files": {"a.rlet": SPREAD}, "out": ["twice = 10.00 ± 0.20 L, 95 % from 9.6", " to 10.39 L\n", "plain = 3\n",
                                           "drawn 20000 times; --seed 3 repeats it\n"]}),
    ("draws whose squares are no numbers", ["--trials", "20", "--seed", "1", "a.rlet"],
     {"files": {"a.rlet": "show 1e160 ± 1e160\n"},
      "out": ["1e160 ± 1e160 = 0.9e160 ± 1.3e160, 95 % from -1.784e160 to 2.672e160\n"]}),
    ("draws of nothing", ["--trials", "9", "a.rlet"],
     {"files": {"a.rlet": "show 3\n"}, "out": "3\nnothing was drawn: the script has no ±\n"}),
    ("a budget of nothing", ["--budget", "a.rlet"],
     {"files": {"a.rlet": "show 3\n"}, "out": "3\nthere is no budget: the script has no ±\n"}),
    ("draws of a script that does not compile", ["--trials", "9", "a.rlet"],
     {"files": {"a.rlet": "show 1 +\n"}, "status": 1, "out": "", "err": ["a.rlet:1:9: a value is missing after +\n"]}),
    ("draws of names that are none", ["--trials", "9", "a.rlet"],
     {"files": {"a.rlet": "let x = 1 ± 0.1\nshow nix\n"}, "status": 1, "out": "", "err": ["a.rlet:2:6: "]}),
    ("draws of a script that a script uses", ["--trials", "9", "a.rlet"],
     {"files": {"a.rlet": 'use "b.rlet"\n', "b.rlet": "show 1 +\n"}, "status": 1, "out": "", "err": ["b.rlet:1:9: "]}),
    ("a budget of a script that does not compile", ["--budget", "a.rlet"],
     {"files": {"a.rlet": "show nix\n"}, "status": 1, "out": "", "err": ["a.rlet:1:6: "]}),
    ("draws of a script that stops before its first ±", ["--trials", "9", "a.rlet"],
     {"files": {"a.rlet": "let x = 3.4 pH\nshow x ± 0.05 pH\n"}, "status": 1, "out": "", "err": ["a.rlet:2:8: "]}),
    ("an input with its unit on both sides of ±", ["a.rlet", "p=3.4 pH ± 0.05 pH"],
     {"files": {"a.rlet": "input p = 3.6 pH\nshow p\n"}, "status": 2,
      "err": ["   hint: the ± of an acidity must be a difference, not an acidity: write the unit once: 3.4 ± 0.05 pH; "
              "or the difference: 3.4 pH ± 0.05; for example p="]}),
    ("no number of draws", ["--trials", "many", "a.rlet"],
     usage("--trials needs a whole number from 2 to 100000000, not many", "for example --trials 100000")),
    ("one draw", ["--trials", "1", "a.rlet"],
     usage("--trials needs a whole number from 2 to 100000000, not 1", "for example --trials 100000")),
    ("no seed", ["--trials", "9", "--seed", "-1", "a.rlet"],
     usage("--seed needs a whole number, not -1", "for example --seed 7")),
    ("a seed alone", ["--seed", "4", "a.rlet"],
     usage("--seed works only with --trials", "write rundlet --trials 100000 --seed 7 FILE")),
    ("a budget of draws", ["--budget", "--trials", "9", "a.rlet"],
     usage("--budget and --trials cannot be combined", "try rundlet --help")),
    ("a budget as JSON", ["--budget", "--report", "json", "a.rlet"],
     usage("--budget and --report cannot be combined",
           "leave out --report: --budget prints its results as text; a report shows each ± anyway")),
    ("a refused draw is told, and costs no other value a draw", ["--trials", "1000", "--seed", "2", "a.rlet"],
     {"files": {"a.rlet": REFUSED},
      "out": ["limited(x) = 5; ", " % of the draws (", " of 1000) have no such value: too much\nx = ", ", 95 % from ",
              "drawn 1000 times; --seed 2 repeats it\n"], "count": {"have no such value": 1, "in ": 0}}),
    ("texts and cells that draws lack", ["--trials", "1000", "--seed", "2", "a.rlet"], {"files": {"a.rlet": GAPS}, "out": GAPS_OUT}),
    ("a reading that only draws come to is drawn too", ["--trials", "1000", "--seed", "2", "a.rlet"],
     {"files": {"a.rlet": LATE}, "out": "extra = 14 ± 35, 95 % from 0 to 107\nx = 4.96 ± 0.99, 95 % from 2.93 to 6.83\n"
                                        "drawn 1000 times; --seed 2 repeats it\n"}),
    ("a branch that some draws take counts the draws", ["--trials", "1000", "--seed", "2", "a.rlet"],
     {"files": {"a.rlet": BRANCHED}, "out": ["y * i = 3.0", "y * i = 6.0", " of 1000 draws\ny = 3.0", "drawn 1000 times"],
      "count": {" of 1000 draws": 1}}),
    ("a budget of no file", ["--budget"], usage("--budget needs a file", "write rundlet --budget FILE; - is standard input")),
    ("an impossible date", ["--today", "2027-02-29", "a.rlet"],
     usage("--today needs a date, not 2027-02-29", "there is no day 2027-02-29; for example --today 2027-02-14")),
    ("no date at all", ["--today", "soon", "a.rlet"],
     usage("--today needs a date, not soon", "write year-month-day: --today 2027-02-14")),
    ("no such limit", ["--limit", "tme=5s", "a.rlet"],
     usage("there is no limit tme", "use any of --limit time=10s,memory=256MB,depth=1000,output=10MB")),
    ("a limit without a value", ["--limit", "time", "a.rlet"],
     usage("the limit time needs a value", "for example --limit time=10s")),
    ("a limit without its unit", ["--limit", "time=5", "a.rlet"],
     usage("5 is not a value for the limit time", "for example --limit time=10s")),
    ("the second limit is wrong", ["--limit", "depth=10,memory=lots", "a.rlet"],
     usage("lots is not a value for the limit memory", "for example --limit memory=256MB")),
    # ---- files ----
    ("no such file", ["no.rlet"], {"status": 4, "err": "rundlet: there is no file no.rlet\n"}),
    ("a folder", ["."], {"status": 4, "err": "rundlet: . is a folder, not a script\n"}),
    ("a file within a file", ["a.rlet/b"],
     {"files": {"a.rlet": ""}, "status": 4, "err": "rundlet: there is no file a.rlet/b\n"}),
    # ---- limits ----
    ("time", ["--limit", "time=200ms", "a.rlet"],
     {"files": {"a.rlet": ENDLESS}, "status": 3, "err": ["ran longer than its limit"]}),
    ("depth", ["--limit", "depth=50", "a.rlet"],
     {"files": {"a.rlet": "formula f(x) = f(x + 1)\nshow f(1)\n"}, "status": 3, "err": ["50"]}),
    ("memory", ["--limit", "memory=5MB", "a.rlet"],
     {"files": {"a.rlet": "let a = [1]\nwhile true do a = append(a, a) end\n"}, "status": 3, "err": ["memory"]}),
    ("memory of failed checks", ["--limit", "memory=5MB", "a.rlet"],
     {"files": {"a.rlet": "while true do expect 1 == 2 end\n"}, "status": 3, "out": None, "err": ["needs more memory"]}),
    ("a text doubled line by line", ["--limit", "memory=50MB", "a.rlet"],
     {"files": {"a.rlet": 'let a = "0123456789"\n' + 'let a = "{a}{a}"\n' * 40}, "status": 3, "err": ["needs more memory"]}),
    ("one native after the other", ["--limit", "time=500ms", "a.rlet"],
     {"files": {"a.rlet": "let a = range(1, 100000)\n" + "let b = sum(sort(a))\n" * 5000}, "status": 3,
      "err": ["ran longer than its limit"]}),
    ("output of events", ["--limit", "output=10kB", "a.rlet"],
     {"files": {"a.rlet": 'while true do event 2027-01-01, "x" end\n'}, "status": 3, "out": None,
      "err": ["larger than their limit of 10kB"]}),
    ("more names than any formula has", ["a.rlet"],
     {"files": {"a.rlet": "formula f()\n" + "".join(f"let a{i} = 1\n" for i in range(30000)) + "give 1\nend\nshow f()\n"},
      "status": 1, "err": ["too large to compile in one piece"]}),
    ("a text input that is not UTF-8", ["a.rlet", b"t=a\xff"],
     {"files": {"a.rlet": 'input t = "x"\nshow t\n'}, "status": 2, "err": ["cannot be read as a value"]}),
    ("output", ["--limit", "output=40B", "a.rlet"],
     {"files": {"a.rlet": TALKER}, "status": 3, "out": "round and round\n" * 2,
      "err": "rundlet: the results are larger than their limit of 40B\n"
             "   hint: show less, or raise the limit: --limit output=100MB\n"}),
    ("output of a report, as much as fits", ["--limit", "output=1kB", "--report", "csv", "a.rlet"],
     {"files": {"a.rlet": 'print "first"\nplot x from 0 to 1000\n column "y" = x * x\nend\nprint "last"\n'}, "status": 3,
      "out": ["print,,,,,,first\r\n", "error,,,,,,the results are larger than their limit of 1kB\r\n"],
      "err": ["larger than their limit of 1kB"]}),
    ("the rows of a table that stopped", ["a.rlet"],
     {"files": {"a.rlet": 'table x from 1 to 4\n let y = 1 / (x - 3)\n column "y" = y\nend\n'}, "status": 1,
      "out": "x     y\n-  ----\n1  -0.5\n2  -1\n", "err": ["division by zero"]}),
    ("escape sequences in what is documented", ["--inputs", "a.rlet"],
     {"files": {"a.rlet": "input a = 1 g ## \x1b[31mred\x07\n"}, "out": "a = 1 g   [31mred\n"}),
    ("escape sequences in a hint", ["a.rlet"],
     {"files": {"a.rlet": 'show refuse("no", "\x1b[31m\u009bred\\n   hint: another")\n'}, "status": 1,
      "err": ["   hint:  [31m red    hint: another\n"]}),
    ("a limit goes before a failed check", ["--limit", "time=200ms", "a.rlet"],
     {"files": {"a.rlet": "expect 1 == 2\n" + ENDLESS}, "status": 3, "err": None}),
    ("within all limits", ["--limit", "time=20s,memory=100MB,depth=10,output=1kB", "a.rlet"],
     {"files": {"a.rlet": KINDS}, "out": KINDS_OUT}),
    # ---- TAP ----
    ("checks of two files", ["--expect", "one.rlet", "two.rlet"],
     {"files": MANY, "status": 1, "err": ["two.rlet:1:"],
      "out": ["TAP version 14\n1..2\n# Subtest: one.rlet\n    ok 1 - expect 1 == 1\n    ok 2 - expect 2 > 1\n    1..2\n"
              "ok 1 - one.rlet\n# Subtest: two.rlet\n    not ok 1 - expect 1 == 2\n      ---\n      message: \"",
              "      at: \"two.rlet:1:", "      ...\n    ok 2 - expect 1 == 1\n    1..2\nnot ok 2 - two.rlet\n"]}),
    ("a script that fails otherwise", ["--expect", "bad.rlet"],
     {"files": MANY, "status": 1, "err": ["bad.rlet:1:12: "],
      "out": ["TAP version 14\n1..1\n# Subtest: bad.rlet\n    not ok 1 - runs to its end\n      ---\n"
              "      message: \"a volume and a mass cannot be added\"\n      at: \"bad.rlet:1:12\"\n      ...\n    1..1\n"
              "not ok 1 - bad.rlet\n"]}),
    ("the first of several errors", ["--expect", "bad.rlet"],
     {"files": {"bad.rlet": "show one\nshow two\n"}, "status": 1, "err": None,
      "out": ["      message: \"there is no value called one\"\n      at: \"bad.rlet:1:6\"\n"]}),
    ("a script without checks", ["--expect", "none.rlet"],
     {"files": MANY, "out": "TAP version 14\n1..1\n# Subtest: none.rlet\n    1..0 # SKIP no expect in it\n"
                            "ok 1 - none.rlet # SKIP no expect in it\n"}),
    ("no such file among the checks", ["--expect", "no.rlet", "one.rlet"],
     {"files": MANY, "status": 4, "err": "rundlet: there is no file no.rlet\n",
      "out": ["    not ok 1 - runs to its end\n", "    1..1\nnot ok 1 - no.rlet\n", "ok 2 - one.rlet\n"]}),
    ("cautions are comments", ["--expect", "a.rlet"],
     {"files": {"a.rlet": KINDS}, "out": ["    ok 1 - expect 1 == 1\n", "    # caution: leave room for the foam\n", "ok 1"]}),
    ("marks of TAP in a check", ["--expect", "a.rlet"],
     {"files": {"a.rlet": 'expect "#" == "#"\n'}, "out": ['    ok 1 - expect "\\#" == "\\#"\n']}),
    # ---- errors as data ----
    ("no errors, as data", ["--check", "--report", "json", "a.rlet"],
     {"files": {"a.rlet": "show 1\n"}, "out": '{\n  "program":"rundlet 0.1.0",\n  "files":["a.rlet"],\n  "errors":[]\n}\n'}),
    ("a check in another form", ["--check", "--report", "html", "a.rlet"], usage("--report html and --check cannot be combined", TRY)),
    # ---- the prompt without a terminal ----
    ("entries one by one", ["--prompt"],
     {"status": 1, "input": "5 gal as L\nit * 2\nlet n = 3\nfor i in [1, 2] do\n  show i * n\nend\n1 gal + 1 g\nn\nquit\nnever\n",
      "out": "18.93 L\n37.85 L\ni * n = 3\ni * n = 6\n3\n", "err": ["prompt:1:7: a volume and a mass cannot be added\n"]}),
    ("an error inside a formula that was typed", ["--prompt"],
     {"input": "formula part(of_, parts: 0) = of_ / parts\npart(5 gal)\n", "status": 1, "out": "",
      "err": ["prompt:1:35: division by zero\n", "\n   in part(of_: 5 gal, parts: 0)\n"]}),
    ("what is written above a formula", ["--prompt"],
     {"input": "## four\nformula twice(x)\n  give 4 * x\nend\nhelp twice\n## five\nformula twice(x)\n  give 5 * x\nend\n"
               "help twice\n## of nothing\nhelp twice\n## of nothing",
      "out": "twice(x)\n  four\nnote: twice replaces the earlier twice\ntwice(x)\n  five\ntwice(x)\n  five\n"}),
    ("a file without a name", ["--prompt"],
     {"input": 'load ""\n', "status": 1, "out": "", "err": ['load needs "FILE" after it\n']}),
    ("the last entry is unfinished", ["--prompt"],
     {"status": 1, "input": "1\nlet x = [1,\n", "out": "1\n", "err": "rundlet: the last entry is unfinished\n"}),
    ("a value wins over a command", ["--prompt"],
     {"input": "let help = 3\nhelp\nlet quit = 4\nquit\nundo = 4\nforget undo\nundo\nforget zzz\n", "status": 1,
      "out": "3\n4\nnote: undo is forgotten\nnote: taken back: forget undo\n",
      "err": ["note: help is now a value of yours, so the command help cannot be used; type\n      `forget help` to get the command back\n",
              "note: quit is now a value of yours", "note: undo is now a value of yours",
              "rundlet: nothing of yours is called zzz\n   hint: names lists your own; forget alone starts again from nothing\n"]}),
    ("commands that are none", ["--prompt"],
     {"status": 1, "input": "undo it\nload\nsave\nhelp zzz\nsource zzz\nunits zzz\n",
      "err": "rundlet: undo takes nothing after it\n   hint: write just undo\n"
             'rundlet: load needs "FILE" after it\n   hint: for example: load "quince.rlet"\n'
             'rundlet: save needs "FILE" after it\n   hint: for example: save "quince.rlet"\n'
             "rundlet: nothing here is called zzz\n   hint: help lists what there is\n"
             "rundlet: there is no formula zzz to show\n   hint: names lists your own, help those of the library\n"
             "rundlet: there is no kind of unit called zzz\n   hint: the kinds are number, volume, mass, length, time, "
             "temperature, temperature_difference, gravity, gravity_difference, strength, pressure, concentration, "
             "acidity, energy, power, colour, pasteurisation, cells, months, money, count\n"}),
    ("the source of a formula, its units, its constants and its parts", ["--prompt"],
     {"input": "source titratable\n",
      "out": ["## Titratable acid, g/L, expressed as one acid.\n", "\n## Constants: 67.04 g of malic acid for each mole of alkali",
              "\nformula titratable(titrant is volume, normality is number, ", "\nend\n\nUnits:\n"
              "  titrant: volume, for example 5 gal or 20 L\n  normality: number\n  sample: volume, for example 5 gal or 20 L\n"
              "  acid: text\n  result: concentration; its example gives 5.028 g/L\n\n"
              "Parts of it, which only the library calls:\n\n# g of acid that one mole of alkali neutralises.\n"
              "# Constants: 67.04, 75.04, ", "\nformula equivalent(acid)\n    let weights = {malic: 67.04, "]}),
    ("the source of a formula in C", ["--prompt"],
     {"input": "source abv\n",
      "out": ["## Constants: 2.0665 and 0.9565 (g of solids used up and of CO2 made for each g of alcohol): Balling 1865; ",
              "\nformula abv(original is gravity, final is gravity) is strength = native abv\n\nUnits:\n"
              "  original: gravity, for example 1.050 SG or 12 °Bx\n", "\n  result: strength; its example gives 6.3 %ABV\n"],
      "count": {"Parts of it": 0}}),
    ("the units of results that depend on arguments", ["--prompt"],
     {"input": "source floor\nsource sqrt\nsource sort\nsource acid_as\nsource spirit_left\n",
      "out": ["  result: as x; its example gives 25\n", "  result: the root of x; its example gives 4 m\n",
              "  result: list of list; its example gives [1 gal, 8 L, 3 gal]\n",
              "  amount: any kind\n", "  result: any kind; its example gives 6.7", "  uptake: mL/g\n"]}),
    ("the source of a part, and of one's own formula", ["--prompt"],
     {"input": "source equivalent\n# a remark\n## what it is\nformula half(x is volume) = x / 2\nsource half\n",
      "out": ["# g of acid that one mole of alkali neutralises.\n# Constants: ", "\nformula equivalent(acid)\n    let weights",
              "\nend\n\nUnits:\n  acid: any kind\n  result: any kind\n",
              "## what it is\nformula half(x is volume) = x / 2\n\nUnits:\n  x: volume, for example 5 gal or 20 L\n"
              "  result: any kind\n"]}),
    ("help of each sort", ["--prompt"],
     {"input": "formula half(x) = x / 2\nlet v = 1\nhelp half\nhelp v\nhelp gal\nhelp °Bx\nhelp find\nhelp load\nhelp and\n"
               "help abv\n",
      "out": ["half(x)\n", "v: a value of your own, 1\n", "gal: a unit of volume; 1 gal is 3.785 L\n", "°Bx: a reading of gravity\n",
              "find: Looks between two bounds", "find n from 0 to 8 whole so", 'load "FILE"', "and: Is true if both",
              "abv(original, final)\n", "Source: "]}),
    ("help searches", ["--prompt"],
     {"input": "help keg\nhelp bottle\nhelp pressure\nhelp cost\nhelp too sweet\nhelp When can I bottle my cider?\n", "err": "",
      "out": ["  keg_pressure        Gauge pressure that keeps", "What you can type:\n  keg_pressure(40 °F, 2.4 vols) as psi\n",
              "  bottle_verdict ", "  bottle_pressure ", "bottle_verdict(5 gal of ferment(", "  bottle_pressure ", "30 psi as bar\n",
              "  serving_cost ", "unit crown is money; serving_cost(", "  parts ", "  sweeten_dose ",
              "parts(1.014 SG, 0.999 SG, 1.006 SG)\n", "bottle_"]}),
    ("help searches what is one's own", ["--prompt"],
     {"input": "formula cheese(x)  ## Apples for a press.\n  give 3 * x\nend\nhelp press\n", "err": "", "out": ["cheese              Apples for a press\n"]}),
    ("help answers everyday questions", ["--prompt"],
     {"input": "".join(f"help {asked}\n" for asked in (
         "how strong is my cider", "my cider is too sour", "how do I quit", "how to convert brix to sg", "5 gallons",
         "price of a bottle", "abv?", "add water", "campden tablets", "units volume", "what can i do")),
      "err": "",
      "out": ["What you can type:\n  abv(1.052 SG, 1.004 SG)\n", "What you can type:\n  deacidify_dose(5 gal, 1 g/L)\n", "  quit  ",
              "What you can type:\n  12 °Bx as SG\n", "What you can type:\n  5 gal as L\n", "What you can type:\n  unit crown is money; serving_cost(",
              "abv(original, final)\n", "  water_needed(750 mL of spirit", "  metabisulphite_dose(5 gal, 30 mg/L)\n",
              "volume                  L  mL", "Type a sum to see its value, which is `it` from then on: 5 gal as L\n",
              "Give a value a name with let: let batch = 5 gal\n",
              "help too sweet searches; help words lists what you say and what you type\n",
              "Statements and words (help WORD explains each):\n", "What you can ask of a liquid, as in must.gravity:\n",
              "Formulas (help NAME explains each):\n"]}),
    ("commands of other programs", ["--prompt"],
     {"status": 1, "input": "bye\n?\nclear\nsource\nlet bye = 3\nbye\n", "out": "3\n",
      "err": "rundlet: bye is not a command here\n   hint: type quit\nrundlet: ? is not a command here\n   hint: type help\n"
             "rundlet: clear is not a command here\n   hint: Ctrl-L clears the screen; type forget to start again from nothing\n"
             "rundlet: source needs NAME after it\n   hint: for example: source titratable\n"}),
    ("set and load say what to type", ["--prompt"],
     {"files": {"a.rlet": "unit tin = 330 mL\ninput target = 1.061 SG\ninput batch = 5 gal\n"},
      "status": 1, "input": "load a\nload a.rlet batch = \"3 gal\"\nbatch\nset target=1.065\nset batch = 6 lb\nset tin = 400 mL\n"
                            "help batch\nhelp percent\nhelp month\n",
      "out": ["3 gal\n", "batch: a value of your own, 3 gal\n", "percent: a share, in hundredths\n", "month: a calendar month\n"],
      "err": ['there is no file a\n   hint: write load "a.rlet"\n', "    read as: set target = 1.065 SG\n",
              "rundlet: batch is a volume, and 6 lb is a mass\n   hint: write set batch = 6 gal, or let batch = 6 lb to make it a mass from here on\n",
              "rundlet: tin is a unit, which set does not change\n   hint: write unit tin = 400 mL\n"]}),
    ("help answers what no name says", ["--prompt"],
     {"input": "help report\nhelp how do I convert\nhelp save\nhelp print\nhelp dates\n", "err": "",
      "out": ["report:\n  Reports are made outside the prompt.", "  rundlet --report html batch.rlet > batch.html\n",
              "convert:\n  Write `as` and the unit", "  Example: 5 gal as L\n", '  save "FILE" ', '  save "batch.rlet" writes the lines',
              "print: Prints a text.\n", "  To print a sheet on paper, ", "dates:\n  A date is written year-month-day.",
              "  Example: 2027-02-14 + 2 week\n"]}),
    ("help ends with an example", ["--prompt"],
     {"input": "help abv\nhelp read\n", "out": ["  Example: abv(1.052 SG, 1.004 SG)\n", "  Example with a file: read(\"readings.csv\")\n"]}),
    ("what you say and what you type", ["--prompt"],
     {"input": "help words\n", "out": ["What you say, and what you type:\n", "gallons to liters, gallons to litres, convert a volume\n    5 gal as L\n",
                                       "proof to abv                  90 proof as %ABV\n"]}),
    ("units on a keyboard without a degree sign", ["--prompt"],
     {"input": "help °F\nhelp °Bx\nunits temperature\nunits gravity\n12 Bx as SG\n68 degF as °C\n",
      "out": "°F: a reading of temperature\n  Also typed as degF.\n°Bx: a reading of gravity\n  Also typed as Bx.\n"
             "temperature             °C (degC)  °F (degF)  K\n"
             "gravity                 SG  °Bx (Bx)  °P (Plato)  °Oe (Oe)  °Be (Baume)\n1.048 SG\n20.0 °C\n"}),
    ("why 90 proof is no 45 %ABV", ["--prompt"],
     {"input": "help proof\n90 proof as %ABV\n", "out": ["proof: a unit of strength\n", "at 60 °F", "90 proof is 45.1 %ABV.\n", "45.1 %ABV\n"]}),
    ("every word of the language has its sentence", ["--prompt"],
     {"input": "".join(f"help {word}\n" for word in KEYWORDS), "err": "", "out": [f"{word}: " for word in KEYWORDS]}),
    ("help tells what stands after ##, and units as they were declared", ["--prompt"],
     {"files": {"club.rlet": "## a jar\n## of preserves\nunit jar = 2 * 250 mL\n"},
      "input": "unit can = 12 floz ## one can of syrup\nunit scoop = 4 g\nunit bottle ## of any size\n"
               "input batch = 5 gal ## what is in the fermenter\nuse \"club.rlet\"\nhelp can\nhelp scoop\nhelp bottle\n"
               "help batch\nhelp jar\nhelp vols\nhelp atm\nforget\nunit can = 5 g\nhelp can\n",
      "out": "can: a unit of volume; 1 can is 12 floz\n  one can of syrup\n"
             "scoop: a unit of mass; 1 scoop is 4 g\nbottle: a unit of bottle\n  of any size\n"
             "batch: a value of your own, 5 gal\n  what is in the fermenter\n"
             "jar: a unit of volume; 1 jar is 2 * 250 mL\n  a jar\n  of preserves\n"
             "vols: a unit of concentration; 1 vols is 1.9768 g/L\natm: a unit of pressure; 1 atm is 101.325 kPa\n"
             "can: a unit of mass; 1 can is 5 g\n"}),
    ("what a find found is shown, what a let holds is not", ["--prompt"],
     {"files": {"a.rlet": "find y from 0 to 8 so y == 2\n"},
      "input": "let a = 3\nfind x from 0 gal to 1 gal so x == 0.25 gal\nload \"a.rlet\"\ny\n"
               "formula f() \n  find z from 0 to 2 so z == 1\n  give z\nend\nf()\n"
               "find p from 0 to 8, q from 0 to 8 so p + q == 5, p == 2\n",
      "out": "x = 0.25 gal\n2\n1\np = 2\nq = 3\n", "err": ""}),
    ("a caution of the library is given once a session", ["--prompt"],
     {"input": CAUTIOUS + "let d = " + CAUTIOUS + '"again"\n' + CAUTIOUS + "forget\n" + CAUTIOUS,
      "out": None, "count": {"caution: bottles: first make": 2}}),
    ("a caution that an error kept back is given later", ["--prompt"],
     {"status": 1, "input": "show 1 / 0, " + CAUTIOUS + "let d = " + CAUTIOUS[:-1] + "; let e = 1 / 0\n" + CAUTIOUS,
      "out": None, "err": ["division by zero", "division by zero"], "count": {"caution: bottles: first make": 1}}),
    # ---- why ----
    ("why the latest result, a value, an expression", ["--prompt"],
     {"input": "let batch = 5 gal\nlet cans = batch / 12 floz\nbatch as L\nwhy\nwhy it\nwhy cans\nwhy batch * 2\nwhy (batch + 1 gal) / 2\nit\n",
      "out": "18.93 L\n  batch = 5 gal\n  batch as L = 5 gal as L = 18.93 L\n"
             "  batch = 5 gal\n  it = batch as L = 5 gal as L = 18.93 L\n"
             "  batch = 5 gal\n  cans = batch / 12 floz = 5 gal / 12 floz = 53.33\n"
             "  batch = 5 gal\n  batch * 2 = 5 gal * 2 = 10 gal\n"
             "  batch = 5 gal\n  (batch + 1 gal) / 2 = (5 gal + 1 gal) / 2 = 3 gal\n18.93 L\n", "err": ""}),
    ("why, with a formula of the library", ["--prompt"],
     {"input": "abv(1.050 SG, 1.000 SG)\nwhy\n",
      "out": "6.5 %ABV\n  abv(1.050 SG, 1.000 SG) = 6.5 %ABV\n" + WHY_ABV + "at the prompt, source abv shows the formula itself\n"}),
    ("why, to more levels", ["--prompt"],
     {"input": "formula half(x) = x / 2\nformula part(x) = half(x) + 1 gal\nlet p = part(6 gal)\nwhy p\nwhy p to 2 levels\nwhy p to 1 level\n"
               "p\nwhy to 2 levels\nwhy p to 0 levels\nwhy p to 10 levels\n", "status": 1,
      "out": ["    half(x) = half(6 gal) = 3 gal\n", "x / 2 = 6 gal / 2 = 3 gal\n", "    half(x) = half(6 gal) = 3 gal\n", "x / 2 = 6 gal / 2 = 3 gal\n"],
      "err": 2 * ("rundlet: the steps inside formulas can be shown to 1 to 9 levels\n   hint: for example: why strength to 2 levels\n")}),
    ("why, by the label of a result", ["--prompt"],
     {"files": {"a.rlet": 'input batch = 5 gal\nshow "Half of it": batch / 2\nshow "A third": batch / 3\n'},
      "input": 'load "a.rlet"\nwhy "half of it"\nwhy half of it?\nwhy is half of it 2.5 gal\nwhy 2.5 gal\nwhy\nwhy "a fourth"\n', "status": 1,
      "out": "Half of it = 2.5 gal\nA third = 1.667 gal\n" + 4 * "Half of it:\n  batch = 5 gal\n  batch / 2 = 5 gal / 2 = 2.5 gal\n"
             + "A third:\n  batch = 5 gal\n  batch / 3 = 5 gal / 3 = 1.667 gal\n",
      "err": 3 * '    read as: why "Half of it"\n'
             + 'rundlet: no result is labelled "a fourth"\n   hint: labels so far: "Half of it", "A third"\n'}),
    ("why, by a label of two lines", ["--prompt"],
     {"input": 'show "Half\\nof it": 5 gal / 2\nwhy "Half of it"\n', "out": "Half of it = 2.5 gal\nHalf of it:\n  5 gal / 2 = 2.5 gal\n"}),
    ("why, in everyday words", ["--prompt"],
     {"input": "let m = 2 gal * 3\nm\nwhy is m so small\nwhy is it 6 gal?\nhow did you get that?\nshow me the working\nhow was m worked out\n",
      "out": "6 gal\n" + 5 * "  m = 2 gal * 3 = 6 gal\n",
      "err": "    read as: why m\n" + 3 * "    read as: why\n" + "    read as: why m\n"}),
    ("why of what is no result", ["--prompt"],
     {"status": 1,
      "input": 'why\nwhy abv\nformula half(x) = x / 2\nwhy half\nwhy gal\nwhy let\nwhy nope\nwhy 5\nwhy "five"\nwhy 1 gal + 1 g\n'
               "why abv(1.000 SG, 1.051 SG)\n", "out": "",
      "err": "rundlet: there is no result to explain yet\n   hint: work something out, for example abv(1.050 SG, 1.000 SG), then type why\n"
             "rundlet: abv is a formula: without numbers it has no result to explain\n"
             "   hint: source abv shows how it computes, help abv what it is for; with numbers, try why abv(1.052 SG, 1.004 SG)\n"
             "rundlet: half is a formula: without arguments it has no result to explain\n"
             "   hint: source half shows how it computes; for the steps, call it: why half(…)\n"
             "rundlet: gal is a unit, not a result\n   hint: help gal tells what it is; to see a conversion, try why 1 gal as L\n"
             "rundlet: let is a word of the language, not a result\n   hint: help let explains it; for your latest result type just why\n"
             "prompt:1:1: there is no value called nope\n    1 | nope\n      | ^^^^\n   hint: declare it first: let nope = …\n"
             "    for example: let nope = 5 gal\n"
             "rundlet: 5 was given as it is: there are no steps to show\n"
             "   hint: name a value that was worked out, or type just why for the latest result\n"
             "rundlet: there is no result to explain yet\n   hint: work something out, for example abv(1.050 SG, 1.000 SG), then type why\n"
             "prompt:1:7: a volume and a mass cannot be added\n    1 | 1 gal + 1 g\n      | ----- - ---\n      | volume  mass\n"
             "   hint: to pour dry sugar in, add liquids: base + 1 g of sugar()\n"
             "prompt:1:15: fermentation cannot raise a gravity: it is 1.000 SG now, and 1.051 SG was asked for\n"
             "    1 | abv(1.000 SG, 1.051 SG)\n      |               ^^^^^^^^\n"
             "   hint: the original gravity is the higher one and comes first: abv(1.051 SG, 1.000 SG)\n"}),
    ("why, about something else", ["--prompt"],
     {"status": 1, "input": "let m = 5 gal * 2\nwhy is my cider so sour?\nwhy are the m and the n so far apart\n", "out": "  m = 5 gal * 2 = 10 gal\n",
      "err": "rundlet: no value or result is called cider so sour\n"
             "   hint: why shows how a result was worked out; to search for something else, type help cider so sour\n    read as: why m\n"}),
    ("why leaves the session as it was", ["--prompt"],
     {"input": "let d = 2 gal\n5 gal as L\nwhy " + CAUTIOUS + CAUTIOUS + "why " + CAUTIOUS + "why it * 2\nundo\nit\nnames\n",
      "out": ["18.93 L\n", "caution: bottles: first make", "note: taken back: " + CAUTIOUS, "18.93 L\n", "it = 18.93 L\n"],
      "count": {"caution: bottles: first make": 2}}),
    ("a value called why wins", ["--prompt"],
     {"input": "let why = 3\nwhy\nwhy * 2\nforget why\n5 gal as L\nwhy\n",
      "out": "3\n6\nnote: this line fails now, and is left out: why\nnote: this line fails now, and is left out: why * 2\nnote: why is forgotten\n18.93 L\n  5 gal as L = 18.93 L\n",
      "err": ["note: why is now a value of yours, so the command why cannot be used; type\n      `forget why` to get the command back\n"]}),
    ("why, after set, undo, load and use", ["--prompt"],
     {"files": {"parts/a.rlet": 'use "club.rlet"\ninput batch = 5 gal\nlet poured = fill(batch)\n',
                "parts/club.rlet": "formula fill(x) = x * 2\n"},
      "input": 'load "parts/a.rlet" batch="4 gal"\nwhy poured\nset batch = 3 gal\nwhy poured\nundo\nwhy poured\n',
      "out": ["x * 2 = 4 gal * 2 = 8 gal\n", "x * 2 = 3 gal * 2 = 6 gal\n", "x * 2 = 4 gal * 2 = 8 gal\n"], "err": ""}),
    ("why, after a find and of a table", ["--prompt"],
     {"input": 'find n from 0 to 8 whole so n * 2 >= 5\nwhy\ntable i in [1, 2]\n  column "twice" = i * 2\nend\nwhy\n',
      "out": ["n = 3\n", "  n = find n from 0 to 8 whole so n * 2 >= 5 = 3\n", "2 would not do: 4 >= 5 is false\n", "twice:\n", "turn 1 of 2, i = 1:\n",
              "i * 2 = 2 * 2 = 4\n"]}),
    ("why, where the lines make no script", ["--prompt"],
     {"status": 1, "input": "formula f(x) = x * 2\nlet a = f(3)\nformula f(x, y) = x + y\nlet b = f(2, 3)\nwhy b\nwhy a\n",
      "out": ["  a = f(3)\n", "x * 2 = 3 * 2 = 6\n"],
      "err": ["there is no value called b\n",
              "rundlet: the lines so far worked one by one, but do not run together as a script, so their steps cannot be shown\n"
              "   hint: forget the line that fails, or undo it, and ask again\n"]}),
    ("why keeps to the limits", ["--prompt", "--limit", "depth=40"],
     {"status": 3, "input": "formula deep(n)\n  if n > 0 then\n    give deep(n - 1)\n  end\n  give 7\nend\nwhy deep(60)\nwhy deep(3) + 1\n", "out": ["= 8\n"],
      "err": ["formulas call one another more than 40 deep", "--limit depth="]}),
    ("why of more steps than are kept", ["--prompt"],
     {"status": 1, "files": {"a.rlet": "let a = 1\n" + 1200 * ("a = a" + 100 * " + a - a" + "\n")}, "input": 'load "a.rlet"\nwhy a\nforget\nwhy 1 + 1\n',
      "out": ["  1 + 1 = 2\n"],
      "err": "rundlet: there is no working for this: only the first 200 000 steps of all lines so far are kept\n"
             "   hint: ask in a session without the long part, or with fewer calls in it\n"}),
    ("the working of an expression", ["--working", "-e", "abv(1.050 SG, 1.000 SG)", "-e", "it * 2"],
     {"out": "6.5 %ABV\n  abv(1.050 SG, 1.000 SG) = 6.5 %ABV\n" + WHY_ABV + "at the prompt, source abv shows the formula itself\n"
             "13.1 %ABV\n  it = abv(1.050 SG, 1.000 SG) = 6.5 %ABV\n" + WHY_ABV_IT + "  it * 2 = 6.5459 %ABV * 2 = 13.1 %ABV\n"
             "at the prompt, source abv shows the formula itself\n"}),
    ("--working at the prompt", ["--working", "--prompt"], usage("--working is for scripts and -e", "at the prompt, type why after a result")),
    ("--working of a check", ["--check", "--working", "a.rlet"], usage("--working and --check cannot be combined", TRY)),
    ("--working of nothing", ["--working"], usage("--working needs a file", "write rundlet --working FILE; - is standard input")),
    ("names and sources", ["--prompt"],
     {"input": "let b = 5 gal\nformula half(x) = x / 2\nunit can = 12 floz\nunit jar\nnames\nsource half\nunits count\nforget\nnames\n"
               "units money\n",
      "out": "values    b = 5 gal\nformulas  half(x)\nunits     can  jar\nformula half(x) = x / 2\n\nUnits:\n  x: any kind\n  result: any kind\ncount                   jar\n"
             "money                   none yet\n"}),
    ("save, load and run what was saved", ["--prompt"],
     {"status": 1, "input": "unit can = 12 floz\nlet d = 2 cans\nd as mL\n1 gal + 1 g\nit * 2\nevent 2027-02-14, \"rack\"\nsave \"s.rlet\"\n"
               "let more = 1\nsave s\nforget\nload \"s.rlet\"\nmore\n",
      "out": "709.8 mL\n1420 mL\n2027-02-14  Sunday     rack\nit = 709.8 mL\nit = 1420 mL\n"
             "2027-02-14  Sunday     rack\n1\n",
      "err": ["prompt:1:7: ", "saved s.rlet, 5 lines\nsaved s.rlet, 6 lines\n"],
      "made": {"s.rlet": "unit can = 12 floz\nlet d = 2 cans\nlet it = d as mL; show it\nlet it = it * 2; show it\n"
                         "event 2027-02-14, \"rack\"\nlet more = 1\n"}}),
    ("saving over what another made", ["--prompt"],
     {"status": 1, "files": {"a.rlet": "mine"}, "input": 'save "a.rlet"\n1\nsave "a.rlet"\nsave "no/a.rlet"\nload "no.rlet"\n', "out": "1\n",
      "err": "rundlet: there is nothing to save yet\n"
             "rundlet: there is already a file a.rlet\n   hint: save it under another name\n"
             "rundlet: no/a.rlet could not be written: No such file or directory\n"
             "rundlet: there is no file no.rlet\n", "made": {"a.rlet": "mine"}}),
    ("errors of a loaded file are its own", ["--prompt"],
     {"status": 1, "files": {"a.rlet": "let a = 1\nshow 1 gal + 1 g\n", "b.rlet": "let b = [1,\n"},
      "input": 'load "a.rlet"\na\nload "b.rlet"\n', "out": "",
      "err": ["a.rlet:2:12: ", "prompt:1:1: there is no value called a\n", "rundlet: b.rlet stops in the middle of a statement\n"]}),
    ("an entry that fails leaves nothing behind", ["--prompt"],
     {"files": {"a.rlet": "let q = 4\nformula zed(x) = x\nunit jar = 1 L\nlet n = 9\nshow 1 gal + 1 g\n"},
      "input": 'let n = 1\nload "a.rlet"\nlet a = 1; n = 2; let b = 1 g + 1 L\nnames\nformula zed(x) = 2 * x\nzed(n)\nlet jar = 3\n'
               "expect 1 == 2\nsave \"s.rlet\"\n",
      "status": 1, "out": "values    n = 1\n2\n", "err": ["a.rlet:5:12: ", "prompt:1:31: ", "this check does not hold"],
      "made": {"s.rlet": "let n = 1\nformula zed(x) = 2 * x\nshow zed(n)\nlet jar = 3\nexpect 1 == 2\n"}}),
    ("an error with a limit", ["--limit", "depth=50", "--prompt"],
     {"status": 3, "input": "formula f(n) = f(n + 1)\n1 / 0\nf(1)\n1\n", "out": "1\n", "err": ["division by zero", "more than 50 deep"]}),
    ("formulas and units are declared anew", ["--prompt"],
     {"input": "formula half(x) = x / 2\nlet part = half(8)\nhalf(2)\nformula half(x) = x / 4\nhalf(2)\nunit jug = 2 L\nlet stock = 4 jug\n"
               "stock as L\nunit jug = 3 L ## a larger one\nstock\nsave \"s.rlet\"\n", "status": 0,
      "out": "1\nnote: half replaces the earlier half\npart = 2, was 4\nhalf(2) = 0.5\n0.5\n8 L\n"
             "note: jug replaces the earlier jug\nstock as L = 12 L\n4 jug\n", "err": "saved s.rlet, 8 lines\n",
      "made": {"s.rlet": "formula half(x) = x / 4\nlet part = half(8)\nshow half(2)\nshow half(2)\nunit jug = 3 L ## a larger one\n"
                         "let stock = 4 jug\nshow stock as L\nshow stock\n"}}),
    ("a declaration that earlier lines do not work with holds from there on", ["--prompt"],
     {"input": "formula half(x) = x / 2\nlet part = half(8)\nformula half(x, y) = x / y\npart\nhalf(9, 3)\nsave \"s.rlet\"\n", "status": 0,
      "out": "note: half replaces the earlier half\nnote: a line above does not work with it: what was computed before stays as it\n"
             "      was\n4\n3\nnote: not saved, since a line above it fails with it:\n      formula half(x, y) = x / y\n"
             "note: this line fails now, and is left out: half(9, 3)\n", "err": ["half needs its y", "half takes no more arguments"],
      "made": {"s.rlet": "formula half(x) = x / 2\nlet part = half(8)\nshow part\n"}}),
    ("what a file declares is declared anew in its place", ["--prompt"],
     {"files": {"a.rlet": "## the club's own\nunit tin = 330 mL # small\ninput batch from 1 L to 60 L = 6 tin\nlet dose = (batch + 1 L) * 2 g/L\n"},
      "input": 'load "a.rlet"\nset batch = 9 L\nlet batch = 10 tin\nunit tin = 500 mL\nunit tin = 5 kg\nset batch = 20 tin\n'
               'dose\nsave "s.rlet"\nforget\nload "s.rlet"\nload "a.rlet" batch=5L\nload "s.rlet"\nbatch\n', "status": 0,
      "out": "batch = 9 L, was 6 tin\nnote: batch replaces the earlier batch\nnote: tin replaces the earlier tin\n"
             "note: tin replaces the earlier tin\nnote: a line above does not work with it: what was computed before stays as it\n"
             "      was\nbatch = 20 tin, was 10 tin\n22 g\nnote: not saved, since a line above it fails with it: unit tin = 5 kg\n"
             "dose = 22 g\nnote: tin replaces the earlier tin\nnote: batch replaces the earlier batch\ndose = 15.2 g\ndose = 22 g\n"
             "note: s.rlet replaces what was loaded from it before\n20 tin\n",
      "err": ["a mass and a volume cannot be added"],
      "made": {"s.rlet": "## the club's own\nunit tin = 500 mL # small\nlet batch = 20 tin\nlet dose = (batch + 1 L) * 2 g/L\nshow dose\n"}}),
    ("two formulas of one name in one entry stay an error", ["--prompt"],
     {"status": 1, "input": "formula f(x) = x; formula f(x) = 2 * x\nformula f(x) = x\nf(3)\n", "out": "3\n",
      "err": ["there is already a formula called f"]}),
    ("an input or a value is set, and what was computed from it", ["--prompt"],
     {"input": "input batch from 1 gal to 60 gal = 5 gal\nlet double = batch * 2\nbatch as L\nset batch = 3 gal\n"
               "input who = \"Ann\"\nset who = \"Bea\"\nlet add = 1 gal\ndouble + add\nset add = 2 gal\nset double = 1 gal\n"
               "undo\nnames\nsave \"s.rlet\"\n", "status": 0,
      "out": "18.93 L\nbatch = 3 gal, was 5 gal\ndouble = 6 gal, was 10 gal\nbatch as L = 11.36 L\nwho = Bea, was Ann\n7 gal\n"
             "add = 2 gal, was 1 gal\ndouble + add = 8 gal\ndouble = 1 gal, was 6 gal\ndouble + add = 3 gal\n"
             "note: taken back: set double = 1 gal\nvalues    add = 2 gal\n          batch = 3 gal\n          double = 6 gal\n"
             "          it = 8 gal\n          who = Bea\n", "err": "saved s.rlet, 6 lines\n",
      "made": {"s.rlet": "input batch from 1 gal to 60 gal = 3 gal\nlet double = batch * 2\nshow batch as L\ninput who = \"Bea\"\n"
                         "let add = 2 gal\nshow double + add\n"}}),
    ("set changes the value that holds now", ["--prompt"],
     {"input": "let batch = 5 gal\nbatch as L\nbatch = 6 gal\nbatch as pt\nset batch = 8 gal\nnames\n"
               "find x from 0 to 8 so x == 2\nset x = 3\nlet t = 0\nfor i in [1, 2] do t = t + i end\nset t = 5\nt = 5\nset t = 8\n",
      "status": 1,
      "out": "18.93 L\n48 pt\nbatch = 8 gal, was 6 gal\nbatch as pt = 64 pt\nvalues    batch = 8 gal\n          it = 64 pt\nx = 2\n"
             "t = 8, was 5\n",
      "err": "rundlet: set cannot change x, which gets its value in this line: find x from 0 to 8 so x == 2\n"
             "   hint: write let x = 3 to give it another value from here on\n"
             "rundlet: set cannot change t, which gets its value in this line: for i in [1, 2] do t = t + i end\n"
             "   hint: write let t = 5 to give it another value from here on\n"}),
    ("set keeps the kind of a value", ["--prompt"],
     {"input": "let og = 1.054 SG\nset og = 1.062\nlet brix = 12 °Bx\nset brix = 14\nset brix = 1.05\nlet who = \"Ann\"\nset who = 3\n"
               "let must = juice(gravity: 1.050 SG)\nset must = 5\nlet mass = 3 lb\nlet more = 2 gal\nset more = 2 * mass\nset more 3 gal\n"
               "set more to 4 gal\nset more := 5 gal\nset the more: 6 gal\nset up a keg\nnames\n",
      "status": 1,
      "out": ["og = 1.062 SG, was 1.054 SG\nmore = 3 gal, was 2 gal\nmore = 4 gal, was 3 gal\nmore = 5 gal, was 4 gal\nmore = 6 gal, was 5 gal\n",
              "brix = 12.0 °Bx\n", "mass = 3 lb\n"],
      "err": "    read as: set og = 1.062 SG\n"
             "rundlet: brix is a gravity, and 14 is a plain number\n"
             "   hint: write set brix = 14 °Bx, or let brix = 14 to make it a plain number from here on\n"
             "rundlet: brix is a gravity, and 1.05 is a plain number\n"
             "   hint: write set brix = 1.05 SG, or let brix = 1.05 to make it a plain number from here on\n"
             "rundlet: who is a text, and 3 is a plain number\n"
             "   hint: write set who = \"Ann\", or let who = 3 to make it a plain number from here on\n"
             "rundlet: must is a liquid, and 5 is a plain number\n   hint: write let must = 5 to make it a plain number from here on\n"
             "rundlet: more is a volume, and 2 * mass is a mass\n"
             "   hint: write set more = 2 gal, or let more = 2 * mass to make it a mass from here on\n"
             "    read as: set more = 3 gal\n    read as: set more = 4 gal\n    read as: set more = 5 gal\n    read as: set more = 6 gal\n"
             "rundlet: set needs NAME = VALUE after it\n   hint: for example: set batch = 3 gal\n"}),
    ("what is declared again is saved once, in a form that runs", ["--prompt"],
     {"files": {"a.rlet": "input batch from 1 gal to 60 gal = 5 gal  # the fermenter\nshow batch\n"},
      "input": 'let batch = 6 gal\nbatch = 7 gal\nload "a.rlet"\nsave a1\nforget\n'
               'let batch = 6 gal\nbatch as L\nload "a.rlet"\nsave a2\nforget\n'
               "find s from 0 to 8 so s == 2\ninput s = 3\nsave a3\nforget\n"
               "input s = 3\nfind s from 0 to 8 so s == 2\nsave a4\nforget\n"
               "input s = 3\ns * 2\nfind s from 0 to 8 so s == 2\ns\nsave a5\nforget\n"
               'let style = "dry"\nstyle\ninput style from ["still", "sweet"]\nstyle\nsave a6.rlet\nforget\n'
               "let x = 1\ninput x = 2\nsave a7.rlet\n",
      "status": 0, "out": None, "err": ["saved a1.rlet, 2 lines\n", "saved a2.rlet, 4 lines\n", "saved a3.rlet, 1 line\n", "saved a7.rlet, 1 line\n"],
      "made": {"a1.rlet": "input batch from 1 gal to 60 gal = 5 gal  # the fermenter\nshow batch\n",
               "a2.rlet": "let batch = 6 gal\nshow batch as L\nlet batch = 5 gal  # the fermenter\nshow batch\n",
               "a3.rlet": "input s = 3\n", "a4.rlet": "find s from 0 to 8 so s == 2\n",
               "a5.rlet": "let s = 3\nshow s * 2\nfind s from 0 to 8 so s == 2\nshow s\n",
               "a6.rlet": 'let style = "dry"\nshow style\nlet style = ["still", "sweet"][1]\nshow style\n', "a7.rlet": "input x = 2\n"}}),
    ("what is saved and does not run as a script is told", ["--prompt"],
     {"files": {"club.rlet": "formula dose(x is volume) = x * 2 g/L\n", "sub/x": ""},
      "input": 'use "club.rlet"\ndose(1 L)\nsave "sub/s"\n', "status": 1, "out": "2 g\n",
      "err": ["saved sub/s.rlet, 2 lines\nsub/s.rlet:1:", "rundlet: sub/s.rlet is saved, but does not run as a script yet\n"
              "   hint: change that line in the file, or undo it here and save again\n"]}),
    ("what is computed again repeats no caution, and no value twice", ["--prompt"],
     {"files": {"a.rlet": "input v = 1 gal\ncaution \"mind the foam\"\nif v > 2 gal then caution \"mind the {v}\" end\nshow v as L\n"},
      "input": 'load "a.rlet"\nlet og = 1.050 SG\nlet strong = abv(og, 1.004 SG)\nshow strong\nset v = 3 gal\nset v = 4 gal\nload "a.rlet"\n'
               'set og = 1.060 SG\nforget\nload "a.rlet"\n',
      "out": "caution: mind the foam\nv as L = 3.785 L\nstrong = 6.0 %ABV\nv = 3 gal, was 1 gal\ncaution: mind the 3 gal\nv as L = 11.36 L\n"
             "v = 4 gal, was 3 gal\ncaution: mind the 4 gal\nv as L = 15.14 L\nv as L = 3.785 L\nnote: a.rlet replaces what was loaded from it before\n"
             "og = 1.060 SG, was 1.050 SG\nstrong = 7.4 %ABV, was 6.0 %ABV\ncaution: mind the foam\nv as L = 3.785 L\n"}),
    ("what cannot be set stays as it was", ["--prompt"],
     {"input": "input batch from 1 gal to 60 gal = 5 gal\nlet share = 10 gal / (batch - 3 gal)\nset batch = 300 gal\nset batch = 3 gal\n"
               "set batch = 1 g\nset zzz = 3\nset batch\nbatch\nshare\n", "status": 1, "out": "5 gal\n5\n",
      "err": ["batch must lie between 1 gal and 60 gal, not 300 gal", "rundlet: batch is unchanged: 300 gal makes that line fail\n",
              "division by zero", "rundlet: batch is unchanged: 3 gal makes that line fail\n",
              "rundlet: batch is a volume, and 1 g is a mass\n   hint: write set batch = 1 gal, or let batch = 1 g",
              "rundlet: no line here gives zzz a value\n   hint: names lists your own values; to start one, write let zzz = 3\n",
              "rundlet: set needs NAME = VALUE after it\n   hint: for example: set batch = 3 gal\n"]}),
    ("a caution that a change brings up is given", ["--prompt"],
     {"input": "let v = 1 gal\ncaution \"a\"\nif v > 2 gal then caution \"mind the foam\" end\n\"x\"\nset v = 3 gal\n",
      "out": "caution: a\nx\nv = 3 gal, was 1 gal\ncaution: mind the foam\n"}),
    ("scripts are loaded with inputs, and anew", ["--prompt"],
     {"files": {"a.rlet": "input batch from 1 gal to 60 gal = 5 gal\ninput who = \"Ann\"\nlet cans = batch / 12 floz\nshow \"Cans\": cans\n"},
      "input": 'load "a.rlet" batch="10 gal" who="Bea C"\ncans * 2\nwho\nset batch = 3 gal\nload "a.rlet"\nload a.rlet batch=6 gal\n'
               'load "a.rlet" bach=3\nset batch = 99 gal\nsave "s.rlet"\nnames\n', "status": 1,
      "out": "Cans = 106.7\n213.3\nBea C\nbatch = 3 gal, was 10 gal\nCans = 32\ncans * 2 = 64\n"
             "Cans = 53.33\nnote: a.rlet replaces what was loaded from it before\ncans * 2 = 106.7\nwho = Ann\n"
             "Cans = 64\nnote: a.rlet replaces what was loaded from it before\ncans * 2 = 128\n"
             "values    batch = 6 gal\n          cans = 64\n          it = Ann\n          who = Ann\n",
      "err": ["this script has no input called bach", "batch must lie between"],
      "made": {"s.rlet": "input batch from 1 gal to 60 gal = 6 gal\ninput who = \"Ann\"\nlet cans = batch / 12 floz\n"
                         "show \"Cans\": cans\nshow cans * 2\nshow who\n"}}),
    ("the last line is taken back, and the one before it", ["--prompt"],
     {"input": "undo\nlet n = 3\nn = n + 1\nformula f(x) = x\nundo\nn\nundo\nundo\nn\nforget\nnames\nundo\nn\nundo\nundo\nundo\nundo\n",
      "status": 1,
      "out": "note: taken back: formula f(x) = x\n4\nnote: taken back: n\nnote: taken back: n = n + 1\n3\nnote: taken back: forget\n3\n"
             "note: taken back: n\nnote: taken back: n\nnote: taken back: let n = 3\n",
      "err": "rundlet: there is nothing to take back\nrundlet: there is nothing to take back\n"}),
]


class Failure(Exception):
    pass


def compare(what, wanted, got):
    if wanted is None:
        return
    if isinstance(wanted, str):
        if got != wanted:
            raise Failure(f"{what}:\n{got}\n  wanted:\n{wanted}")
        return
    at = 0
    for part in wanted:
        at = got.find(part, at)
        if at < 0:
            raise Failure(f"{what}:\n{got}\n  does not hold, in its place:\n{part}")
        at += len(part)


def environment(folder):
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("XDG_", "LC_", "LANG", "NO_COLOR"))}
    return dict(kept, HOME=str(folder), TERM="xterm")


def run(folder, arguments, given="", **more):
    return subprocess.run([PROGRAM, *arguments], input=given.encode(), cwd=folder, env=environment(folder),
                          timeout=SECONDS, stdout=more.pop("stdout", subprocess.PIPE), stderr=subprocess.PIPE, **more)


def write_files(folder, files):
    for name, text in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")


def run_case(folder, arguments, expected):
    known = {"files", "input", "status", "out", "err", "made", "count"}
    assert set(expected) <= known, set(expected) - known
    write_files(folder, expected.get("files", {}))
    done = run(folder, arguments, expected.get("input", ""))
    out, err = done.stdout.decode(), done.stderr.decode()
    if done.returncode != expected.get("status", 0):
        raise Failure(f"status {done.returncode}, wanted {expected.get('status', 0)}\n{out}{err}")
    compare("standard output", expected.get("out", ""), out)
    compare("standard error", expected.get("err", ""), err)
    for part, count in expected.get("count", {}).items():
        if out.count(part) != count:
            raise Failure(f"{part!r} stands {out.count(part)} times, wanted {count}:\n{out}")
    for name, text in expected.get("made", {}).items():
        compare(name, text, (folder / name).read_text(encoding="utf-8"))


# ---- what takes more than a row ----

def check(holds, what):
    if not holds:
        raise Failure(what)


def errors_as_data(folder):
    """--check --report json lists all errors of all files with their places; a run lists its own and failed checks."""
    write_files(folder, {"a.rlet": "show 1 gal + 1 g\nlet é = 2\nshow é, zzz\n", "b.rlet": "let unused = 1\n",
                         "c.rlet": "expect 1 == 2\nshow [1,\n  2] + 1 gal\n"})

    def errors_of(arguments, status):
        done = run(folder, arguments)
        check(done.returncode == status, f"{arguments}: status {done.returncode}")
        errors = json.loads(done.stdout)["errors"]
        for error in errors:
            keys = ["file", "line", "column", "end_line", "end", "severity", "id", "message", "hint", "arguments"]
            check([key for key in error if key != "trace"] == keys and error["message"], error)
        return done, errors, [tuple(error.values())[:7] for error in errors]

    done, errors, places = errors_of(["--check", "--report", "json", "a.rlet", "b.rlet", "no.rlet"], 4)
    check(not done.stderr, done.stderr)
    check(places == [("a.rlet", 1, 12, 1, 13, "error", "ADD_KINDS"), ("a.rlet", 3, 9, 3, 12, "error", "UNKNOWN_VALUE"),
                     ("b.rlet", 1, 5, 1, 11, "note", "NAME_UNUSED"), (None, None, None, None, None, "error", "FILE_ABSENT")], places)
    check("zzz" in errors[1]["message"] and errors[1]["hint"] and errors[3]["hint"] is None, errors)
    check(errors[0]["arguments"] == [{"type": "kind", "text": "a volume"}, {"type": "kind", "text": "a mass"}], errors[0])
    check(errors[1]["arguments"] == [{"type": "text", "text": "zzz"}], errors[1])
    write_files(folder, {"d.rlet": "formula part(of_, parts: 0) = of_ / parts\nshow part(5 gal)\n"})
    _, errors, _ = errors_of(["--report", "json", "d.rlet"], 1)
    check(errors[0]["trace"] == ["in part(of_: 5 gal, parts: 0), called from line 2"], errors)
    _, errors, places = errors_of(["--report", "json", "c.rlet"], 1)
    check(not any("trace" in error for error in errors), errors)
    check([place[:2] + place[5:] for place in places] == [("c.rlet", 1, "check", "EXPECT_COMPARED"), ("c.rlet", 3, "error", "ADD_KINDS")], places)


def full_disk(folder):
    """/dev/full takes nothing: status 4 with one line."""
    write_files(folder, {"a.rlet": "show 1\n", "loud.rlet": TALKER})
    for arguments in (["a.rlet"], ["--help"], ["--report", "json", "a.rlet"], ["loud.rlet"], ["-e", "1"]):
        with open("/dev/full", "wb") as full:
            done = run(folder, arguments, stdout=full)
        check(done.returncode == 4, f"{arguments}: status {done.returncode}")
        compare("standard error", "rundlet: the output could not be written: No space left on device\n", done.stderr.decode())


def closed_pipe(folder):
    """A reader that leaves ends an endless script quietly, with status 4 and no signal."""
    write_files(folder, {"loud.rlet": TALKER})
    process = subprocess.Popen([PROGRAM, "loud.rlet"], cwd=folder, env=environment(folder), stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE)
    check(process.stdout.readline() == b"round and round\n", "no first line")
    process.stdout.close()
    error = process.stderr.read()
    process.stderr.close()
    check(process.wait(SECONDS) == 4, f"status {process.returncode}")
    check(error == b"", error)


def closed_streams(folder):
    """Without standard output there is no place for results; without standard error the status says it."""
    write_files(folder, {"a.rlet": "show 1\n"})
    quoted = f'"$0" a.rlet'
    for redirect, status in ((">&-", 4), ("2>&-", 0), ("<&-", 0)):
        done = subprocess.run(["sh", "-c", f"{quoted} {redirect}", PROGRAM], cwd=folder, env=environment(folder),
                              timeout=SECONDS, capture_output=True)
        check(done.returncode == status, f"{redirect}: status {done.returncode} {done.stderr}")
    done = subprocess.run(["sh", "-c", '"$0" - <&-', PROGRAM], cwd=folder, env=environment(folder), timeout=SECONDS,
                          capture_output=True)
    check(done.returncode == 4 and done.stderr.startswith(b"rundlet: - could not be read: "), done)


def unreadable(folder):
    """A file that may not be read, unless one is root, who may read all."""
    write_files(folder, {"a.rlet": "show 1\n"})
    os.chmod(folder / "a.rlet", 0)
    done = run(folder, ["a.rlet"])
    if os.geteuid() == 0:
        check(done.returncode == 0, done)
    else:
        check(done.returncode == 4, done)
        compare("standard error", "rundlet: a.rlet could not be read: Permission denied\n", done.stderr.decode())


def pipes(folder):
    """A pipe may be the script itself; one that a script names is refused, not waited for."""
    os.mkfifo(folder / "pipe.rlet")
    write_files(folder, {"use.rlet": 'use "pipe.rlet"\n', "read.rlet": 'let t = read("pipe.rlet")\n'})
    done = run(folder, ["use.rlet"])
    check(done.returncode == 1 and b"it is not a script" in done.stderr, done)
    done = run(folder, ["read.rlet"])
    check(done.returncode == 1 and b"is not a regular file" in done.stderr, done)
    piped = subprocess.run(["bash", "-c", 'echo "show 2 gal as qt" > pipe.rlet & exec "$0" pipe.rlet', PROGRAM],
                           cwd=folder, capture_output=True, timeout=30, check=False)
    check(piped.stdout == b"2 gal as qt = 8 qt\n" and piped.returncode == 0, piped)


def too_large(folder):
    """More than 64 MB is no script."""
    with open(folder / "a.rlet", "wb") as file:
        file.truncate((64 << 20) + (1 << 20))
    done = run(folder, ["a.rlet"])
    check(done.returncode == 4, done)
    compare("standard error", "rundlet: a.rlet is larger than 64 MB\n", done.stderr.decode())


def no_memory(folder):
    """When the machine gives no more, one line and status 3."""
    if "asan" in subprocess.run(["ldd", PROGRAM], capture_output=True, text=True).stdout:
        return  # the sanitizer itself wants terabytes of addresses
    write_files(folder, {"a.rlet": 'let a = "0123456789"\nwhile true do a = "{a}{a}" end\n'})
    limit = lambda: resource.setrlimit(resource.RLIMIT_AS, (200 << 20, 200 << 20))
    done = run(folder, ["--limit", "memory=900GB", "a.rlet"], preexec_fn=limit)
    check(done.returncode == 3, done)
    compare("standard error", "rundlet: there is no memory left\n", done.stderr.decode())


def endless_results(folder):
    """Results that are written at once are not kept; those kept for a report or a calendar count as memory."""
    write_files(folder, {"talk.rlet": TALKER, "dates.rlet": 'while true do event 2027-02-14, "rack" end\n'})
    if "asan" not in subprocess.run(["ldd", PROGRAM], capture_output=True, text=True).stdout:
        limit = lambda: resource.setrlimit(resource.RLIMIT_AS, (60 << 20, 60 << 20))
        with open(os.devnull, "wb") as nowhere:
            done = run(folder, ["--limit", "output=90MB", "talk.rlet"], preexec_fn=limit, stdout=nowhere)
        check(done.returncode == 3 and b"larger than their limit of 90MB" in done.stderr, done)
    for arguments in (["--report", "json", "talk.rlet"], ["--expect", "talk.rlet"], ["dates.rlet"]):
        done = run(folder, ["--limit", "memory=2MB", *arguments])
        check(done.returncode == 3 and b"needs more memory than its limit" in done.stderr, (arguments, done.stderr))


def no_signal_is_caught(folder):
    """Ctrl-C ends a script as it ends any program."""
    write_files(folder, {"a.rlet": 'print "go"\n' + TALKER})
    heard = lambda: signal.signal(signal.SIGINT, signal.SIG_DFL)  # a shell's background work is deaf to it
    process = subprocess.Popen([PROGRAM, "a.rlet"], cwd=folder, env=environment(folder), stdout=subprocess.PIPE,
                               preexec_fn=heard)
    check(process.stdout.readline() == b"go\n", "no first line")
    process.send_signal(signal.SIGINT)
    process.stdout.close()  # what it still writes must not fill our memory
    check(process.wait(SECONDS) == -signal.SIGINT, f"status {process.returncode}")


def report(folder, form, *arguments):
    return run(folder, ["--report", form, "a.rlet", *arguments])


def json_report(folder):
    """The shape of docs/reference/program.md, "Reports"."""
    write_files(folder, {"a.rlet": BATCH + KINDS + 'show "r": {a: [1, "x"]}, none, true, 2027-02-14, 1.050 SG\nshow today()\n'})
    done = run(folder, ["--today", "2027-02-14", "--report", "json", "a.rlet", "batch=5 gal"])
    check(done.returncode == 0 and not done.stderr, done)
    got = json.loads(done.stdout)
    check(list(got) == ["program", "script", "sha256", "inputs", "assumptions", "items", "expects"], list(got))
    check(got["program"] == "rundlet 0.1.0" and got["script"] == "a.rlet", got)
    check(got["sha256"] == hashlib.sha256((folder / "a.rlet").read_bytes()).hexdigest(), got["sha256"])
    check(got["inputs"][0] == {"name": "batch", "value": 5, "unit": "gal", "text": "5 gal", "set": True}, got["inputs"])
    check(got["inputs"][1] == {"name": "name", "value": "late", "unit": None, "text": "late", "set": False}, got["inputs"])
    check(got["inputs"][-1]["value"] == "2027-02-14" and got["inputs"][-1]["set"], got["inputs"])
    check(got["expects"] == {"passed": 1, "failed": 0}, got["expects"])
    items = got["items"]
    litres = next(item for item in items if item.get("label") == "5 gal as L")
    # NIST Handbook 44, appendix C: a gallon is 3.785 411 784 L
    check(litres["unit"] == "L" and abs(litres["value"] - 18.92705892) < 1e-12 and litres["text"] == "18.93 L", litres)
    table = next(item for item in items if item["item"] == "table")
    check(table["columns"][0] == {"label": "d", "unit": "mL", "values": [0, 5, 10]}, table)
    check(table["columns"][1] == {"label": "inverse", "unit": "mL", "values": [None, 0.2, 0.1]}, table)
    shown = [(item["value"], item["unit"]) for item in items if item["item"] == "show"]
    check(({"a": [1, "x"]}, None) in shown and (None, None) in shown and (True, None) in shown, shown)
    check(("2027-02-14", None) in shown and (1.05, "SG") in shown, shown)
    check([item["date"] for item in items if item["item"] == "event"] == ["2027-02-10", "2027-02-14"], items)
    check([item["text"] for item in items if item["item"] == "caution"] == ["leave room for the foam"], items)


def json_of_a_failure(folder):
    """Results so far and the error; both streams, status 1. A wrong command line gives no report."""
    write_files(folder, {"a.rlet": "input n = 1\nshow n\nexpect n == 2\nshow 1 gal + 1 g\n"})
    done = report(folder, "json")
    got = json.loads(done.stdout)
    check(done.returncode == 1 and done.stderr.startswith(b"a.rlet:3:"), done)
    check(got["error"] == {"place": "a.rlet:4:12", "message": "a volume and a mass cannot be added"}, got["error"])
    check(got["expects"] == {"passed": 0, "failed": 1} and len(got["items"]) == 1, got)
    done = report(folder, "json", "m=1")
    check(done.returncode == 2 and done.stdout == b"", done)


def drawn_reports(folder):
    """Every form of a report tells what was drawn, what was refused and the seed that repeats it."""
    write_files(folder, {"a.rlet": REFUSED})
    for form in ("text", "markdown", "html", "json", "csv"):
        done = run(folder, ["--trials", "1000", "--seed", "2", "--report", form, "a.rlet"])
        text = done.stdout.decode()
        check(done.returncode == 0 and not done.stderr, done)
        for part in ("of 1000) have no such value: too much", ", 95 % from ", "1000 times; --seed 2 repeats it"):
            check(part in text, f"{form} lacks {part!r}:\n{text}")
        if form == "markdown":
            check("each ± is drawn at random 1000 times; --seed 2 repeats it" in text, text)
        if form == "json":
            shows = [item for item in json.loads(text)["items"] if item["item"] == "show"]
            refused, drawn = shows[0]["trials"], shows[1]["trials"]
            check(refused["refused"] > 0 and refused["refused"] + refused["count"] == 1000, refused)
            check("mean" not in refused and "uncertainty" not in shows[0], shows[0])
            check(drawn["count"] == 1000 and drawn["low"] < drawn["mean"] < drawn["high"], drawn)


def source_names(folder):
    """What the budget calls each ±."""
    write_files(folder, {"parts/a.rlet": SOURCES_ASIDE})
    for script, names in SOURCE_NAMES:
        write_files(folder, {"a.rlet": script})
        done = run(folder, ["--budget", "a.rlet"])
        told = re.findall(r"%  (.*) = ", done.stdout.decode())
        check(done.returncode == 0 and not done.stderr, f"{script}\n{done.stderr.decode()}")
        check(sorted(told) == sorted(names), f"{script}\n{told} instead of {names}")


def assumptions(folder):
    """A report says what was taken for granted of a liquid."""
    write_files(folder, {"a.rlet": "show liquid(volume: 1 L, gravity: 1.010 SG, strength: 6 %ABV)\n"})
    text = " ".join(report(folder, "markdown").stdout.decode().split())
    check("a liquid was given without its sugar: all its dissolved solids count as sugar" in text, text)


def csv_report(folder):
    """Long form, by the rules of RFC 4180, as another program reads it."""
    write_files(folder, {"a.rlet": KINDS + 'show "a, ""b""": 1.5 gal\n'.replace('""', "'")})
    rows = list(csv.DictReader(io.StringIO(report(folder, "csv").stdout.decode(), newline="")))
    check(list(rows[0]) == ["item", "label", "row", "value", "unit", "uncertainty", "text"], rows[0])
    check([row["value"] for row in rows if row["label"] == "inverse"] == ["", "0.2", "0.1"], rows)
    check([row["row"] for row in rows if row["label"] == "d"] == ["1", "2", "3"], rows)
    comma = next(row for row in rows if row["label"] == "a, 'b'")
    check(comma["value"] == "1.5" and comma["unit"] == "gal" and comma["text"] == "1.5 gal", comma)
    check([row["value"] for row in rows if row["item"] == "event"] == ["2027-02-10", "2027-02-14"], rows)


WIDE = """unit jug = 3 L
let og = 1.052 ± 0.001 SG
table d from 0 mL to 10 mL by 5 mL
  column "og, as read" = og
  column "rate" = 10 mL / d
  column "word" = if d > 0 mL then "so \\"so\\"" else none
  column "both" = [d, 1 jug]
end
table x from 1 to 2, fg from 1.000 SG to 1.010 SG by 10 pts
  column "loss" = x * 2 jug
end
show ferment(juice(gravity: 1.050 SG), to: 1.000 SG).strength
caution "mind the bottles"
"""


def wide_tables(folder):
    """Each table as wide CSV, which read() takes again, and below them the cautions."""
    write_files(folder, {"a.rlet": WIDE})
    done = report(folder, "tables")
    wanted = ('d [mL],"og, as read [SG]","± og, as read [SG]",rate,word,both\r\n'
              '0,1.052,0.001,,,"[0 mL, 1 jug]"\r\n'
              '5,1.052,0.001,2,"so ""so""","[5 mL, 1 jug]"\r\n'
              '10,1.052,0.001,1,"so ""so""","[10 mL, 1 jug]"\r\n'
              '\r\n'
              'x,1.000 SG [jug],1.010 SG [jug]\r\n'
              '1,2,2\r\n'
              '2,4,4\r\n'
              '\r\n'
              'caution,mind the bottles\r\n')
    check(done.returncode == 0 and done.stdout.decode() == wanted and not done.stderr, done)
    write_files(folder, {"one.csv": wanted.split("\r\n\r\n")[1], "a.rlet": "unit jug = 3 L\nlet t = read(\"one.csv\")\n"
                         'expect t[2]["1.010 SG"] == 12 L and t[1].x == 1\n'})
    check(run(folder, ["a.rlet"]).returncode == 0, "read() does not take the table")
    write_files(folder, {"a.rlet": "show 1\n"})
    done = report(folder, "tables")
    check(done.stdout == b"" and done.returncode == 0, done)
    check(done.stderr.decode() == "rundlet: this script makes no table\n"
                                  "   hint: the report form csv lists every result, one to a row\n", done)


def text_report(folder):
    """The head above the results."""
    write_files(folder, {"a.rlet": BATCH})
    hashed = hashlib.sha256(BATCH.encode()).hexdigest()
    compare("report", f"program      rundlet 0.1.0\nscript       a.rlet\nSHA-256      {hashed}\n"
            f"inputs       batch = 5 gal (set)\n             name = \"late\"\n             dose = 4 g\n\n"
            "Twice = 10 gal\nname = late\ndose = 4 g\n", report(folder, "text", "batch=5 gal").stdout.decode())


def same_bytes_again(folder):
    """The same run gives the same bytes, whatever the locale and the time zone."""
    write_files(folder, {"a.rlet": BATCH + KINDS})
    for form in FORMS.split(", "):
        first = report(folder, form).stdout
        again = subprocess.run([PROGRAM, "--report", form, "a.rlet"], cwd=folder, timeout=SECONDS, capture_output=True,
                               env=dict(environment(folder), LC_ALL="de_DE.UTF-8", TZ="Pacific/Auckland")).stdout
        check(first and first == again, f"{form} differs")


def far_down(folder):
    """An error past each power of ten of lines: run, --check, --expect, every form of a report, and by use."""
    kinds, message = "show 5 gal + 3 kg\n", "a volume and a mass cannot be added"
    for power in range(1, 7):
        for line in (10 ** power - 1, 10 ** power):
            write_files(folder, {"a.rlet": "\n" * (line - 1) + kinds})
            width = max(5, len(str(line)))
            wanted = (f"a.rlet:{line}:12: {message}\n{line:>{width}} | {kinds}{'':{width}} |      ----- - ----\n"
                      f"{'':{width}} |      volume  mass\n   hint: to pour dry sugar in, add liquids: base + 3 kg of sugar()\n")
            for arguments in (["a.rlet"], ["--check", "a.rlet"]):
                done = run(folder, arguments)
                check(done.returncode == 1, f"{arguments}, line {line}: status {done.returncode}")
                compare("standard error", wanted, done.stderr.decode())
    write_files(folder, {"a.rlet": "\n" * 99999 + kinds, "b.rlet": 'use "a.rlet"\n',
                         "c.rlet": "\n" * 99999 + "expect 1 == 2\n", "d.rlet": "\n" * 99999 + "show 1 +\n"})
    for form in FORMS.split(", "):
        done = report(folder, form)
        check(done.returncode == 1 and b"a.rlet:100000:12" in done.stderr, f"{form}: {done}")
        check(message.encode() in done.stdout, f"{form}: {done}")
    for name, place in (("b", "a.rlet:100000:12: "), ("c", "c.rlet:100000:1: "), ("d", "d.rlet:100000:9: ")):
        for arguments in ([], ["--check"], ["--expect"], ["--trials", "9"], ["--budget"]):
            if name != "d" and "--check" in arguments:
                continue  # --check runs no expect, and a script it uses is checked by itself
            done = run(folder, [*arguments, f"{name}.rlet"])
            check(done.returncode == 1 and place in done.stderr.decode(), (arguments, name, done))


SCENES = [far_down, source_names, drawn_reports, errors_as_data, full_disk, closed_pipe, closed_streams, unreadable, pipes, too_large, no_memory, endless_results, no_signal_is_caught, json_report,
          json_of_a_failure, assumptions, csv_report, wide_tables, text_report, same_bytes_again]


def main():
    chosen = sys.argv[2] if len(sys.argv) > 2 else ""
    tests = [(name, lambda folder, row=(arguments, expected): run_case(folder, *row)) for name, arguments, expected in CASES]
    tests += [(scene.__doc__, scene) for scene in SCENES]
    failed = ran = 0
    for name, test in tests:
        if chosen not in name:
            continue
        ran += 1
        with tempfile.TemporaryDirectory() as folder:
            try:
                test(pathlib.Path(folder).resolve())
            except (Failure, subprocess.TimeoutExpired, StopIteration, ValueError, KeyError) as failure:
                failed += 1
                print(f"not ok: {name}\n  {failure!r}" if not str(failure) else f"not ok: {name}\n  {failure}")
    print(f"{ran} cases, {failed} failed")
    return 1 if failed or not ran else 0


if __name__ == "__main__":
    sys.exit(main())
