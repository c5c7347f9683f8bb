/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the facade share. Private to session*.c and loader.c. */
#ifndef RUNDLET_SESSION_STATE_H
#define RUNDLET_SESSION_STATE_H

#include "facade/session.h"
#include "front/compile.h"
#include "front/library.h"
#include "front/parse.h"
#include "runtime/vm.h"

/* A `use` statement and the module it loaded, for the compiler. */
typedef struct UseLink {
    const Statement *statement;
    int module;
} UseLink;

/* A file of the library: its formulas are loaded when they are called. */
typedef struct LibraryState {
    int module; /* number in the registry + 1; 0: none yet */
    bool whole; /* loaded to its end, for help */
} LibraryState;

/* What was written with a unit or an input, for help. */
typedef struct NameNote {
    bool is_unit;
    int number;    /* UnitId, or the registry's number of the global */
    char *written; /* "4 g" */
    char *doc;
} NameNote;

typedef struct PendingInput {
    char *name;
    char *value;
} PendingInput;

/* What a run changes and the next one needs as it was. */
typedef struct Snapshot {
    Value *globals;
    int global_count;
    bool *has_run;
    int module_count;
} Snapshot;

struct Session {
    SessionOptions options;
    char *folder, *shelf; /* absolute */
    char *read_folder;    /* of the running script; natives.folder points to it */
    Registry *registry;
    Vm *vm;
    Report *report;
    NativeContext natives;
    DiagList errors;
    Module *script;        /* the one run, or the prompt's */
    LibraryState *library; /* by library file */
    bool abacus_over;      /* a limit, or who waits, has stopped it */
    Module *abacus;        /* where the working is computed again; NULL: not yet */
    Module *no_script;     /* an empty module, for what is asked before there is one */
    UseLink *links;
    int link_count, link_capacity;
    NameNote *notes;
    int note_count, note_capacity;
    PendingInput *pending;
    int pending_count, pending_capacity;
    bool by_set;                             /* pending inputs come from `set` */
    struct MovedGlobals *moved, *moved_next; /* the latter of the entry that is at work */
    int moved_count, moved_capacity, moved_next_count, moved_next_capacity; /* WORLDS_OF_SOURCE a source */
    struct EntryState *before; /* the entry of the prompt that is at work: what was there before it */
    bool trying;               /* nothing of that entry is to hold */
    bool entry_holds;          /* the last entry worked; one that did not has left nothing behind */
    Text replaced;             /* what it declared again, a line each */
    Snapshot start, end;       /* the run of a script with a ± as it is: to go back to between the others */
    Report *held;              /* what it shows, until the others are over */
    long trials;               /* --trials: so many random draws; 0: none */
    bool did_run;              /* the last script compiled and was run, if only in part */
    uint64_t seed;
    volatile sig_atomic_t interrupted;
    void (*on_item)(void *context, const Item *item);
    void *item_context;
    bool passing; /* report->passing of every run */
    void (*on_error)(void *context, const Diag *diag);
    void *error_context;
    void (*on_expect)(void *context, const char *line, bool passed, const Diag *diag);
    void *expect_context;
    int reported; /* errors already told to on_error */
};

/* ---- loader.c ---- */
/* The parser's and the compiler's questions, answered for one module. */
typedef struct ModuleScope {
    Session *session;
    Module *module;
} ModuleScope;
ParseHost loader_parse_host(ModuleScope *scope);
CompileHost loader_compile_host(ModuleScope *scope);
/* Loads the whole library file; its registry number. */
int loader_library_module(Session *session, int file);
/* Is it a file of the library, word for word? --check takes it for one. */
bool loader_is_library(const Source *source);
void loader_free(Session *session);
/* The folder of a path, or `otherwise` for NULL; the caller frees it. */
char *loader_folder_of(const char *path, const char *otherwise);
/* Reads a whole file. NULL and an error message id with its words when it cannot be. */
char *loader_read_file(const char *path, bool regular, size_t *length, MessageId *why, char **detail);

/* ---- session_names.c ---- */
void session_note_unit(Session *session, UnitId unit, const Source *source, const Statement *statement);
/* The documentation of the inputs that a program of the prompt declared. */
void session_note_inputs(Session *session, const Program *program);
void session_free_notes(Session *session);

/* ---- session_entry.c ---- */
/* Around an entry of the prompt. What it changes is taken back unless the entry holds. */
void entry_begin(Session *session);
void entry_end(Session *session, bool holds);
void entry_mark(const Session *session); /* values of before, while an entry is at work */
/* Lists in session->replaced what the program declares again. */
void entry_note_replaced(Session *session, const Program *program);
/* Numbers below are of earlier entries, and what has them gives way to a new thing of its name: formulas or
 * units, modules of a `use`. 0 for another module than the prompt's. */
int entry_earlier(const Session *session, const Module *module, bool formulas);
int entry_earlier_modules(const Session *session, const Module *module);

/* ---- session_worlds.c ---- */
/* The values of the globals in the world where one source is moved: kept from entry to entry at the prompt.
 */
typedef struct MovedGlobals {
    Value *values;
    int count;
} MovedGlobals;
/* Runs the script (main code of session->script) as often as its sources of uncertainty ask for. `keep`: at
 * the prompt, sources and moved globals live on. vm->error is set when the script fails as it is. */
bool worlds_run(Session *session, bool keep);
void worlds_mark_moved(const Session *session);
void worlds_free_moved(Session *session);

/* ---- session.c ---- */
void session_open_prompt(Session *session); /* session->script is there afterwards */
bool session_is_one_expression(const Program *program);
bool session_run_once(Session *session);
MarksOf session_marks(const Session *session); /* for code of this session */

/* ---- working_steps.c ---- */
/* After a run: gives what is shown its working (Item.working, TableColumn.working). */
void session_add_working(Session *session);

#endif
