/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tree to code: resolves every name, binds arguments to parameters, and writes chunks. All errors of names
 * and arguments are found here, before a script's first line runs. */
#ifndef RUNDLET_COMPILE_H
#define RUNDLET_COMPILE_H

#include "front/ast.h"
#include "values/module.h"

typedef struct CompileHost {
    void *context;
    /* The registry's number of a library formula, loading it if need be; -1 if there is none. */
    int (*library_formula)(void *context, const char *name);
    const struct Native *(*native)(const char *name); /* the function in C that a library formula names */
    /* Calls back for each library formula, for near names. */
    void (*each_formula)(void *context, void (*visit)(void *argument, const char *name), void *argument);
    /* The registry's number of the module that a `use` statement loaded while parsing; -1 when that failed.
     */
    int (*used_module)(void *context, const Statement *use);
} CompileHost;

/* Which code is compiled with marks, for a run that shows its working. */
typedef enum MarksOf { MARKS_NONE, MARKS_OWN /* scripts */, MARKS_ALL /* and the library */ } MarksOf;

typedef struct CompileOptions {
    bool prompt;     /* an expression alone is shown, and is `it` */
    bool show_found; /* what a `find` at the top found is shown */
    MarksOf marks;
    bool inputs_only;     /* stop after the last input (--inputs) */
    int earlier_formulas; /* with `prompt`: formulas numbered below are of earlier entries, to be replaced */
} CompileOptions;

/* Compiles a parsed script into `module` (its formulas, its main chunk). False when errors were added. */
bool compile_program(Registry *registry, Module *module, const Program *program, const CompileHost *host,
                     CompileOptions options, DiagList *errors);

/* The value of an expression of literals only: numbers with units, dates, texts, + - * / and signs. False
 * when it is not one; a fault says why it cannot be computed (fault->id set), or nothing (it uses names). */
bool compile_constant(const Registry *registry, const Module *module, const Node *node, Value *value,
                      Fault *fault);

/* The unit an expression names. False with the fault set (a combination that cannot be). */
bool compile_unit(const Registry *registry, const Module *module, const UnitExpr *expr, UnitId *unit,
                  Fault *fault);

#endif
