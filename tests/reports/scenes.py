# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the tests of reports share: a scene is a function whose docstring says what holds."""


class Failure(Exception):
    pass


def check(holds, what):
    if not holds:
        raise Failure(what)


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
