#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""The prompt on a pseudo-terminal. test_prompt.py PROGRAM [WORD]

A session is a list of steps. Each types something, then waits for the prompt, and looks at what came between:
(keys, part, …): every part must stand in the answer, in order; a part that begins with ! must not. Keys go out as they
are, "\\n" as Enter. The sessions run as well on a terminal that can nothing (TERM=dumb) and under LC_ALL=C, unless said
otherwise. No session may take longer than SECONDS, or it is killed."""

import os
import pathlib
import pty
import re
import select
import signal
import stat
import struct
import sys
import tempfile
import termios
import fcntl
import time

PROGRAM = os.path.abspath(sys.argv[1])
SECONDS = 60
FIRST, NEXT = "> ", "  "
ESCAPES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]|\x1b[=>]|\x07")
UP, TAB, CTRL_C, CTRL_D, CTRL_Z = "\x1b[A", "\t", "\x03", "\x04", "\x1a"
KILL = "\x15"  # drops what is typed of a line
PASTE = "\x1b[200~{}\x1b[201~"
TERMINALS = {"xterm": {"TERM": "xterm", "LC_ALL": "C.UTF-8"}, "dumb": {"TERM": "dumb", "LC_ALL": "C.UTF-8"},
             "C": {"TERM": "xterm", "LC_ALL": "C"}}
CAN_PASTE = {"xterm", "C"}

SESSIONS = {
    "values": [
        ("5 gal as L\n", "18.93 L"),
        ("it * 2\n", "37.85 L"),
        ("let n = 3\n", "!= "),
        ("n\n", "\n3\n"),
        ("show n, n * 2\n", "n = 3\n", "n * 2 = 6\n"),
        ("1.050 SG as °Bx\n", "12.4 °Bx"),
    ],
    "the words of every day, and the line as the program writes it": [
        ("68F in C\n", "\n  68 °F as °C\n", "20.0 °C"),
        ("let batch = 5 gallons\n", "\n  let batch = 5 gal\n"),
        ("batch to liters\n", "\n  batch as L\n", "18.93 L"),
        ("2 grams per liter\n", "\n  2 g/L\n", "2 g/L"),
        ("2 weeks\n", "!  2 week", "2 week"),
        ("5 gal as L\n", "!5 gal as L\n  ", "18.93 L"),
    ],
    "an error, and nothing is lost": [
        ("let n = 3\n",),
        ("1 gal + 1 g\n", "prompt:1:7: a volume and a mass cannot be added", "    1 | 1 gal + 1 g", "volume  mass", "hint: "),
        ("n\n", "\n3\n"),
        (UP + UP + "\n", "prompt:1:7: a volume and a mass cannot be added"),
    ],
    "several lines": [
        ("for i in [1, 2] do\n", f"!{FIRST}"),
        ("show i\n",),
        ("end\n", "i = 1\n", "i = 2\n"),
        ("[1,\n",),
        ("2]\n", "[1, 2]"),
    ],
    "the history has them whole": [
        ("for i in [1, 2] do\n",),
        ("show i * 10\n",),
        ("end\n", "i * 10 = 10\n"),
        (UP + "\n", "i * 10 = 10\n", "i * 10 = 20\n"),
    ],
    "Ctrl-C drops a line": [
        ("let n = 3\n",),
        ("let n = 4" + CTRL_C,),
        ("n\n", "\n3\n"),
    ],
    "Ctrl-C drops an unfinished entry": [
        ("for i in [1, 2] do\n",),
        ("show i" + CTRL_C,),
        ("7\n", "\n7\n"),
    ],
    "Ctrl-C stops a computation and keeps the session": [
        ("let n = 3\n",),
        ("let i = 0; while true do i = i + 1 end\n", CTRL_C, "stopped"),
        ("n\n", "\n3\n"),
        ("let i = 0; while true do i = i + 1 end\n", CTRL_C, "stopped"),
        ("n + 1\n", "\n4\n"),
    ],
    "Ctrl-C stops why and keeps the session": [
        ("formula slow(n)\nlet i = 0\nwhile i < n do i = i + 1 end\ngive i\nend\n",),
        ("let n = 3\n",),
        ("why slow(2000000000) + n\n", CTRL_C, "stopped"),
        ("n + 1\n", "\n4\n"),
        ("why\n", "  n = 3\n", "  n + 1 = 3 + 1 = 4\n"),
    ],
    "completion after why": [
        ("let pipkin_volume = 5 gal * 2\nlet must = juice(gravity: 1.050 SG)\n",),
        ("why pipk" + TAB + "\n", "  pipkin_volume = 5 gal * 2 = 10 gal\n"),
        ("why must.grav" + TAB + "\n", "  must.gravity = 1.050 SG\n"),
        ("why pipk" + TAB + "as ifl" + TAB + "\n", "  pipkin_volume as ifloz = 10 gal as ifloz = 1332 ifloz\n"),
    ],
    "an error after why, and the line that may be meant": [
        ("why abv(1.0 SG, 1.05 SG)\n", "fermentation cannot raise a gravity", "Enter runs why abv(1.05 SG, 1.0 SG)"),
        ("\n", "why abv(1.05 SG, 1.0 SG)\n", "= 6.5 %ABV"),
        ("why is it 6.5 %ABV?\n", "there is no result to explain yet"),
    ],
    "completion": [
        ("let pipkin_volume = 5 gal\n",),
        ("pipk" + TAB + "as L\n", "18.93 L"),
        ("2 + cei" + TAB + "1.2)\n", "\n4\n"),
        ("forg" + TAB + "\n", "!error"),
        ("names\n", "!pipkin_volume"),
    ],
    "completion of units": [
        ("1 gal as ifl" + TAB + "\n", "133.2 ifloz"),
        ("1 gal as gal" + TAB + "\n", "\n1 gal\n"),
    ],
    "completion after as": [
        ("let dose = 4 g\nunit scoop = 2 g\nlet must = juice(gravity: 1.050 SG)\n",),
        ("dose as s" + TAB + "\n", "dose as scoop", "\n2 scoop\n"),
        ("must.gravity as \u00b0O" + TAB + "\n", "50.0 °Oe"),
        ("3 kg/L as g/m" + TAB + "\n", "\n3 g/mL\n"),
        ("5 gal as " + TAB + TAB + KILL + "7\n", "hL", "igal", "!°Bx", "!psi", "!kg"),
        ("(dose) as " + TAB + TAB + KILL + "7\n", "hL", "kg"),
    ],
    "completion of fields": [
        ("let must = juice(gravity: 1.050 SG)\nlet late = {malic: 5 g/L, more: {tartaric: 2 g/L}}\n",),
        ("2 * must.str" + TAB + "\n", "0 %ABV"),
        ("late.mal" + TAB + "\n", "\n5 g/L\n"),
        ("late.more.tar" + TAB + "\n", "\n2 g/L\n"),
        ("ferment(must).pot" + TAB + "\n", "ferment(must).potential"),
        ("must with {nit" + TAB + "90 mg/L}\n", "nitrogen: 90 mg/L}"),
        ("late with {mal" + TAB + "6 g/L}\n", "malic: 6 g/L"),
        ("must." + TAB + TAB + KILL + "7\n", "must.acid", "must.volume", "!malic"),
    ],
    "completion of labels": [
        ("juice(grav" + TAB + "1.040 SG, vol" + TAB + "2 L)\n", "juice(gravity: 1.040 SG, volume: 2 L)", "2 L, 1.040 SG"),
        ("formula half(of_what is volume, share: 0.5) = of_what * share\n",),
        ("half(2 gal, sh" + TAB + "0.25)\n", "half(2 gal, share: 0.25)", "0.5 gal"),
        ("half([2, 3][1] * 1 gal, " + TAB + "sha" + TAB + "1)\n", "2 gal"),
        ("juice(gravity: 1.040 SG, " + TAB + TAB + KILL + "7\n", "acid:", "volume:", "!gravity:   "),
    ],
    "completion where nothing is to be completed": [
        ("let pipkin_volume = 5 gal\n",),
        ('"pipk' + TAB + '"\n', "!pipkin_volume"),
        ('"{pipk' + TAB + 'as L}"\n', "pipkin_volume as L", "18.93 L"),
        ("7 # pipk" + TAB + "\n", "!pipkin_volume", "\n7\n"),
    ],
    "completion after commands": [
        ("help molec" + TAB + "\n", "molecular_so2(free, "),
        ("source abv_q" + TAB + "\n", "formula abv_quick"),
        ("help tab" + TAB + "\n", "table: Prints a table"),
        ("units press" + TAB + "\n", "psi"),
    ],
    "completion of files": [
        ("7\n",),
        ("save \"long_name.rlet\"\n",),
        ("load \"long_" + TAB + "\n", "\n7\n"),
        ("let longing = 5 gal\n",),
        ("save \"long_name.txt\"\n",),
        ("load \"long_" + TAB + "\n", "load \"long_name.rlet\"", "\n7\n"),
        ("set lon" + TAB + "3 gal\n", "set longing = 3 gal\n", "longing = 3 gal, was 5 gal\n"),
    ],
    "commands": [
        ("help\n", "Type a sum to see its value", "units KIND", "find", ".gravity", "Strength ", "abv", "General ", "sqrt",
         "!limited", "!at_least", "!water_vapour", "!co2_pressure"),
        ("help liquid\n", "liquid(volume?, gravity, ", "Every liquid has: .volume", ".cost"),
        ("help abv\n", "abv(original, final)", "Source: "),
        ("units length\n", "m  cm  mm  inch  ft"),
        ("formula half(x) = x / 2\n", "!half"),
        ("source half\n", "formula half(x) = x / 2\n"),
        ("zzz\n", "prompt:1:1: "),
        ("help zzz\n", "rundlet: nothing here is called zzz", "hint: help lists what there is"),
    ],
    "events and cautions": [
        ('event 2027-02-14, "rack"\n', "2027-02-14  Sunday     rack"),
        ('caution "mind the foam"\n', "caution: mind the foam"),
    ],
    "set an input of choices": [
        ('input style from ["still", "sparkling"]\n',),
        ('"a {style} one"\n', "a still one"),
        ("set style = sparkling\n", "style = sparkling, was still", "a sparkling one"),
        ('set style = "flat"\n', 'style must be "still" or "sparkling", not "flat"', "style is unchanged"),
        ('save "choices.rlet"\n', "!cannot"),
        ("undo\n",),
    ],
    "what can have one meaning runs at once": [
        ("abv 1.055 1.002\n", "\n  abv(1.055 SG, 1.002 SG)\n7.0 %ABV\n", "!cannot come"),
        ("what is 68F in C?\n", "\n  68 °F as °C\n20.0 °C\n"),
        ("n = 3\n", "\n  let n = 3\n"),
        ("n += 2\n", "\n  n = n + 2\n"),
        ("n\n", "5\n"),
        ("og = 1.054\n", "\n  let og = 1.054 SG\n"),
        ("abv of og and 1.003\n", "\n  abv(og, 1.003 SG)\n6.7 %ABV\n"),
        ("batch is 5 gallons\n", "\n  let batch = 5 gal\n"),
        ("how many 12 floz bottles in batch?\n", "\n  batch / 12 floz\n53.33\n"),
        ("what is abv\n", "\n  help abv\n", "abv(original, final)"),
        ("undo\n", "n"),
        ("undo\n", "n"),
    ],
    "one key runs the line that would work": [
        ("12 psi at 40F\n", "unknown unit at", "    try: carbonation(12 psi, 40F)\n", "Enter runs it, Tab types it"),
        ("\n", "carbonation(12 psi, 40F)\n"),
        ("let stop = 5\n", "write let my_stop = 5\n", "!try:", "Enter runs it"),
        ("\n", "let my_stop = 5\n"),
        ("help convert\n", "Example: 5 gal as L\nEnter runs the example, Tab types it for you to change.\n"),
        ("\n", "18.93 L\n"),
        ("let a = 1\n",),
        ("priming sugar 5 gal\n", "    for example: priming_dose(5 gal, 2.2 vols, 64 °F)\n", "Enter runs it"),
        ("\n", "vols, 64 °F)\n"),
        ("zzz(5)\n", "zzz", "!try:", "!for example:", "!Enter runs"),
        ("\n", "!zzz"),
        ("5 gal + 3 kg\n", "cannot be added", "!for example:", "!Enter runs"),
    ],
    "an entry that goes on says how it ends": [
        ("if 5 > 3 then show \"yes\"\n", "note: this goes on: the block is still open, and end closes it; Ctrl-C\n      discards it\n"),
        ("names\n", "note: this goes on: the block is still open, and end closes it; Ctrl-C\n      discards it\n"),
        (CTRL_C,),
        ("for i in [1, 2] do\n", "!note:"),
        ("show i\n", "!note:"),
        ("end\n", "i = 1\n", "i = 2\n"),
        ("bye\n", "hint: type quit\n", "Enter runs it"),
    ],
    "an entry that goes on says what is open": [
        ("let a = (1 + [2,\n", "note: this goes on: the [ is still open, and ] closes it; Ctrl-C discards it\n"),
        ("{x: \"a ( {1 + 2} \\\" [\",\n", "!note:"),
        ("names\n", "note: this goes on: the { is still open, and } closes it; Ctrl-C discards it\n"),
        (CTRL_C,),
        ("max(1, # (\n", "!note:"),
        ("help\n", "note: this goes on: the ( is still open, and ) closes it; Ctrl-C discards it\n"),
        (CTRL_C,),
        ("5 +\n", "note: this goes on: something is still missing after +; Ctrl-C discards it\n"),
        ("6\n", "\n11\n"),
        ("true and\n", "!note:"),
        ("false\n", "\nfalse\n"),
        ('"abc\n', "this text has no closing quote", "where it ends"),
    ],
    "set says how it was understood": [
        ("let batch = 5 gal\n",),
        ("batch = 6 gal\n",),
        ("set batch = 8 gal\n", "batch = 8 gal, was 6 gal\n"),
        ("set batch to 7 gal\n", "\n  set batch = 7 gal\nbatch = 7 gal, was 8 gal\n"),
        ("set batch = 6\n", "batch is a volume, and 6 is a plain number\n", "hint: write set batch = 6 gal, or let batch = 6", "Enter runs it"),
        ("\n", "set batch = 6 gal\n", "batch = 6 gal, was 7 gal\n"),
        ("og = 1.054\n",),
        ("set og = 1.062\n", "\n  set og = 1.062 SG\nog = 1.062 SG, was 1.054 SG\n"),
    ],
    "save says what it wrote, and keeps other files": [
        ("let batch = 6 gal\n",),
        ("input batch = 5 gal\n", "note: batch replaces"),
        ("save evening\n", "\nsaved evening.rlet, 1 line\n"),
        ("batch as L\n",),
        ("save evening.rlet\n", "\nsaved evening.rlet, 2 lines\n"),
        ("forget\n",),
        ("load evening.rlet\n", "18.93 L\n", "!declared"),
        ("save other\n", "\nsaved other.rlet, 2 lines\n"),
        ("save evening\n", "there is already a file evening.rlet", "hint: save it under another name"),
    ],
    "a value that hides a command": [
        ("undo = 4\n", "\n  let undo = 4\n", "note: undo is now a value of yours, so the command undo cannot be used; type\n",
         "`forget undo` to get the command back\n"),
        ("undo\n", "\n4\n"),
        ("let forget = 5\n", "type `forget forget` to get"),
        ("let twice = undo * 2\n",),
        ("forget undo\n", "note: this line fails now, and is left out: let twice = undo * 2\n", "note: undo is forgotten\n"),
        ("forget forget\n", "note: forget is forgotten\n"),
        ("undo\n", "note: taken back: forget forget\n"),
        ("names\n", "values    forget = 5\n", "!undo"),
    ],
    "one key runs the example of help": [
        ("help abv\n", "Example: abv(1.052 SG, 1.004 SG)\n", "Enter runs the example, Tab types it"),
        ("\n", "abv(1.052 SG, 1.004 SG)\n6.3 %ABV\n"),
        ("\n", "!ABV"),
        ("help abv\n",),
        (TAB + " + 1 %ABV\n", "abv(1.052 SG, 1.004 SG) + 1 %ABV", "7.3 %ABV"),
        ("help keg\n", "keg_pressure", "Enter runs the first of these lines, Tab"),
        ("\n", "keg_pressure(40 °F, 2.4 vols) as psi\n", "11.76 psi\n", "caution: "),
        ("help co2\n", "Enter runs help "),
        ("\n", "help ", "Example: "),
        ("help proof\n", "90 proof is 45.1 %ABV.\n", "Example: 90 proof as %ABV\n"),
        ("help bottle_verdict\n", "10 °C if left out.\n", "  floor: the gravity"),
        ("help °F\n", "Also typed as degF", "Example: 68 °F as °C", "Enter runs the example"),
        ("\n", "68 °F as °C\n20.0 °C\n"),
        ("help abv\n",),
        ("1 + 1\n", "\n2\n"),
        ("\n", "!ABV"),
        (UP + UP + UP + "\n", "20.0 °C"),
    ],
    "set, undo and what is declared anew": [
        ("let batch = 5 gal\n",),
        ("let cans = batch / 12 floz\n",),
        ("cans * 2\n", "106.7"),
        ("set batch = 3 gal\n", "batch = 3 gal, was 5 gal\n", "cans = 32, was 53.33\n", "cans * 2 = 64\n"),
        ("undo\n", "note: taken back: set batch = 3 gal\n"),
        ("names\n", "values    batch = 5 gal\n", "cans = 53.33\n"),
        ("formula half(x) = x / 3\n",),
        ("formula half(x) = x / 2\n", "note: half replaces the earlier half\n"),
        ("half(4)\n", "\n2\n"),
        (UP + UP + UP + "\n", "note: half replaces"),
    ],
    "lines that fail after a change": [
        ("formula half(x) = x / 2\n",),
        ("let part = half(6)\n",),
        ("formula half(x, y) = x / y\n", "a line above does not work with it: what was computed before stays as it\n      was\n"),
        ("forget\n",),
        ("formula dose(x) = x * 2\n",),
        ('save "dose.rlet"\n',),
        ("forget\n",),
        ('use "dose.rlet"\n',),
        ("let d = dose(3)\n",),
        ('use "dose.rlet"\n', 'note: use "dose.rlet" was read again\n'),
    ],
    "Ctrl-C in the midst of a change": [
        ("let n = 1\n",),
        ("let i = 0; while i < n do i = i + 0 * n + 1 end\n",),
        ("set n = 1e12\n", CTRL_C, "stopped", "n is unchanged"),
        ("n\n", "\n1\n"),
    ],
    "a paste runs as a block": [
        (PASTE.format("let a = 2\nlet b = 3\nshow a * b\n") + "\n", "a * b = 6\n"),
        (PASTE.format("for i in [1, 2] do\n\tshow i\nend\n") + "\n", "i = 1\n", "i = 2\n"),
        (UP + "\n", "i = 1\n", "i = 2\n"),
    ],
    "lines that are wider than the terminal": [
        ("1 + " * 60 + "1\n", "\n61\n"),
        ('"' + "°Bx é 日本 " * 12 + '"\n', "°Bx é 日本"),
    ],
}
NEEDS_PASTE = {"a paste runs as a block"}


class Failure(Exception):
    pass


class Terminal:
    def __init__(self, folder, settings, arguments=(), program=PROGRAM):
        kept = {key: value for key, value in os.environ.items() if not key.startswith(("XDG_", "LC_", "LANG", "INPUTRC"))}
        environment = dict(kept, HOME=str(folder), INPUTRC="/dev/null", NO_COLOR="1", **settings)
        self.deadline = time.monotonic() + SECONDS
        self.text = ""
        self.pid, self.file = pty.fork()
        if self.pid == 0:
            os.chdir(folder)
            os.execve(program, [program, *arguments], environment)
        fcntl.ioctl(self.file, termios.TIOCSWINSZ, struct.pack("HHHH", 30, 80, 0, 0))
        self.status = None

    def read(self):
        """What comes next, '' at the end."""
        left = self.deadline - time.monotonic()
        if left <= 0 or not select.select([self.file], [], [], left)[0]:
            raise Failure(f"nothing came in time, after:\n{self.text}")
        try:
            return os.read(self.file, 65536)
        except OSError:
            return b""  # the other end of the terminal was closed

    def wait_for(self, ends):
        """The text up to and with a line that begins with one of the ends, and nothing after it."""
        raw = b""
        while True:
            chunk = self.read()
            raw += chunk
            plain = ESCAPES.sub("", raw.decode(errors="replace"))
            self.text = plain.replace("\r", "")
            last = re.split(r"[\n\r]", plain)[-1]
            if last in ends and not select.select([self.file], [], [], 0.02)[0]:
                return self.text
            if not chunk:
                raise Failure(f"the program ended after:\n{self.text}")

    def send(self, keys):
        os.write(self.file, keys.encode())

    def wait_for_end(self):
        while self.read():
            pass
        _, self.status = os.waitpid(self.pid, 0)
        return os.waitstatus_to_exitcode(self.status)

    def close(self):
        if self.status is None:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
        os.close(self.file)


def check(holds, what):
    if not holds:
        raise Failure(what)


def look(answer, parts, keys):
    at = 0
    for part in parts:
        if part.startswith("!"):
            check(part[1:] not in answer.split("\n", 1)[-1], f"after {keys!r} came {part[1:]!r}:\n{answer}")
            continue
        at = answer.find(part, at)
        check(at >= 0, f"after {keys!r} {part!r} did not come, in its place, but:\n{answer}")
        at += len(part) - part.endswith("\n")  # one line's end may be the next one's start


def step(terminal, keys, *parts):
    terminal.send(keys)
    if parts and parts[0] == CTRL_C:
        time.sleep(0.3)  # it is at work by then
        terminal.send(CTRL_C)
        parts = parts[1:]
    look(terminal.wait_for((FIRST, NEXT)), parts, keys)


def leave(terminal, keys=CTRL_D):
    terminal.send(keys)
    status = terminal.wait_for_end()
    check(status == 0, f"status {status} after {keys!r}")


def start(folder, settings=None, arguments=()):
    terminal = Terminal(folder, settings or TERMINALS["xterm"], arguments)
    try:
        greeting = terminal.wait_for((FIRST,))
        says = ": for example, type 5 gal as L; help shows more, Ctrl-D leaves\n"
        check(greeting.startswith("rundlet ") and greeting.count("\n") == 1 and says in greeting, f"greeting:\n{greeting}")
    except Failure:
        terminal.close()
        raise
    return terminal


def play(folder, steps, settings):
    terminal = start(folder, settings)
    try:
        for keys, *parts in steps:
            step(terminal, keys, *parts)
        leave(terminal)
    finally:
        terminal.close()


# ---- what takes more than a list of steps ----

def history_is_kept(folder):
    """The history comes back in the next session, whole entries, closed to others, bounded."""
    path = folder / ".local/state/rundlet/history"
    play(folder, [("111\n",), ("for i in [5] do\n",), ("show i\n",), ("end\n", "i = 5")], TERMINALS["xterm"])
    check(stat.S_IMODE(path.stat().st_mode) == 0o600, oct(path.stat().st_mode))
    check(stat.S_IMODE(path.parent.stat().st_mode) == 0o700, oct(path.parent.stat().st_mode))
    play(folder, [(UP + "\n", "i = 5"), (UP + UP + "\n", "\n111\n")], TERMINALS["xterm"])
    path.write_text("".join(f"#1795000000\n{n}\n" for n in range(1500)))
    path.chmod(0o644)
    play(folder, [("222\n",), (UP + UP + "\n", "\n1499\n")], TERMINALS["xterm"])
    check(path.read_text().count("#") == 1000, path.read_text().count("#"))
    check(path.read_text().endswith("\n1499\n") and "\n222\n" in path.read_text(), "the latest entries are kept")
    check(stat.S_IMODE(path.stat().st_mode) == 0o600, oct(path.stat().st_mode))


def history_has_its_own_folder(folder):
    """XDG_STATE_HOME says where; where it cannot be, the session goes on without."""
    settings = dict(TERMINALS["xterm"], XDG_STATE_HOME=str(folder / "state"))
    play(folder, [("333\n",)], settings)
    check("\n333\n" in (folder / "state/rundlet/history").read_text(), "no history")
    (folder / "file").write_text("")
    for place in ("file", "file/below"):
        settings["XDG_STATE_HOME"] = str(folder / place)
        play(folder, [("444\n", "\n444\n"), (UP + "\n", "\n444\n")], settings)
    check((folder / "file").read_text() == "", "a file was written over")


def ways_out(folder):
    """Ctrl-D, quit and exit leave with status 0; a value called quit does not."""
    for keys in (CTRL_D, "quit\n", "exit\n"):
        terminal = start(folder)
        try:
            leave(terminal, keys)
        finally:
            terminal.close()
    terminal = start(folder)
    try:
        step(terminal, "let quit = 5\n")
        step(terminal, "quit\n", "\n5\n")
        terminal.send("for i in [1] do\n")
        terminal.wait_for((NEXT,))
        step(terminal, CTRL_D)  # clears what is unfinished, and stays
        step(terminal, "7\n", "\n7\n")
        leave(terminal)
    finally:
        terminal.close()


def told_to_end(folder):
    """SIGTERM ends it by that signal, with the history written and the terminal as it was."""
    terminal = start(folder)
    try:
        before = termios.tcgetattr(terminal.file)[3]
        check(not before & termios.ICANON, "readline is not at work")
        step(terminal, "555\n")
        os.kill(terminal.pid, signal.SIGTERM)
        check(terminal.wait_for_end() == -signal.SIGTERM, terminal.status)
        check("\n555\n" in (folder / ".local/state/rundlet/history").read_text(), "the entry is lost")
    finally:
        terminal.close()


def window_changes(folder):
    """A new size of the window, in the midst of a line, does no harm."""
    terminal = start(folder)
    try:
        terminal.send("1 + ")
        for columns in (30, 120, 80):
            fcntl.ioctl(terminal.file, termios.TIOCSWINSZ, struct.pack("HHHH", 30, columns, 0, 0))
            time.sleep(0.05)
        step(terminal, "2\n", "3")
        leave(terminal)
    finally:
        terminal.close()


def stopped_and_continued(folder):
    """Ctrl-Z gives the terminal to the shell as it was, and the line is there afterwards."""
    shell = 'set -m; "$0"; echo stopped; stty -a; fg; echo left'
    terminal = Terminal(folder, TERMINALS["xterm"], ["-c", shell, PROGRAM], "/bin/sh")
    try:
        terminal.wait_for((FIRST,))
        terminal.send("1 + ")
        terminal.wait_for(("> 1 + ", "1 + "))
        terminal.send(CTRL_Z)
        answer = terminal.wait_for(("> 1 + ", "1 + "))
        look(answer, ["stopped", " icanon ", " echo "], CTRL_Z)
        step(terminal, "2\n", "\n3\n")
        terminal.send(CTRL_D)
        check(terminal.wait_for_end() == 0, terminal.status)
    finally:
        terminal.close()


SHEET = """plot x from 2027-01-01 to 2027-12-31 by 7 day
    column "strength" = number(x - 2026-12-31) ± 3
end
note "a remark that is longer than a narrow terminal has columns"
event 2027-01-02, "rack it into a clean vessel"
"""


def long_lines_are_wrapped(folder):
    """Help, hints, notes, plots and events keep to the width of the terminal, and to 100 columns in a wider one."""
    (folder / "sheet.rlet").write_text(SHEET, encoding="utf-8")
    for columns, most in ((80, 80), (46, 46), (160, 100)):
        terminal = start(folder)
        try:
            fcntl.ioctl(terminal.file, termios.TIOCSWINSZ, struct.pack("HHHH", 30, columns, 0, 0))
            time.sleep(0.05)
            for keys in ("help\n", "help find\n", "help priming_dose\n", "units zzz\n", 'load "sheet.rlet"\n'):
                terminal.send(keys)
                lines = terminal.wait_for((FIRST,)).split("\n")
                check(all(len(line) <= most for line in lines), f"wider than {most} after {keys!r}: {lines}")
                words = " ".join("\n".join(lines[1:]).split())
                check(keys != "units zzz\n" or "temperature_difference, gravity, gravity_difference" in words, words)
            leave(terminal)
        finally:
            terminal.close()


def why_fits_the_terminal(folder):
    """The working is as wide as the terminal, at most 100 columns."""
    terminal = start(folder)
    try:
        for columns in (60, 100, 140):
            fcntl.ioctl(terminal.file, termios.TIOCSWINSZ, struct.pack("HHHH", 30, columns, 0, 0))
            time.sleep(0.05)
            terminal.send("why abv(1.050 SG, 1.000 SG)\n")
            lines = terminal.wait_for((FIRST,)).split("\n")
            widest = max(len(line) for line in lines if line.startswith("      "))
            check(min(columns, 100) - 15 < widest <= min(columns, 100), f"{widest} of {columns} columns: {lines}")
        leave(terminal)
    finally:
        terminal.close()


def help_is_wrapped_not_cut(folder):
    """In a narrow terminal, summaries and the lines to type go on below, further in."""
    terminal = start(folder)
    try:
        fcntl.ioctl(terminal.file, termios.TIOCSWINSZ, struct.pack("HHHH", 30, 50, 0, 0))
        time.sleep(0.05)
        for keys, first, rest in (("help too sweet\n", "  parts               ", " " * 22), ("help\n", "  undo              ", " " * 20),
                                  ("priming sugar for 5 gal of cider with honey\n", "    for example:", " " * 6),
                                  ("help too sweet\n", "  sweeten_dose(", " " * 4)):
            terminal.send(keys)
            lines = terminal.wait_for((FIRST,)).split("\n")
            at = next((at for at, line in enumerate(lines) if line.startswith(first)), None)
            check(at is not None, f"no line begins with {first!r} after {keys!r}: {lines}")
            check(lines[at + 1].startswith(rest) and lines[at + 1][len(rest)] != " ", f"after {keys!r}: {lines}")
            check(not any("…" in line for line in lines[1:] if " | " not in line) and all(len(line) <= 50 for line in lines), f"after {keys!r}: {lines}")
        leave(terminal)
    finally:
        terminal.close()


# What is typed or copied as a whole, in what a narrow terminal shows.
WHOLE = {
    "abv(1.050 SG, finale: 1.000 SG)\n": ("abv(original, final)",),
    "must.gravity = 1.050 SG\n": ("`liquid with {cost: …}`", "let must", "must with {"),
    'note "keep it dry, keep it cool, then type `save \\"batch.rlet\\"` or write resize(must, 5 gal) here"\n':
        ('`save "batch.rlet"`', "resize(must, 5 gal)"),
    'caution "a very long remark before it, and 1.050 SG = 1.050 SG, and rundlet --report html FILE, and [1, 2, 3]"\n':
        ("1.050 SG = 1.050 SG,", "rundlet --report html", "[1, 2, 3]"),
}


def what_is_typed_is_not_broken(folder):
    """A line may break before a call, a quoted text or a number with its unit, and not inside."""
    for columns in (50, 80):
        terminal = start(folder)
        try:
            fcntl.ioctl(terminal.file, termios.TIOCSWINSZ, struct.pack("HHHH", 30, columns, 0, 0))
            time.sleep(0.05)
            for keys, pieces in WHOLE.items():
                terminal.send(keys)
                lines = terminal.wait_for((FIRST, NEXT)).split("\n")[1:]
                words = " ".join("\n".join(lines).split())
                for piece in pieces:
                    broken = piece in words and not any(piece in line for line in lines)
                    check(not broken, f"{piece!r} is broken at {columns} columns after {keys!r}: {lines}")
                check(any(piece in words for piece in pieces), f"none of {pieces} after {keys!r}: {lines}")
            leave(terminal)
        finally:
            terminal.close()


def errors_fit_the_terminal(folder):
    """Messages wrap at words; the source line is cut, and its marks stay below what they mark."""
    (folder / "wide.rlet").write_text("input target from 1.000 SG to 1.100 SG = 1.061 SG  ## original gravity to aim for this year, as agreed\n"
                                      "let share = " + "1 gal + " * 12 + "2 g\n", encoding="utf-8")
    terminal = start(folder)
    try:
        fcntl.ioctl(terminal.file, termios.TIOCSWINSZ, struct.pack("HHHH", 30, 60, 0, 0))
        time.sleep(0.05)
        terminal.send('load "wide.rlet"\n')
        lines = terminal.wait_for((FIRST,)).split("\n")
        check(all(len(line) <= 60 for line in lines), f"wider than 60: {lines}")
        source = next(at for at, line in enumerate(lines) if line.startswith("    2 | …"))
        check(lines[source].endswith(" + 2 g"), lines)
        check(lines[source + 1].endswith(" - ---") and lines[source + 1].rindex("---") == lines[source].rindex("2 g"), lines)
        (folder / "wide.rlet").write_text((folder / "wide.rlet").read_text(encoding="utf-8").split("\n")[0], encoding="utf-8")
        step(terminal, 'load "wide.rlet"\n')
        terminal.send("set target = 1.300 SG\n")
        lines = terminal.wait_for((FIRST,)).split("\n")
        check(all(len(line) <= 60 for line in lines), f"wider than 60: {lines}")
        source = next(at for at, line in enumerate(lines) if line.startswith("    1 | input target"))
        check(lines[source].endswith("…") and lines[source + 1] == "      |       ^^^^^^", lines)
        check("not 1.300 SG" in " ".join(" ".join(lines).split()), lines)
        leave(terminal)
    finally:
        terminal.close()


def forced_by_an_option(folder):
    """--prompt on a terminal is the prompt as it is without."""
    terminal = start(folder, arguments=["--prompt", "--today", "2027-02-14"])
    try:
        step(terminal, "today()\n", "2027-02-14")
        leave(terminal)
    finally:
        terminal.close()


SCENES = [long_lines_are_wrapped, why_fits_the_terminal, help_is_wrapped_not_cut, what_is_typed_is_not_broken, errors_fit_the_terminal,
          history_is_kept, history_has_its_own_folder, ways_out, told_to_end, window_changes, stopped_and_continued,
          forced_by_an_option]


def main():
    chosen = sys.argv[2] if len(sys.argv) > 2 else ""
    tests = [(scene.__doc__, scene) for scene in SCENES]
    for kind, settings in TERMINALS.items():
        for name, steps in SESSIONS.items():
            if name not in NEEDS_PASTE or kind in CAN_PASTE:
                tests.append((f"{kind}: {name}", lambda folder, row=(steps, settings): play(folder, *row)))
    failed = ran = 0
    for name, test in tests:
        if chosen not in name:
            continue
        ran += 1
        with tempfile.TemporaryDirectory() as folder:
            try:
                test(pathlib.Path(folder).resolve())
            except (Failure, OSError) as failure:
                failed += 1
                print(f"not ok: {name}\n  {failure}")
    print(f"{ran} sessions, {failed} failed")
    return 1 if failed or not ran else 0


if __name__ == "__main__":
    sys.exit(main())
