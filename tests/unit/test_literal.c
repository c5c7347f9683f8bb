/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A literal means the same behind every door: in a script, as an input, in a text given to quantity() and in
 * a cell of a file. Each is brought in through all four, and value, unit and ±, or the row of the mistake,
 * are compared with the table and so with one another. */
#include <criterion/criterion.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/mem.h"
#include "facade/session.h"
#include "quantities/unit.h"

/* What came through a door. */
typedef struct Outcome {
    bool read;
    double number, uncertainty;
    char unit[64];
    MessageId why;
} Outcome;

/* A literal in two parts, since a file has the unit in the heading. */
typedef struct Written {
    const char *number, *between, *unit;
} Written;

static char folder[] = "/tmp/rundlet-literal-XXXXXX";
static Session *session;

static void renew_session(void) {
    SessionOptions options = session_default_options();
    options.folder = folder;
    options.shelf = "/nonexistent";
    session_free(session);
    session = session_new(&options);
}

static void open_folder(void) {
    cr_assert_not_null(mkdtemp(folder));
    session = NULL;
}

static void close_folder(void) {
    char file[64];
    snprintf(file, sizeof file, "%s/cell.csv", folder);
    session_free(session);
    unlink(file);
    cr_expect_eq(rmdir(folder), 0);
}

/* ---- the doors ---- */

/* The last shown value of a run, or the first error: the mistake inside a text where there is one. */
static Outcome run(const char *text, const char *input) {
    Outcome outcome = {0};
    renew_session();
    if (input)
        session_set_input(session, "x", input);
    Source *source = source_new("a.rlet", NULL, text, strlen(text));
    SessionStatus status = session_run(session, source);
    const Report *report = session_report(session);
    const DiagList *errors = session_errors(session);
    if (status == SESSION_OK && report->count) {
        const Item *item = report->items[report->count - 1];
        outcome.read = value_is_quantity(item->shown.value);
        outcome.number = outcome.read ? item->shown.value.as.number : 0;
        outcome.uncertainty = item->shown.spreads ? item->shown.spreads[0] : 0;
        if (outcome.read)
            snprintf(outcome.unit, sizeof outcome.unit, "%s",
                     unit_get(session_units(session), item->shown.value.unit)->name);
    } else if (errors->count) {
        outcome.why = errors->items[0]->cause ? errors->items[0]->cause : errors->items[0]->id;
    }
    source_release(source);
    return outcome;
}

static Outcome by_script(const char *literal) {
    char text[512];
    snprintf(text, sizeof text, "let x = %s\nshow x\n", literal);
    return run(text, NULL);
}

/* The default is of the kind that is expected, and never the value itself. */
static Outcome by_input(const char *literal, const Outcome *wanted) {
    char text[512];
    bool date = wanted->read && strcmp(wanted->unit, "date") == 0;
    snprintf(text, sizeof text, "input x = %s %s\nshow x\n", date ? "1901-01-01" : "7.25",
             date || !wanted->read ? "" : wanted->unit);
    return run(text, literal);
}

static Outcome by_quantity(const char *literal) {
    char text[512];
    snprintf(text, sizeof text, "show quantity('%s')\n", literal);
    return run(text, NULL);
}

static Outcome by_file(const Written *written) {
    char file[64];
    snprintf(file, sizeof file, "%s/cell.csv", folder);
    FILE *stream = fopen(file, "w");
    cr_assert_not_null(stream);
    fprintf(stream, "\"x%s%s%s\"\n\"%s\"\n", *written->unit ? " [" : "", written->unit,
            *written->unit ? "]" : "", written->number);
    fclose(stream);
    return run("let rows = read(\"cell.csv\")\nshow rows[1].x\n", NULL);
}

/* ---- comparing ---- */

static bool is_same(const Outcome *a, const Outcome *b) {
    if (a->read != b->read)
        return false;
    if (!a->read)
        return a->why == b->why;
    return a->number == b->number && strcmp(a->unit, b->unit) == 0 &&
           fabs(a->uncertainty - b->uncertainty) <= 1e-9 * b->uncertainty;
}

static void expect_same(const char *door, const char *literal, const Outcome *came, const Outcome *wanted) {
    cr_expect(is_same(came, wanted), "%s: %s gives %.17g %s ± %g %s, not %.17g %s ± %g %s", door, literal,
              came->number, came->unit, came->uncertainty, came->read ? "" : message_name(came->why),
              wanted->number, wanted->unit, wanted->uncertainty,
              wanted->read ? "" : message_name(wanted->why));
}

static void check(const Written *written, const Outcome *wanted) {
    char literal[256];
    snprintf(literal, sizeof literal, "%s%s%s", written->number, written->between, written->unit);
    Outcome of_text = *wanted; /* a text read while the script runs brings no ± */
    if (wanted->uncertainty > 0)
        of_text = (Outcome){.why = MSG_TEXT_SPREAD};
    Outcome script = by_script(literal), input = by_input(literal, wanted), text = by_quantity(literal),
            file = by_file(written);
    expect_same("script", literal, &script, wanted);
    expect_same("input", literal, &input, wanted);
    expect_same("quantity", literal, &text, &of_text);
    if (!of_text.read && !*written->unit &&
        of_text.why != MSG_DATE_IMPOSSIBLE) /* without a unit, what is no number makes a column of texts */
        of_text = (Outcome){.why = MSG_NONE};
    expect_same("file", literal, &file, &of_text);
}

/* ---- every number with every unit ---- */

static const struct {
    const char *text;
    double number;
    bool wants_unit; /* fractions */
} numbers[] = {
    {"0", 0, false},
    {"5", 5, false},
    {"20", 20, false},
    {"1.050", 1.05, false},
    {"0.5", 0.5, false},
    {"1_000", 1000, false},
    {"12_345.25", 12345.25, false},
    {"2.5e-3", 0.0025, false},
    {"1E2", 100, false},
    {"1e+2", 100, false},
    {"2e−1", 0.2, false},
    {"½", 0.5, false},
    {"¼", 0.25, false},
    {"1½", 1.5, true},
    {"2 ¾", 2.75, true},
    {"1/2", 0.5, true},
    {"3/8", 0.375, true},
    {"1 1/2", 1.5, true},
    {"10 3/4", 10.75, true},
};

static const struct { const char *text, *sign; } signs[] = {{"", ""}, {"+", "+"}, {"-", "-"}, {"−", "-"}};

static const struct {
    const char *text, *unit;
} units[] = {
    {"", ""},          {"gal", "gal"},    {"cups", "cup"},  {"°C", "°C"},        {"ºC", "°C"},
    {"℃", "°C"},       {"degC", "°C"},    {"℉", "°F"},      {"C°", "C°"},        {"Cº", "C°"},
    {"°Bx", "°Bx"},    {"ºBx", "°Bx"},    {"Plato", "°P"},  {"SG", "SG"},        {"%", "%"},
    {"%ABV", "%ABV"},  {"g/L", "g/L"},    {"g / L", "g/L"}, {"mg·L^-1", "mg/L"}, {"m/s^2", "m/s^2"},
    {"m/s²", "m/s^2"}, {"weeks", "week"}, {"pH", "pH"},     {"vols", "vols"},
};

static const char *const blanks[] = {"", " ", "  ", "\t", "\u00A0", "\u202F", "\u2009"};

#define COUNT(array) (sizeof(array) / sizeof *(array))

Test(literal, numbers_with_units_mean_the_same_everywhere, .init = open_folder, .fini = close_folder) {
    int checked = 0;
    for (size_t n = 0; n < COUNT(numbers); n++) {
        for (size_t u = 0; u < COUNT(units); u++) {
            size_t s = (n + u) % COUNT(signs), b = (n * 3 + u) % COUNT(blanks);
            char number[64];
            if (numbers[n].wants_unit && !*units[u].unit)
                continue;
            snprintf(number, sizeof number, "%s%s", signs[s].text, numbers[n].text);
            Outcome wanted = {.read = true, .number = numbers[n].number};
            if (*signs[s].sign == '-')
                wanted.number = -wanted.number;
            snprintf(wanted.unit, sizeof wanted.unit, "%s", units[u].unit);
            check(&(Written){number, *units[u].unit ? blanks[b] : "", units[u].text}, &wanted);
            checked++;
        }
    }
    cr_expect_geq(checked, 400);
}

/* ---- dates and ± ---- */

static const struct {
    Written written;
    Outcome wanted;
} measured[] = {
    {{"1970-01-02", "", ""}, {true, 1, 0, "date", MSG_NONE}},
    {{"2000-02-29", "", ""}, {true, 11016, 0, "date", MSG_NONE}}, /* 30 years and 7 leap days, 59 days on */
    {{"1.050 ± 0.002", " ", "SG"}, {true, 1.05, 0.002, "SG", MSG_NONE}},
    {{"1.050 +- 0.002", " ", "SG"}, {true, 1.05, 0.002, "SG", MSG_NONE}},
    {{"1.050±0.002", "", "SG"}, {true, 1.05, 0.002, "SG", MSG_NONE}},
    {{"+20 ± 0.5", " ", "ºC"}, {true, 20, 0.5, "°C", MSG_NONE}},
    {{"−3 +− 1", " ", "℃"}, {true, -3, 1, "°C", MSG_NONE}},
    {{"5 ± 1/4", " ", "gal"}, {true, 5, 0.25, "gal", MSG_NONE}},
    {{"12 ± 3", "", ""}, {true, 12, 3, "", MSG_NONE}},
    {{"1e3 ± 5e1", " ", "mL"}, {true, 1000, 50, "mL", MSG_NONE}},
};

Test(literal, dates_and_readings_mean_the_same_everywhere, .init = open_folder, .fini = close_folder) {
    for (size_t i = 0; i < COUNT(measured); i++)
        check(&measured[i].written, &measured[i].wanted);
}

/* ---- mistakes ---- */

static const struct {
    Written written;
    MessageId why;
} mistakes[] = {
    {{"1,5", " ", "gal"}, MSG_NUMBER_COMMA},
    {{"+1,5", " ", "gal"}, MSG_NUMBER_COMMA},
    {{"1,5", "", ""}, MSG_NUMBER_COMMA},
    {{"100.000,5", " ", "mL"}, MSG_NUMBER_COMMA},
    {{"1,500", " ", "mL"}, MSG_NUMBER_COMMA_THOUSANDS},
    {{"1.2.3", " ", "g"}, MSG_NUMBER_TWO_POINTS},
    {{".5", " ", "gal"}, MSG_NUMBER_POINT_START},
    {{"+.5", " ", "gal"}, MSG_NUMBER_POINT_START},
    {{"5.", " ", "gal"}, MSG_NUMBER_POINT_END},
    {{"1__0", " ", "g"}, MSG_NUMBER_UNDERSCORE},
    {{"1_", " ", "g"}, MSG_NUMBER_UNDERSCORE},
    {{"1e999", " ", "g"}, MSG_NUMBER_TOO_LARGE},
    {{"5 000", " ", "g"}, MSG_NUMBER_GROUPED},
    {{"5 12", " ", "g"}, MSG_TWO_NUMBERS},
    {{"1/0", " ", "tsp"}, MSG_FRACTION_ZERO},
    {{"1 1/0", " ", "tsp"}, MSG_FRACTION_ZERO},
    {{"1 1/2", "", ""}, MSG_MIXED_NEEDS_UNIT},
    {{"–5", " ", "°C"}, MSG_SIGN_INSTEAD},
    {{"⅓", " ", "cup"}, MSG_SIGN_INSTEAD},
    {{"$5", " ", "g"}, MSG_STRAY_MONEY},
    {{"+ 5", " ", "°C"}, MSG_PLUS_SIGN},
    {{"+2027-02-14", "", ""}, MSG_PLUS_SIGN},
    {{"2027-02-30", "", ""}, MSG_DATE_IMPOSSIBLE},
    {{"2027-2-14", "", ""}, MSG_DATE_DIGITS},
    {{"2027-02-114", "", ""}, MSG_DATE_DIGITS},
    {{"14/02/2027", "", ""}, MSG_DATE_SLASHES},
    {{"2027-02-14T18:30", "", ""}, MSG_DATE_TIME},
    {{"2027-02-14T18:30:00Z", "", ""}, MSG_DATE_TIME},
    {{"5", " ", "galons"}, MSG_UNIT_UNKNOWN_NEAR},
    {{"5", " ", "ML"}, MSG_UNIT_UNKNOWN_NEAR},
    {{"5", " ", "mg/ML"}, MSG_UNIT_UNKNOWN_NEAR},
    {{"5", " ", "us pt"}, MSG_UNIT_UNKNOWN_NEAR},
    {{"5", " ", "qqqqqqqqq"}, MSG_UNIT_UNKNOWN},
    {{"5", " ", "g/"}, MSG_VALUE_WANTED},
    {{"5", " ", "m^"}, MSG_UNIT_POWER},
    {{"5", " ", "m^1.5"}, MSG_UNIT_POWER},
    {{"5", " ", "m^100"}, MSG_UNIT_POWER},
    {{"5", " ", "°"}, MSG_LONE_DEGREE},
    {{"5", " ", "g*g*g*g*g*g*g*g*g*g*g*g*g*m*s*K"}, MSG_UNIT_READING_PART},
    {{"5", " ", "°C/min"}, MSG_UNIT_READING_PART},
    {{"5 ± -1", " ", "gal"}, MSG_UNCERTAINTY_SIGN},
    {{"5 ± 1 ± 1", " ", "gal"}, MSG_UNCERTAINTY_TWICE},
};

Test(literal, mistakes_are_the_same_everywhere, .init = open_folder, .fini = close_folder) {
    for (size_t i = 0; i < COUNT(mistakes); i++)
        check(&mistakes[i].written, &(Outcome){.why = mistakes[i].why});
}

/* Behind a sign a script may go on with a value, so there the unknown word is one. */
static const Written after_signs[] = {
    {"5", " ", "g/qqqqqqqqq"}, {"5", "", "g*qqqqqqqqq"}, {"1/2", " ", "kg/qqqqqqqqq"}};

Test(literal, half_of_a_unit_is_the_same_everywhere, .init = open_folder, .fini = close_folder) {
    for (size_t i = 0; i < COUNT(after_signs); i++) {
        char literal[64];
        Outcome none = {.why = MSG_UNIT_UNKNOWN}, value = {.why = MSG_UNKNOWN_VALUE};
        snprintf(literal, sizeof literal, "%s%s%s", after_signs[i].number, after_signs[i].between,
                 after_signs[i].unit);
        Outcome script = by_script(literal), input = by_input(literal, &none), text = by_quantity(literal),
                file = by_file(&after_signs[i]);
        expect_same("script", literal, &script, &value);
        expect_same("input", literal, &input, &none);
        expect_same("quantity", literal, &text, &none);
        expect_same("file", literal, &file, &none);
    }
}

/* What is more than a literal is for scripts alone. */
static const char *const expressions[] = {
    "2 * 3 gal", "1/2",  "5 gal + 1 L", "(5 gal)",      "- 5 gal", "5 gal # cold",
    "5 gal; 6",  "5^2",  "\"5 gal\"",   "5 gal as L",   "sqrt(4)", "[5]",
    "5 gal\n6",  "none", "5 gal of x",  "5 gal, 6 gal", "gal",     ""};

Test(literal, no_door_but_a_script_takes_more, .init = open_folder, .fini = close_folder) {
    for (size_t i = 0; i < COUNT(expressions); i++) {
        Outcome none = {0}, input = by_input(expressions[i], &none), text = by_quantity(expressions[i]);
        cr_expect(!input.read && input.why != MSG_NONE, "input: %s", expressions[i]);
        cr_expect(!text.read && text.why != MSG_NONE, "quantity: %s", expressions[i]);
    }
}
