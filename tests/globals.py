#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""No global mutable state: two sessions live side by side only if nothing writable has static storage. Reads the symbol
table of the built library: globals.py OBJDUMP LIBRARY."""

import re
import subprocess
import sys

# base/mem.c: memory is a resource of the process, and tests set these.
ALLOWED = {("mem.c.o", "failure_handler"), ("mem.c.o", "allocations_left")}


def main():
    objdump, library = sys.argv[1:]
    listing = subprocess.run([objdump, "-t", library], capture_output=True, text=True, check=True).stdout
    member, objects, offences, seen = "", 0, [], set()
    for line in listing.splitlines():
        start = re.match(r"(\S+):\s+file format", line)
        if start:
            member = start.group(1)
        fields = re.match(r"[0-9a-f]+ (.{7}) (\S+)\s+[0-9a-f]+ (?:\.hidden )?(\S+)", line)
        if not fields or "O" not in fields.group(1):
            continue
        objects += 1
        section, name = fields.group(2), fields.group(3)
        writable = re.match(r"\.(t?bss|t?data)\b|\*COM\*", section) and not section.startswith(".data.rel.ro")
        if not writable:
            continue
        seen.add((member, name))
        if (member, name) not in ALLOWED:
            offences.append(f"{member}: {name} in {section} can be written")
    if objects == 0:
        offences.append("no object found: is this the library?")
    offences += [f"{m}: {n} is allowed but not there" for m, n in sorted(ALLOWED - seen)]
    print("\n".join(offences + [f"{objects} objects, {len(offences)} offences"]))
    return 1 if offences else 0


if __name__ == "__main__":
    sys.exit(main())
