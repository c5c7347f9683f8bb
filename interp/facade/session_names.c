/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names for help and completion: values, formulas, the library, units. */
#include <string.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "front/lex.h"

typedef struct Visit {
    Session *session;
    void (*visit)(void *context, const NameInfo *info);
    void *context;
} Visit;

static void tell(const Visit *v, const char *name, NameKind kind, const char *usage, const char *doc) {
    NameInfo info = {.name = name, .kind = kind, .usage = mem_copy_string(usage), .doc = mem_copy_string(doc)};
    v->visit(v->context, &info);
    mem_free(info.usage);
    mem_free(info.doc);
}

static void visit_own(const Visit *v) {
    const Registry *registry = v->session->registry;
    const Module *module = v->session->script;
    if (!module)
        return;
    for (int i = 0; i < registry->global_count; i++)
        if (registry->globals[i].module == module && registry->global_values[i].tag != TAG_ABSENT)
            tell(v, registry->globals[i].name, NAME_VALUE, NULL, NULL);
    for (uint32_t i = 0; i < module->formulas.capacity; i++) {
        if (!module->formulas.entries[i].name)
            continue;
        const Formula *formula = registry->formulas[module->formulas.entries[i].value];
        tell(v, formula->name, NAME_FORMULA, formula->usage, formula->doc);
    }
    for (uint32_t i = 0; i < module->units.capacity; i++)
        if (module->units.entries[i].name)
            tell(v, module->units.entries[i].name, NAME_UNIT, NULL, NULL);
}

static void visit_library(const Visit *v) {
    for (int file = 0; file < library_file_count; file++) {
        int number = loader_library_module(v->session, file); /* may move the list of modules: so before its use */
        const Module *module = v->session->registry->modules[number];
        for (int i = 0; i < v->session->registry->formula_count; i++) {
            const Formula *formula = v->session->registry->formulas[i];
            if (formula->module == module && formula->doc) /* the others are parts of these */
                tell(v, formula->name, NAME_LIBRARY, formula->usage, formula->doc);
        }
    }
    for (int i = 0; native_at(i); i++) {
        const Native *native = native_at(i);
        const NativeSignature *signature = loader_signature(v->session, native->name);
        tell(v, native->name, NAME_NATIVE, signature->usage, native->doc);
    }
}

static void visit_units(const Visit *v) {
    const UnitTable *units = v->session->registry->units;
    for (UnitId id = 1; id < UNIT_BUILTIN_COUNT; id++)
        if (id != UNIT_DATE) /* a date has no unit to type */
            tell(v, unit_get(units, id)->name, NAME_UNIT, NULL, NULL);
}

void session_each_name(Session *session, void (*visit)(void *context, const NameInfo *info), void *context) {
    static const char *const keywords[] = {
#define KEYWORD(id, word) word,
        LEX_KEYWORDS(KEYWORD)
#undef KEYWORD
    };
    Visit v = {.session = session, .visit = visit, .context = context};
    visit_own(&v);
    visit_library(&v);
    visit_units(&v);
    for (size_t i = 0; i < sizeof keywords / sizeof *keywords; i++)
        tell(&v, keywords[i], NAME_KEYWORD, NULL, NULL);
}

static char *source_of(const Formula *formula) {
    const Source *source = formula->chunk ? formula->chunk->source : NULL;
    if (!source)
        return NULL;
    return mem_copy(source->text + formula->span.start, formula->span.end - formula->span.start);
}

char *session_formula_source(Session *session, const char *name) {
    int number;
    if (session->script && name_map_get(&session->script->formulas, name, &number))
        return source_of(session->registry->formulas[number]);
    ModuleScope scope = {.session = session, .module = session->native_scope};
    CompileHost host = loader_compile_host(&scope);
    number = host.library_formula(host.context, name);
    return number < 0 ? NULL : source_of(session->registry->formulas[number]);
}
