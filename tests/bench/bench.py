#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Times Rundlet beside Lua 5.4 on the same work and prints the table for docs/performance.md. Never a test: times
depend on the machine, so all contestants run in turn within a round, each against the Lua of its own round, and the
median of those ratios is shown with the least and the most.

    bench.py [PROGRAM] [--rounds N] [--only NAME]     PROGRAM is by default build/tested/rundlet, then build/release

Needs the package lua5.4. Times are wall-clock, process start included."""

import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

TOP = pathlib.Path(__file__).resolve().parent.parent.parent
LOOPS = 5_000_000
LINES = 30_000
STARTS = 50

QUANTITY_LOOP = f"""formula run(rounds)
  let v = 5 gal
  for i from 1 to rounds do
    v = v * 1.0000001 + 0.5 L - 0.13 gal
  end
  give v
end
show run({LOOPS})
"""
NUMBER_LOOP = f"""formula run(rounds)
  let v = 5
  for i from 1 to rounds do
    v = v * 1.0000001 + 0.5 - 0.13
  end
  give v
end
show run({LOOPS})
"""
LUA_LOOP = f"""local function run(rounds)
  local v = 5.0
  for i = 1, rounds do
    v = v * 1.0000001 + 0.5 - 0.13
  end
  return v
end
print(run({LOOPS}))
"""
FIB = """formula fib(n) = if n < 2 then n else fib(n - 1) + fib(n - 2)
show fib(27)
"""
LUA_FIB = """local function fib(n)
  if n < 2 then return n else return fib(n - 1) + fib(n - 2) end
end
print(fib(27))
"""


def lets(keyword):
    """As many declarations, each of a new name: the one before and a number."""
    rows = [f"{keyword}x0 = 1"] + [f"{keyword}x{i} = x{i - 1} + {i}.5" for i in range(1, LINES)]
    return "\n".join(rows) + "\n"


# (name, contestants, title); each contestant is (label, language, script), and the first is Lua.
BENCHMARKS = [
    ("loop", [("Lua, plain numbers", "lua", LUA_LOOP), ("Rundlet, plain numbers", "rundlet", NUMBER_LOOP),
              ("Rundlet, volumes in two units", "rundlet", QUANTITY_LOOP)],
     "five million rounds of `v = v * 1.0000001 + 0.5 L - 0.13 gal`"),
    ("fib", [("Lua", "lua", LUA_FIB), ("Rundlet", "rundlet", FIB)], "fib(27), recursive"),
    ("start", [("Lua", "lua", ""), ("Rundlet", "rundlet", "")], f"start-up, an empty script, {STARTS} times"),
    ("lets", [("Lua", "lua", lets("")), ("Rundlet", "rundlet", lets("let "))],
     "a script of 30 000 declarations, read and run"),
]


def seconds(command, times):
    start = time.perf_counter()
    for _ in range(times):
        done = subprocess.run(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        if done.returncode != 0:
            sys.exit(f"{' '.join(command)}: status {done.returncode}\n{done.stderr.decode()}")
    return (time.perf_counter() - start) / times


def measure(name, contestants, programs, rounds, folder):
    commands = []
    for number, (_, language, script) in enumerate(contestants):
        path = folder / f"{name}{number}.{'rlet' if language == 'rundlet' else 'lua'}"
        path.write_text(script, encoding="utf-8")
        commands.append([programs[language], str(path)])
    times = STARTS if name == "start" else 1
    for command in commands:
        seconds(command, 1)  # warm the file cache
    taken = [[] for _ in commands]
    for _ in range(rounds):
        for column, command in zip(taken, commands):
            column.append(seconds(command, times))
    return taken


def report(title, contestants, taken):
    for number, (label, _, _) in enumerate(contestants):
        median = statistics.median(taken[number])
        ratios = [own / lua for own, lua in zip(taken[number], taken[0])]
        spread = f"{min(ratios):.2f} to {max(ratios):.2f}" if number else ""
        ratio = f"{statistics.median(ratios):.2f}"
        print(f"| {title if number == 0 else ''} | {label} | {median * 1000:.1f} ms | {ratio} | {spread} |", flush=True)


def default_program():
    for tree in ("tested", "release"):
        path = TOP / "build" / tree / "rundlet"
        if path.exists():
            return str(path)
    sys.exit("no build found: run examples/run first, or name the program")


def main():
    arguments, rounds, only = sys.argv[1:], 9, None
    if "--rounds" in arguments:
        at = arguments.index("--rounds")
        rounds = int(arguments[at + 1])
        del arguments[at:at + 2]
    if "--only" in arguments:
        at = arguments.index("--only")
        only = arguments[at + 1]
        del arguments[at:at + 2]
    programs = {"lua": "lua5.4", "rundlet": os.path.abspath(arguments[0]) if arguments else default_program()}
    print(f"Median of {rounds} rounds; the ratio is to Lua 5.4 in the same round.\n")
    print("| work | who | time | ratio | spread |\n|---|---|---:|---:|---|")
    with tempfile.TemporaryDirectory() as folder:
        for name, contestants, title in BENCHMARKS:
            if only in (None, name):
                report(title, contestants, measure(name, contestants, programs, rounds, pathlib.Path(folder)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
