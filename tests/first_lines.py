#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Each line of first_lines.txt is answered at the prompt as it says there. first_lines.py PROGRAM"""

import concurrent.futures
import pathlib
import re
import subprocess
import sys

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
LINES = pathlib.Path(__file__).with_name("first_lines.txt")


def run(line):
    done = subprocess.run([PROGRAM, "--prompt"], input=line + "\n", capture_output=True, timeout=120, text=True, encoding="utf-8")
    return done.returncode, done.stderr


def fault_of(case):
    """None, or what is wrong."""
    typed, _, wanted = case.partition(" ⇒ ")
    status, error = run(typed)
    if wanted.startswith("? "):
        wanted = wanted[2:]
        if status == 0 or wanted not in error:
            return f"{typed}: does not show {wanted}\n{error}"
        return None if run(wanted)[0] == 0 else f"{typed}: {wanted} does not run"
    read = re.findall(r"^    read as: (.+)$", error, re.M)
    if status != 0 or read != ([wanted] if wanted else []):
        return f"{typed}: status {status}, read as {read}, wanted {wanted or 'no other line'}\n{error}"
    return None


def main():
    cases = [line for line in LINES.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        faults = [fault for fault in pool.map(fault_of, cases) if fault]
    print("\n".join(faults))
    shown = sum(" ⇒ ? " in case for case in cases)
    read = sum(" ⇒ " in case for case in cases) - shown
    print(f"{len(cases)} lines: {len(cases) - read - shown} as they are, {read} read, {shown} shown; {len(faults)} faults")
    return 1 if faults or len(cases) < 60 else 0


if __name__ == "__main__":
    sys.exit(main())
