#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The manual page and --help name the same options: manual.py PAGE, RUNDLET names the program."""

import os
import pathlib
import re
import subprocess
import sys


def main():
    page = pathlib.Path(sys.argv[1]).read_text(encoding="utf-8")
    done = subprocess.run([os.environ["RUNDLET"], "--help"], stdin=subprocess.DEVNULL, capture_output=True, timeout=60,
                          text=True, encoding="utf-8", check=True)
    helped = set(re.findall(r"(?<![\w-])--?[a-z]+\b", done.stdout))
    manual = {"-" + option for option in re.findall(r"^\.It Fl (-?[a-z]+)", page, re.M)}
    for option in sorted(helped - manual):
        print(f"{option} is in --help, not in the manual page")
    for option in sorted(manual - helped):
        print(f"{option} is in the manual page, not in --help")
    print(f"{len(helped & manual)} options in both")
    return 0 if helped == manual and helped else 1


if __name__ == "__main__":
    sys.exit(main())
