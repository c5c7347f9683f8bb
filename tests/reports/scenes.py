# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the tests of reports share: a scene is a function whose docstring says what holds."""

import os


class Failure(Exception):
    pass


def check(holds, what):
    if not holds:
        raise Failure(what)


def foreign(name, package=None):
    """A module that Debian has as python3-PACKAGE, or -NAME; None where it is missing and may be."""
    try:
        return __import__(name)
    except ImportError:
        check("RUNDLET_TESTS_COMPLETE" not in os.environ, f"python3-{package or name} is missing")
        print(f"left out, for want of python3-{package or name}:", end=" ")
        return None


def play(scenes):
    """Plays all of them and says how each went; the status to leave with."""
    failed = 0
    for scene in scenes:
        try:
            scene()
            print(f"ok: {scene.__doc__}")
        except Exception as failure:  # a parser's own errors too
            failed += 1
            print(f"not ok: {scene.__doc__}\n  {type(failure).__name__}: {failure}")
    print(f"{len(scenes)} tests, {failed} failed")
    return 1 if failed else 0
