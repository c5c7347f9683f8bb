#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whole reports (docs/reference/program.md, "Reports"): test_reports.py PROGRAM [--update]

Each script of this folder is run once for each form, and the bytes compared with NAME.FORM beside it, under several locales
and time zones. Then the forms are read by parsers that are not ours: JSON, CSV, XML and HTML by Python's own (HTML also by
html5lib in its strict mode), calendars by icalendar. Where one of the last two is missing, its part is left out and said so,
unless RUNDLET_TESTS_COMPLETE is set, as tests/run does. --update rewrites the files; by hand only, and read the difference."""

import csv
import datetime
import html.parser
import io
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import uuid
import xml.etree.ElementTree

from scenes import check, foreign, play

PROGRAM = os.path.abspath(sys.argv[1])
HERE = pathlib.Path(__file__).resolve().parent
SECONDS = 60
SUFFIXES = {"text": "txt", "markdown": "md", "html": "html", "json": "json", "csv": "csv", "calendar": "ics"}
SCRIPTS = {"card": ["cellar=54 °F"], "failed": []}
STATUS = {"card": 0, "failed": 1}
PLACES = [{}, {"LC_ALL": "C", "TZ": "UTC"}, {"LC_ALL": "C.UTF-8", "TZ": "Pacific/Auckland"},
          {"LC_ALL": "de_DE.UTF-8", "LANG": "tr_TR.UTF-8", "TZ": "Etc/GMT+12"}]


def run(form, script, arguments=(), folder=HERE, place=None):
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("LC_", "LANG", "TZ"))}
    environment = dict(kept, XDG_DATA_HOME="/no-such-folder", **(place or {}))
    return subprocess.run([PROGRAM, "--report", form, script, *arguments], cwd=folder, env=environment, timeout=SECONDS,
                          stdin=subprocess.DEVNULL, capture_output=True)


def report(form, name):
    return run(form, name + ".rlet", SCRIPTS[name]).stdout


def report_of(form, text, status=0):
    """The report of a script given as text."""
    with tempfile.TemporaryDirectory() as folder:
        pathlib.Path(folder, "a.rlet").write_text(text, encoding="utf-8")
        done = run(form, "a.rlet", folder=folder)
        check(done.returncode == status, f"status {done.returncode}: {done.stderr.decode()}")
        return done.stdout


# ---- bytes ----

def golden():
    """Each form of each script, byte for byte, in any locale and time zone."""
    for name, arguments in SCRIPTS.items():
        for form, suffix in SUFFIXES.items():
            wanted = (HERE / f"{name}.{suffix}").read_bytes()
            for place in PLACES:
                done = run(form, name + ".rlet", arguments, place=place)
                check(done.returncode == STATUS[name], f"{name} as {form}: status {done.returncode}")
                check(done.stdout == wanted, f"{name}.{suffix} differs {place}:\n{done.stdout.decode()}")


def update():
    for name in SCRIPTS:
        for form, suffix in SUFFIXES.items():
            (HERE / f"{name}.{suffix}").write_bytes(report(form, name))


# ---- JSON and CSV ----

def json_shape():
    """JSON has the documented keys, and the ± of inputs, values and cells."""
    got = json.loads(report("json", "card"))
    check(list(got) == ["program", "script", "sha256", "inputs", "assumptions", "items", "expects"], list(got))
    keys = {"show": {"item", "label", "value", "unit", "text"}, "table": {"item", "columns"}, "event": {"item", "text", "date"}}
    for item in got["items"]:
        wanted = keys.get(item["item"], {"item", "text"})
        check(set(item) - {"uncertainty", "reasons", "quantities"} == wanted, item)
    inside = {item["label"]: item["quantities"] for item in got["items"] if "quantities" in item}
    check(list(inside) == ["Cider", "Steps", "Acid"], inside)
    check(inside["Steps"] == [{"value": 1, "unit": "g"}, {"value": 2.5, "unit": "g"}], inside)
    check(inside["Acid"] == {"malic": {"value": 6.1, "unit": "g/L"}, "to add": None}, inside)
    check(inside["Cider"]["volume"]["unit"] == "gal" and 0.08 < inside["Cider"]["volume"]["uncertainty"] < 0.11, inside)
    bare = next(item["value"] for item in got["items"] if item.get("label") == "Cider")
    check(abs(bare["volume"] / inside["Cider"]["volume"]["value"] - 3.785411784) < 1e-9, "the bare value is in L")
    by_name = {given["name"]: given for given in got["inputs"]}
    check(abs(by_name["pressed"]["uncertainty"] - 0.001) < 1e-12 and by_name["pressed"]["text"] == "1.0520 ± 0.0010 SG", by_name)
    check("uncertainty" not in by_name["cellar"] and by_name["cellar"]["set"] and not by_name["batch"]["set"], by_name)
    failed = json.loads(report("json", "failed"))
    check(failed["error"] == {"place": "failed.rlet:8:12", "message": "a volume and a mass cannot be added"}, failed["error"])
    check(len(failed["items"]) == 4 and failed["expects"] == {"passed": 0, "failed": 1}, failed)


def csv_shape():
    """CSV has seven fields in every row, CR LF, and what JSON has."""
    data = report("csv", "card")
    rows = list(csv.reader(io.StringIO(data.decode(), newline=""), strict=True))
    check(rows[0] == "item,label,row,value,unit,uncertainty,text".split(","), rows[0])
    check(all(len(row) == 7 for row in rows), [row for row in rows if len(row) != 7])
    check(data.endswith(b"\r\n"), "the last line has no end")
    items = json.loads(report("json", "card"))["items"]
    for kind in ("show", "note", "caution", "print", "heading"):
        wanted = [item["text"] for item in items if item["item"] == kind]
        check([row[6] for row in rows if row[0] == kind] == wanted, kind)
    wanted = [item.get("uncertainty") for item in items if item["item"] == "show"]
    check([float(row[5]) if row[5] else None for row in rows if row[0] == "show"] == wanted, wanted)
    row = next(row for row in rows if row[:2] == ["input", "pressed"])
    check(abs(float(row[5]) - 0.001) < 1e-12 and row[6] == "1.0520 ± 0.0010 SG", row)


# ---- HTML ----

class Page(html.parser.HTMLParser):
    def __init__(self, data):
        super().__init__(convert_charrefs=True)
        self.tags, self.attributes, self.text = [], [], ""
        self.feed(data.decode())
        self.close()

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.attributes += [(tag, *attribute) for attribute in attributes]

    def handle_data(self, data):
        self.text += data


def squeezed(text):
    return "".join(text.split())


def html_parses():
    """A page is well-formed for an XML parser and without an error for an HTML one."""
    html5lib = foreign("html5lib")
    for name in SCRIPTS:
        data = report("html", name)
        xml.etree.ElementTree.fromstring(data)
        if html5lib:
            html5lib.HTMLParser(strict=True).parse(data)


def html_stands_alone():
    """A page names its language, charset and title, and refers to nothing and runs nothing."""
    for name, title in (("card", "Late quince, keeper Ida & <Jon>"), ("failed", "Early quince")):
        data = report("html", name)
        page = Page(data)
        check(data.startswith(b"<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\" />"), data[:99])
        check(xml.etree.ElementTree.fromstring(data).find("head/title").text == title, title)
        check(page.tags.count("h1") == page.tags.count("main") == 1, page.tags)
        check(not {"script", "link", "img", "iframe", "object", "a"} & set(page.tags), set(page.tags))
        named = {attribute for _, attribute, _ in page.attributes}
        check(not {word for word in named if word.startswith("on") or word in ("src", "href", "srcset")}, named)
        check(b"url(" not in data and b"@import" not in data and b"://" not in data, "a reference to the outside")


def html_drops_nothing():
    """What JSON tells stands on the page as well: values, cells, cautions, notes, events, inputs, the error."""
    for name in SCRIPTS:
        got, text = json.loads(report("json", name)), squeezed(Page(report("html", name)).text)
        wanted = [got["program"], got["script"], got["sha256"], *got["assumptions"]]
        wanted += [item[key] for item in got["items"] for key in ("text", "label", "date") if key in item]
        wanted += [given["name"] for given in got["inputs"]]
        for table in (item for item in got["items"] if item["item"] == "table"):
            wanted += table.get("reasons", []) + [column["label"] for column in table["columns"]]
            wanted += [cell for column in table["columns"] for cell in column["values"] if isinstance(cell, str)]
        wanted += list(got.get("error", {}).values())
        missing = [part for part in wanted if squeezed(part) not in text]
        check(not missing, f"{name}: {missing}")


def html_of_little():
    """Pages of an empty script, of a mistake of form, and of a plot are well-formed too."""
    plot = "plot d from 1 mL to 5 mL by 1 mL\n  column \"a < b\" = 1 mL^2 / d\nend\n"
    for script, status, part in (("", 0, b"a.rlet"), ("let = 3\n", 1, b"This run stopped"), (plot, 0, b"<svg xmlns=")):
        data = report_of("html", script, status)
        xml.etree.ElementTree.fromstring(data.replace(b"://www.w3.org/2000/svg", b""))
        check(part in data, part)


def html_heading_later():
    """A heading below other items is one of a part and keeps its place: the title is the script's name."""
    data = report_of("html", 'print "first"\nheading "A & B"\nprint "last"\n').decode()
    check("<h1 dir=\"auto\">a.rlet</h1>" in data and "<h2 dir=\"auto\">A &amp; B</h2>" in data, data[-900:])


def luminance(colour):
    """WCAG 2.1, definition of relative luminance."""
    parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a, b):
    """WCAG 2.1, definition of contrast ratio."""
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def html_contrast():
    """Text stands out from its ground: 4.5 to 1, frames and rules that mean something 3 to 1 (WCAG 2.1, 1.4.3, 1.4.11)."""
    style = report("html", "card").decode().replace("\n", "")
    schemes = [dict(re.findall(r"--([\w-]+):(#[0-9a-f]{6})", block)) for block in re.findall(r":root\{([^}]*)\}", style)]
    check(len(schemes) == 3 and all(len(scheme) == 10 for scheme in schemes), schemes)
    pairs = [("ink", "card", 4.5), ("faint", "card", 4.5), ("warn-ink", "warn", 4.5), ("bad-ink", "bad", 4.5),
             ("hoop", "card", 3), ("warn-ink", "card", 3), ("bad-ink", "card", 3)]
    for name, scheme in zip(("light", "dark", "print"), schemes):
        ratios = {f"{a} on {b}": (contrast(scheme[a], scheme[b]), least) for a, b, least in pairs}
        print(f"  {name}: " + ", ".join(f"{pair} {ratio:.1f}" for pair, (ratio, _) in ratios.items()))
        check(all(ratio >= least for ratio, least in ratios.values()), ratios)


# ---- calendars ----

def lines_of(data):
    check(data.endswith(b"\r\n") and b"\n" not in data.replace(b"\r\n", b""), "a line does not end in CR LF")
    lines = data.split(b"\r\n")[:-1]
    check(all(len(line) <= 75 for line in lines), [line for line in lines if len(line) > 75])
    for line in lines:
        line.decode()  # no character is cut by a fold
    return lines


def components(data, kind):
    icalendar = foreign("icalendar")
    return icalendar.Calendar.from_ical(data).walk(kind) if icalendar else None


def calendar_events():
    """icalendar reads each event as JSON has it, with all cautions of the run in each."""
    items = json.loads(report("json", "card"))["items"]
    wanted = [(item["date"], item["text"]) for item in items if item["item"] == "event"]
    cautions = [item["text"] for item in items if item["item"] == "caution"]
    data = report("calendar", "card")
    lines_of(data)
    events = components(data, "VEVENT")
    if events is None:
        return
    check([(event["DTSTART"].dt.isoformat(), str(event["SUMMARY"])) for event in events] == wanted, events)
    check(all(type(event["DTSTART"].dt) is datetime.date for event in events), "a time of day")
    for event in events:
        check(all(caution in str(event["DESCRIPTION"]) for caution in cautions), event["DESCRIPTION"])
        stamp, day = event["DTSTAMP"].dt, event["DTSTART"].dt
        check(stamp == datetime.datetime(day.year, day.month, day.day, tzinfo=stamp.tzinfo), stamp)
        check(stamp.utcoffset() == datetime.timedelta(0), stamp)
    (calendar,) = components(data, "VCALENDAR")
    check(calendar["VERSION"] == "2.0" and "rundlet" in calendar["PRODID"], calendar)
    check(str(calendar["DESCRIPTION"]) == report("text", "card").decode(), calendar["DESCRIPTION"])


def calendar_names():
    """UIDs are UUIDs of version 8, unique in a calendar, the same for the same day and text of the same script and inputs."""
    twice = 'input batch = 1\nevent 2027-02-14, "rack"\nevent 2027-02-14, "rack"\n'
    mended, other = 'event 2027-01-01, "press"\n' + twice + "# mended\n", twice.replace("= 1", "= 2")
    found = [re.findall(rb"UID:(.*)\r\n", report_of("calendar", text)) for text in (twice, twice, mended, other)]
    check(found[0] == found[1] == found[2][1:] and len(set(found[2] + found[3])) == 5, found)
    check(all(uuid.UUID(uid.decode()).version == 8 and uuid.UUID(uid.decode()).variant == uuid.RFC_4122
              for uid in found[2] + found[3]), found)


def calendar_without_events():
    """A calendar of no events is valid: it holds the one component that RFC 5545 asks for, and the cautions."""
    data = report_of("calendar", 'caution "mind the foam"\n')
    lines_of(data)
    if components(data, "VEVENT") is None:
        return
    check(not components(data, "VEVENT"), data)
    (journal,) = components(data, "VJOURNAL")
    check("mind the foam" in str(journal["DESCRIPTION"]) and journal["UID"] and journal["DTSTAMP"], journal)


def calendar_of_a_failure():
    """Events of a run that failed say so."""
    events = components(report("calendar", "failed"), "VEVENT")
    if events is None:
        return
    check(len(events) == 1, events)
    for part in ("taste before you trust it", "failed.rlet:8:12: a volume and a mass cannot be added", "failed: 1"):
        check(part in str(events[0]["DESCRIPTION"]), events[0]["DESCRIPTION"])


def calendar_escapes():
    """Every character comes back; long lines of wide ones are folded between characters."""
    # a backslash before an n is left to tests/unit/test_render.c: icalendar 4.0.3 reads it as a line break
    text = "; , : \\\\ \\\"quoted\\\" " + "日本語é" * 60 + " 🍏" * 40
    data = report_of("calendar", f'event 2027-02-14, "{text}"\nevent 2027-02-15, "two\\nlines"\n')
    lines_of(data)
    events = components(data, "VEVENT")
    if events is None:
        return
    check(str(events[0]["SUMMARY"]) == text.replace("\\\\", "\\").replace('\\"', '"'), events[0]["SUMMARY"])
    check(str(events[1]["SUMMARY"]) == "two lines", events[1]["SUMMARY"])


def calendar_stays_small():
    """Many events with long cautions do not repeat them without end, and the first still has them."""
    data = report_of("calendar", f'caution "{"mind the foam " * 200}"\nfor n in range(1, 3000) do event 2027-02-14, "rack" end\n')
    check(len(data) < 3_000_000 and data.count(b"BEGIN:VEVENT") == 3000, len(data))
    events = components(data, "VEVENT")
    if events is not None:
        check("mind the foam" in str(events[0]["DESCRIPTION"]) and "first" in str(events[-1]["DESCRIPTION"]), events[-1])


TESTS = [golden, json_shape, csv_shape, html_parses, html_stands_alone, html_drops_nothing, html_of_little, html_heading_later,
         html_contrast, calendar_events, calendar_names, calendar_without_events, calendar_of_a_failure, calendar_escapes,
         calendar_stays_small]


def main():
    if "--update" in sys.argv[2:]:
        update()
        return 0
    return play(TESTS)


if __name__ == "__main__":
    sys.exit(main())
