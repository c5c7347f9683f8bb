/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an entry of the prompt found before it, so that one that fails leaves nothing behind; and what it
 * declares again.
 *
 * Formulas, units and modules are numbered as they come and are never taken out of the registry: going back
 * means that names lead to the earlier numbers again. */
#include <string.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "front/tree.h"

typedef struct EntryState {
    NameMap globals, formulas, units, aliases;
    Global *marks; /* copies: of each its kind and whether it was declared */
    Value *values;
    int global_count, formula_count, module_count;
    UnitId unit_count;
    MovedGlobals *moved;
    int moved_count;
} EntryState;

static Value *copy_values(const Value *values, int count) {
    Value *copy = mem_array((size_t)count + 1, sizeof *copy);
    if (count)
        memcpy(copy, values, (size_t)count * sizeof *copy);
    return copy;
}

void entry_begin(Session *session) {
    Registry *registry = session->registry;
    const Module *module = session->script;
    EntryState *state = mem_alloc(sizeof *state);
    *state = (EntryState){.globals = name_map_copy(&module->globals),
                          .formulas = name_map_copy(&module->formulas),
                          .units = name_map_copy(&module->units),
                          .aliases = name_map_copy(&module->aliases),
                          .global_count = registry->global_count,
                          .formula_count = registry->formula_count,
                          .module_count = registry->module_count,
                          .unit_count = registry->units->count,
                          .moved_count = session->moved_count};
    state->values = registry_copy_values(registry);
    state->marks = mem_array((size_t)registry->global_count + 1, sizeof *state->marks);
    for (int i = 0; i < registry->global_count; i++) {
        Global *global = &registry->globals[i];
        global->earlier = global->module == module;
        state->marks[i] = *global;
    }
    state->moved = mem_array((size_t)session->moved_count + 1, sizeof *state->moved);
    for (int i = 0; i < session->moved_count; i++)
        state->moved[i] = (MovedGlobals){copy_values(session->moved[i].values, session->moved[i].count),
                                         session->moved[i].count};
    session->before = state;
    session->entry_holds = false;
    text_clear(&session->replaced);
}

static void go_back_to(NameMap *map, NameMap *before) {
    NameMap after = *map;
    *map = *before;
    *before = after;
}

static void take_back(Session *session, EntryState *state) {
    Registry *registry = session->registry;
    Module *module = session->script;
    go_back_to(&module->globals, &state->globals);
    go_back_to(&module->formulas, &state->formulas);
    go_back_to(&module->units, &state->units);
    go_back_to(&module->aliases, &state->aliases);
    for (int i = 0; i < registry->global_count; i++) {
        bool known = i < state->global_count;
        if (!known && registry->globals[i].module != module)
            continue; /* a value of the library, computed once */
        bool own = registry->globals[i].module == module;
        if (own || !known)
            registry->global_values[i] = known ? state->values[i] : value_absent();
        if (own && known) {
            registry->globals[i].kind = state->marks[i].kind;
            registry->globals[i].declared = state->marks[i].declared;
        }
    }
    for (int i = 0; i < session->moved_count; i++) {
        MovedGlobals after = session->moved[i];
        if (i < state->moved_count) {
            session->moved[i] = state->moved[i];
            state->moved[i] = after; /* freed with it */
        } else {
            mem_free(after.values);
        }
    }
    session->moved_count = state->moved_count;
}

void entry_end(Session *session, bool holds) {
    EntryState *state = session->before;
    if (!holds)
        take_back(session, state);
    session->entry_holds = holds;
    session->before = NULL;
    name_map_free(&state->globals);
    name_map_free(&state->formulas);
    name_map_free(&state->units);
    name_map_free(&state->aliases);
    for (int i = 0; i < state->moved_count; i++)
        mem_free(state->moved[i].values);
    mem_free(state->moved);
    mem_free(state->marks);
    mem_free(state->values);
    mem_free(state);
}

void entry_mark(const Session *session) {
    const EntryState *state = session->before;
    for (int i = 0; state && i < state->global_count; i++)
        heap_mark(state->values[i]);
    for (int i = 0; state && i < state->moved_count; i++)
        for (int g = 0; g < state->moved[i].count; g++)
            heap_mark(state->moved[i].values[g]);
}

int entry_earlier(const Session *session, const Module *module, bool formulas) {
    const EntryState *state = session->before;
    if (!state || module != session->script)
        return 0;
    return formulas ? state->formula_count : (int)state->unit_count;
}

int entry_earlier_modules(const Session *session, const Module *module) {
    return session->before && module == session->script ? session->before->module_count : 0;
}

/* ---- what is declared again ---- */

/* Does a statement declare its name in place of an earlier thing? A `let` gives a name another value as at
 * any time, and is reported only where it ends an input. */
static bool replaces(const EntryState *state, const Statement *s, const char *name) {
    const NameMap *earlier = s->type == STATEMENT_FORMULA ? &state->formulas
                             : s->type == STATEMENT_UNIT  ? &state->units
                                                          : &state->globals;
    int number;
    return name_map_get(earlier, name, &number) &&
           (s->type != STATEMENT_LET || state->marks[number].kind == GLOBAL_INPUT);
}

void entry_note_replaced(Session *session, const Program *program) {
    for (int i = 0; i < program->block.count; i++) {
        const char *name = tree_declared_name(program->block.items[i]);
        if (name && replaces(session->before, program->block.items[i], name)) {
            text_add_string(&session->replaced, name);
            text_add_char(&session->replaced, '\n');
        }
    }
}
