/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names for help and completion: values, formulas, the library, units. */
#include <string.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "front/literal.h"
#include "front/word.h"
#include "values/liquid_value.h"

typedef struct Visit {
    Session *session;
    void (*visit)(void *context, const NameInfo *info);
    void *context;
} Visit;

/* ---- notes on units and inputs ---- */

static NameNote *find_note(const Session *session, bool is_unit, int number) {
    for (int i = session->note_count - 1; i >= 0; i--)
        if (session->notes[i].is_unit == is_unit && session->notes[i].number == number)
            return &session->notes[i];
    return NULL;
}

static void add_note(Session *session, NameNote note) {
    NameNote *earlier =
        note.is_unit ? NULL : find_note(session, false, note.number); /* a unit is new each time */
    if (earlier) {
        mem_free(earlier->written);
        mem_free(earlier->doc);
        *earlier = note;
        return;
    }
    MEM_GROW(session->notes, session->note_count, session->note_capacity);
    session->notes[session->note_count++] = note;
}

void session_note_unit(Session *session, UnitId unit, const Source *source, const Statement *statement) {
    const Node *value = statement->as.unit.value;
    NameNote note = {.is_unit = true, .number = (int)unit, .doc = mem_copy_string(statement->doc)};
    if (value)
        note.written = mem_copy(source->text + value->span.start, value->span.end - value->span.start);
    add_note(session, note);
}

void session_note_inputs(Session *session, const Program *program) {
    for (int i = 0; i < program->block.count; i++) {
        const Statement *s = program->block.items[i];
        int slot;
        if (s->type == STATEMENT_INPUT && s->doc &&
            name_map_get(&session->script->globals, s->as.input.name, &slot))
            add_note(session, (NameNote){.number = slot, .doc = mem_copy_string(s->doc)});
    }
}

void session_free_notes(Session *session) {
    for (int i = 0; i < session->note_count; i++) {
        mem_free(session->notes[i].written);
        mem_free(session->notes[i].doc);
    }
    mem_free(session->notes);
    session->notes = NULL;
    session->note_count = session->note_capacity = 0;
}

bool session_unit_note(const Session *session, UnitId unit, const char **written, const char **doc) {
    const NameNote *note = find_note(session, true, (int)unit);
    *written = note ? note->written : NULL;
    *doc = note ? note->doc : NULL;
    return note != NULL;
}

/* ---- names ---- */

/* Usage and doc are copied: they may move while the visitor looks on. */
static void tell(const Visit *v, NameInfo info, const char *usage, const char *doc) {
    info.usage = mem_copy_string(usage);
    info.doc = mem_copy_string(doc);
    v->visit(v->context, &info);
    mem_free(info.usage);
    mem_free(info.doc);
}

static void visit_values(const Visit *v, const Module *module) {
    const Registry *registry = v->session->registry;
    for (int i = 0; i < registry->global_count; i++) {
        const Global *global = &registry->globals[i];
        const NameNote *note = global->kind == GLOBAL_INPUT ? find_note(v->session, false, i) : NULL;
        if (global->module == module && registry->global_values[i].tag != TAG_ABSENT)
            tell(v, (NameInfo){.name = global->name, .kind = NAME_VALUE}, NULL, note ? note->doc : NULL);
    }
}

static void visit_own(const Visit *v) {
    const Registry *registry = v->session->registry;
    const Module *module = v->session->script;
    if (!module)
        return;
    visit_values(v, module);
    for (uint32_t i = 0; i < module->formulas.capacity; i++) {
        if (!module->formulas.entries[i].name)
            continue;
        const Formula *formula = registry->formulas[module->formulas.entries[i].value];
        tell(v, (NameInfo){.name = formula->name, .kind = NAME_FORMULA}, formula->usage, formula->doc);
    }
    for (uint32_t i = 0; i < module->units.capacity; i++) {
        const NameEntry *entry = &module->units.entries[i];
        if (entry->name)
            tell(v, (NameInfo){.name = entry->name, .kind = NAME_UNIT, .unit = (UnitId)entry->value}, NULL,
                 NULL);
    }
}

/* A file of the library holds one topic: "carbonation.rlet" is Carbonation, "honey_and_fruit.rlet" Honey and
 * fruit. */
static void topic_of_file(char *topic, size_t size, const char *file) {
    size_t length = strcspn(file, ".");
    if (length >= size)
        length = size - 1;
    memcpy(topic, file, length);
    topic[length] = '\0';
    for (char *at = topic; (at = strchr(at, '_'));)
        *at = ' ';
    if (topic[0] >= 'a' && topic[0] <= 'z')
        topic[0] = (char)(topic[0] - 'a' + 'A');
}

/* The next documented formula of a file after a place, NULL past the last: those without are parts of
 * others. Those in C may be known before the rest, so it is not the registry's order. */
static const Formula *next_in_file(const Registry *registry, const Module *module, uint32_t behind) {
    const Formula *next = NULL;
    for (int i = 0; i < registry->formula_count; i++) {
        const Formula *formula = registry->formulas[i];
        bool fits = formula->module == module && formula->doc && formula->span.start > behind;
        if (fits && (!next || formula->span.start < next->span.start))
            next = formula;
    }
    return next;
}

static void visit_library(const Visit *v) {
    char topic[32];
    for (int file = 0; file < library_file_count; file++) {
        int number =
            loader_library_module(v->session, file); /* may move the list of modules: so before its use */
        const Registry *registry = v->session->registry;
        const Formula *formula = NULL;
        topic_of_file(topic, sizeof topic, library_files[file].name);
        while ((formula = next_in_file(registry, registry->modules[number],
                                       formula ? formula->span.start : 0)) != NULL)
            tell(v,
                 (NameInfo){.name = formula->name,
                            .kind = formula->native ? NAME_NATIVE : NAME_LIBRARY,
                            .topic = topic},
                 formula->usage, formula->doc);
    }
}

static void visit_units(const Visit *v) {
    const UnitTable *units = v->session->registry->units;
    for (UnitId id = 1; id < UNIT_BUILTIN_COUNT; id++)
        if (id != UNIT_DATE) /* a date has no unit to type */
            tell(v, (NameInfo){.name = unit_get(units, id)->name, .kind = NAME_UNIT, .unit = id}, NULL, NULL);
}

void session_each_name(Session *session, void (*visit)(void *context, const NameInfo *info), void *context) {
    const Word *word;
    Visit v = {.session = session, .visit = visit, .context = context};
    visit_own(&v);
    visit_library(&v);
    visit_units(&v);
    for (int i = 0; (word = word_at(i)); i++)
        if (word->token != TOKEN_WORD)
            tell(&v, (NameInfo){.name = word->text, .kind = NAME_KEYWORD}, NULL, NULL);
}

/* ---- what a name holds ---- */

static Value value_of_name(const Session *session, const char *name) {
    int slot;
    if (!session->script || !name_map_get(&session->script->globals, name, &slot))
        return value_absent();
    return session->registry->global_values[slot];
}

static Value value_of_field(const Session *session, Value object, const char *name) {
    Fault fault = {0};
    Arith arith = {.units = session->registry->units, .heap = session->registry->heap, .fault = &fault};
    Value result = value_absent();
    if (object.tag == TAG_LIQUID && !liquid_value_field(&arith, object.as.liquid, name, &result))
        result = value_absent();
    for (uint32_t i = 0; object.tag == TAG_RECORD && i < object.as.record->count; i++)
        if (strcmp(object.as.record->fields[i].name->bytes, name) == 0)
            result = object.as.record->fields[i].value;
    fault_clear(&fault);
    return result;
}

/* `name`, `name.field`, … Absent when there is none. */
static Value value_of_path(const Session *session, const char *path) {
    Value value = value_absent();
    for (const char *at = path;; at++) {
        size_t length = strcspn(at, ".");
        char *name = mem_copy(at, length);
        value = at == path ? value_of_name(session, name) : value_of_field(session, value, name);
        mem_free(name);
        at += length;
        if (!*at || value.tag == TAG_ABSENT)
            return value;
    }
}

/* What a script brought in under a name of its own holds. */
static void visit_used(const Session *session, const char *alias,
                       void (*visit)(void *context, const char *name), void *context) {
    int number;
    if (!session->script || !name_map_get(&session->script->aliases, alias, &number))
        return;
    const Module *module = session->registry->modules[number];
    for (uint32_t i = 0; i < module->formulas.capacity; i++) {
        Text name = {0};
        if (!module->formulas.entries[i].name)
            continue;
        text_add_string(&name, module->formulas.entries[i].name);
        text_add_char(&name, '(');
        visit(context, text_string(&name));
        text_free(&name);
    }
    for (uint32_t i = 0; i < module->units.capacity; i++)
        if (module->units.entries[i].name)
            visit(context, module->units.entries[i].name);
}

Kind session_each_field(Session *session, const char *path, void (*visit)(void *context, const char *name),
                        void *context) {
    Value object = value_of_path(session, path);
    const char *field;
    for (int i = 0; object.tag == TAG_LIQUID && (field = liquid_value_field_name(i)); i++)
        visit(context, field);
    for (uint32_t i = 0; object.tag == TAG_RECORD && i < object.as.record->count; i++)
        visit(context, object.as.record->fields[i].name->bytes);
    if (object.tag != TAG_ABSENT)
        return value_kind(session->registry->units, object);
    visit_used(session, path, visit, context);
    return KIND_NONE;
}

static Value value_of_literal(Session *session, const char *text) {
    Literal literal;
    Fault why = {0};
    bool read = literal_read(session->registry, session->script ? session->script : session->no_script, text,
                             strlen(text), &literal, &why);
    fault_clear(&why);
    return read ? literal.value : value_absent();
}

bool session_unit_of(Session *session, const char *text, UnitId *unit) {
    Value value = value_of_path(session, text);
    if (value.tag == TAG_ABSENT)
        value = value_of_literal(session, text);
    *unit = value.unit;
    return value_is_quantity(value);
}

bool session_kind_of(Session *session, const char *text, bool literal, KindInfo *info) {
    Value value = value_of_path(session, text);
    if (value.tag == TAG_ABSENT && literal)
        value = value_of_literal(session, text);
    *info = (KindInfo){.kind = KIND_NONE};
    if (value.tag == TAG_ABSENT)
        return false;
    info->kind = value_kind(session->registry->units, value);
    info->quantity = value_is_quantity(value);
    if (info->quantity) {
        info->unit = value.unit;
        info->number = value.as.number;
    }
    return true;
}

void session_describe_kind(const Session *session, const KindInfo *info, Text *out) {
    if (info->quantity)
        unit_describe(session->registry->units, info->unit, out);
    else
        text_add_string(out, kind_phrase(info->kind));
}
