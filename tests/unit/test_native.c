/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The natives, driven through Call structs. Most behaviours are rows: a name, arguments as short texts, and
 * what `show` would print of the result, or "! " and the message (native_world.h). Liquids and the formulas
 * on physics are in test_native_liquid.c. */
#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "native_world.h"

#include "base/mem.h"
#include "facade/session_state.h"
#include "front/library.h"
#include "runtime/native_tables.h"
#include "values/kind_check.h"

/* ---- the registry ---- */

/* Is each parameter documented, "x: …" or "low, high: …" at the start of a line? */
static bool documents(const char *doc, const char *label) {
    size_t length = strlen(label);
    for (const char *line = doc; line; line = strchr(line, '\n')) {
        line += *line == '\n';
        const char *colon = strstr(line, ": ");
        for (const char *at = line; colon && at + length <= colon; at++)
            if (strncmp(at, label, length) == 0 && (at[length] == ':' || at[length] == ','))
                return true;
    }
    return false;
}

Test(native, declarations_are_whole) {
    World world;
    world_open(&world);
    for (int at = 0; at < library_name_count; at++) {
        if (library_names[at].part)
            continue;
        const Formula *formula = world_formula(&world, library_names[at].name);
        cr_assert(formula && formula->chunk, "%s can be loaded", library_names[at].name);
        cr_expect(strstr(formula->doc, "Source: "), "%s names its source", formula->name);
        for (int i = 0; i < formula->param_count; i++)
            cr_expect(documents(formula->doc, formula->params[i].label), "%s documents %s", formula->name,
                      formula->params[i].label);
    }
    cr_expect_eq(world.session->errors.count, 0);
    cr_expect_null(world_formula(&world, "no_such_formula"));
    cr_expect_null(world_formula(&world, "gas_yield"), "a part is seen from its own file only");
    world_close(&world);
}

static bool is_declared(const char *name) {
    bool declared = false;
    Text body = {0};
    text_add_string(&body, "= native ");
    text_add_string(&body, name);
    text_add_char(&body, '\n');
    for (int at = 0; at < library_file_count; at++)
        declared = declared || strstr(library_files[at].text, text_string(&body));
    text_free(&body);
    return declared;
}

static void expect_declared(const NativeTable *table) {
    for (int i = 0; i < table->count; i++) {
        const Native *row = &table->rows[i];
        cr_expect(is_declared(row->name), "%s is declared by a formula of stdlib", row->name);
        cr_expect_eq(native_find(row->name), row, "%s is found by its name", row->name);
        cr_expect(row->function, "%s has a function", row->name);
    }
}

Test(native, each_function_is_declared) {
#define TABLE(topic) expect_declared(&native_##topic##_table);
    NATIVE_TABLES(TABLE)
#undef TABLE
    cr_expect_null(native_find("no_such_formula"));
    cr_expect_null(native_find(""));
}

/* A quantity of a kind, or a likely value of one that is none. */
static Value value_of_kind(World *world, Kind kind, double number) {
    static const UnitId units[] = {[KIND_VOLUME] = UNIT_L,
                                   [KIND_MASS] = UNIT_KG,
                                   [KIND_TIME] = UNIT_DAY,
                                   [KIND_TEMPERATURE] = UNIT_CELSIUS,
                                   [KIND_GRAVITY] = UNIT_SG,
                                   [KIND_GRAVITY_DIFFERENCE] = UNIT_PTS,
                                   [KIND_STRENGTH] = UNIT_ABV,
                                   [KIND_PRESSURE] = UNIT_KPA,
                                   [KIND_CONCENTRATION] = UNIT_G_PER_L,
                                   [KIND_DATE] = UNIT_DATE};
    switch ((int)kind) {
    case KIND_TEXT:
        return world_value(world, "'5 gal");
    case KIND_LIST:
        return world_value(world, "[1, 2]");
    case KIND_RECORD:
        return value_of_record(record_new(world->heap, 0));
    case KIND_LIQUID:
        return WORLD_MAKE(world, "juice", "1.05 SG");
    case KIND_MONEY:
        return value_amount(number, world->crown);
    case KIND_NONE: /* several will do */
        return value_amount(number, UNIT_L);
    default:
        return value_quantity(world->units, number,
                              (size_t)kind < sizeof units / sizeof *units ? units[kind] : UNIT_NUMBER);
    }
}

/* What a formula gave is of the kind it declares. */
static void expect_kind(World *world, const Formula *formula, Value result) {
    const KindCheck *kind = formula_result_kind(formula);
    Fault fault = {0};
    cr_expect(!kind || kind_check_is(world->units, kind, result, true, &fault), "%s gives another kind",
              formula->name);
    fault_clear(&fault);
}

/* Whatever comes in, a native answers or says why not (world_call asserts it); the sanitizers watch. */
Test(native, any_argument_is_answered) {
    static const char *const odd[] = {"none",    "'text",    "'",       "[]",     "[1, 'a, none]", "0",
                                      "-1",      "1e300",    "5 gal",   "-5 gal", "5 g",           "0.1 SG",
                                      "1.05 SG", "200 %ABV", "-300 °C", "3 pH",   "2027-02-14",    "5 %"};
    enum { ODD = sizeof odd / sizeof *odd, MOST = 12 };
    World world;
    world_open(&world);
    Value values[ODD + 1], args[MOST], result;
    for (int i = 0; i < ODD; i++)
        values[i] = world_value(&world, odd[i]);
    values[ODD] = WORLD_MAKE(&world, "juice", "1.05 SG");
    for (int at = 0; at < library_name_count; at++) {
        const Formula *formula = world_formula(&world, library_names[at].name);
        if (!formula || !formula->native || strcmp(formula->name, "correlated") == 0)
            continue;
        int count = formula->param_count;
        for (int turn = 0; count && turn < (ODD + 1) * count * (ODD + 1); turn++) {
            for (int i = 0; i < count; i++) /* one value everywhere, another in one place */
                args[i] = values[i == turn % count ? turn / count % (ODD + 1) : turn / count / (ODD + 1)];
            if (world_call(&world, formula->name, args, count, &result))
                expect_kind(&world, formula, result);
        }
    }
    world_close(&world);
}

/* The same with arguments of the kinds declared, so that the functions see odd numbers. */
Test(native, any_number_is_answered) {
    static const double numbers[] = {0, -1, 1, 1e-300, 1e300, 0.5, 20, 1000};
    enum { NUMBERS = sizeof numbers / sizeof *numbers, MOST = 12 };
    World world;
    Value args[MOST], result;
    world_open(&world);
    for (int at = 0; at < library_name_count; at++) {
        const Formula *formula = world_formula(&world, library_names[at].name);
        if (!formula || !formula->native)
            continue;
        for (int turn = 0; turn < NUMBERS * NUMBERS * formula->param_count; turn++) {
            for (int i = 0; i < formula->param_count; i++) {
                const KindCheck *kind = formula_parameter_kind(formula, i);
                bool other = i == turn % formula->param_count;
                double number = numbers[other ? turn / formula->param_count % NUMBERS
                                              : turn / formula->param_count / NUMBERS];
                args[i] = kind ? value_of_kind(&world, kind_check_only(world.units, kind), number)
                               : value_number(number);
            }
            world_call(&world, formula->name, args, formula->param_count, &result);
        }
    }
    world_close(&world);
}

/* ---- general ---- */

Test(native, numbers) {
    static const NativeRow rows[] = {
        {"round", {"2.5"}, "3"},
        {"round", {"-2.5"}, "-3"},
        {"round", {"0.5"}, "1"},
        {"round", {"2.675", "0.01"}, "2.68"},
        {"round", {"1.005", "0.01"}, "1.01"},
        {"round", {"7.3 floz", "1 floz"}, "7 floz"},
        {"round", {"7.3 floz"}, "7 floz"},
        {"round", {"1.6 gal", "2 qt"}, "1.5 gal"},
        {"round", {"7.3 floz", "0.25"}, "7.25 floz"},
        {"round", {"68.34 °F", "0.5 F°"}, "68.5 °F"},
        {"round", {"20.3 °C", "0.9 F°"}, "20.5 °C"},
        {"round", {"1.0523 SG", "1 pts"}, "1.052 SG"},
        {"round", {"1.0523 SG", "0.01"}, "1.050 SG"},
        {"round", {"12.34 °Bx", "0.5"}, "12.5 °Bx"},
        {"round", {"5.3%"}, "5 %"},
        {"floor", {"5.3 gal"}, "5 gal"},
        {"floor", {"2.9999999999"}, "3"},
        {"floor", {"-0.5"}, "-1"},
        {"ceil", {"5.3 gal"}, "6 gal"},
        {"ceil", {"3.0000000001"}, "3"},
        {"abs", {"-5 gal"}, "5 gal"},
        {"abs", {"-5%"}, "5 %"},
        {"sqrt", {"16"}, "4"},
        {"sqrt", {"25%"}, "0.5"},
        {"sqrt", {"9 m^2"}, "3 m"},
        {"exp", {"1"}, "2.718"},
        {"ln", {"10"}, "2.303"},
        {"log10", {"1000"}, "3"},
        {"log10", {"10%"}, "-1"},
        {"sin", {"0"}, "0"},
        {"cos", {"0"}, "1"},
        {"tan", {"0"}, "0"},
        {"number", {"5%"}, "5"},
        {"number", {"5 gal"}, "5"},
        {"number", {"68 °F"}, "68"},
        {"kind", {"5 gal"}, "volume"},
        {"kind", {"1.050 SG"}, "gravity"},
        {"kind", {"2 pts"}, "gravity_difference"},
        {"kind", {"5 g/min"}, "g/min"},
        {"kind", {"5%"}, "number"},
        {"kind", {"'x"}, "text"},
        {"kind", {"[1, 2]"}, "list"},
        {"kind", {"none"}, "none"},
        {"text", {"1.05 SG"}, "1.050 SG"},
        {"text", {"[1, 'a]"}, "[1, \"a\"]"},
        {"today", {NULL}, "2027-02-14"},
        {"weekday", {"2027-02-14"}, "Sunday"},
        {"weekday", {"2000-01-01"}, "Saturday"},
        {"year", {"2027-02-14"}, "2027"},
        {"month", {"2027-02-14"}, "2"},
        {"day", {"2027-02-14"}, "14"},
        {"year", {"1969-12-31"}, "1969"}, /* before the day that days are counted from */
        {"month", {"1969-12-31"}, "12"},
        {"day", {"1969-12-31"}, "31"},
    };
    CHECK_ROWS(rows);
}

Test(native, number_errors) {
    static const NativeRow rows[] = {
        {"round", {"5 gal", "1 kg"}, "! round needs a volume for `step`, not a mass"},
        {"round", {"5 gal", "0 gal"}, "! the step of round must be above zero"},
        {"round", {"5", "-1"}, "! the step of round must be above zero"},
        {"round", {"68 °F", "1 °F"}, "! round needs a temperature difference for `step`, not a temperature"},
        {"round", {"12 °Bx", "1 pts"}, "! round needs a plain number for `step`, not a gravity difference"},
        {"round", {"2027-02-14"}, "! round needs a quantity for `x`, not a date"},
        {"floor", {"'x"}, "! floor needs a quantity for `x`, not a text"},
        {"abs", {"-5 °C"}, "! abs needs a number or an amount for `x`, not a temperature"},
        {"sqrt", {"-4"}, "! sqrt of -4 is not defined"},
        {"ln", {"0"}, "! ln of 0 is not defined"},
        {"ln", {"5 gal"}, "! ln needs a plain number for `x`, not a volume"},
        {"exp", {"1000"}, "! the result is too large for a number"},
        {"number", {"2027-02-14"}, "! number needs a quantity for `x`, not a date"},
        {"number", {"'5"}, "! number needs a quantity for `x`, not a text"},
        {"weekday", {"5 day"}, "! weekday needs a date for `date`, not a time"},
    };
    CHECK_ROWS(rows);
}

Test(native, lists) {
    static const NativeRow rows[] = {
        {"min", {"3", "1", "2"}, "1"},
        {"min", {"[3 L, 1 gal]"}, "3 L"},
        {"max", {"3 L", "1 gal"}, "3.785 L"},
        {"max", {"[68 °F, 25 °C]"}, "77.0 °F"},
        {"min", {"1.050 SG", "10 °Bx"}, "1.040 SG"},
        {"min", {"[2027-02-14, 2026-12-31]"}, "2026-12-31"},
        {"min", {"5%", "0.1"}, "5 %"},
        {"sum", {"[]"}, "0"},
        {"sum", {"[1 gal, 1 L]"}, "1.264 gal"},
        {"sum", {"0.1", "0.2"}, "0.3"},
        {"sum", {"[5%, 1]"}, "1.05"},
        {"mean", {"[1 gal, 2 gal]"}, "1.5 gal"},
        {"mean", {"[68 °F, 20 °C]"}, "68.0 °F"},
        {"mean", {"[10 °Bx, 20 °Bx]"}, "15.0 °Bx"},
        {"mean", {"[2027-02-14, 2027-02-16]"}, "2027-02-15"},
        {"length", {"[1, 2, 3]"}, "3"},
        {"length", {"'Äpfel"}, "5"},
        {"sort", {"[3, 1, 2]"}, "[1, 2, 3]"},
        {"sort", {"[1 gal, 1 L, 2 qt]"}, "[1 L, 2 qt, 1 gal]"},
        {"sort", {"['pear, 'apple, 'Quince]"}, "[\"Quince\", \"apple\", \"pear\"]"},
        {"sort", {"[20 °C, 60 °F]"}, "[60.0 °F, 20.0 °C]"},
        {"sort", {"[]"}, "[]"},
        {"sort",
         {"[1000 mL, 1 L, 100 cL, 5 mL]"},
         "[5 mL, 1000 mL, 1 L, 100 cL]"}, /* equal ones keep their order */
        {"append", {"[1]", "'a"}, "[1, \"a\"]"},
        {"join", {"['a, 'b]", "'-"}, "a-b"},
        {"join", {"[1 gal, 1.05 SG]", "', "}, "1 gal, 1.050 SG"},
        {"range", {"1", "4"}, "[1, 2, 3, 4]"},
        {"range", {"0 mL", "40 mL", "20 mL"}, "[0 mL, 20 mL, 40 mL]"},
        {"range", {"0", "1", "0.1"}, "[0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1]"},
        {"range", {"3", "1", "-1"}, "[3, 2, 1]"},
        {"range", {"3", "1"}, "[]"},
        {"range", {"1 L", "1 gal"}, "[1 L, 2 L, 3 L]"},
        {"range", {"1.000 SG", "1.010 SG", "5 pts"}, "[1.000 SG, 1.005 SG, 1.010 SG]"},
        {"range", {"10 °Bx", "12 °Bx"}, "[10.0 °Bx, 11.0 °Bx, 12.0 °Bx]"},
        {"range", {"2027-02-27", "2027-03-01"}, "[2027-02-27, 2027-02-28, 2027-03-01]"},
        {"range", {"2027-02-14", "2027-03-01", "1 week"}, "[2027-02-14, 2027-02-21, 2027-02-28]"},
    };
    CHECK_ROWS(rows);
}

Test(native, list_errors) {
    static const NativeRow rows[] = {
        {"min", {"[]"}, "! min of nothing is not defined"},
        {"min", {"[1 L, 2 kg]"}, "! min needs a volume like the first, but value 2 is a mass"},
        {"max", {"'a", "'b"}, "! max needs quantities, but value 1 is a text"},
        {"mean", {"[]"}, "! mean of nothing is not defined"},
        {"mean", {"[3.2 pH, 3.4 pH]"}, "! pH readings cannot be averaged: pH is a logarithm"},
        {"sum", {"[68 °F]"}, "! sum needs amounts or liquids, but value 1 is a temperature"},
        {"length", {"5"}, "! length needs a text, a list or a record for `x`, not a plain number"},
        {"sort", {"[1, 'a]"}, "! sort needs a plain number like the first, but value 2 is a text"},
        {"sort", {"['a, 1]"}, "! sort needs texts like the first, but value 2 is a plain number"},
        {"append", {"1", "2"}, "! append needs a list for `list`, not a plain number"},
        {"join", {"['a]", "1"}, "! join needs a text for `text`, not a plain number"},
        {"range", {"1", "4", "0"}, "! the step of range must be other than zero"},
        {"range",
         {"1", "4", "1e-9"},
         "! a list can hold up to 10 000 000 items, and this one would be longer"},
    };
    CHECK_ROWS(rows);
}

Test(native, sum_keeps_what_rounding_loses) {
    World world;
    Value result;
    world_open(&world);
    ListObject *list = list_new(world.heap, 1000000);
    for (uint32_t i = 0; i < list->count; i++)
        list->items[i] = value_number(0.1);
    cr_assert(world_call(&world, "sum", (Value[]){value_of_list(list)}, 1, &result));
    cr_expect_eq(result.as.number, 100000.0);
    world_close(&world);
}

/* ---- text ---- */

Test(native, text) {
    static const NativeRow rows[] = {
        {"match", {"'batch 12", "'(\\d+)"}, "{\"0\": \"12\", \"1\": \"12\"}"},
        {"match",
         {"'1.050 SG", "'(?<value>[\\d.]+) (?<unit>\\w+)"},
         "{\"0\": \"1.050 SG\", \"1\": \"1.050\", \"2\": \"SG\", unit: \"SG\", value: \"1.050\"}"},
        {"match", {"'b", "'(a)?b"}, "{\"0\": \"b\", \"1\": none}"},
        {"match", {"'abc", "'x"}, "none"},
        {"find_all", {"'a1b22", "'\\d+"}, "[{\"0\": \"1\"}, {\"0\": \"22\"}]"},
        {"find_all", {"'ab", "'x*"}, "[{\"0\": \"\"}, {\"0\": \"\"}, {\"0\": \"\"}]"},
        {"replace", {"'a-b-c", "'-", "'+"}, "a+b+c"},
        {"replace", {"'12 gal", "'(\\d+) (\\w+)", "'$2 $1"}, "gal 12"},
        {"split", {"'a, b,c", "',\\s*"}, "[\"a\", \"b\", \"c\"]"},
        {"split", {"'äbc", "'"}, "[\"ä\", \"b\", \"c\"]"},
        {"split", {"'", "',"}, "[\"\"]"},
        {"split", {"',a,", "',"}, "[\"\", \"a\", \"\"]"},
        {"upper", {"'äpfel"}, "ÄPFEL"},
        {"lower", {"'ÄPFEL"}, "äpfel"},
        {"quantity", {"'1.050 SG"}, "1.050 SG"},
        {"quantity", {"'5 gal"}, "5 gal"},
        {"quantity", {"' 12 "}, "12"},
        {"quantity", {"'5%"}, "5 %"},
        {"quantity", {"'-6 °C"}, "-6.0 °C"},
        {"quantity", {"'\u22126 °C"}, "-6.0 °C"},
        {"quantity", {"'0.96 g/L"}, "0.96 g/L"},
        {"quantity", {"'9.8 m/s^2"}, "9.8 m/s^2"},
        {"quantity", {"'3 weeks"}, "3 week"},
        {"quantity", {"'2027-02-14"}, "2027-02-14"},
        {"quantity", {"'2.5e-3"}, "0.0025"},
    };
    CHECK_ROWS(rows);
}

Test(native, text_errors) {
    static const NativeRow rows[] = {
        {"match", {"5", "'x"}, "! match needs a text for `text`, not a plain number"},
        {"match", {"'x", "5"}, "! match needs a text for `pattern`, not a plain number"},
        {"match", {"'x", "'(a"}, "! the pattern cannot be read: missing closing parenthesis, at character 3"},
        {"match",
         {"'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa!", "'(a+)+$"},
         "! matching this pattern takes too long"},
        {"replace",
         {"'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa!", "'(a+)+$", "'"},
         "! matching this pattern takes too long"},
        {"replace", {"'a", "'a", "'$7"}, "! the replacement names a group that the pattern does not have"},
        {"quantity", {"'gal"}, "! \"gal\" cannot be read as a value"},
        {"quantity", {"'1,5 gal"}, "! \"1,5 gal\" cannot be read as a value"},
        {"quantity", {"'"}, "! \"\" cannot be read as a value"},
        {"quantity", {"'5 mll"}, "! \"5 mll\" cannot be read as a value"},
        {"quantity", {"'5 gal gal"}, "! \"5 gal gal\" cannot be read as a value"},
        {"quantity", {"'5 m^"}, "! \"5 m^\" cannot be read as a value"},
    };
    CHECK_ROWS(rows);
}

typedef struct Looker {
    int looks, most;
} Looker;

static bool look(void *context, Fault *fault) {
    Looker *looker = context;
    return ++looker->looks < looker->most || fault_set(fault, MSG_TIME_LIMIT, NO_ARGS);
}

/* 100 000 starting places of a pattern that takes some hundred steps at each. */
Test(native, a_search_is_stopped_inside) {
    enum { LENGTH = 100000 };
    World world;
    world_open(&world);
    char *bytes = mem_alloc(LENGTH + 1);
    memset(bytes, 'a', LENGTH);
    Value args[] = {value_text(world.heap, bytes, LENGTH), world_value(&world, "'(?:a|aa){6}[bc]")}, result;
    Looker looker = {.most = 2};
    world.heap->watch.holds = look;
    world.heap->watch.context = &looker;
    cr_expect(!world_call(&world, "match", args, 2, &result), "stopped at its second look");
    cr_expect_eq(looker.looks, 2);
    looker = (Looker){.most = 1000};
    cr_expect(world_call(&world, "match", args, 2, &result));
    cr_expect_eq(result.tag, TAG_NONE);
    cr_expect_gt(looker.looks, 5, "%d looks", looker.looks);
    mem_free(bytes);
    world_close(&world);
}

/* A text far longer than the window of one try: what is found does not depend on where a window ends. */
Test(native, a_search_goes_on_over_windows) {
    enum { LENGTH = 300000, EVERY = 997 };
    static const char *const patterns[] = {"'é",     "'(?<=b)é(?=b)", "'\\bé|bé",
                                           "'é\\Kb", "'(*MARK:x)é",   "'(?:\\G|b)é"};
    World world;
    world_open(&world);
    char *bytes = mem_alloc(LENGTH + 1);
    memset(bytes, 'b', LENGTH);
    for (int at = 100; at + 2 < LENGTH; at += EVERY)
        memcpy(bytes + at, "é", 2);
    Value text = value_text(world.heap, bytes, LENGTH), result;
    for (size_t i = 0; i < sizeof patterns / sizeof *patterns; i++) {
        Value args[] = {text, world_value(&world, patterns[i])};
        cr_assert(world_call(&world, "find_all", args, 2, &result), "%s", patterns[i]);
        cr_expect_eq(result.as.list->count, (LENGTH - 103) / EVERY + 1, "%s: %u", patterns[i],
                     result.as.list->count);
    }
    mem_free(bytes);
    world_close(&world);
}

Test(native, patterns_are_bounded) {
    World world;
    Value result;
    world_open(&world);
    enum { LONG = 1024 * 1024 };
    char *bytes = mem_alloc(LONG + 1);
    memset(bytes, 'a', LONG + 1);
    Value longest = value_text(world.heap, bytes, LONG), longer = value_text(world.heap, bytes, LONG + 1);
    Value pattern = value_text(world.heap, bytes, 4097);
    mem_free(bytes);
    cr_expect(world_call(&world, "match", (Value[]){longest, world_value(&world, "'a$")}, 2, &result));
    cr_expect(!world_call(&world, "match", (Value[]){longer, world_value(&world, "'a$")}, 2, &result));
    cr_expect_eq(world.fault.id, MSG_NATIVE_PATTERN_COSTLY);
    cr_expect(!world_call(&world, "match", (Value[]){longest, pattern}, 2, &result));
    cr_expect_eq(world.fault.id, MSG_NATIVE_PATTERN_COSTLY);
    cr_expect(!world_call(&world, "match", (Value[]){longest, world_value(&world, "'^(a|b)*c")}, 2, &result));
    cr_expect_eq(world.fault.id, MSG_NATIVE_PATTERN_COSTLY);
    cr_expect(!world_call(&world, "match", (Value[]){longest, world_value(&world, "'[ab]{0,60000}[^a]")}, 2,
                          &result));
    for (int i = 0; i < 100; i++) { /* more patterns than the cache holds, then the first again */
        char text[32];
        snprintf(text, sizeof text, "'a{%d}", i % 40 + 1);
        cr_expect(world_call(&world, "match",
                             (Value[]){world_value(&world, "'aaa"), world_value(&world, text)}, 2, &result));
    }
    world_close(&world);
}

/* ---- files ---- */

typedef struct Folder {
    World world;
    char path[64];
    char outside[64];
} Folder;

static void put(const char *folder, const char *name, const char *bytes, size_t length) {
    char path[160];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "wb");
    cr_assert_not_null(file);
    cr_assert_eq(fwrite(bytes, 1, length, file), length);
    fclose(file);
}

static void folder_open(Folder *folder) {
    char real[4096];
    world_open(&folder->world);
    strcpy(folder->path, "/tmp/rundlet-native-XXXXXX");
    strcpy(folder->outside, "/tmp/rundlet-native-XXXXXX");
    cr_assert(mkdtemp(folder->path) && mkdtemp(folder->outside));
    cr_assert(realpath(folder->path, real) && strlen(real) < sizeof folder->path);
    strcpy(folder->path, real);
    folder->world.context.folder = folder->path;
}

static void folder_close(Folder *folder) {
    char command[200];
    snprintf(command, sizeof command, "rm -rf -- '%s' '%s'", folder->path, folder->outside);
    cr_expect_eq(system(command), 0);
    world_close(&folder->world);
}

/* What read() makes of these bytes. */
static char *read_bytes(Folder *folder, const char *bytes, size_t length) {
    Value name = world_value(&folder->world, "'t.csv"), result;
    put(folder->path, "t.csv", bytes, length);
    bool done = world_call(&folder->world, "read", &name, 1, &result);
    return world_outcome(&folder->world, done, result);
}

Test(native, read_tables) {
    static const struct {
        const char *bytes, *want;
    } rows[] = {
        {"name,gravity [SG]\nsharp,1.050\nmild,1.045\n",
         "[{name: \"sharp\", gravity: 1.050 SG}, {name: \"mild\", gravity: 1.045 SG}]"},
        {"\xEF\xBB\xBFn,day\r\n1,2027-02-14\r\n2,\r\n", "[{n: 1, day: 2027-02-14}, {n: 2, day: none}]"},
        {"n\n1\nx\n", "[{n: \"1\"}, {n: \"x\"}]"}, /* a column never changes its kind half-way */
        {"d\n2027-02-14\n2027-02-30\n", "! t.csv, row 3, column 1 (d): \"2027-02-30\" is not a date"},
        {"d\n2027-02-14\n2027-02-30\nlate\n", "[{d: \"2027-02-14\"}, {d: \"2027-02-30\"}, {d: \"late\"}]"},
        {"t [h]\n2027-02-14T10:00\n\n2027-02-14 08:30:36\n", "[{t: 1.49 h}, {t: 0 h}]"},
        {"t [h]\n2027-02-14T10:00Z\n2027-02-14T10:00+02:00\n", "[{t: 2 h}, {t: 0 h}]"},
        {"t [h]\n2027-02-14T10:00\n5\n",
         "! t.csv, row 3, column 1 (t): \"5\" is not a date and time like the others"},
        {"t [h]\n2027-02-14T24:00\n", "! t.csv, row 2, column 1 (t): \"2027-02-14T24:00\" is not a number"},
        {"a\tb\n1\t2\n", "[{a: 1, b: 2}]"},
        {"a\tb\n1\t2\t3\n", "! t.csv, row 1: the cells are separated by tabs"},
        {"d,n\n2027-02-14,1\n", "[{d: 2027-02-14, n: 1}]"},
        {"a,b\n\"x, \"\"y\"\"\",\"two\nlines\"\n", "[{a: \"x, \\\"y\\\"\", b: \"two\\nlines\"}]"},
        {"a,b\n, 2 \n", "[{a: none, b: 2}]"},
        {"a b,t [°C],r [g/L]\n x,-6,0.5", "[{\"a b\": \" x\", t: -6.0 °C, r: 0.5 g/L}]"},
        {"a\n\n1\n\n2\n", "[{a: 1}, {a: 2}]"},
        {"a,b\n", "[]"},
        {"", "! t.csv is empty"},
        {"a,a\n1,2\n", "! t.csv, row 1, column 2 (a): there are two columns with this name"},
        {"a,\n1,2\n", "! t.csv, row 1, column 2: this column has no heading"},
        {"a,[SG]\n1,2\n", "! t.csv, row 1, column 2: this column has no heading"},
        {"a [sgg]\n1\n", "! t.csv, row 1, column 1 (a): \"sgg\" is not a unit"},
        {"a,g [SG]\n1,1.05\n2,abc\n", "! t.csv, row 3, column 2 (g): \"abc\" is not a number"},
        {"a,b\n1,2\n3\n",
         "! t.csv, row 3: the number of cells (1) does not match the number of headings (2)"},
        {"a,b\r\n\r\n1,2\r\n3\r\n",
         "! t.csv, row 4: the number of cells (1) does not match the number of headings (2)"},
        {"a,b\n1,2\"3\n", "! t.csv, row 2, column 2: there is a quote where none is allowed"},
        {"a,b\n1,\"2\n", "! t.csv, row 2, column 2: there is a quote where none is allowed"},
        {"a\n\xFF\n", "! t.csv, row 2: this is not UTF-8"},
    };
    Folder folder;
    folder_open(&folder);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *got = read_bytes(&folder, rows[i].bytes, strlen(rows[i].bytes));
        cr_expect_str_eq(got, rows[i].want, "row %zu: got %s, want %s", i, got, rows[i].want);
        mem_free(got);
    }
    folder_close(&folder);
}

Test(native, read_stays_below_its_folder) {
    Folder folder;
    char link[160], target[160], far[160], sub[160];
    folder_open(&folder);
    snprintf(sub, sizeof sub, "%s/sub", folder.path);
    snprintf(link, sizeof link, "%s/link.csv", folder.path);
    snprintf(target, sizeof target, "%s/far.csv", folder.outside);
    snprintf(far, sizeof far, "'../%s/far.csv", strrchr(folder.outside, '/') + 1);
    cr_assert_eq(mkdir(sub, 0700), 0);
    put(sub, "in.csv", "a\n1\n", 4);
    put(folder.outside, "far.csv", "a\n1\n", 4);
    cr_assert_eq(symlink(target, link), 0);
    char fifo[160], absolute[164];
    snprintf(fifo, sizeof fifo, "%s/pipe.csv", folder.path);
    snprintf(absolute, sizeof absolute, "'%s/sub/in.csv", folder.path);
    cr_assert_eq(mkfifo(fifo, 0600), 0);
    const struct {
        const char *name;
        MessageId want;
    } rows[] = {
        {"'sub/in.csv", MSG_NONE},
        {"'sub/../sub/in.csv", MSG_NONE},
        {absolute, MSG_NONE},
        {far, MSG_READ_OUTSIDE},
        {"'link.csv", MSG_READ_OUTSIDE},
        {"'/etc/passwd", MSG_READ_OUTSIDE},
        {"'absent.csv", MSG_READ_ABSENT},
        {"'sub", MSG_READ_IRREGULAR},
        {"'pipe.csv", MSG_READ_IRREGULAR},
        {"'", MSG_READ_ABSENT},
        {"'.", MSG_READ_OUTSIDE},
        {"5", MSG_ARGUMENT_KIND},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Value name = world_value(&folder.world, rows[i].name), result;
        world_call(&folder.world, "read", &name, 1, &result);
        cr_expect_eq(folder.world.fault.id, rows[i].want, "%s: %s", rows[i].name,
                     message_name(folder.world.fault.id));
    }
    char large[160];
    put(folder.path, "large.csv", "a\n", 2);
    snprintf(large, sizeof large, "%s/large.csv", folder.path);
    cr_assert_eq(truncate(large, 64L * 1024 * 1024 + 1), 0);
    Value name = world_value(&folder.world, "'large.csv"), result;
    cr_expect(!world_call(&folder.world, "read", &name, 1, &result));
    cr_expect_eq(folder.world.fault.id, MSG_READ_LARGE);
    folder_close(&folder);
}

Test(native, read_keeps_to_the_memory_limit) {
    Folder folder;
    folder_open(&folder);
    enum { COMMAS = 1000000 };
    char *bytes = mem_alloc(2 * COMMAS + 4);
    for (size_t i = 0; i < COMMAS; i++)
        memcpy(bytes + 2 * i, ",\n", 2);
    memcpy(bytes, "a,b\n", 4);
    folder.world.heap->limit = 20 * 1000 * 1000;
    char *got = read_bytes(&folder, bytes, 2 * COMMAS);
    cr_expect_str_eq(got, "! the script needs more memory than its limit");
    mem_free(got);
    memset(bytes, ',', COMMAS);
    got = read_bytes(&folder, bytes, COMMAS);
    cr_expect_str_eq(got, "! t.csv, row 1: more than 10 000 columns");
    mem_free(got);
    mem_free(bytes);
    folder_close(&folder);
}
