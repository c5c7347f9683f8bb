#!/usr/bin/env python3
# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks what the files of this tree say of its other files: citations.py [FOLDER]

A page is cited by its path from the top of the tree, a part of it by the title of its heading, without its number:
docs/reference/language.md, "Percent" and "Scripts". Each page named exists, each title is a heading of it, and so is
what stands after # in a link. Each file named by a path below docs/, examples/, interp/, stdlib/ or tests/ is there.
Sections are not cited by number, since numbers move; the sign for a section is for laws."""

import pathlib
import re
import sys

import tree_files

TOP = tree_files.top_of_tree()
OURSELVES = "tests/citations.py"  # shows what is wrong
NOT_READ = {"LICENSE", OURSELVES}
# What a program printed or a person typed, not what we say: their names are made up.
NOT_OURS = re.compile(r"^tests/(examples|reports|cli|prompt|fuzz/corpus)/.*(?<!\.py)$")

PAGE = re.compile(r"(?<![\w…*/.-])((?:\.\./)*[\w-]+(?:/[\w.-]+)*\.md)\b")
TITLES = re.compile(r"(?P<page>[\w./-]+\.md)\)?, (?P<titles>\\?\"[^\"\n\\]+\\?\"(?:(?:,|,? and) \\?\"[^\"\n\\]+\\?\")*)")
LINK = re.compile(r"\]\((?P<page>[^)#\s]*)#(?P<anchor>[^)\s]+)\)")
PLACE = re.compile(r"(?<![\w…/.>$-])((?:docs|examples|interp|stdlib|tests)/[\w./-]*\.\w+)(?![\w*{<…$/]|-\w)")
BY_NUMBER = re.compile(r"\.md\)?,? ?(?:section|sect\.|chapter)? ?§? ?\d|(?<!CFR )(?<!USC )§")
# A comment goes on in the next line behind its mark.
GOES_ON = re.compile(r"\n[ \t]*(?:\*(?!/)|//|##?|\.\\\")?[ \t]*")


def headings(path, known={}):
    """The titles of a page without their numbers, as they are and as they stand in a link."""
    if path not in known:
        text = re.sub(r"^(`{3,}).*?^\1", "", path.read_text(encoding="utf-8"), flags=re.M | re.S)
        titles = re.findall(r"^#{1,6} (.+?)\s*$", text, flags=re.M)
        anchors = {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}
        known[path] = {re.sub(r"^\d+\. ", "", title) for title in titles}, anchors
    return known[path]


def line_of(text, offset):
    return text.count("\n", 0, offset) + 1


def page_at(name, page, base_names):
    """The file that a page's name means in the file `name`, or None."""
    for folder in (TOP, (TOP / name).parent):
        path = (folder / page).resolve()
        if path.is_file() and path.is_relative_to(TOP):
            return path
    same = base_names.get(page.removeprefix("../"), [])
    return TOP / same[0] if len(same) == 1 else None


def stands_for_any(path):
    return pathlib.Path(path).stem.isupper()


def faults_of(name, text, base_names):
    """(line or 0, what is wrong) of one file. Blocks of a page hold scripts and sessions, whose files are made up."""
    if name.endswith(".md"):
        text = re.sub(r"^(`{3,})[^\n]*\n.*?^\1$", lambda block: "\n" * block.group(0).count("\n"), text, flags=re.M | re.S)
    for found in PAGE.finditer(text):
        if not stands_for_any(found.group(1)) and not page_at(name, found.group(1), base_names):
            yield line_of(text, found.start()), f"{found.group(1)} is not in the tree"
    for found in BY_NUMBER.finditer(text):
        yield line_of(text, found.start()), f"a section is cited by its title, not as {found.group(0).strip()!r}"
    joined = GOES_ON.sub(" ", text)
    for found in TITLES.finditer(joined):
        page = page_at(name, found.group("page"), base_names)
        for title in re.findall(r"\"([^\"\\]+)\\?\"", found.group("titles")):
            if page and title not in headings(page)[0]:
                yield 0, f"{found.group('page')} has no heading {title!r}"
    if name.endswith(".md"):
        for found in LINK.finditer(text):
            page = page_at(name, found.group("page") or pathlib.Path(name).name, base_names)
            if page and page.suffix == ".md" and found.group("anchor") not in headings(page)[1]:
                yield line_of(text, found.start()), f"{found.group(0)[1:]} leads to no heading"
    for found in PLACE.finditer(text):
        place = found.group(1)
        if not stands_for_any(place) and not any((folder / place).exists() for folder in (TOP, (TOP / name).parent)):
            yield line_of(text, found.start()), f"{place} is not in the tree"


def main():
    names, faults, cited = tree_files.files_below(TOP), [], 0
    base_names = {}
    for name in names:
        if name.endswith(".md"):
            base_names.setdefault(pathlib.Path(name).name, []).append(name)
    for name in names:
        if name in NOT_READ or NOT_OURS.match(name):
            continue
        try:
            text = (TOP / name).read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        cited += len(TITLES.findall(GOES_ON.sub(" ", text)))
        faults += [f"{name}:{line or ''}: {fault}".replace(":: ", ": ") for line, fault in faults_of(name, text, base_names)]
    print("\n".join(faults))
    print(f"{cited} citations of headings, {len(faults)} faults")
    if cited < 30:
        print("fewer than there were: does the pattern still find them?")
    return 1 if faults or cited < 30 else 0


if __name__ == "__main__":
    sys.exit(main())
