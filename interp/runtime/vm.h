/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The virtual machine: runs compiled modules, hands items to a report.
 *
 * A run that fails leaves one Diag in `error`. Parts of code (the sides of a find, a table's cell, what
 * `expect error` tries) run by a nested call on the same frame; what fails inside one is caught there and
 * goes no further. */
#ifndef RUNDLET_VM_H
#define RUNDLET_VM_H

#include <signal.h>

#include "runtime/native.h"
#include "runtime/recorder.h"
#include "runtime/worlds.h"
#include "values/module.h"
#include "values/report.h"

typedef struct Frame {
    const Chunk *chunk;
    const Instruction *pc; /* where it continues; while it runs: its last call */
    size_t base;           /* its first register in the stack */
    int builders, tables;  /* under way when it was called */
} Frame;

/* A value set on the command line, waiting for its `input` statement. */
typedef struct InputOverride {
    char *name;
    char *text;         /* as typed, for messages */
    Value value;        /* a literal; text inputs take `text` */
    double uncertainty; /* of `1.050 ± 0.002 SG`, on the value's unit; 0: none */
    bool is_literal;    /* the text could be read as one */
    Fault why;          /* why not (front/literal.h) */
    bool used;
} InputOverride;

typedef struct VmLimits {
    double seconds; /* 0: none */
    int depth;      /* calls */
} VmLimits;

typedef struct ListBuilder {
    Value *items;
    uint32_t count, capacity;
} ListBuilder;

typedef struct Vm {
    Registry *registry;
    Report *report;
    NativeContext *natives;
    PourListener pours; /* for its cautions */
    Worlds *worlds;
    Recorder *recorder; /* of a run that shows its working; NULL: of no such run. The owner's */
    Value *stack;
    size_t stack_size;
    Frame *frames;
    int frame_count, frame_capacity;
    int nesting;                      /* parts within parts: they use the C stack */
    Fault fault;                      /* of the instruction that fails */
    Diag *error;                      /* of the run that failed */
    bool quiet;                       /* trial evaluations: errors are only noticed, not worded */
    int probing;                      /* above 0: trial evaluations of a `find` */
    void (*mark_more)(void *context); /* roots of the owner, or NULL */
    void *mark_context;
    ListBuilder *builders; /* comprehensions under way */
    int builder_count, builder_capacity;
    TableResult **tables; /* tables under way */
    int table_count, table_capacity;
    InputOverride *overrides;
    int override_count;
    bool by_set; /* they were given by `set`, so hints show it */
    VmLimits limits;
    double deadline; /* on the monotonic clock; 0: none */
    int polls_left;
    volatile sig_atomic_t *interrupt;
    DiagList *failures;   /* failed checks, in order */
    size_t failure_bytes; /* they take, about */
    void (*on_failure)(void *context, const Diag *diag);
    void (*on_expect)(void *context, const Source *source, Span span, bool passed, const Diag *diag);
    void *listener_context;
} Vm;

Vm *vm_new(Registry *registry, NativeContext *natives, VmLimits limits, volatile sig_atomic_t *interrupt);
void vm_free(Vm *vm);
void vm_drop_overrides(Vm *vm); /* the values given to inputs of a run, and what they own */
/* Starts the clock of the time limit. */
void vm_start(Vm *vm);
/* Runs a module's main code. False: vm->error says why (the caller takes it). */
bool vm_run_module(Vm *vm, Module *module);
void vm_drop_error(Vm *vm);
/* A limit or an interruption: never caught. */
bool vm_error_is_final(const Vm *vm);

#endif
