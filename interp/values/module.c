/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Formulas, modules and their registry. */
#include "values/module.h"

#include <string.h>

#include "base/mem.h"

Registry *registry_new(size_t memory_limit) {
    Registry *registry = mem_alloc(sizeof *registry);
    registry->units = unit_table_new();
    registry->heap = heap_new(memory_limit);
    return registry;
}

const KindCheck *formula_parameter_kind(const Formula *formula, int index) {
    int kind = formula->params[index].kind;
    return kind < 0 ? NULL : &formula->chunk->kinds[kind];
}

const KindCheck *formula_result_kind(const Formula *formula) {
    return formula->result.kind < 0 ? NULL : &formula->chunk->kinds[formula->result.kind];
}

char *formula_example(const Formula *formula) {
    static const char mark[] = "\nExample: ";
    const char *example = formula->doc ? strstr(formula->doc, mark) : NULL;
    if (!example)
        return NULL;
    example += sizeof mark - 1;
    return mem_copy(example, strcspn(example, "\n"));
}

static void formula_free(Formula *formula) {
    if (!formula)
        return;
    mem_free(formula->name);
    mem_free(formula->usage);
    mem_free(formula->doc);
    for (int i = 0; i < formula->param_count; i++) {
        mem_free(formula->params[i].label);
        mem_free(formula->params[i].name);
    }
    mem_free(formula->params);
    chunk_free(formula->chunk);
    mem_free(formula);
}

static void module_free(Module *module) {
    source_release(module->source);
    mem_free(module->name);
    name_map_free(&module->globals);
    name_map_free(&module->formulas);
    name_map_free(&module->units);
    name_map_free(&module->aliases);
    chunk_free(module->main);
    mem_free(module);
}

void registry_free(Registry *registry) {
    if (!registry)
        return;
    for (int i = 0; i < registry->formula_count; i++)
        formula_free(registry->formulas[i]);
    for (int i = 0; i < registry->global_count; i++)
        mem_free(registry->globals[i].name);
    for (int i = 0; i < registry->module_count; i++)
        module_free(registry->modules[i]);
    mem_free(registry->formulas);
    mem_free(registry->globals);
    mem_free(registry->global_values);
    mem_free(registry->modules);
    heap_free(registry->heap);
    unit_table_free(registry->units);
    mem_free(registry);
}

void registry_mark(const Registry *registry) {
    for (int i = 0; i < registry->global_count; i++)
        heap_mark(registry->global_values[i]);
    for (int i = 0; i < registry->formula_count; i++)
        if (registry->formulas[i]->chunk)
            chunk_mark(registry->formulas[i]->chunk);
    for (int i = 0; i < registry->module_count; i++)
        if (registry->modules[i]->main)
            chunk_mark(registry->modules[i]->main);
}

int registry_add_formula(Registry *registry, Formula *formula) {
    MEM_GROW(registry->formulas, registry->formula_count, registry->formula_capacity);
    registry->formulas[registry->formula_count] = formula;
    return registry->formula_count++;
}

int registry_add_global(Registry *registry, Module *module, const char *name, GlobalKind kind, Span span) {
    if (registry->global_count >= registry->global_capacity) {
        registry->global_capacity = registry->global_capacity < 16 ? 16 : registry->global_capacity * 2;
        size_t capacity = (size_t)registry->global_capacity;
        registry->globals = mem_resize_array(registry->globals, capacity, sizeof(Global));
        registry->global_values = mem_resize_array(registry->global_values, capacity, sizeof(Value));
    }
    int slot = registry->global_count++;
    registry->globals[slot] =
        (Global){.name = mem_copy_string(name), .kind = kind, .span = span, .module = module};
    registry->global_values[slot] = value_absent();
    name_map_set(&module->globals, name, slot);
    return slot;
}

Value *registry_copy_values(const Registry *registry) {
    size_t count = (size_t)registry->global_count;
    Value *copy = mem_array(count + 1, sizeof *copy);
    if (count)
        memcpy(copy, registry->global_values, count * sizeof *copy);
    return copy;
}

void registry_put_values(Registry *registry, const Value *values, int count) {
    if (count)
        memcpy(registry->global_values, values, (size_t)count * sizeof *values);
}

int registry_add_module(Registry *registry, Module *module) {
    MEM_GROW(registry->modules, registry->module_count, registry->module_capacity);
    registry->modules[registry->module_count] = module;
    return registry->module_count++;
}

Module *module_new(Source *source, bool library) {
    Module *module = mem_alloc(sizeof *module);
    module->source = source_keep(source);
    module->name = mem_copy_string(source->name);
    module->library = library;
    return module;
}

/* ---- units ---- */

static bool find_own_unit(const Module *module, const char *name, UnitId *id) {
    int found;
    bool own = name_map_get_plural(&module->units, name, &found);
    if (own)
        *id = (UnitId)found;
    return own;
}

const char *module_everyday_unit(const Registry *registry, const Module *module, const char *name) {
    UnitId id;
    return module && find_own_unit(module, name, &id) ? NULL : unit_everyday(registry->units, name);
}

bool module_is_unit_name(const Registry *registry, const Module *module, const char *name) {
    int own;
    UnitId id;
    if (name_map_get(&module->units, name, &own))
        return true;
    return !find_own_unit(module, name, &id) && unit_is_own_name(registry->units, name);
}

bool module_unit_stands_alone(const Registry *registry, const Module *module, const char *name) {
    UnitId id;
    return !(module && find_own_unit(module, name, &id)) && unit_stands_alone(registry->units, name);
}

bool module_find_unit(const Registry *registry, const Module *module, const char *qualifier, const char *name,
                      UnitId *id) {
    if (!module)
        return !qualifier && unit_find(registry->units, name, true, id);
    if (qualifier) {
        int index;
        return name_map_get(&module->aliases, qualifier, &index) &&
               find_own_unit(registry->modules[index], name, id);
    }
    if (find_own_unit(module, name, id))
        return true;
    const char *canonical =
        unit_everyday(registry->units, name); /* `ounces` of a script that has its own oz */
    return (canonical && find_own_unit(module, canonical, id)) || unit_find(registry->units, name, true, id);
}

const char *module_nearest_unit(const Module *module, const char *name) {
    const char *best = NULL;
    int distance = 99;
    for (uint32_t i = 0; module && i < module->units.capacity; i++)
        if (module->units.entries[i].name)
            text_nearest(name, module->units.entries[i].name, &best, &distance);
    unit_nearest(name, &best, &distance);
    return best;
}
