/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The parser against docs/reference/language.md: trees as text, the first message with its place, going on
 * after a mistake, unfinished input, literals, parameter lists, and hostile input. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "base/mem.h"
#include "front/literal.h"
#include "front/parse.h"
#include "front/tree.h"
#include "parse_dump.h"

/* ---- a host that knows a handful of units, and one alias ---- */

static const char *const known_units[] = {
    "gal", "L",   "mL", "g", "kg",  "mg", "floz", "tsp", "cup",  "SG",  "pH",  "°C", "°F",   "C°",
    "°Bx", "pts", "pt", "%", "min", "s",  "m",    "m3",  "week", "day", "can", "h",  "vols", "%ABV",
};
enum { KNOWN_UNITS = sizeof known_units / sizeof *known_units };

static bool knows(const char *name) {
    for (size_t i = 0; i < KNOWN_UNITS; i++)
        if (strcmp(known_units[i], name) == 0)
            return true;
    return false;
}

/* A plural of a name of three letters or more. */
static bool host_is_unit(void *context, const char *qualifier, const char *name) {
    (void)context;
    char stem[64];
    size_t length = strlen(name);
    if (qualifier)
        return strcmp(qualifier, "club") == 0 && strcmp(name, "can") == 0;
    if (knows(name))
        return true;
    if (length < 4 || length >= sizeof stem || name[length - 1] != 's')
        return false;
    memcpy(stem, name, length - 1);
    stem[length - 1] = '\0';
    return knows(stem);
}

static bool host_is_alias(void *context, const char *name) {
    (void)context;
    return strcmp(name, "club") == 0;
}

static const char *host_nearest(void *context, const char *name) {
    (void)context;
    const char *best = NULL;
    int distance = 99;
    for (size_t i = 0; i < KNOWN_UNITS; i++)
        text_nearest(name, known_units[i], &best, &distance);
    return best;
}

static bool host_declared(void *context, const Statement *statement, DiagList *errors) {
    (void)statement;
    (void)errors;
    ++*(int *)context;
    return true;
}

/* ---- one parse ---- */

typedef struct Parse {
    Source *source;
    Program *program;
    DiagList errors;
    ParseStatus status;
    Text dump;
    int declared;
} Parse;

static void parse_bytes(Parse *parse, const char *text, size_t length) {
    *parse = (Parse){.source = source_new("test", NULL, text, length)};
    ParseHost host = {.context = &parse->declared,
                      .is_unit = host_is_unit,
                      .is_alias = host_is_alias,
                      .nearest_unit = host_nearest,
                      .declared = host_declared};
    parse->status = parse_program(parse->source, &host, &parse->errors, &parse->program);
    parse_dump(&parse->dump, parse->program);
}

static void parse(Parse *result, const char *text) {
    parse_bytes(result, text, strlen(text));
}

static void parse_done(Parse *parse) {
    text_free(&parse->dump);
    diag_list_free(&parse->errors);
    program_free(parse->program);
    source_release(parse->source);
}

/* "1:11", or "1:11: message" */
static void add_place(Text *out, const Diag *diag, bool with_message) {
    Place place = source_locate(diag->source, diag->span.start);
    text_add_integer(out, place.line);
    text_add_char(out, ':');
    text_add_integer(out, place.column);
    if (!with_message)
        return;
    text_add_string(out, ": ");
    text_add_string(out, diag->message);
}

/* ---- trees ---- */

typedef struct Row {
    const char *source;
    const char *want;
} Row;

static const Row good_rows[] = {
    {"input batch  = 1 gal              ## volume in the fermenter",
     "(input batch (attach 1 gal) doc \"volume in the fermenter\")"},
    {"## how much\n##  there is\ninput batch from 1 gal to 10 gal = 5 gal ## by volume",
     "(input batch (attach 1 gal) (attach 10 gal) (attach 5 gal) doc \"how much\\n there is\\nby volume\")"},
    {"# no\n## doc\n\nformula f(a) = a", "(formula f ((a a)) a)"},
    {"## adds\nformula f(a) ## them\n  let b = a ## not this\n  give b\nend",
     "(formula f ((a a)) {(let b a) (give b)} doc \"adds\\nthem\")"},
    {"unit can = 12 floz; unit bottle; unit crown is money",
     "(unit can (attach 12 floz)) (unit bottle) (unit crown money)"},
    {"use \"a.rlet\" as club; use 'b.rlet'", "(use \"a.rlet\" club) (use \"b.rlet\")"},
    {"let x = 1 + 2 * 3 - 4 / 5 mod 6", "(let x (- (+ 1 (* 2 3)) (mod (/ 4 5) 6)))"},
    {"let x = -a^2^3; x = 2^-1; x = -2^2; x = - 2; x = a -2; x = -6 °C; x = -x",
     "(let x (neg (^ a (^ 2 3)))) (set x (^ 2 -1)) (set x (neg (^ 2 2))) (set x (neg 2)) (set x (- a 2)) "
     "(set x (attach -6 °C)) (set x (neg x))"},
    {"let x = not a == b and c or d", "(let x (or (and (not (== a b)) c) d))"},
    {"let x = a near b within c and d", "(let x (and (near a b c) d))"},
    {"let x = a + b with {c: 1} as g == d", "(let x (== (as (with (+ a b) (c 1)) g) d))"},
    {"let x = 5% of batch of b", "(let x (of (of (attach 5 %) batch) b))"},
    {"let x = 5%of b; x = 10% * 200 g",
     "(let x (of (attach 5 %) b)) (set x (* (attach 10 %) (attach 200 g)))"},
    {"let x = 9.8 m/s^2; x = 5 kg·m/s^2; x = 5 m²; x = 5 m3; x = x²; x = (5 m)²; x = 5 m^-1",
     "(let x (attach 9.8 m*s^-2)) (set x (attach 5 kg*m*s^-2)) (set x (attach 5 m^2)) (set x (attach 5 m3)) "
     "(set x (^ x 2)) (set x (^ (attach 5 m) 2)) (set x (attach 5 m^-1))"},
    {"let x = 12 floz / 5 min; x = 30 g / days; x = a as g/weeks; x = 5 g / 2 * L; x = 3 g / min(a, b)",
     "(let x (/ (attach 12 floz) (attach 5 min))) (set x (attach 30 g*days^-1)) (set x (as a g*weeks^-1)) "
     "(set x (* (/ (attach 5 g) 2) L)) (set x (/ (attach 3 g) (call min a b)))"},
    {"let x = 1/2 tsp; x = 1 1/2 cup; x = ½ cup; x = 1½ cup; x = 2 ½ cup; x = -1/2 tsp; x = 1 / 2 tsp; x = "
     "1/2 of y",
     "(let x (attach 0.5 tsp)) (set x (attach 1.5 cup)) (set x (attach 0.5 cup)) (set x (attach 1.5 cup)) "
     "(set x (attach 2.5 cup)) (set x (attach -0.5 tsp)) (set x (/ 1 (attach 2 tsp))) (set x (of (/ 1 2) "
     "y))"},
    {"let x = y / 2 tsp; x = y/2; x = 1 g/2 L; x = 5 m^2/3 g",
     "(let x (/ y (attach 2 tsp))) (set x (/ y 2)) (set x (/ (attach 1 g) (attach 2 L))) (set x (/ (attach 5 "
     "m^2) (attach 3 g)))"},
    {"let x = 1_000; x = 2.5e-3; x = 1e3; x = 0.1; x = 123456789012345678; x = 007",
     "(let x 1000) (set x 0.0025) (set x 1000) (set x 0.1) (set x 1.2345678901234568e17) (set x 7)"},
    {"let x = 2027-02-14; x = 2024-02-29 - 2024-02-28; x = 1970-01-01",
     "(let x (date 20863)) (set x (- (date 19782) (date 19781))) (set x (date 0))"},
    {"let x = 1.050 ± 0.002 SG; x = y ± 2 pts; x = 1 g +- 0.1 g; x = (1) ± 0.1 g; x = -5 ± 0.5 °C; x = a ± b "
     "^ 2; x = a + -b",
     "(let x (± 1.05 0.002 SG)) (set x (± y (attach 2 pts))) (set x (± (attach 1 g) (attach 0.1 g))) (set x "
     "(± 1 (attach 0.1 g))) (set x (± -5 0.5 °C)) (set x (^ (± a b) 2)) (set x (+ a (neg b)))"},
    {"let x = (a) gal; x = n gal; x = list[1] gal; x = f(x) gal; x = r.n gal",
     "(let x (attach a gal)) (set x (attach n gal)) (set x (attach (index list 1) gal)) (set x (attach (call "
     "f x) gal)) (set x (attach (field r n) gal))"},
    {"let x = 5 club.can; x = club.dose(5 gal, to: 3); x = club.y",
     "(let x (attach 5 club.can)) (set x (call club.dose (attach 5 gal) to: 3)) (set x (field club y))"},
    {"let x = f(if: 3, to: 4, gal: 5); x = {if: 3, \"any name\": 4, 'raw': 5}; x = r.end.if[\"any "
     "name\"][-1]",
     "(let x (call f if: 3 to: 4 gal: 5)) (set x (record (if 3) (any name 4) (raw 5))) (set x (index (index "
     "(field (field r end) if) (text \"any name\")) -1))"},
    {"let x = []; x = {}; x = [1, 2,]; x = {a: 1,}; x = [1,5]",
     "(let x (list)) (set x (record)) (set x (list 1 2)) (set x (record (a 1))) (set x (list 1 5))"},
    {"let x = [f(x) for x in list]; x = [f(x) for x in list if x > 2]",
     "(let x (each (call f x) x list)) (set x (each (call f x) x list (> x 2)))"},
    {"let x = if a then b else if c then d else e; x = 1 + if a then 2 else 3",
     "(let x (if a b (if c d e))) (set x (+ 1 (if a 2 3)))"},
    {"let x = \"Add {dose as g to 1 places} to {batch}\"",
     "(let x (text \"Add \" (as dose g) places 1 \" to \" batch))"},
    {"let x = \"a {\"b {c} d\"} e {{k: 1}.k} \\n\\t\\\"\\\\\\{\\} '} \"",
     "(let x (text \"a \" (text \"b \" c \" d\") \" e \" (field (record (k 1)) k) \" \\n\\t\\\"\\\\{} '} "
     "\"))"},
    {"let x = 'raw {x} \\n'; x = \"\"; x = ''",
     "(let x (text \"raw {x} \\\\n\")) (set x (text)) (set x (text))"},
    {"x = “pasted” + ‘raw’ + „low“", "(set x (+ (+ (text \"pasted\") (text \"raw\")) (text \"low\")))"},
    {"let x = 3 × 4 ÷ 2 − 1; x = 5 ℃; x = 20 ºC; x = 5 Cº; x = 5 gal",
     "(let x (- (/ (* 3 4) 2) 1)) (set x (attach 5 °C)) (set x (attach 20 °C)) (set x (attach 5 C°)) (set x "
     "(attach 5 gal))"},
    {"let été = 5; let 酒 = été", "(let été 5) (let 酒 été)"},
    {"let a = b +\n  c\nlet d = e", "(let a (+ b c)) (let d e)"},
    {"let x = (a\n  + b   # a remark\n  * c)", "(let x (+ a (* b c)))"},
    {"let r = with_it with {\n  malic: 5 g/L, # by the label\n  name: \"late\"\n}",
     "(let r (with with_it (malic (attach 5 g*L^-1)) (name (text \"late\"))))"},
    {"let x = if a then\n  1 else\n  2", "(let x (if a 1 2))"},
    {"show e, \"label\": e to 2 places, e to 1 digit",
     "(show (\"e\" e) ((text \"label\") e places 2) (\"e\" e digits 1))"},
    {"show must.gravity  as   °Bx, f(\"a  b\",\n  c) # remark",
     "(show (\"must.gravity as °Bx\" (as (field must gravity) °Bx)) (\"f(\\\"a  b\\\", c)\" (call f (text "
     "\"a  b\") c)))"},
    {"print x; heading \"a\"; note \"b\"; caution \"c\"; event 2027-02-14, \"d\"",
     "(print x) (heading (text \"a\")) (note (text \"b\")) (caution (text \"c\")) (event (date 20863) (text "
     "\"d\"))"},
    {"note = 5; note + 1; note - 5; note -5; note[1]; note [1]; note; places = 4",
     "(set note 5) (value (+ note 1)) (value (- note 5)) (note -5) (value (index note 1)) (note (list 1)) "
     "(value note) (set places 4)"},
    {"if a then stop end; if a then x = 1; y = 2 else skip end",
     "(if a {(stop)}) (if a {(set x 1) (set y 2)} else {(skip)})"},
    {"if a then\n  x = 1\nelse if b then\n  x = 2\nelse\n  if c then\n    x = 3\n  end\nend",
     "(if a {(set x 1)} b {(set x 2)} else {(if c {(set x 3)})})"},
    {"if a then let x = if b then 1 else 2 else stop end", "(if a {(let x (if b 1 2))} else {(stop)})"},
    {"for x in [1, 2] do show x end; for d from 0 mL to 40 mL by 5 mL do show d end; for i from 1 to 3 do "
     "end",
     "(for x (list 1 2) {(show (\"x\" x))}) (for d (attach 0 mL) (attach 40 mL) (attach 5 mL) {(show "
     "(\"d\" d))}) (for i 1 3 {})"},
    {"while x < 3 do x = x + 1 end", "(while (< x 3) {(set x (+ x 1))})"},
    {"find n from 0 to 8 whole so n >= 3", "(find (n 0 8 whole) (>= n 3))"},
    {"find x from 0 gal to batch, y from 1 gal to 2 gal so\n  x + y == total, x <= 3 gal\n  # the cheapest\n "
     " least cost(x)",
     "(find (x (attach 0 gal) batch) (y (attach 1 gal) (attach 2 gal)) (== (+ x y) total) (<= x (attach 3 "
     "gal)) least (call cost x))"},
    {"find x from 0 to 1 so x == 2 most x", "(find (x 0 1) (== x 2) most x)"},
    {"find x from 0 to 9 whole least abs(x - 2)", "(find (x 0 9 whole) least (call abs (- x 2)))"},
    {"let n = find x from 0 to 9 so x == 2; show (find x from 0 to 1 so x == 1) + 1",
     "(let n (find (x 0 9) (== x 2))) (show (\"(find x from 0 to 1 so x == 1) + 1\" (+ (find (x 0 1) (== x "
     "1)) "
     "1)))"},
    {"expect a == b else \"why\"; expect error 1 / 0 else 'why'; if a then expect b else expect c end",
     "(expect (== a b) (text \"why\")) (expect-error (/ 1 0) (text \"why\")) (if a {(expect b)} else "
     "{(expect c)})"},
    {"table d from 0 mL to 40 mL by 5 mL\n  let y = d * 2\n  if y > 5 mL then y = 3 mL end\n  column "
     "\"dose\" = y to 1 places\nend",
     "(table d (attach 0 mL) (attach 40 mL) (attach 5 mL) {(let y (* d 2)) (if (> y (attach 5 mL)) {(set y "
     "(attach 3 mL))}) (column (text \"dose\") y places 1)})"},
    {"table x in list; if x == 2 then skip end; stop; end", "(table x list {(if (== x 2) {(skip)}) (stop)})"},
    {"table x in list; column 'a' = x; end", "(table x list {(column (text \"a\") x)})"},
    {"expect a == b; expect error 1 / 0; expect a near b within c",
     "(expect (== a b)) (expect-error (/ 1 0)) (expect (near a b c))"},
    {"formula prime(volume, with kind_of is text: \"sucrose\", pH acidity: 3) is g/min = volume",
     "(formula prime ((volume volume) (with kind_of is text (text \"sucrose\")) (pH acidity 3)) is g*min^-1 "
     "volume)"},
    {"formula f() = 5; formula f(\n  a, # one\n  b,\n) is mass\n  give a\nend",
     "(formula f () 5) (formula f ((a a) (b b)) is mass {(give a)})"},
    {"5 gal; f(x); (a); -5; \"x\"; true; none; not a",
     "(value (attach 5 gal)) (value (call f x)) (value a) (value -5) (value (text \"x\")) (value true) "
     "(value none) (value (not a))"},
};

Test(parse, trees) {
    for (size_t i = 0; i < sizeof good_rows / sizeof *good_rows; i++) {
        Parse got;
        parse(&got, good_rows[i].source);
        cr_expect(got.status == PARSE_OK, "%s: status %d, %s", good_rows[i].source, (int)got.status,
                  got.errors.count ? got.errors.items[0]->message : "");
        cr_expect_str_eq(text_string(&got.dump), good_rows[i].want, "%s:\n got %s\nwant %s",
                         good_rows[i].source, text_string(&got.dump), good_rows[i].want);
        parse_done(&got);
    }
}

/* ---- messages: one mistake, one error ---- */

static const Row bad_rows[] = {
    {"let x = 5 ml", "1:11: unknown unit ml"},
    {"let x = 5 foo", "1:11: unknown unit foo"},
    {"let x = 2 sqrt(2)", "1:11: unknown unit sqrt"},
    {"let x = 5 gal L", "1:15: 5 gal already has a unit"},
    {"let x = 5 m^n", "1:13: the power of a unit must be a whole number of one or two digits"},
    {"let x = y/2 tsp", "1:9: y/2 tsp can be read in two ways"},
    {"let x = (1 + 2)/3 cup", "1:9: (1 + 2)/3 cup can be read in two ways"},
    {"let x = 1.5/2 gal", "1:9: 1.5/2 gal can be read in two ways"},
    {"show 1,5", "1:6: 1,5 could be one number or two"},
    {"show 1,000", "1:6: 1,000 could be read in several ways"},
    {"let x = 1/0 cup", "1:9: the denominator cannot be 0"},
    {"let x = 1 1/2", "1:11: a mixed number needs a unit after it, as in 1 1/2 cup"},
    {"let x = 3 4", "1:11: 4 cannot come right after 3"},
    {"let x = .5", "1:9: a number must start with a digit"},
    {"let x = 5.", "1:9: a digit is missing after the point"},
    {"let x = 1.2.3", "1:9: 1.2.3 has more than one point"},
    {"let x = 1__0", "1:10: a _ in a number must be between two digits"},
    {"let x = 1e999", "1:9: this number is too large"},
    {"let x = 2027-02-30", "1:9: there is no day 2027-02-30"},
    {"let x = 2027-2-3", "1:9: a date has four digits for the year and two each for month and day"},
    {"let x = 2027-02-145", "1:9: a date has four digits for the year and two each for month and day"},
    {"let x = \"a", "1:9: this text has no closing quote"},
    {"let x = 'a", "1:9: this text has no closing quote"},
    {"let x = \"a \\q\"", "1:12: \\q means nothing in a text"},
    {"let x = \"a {} b\"", "1:12: there is nothing between { and }"},
    {"let x = \"a { } b\"", "1:12: there is nothing between { and }"},
    {"let x = \"a {b\"", "1:12: this { has no closing } in its text"},
    {"let x = \"a {b + } c\"", "1:17: a value is missing after +"},
    {"let x = \"a {b to 99 places}\"", "1:18: `to` needs a whole number from 0 to 15"},
    {"let x = ?", "1:9: ? has no meaning here"},
    {"let x = 3 ** 2", "1:11: ** has no meaning here"},
    {"let x = 5 – 2", "1:11: – has no meaning here"},
    {"let x = 5 ° 3", "1:11: a ° needs its scale right after it, without a space"},
    {"let x = 5 °",
     "1:11: a ° needs its scale right after it, without a space"}, /* where the text ends too */
    {"let nº = 5", "1:5: nº is not a name"},
    {"let for = 5", "1:5: for is a reserved word and cannot be a name"},
    {"for = 5", "1:1: for is a reserved word and cannot be a name"},
    {"let x == 5", "1:7: an = is missing after x"},
    {"if x = 5 then stop end", "1:6: a single = gives a value to a name, which cannot be done here"},
    {"let x = a < b < c", "1:15: comparisons cannot be chained"},
    {"let x = a as g as kg", "1:16: as needs brackets around what comes before it"},
    {"let x = a as g * 2", "1:16: * needs brackets around what comes before it"},
    {"let x = a with {b: 1} + 2", "1:23: + needs brackets around what comes before it"},
    {"let x = a == not b", "1:14: not needs brackets here"},
    {"let x = a ± -1", "1:13: an uncertainty cannot be negative"},
    {"let x = a ± 1 ± 2", "1:15: a value can have only one ±"},
    {"let x = + 5", "1:9: there is nothing before this + to add to"},
    {"let x = a near b", "1:17: `within` is missing after near"},
    {"let x = if a then b", "1:20: an if inside an expression needs an else"},
    {"let x = ()", "1:9: there is nothing between ( and )"},
    {"let x = a[]", "1:10: there is nothing between [ and ]"},
    {"let x = (a]", "1:11: ] cannot close ("},
    {"let x = a)", "1:10: there is nothing for this ) to close"},
    {"let x = a (2)", "1:11: there is a space between a and ("},
    {"let x = a [2]", "1:11: there is a space between a and ["},
    {"let x = (a)(b)", "1:12: something is missing before ("},
    {"let x = a.f(2)", "1:9: a is not the name of a script in use, so a.f cannot be called"},
    {"let x = {a: 1, b: 2, a: 3}", "1:22: a is in the record twice"},
    {"let x = {1: 2}", "1:10: the name of a field is missing"},
    {"let x = f(a = 2)", "1:13: an argument is passed with its label and a colon"},
    {"a.b = 5", "1:5: part of a cannot be changed in place"},
    {"f(a) = 5", "1:1: f(a) is a call and cannot be given a value"},
    {"let x = 5, 6", "1:10: a comma does not belong here: only one value is expected"},
    {"let x = a \"b\"", "1:11: the text \"b\" cannot come right after a value"},
    {"let x = a to 2 places", "1:11: `to` cannot round here"},
    {"show a to 2", "1:12: `places` or `digits` is missing after `to 2`"},
    {"show a to b places", "1:11: `to` needs a whole number from 0 to 15"},
    {"show total: 5", "1:11: only a text or a label can come before :"},
    {"shwo a", "1:1: no statement starts with shwo"},
    {"quux \"a\"", "1:1: no statement starts with quux"},
    {"end", "1:1: there is nothing for this end to close"},
    {"else", "1:1: this else does not belong to any if"},
    {"table x in y\n  show x\nend", "2:3: a table can only contain column, let, find and if, not show"},
    {"table x in y\n  if x then\n    column \"a\" = x\n  end\nend",
     "3:5: a column must be directly inside a table"},
    {"column \"a\" = 1", "1:1: a column must be directly inside a table"},
    {"if a then\n  formula f() = 1\nend",
     "2:3: formula is allowed only at the top level of a file, not inside other statements"},
    {"formula f(of) = 1", "1:11: of is a reserved word and can only be a label"},
    {"formula f(x is volum) = 1", "1:16: there is no kind volum"},
    {"formula f = 1", "1:11: the brackets are missing after f"},
    {"find x from 0 to 1 so x > 2", "1:25: find cannot work with >"},
    {"find x from 0 to 1 so x == 2 and x <= 3", "1:30: the conditions of find are not joined with and"},
    {"find x from 0 to 1 so f(x)", "1:23: a condition of find is a single comparison with ==, <= or >="},
    {"unit crown is coin", "1:15: a unit can be declared only as `is money`"},
    {"use club", "1:5: the file is missing after use"},
    {"use \"{a}\"", "1:5: the name of a file must be plain text"},
    {"let a = b\n  + c", "2:3: a line cannot start with +"},
    {"let a = if b\n  then c else d", "2:3: a line cannot start with then"},
    {"let x = [\n  1\n  2\n]", "2:4: a comma is missing after 1"},
    {"let été = 5 ml", "1:13: unknown unit ml"},
    {"\tlet x = 5 ml", "1:12: unknown unit ml"},
};

Test(parse, messages) {
    for (size_t i = 0; i < sizeof bad_rows / sizeof *bad_rows; i++) {
        Parse got;
        Text first = {0};
        parse(&got, bad_rows[i].source);
        cr_expect(got.status == PARSE_ERRORS, "%s: status %d", bad_rows[i].source, (int)got.status);
        cr_expect(got.errors.count == 1, "%s: %d errors", bad_rows[i].source, got.errors.count);
        if (got.errors.count)
            add_place(&first, got.errors.items[0], true);
        cr_expect_str_eq(text_string(&first), bad_rows[i].want, "%s:\n got %s\nwant %s", bad_rows[i].source,
                         text_string(&first), bad_rows[i].want);
        text_free(&first);
        parse_done(&got);
    }
}

/* ---- going on after a mistake ---- */

typedef struct RecoveryRow {
    const char *source;
    const char *places;
    const char *want;
} RecoveryRow;

static const RecoveryRow recovery_rows[] = {
    {"let x = 5 6\nshow 1", "1:11", "(show (\"1\" 1))"},
    {"if c them\n  show 1\nend\nshow 2", "1:6", "(show (\"2\" 2))"},
    {"for x im list do\n  show x\nend\nshow 2", "1:7", "(show (\"2\" 2))"},
    {"while x = 5 do\n  stop\nend\nshow 2", "1:9", "(show (\"2\" 2))"},
    {"table x on list\n  column \"a\" = x\nend\nshow 2", "1:9", "(show (\"2\" 2))"},
    {"formula f(a\n  give a\nend\nshow 1", "1:10", "(show (\"1\" 1))"},
    {"formula f(a is volume = a * 2\nshow 1", "1:10", "(show (\"1\" 1))"},
    {"formula f(5) = 3\nshow 1", "1:11", "(show (\"1\" 1))"},
    {"formula f(a) give a\nshow 1", "1:14", "(show (\"1\" 1))"},
    {"if c then show 1 2 end\nshow 3", "1:18", "(if c {}) (show (\"3\" 3))"},
    {"show if c then 1 2 else 3\nshow 4", "1:18", "(show (\"4\" 4))"},
    {"if c then let x = if d then 1 2 else 3 else show 5 end", "1:31", "(if c {} else {(show (\"5\" 5))})"},
    {"let x = (1 + 2\nlet y = 3", "1:9", "(let y 3)"},
    {"let x = [1, (2\nlet y = (3\nshow 4", "1:13 2:9", "(show (\"4\" 4))"},
    {"if c then show \"{1 2}\" end", "1:20", "(if c {(show (\"\\\"{1 2}\\\"\" (text none)))})"},
    {"show \"{1 2} and {3 4}\"; show 5", "1:10 1:20",
     "(show (\"\\\"{1 2} and {3 4}\\\"\" (text none \" and \" none))) (show (\"5\" 5))"},
    {"fro x in list do\n  if x then\n    show x\n  end\nend\nshow 2", "1:1", "(show (\"2\" 2))"},
    {"let x = 5 6 do\n  show 1\nend\nshow 2", "1:11", "(show (\"2\" 2))"},
    {"if a then\n  show 1 2\nelse\n  show 3 4\nend\nshow 5", "2:10 4:10",
     "(if a {} else {}) (show (\"5\" 5))"},
    {"show f(1, 2 3,\n  4)\nshow 5", "1:13", "(show (\"5\" 5))"},
    {"show \"abc\nshow 5", "1:6", "(show (\"\\\"abc\" (text \"abc\"))) (show (\"5\" 5))"},
    {"unit 5 = 3\nshow 5 foo, 6 bar", "1:6", "(show (\"5 foo\" (attach 5 foo)) (\"6 bar\" (attach 6 bar)))"},
    {"if a then\n  let x 5\nshow 1", "2:9", ""},
    {"for x in y do\n  stop else\nend\nshow 1", "2:8", "(for x y {(stop)}) (show (\"1\" 1))"},
    {"show @ @ @\nshow 1", "1:6", "(show (\"1\" 1))"},
};

Test(parse, goes_on_after_a_mistake) {
    for (size_t i = 0; i < sizeof recovery_rows / sizeof *recovery_rows; i++) {
        const RecoveryRow *row = &recovery_rows[i];
        Parse got;
        Text places = {0};
        parse(&got, row->source);
        for (int k = 0; k < got.errors.count; k++) {
            if (k)
                text_add_char(&places, ' ');
            add_place(&places, got.errors.items[k], false);
        }
        cr_expect_str_eq(text_string(&places), row->places, "%s:\n got %s\nwant %s", row->source,
                         text_string(&places), row->places);
        cr_expect_str_eq(text_string(&got.dump), row->want, "%s:\n got %s\nwant %s", row->source,
                         text_string(&got.dump), row->want);
        text_free(&places);
        parse_done(&got);
    }
}

/* ---- unfinished input: the prompt reads on for these and no others ---- */

static const struct {
    const char *source;
    ParseStatus want;
} unfinished_rows[] = {
    {"let x =", PARSE_UNFINISHED},
    {"let x =\n\n", PARSE_UNFINISHED},
    {"show 1 +", PARSE_UNFINISHED},
    {"show a,", PARSE_UNFINISHED},
    {"show \"a\":", PARSE_UNFINISHED},
    {"show (1 + 2", PARSE_UNFINISHED},
    {"f(1,", PARSE_UNFINISHED},
    {"let r = {", PARSE_UNFINISHED},
    {"let x = [1,\n 2", PARSE_UNFINISHED},
    {"x and", PARSE_UNFINISHED},
    {"x as", PARSE_UNFINISHED},
    {"r with", PARSE_UNFINISHED},
    {"x near y within", PARSE_UNFINISHED},
    {"if a then", PARSE_UNFINISHED},
    {"if a then\nstop\nelse", PARSE_UNFINISHED},
    {"for x in y do\n  show x\n", PARSE_UNFINISHED},
    {"while a do", PARSE_UNFINISHED},
    {"table x in y", PARSE_UNFINISHED},
    {"formula f(a)", PARSE_UNFINISHED},
    {"formula f(a) is mass\n give a", PARSE_UNFINISHED},
    {"formula f(a,", PARSE_UNFINISHED},
    {"find x from 0 to 1 so", PARSE_UNFINISHED},
    {"let x = if a then", PARSE_UNFINISHED},
    {"", PARSE_OK},
    {"# a remark", PARSE_OK},
    {"find x from 0 to 1 so x == 2", PARSE_OK},
    {"let x", PARSE_ERRORS},
    {"let", PARSE_ERRORS},
    {"show", PARSE_ERRORS},
    {"if a", PARSE_ERRORS},
    {"show \"abc", PARSE_ERRORS},
    {"show \"abc {1 +", PARSE_ERRORS},
    {"x near y", PARSE_ERRORS},
    {"show (1 ? 2", PARSE_ERRORS},
    {"if a then\nlet x", PARSE_ERRORS},
    {"let x 5\nif a then", PARSE_ERRORS},
};

Test(parse, unfinished_input) {
    for (size_t i = 0; i < sizeof unfinished_rows / sizeof *unfinished_rows; i++) {
        Parse got;
        parse(&got, unfinished_rows[i].source);
        cr_expect(got.status == unfinished_rows[i].want, "%s: status %d, want %d", unfinished_rows[i].source,
                  (int)got.status, (int)unfinished_rows[i].want);
        cr_expect((got.errors.count > 0) == (got.status != PARSE_OK), "%s: %d errors",
                  unfinished_rows[i].source, got.errors.count);
        parse_done(&got);
    }
}

/* ---- bytes ---- */

Test(parse, pasted_bytes) {
    static const Row rows[] = {
        {"\xEF\xBB\xBFlet x = 5\r\nlet y = \"a\"\r\n", "(let x 5) (let y (text \"a\"))"},
        {"let x = 5\xC2\xA0gal\r", "(let x (attach 5 gal))"},
        {"let x = 5\xE2\x80\xAFgal # caf\xC3\xA9", "(let x (attach 5 gal))"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Parse got;
        parse(&got, rows[i].source);
        cr_expect_str_eq(text_string(&got.dump), rows[i].want, "row %zu: %s", i, text_string(&got.dump));
        cr_expect(got.status == PARSE_OK, "row %zu", i);
        parse_done(&got);
    }
    Parse bad;
    parse(&bad, "let x = 5\nlet y = \"caf\xE9\"");
    cr_expect(bad.status == PARSE_ERRORS && bad.errors.count == 1 && bad.errors.items[0]->id == MSG_NOT_UTF8);
    parse_done(&bad);
    parse_bytes(&bad, "let x\0 = 5", 10);
    cr_expect(bad.status == PARSE_ERRORS && bad.errors.items[0]->id == MSG_STRAY_INVISIBLE);
    parse_done(&bad);
}

Test(parse, tells_the_host_of_units) {
    Parse got;
    parse(&got, "unit can = 12 floz\nuse \"a.rlet\"\nlet x = 5\nunit 5\n");
    cr_expect(got.declared == 2, "%d", got.declared);
    parse_done(&got);
}

Test(parse, works_without_a_host) {
    Source *source = source_new("test", NULL, "let x = a.b + f(2); unit can", 27);
    DiagList errors = {0};
    Program *program;
    cr_expect(parse_program(source, NULL, &errors, &program) == PARSE_OK);
    program_free(program);
    diag_list_free(&errors);
    source_release(source);
}

/* ---- literals of the command line, parameters of natives, keywords ---- */

static const struct {
    const char *source;
    NodeType want; /* NODE_NAME: none */
} literal_rows[] = {
    {"5 gal", NODE_ATTACH},
    {"5", NODE_NUMBER},
    {"-6 °C", NODE_ATTACH},
    {"1/2 tsp", NODE_ATTACH},
    {"½ cup", NODE_ATTACH},
    {"2027-02-14", NODE_DATE},
    {"true", NODE_TRUTH},
    {"false", NODE_TRUTH},
    {"1.050 ± 0.002 SG", NODE_PLUS_MINUS},
    {"1.050 SG +- 2 pts", NODE_PLUS_MINUS},
    {"gal", NODE_NAME},
    {"5 + 3", NODE_NAME},
    {"5 gal L", NODE_NAME},
    {"5 ml", NODE_NAME},
    {"(5)", NODE_NAME},
    {"f(5)", NODE_NAME},
    {"", NODE_NAME},
    {"none", NODE_NAME},
    {"1,5 gal", NODE_NAME},
    {"2027-02-30", NODE_NAME},
    {"5 gal 6", NODE_NAME},
    {"\"a\"", NODE_NAME},
    {"- 5", NODE_NAME},
    {"5; 6", NODE_NAME},
    {"5[1]", NODE_NAME},
    {"a ± 1", NODE_NAME},
};

Test(parse, literals) {
    for (size_t i = 0; i < sizeof literal_rows / sizeof *literal_rows; i++) {
        const char *text = literal_rows[i].source;
        Source *source = source_new("test", NULL, text, strlen(text));
        DiagList errors = {0};
        Arena *arena = arena_new();
        int declared = 0;
        ParseHost host = {.context = &declared,
                          .is_unit = host_is_unit,
                          .is_alias = host_is_alias,
                          .nearest_unit = host_nearest,
                          .declared = host_declared};
        Node *node = parse_literal(source, &host, false, &errors, arena);
        cr_expect((node ? node->type : NODE_NAME) == literal_rows[i].want, "%s", text);
        cr_expect(!node || errors.count == 0, "%s", text);
        arena_free(arena);
        diag_list_free(&errors);
        source_release(source);
    }
}

/* -1 for an error. */
static int count_parameters(const char *text, const Parameter **params, Parse *result) {
    char formula[200];
    snprintf(formula, sizeof formula, "formula f(%s) = 1", text);
    parse(result, formula);
    const Block *block = &result->program->block;
    if (result->errors.count || block->count != 1)
        return -1;
    *params = block->items[0]->as.formula.params;
    return block->items[0]->as.formula.param_count;
}

Test(parse, parameters) {
    static const char *const bad[] = {"x y z", "x,, y", "x) y", "x...", "x is volume or mass", "x is amount"};
    const Parameter *params;
    Parse result;
    cr_expect(count_parameters("", &params, &result) == 0);
    parse_done(&result);
    cr_assert(count_parameters("x, step: 1, with l is liquid, at: 20 °C", &params, &result) == 4);
    cr_expect_str_eq(params[0].name, "x");
    cr_expect(params[0].initial == NULL && params[0].kind == NULL);
    cr_expect(params[1].initial && params[1].initial->as.number == 1.0);
    cr_expect_str_eq(params[2].label, "with");
    cr_expect_str_eq(params[2].name, "l");
    cr_expect_str_eq(params[2].kind->word, "liquid");
    cr_expect(params[3].initial && params[3].initial->type == NODE_ATTACH);
    parse_done(&result);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        cr_expect(count_parameters(bad[i], &params, &result) == -1, "%s", bad[i]);
        parse_done(&result);
    }
}

static const struct {
    const char *text;
    TokenType token;
} words[] = {
#define KEYWORD(id, text, ...) {text, TOKEN_##id},
#define CONTEXT(id, text, ...) {text, TOKEN_WORD},
#include "front/language.def"
};

Test(parse, words) {
    static const char *const others[] = {"", "lets", "formulas", "Let", "whatever"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        const char *text = words[i].text;
        const Word *word = word_find(text, strlen(text));
        cr_assert(word && word == word_at((int)i), "%s", text);
        cr_expect(lex_find_keyword(text, strlen(text)) == words[i].token, "%s", text);
        cr_expect(words[i].token == TOKEN_WORD || word_of_token(words[i].token) == word, "%s", text);
    }
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        cr_expect(!word_find(others[i], strlen(others[i])), "%s", others[i]);
    cr_expect(word_is_counted("place", WORD_PLACES) && word_is_counted("places", WORD_PLACES) &&
              !word_is_counted("plac", WORD_PLACES) && !word_is_counted("placess", WORD_PLACES));
}

/* A statement that holds others says so, and no other does. */
Test(parse, blocks) {
    for (int type = 0; type < NO_STATEMENT; type++) {
        bool holds = type == STATEMENT_FORMULA || type == STATEMENT_IF || type == STATEMENT_FOR ||
                     type == STATEMENT_WHILE || type == STATEMENT_TABLE;
        cr_expect(tree_has_block((StatementType)type) == holds, "%d", type);
    }
}

/* ---- hostile input ends, with few errors and without running out of stack ---- */

static const struct {
    const char *head;
    const char *repeated;
    int times;
} hostile_rows[] = {
    {"", "(", 1000000},          {"show \"", "{", 1000000},
    {"show \"", "{\"", 500000},  {"", "[", 1000000},
    {"", "if a then\n", 100000}, {"", "if a then ", 100000},
    {"", "end ", 200000},        {"show ", "-", 1000000},
    {"show 1", "+1", 300000},    {"show 1", ",1", 200000},
    {"", "@", 300000},           {"", "f(", 300000},
    {"", "let\n", 200000},       {"x = ", "not ", 200000},
    {"x = 2", "^2", 200000},     {"x = a", ".a", 200000},
    {"x = ", "{a: ", 100000},    {"", "let x=1 end ", 50000},
    {"", "formula f(\n", 50000}, {"", "x do\n", 50000},
    {"x = ", "9", 500000},       {"x = ", "if a then ", 50000},
    {"x = 5 g", "*g", 200000},   {"", "table x in y\n", 50000},
};

Test(parse, hostile_input) {
    for (size_t i = 0; i < sizeof hostile_rows / sizeof *hostile_rows; i++) {
        Text text = {0};
        text_add_string(&text, hostile_rows[i].head);
        for (int k = 0; k < hostile_rows[i].times; k++)
            text_add_string(&text, hostile_rows[i].repeated);
        Parse got;
        parse_bytes(&got, text_string(&text), text.length);
        cr_expect(got.errors.count <= 100, "%s: %d errors", hostile_rows[i].repeated, got.errors.count);
        parse_done(&got);
        text_free(&text);
    }
}

Test(parse, duplicate_fields_of_a_long_record) {
    Text text = {0};
    text_add_string(&text, "x = {");
    for (int i = 0; i < 50000; i++) {
        text_add_char(&text, 'f');
        text_add_integer(&text, i);
        text_add_string(&text, ": 1, ");
    }
    text_add_string(&text, "f77: 2}");
    Parse got;
    parse_bytes(&got, text_string(&text), text.length);
    cr_expect(got.errors.count == 1 && got.errors.items[0]->id == MSG_FIELD_TWICE);
    parse_done(&got);
    text_free(&text);
}
