/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What compiling leaves behind and running needs: formulas, modules (one a script), and the registry of a
 * session. */
#ifndef RUNDLET_MODULE_H
#define RUNDLET_MODULE_H

#include "values/chunk.h"
#include "values/name_map.h"

typedef struct Module Module;

typedef struct FormulaParam {
    char *label;
    char *name;
    bool optional; /* has a default */
    bool assigned; /* the formula gives it another value */
    int kind;      /* number of the chunk's kind check; -1: any */
    int initial;   /* of a native: number of the chunk's constant; -1: left out it is absent */
} FormulaParam;

/* What a formula gives, as far as it is known without a run. */
typedef enum ResultRule {
    RESULT_KIND, /* of the kind declared, if one is */
    RESULT_LIKE, /* the kind and unit of an argument, or of the items of several */
    RESULT_ROOT, /* of an argument */
    RESULT_LIST  /* a list of what an argument is, or of what it holds; and of another, if there is one */
} ResultRule;

typedef struct FormulaResult {
    ResultRule rule;
    int kind;          /* number of the chunk's kind check; -1: any */
    int first, second; /* parameters of the other rules; second -1: none */
} FormulaResult;

/* A formula of a script or of the library. One in C has a chunk too: it holds kinds and defaults, no code. */
typedef struct Formula {
    char *name;
    char *usage; /* "prime(volume, with: \"sucrose\")": for help */
    char *doc;   /* NULL without */
    Module *module;
    Span span; /* of its statement in the module's source */
    FormulaParam *params;
    int param_count;
    bool variadic; /* its one parameter takes any number of arguments */
    FormulaResult result;
    const struct Native *native; /* the function in C (runtime/native.h), or NULL */
    Chunk *chunk;                /* NULL until compiled */
} Formula;

/* What `is` asks of a parameter and of the result; NULL for any kind. */
const KindCheck *formula_parameter_kind(const Formula *formula, int index);
const KindCheck *formula_result_kind(const Formula *formula);
/* The call on the line `Example:` of its documentation; NULL without. The caller frees it. */
char *formula_example(const Formula *formula);

typedef enum GlobalKind { GLOBAL_LET, GLOBAL_INPUT } GlobalKind;

typedef struct Global {
    char *name;
    GlobalKind kind;
    bool declared; /* the compiler has come past its declaration */
    bool earlier;  /* of an earlier entry of the prompt: it may be declared once more */
    Span span;     /* of its name where it was last declared */
    Module *module;
} Global;

typedef struct ModuleUnit {
    char *name;
    UnitId id;
    char *doc;
} ModuleUnit;

struct Module {
    Source *source;
    char *name;       /* shown name: the file's */
    bool library;     /* of the standard library */
    NameMap globals;  /* name → registry global */
    NameMap formulas; /* name → registry formula; own and brought in */
    NameMap units;    /* name → UnitId; own and brought in */
    NameMap aliases;  /* name → registry module */
    Chunk *main;      /* top-level code of the last compilation */
    bool has_run;
    bool loading; /* being parsed or compiled: a circle of `use` comes back here */
};

typedef struct Registry {
    UnitTable *units;
    Heap *heap;
    Formula **formulas;
    int formula_count, formula_capacity;
    Global *globals;
    int global_count, global_capacity;
    Value *global_values; /* by the same number; absent: no value yet */
    Module **modules;
    int module_count, module_capacity;
    bool has_sources; /* a ± is in some module: runs are repeated (runtime/worlds.h) */
} Registry;

Registry *registry_new(size_t memory_limit);
void registry_free(Registry *registry);
void registry_mark(const Registry *registry);
int registry_add_formula(Registry *registry, Formula *formula);
int registry_add_global(Registry *registry, Module *module, const char *name, GlobalKind kind, Span span);
/* The values of all globals; the caller frees the array and marks what is in it. */
Value *registry_copy_values(const Registry *registry);
/* Puts the first `count` of them back. */
void registry_put_values(Registry *registry, const Value *values, int count);
int registry_add_module(Registry *registry, Module *module);
Module *module_new(Source *source, bool library);

/* A unit by name in a module: its own and brought in (plural s allowed), then the built-in ones. With a
 * qualifier, of the module of that alias. Without a module (NULL) only the built-in ones. */
bool module_find_unit(const Registry *registry, const Module *module, const char *qualifier, const char *name,
                      UnitId *id);
/* The nearest unit name, or NULL. */
const char *module_nearest_unit(const Module *module, const char *name);
/* The name of a built-in unit for a spelling of every day, unless the module has a unit called that; NULL for
 * others. */
const char *module_everyday_unit(const Registry *registry, const Module *module, const char *name);
/* Is it the own name of a unit, built-in or of the module: no plural, no spelling of every day? */
bool module_is_unit_name(const Registry *registry, const Module *module, const char *name);
/* Is it a built-in unit's spelling that is too common for `*` and `/` to go on to, and no unit of the
 * module's? */
bool module_unit_stands_alone(const Registry *registry, const Module *module, const char *name);

#endif
