/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The natives, driven through Call structs. Most behaviours are rows: a name, arguments as short texts, and what
 * `show` would print of the result, or "! " and the message. Argument texts: 'text, [a, b] a list, - left out, and
 * anything else a quantity. Physics against published values is in test_liquid.c and its neighbours; here it is held
 * to the values of the brief (physics.md §4 and §5) at the natives' own ends. */
#define _XOPEN_SOURCE 700
#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "near.h"

#include "base/mem.h"
#include "numbers/calendar.h"
#include "runtime/native_text.h"
#include "runtime/native_tables.h"
#include "runtime/quantity_text.h"
#include "values/display.h"
#include "values/liquid_value.h"

enum { MOST_ARGUMENTS = 12 };

typedef struct World {
    UnitTable *units;
    Heap *heap;
    Fault fault;
    NativeContext context;
    UnitId crown, penny, ducat;
    int assumed, cautions;
} World;

static void count_assumed(void *context, const char *text) {
    (void)text;
    ((World *)context)->assumed++;
}

static void count_caution(void *context, const char *text) {
    (void)text;
    ((World *)context)->cautions++;
}

static void world_open(World *world) {
    *world = (World){.units = unit_table_new(), .heap = heap_new(0)};
    world->context.today = (double)calendar_days((CalendarDate){2027, 2, 14});
    world->context.assume = count_assumed;
    world->context.caution = count_caution;
    world->context.callback_context = world;
    world->crown = unit_declare_money(world->units, "crown");
    world->ducat = unit_declare_money(world->units, "ducat");
    unit_declare_multiple(world->units, "penny", 0.01, world->crown, &world->penny, &world->fault);
}

static void world_close(World *world) {
    native_text_free(world->context.regex);
    fault_clear(&world->fault);
    heap_free(world->heap);
    unit_table_free(world->units);
}

static Arith world_arith(World *world) { return (Arith){world->units, world->heap, &world->fault}; }

/* ---- arguments and results as texts ---- */

static Value argument(World *world, const char *text, size_t length);

static Value list_argument(World *world, const char *text, size_t length) {
    Value items[64];
    uint32_t count = 0;
    const char *at = text + 1, *end = text + length - 1;
    while (at < end) {
        const char *comma = at;
        while (comma < end && strncmp(comma, ", ", 2) != 0)
            comma++;
        items[count++] = argument(world, at, (size_t)(comma - at));
        at = comma + 2;
    }
    ListObject *list = list_new(world->heap, count);
    memcpy(list->items, items, count * sizeof *items);
    return value_of_list(list);
}

static Value argument(World *world, const char *text, size_t length) {
    Value value = value_none();
    Fault fault = {0};
    if (length == 1 && text[0] == '-')
        return value_absent();
    if (length == 4 && memcmp(text, "none", 4) == 0)
        return value_none();
    if (text[0] == '\'')
        return value_text(world->heap, text + 1, length - 1);
    if (text[0] == '[')
        return list_argument(world, text, length);
    bool read = quantity_text_read(world->units, text, length, &value, &fault);
    cr_assert(read, "argument %.*s", (int)length, text);
    return value;
}

static Value q(World *world, const char *text) { return argument(world, text, strlen(text)); }

/* What the compiler does with a signature: arguments left out get their defaults, or are absent. */
static int fill_defaults(World *world, const Native *native, Value *args, int count) {
    const char *at = native->signature;
    if (strstr(at, "..."))
        return count;
    for (int i = 0; *at; i++) {
        size_t length = strcspn(at, ",");
        const char *colon = memchr(at, ':', length);
        if (i >= count)
            args[i] = value_absent();
        if (colon && args[i].tag == TAG_ABSENT)
            args[i] = argument(world, colon + 2, (size_t)(at + length - colon - 2));
        count = i + 1 > count ? i + 1 : count;
        at += length;
        at += strspn(at, ", ");
    }
    return count;
}

static bool invoke(World *world, const char *name, const Value *given, int count, Value *result) {
    const Native *native = native_find(name);
    Value args[MOST_ARGUMENTS] = {0};
    cr_assert_not_null(native, "no native %s", name);
    memcpy(args, given, (size_t)count * sizeof *given);
    count = fill_defaults(world, native, args, count);
    fault_clear(&world->fault);
    Call call = {.arith = world_arith(world), .native = native, .context = &world->context, .args = args, .count = count};
    bool done = native->function(&call);
    cr_assert_eq(done, world->fault.id == MSG_NONE, "%s: a fault is set exactly when it fails", name);
    *result = call.result;
    return done;
}

/* As `show` prints it, or "! " and the message. */
static char *outcome(World *world, bool done, Value value) {
    Text out = {0};
    if (done) {
        display_value(&out, world->units, value, (FormatSpec){FORMAT_DEFAULT, 0}, &world->fault);
        return text_take(&out);
    }
    Diag *diag = diag_from_fault(&world->fault, NULL, (Span){0, 0});
    text_add_string(&out, "! ");
    text_add_string(&out, diag->message);
    diag_free(diag);
    return text_take(&out);
}

typedef struct Row {
    const char *name;
    const char *args[5];
    const char *want;
} Row;

static void check_rows(const Row *rows, size_t count) {
    World world;
    world_open(&world);
    for (size_t i = 0; i < count; i++) {
        Value args[5], result;
        int given = 0;
        while (given < 5 && rows[i].args[given]) {
            args[given] = q(&world, rows[i].args[given]);
            given++;
        }
        bool done = invoke(&world, rows[i].name, args, given, &result);
        char *got = outcome(&world, done, result);
        cr_expect_str_eq(got, rows[i].want, "row %zu, %s(%s, %s): got %s, want %s", i, rows[i].name,
                         given > 0 ? rows[i].args[0] : "", given > 1 ? rows[i].args[1] : "", got, rows[i].want);
        mem_free(got);
    }
    world_close(&world);
}
#define CHECK_ROWS(rows) check_rows(rows, sizeof(rows) / sizeof *(rows))

/* ---- the registry ---- */

Test(native, tables_are_sorted_and_whole) {
    for (int i = 0; native_at(i); i++) {
        const Native *native = native_at(i);
        cr_expect_eq(native_find(native->name), native, "%s is found by its name", native->name);
        cr_expect_eq(native_index(native), i, "%s knows its index", native->name);
        cr_expect(strstr(native->doc, "Source: "), "%s names its source", native->name);
        cr_expect(native->topic[0] && native->function, "%s has a topic and a function", native->name);
        Text name = {0};
        for (int at = 0; at < 12; at++) { /* each parameter is documented, "x: …" at the start of a line */
            if (!strcmp(native_parameter(native, at, &name), "") || (at && !strchr(native->signature, ',')))
                break;
            Text line = {0};
            text_add_string(&line, name.bytes);
            text_add_string(&line, ": ");
            const char *found = strstr(native->doc, text_string(&line));
            cr_expect(found && (found == native->doc || found[-1] == '\n'), "%s documents %s", native->name, name.bytes);
            text_free(&line);
        }
        text_free(&name);
    }
    cr_expect_null(native_find("no_such_formula"));
    cr_expect_null(native_find(""));
    cr_expect_null(native_at(-1));
    cr_expect_eq(native_index(NULL), -1);
}

/* ---- general ---- */

Test(native, numbers) {
    static const Row rows[] = {
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
    };
    CHECK_ROWS(rows);
}

Test(native, number_errors) {
    static const Row rows[] = {
        {"round", {"5 gal", "1 kg"}, "! round wants a volume for `step`, not a mass"},
        {"round", {"5 gal", "0 gal"}, "! the step of round must be above zero"},
        {"round", {"5", "-1"}, "! the step of round must be above zero"},
        {"round", {"68 °F", "1 °F"}, "! round wants a temperature difference for `step`, not a temperature"},
        {"round", {"12 °Bx", "1 pts"}, "! round wants a plain number for `step`, not a gravity difference"},
        {"round", {"2027-02-14"}, "! round wants a quantity for `x`, not a date"},
        {"floor", {"'x"}, "! floor wants a quantity for `x`, not a text"},
        {"abs", {"-5 °C"}, "! abs wants a number or an amount for `x`, not a temperature"},
        {"sqrt", {"-4"}, "! sqrt of -4 is not defined"},
        {"ln", {"0"}, "! ln of 0 is not defined"},
        {"ln", {"5 gal"}, "! ln wants a plain number for `x`, not a volume"},
        {"exp", {"1000"}, "! the result is too large for a number"},
        {"number", {"2027-02-14"}, "! number wants a quantity for `x`, not a date"},
        {"number", {"'5"}, "! number wants a quantity for `x`, not a text"},
        {"weekday", {"5 day"}, "! weekday wants a date for `date`, not a time"},
    };
    CHECK_ROWS(rows);
}

Test(native, lists) {
    static const Row rows[] = {
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
        {"sort", {"[1000 mL, 1 L, 100 cL, 5 mL]"}, "[5 mL, 1000 mL, 1 L, 100 cL]"}, /* equal ones keep their order */
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
    static const Row rows[] = {
        {"min", {"[]"}, "! min of nothing is not defined"},
        {"min", {"[1 L, 2 kg]"}, "! min wants a volume like the first, and value 2 is a mass"},
        {"max", {"'a", "'b"}, "! max wants quantities, and value 1 is a text"},
        {"mean", {"[]"}, "! mean of nothing is not defined"},
        {"mean", {"[3.2 pH, 3.4 pH]"}, "! pH readings have no mean: pH is a logarithm"},
        {"sum", {"[68 °F]"}, "! sum wants amounts or liquids, and value 1 is a temperature"},
        {"length", {"5"}, "! length wants a list, a text or a record for `x`, not a plain number"},
        {"sort", {"[1, 'a]"}, "! sort wants a plain number like the first, and value 2 is a text"},
        {"sort", {"['a, 1]"}, "! sort wants texts like the first, and value 2 is a plain number"},
        {"append", {"1", "2"}, "! append wants a list for `list`, not a plain number"},
        {"join", {"['a]", "1"}, "! join wants a text for `text`, not a plain number"},
        {"range", {"1", "4", "0"}, "! the step of range must be other than zero"},
        {"range", {"1", "4", "1e-9"}, "! a list holds up to 10 000 000 items, and this one would be longer"},
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
    cr_assert(invoke(&world, "sum", (Value[]){value_of_list(list)}, 1, &result));
    cr_expect_eq(result.as.number, 100000.0);
    world_close(&world);
}

/* ---- text ---- */

Test(native, text) {
    static const Row rows[] = {
        {"match", {"'batch 12", "'(\\d+)"}, "{\"0\": \"12\", \"1\": \"12\"}"},
        {"match", {"'1.050 SG", "'(?<value>[\\d.]+) (?<unit>\\w+)"},
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
    static const Row rows[] = {
        {"match", {"5", "'x"}, "! match wants a text for `text`, not a plain number"},
        {"match", {"'x", "5"}, "! match wants a text for `pattern`, not a plain number"},
        {"match", {"'x", "'(a"}, "! the pattern cannot be read: missing closing parenthesis, at its character 3"},
        {"match", {"'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa!", "'(a+)+$"}, "! pattern too costly"},
        {"replace", {"'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa!", "'(a+)+$", "'"}, "! pattern too costly"},
        {"replace", {"'a", "'a", "'$7"}, "! the replacement names a group that the pattern does not have"},
        {"quantity", {"'gal"}, "! \"gal\" is no quantity"},
        {"quantity", {"'1,5 gal"}, "! \"1,5 gal\" is no quantity"},
        {"quantity", {"'"}, "! \"\" is no quantity"},
        {"quantity", {"'5 ml"}, "! unknown unit \"ml\""},
        {"quantity", {"'5 gal gal"}, "! unknown unit \"gal\""},
        {"quantity", {"'5 m^"}, "! after ^ in a unit stands a whole number"},
    };
    CHECK_ROWS(rows);
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
    cr_expect(invoke(&world, "match", (Value[]){longest, q(&world, "'a$")}, 2, &result));
    cr_expect(!invoke(&world, "match", (Value[]){longer, q(&world, "'a$")}, 2, &result));
    cr_expect_eq(world.fault.id, MSG_NATIVE_PATTERN_COSTLY);
    cr_expect(!invoke(&world, "match", (Value[]){longest, pattern}, 2, &result));
    cr_expect_eq(world.fault.id, MSG_NATIVE_PATTERN_COSTLY);
    cr_expect(!invoke(&world, "match", (Value[]){longest, q(&world, "'^(a|b)*c")}, 2, &result));
    cr_expect_eq(world.fault.id, MSG_NATIVE_PATTERN_COSTLY);
    cr_expect(!invoke(&world, "match", (Value[]){longest, q(&world, "'[ab]{0,60000}[^a]")}, 2, &result));
    for (int i = 0; i < 100; i++) { /* more patterns than the cache holds, then the first again */
        char text[32];
        snprintf(text, sizeof text, "'a{%d}", i % 40 + 1);
        cr_expect(invoke(&world, "match", (Value[]){q(&world, "'aaa"), q(&world, text)}, 2, &result));
    }
    world_close(&world);
}
