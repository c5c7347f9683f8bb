#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plots and wide tables in reports: test_plots.py PROGRAM

The pictures are read back as XML: where a known value lies is worked out from the ticks beside it, so that a curve drawn in the
wrong place, scale or direction is found."""

import os
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree

from scenes import check, play

PROGRAM = os.path.abspath(sys.argv[1])
SECONDS = 60
SVG = "{http://www.w3.org/2000/svg}"


def report(form, script):
    with tempfile.TemporaryDirectory() as folder:
        pathlib.Path(folder, "a.rlet").write_text(script, encoding="utf-8")
        done = subprocess.run([PROGRAM, "--report", form, "a.rlet"], cwd=folder, timeout=SECONDS, stdin=subprocess.DEVNULL,
                              env=dict(os.environ, XDG_DATA_HOME="/no-such-folder"), capture_output=True)
        check(done.returncode == 0, done.stderr.decode())
        return done.stdout.decode()


class Picture:
    """One SVG element: its texts, its curves by name, and the straight line from a tick's words to its place."""

    def __init__(self, svg):
        self.svg = svg
        self.width, self.height = (float(part) for part in svg.get("viewBox").split()[2:])
        self.texts = [(float(t.get("x")), float(t.get("y")), t.text, t.get("text-anchor")) for t in svg.iter(SVG + "text")]
        self.curves = [(g.find(SVG + "title").text, g) for g in svg.iter(SVG + "g")]

    def along(self, value):
        """The x of a value, from the first and the last labelled tick below."""
        return self.line([(float(text), x) for x, _, text, anchor in self.texts if anchor == "middle"], value)

    def up(self, value):
        """The y of a value; a label's foot lies 5 below its tick."""
        return self.line([(float(text), y - 5) for _, y, text, anchor in self.texts if anchor == "end"], value)

    @staticmethod
    def line(ticks, value):
        (a, at_a), (b, at_b) = ticks[0], ticks[-1]
        return at_a + (value - a) / (b - a) * (at_b - at_a)

    def path(self, name, filled):
        group = dict(self.curves)[name]
        return [path.get("d") for path in group.findall(SVG + "path")
                if (path.get("fill") == "none") != filled and not path.get("fill-opacity")]

    def points(self, name):
        """The corners of a curve's lines."""
        return [tuple(map(float, pair)) for path in self.path(name, False) for pair in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path)]

    def marks(self, name):
        return [tuple(map(float, pair)) for path in self.path(name, True) for pair in re.findall(r"M(-?[\d.]+) (-?[\d.]+)", path)]

    def names(self):
        """What the letters above mean, in their order."""
        letters = [(x, y, text) for x, y, text, _ in self.texts if re.fullmatch("[a-l]", text)]
        beside = {}
        for x, y, letter in letters[:len(self.curves)]:
            beside[letter] = min((t for t in self.texts if t[1] == y and t[0] > x + 20), key=lambda t: t[0])[2]
        return [beside[letter] for letter in sorted(beside)]


def pictures(data):
    return [Picture(svg) for svg in xml.etree.ElementTree.fromstring(data).iter(SVG + "svg") if svg.get("role") == "img"]


def near(got, wanted, what):
    check(abs(got[0] - wanted[0]) < 0.6 and abs(got[1] - wanted[1]) < 0.6, f"{what}: {got}, wanted {wanted}")


def curves_lie_where_their_values_are():
    """Each corner of a curve stands at its numbers on both axes, whichever way it runs."""
    script = "plot x from -2 to 8 by 1\n  column \"square\" = x^2\n  column \"down\" = 10 - 7 * x\nend\n"
    (picture,) = pictures(report("html", script))
    for name, value in (("square", lambda x: x * x), ("down", lambda x: 10 - 7 * x)):
        points = picture.points(name)
        check(len(points) == 11, points)
        for x, point in zip(range(-2, 9), points):
            near(point, (picture.along(x), picture.up(value(x))), f"{name} at {x}")


def readings_have_units_and_uncertainty():
    """A band lies one ± above and below its curve."""
    (picture,) = pictures(report("html", "plot d from 1 mL to 4 mL by 1 mL\n  column \"read\" = 1.020 SG ± 5 pts\nend\n"))
    group = dict(picture.curves)["read [SG]"]
    (band,) = [path.get("d") for path in group.findall(SVG + "path") if path.get("fill-opacity")]
    heights = sorted({float(y) for _, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", band)})
    check(len(heights) == 2, band)
    check(abs(heights[0] - picture.up(1.025)) < 0.6 and abs(heights[1] - picture.up(1.015)) < 0.6, heights)


def lone_points_are_marked():
    """A point between two gaps is a mark, among many points too; many points that are joined have none."""
    few = "plot x from 1 to 9 by 1\n  column \"read\" = if x mod 2 == 0 then none else x\nend\n"
    (picture,) = pictures(report("html", few))
    check(picture.path("read", False) == [], "a line between points that have gaps between them")
    check(len(picture.marks("read")) == 5, picture.marks("read"))
    for x, mark in zip((1, 3, 5, 7, 9), picture.marks("read")):
        check(abs(mark[0] - picture.along(x)) < 0.6 and abs(mark[1] - picture.up(x)) < 0.6, mark)
    many = "plot x from 1 to 50 by 1\n  column \"read\" = if x == 9 or x == 11 then none else x\nend\n"
    (picture,) = pictures(report("html", many))
    (mark,) = picture.marks("read")
    near(mark, (picture.along(10), picture.up(10)), "the point at 10")
    check(len(picture.points("read")) == 47, picture.points("read"))


def a_long_log_is_drawn_whole_but_not_written_whole():
    """Of many points in one place the first, last, highest and lowest are drawn; peaks, gaps and the band stay."""
    script = """let doubt = 0 ± 0.5
plot x from 0 to 20000 by 1
    column "y" = if x == 7001 then 9 else if x == 13003 then -9 else if x > 9000 and x < 10000 then none else (x mod 7) + doubt
end
"""
    data = report("html", script)
    picture = pictures(data)[0]
    points = picture.points("y")
    check(100 < len(points) < 4 * 480 and len(data) < 200_000, (len(points), len(data)))
    first, last = points[0][0], points[-1][0]  # labels at the ends of an axis may be moved into the picture
    along = lambda x: first + (last - first) * x / 20000
    for x, y in ((0, 0), (7001, 9), (13003, -9), (20000, 20000 % 7)):
        near_one = min(abs(px - along(x)) + abs(py - picture.up(y)) for px, py in points)
        check(near_one < 0.2, (x, y, near_one))
    inside = [px for px, _ in points if along(9002) < px < along(9998)]
    check(not inside, inside)
    path = picture.path("y", False)[0]
    check(path.count("M") == 2, "one gap, so two lines")
    bands = [p for p in dict(picture.curves)["y"].findall(SVG + "path") if p.get("fill-opacity")]
    check(len(bands) == 4, f"{len(bands)} bands: the peaks have none, and part them")
    rows = re.findall(r"<tr><th scope=.row.[^>]*>(\d+)|<tr><td class=.n.[^>]*>(\d+)", data)
    numbers = [int(a or b) for a, b in rows]
    check("the numbers, one row in 21 of 20001, and the last" in data, "which rows are told")
    check(numbers == sorted(set(range(0, 20001, 21)) | {20000}), numbers[:5])


def names_stand_in_the_order_of_the_ends():
    """The letters run from the highest right end down, at the ends and above; no two lie on one another."""
    script = "plot x from 0 to 60\n" + "".join(f"  column \"{name}\" = x * {factor}\n" for name, factor in
                                                 (("two", 2), ("four", 4), ("one", 1), ("near four", 3.99), ("three", 3))) + "end\n"
    (picture,) = pictures(report("html", script))
    check([name for name, _ in picture.curves] == ["four", "near four", "three", "two", "one"], picture.curves)
    check(picture.names() == ["four", "near four", "three", "two", "one"], picture.names())
    ends = [g.find(SVG + "text") for _, g in picture.curves]
    check([end.text for end in ends] == list("abcde"), ends)
    heights = [float(end.get("y")) for end in ends]
    check(all(low - high >= 14 for high, low in zip(heights, heights[1:])), heights)
    dashes = [g.find(SVG + "path").get("stroke-dasharray") for _, g in picture.curves]
    check(len(set(dashes)) == 5, dashes)


def letters_stand_beside_their_ends():
    """A curve that ends midway, as where it fails, has its letter there."""
    script = "plot x from 0 to 10 by 1\n  column \"whole\" = x\n  column \"half\" = if x > 5 then none else x + 2\n"
    (picture,) = pictures(report("html", script + "end\n"))
    for name, x, y in (("whole", 10, 10), ("half", 5, 7)):
        letter = dict(picture.curves)[name].find(SVG + "text")
        near((float(letter.get("x")) - 8, float(letter.get("y")) - 5), (picture.along(x), picture.up(y)), name)


def every_curve_is_drawn():
    """Twelve curves share a picture; the thirteenth opens another; none is left out, and each differs by dashes or mark."""
    for count, wanted in ((12, [12]), (13, [12, 1]), (17, [12, 5]), (25, [12, 12, 1])):
        script = "plot x in [1, 2, 3]\n" + "".join(f"  column \"c{i}\" = x * {i}\n" for i in range(1, count + 1)) + "end\n"
        drawn = pictures(report("html", script))
        check([len(picture.curves) for picture in drawn] == wanted, [len(picture.curves) for picture in drawn])
        check(sorted(name for picture in drawn for name, _ in picture.curves) == sorted(f"c{i}" for i in range(1, count + 1)), count)
        styles = []
        for _, group in drawn[0].curves:
            line, marks = group.findall(SVG + "path")
            styles.append((line.get("stroke-dasharray"), re.sub(r"M[-\d.]+ [-\d.]+", "", marks.get("d"))))
        check(len(set(styles)) == len(styles), styles)


def words_stay_in_the_picture():
    """Long names and long ticks end in an ellipsis or make room, and nothing lies outside."""
    long = "the gravity of the late quince keeper in the cellar of the mill by the lane"
    script = f"plot dose from 0 g to 1 kg by 10 g\n  column \"{long}\" = dose * 12345.678\n  column \"b\" = dose * 2\nend\n"
    script += f"plot x from 1 to 3\n  column \"{long}\" = x * 1e-13\nend\n"
    for picture in pictures(report("html", script)):
        check(any(text.endswith("…") for _, _, text, _ in picture.texts), picture.texts)
        for x, y, text, anchor in picture.texts:
            width = 8.8 * len(text)
            left = x - width * {"middle": 0.5, "end": 1}.get(anchor, 0)
            check(left >= 0 and left + width <= picture.width + 0.5 and 10 < y <= picture.height, (x, y, text))
        check(picture.curves[0][0].startswith(long), picture.curves)


def a_phone_can_read_it():
    """On a screen 390 pixels wide, a card's margins off, letters are 11 pixels high or more."""
    (picture,) = pictures(report("html", "plot x from 0 to 1\n  column \"a\" = x\nend\n"))
    check(float(picture.svg.get("font-size")) * (390 - 2 * 16) / picture.width >= 11, picture.svg.attrib)


def labels_cannot_break_out():
    """A label of marks, and of what XML has no place for, leaves the page well-formed."""
    (picture,) = pictures(report("html", "plot x from 0 to 1\n  column \"<b> & ]]> ' \ufffe\uffff\" = x\nend\n"))
    check(picture.curves[0][0] == "<b> & ]]> ' \ufffd\ufffd", picture.curves)


def two_inputs_are_named():
    """What the cells are, their unit and the second input stand above the curves."""
    script = "plot og from 1.040 SG to 1.070 SG by 10 pts, fg in [0.998 SG, 1.010 SG]\n  column \"strength\" = abv(og, fg)\nend\n"
    (picture,) = pictures(report("html", script))
    texts = [text for _, _, text, _ in picture.texts]
    check("strength [%ABV] by fg" in texts and picture.names() == ["0.998 SG", "1.010 SG"], texts)


def what_is_not_drawn_is_named():
    """A plot without a curve says why, on a page as in Markdown; so do columns left out."""
    script = "plot name in [\"early\", \"late\"]\n  column \"gravity\" = 1.050 SG\nend\n"
    wanted = "(nothing to draw: name runs along the bottom, and is neither a number nor a date)"
    check(wanted in report("html", script) and "<figure>" not in report("html", script), "HTML")
    check(wanted in report("markdown", script), "Markdown")
    script = "plot x from 0 to 1\n  column \"read\" = x\n  column \"word\" = \"text\"\nend\n"
    check("(without a number to draw: word)" in report("html", script), "a column")


def reasons_are_gathered():
    """Of reasons that differ by numbers alone three are told, a fourth when it is the last; others each."""
    script = "table t from 50 °C to {} °C by 1 C°\n  column \"read\" = hydrometer(1.050 SG, t)\n  column \"none\" = 1 / (t - t)\nend\n"
    for last, lines in ((63, 3), (64, 4), (65, 3), (80, 3)):
        for form, dash in (("html", '<p class="reason">— '), ("markdown", "\n— ")):
            data = report(form, script.format(last))
            check(data.count("hydrometer works") == lines, (form, last, data.count("hydrometer works")))
            check(("more like these" in data) == (last > 64), (form, last))
            check(data.count(dash) == lines + (last > 64) + 1, (form, last, data.count(dash)))
    check("and 17 more like these" in report("html", script.format(80)), "17")


def markdown_has_the_numbers():
    """Below the picture stands a pipe table, whole up to 40 rows; beyond, one row in so many and the last."""
    for rows, apart in ((40, 1), (41, 2), (100, 3)):
        data = report("markdown", f"plot x from 1 to {rows} by 1\n  column \"double\" = 2 * x\nend\n")
        check(data.index("</svg>") < data.index("| x | double |\n| ---: | ---: |\n"), data)
        wanted = sorted(set(range(1, rows + 1, apart)) | {rows})
        check([int(x) for x in re.findall(r"^\| (\d+) \| \d+ \|$", data, re.M)] == wanted, (rows, data))
        check((f"The numbers, one row in {apart} of {rows}, and the last:" in data) == (apart > 1), data)
        picture = re.search(r"<svg.*</svg>", data, re.S).group(0)
        check("\n\n" not in picture and all(line.startswith("<") for line in picture.splitlines()), "the block of HTML would end")


def markdown_keeps_blanks():
    """Blanks at the start of a printed line are no code, and an empty line is a gap."""
    data = report("markdown", 'print "    four"\nprint ""\nprint "a"\n')
    check("\n&nbsp;&nbsp;&nbsp;&nbsp;four\n\n&nbsp;\n\na\n" in data, data)
    page = report("html", 'print ""\n')
    check('<p dir="auto"></p>' in page and ".print p:empty{height:" in page, "HTML")


def wide_tables_fit_paper():
    """A table too wide for a sheet is set smaller there; one still wider comes in parts, each with the first column."""
    def page(columns):
        return report("html", "table t in [1, 2, 3]\n" + "".join(f"  column \"reading {i}\" = t * 1000000 + {i}.123 to 3 places\n"
                                                                  for i in range(1, columns + 1)) + "end\n")
    check("--paper:" not in page(3).split("</style>")[1] and "part 1" not in page(3), "a narrow one")
    size = float(re.search(r'style="--paper:([\d.]+)pt"', page(9)).group(1))
    check(6.5 <= size < 9.5 and page(9).count("<table") == 1, size)
    root = xml.etree.ElementTree.fromstring(page(30))
    tables = root.findall(".//table")
    heads = [[th.text.strip() for th in table.findall("thead/tr/th")] for table in tables]
    check(len(tables) > 1 and all(head[0] == "t" for head in heads), heads)
    check([name for head in heads for name in head[1:]] == [f"reading {i}" for i in range(1, 31)], heads)
    check(max(map(len, heads)) - min(map(len, heads)) <= 2, [len(head) for head in heads])
    check([table.find("caption").text for table in tables] == [f"part {i} of {len(tables)}" for i in range(1, len(tables) + 1)], "captions")
    check(all(len(table.findall("tbody/tr")) == 3 for table in tables), "rows")


def paper_has_its_own_style():
    """In print no table is cut or scrolled, heads are repeated, and pictures are small and never forced to a new page."""
    style = report("html", "").split("<style>")[1].split("</style>")[0]
    paper = style[style.rindex("@media print{"):]
    for rule in ("overflow:visible", "thead{display:table-header-group}", "font-size:var(--paper,9.5pt)", "max-height:8cm"):
        check(rule in paper, rule)
    check(not re.search(r"break-(?:before|after):(?:always|page)", style), "a forced page break")


def dates_and_units_hold_together():
    """A date, and a number with its unit, are not broken at the end of a line."""
    page = report("html", 'heading "Batch 2028-03-04"\nprint "add 2.5 g/L to 5 ± 0.1 gal, then 3 spoons."\n')
    for part in ("2028-03-04", "2.5 g/L", "5 ± 0.1 gal"):
        check(f'<span class="b">{part}</span>' in page, part)
    check("3 spoons" in page and ".b{white-space:nowrap}" in page, "prose")


TESTS = [curves_lie_where_their_values_are, readings_have_units_and_uncertainty, lone_points_are_marked,
         a_long_log_is_drawn_whole_but_not_written_whole,
         names_stand_in_the_order_of_the_ends, letters_stand_beside_their_ends, every_curve_is_drawn, words_stay_in_the_picture,
         a_phone_can_read_it, labels_cannot_break_out, two_inputs_are_named, what_is_not_drawn_is_named, reasons_are_gathered,
         markdown_has_the_numbers, markdown_keeps_blanks, wide_tables_fit_paper, paper_has_its_own_style,
         dates_and_units_hold_together]


if __name__ == "__main__":
    sys.exit(play(TESTS))
