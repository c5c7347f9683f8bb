#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Each line of first_lines.txt is answered at the prompt, or the error shows a line that runs. first_lines.py PROGRAM"""

import pathlib
import re
import subprocess
import sys

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())
LINES = pathlib.Path(__file__).with_name("first_lines.txt")
OFFERED = (r"^    (?:try|for example): (.+)$", r"^   hint: write (.+)$",
           r"^   hint: .*(?:for example|before this one:|ounces write) (.+)$")


def run(line):
    done = subprocess.run([PROGRAM, "--prompt"], input=line + "\n", capture_output=True, timeout=60, text=True, encoding="utf-8")
    return done.returncode, done.stderr


def offered(error):
    for pattern in OFFERED:
        found = re.findall(pattern, error, re.M)
        if found:
            return found[-1]
    return None


def main():
    answered = shown = 0
    faults = []
    lines = [line for line in LINES.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    for line in lines:
        status, error = run(line)
        if status == 0:
            answered += 1
            continue
        other = offered(error)
        if other and run(other)[0] == 0:
            shown += 1
        else:
            faults.append(f"{line}: shows {other!r}\n{error}")
    print("\n".join(faults))
    print(f"of {len(lines)} lines {answered} are answered, and {shown} lead to one that runs")
    return 1 if faults or len(lines) < 60 else 0


if __name__ == "__main__":
    sys.exit(main())
