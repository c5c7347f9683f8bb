/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a formula is made of, for `source`: its text with the remarks above it, which say where its constants
 * come from; its units; and of the library the parts that it calls. */
#include <string.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "values/display.h"
#include "values/kind_check.h"

/* ---- text ---- */

static const Source *source_of(const Formula *formula) {
    return formula->chunk ? formula->chunk->source : formula->module->source;
}

/* Where the line begins that holds an offset. */
static uint32_t line_start(const char *text, uint32_t at) {
    while (at > 0 && text[at - 1] != '\n')
        at--;
    return at;
}

static bool is_remark(const char *line) {
    return line[strspn(line, " \t")] == '#';
}

/* The lines from the first remark right above a formula to its end, without the margin it has in its file. */
static void add_text(Text *out, const Formula *formula) {
    const char *text = source_of(formula)->text;
    uint32_t own = line_start(text, formula->span.start), start = own;
    while (start > 0 && is_remark(text + line_start(text, start - 1)))
        start = line_start(text, start - 1);
    size_t margin = strspn(text + own, " \t");
    if (own + margin < formula->span.start) /* something else is on that line */
        start = formula->span.start, margin = 0;
    while (start < formula->span.end) {
        size_t length = strcspn(text + start, "\n"), blank = strspn(text + start, " \t");
        size_t skipped = blank < margin ? blank : margin;
        bool last = start + length >= formula->span.end;
        size_t end = last ? formula->span.end : start + length;
        if (skipped < end - start)
            text_add(out, text + start + skipped, end - start - skipped);
        text_add_char(out, '\n');
        start += (uint32_t)length + 1;
    }
}

/* ---- units ---- */

static void add_row(Text *out, const char *name, MessageArg what) {
    char *line = message_take(PHRASE_SOURCE_UNIT_OF, ARGS(name, what));
    text_add_string(out, line);
    text_add_char(out, '\n');
    mem_free(line);
}

/* "volume, for example 5 gal or 20 L", "mL/g", "any kind". */
static MessageArg kind_words(const UnitTable *units, const KindCheck *check) {
    if (!check)
        return arg_words(PHRASE_SOURCE_ANY);
    Fault fault = {0};
    Kind kind = check->is_unit ? KIND_NONE : kind_check_hinted(units, check);
    if (kind != KIND_NONE)
        kind_hint_wanted(units, kind, UNIT_NUMBER, value_none(), &fault);
    MessageArg words = fault.hint == HINT_EXAMPLE
                           ? arg_phrase(PHRASE_SOURCE_SUCH_AS, ARGS(check->word, arg_hint(&fault)))
                           : arg_text(check->word);
    fault_clear(&fault);
    return words;
}

/* What the formula's own example gives, worked out in a session of its own; NULL where it gives nothing. */
static char *example_result(const Session *session, const Formula *formula) {
    char *example = formula_example(formula), *result = NULL;
    if (!example)
        return NULL;
    Session *other = session_new(&session->options);
    if (session_enter(other, example) == SESSION_OK) {
        const Report *report = session_report(other);
        for (int i = 0; i < report->count; i++) {
            Text shown = {0};
            if (report->items[i]->type != ITEM_SHOW)
                continue;
            display_argument(&shown, session_units(other), report->items[i]->shown.value, DISPLAY_FULL);
            mem_free(result);
            result = text_take(&shown);
        }
    }
    session_free(other);
    mem_free(example);
    return result;
}

static MessageArg result_words(const Session *session, const Formula *formula) {
    const FormulaResult *result = &formula->result;
    const char *of = result->first >= 0 ? formula->params[result->first].label : "";
    MessageArg words = result->rule == RESULT_LIKE   ? arg_phrase(PHRASE_SOURCE_LIKE, ARGS(of))
                       : result->rule == RESULT_ROOT ? arg_phrase(PHRASE_SOURCE_ROOT, ARGS(of))
                       : result->rule == RESULT_LIST ? arg_phrase(PHRASE_SOURCE_LIST, ARGS(of))
                       : result->kind < 0            ? arg_words(PHRASE_SOURCE_ANY)
                                                     : arg_text(formula_result_kind(formula)->word);
    char *example = example_result(session, formula);
    if (example)
        words = arg_phrase(PHRASE_SOURCE_EXAMPLE, ARGS(words, example));
    mem_free(example);
    return words;
}

static void add_units(Text *out, const Session *session, const Formula *formula) {
    const UnitTable *units = session->registry->units;
    text_add_char(out, '\n');
    text_add_string(out, message_text(PHRASE_SOURCE_UNITS));
    text_add_char(out, '\n');
    for (int i = 0; i < formula->param_count; i++)
        add_row(out, formula->params[i].label, kind_words(units, formula_parameter_kind(formula, i)));
    MessageArg result = arg_words(PHRASE_SOURCE_RESULT);
    add_row(out, result.text, result_words(session, formula));
    args_free((MessageArg[]){result, {0}});
}

/* ---- the parts of a formula of the library ---- */

/* Is `name(` in a text? */
static bool calls(const char *text, size_t length, const char *name) {
    size_t width = strlen(name);
    for (size_t at = 0; at + width < length; at++) {
        bool starts = at == 0 || !strchr("_abcdefghijklmnopqrstuvwxyz0123456789", text[at - 1]);
        if (starts && text[at + width] == '(' && strncmp(text + at, name, width) == 0)
            return true;
    }
    return false;
}

/* The registry's numbers of the formula and, in the order of the first call, of its parts: formulas of its
 * file that have no documentation, as only others call them. */
static int *list_parts(const Registry *registry, int number, int *count) {
    int *parts = mem_array((size_t)registry->formula_count + 1, sizeof *parts);
    parts[0] = number;
    *count = 1;
    for (int i = 0; i < *count; i++) {
        const Formula *caller = registry->formulas[parts[i]];
        const char *text = source_of(caller)->text + caller->span.start;
        for (int f = 0; f < registry->formula_count; f++) {
            const Formula *part = registry->formulas[f];
            bool known = false;
            for (int k = 0; k < *count; k++)
                known = known || parts[k] == f;
            if (!known && !part->doc && part->module == caller->module &&
                calls(text, caller->span.end - caller->span.start, part->name))
                parts[(*count)++] = f;
        }
    }
    return parts;
}

static void add_parts(Text *out, const Registry *registry, int number) {
    int count;
    int *parts = list_parts(registry, number, &count);
    if (count > 1) {
        text_add_char(out, '\n');
        text_add_string(out, message_text(PHRASE_SOURCE_PARTS));
        text_add_char(out, '\n');
    }
    for (int i = 1; i < count; i++) {
        text_add_char(out, '\n');
        add_text(out, registry->formulas[parts[i]]);
    }
    mem_free(parts);
}

/* ---- finding it ---- */

/* A part of formulas of the library, which only `source` shows. */
static int find_part(Session *session, const char *name) {
    for (int file = 0; file < library_file_count; file++) {
        int module = loader_library_module(session, file);
        const Registry *registry = session->registry;
        for (int i = 0; i < registry->formula_count; i++)
            if (registry->formulas[i]->module == registry->modules[module] &&
                strcmp(registry->formulas[i]->name, name) == 0)
                return i;
    }
    return -1;
}

/* The whole file of a formula of the library is read, as its parts may stand anywhere in it. */
static int find_in_library(Session *session, const char *name) {
    ModuleScope scope = {.session = session, .module = session->no_script};
    CompileHost host = loader_compile_host(&scope);
    int number = host.library_formula(host.context, name);
    const char *file = number < 0 ? NULL : session->registry->formulas[number]->module->source->name;
    for (int i = 0; file && i < library_file_count; i++)
        if (strcmp(library_files[i].name, file) == 0)
            loader_library_module(session, i);
    return number < 0 ? find_part(session, name) : number;
}

char *session_formula_source(Session *session, const char *name) {
    int number;
    bool own = session->script && name_map_get(&session->script->formulas, name, &number);
    if (!own)
        number = find_in_library(session, name);
    if (number < 0)
        return NULL;
    Text out = {0};
    add_text(&out, session->registry->formulas[number]);
    add_units(&out, session, session->registry->formulas[number]);
    if (!own)
        add_parts(&out, session->registry, number);
    return text_take(&out);
}
