# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The files of a tree, for the tests that read all of them."""

import pathlib
import re
import subprocess
import sys

MADE = re.compile(r"(\.git|build)/|.*__pycache__/")


def top_of_tree():
    """The folder named on the command line, else the tree these tests are in."""
    return pathlib.Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parent.parent


def files_below(top):
    """Tracked files by their path from the top, or all but what builds make where git does not know them."""
    try:
        listed = subprocess.run(["git", "-C", str(top), "ls-files", "-z"], capture_output=True, check=True, timeout=60)
        names = listed.stdout.decode().split("\0")
    except (OSError, subprocess.CalledProcessError):
        names = [str(path.relative_to(top)) for path in top.rglob("*") if path.is_file()]
    return sorted(name for name in names if name and not MADE.match(name) and (top / name).is_file())
