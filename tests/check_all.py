#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds `rundlet --check` against runs.

    check_all.py quiet   --check says nothing of any script of tests/lang, tests/stdlib, examples and stdlib that runs
                         with status 0, but for the notes that are counted here
    check_all.py same    of scripts with one mistake of kind, --check says what the run says, byte for byte but for the
                         values that formulas were called with; of those under tests/errors, that (with more that is
                         wrong, maybe, and without failed checks) or nothing (what only a run can know)

RUNDLET in the environment names the program."""

import os
import pathlib
import re
import subprocess
import sys
import tempfile

from cases import unpack_all
from run_scripts import TESTS, Script, program, text_of

TOP = TESTS.parent

# Each a script whose last statements hold one mistake, which a run and --check must tell alike.
MISTAKES = r"""
show 12 floz + 200 g
===
let batch = 5 gal
let dose = 200 g
show batch + dose
===
let batch = 5 gal
show batch - 2 kg
===
show 5 gal + 3
===
let n = 3
show 5 gal - n
===
show 200 g + 10%
===
input share = 10%
input batch = 5 gal
show batch + share
===
show 1.050 SG + 1.010 SG
===
show 68 °F + 60 °F
===
show 2 * 68 °F
===
let at = 68 °F
show at / 2
===
show 20 °Bx * 5 gal
===
show 68 °F + 5 pts
===
show 2027-02-14 + 3
===
show 3 + "text"
===
show [1, 2] + 3
===
let base = juice(gravity: 1.050 SG)
show base + 200 g
===
let base = juice(gravity: 1.050 SG)
show base - 1 L
===
let base = juice(gravity: 1.050 SG)
show base - base
===
show 5 s of juice(gravity: 1.050 SG)
===
show 5 gal of 3 kg
===
show 2 ^ 3 gal
===
let x = 5 gal
show -"text"
===
let at = 5 °C
show -at
===
let x = 5 gal
show (x) L
===
show 5 gal as kg
===
let l = juice(gravity: 1.050 SG)
show l as L
===
show [1 gal, 2 gal] as L
===
show "5 gal" as L
===
show 40 gal mod 3 kg
===
show 40 proof * 5 gal
===
show 5 gal == 5 kg
===
show 5 gal > 5
===
show 5 gal >= 2027-02-14
===
show "a" < "b"
===
let l = juice(gravity: 1.050 SG)
show l == l
===
show 1.050 SG near 1.051 SG within 1.000 SG
===
show 5 gal near 4 gal within 1 kg
===
show not 3
===
show 3 > 2 and 5 gal
===
show "text" or true
===
if 5 gal then show 1 end
===
while "x" do stop end
===
show if 3 then 1 else 2
===
let x = 5 gal
x = 2 kg
===
let x = 5 gal
for i from 1 to 3 do
    x = x * 2
    x = 3 kg
end
===
for x in 5 do show x end
===
show [x for x in "text"]
===
for x in [1 gal, 2 L] do show x + 1 kg end
===
for x from 1 gal to 2 kg do show x end
===
for x from 1 gal to 2 gal by 1 kg do show x end
===
for t from 60 °F to 70 °F by 5 °F do show t end
===
for t from 60 °F to 70 °F by 5 F° do show t + 1 gal end
===
table x from 1 gal to 2 kg
    column "x" = x
end
===
note 5 gal
===
heading 5
===
caution true
===
event 5 gal, "rack"
===
event 2027-02-14, 5
===
show "text" to 2 places
===
print "{2027-02-14 to 3 digits}"
===
let list = [1, 2]
show list["name"]
===
show (5 gal)[1]
===
let list = [1, 2]
show list[5 gal]
===
show (5 gal).volume
===
let r = {malic: 5 g/L, name: "late"}
show r.malik
===
let r = {malic: 5 g/L, name: "late"}
show (r with {tartaric: 1 g/L}).citric
===
let r = {malic: 5 g/L, name: "late"}
show r.malic + 1 gal
===
show juice(gravity: 1.050 SG).foam
===
show juice(gravity: 1.050 SG)["graviti"]
===
show (5 gal) with {malic: 5 g/L}
===
show juice(gravity: 1.050 SG) with {acid: 5 gal}
===
show juice(gravity: 1.050 SG) with {colour: 5}
===
show juice(gravity: 1.050 SG) with {cost: 5 gal}
===
show 5 gal ± 1 kg
===
show "text" ± 1
===
show 1.050 SG ± 1.000 SG
===
input batch from 1 gal to 10 kg = 5 gal
===
find x from 0 gal to 5 kg so x == 3 gal
===
find x from 0 gal to 5 gal so x == 3 kg
===
find x from 0 gal to 5 gal so x + 1 kg == 3 gal
===
expect 5 gal == 5 kg
===
expect 5 gal near 5 kg within 1 gal
===
expect 5 gal
===
formula dose(volume is volume) is mass = volume * 2 g/L
show dose(5 kg)
===
formula dose(volume, rate is concentration: 2 g/L)
    give volume * rate
end
show dose(5 gal, rate: 3 gal)
===
formula twice(x) = 2 * x
show twice(5 gal) + 1 kg
===
formula total() = 5 gal
let batch = 2 kg
show batch + total()
===
let x = if true then 5 gal else 2 L
show x + 1 kg
===
let list = append([1 gal], 2 gal)
show max(list) + 1 kg
===
show sqrt(4 m^2) + 1 kg
===
show abv(1.050 SG, 1.000 SG) + 1 gal
===
unit crown is money
unit penny = 0.01 crown
show 5 penny + 2 gal
===
unit crown is money
unit florin is money
show 5 crown + 2 florin
===
unit bottle
show 5 bottle + 2 gal
===
show abv(1.050, 1.000)
===
show juice(gravity: 1.050)
===
show ferment(5 L)
===
show sqrt("a")
===
show water_density(5 gal)
===
show hydrometer(1.050 SG, 68)
===
show 5 gal of juice(gravity: 1.050 SG, acid: 6 g)
===
show sugar(cost: 5)
===
show take(juice(gravity: 1.050 SG), 50%)
===
show round(2027-02-14)
===
show abs(68 °F)
===
show length(5)
===
show range("a", 5)
===
let l = juice(gravity: 1.050 SG, volume: 5 gal)
show ferment(l, to: 6 %ABV)
===
show log_forecast([], expected: 8 pts)
===
show upper(5 gal)
===
let at = 20 °C
show at + 1 gal, water_density(at) + 1 °C
===
show floor(juice(gravity: 1.050 SG).gravity) + 1 gal
===
let total = 5 gal
show total / 0
===
show 5 gal mod (2 - 2), 3
===
show [1, 2, 3][4]
===
let sizes = [1 gal, 2 gal]
show sizes[-3]
===
show [][1]
===
formula dose(volume)
    if volume > 5 gal then
        let much = volume
    end
end
show dose(5 gal)
"""

# The hint of these shows a number that only a run knows; --check has the words of the script in its place.
OWN_WORDS = [
    ("formula dose(volume is volume) = volume * 2 g/L\nshow dose(5 gal) + 1 gal\n",
     "to pour dry sugar in, add liquids: base + 37.85 g of sugar()",
     "to pour dry sugar in, add liquids: base + dose(5 gal) of sugar()"),
    ("formula half(x) is mass = x / 2\nlet sugars = half(5 g)\nshow sugars + 1 gal\n",
     "base + 2.5 g of sugar()", "base + sugars of sugar()"),
    ("let batch = 5 gal\nbatch = 6 gal\nshow batch - 5%\n", "6 gal - 5% of 6 gal", "batch - 5% of batch"),
    ("let share = 5%\nfor x in [share] do\n    show 5 gal + x\nend\n", "5 gal + 5% of 5 gal", "5 gal + x of 5 gal"),
    ("let n = 1\nn = 3\nshow 5 gal + n\n", "for example 3 gal", "for example n gal"),
    ("let batch = 5 gal\nbatch = 6 gal\nshow batch ± 5%\n", "write the amount: ± 0.3 gal",
     "write a difference of the same kind: 5 gal ± 0.1 gal, 1.050 SG ± 2 pts, 68 °F ± 1 F°"),
]

# Each statement has its error, and --check goes on: (script, the places).
SEVERAL = [
    ("let x = 5 gal + 1 kg\nlet y = 2\ny = 3 kg\nif y then\n    show -\"a\"\nend\nshow x + 1\n"
     "formula f(a is volume) = a + 1 kg\n", ["1:15", "3:1", "4:4", "5:10", "8:28"]),
    # names that are not known, and kinds that are wrong elsewhere
    ("show foo\nshow 5 gal + 2 g\n", ["1:6", "2:12"]),
    ("formula f(a is volume) = a + foo\nshow 5 gal + 2 g\nif foo then\n    show -\"a\"\nend\nshow 1 kg + 1 L\n",
     ["1:30", "2:12", "3:4", "4:10", "6:11"]),
    ("for x in foo do show x + 1 kg, 1 gal + 1 g end\ntable y in foo\n    column \"y\" = y\nend\nshow 2 * 68 °F\n",
     ["1:10", "1:38", "2:12", "5:8"]),
    # nothing that follows from an error of names
    ("let x = foo + 1 gal\nshow x + 2 g, x as kg\nx = 3 kg\nfind y from foo to 2 gal so y == 1 kg\nshow y + 1 kg\n",
     ["1:9", "4:13"]),
    ("input b = 5 gal\ninput b = 6 kg\nshow b + 2 g, b + 2 gal\n", ["2:7"]),
    ("formula f(a is volum) is mas = a\nshow f(3 gal) + 1 gal, f(2 kg) + 1 kg\n", ["1:16"]),
    ("formula f(a is volume) is volume = a\nformula f(a is mass) is mass = a\nshow f(2 kg) + 1 kg\n", ["2:9"]),
    ("formula f(a is volume) is volume = a + foo\nshow f(2 kg) + 1 kg\n", ["1:40"]),
    ("show juice(weight: 3 kg) + 5 gal\nshow abv(1.050 SG) + 1 kg\n", ["1:12", "2:6"]),
    ("show 5 gal + 2 g, foo\n", ["1:19"]),
    # beside errors of syntax, names that no statement could have declared, and no kinds
    ("let x = = 5\nshow y\nshow x\nshow 5 gal + 2 g\nshow 3 +* 4\n", ["1:9", "2:6", "5:9"]),
]

# Nothing here is a mistake of kind, or none that is sure.
SOUND = r"""
let sizes = [1, 2]
if length(sizes) > 2 then show sizes[3] end
show if length(sizes) > 2 then sizes[3] else sizes[2]
===
let sizes = [1, 2]
sizes = append(sizes, 3)
show sizes[3]
===
let n = 0
show if n == 0 then 0 else 5 / n
===
formula f(x)
    while true do
        if x > 5 then give x end
        x = x + 1
    end
end
show f(3)
===
formula f(x)
    if x > 5 then
        give refuse("too much")
    else
        give x
    end
end
show f(3)
===
let x = none
if x != none and x > 5 gal then show x end
let y = if x == none then 5 gal else x
show y
===
let best = none
for x in [1 gal, 2 gal] do
    if best == none then best = x end
    if x > best then best = x end
end
show best + 1 gal
===
formula f(x) = if kind(x) == "volume" then x as L else x * 2
show f(5 gal), f(3)
===
let x = 5 gal
formula read_x() = x
show read_x() + 1 gal
let x = 5 kg
show read_x() + 1 kg
===
let x = 5 gal
x = none
x = 3 kg
show x + 1 kg
===
expect error 5 gal + 3 kg
===
table x from 1 to 2
    column "never" = 1 gal + 1 kg
end
===
formula count(n) = if n <= 0 then 0 else 1 + count(n - 1)
show count(3) + 1
===
let power = 0
for i from 1 to 2 do power = power + 1 end
show (2 m)^power as m^2
===
let rows = []
for i from 1 to 3 do rows = append(rows, i * 1 gal) end
show rows[1] + 1 gal, sum(rows) + 1 gal
===
let r = {a: 1}
r = r with {b: 2 gal}
show r.b + 1 gal
===
show [x / 0 for x in []], 1 gal * 2 gal / 3 gal
===
let share = 5%
share = 0.05
show share gal
===
let strength = 40 proof
strength = 20 %ABV
show strength * 2 gal
"""


# Scripts with names that nothing reads, or a division by zero that nothing comes to, on purpose, and
# names that are a unit's or a library formula's too: how many notes.
NOTED = {
    "lang/everyday/a_formula_reads_a_name_further_down": 1,
    "lang/everyday/in_and_to_convert": 1,
    "lang/everyday/own_formula_in_place_of_the_library_s": 2,
    "lang/everyday/own_names_win": 11,
    "lang/everyday/own_unit_in_place_of_a_built_in_one": 2,
    "lang/everyday/own_unit_under_everyday_names": 2,
    "tests/lang/library_limits": 3,
    "lang/control/loop_variable_is_free": 1,
    "lang/formulas/kind_words": 9,
    "lang/formulas/kind_words_quantities": 9,
    "lang/formulas/kinds": 1,
    "lang/formulas/over_the_library": 1,
    "lang/let/a_unit_names_a_value": 2,
    "lang/notes/own": 1,
    "lang/precedence/short_circuit": 1,
    "lang/table/two_inputs": 1,
    "lang/units/values_in_brackets": 2,
    "lang/use/own_formula_of_one_name": 1,
}


def run(arguments, folder):
    environment = dict(os.environ, XDG_DATA_HOME="/no-such-folder", NO_COLOR="1")
    done = subprocess.run([program(), *arguments], cwd=folder, env=environment, stdin=subprocess.DEVNULL,
                          capture_output=True, timeout=60)
    return done.returncode, without_values(text_of(done.stderr)), text_of(done.stdout)


def without_values(errors):
    """Only a run knows what a formula was called with."""
    return re.sub(r"^(   in \w+)\(.*\)((?:, called from .*)?)$", r"\1(…)\2", errors, flags=re.M)


def parts_of(errors):
    """Each error by itself: --check has them line after line, and more of them than a run."""
    return re.split(r"^(?=\S+:\d+:\d+: )", errors, flags=re.M)


def is_note(part):
    return re.match(r"\S+:\d+:\d+: note: ", part) is not None


def without_notes(errors):
    """Notes are --check's alone, and no errors."""
    return "".join(part for part in parts_of(errors) if not is_note(part))


def check(folder, name="s.rlet"):
    status, errors, output = run(["--check", name], folder)
    return status, without_notes(errors), output


def scripts(*roots):
    """Each script below the roots, and each case of their case files."""
    with tempfile.TemporaryDirectory() as into:
        for root in [*roots, *unpack_all(pathlib.Path(into), *roots)]:
            for path in sorted(root.rglob("*.rlet")):
                if "parts" not in path.relative_to(root).parts:
                    yield Script(path)


def name_of(script):
    """KIND/TOPIC/CASE, wherever the script was unpacked."""
    return "/".join(script.path.with_suffix("").parts[-3:])


def noted(script):
    """How many notes it should have."""
    path = script.path.with_suffix("")
    return NOTED.get(str(path.relative_to(TOP)) if path.is_relative_to(TOP) else name_of(script), 0)


def runs_well(script):
    return script.status in (None, 0) and not re.search(r"(?:^|\s)#!(?: |$)", script.text)


def quiet():
    """Those scripts have entries of their own that see them run with status 0."""
    offences, count = [], 0
    for script in scripts(TESTS / "lang", TESTS / "stdlib", TOP / "examples", TOP / "stdlib"):
        if not runs_well(script):
            continue
        count += 1
        status, errors, output = run(["--check", script.path.name], script.path.parent)
        notes = [part for part in parts_of(errors) if is_note(part)]
        if status or without_notes(errors) or output or len(notes) != noted(script):
            offences.append(f"{name_of(script)}: status {status}\n{errors}{output}")
    return offences, count


def write(folder, text):
    pathlib.Path(folder, "s.rlet").write_text(text.rstrip("\n") + "\n", encoding="utf-8")


def examine(folder, offences):
    """What a run and --check say of scripts that are not quite alike."""
    for text, by_run, by_check in OWN_WORDS:
        write(folder, text)
        ran, checked = run(["s.rlet"], folder), check(folder)
        if by_run not in ran[1] or ran[1].replace(by_run, by_check) != checked[1] or checked[0] != 1:
            offences.append(f"{text}\nthe run:\n{ran[1]}--check:\n{checked[1]}")
    for text, places in SEVERAL:
        write(folder, text)
        status, errors, _ = check(folder)
        if re.findall(r"^s\.rlet:(\d+:\d+):", errors, re.M) != places or status != 1:
            offences.append(f"{text}\n--check, status {status}, expected {places}:\n{errors}")
    for text in SOUND.strip().split("\n===\n"):
        write(folder, text)
        ran, checked = run(["s.rlet"], folder), check(folder)
        if ran[0] or checked != (0, "", ""):
            offences.append(f"{text}\nthe run, status {ran[0]}:\n{ran[1]}--check, status {checked[0]}:\n{checked[1]}")
    return len(OWN_WORDS) + len(SEVERAL) + len(SOUND.split("\n===\n"))


def same():
    offences, count = [], 0
    with tempfile.TemporaryDirectory() as folder:
        for text in MISTAKES.strip().split("\n===\n"):
            count += 1
            write(folder, text)
            ran, checked = run(["s.rlet"], folder), check(folder)
            if ran[0] != 1 or not ran[1] or ran[:2] != checked[:2]:
                offences.append(f"{text}\nthe run, status {ran[0]}:\n{ran[1]}--check, status {checked[0]}:\n{checked[1]}")
        count += examine(folder, offences)
    for script in scripts(TESTS / "errors"):
        golden = script.path.with_suffix(".err")
        if script.arguments or script.status not in (None, 1) or not golden.exists():
            continue
        count += 1
        want = without_values(golden.read_text(encoding="utf-8", errors="backslashreplace"))
        status, errors, _ = check(script.path.parent, script.path.name)
        known = {part for part in parts_of(want) if "this check does not hold" not in part.split("\n")[0]}
        if errors and not known <= set(parts_of(errors)):
            offences.append(f"{name_of(script)}\nthe run:\n{want}--check, status {status}:\n{errors}")
    return offences, count


def main():
    parts = {"quiet": quiet, "same": same}
    if sys.argv[1:] not in [[name] for name in parts]:
        print(__doc__)
        return 2
    offences, count = parts[sys.argv[1]]()
    for offence in offences:
        print(offence)
    print(f"{count} scripts, {len(offences)} offences")
    return 1 if offences or count < 20 else 0


if __name__ == "__main__":
    sys.exit(main())
