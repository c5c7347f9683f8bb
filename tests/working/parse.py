# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""Expressions of Rundlet as trees of tuples, from docs/reference/language.md alone: parse(text, units) with the names of units.
A tree is (kind, …), such as ("+", left, right), ("number", 5.0), ("attach", tree, unit), ("call", name, [(label, tree), …])."""

import datetime
import re

from quantities import SAME, Unclear

TOKENS = re.compile(r"""(?P<space>\s+)
    |(?P<date>\d{4}-\d{2}-\d{2}(?!\d))
    |(?P<number>\d[\d_]*(?:\.\d+)?(?:[eE][+-]?\d+)?)
    |(?P<name>%ABV|%ABW|%|°[A-Za-z]+|[CF]°|[^\W\d]\w*)
    |(?P<sign>==|!=|<=|>=|[-+*/^()\[\]{},:.<>=±×÷−·])""", re.VERBOSE)
SIGNS = {"×": "*", "÷": "/", "−": "-", "·": "*"}
WORDS = {"and", "or", "not", "near", "within", "as", "with", "of", "mod", "if", "then", "else", "for", "in", "find", "from", "to",
         "so", "whole", "least", "most", "true", "false", "none", "places", "digits", "by"}


def text_end(text, start):
    """Behind the closing quote of the text that starts there; {…} may hold texts of its own."""
    at, quote = start + 1, text[start]
    while at < len(text) and text[at] != quote:
        if text[at] == "\\":
            at += 1
        elif text[at] == "{" and quote == '"':
            at = brace_end(text, at) - 1
        at += 1
    if at >= len(text):
        raise Unclear("a text without its end")
    return at + 1


def brace_end(text, start):
    at, depth = start + 1, 1
    while at < len(text) and depth:
        if text[at] in "\"'":
            at = text_end(text, at)
            continue
        depth += {"{": 1, "}": -1}.get(text[at], 0)
        at += 1
    if depth:
        raise Unclear("a { without its }")
    return at


def tokens_of(text):
    """(kind, text, whether a space is before it), …"""
    found, at, spaced = [], 0, False
    while at < len(text):
        if text[at] in "\"'":
            end = text_end(text, at)
            found.append(("text", text[at:end], spaced))
            at, spaced = end, False
            continue
        match = TOKENS.match(text, at)
        if not match:
            raise Unclear(f"{text[at]!r} cannot be read")
        if match.lastgroup != "space":
            found.append((match.lastgroup, SIGNS.get(match[0], match[0]), spaced))
        spaced = match.lastgroup == "space"
        at = match.end()
    found.append(("end", "", spaced))
    return found


class Parser:
    def __init__(self, text, units):
        self.text, self.units, self.tokens, self.at = text, units, tokens_of(text), 0

    # -- words --

    @property
    def next(self):
        return self.tokens[self.at]

    def peek(self, ahead=1):
        return self.tokens[min(self.at + ahead, len(self.tokens) - 1)]

    def is_next(self, *texts):
        return self.next[0] in ("sign", "name") and self.next[1] in texts

    def take(self, *texts):
        if self.is_next(*texts):
            self.at += 1
            return self.tokens[self.at - 1][1]
        return None

    def want(self, text):
        if not self.take(text):
            raise Unclear(f"{text!r} expected at {self.next[1]!r} in {self.text!r}")

    def name(self):
        kind, text, _ = self.next
        if kind != "name":
            raise Unclear(f"a name expected at {text!r} in {self.text!r}")
        self.at += 1
        return text

    def whole(self):
        tree = self.expression()
        if self.next[0] != "end":
            raise Unclear(f"{self.next[1]!r} is left over in {self.text!r}")
        return tree

    # -- from loosest to tightest --

    def expression(self):
        if self.is_next("if"):
            return self.choice()
        if self.is_next("find"):
            return self.find()
        return self.either()

    def choice(self):
        self.want("if")
        condition = self.expression()
        self.want("then")
        yes = self.expression()
        self.want("else")
        return ("if", condition, yes, self.expression())

    def either(self):
        left = self.both()
        while self.take("or"):
            left = ("or", left, self.both())
        return left

    def both(self):
        left = self.negation()
        while self.take("and"):
            left = ("and", left, self.negation())
        return left

    def negation(self):
        return ("not", self.negation()) if self.take("not") else self.comparison()

    def comparison(self):
        left = self.conversion()
        sign = self.take("==", "!=", "<", "<=", ">", ">=")
        if sign:
            return (sign, left, self.conversion())
        if self.take("near"):
            right = self.conversion()
            self.want("within")
            return ("near", left, right, self.conversion())
        return left

    def conversion(self):
        left = self.changed()
        if self.is_next("as") or (self.is_next("to", "in") and self.is_unit(self.peek())):
            self.at += 1
            return ("as", left, self.unit())
        return left

    def changed(self):
        left = self.sum()
        while self.take("with"):
            left = ("with", left, self.primary())
        return left

    def sum(self):
        left = self.product()
        while sign := self.take("+", "-"):
            left = (sign, left, self.product())
        return left

    def product(self):
        left = self.signed()
        while sign := self.take("*", "/", "of", "mod"):
            left = (sign, left, self.signed())
        return left

    def signed(self):
        if self.take("-"):
            # Directly before a number it is that number's sign: -5 °C is a reading.
            if self.next[0] == "number" and not self.next[2]:
                return self.power(-1.0)
            return ("negative", self.signed())
        self.take("+")
        return self.power()

    def power(self, sign=1.0):
        left = self.doubtful(sign)
        if self.take("^"):
            raised = ("^", left, self.signed())
            return raised if sign > 0 else ("negative", ("^", ("negative", left), raised[2]))
        return left

    def doubtful(self, sign):
        left = self.postfix(sign)
        if self.take("±"):
            return ("±", left, self.postfix())
        return left

    # -- values and what follows them --

    def unit_name(self, word):
        """With an s at its end, or another spelling; None if it is no unit."""
        names = (word, SAME.get(word), word[:-1] if word.endswith("s") and len(word) > 3 else None)
        return next((name for name in names if name in self.units), None)

    def is_unit(self, token):
        return token[0] == "name" and self.unit_name(token[1]) is not None

    def unit(self):
        """g/L, pts*gal/lb, g/(L*h): one word without spaces."""
        parts = [self.unit_part(1)]
        while self.is_next("*", "/") and not self.next[2] and not self.peek()[2]:
            power = 1 if self.next[1] == "*" else -1
            if self.peek()[1] == "(" and power < 0 and self.is_unit(self.peek(2)):
                self.at += 2
                parts += [(name, -times) for name, times in self.unit()]
                self.want(")")
            elif self.is_unit(self.peek()):
                self.at += 1
                parts.append(self.unit_part(power))
            else:
                break
        return tuple(parts)

    def unit_part(self, power):
        if not self.is_unit(self.next):
            raise Unclear(f"{self.next[1]!r} is not a unit in {self.text!r}")
        name = self.name()
        negative = 1 if self.is_next("^") and self.peek()[1] == "-" else 0
        if self.is_next("^") and self.peek(1 + negative)[0] == "number":
            self.at += 2 + negative
            power *= int(self.tokens[self.at - 1][1]) * (-1) ** negative
        return self.unit_name(name), power

    def number(self, sign):
        """With a fraction: 1/2 tsp, 1 1/2 cup."""
        value = float(self.tokens[self.at][1].replace("_", ""))
        self.at += 1
        def fraction(at):
            part = self.tokens[at:at + 4]
            return (len(part) == 4 and part[0][0] == part[2][0] == "number" and part[1][1] == "/" and not part[1][2]
                    and not part[2][2] and part[0][1].isdigit() and part[2][1].isdigit() and self.is_unit(part[3]))
        if fraction(self.at - 1):
            value /= float(self.tokens[self.at + 1][1])
            self.at += 2
        elif self.next[0] == "number" and fraction(self.at):
            value += float(self.next[1]) / float(self.peek(2)[1])
            self.at += 3
        tree = ("number", sign * value)
        if self.is_next("±") and self.peek()[0] == "number" and self.is_unit(self.peek(2)):
            self.at += 1
            spread = float(self.next[1])
            self.at += 1
            unit = self.unit()
            return ("±", ("attach", tree, unit), ("attach", ("number", spread), unit))
        return tree

    def postfix(self, sign=1.0):
        tree = self.number(sign) if self.next[0] == "number" else self.primary()
        while True:
            if self.is_next("[") and not self.next[2]:
                self.at += 1
                tree = ("index", tree, self.expression())
                self.want("]")
            elif self.is_next(".") and self.peek()[0] == "name":
                self.at += 1
                tree = ("field", tree, self.name())
            elif self.is_unit(self.next) and self.next[1] not in WORDS and tree[0] not in ("attach", "±"):
                tree = ("attach", tree, self.unit())
            else:
                return tree

    def primary(self):
        kind, text, _ = self.next
        if kind == "date":
            self.at += 1
            return ("value", datetime.date.fromisoformat(text))
        if kind == "text":
            self.at += 1
            return self.pieces(text)
        if self.take("("):
            tree = self.expression()
            self.want(")")
            return tree
        if self.is_next("["):
            return self.list()
        if self.is_next("{"):
            return self.record()
        if kind == "name" and text in ("true", "false", "none"):
            self.at += 1
            return ("value", {"true": True, "false": False, "none": None}[text])
        if kind == "name" and text not in WORDS:
            self.at += 1
            if self.is_next("(") and not self.next[2]:
                return ("call", text, self.arguments())
            return ("name", text)
        raise Unclear(f"{text!r} is not expected in {self.text!r}")

    def arguments(self):
        self.want("(")
        found = []
        while not self.take(")"):
            label = None
            if self.next[0] == "name" and self.peek()[1] == ":" and self.peek()[0] == "sign":
                label = self.name()
                self.want(":")
            found.append((label, self.expression()))
            if not self.is_next(")"):
                self.want(",")
        return found

    def list(self):
        self.want("[")
        items = []
        while not self.take("]"):
            item = self.expression()
            if self.is_next("for"):
                parts = []
                while self.take("for"):
                    names = [self.name()]
                    while self.take(","):
                        names.append(self.name())
                    self.want("in")
                    source = self.either()
                    parts.append((names, source, self.either() if self.take("if") else None))
                self.want("]")
                return ("each", item, parts)
            items.append(item)
            if not self.is_next("]"):
                self.want(",")
        return ("list", items)

    def record(self):
        self.want("{")
        fields = []
        while not self.take("}"):
            key = self.pieces(self.next[1]) if self.next[0] == "text" else ("value", self.next[1])
            self.at += 1
            self.want(":")
            fields.append((key, self.expression()))
            if not self.is_next("}"):
                self.want(",")
        return ("record", fields)

    def find(self):
        self.want("find")
        unknowns, conditions, goal = [], [], None
        while True:
            name = self.name()
            self.want("from")
            low = self.either()
            self.want("to")
            high = self.either()
            unknowns.append((name, low, high, bool(self.take("whole"))))
            if not self.take(","):
                break
        if self.take("so"):
            conditions.append(self.either())
            while self.take(","):
                conditions.append(self.either())
        if sign := self.take("least", "most"):
            goal = (sign, self.either())
        return ("find", unknowns, conditions, goal)

    def pieces(self, quoted):
        """A text as its letters and the values between them."""
        if quoted[0] == "'":
            return ("value", quoted[1:-1])
        inner, parts, letters, at = quoted[1:-1], [], "", 0
        while at < len(inner):
            if inner[at] == "\\":
                letters += {"n": "\n", "t": "\t"}.get(inner[at + 1], inner[at + 1])
                at += 2
            elif inner[at] == "{":
                end = brace_end(inner, at)
                parts += [("letters", letters), Parser(inner[at + 1:end - 1], self.units).format()]
                letters, at = "", end
            else:
                letters += inner[at]
                at += 1
        return ("text", parts + [("letters", letters)])

    def format(self):
        """expression to 2 places"""
        tree, places, digits = self.expression(), None, None
        if self.take("to"):
            count = int(self.next[1])
            self.at += 1
            word = self.name()
            places, digits = (count, None) if word.startswith("place") else (None, count)
        if self.next[0] != "end":
            raise Unclear(f"{self.next[1]!r} is left over in {self.text!r}")
        return ("format", tree, places, digits)


def parse(text, units):
    return Parser(text, units).whole()
