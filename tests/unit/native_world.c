/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "native_world.h"

#include <criterion/criterion.h>
#include <string.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "numbers/calendar.h"
#include "front/literal.h"
#include "runtime/native_text.h"
#include "values/display.h"

enum { MOST_ARGUMENTS = 12 };

static void count_assumed(void *context, MessageId id) {
    (void)id;
    ((World *)context)->assumed++;
}

static bool count_caution(void *context, const char *topic, MessageId id, MessageArg *args) {
    (void)topic;
    args_free(args);
    ((World *)context)->cautions += id != MSG_NONE;
    return true;
}

void world_open(World *world) {
    SessionOptions options = session_default_options();
    *world = (World){.session = session_new(&options)};
    world->units = world->session->registry->units;
    world->heap = world->session->registry->heap;
    world->context.today = (double)calendar_days((CalendarDate){2027, 2, 14});
    world->registry = (Registry){.units = world->units, .heap = world->heap};
    world->context.registry = &world->registry;
    world->context.assume = count_assumed;
    world->context.caution = count_caution;
    world->context.callback_context = world;
    world->crown = unit_declare_money(world->units, "crown");
    world->ducat = unit_declare_money(world->units, "ducat");
    unit_declare_multiple(world->units, "penny", 0.01, world->crown, &world->penny, &world->fault);
}

void world_close(World *world) {
    native_text_free(world->context.regex);
    fault_clear(&world->fault);
    session_free(world->session);
}

Arith world_arith(World *world) {
    return (Arith){.units = world->units, .heap = world->heap, .fault = &world->fault};
}

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
    Literal literal;
    Fault why = {0};
    if (length == 1 && text[0] == '-')
        return value_absent();
    if (length == 4 && memcmp(text, "none", 4) == 0)
        return value_none();
    if (text[0] == '\'')
        return value_text(world->heap, text + 1, length - 1);
    if (text[0] == '[')
        return list_argument(world, text, length);
    bool read = literal_read(&world->registry, NULL, text, length, &literal, &why);
    cr_assert(read, "argument %.*s", (int)length, text);
    return literal.value;
}

Value world_value(World *world, const char *text) {
    return argument(world, text, strlen(text));
}

const Formula *world_formula(World *world, const char *name) {
    ModuleScope scope = {.session = world->session, .module = world->session->no_script};
    CompileHost host = loader_compile_host(&scope);
    int index = host.library_formula(host.context, name);
    return index < 0 ? NULL : world->session->registry->formulas[index];
}

/* A part of a formula that was loaded. */
static const Formula *part(const World *world, const char *name) {
    const Registry *registry = world->session->registry;
    for (int i = 0; i < registry->formula_count; i++)
        if (strcmp(registry->formulas[i]->name, name) == 0)
            return registry->formulas[i];
    return NULL;
}

/* What compiled code does: arguments left out get their defaults, or are absent. */
static int fill_defaults(const Formula *formula, Value *args, int count) {
    if (formula->variadic)
        return count;
    for (int i = 0; i < formula->param_count; i++) {
        int initial = formula->params[i].initial;
        if (i >= count)
            args[i] = value_absent();
        if (args[i].tag == TAG_ABSENT && initial >= 0)
            args[i] = formula->chunk->constants[initial];
    }
    return formula->param_count > count ? formula->param_count : count;
}

bool world_call(World *world, const char *name, const Value *given, int count, Value *result) {
    const Formula *formula = world_formula(world, name);
    formula = formula ? formula : part(world, name);
    Value args[MOST_ARGUMENTS] = {0};
    cr_assert(formula && formula->native, "no native %s", name);
    memcpy(args, given, (size_t)count * sizeof *given);
    count = fill_defaults(formula, args, count);
    fault_clear(&world->fault);
    Call call = {.arith = world_arith(world),
                 .formula = formula,
                 .name = formula->name,
                 .context = &world->context,
                 .args = args,
                 .count = count};
    bool done = native_call(&call);
    cr_assert_eq(done, world->fault.id == MSG_NONE, "%s: a fault is set exactly when it fails", name);
    *result = call.result;
    return done;
}

/* As `show` prints it, or "! " and the message. */
char *world_outcome(World *world, bool done, Value value) {
    Text out = {0};
    if (done) {
        display_value(&out, world->units, value, (FormatSpec){FORMAT_DEFAULT, 0});
        return text_take(&out);
    }
    Diag *diag = diag_from_fault(&world->fault, NULL, (Span){0, 0});
    text_add_string(&out, "! ");
    text_add_string(&out, diag->message);
    diag_free(diag);
    return text_take(&out);
}

Value world_make(World *world, const char *const *words, int count) {
    Value values[MOST_ARGUMENTS], result = value_none();
    for (int i = 1; i < count; i++)
        values[i - 1] = world_value(world, words[i]);
    bool done = world_call(world, words[0], values, count - 1, &result);
    cr_assert(done, "%s fails: %s", words[0], message_name(world->fault.id));
    return result;
}

void world_check_rows(const NativeRow *rows, size_t count) {
    World world;
    world_open(&world);
    for (size_t i = 0; i < count; i++) {
        Value args[9], result;
        int given = 0;
        while (given < 9 && rows[i].args[given]) {
            args[given] = world_value(&world, rows[i].args[given]);
            given++;
        }
        bool done = world_call(&world, rows[i].name, args, given, &result);
        char *got = world_outcome(&world, done, result);
        cr_expect_str_eq(got, rows[i].want, "row %zu, %s(%s, %s): got %s, want %s", i, rows[i].name,
                         given > 0 ? rows[i].args[0] : "", given > 1 ? rows[i].args[1] : "", got,
                         rows[i].want);
        mem_free(got);
    }
    world_close(&world);
}
