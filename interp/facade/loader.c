/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where names come from: scripts brought in by `use`, and the library. */
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/mem.h"
#include "facade/session_state.h"

/* ---- files ---- */

char *loader_folder_of(const char *path, const char *otherwise) {
    const char *slash = path ? strrchr(path, '/') : NULL;
    if (!slash)
        return mem_copy_string(otherwise);
    return slash == path ? mem_copy_string("/") : mem_copy(path, (size_t)(slash - path));
}

/* How a file that is to be a script failed; for all but FILE_DONE. */
static MessageId message_of(FileOutcome outcome) {
    static const MessageId messages[] = {[FILE_ABSENT] = MSG_FILE_ABSENT,
                                         [FILE_IS_FOLDER] = MSG_FILE_FOLDER,
                                         [FILE_IRREGULAR] = MSG_FILE_UNREADABLE,
                                         [FILE_LARGE] = MSG_FILE_TOO_LARGE,
                                         [FILE_BROKEN] = MSG_FILE_UNREADABLE};
    return messages[outcome];
}

char *loader_read_file(const char *path, bool regular, size_t *length, MessageId *why, char **detail) {
    Text content = {0};
    int descriptor = STDIN_FILENO, reason = 0;
    size_t size;
    bool standard_input = strcmp(path, "-") == 0 && !regular;
    FileOutcome outcome = standard_input ? FILE_DONE : file_open(path, regular, &descriptor, &size, &reason);
    if (outcome == FILE_DONE)
        outcome = file_read(descriptor, &content, &reason);
    *length = content.length;
    *detail = NULL;
    if (outcome == FILE_DONE)
        return text_take(&content);
    text_free(&content);
    *why = message_of(outcome);
    *detail = outcome == FILE_BROKEN || outcome == FILE_ABSENT ? mem_copy_string(strerror(reason)) : NULL;
    return NULL;
}

static char *join_path(const char *folder, const char *name) {
    Text path = {0};
    text_add_string(&path, folder);
    text_add_char(&path, '/');
    text_add_string(&path, name);
    return text_take(&path);
}

/* ---- scripts brought in ---- */

/* The nearest name of a script in a folder to one that is not there; the caller frees it, or gets NULL. */
static char *nearest_script(const char *folder, const char *wanted) {
    DIR *listing = opendir(folder);
    char *best = NULL;
    int distance = 99;
    for (struct dirent *entry; listing && (entry = readdir(listing)) != NULL;) {
        const char *better = NULL;
        size_t length = strlen(entry->d_name);
        if (length > 5 && strcmp(entry->d_name + length - 5, ".rlet") == 0)
            text_nearest(wanted, entry->d_name, &better, &distance);
        if (better) {
            mem_free(best);
            best = mem_copy_string(better);
        }
    }
    if (listing)
        closedir(listing);
    return best;
}

static void report_absent(Session *session, const Module *user, const Statement *use, const char *folder,
                          DiagList *errors) {
    const char *name = use->as.use.path;
    Diag *diag =
        diag_add(errors, MSG_USE_NOT_FOUND, user->source, use->as.use.path_span, ARGS(name, session->shelf));
    char *near = nearest_script(folder, name);
    if (near)
        diag_hint(diag, HINT_MEANT, ARGS(near));
    mem_free(near);
}

/* Finds the file of a `use`: beside the script, then on the shelf. NULL after an error. */
static char *find_script(Session *session, const Module *user, const Statement *use, DiagList *errors) {
    const char *name = use->as.use.path;
    char *own = loader_folder_of(user->source->path, session->folder);
    char *beside = join_path(own, name), *on_shelf = join_path(session->shelf, name);
    char *path = name[0] == '/' ? file_resolved(name) : file_resolved(beside);
    if (path && !file_is_below(path, own) && !file_is_below(path, session->shelf)) {
        diag_add(errors, MSG_USE_OUTSIDE, user->source, use->as.use.path_span, ARGS(name));
        mem_free(path);
        path = NULL;
    } else if (!path) {
        path = file_resolved(on_shelf);
        if (path && !file_is_below(path, session->shelf)) {
            mem_free(path);
            path = NULL;
        }
        if (!path)
            report_absent(session, user, use, own, errors);
    }
    mem_free(own);
    mem_free(beside);
    mem_free(on_shelf);
    return path;
}

static int find_loaded(const Session *session, const char *path) {
    for (int i = 0; i < session->registry->module_count; i++) {
        const Source *source = session->registry->modules[i]->source;
        if (source->path && strcmp(source->path, path) == 0)
            return i;
    }
    return -1;
}

/* Parses and compiles a module that is in the registry already, or (`at` ≥ 0) the one statement that begins
 * there. False after errors. */
static bool load_module(Session *session, Module *module, int at, DiagList *errors) {
    ModuleScope scope = {.session = session, .module = module};
    ParseHost parse_host = loader_parse_host(&scope);
    CompileHost compile_host = loader_compile_host(&scope);
    Program *program;
    int before = errors->count;
    module->loading = true;
    ParseStatus status = at < 0 ? parse_program(module->source, &parse_host, errors, &program)
                                : parse_one(module->source, (size_t)at, &parse_host, errors, &program);
    if (status == PARSE_OK && errors->count == before)
        compile_program(session->registry, module, program, &compile_host,
                        (CompileOptions){.marks = session_marks(session)}, errors);
    module->loading = false;
    program_free(program);
    return errors->count == before;
}

/* Errors inside a script say which `use` brought it in. */
static void trace_use(const Module *user, const Statement *use, const DiagList *errors, int from) {
    for (int i = from; i < errors->count; i++)
        diag_add_trace(errors->items[i], PHRASE_BROUGHT_IN,
                       ARGS(arg_place(user->source, use->as.use.path_span.start)));
}

/* The name that messages show: the path as written beside the user's own name. */
static char *shown_name(const Module *user, const char *written) {
    char *folder = loader_folder_of(user->source->name, NULL);
    char *name = folder && written[0] != '/' ? join_path(folder, written) : mem_copy_string(written);
    mem_free(folder);
    return name;
}

static int load_script(Session *session, const Module *user, const Statement *use, const char *path,
                       DiagList *errors) {
    size_t length;
    MessageId why;
    char *detail;
    char *text = loader_read_file(path, true, &length, &why, &detail);
    if (!text) {
        diag_add(errors, MSG_USE_UNREADABLE, user->source, use->as.use.path_span,
                 ARGS(use->as.use.path, detail ? arg_text(detail) : arg_phrase(PHRASE_NO_SCRIPT, NO_ARGS)));
        mem_free(detail);
        return -1;
    }
    char *name = shown_name(user, use->as.use.path);
    Source *source = source_new(name, path, text, length);
    Module *module = module_new(source, false);
    source_release(source);
    mem_free(name);
    mem_free(text);
    int number = registry_add_module(session->registry, module);
    int before = errors->count;
    if (load_module(session, module, -1, errors))
        return number;
    trace_use(user, use, errors, before);
    return -1;
}

/* NULL if the library has no formula of that name. */
static const LibraryName *find_library_name(const char *name) {
    int low = 0, high = library_name_count - 1;
    while (low <= high) {
        int middle = low + (high - low) / 2, order = strcmp(name, library_names[middle].name);
        if (order == 0)
            return &library_names[middle];
        if (order < 0)
            high = middle - 1;
        else
            low = middle + 1;
    }
    return NULL;
}

static void note_library_name(Session *session, const char *file, const char *name) {
    char *note = message_take(NOTE_INSTEAD_OF_LIBRARY, ARGS(file, name));
    report_text(session->report, ITEM_NOTE, note);
    mem_free(note);
}

/* Brings in one name; false when another thing of that name is there. Those numbered below `earlier` give
 * way.
 */
static bool bring_in(NameMap *map, const NameEntry *entry, int earlier, bool *is_new) {
    int existing;
    bool known = name_map_get(map, entry->name, &existing);
    *is_new = !known || (existing != entry->value && existing < earlier);
    if (!*is_new)
        return existing == entry->value;
    name_map_set(map, entry->name, entry->value);
    return true;
}

static bool bring_in_all(Session *session, Module *user, const NameMap *from, NameMap *into, bool formulas,
                         const Statement *use, DiagList *errors) {
    int earlier = entry_earlier(session, user, formulas);
    for (uint32_t i = 0; i < from->capacity; i++) {
        const NameEntry *entry = &from->entries[i];
        bool is_new;
        if (!entry->name)
            continue;
        if (!bring_in(into, entry, earlier, &is_new)) {
            diag_add(errors, MSG_USE_CLASH, user->source, use->as.use.path_span,
                     ARGS(use->as.use.path, entry->name));
            return false;
        }
        const LibraryName *other = formulas && is_new ? find_library_name(entry->name) : NULL;
        if (other && !other->part)
            note_library_name(session, use->as.use.path, entry->name);
    }
    return true;
}

static void add_link(Session *session, const Statement *statement, int module) {
    MEM_GROW(session->links, session->link_count, session->link_capacity);
    session->links[session->link_count++] = (UseLink){.statement = statement, .module = module};
}

static bool declare_use(ModuleScope *scope, const Statement *use, DiagList *errors) {
    Session *session = scope->session;
    Module *user = scope->module;
    char *path = find_script(session, user, use, errors);
    int number = -1, existing;
    if (path) {
        number = find_loaded(session, path);
        if (number >= 0 && session->registry->modules[number]->loading) {
            bool itself = session->registry->modules[number] == user;
            diag_add(errors, itself ? MSG_USE_ITSELF : MSG_USE_CIRCLE, user->source, use->as.use.path_span,
                     ARGS(use->as.use.path, user->source->name));
            mem_free(path);
            return false;
        }
        if (number < 0)
            number = load_script(session, user, use, path, errors);
    }
    mem_free(path);
    if (number < 0)
        return false;
    add_link(session, use, number);
    const Module *used = session->registry->modules[number];
    if (use->as.use.alias) {
        bool taken = name_map_get(&user->aliases, use->as.use.alias, &existing) && existing != number;
        if (taken && existing >= entry_earlier_modules(session, user)) {
            diag_add(errors, MSG_ALIAS_TWICE, user->source, use->as.use.alias_span, ARGS(use->as.use.alias));
            return false;
        }
        name_map_set(&user->aliases, use->as.use.alias, number);
        return true;
    }
    return bring_in_all(session, user, &used->units, &user->units, false, use, errors) &&
           bring_in_all(session, user, &used->formulas, &user->formulas, true, use, errors);
}

/* ---- units of a script ---- */

static bool declare_unit(ModuleScope *scope, const Statement *s, DiagList *errors) {
    Registry *registry = scope->session->registry;
    Module *module = scope->module;
    const char *name = s->as.unit.name;
    UnitId id;
    int existing;
    if (name_map_get(&module->units, name, &existing) &&
        existing >= entry_earlier(scope->session, module, false)) {
        diag_add(errors, MSG_UNIT_TWICE, module->source, s->as.unit.name_span, ARGS(name));
        return false;
    }
    if (!s->as.unit.value) {
        id = s->as.unit.is_money ? unit_declare_money(registry->units, name)
                                 : unit_declare_count(registry->units, name);
    } else {
        Fault fault = {0};
        Value value;
        bool known = compile_constant(registry, module, s->as.unit.value, &value, &fault) &&
                     value_is_quantity(value) &&
                     unit_declare_multiple(registry->units, name, value.as.number, value.unit, &id, &fault);
        if (!known) {
            if (fault.id == MSG_NONE)
                fault_set(&fault, MSG_UNIT_NOT_CONSTANT, NO_ARGS);
            diag_list_push(errors, diag_from_fault(&fault, module->source, s->as.unit.value->span));
            return false;
        }
    }
    name_map_set(&module->units, name, (int)id);
    session_note_unit(scope->session, id, module->source, s);
    return true;
}

/* ---- answers to the parser ---- */

static bool host_is_unit(void *context, const char *qualifier, const char *name) {
    const ModuleScope *scope = context;
    UnitId id;
    return module_find_unit(scope->session->registry, scope->module, qualifier, name, &id);
}

static bool host_is_alias(void *context, const char *name) {
    const ModuleScope *scope = context;
    int number;
    return name_map_get(&scope->module->aliases, name, &number);
}

static const char *host_nearest_unit(void *context, const char *name) {
    const ModuleScope *scope = context;
    return module_nearest_unit(scope->module, name);
}

static bool host_is_value(void *context, const char *name) {
    const ModuleScope *scope = context;
    int slot;
    return name_map_get(&scope->module->globals, name, &slot);
}

static const char *host_everyday(void *context, const char *name) {
    const ModuleScope *scope = context;
    return module_everyday_unit(scope->session->registry, scope->module, name);
}

static bool host_is_unit_name(void *context, const char *name) {
    const ModuleScope *scope = context;
    return module_is_unit_name(scope->session->registry, scope->module, name);
}

static bool host_stands_alone(void *context, const char *name) {
    const ModuleScope *scope = context;
    return module_unit_stands_alone(scope->session->registry, scope->module, name);
}

static bool host_declared(void *context, const Statement *statement, DiagList *errors) {
    ModuleScope *scope = context;
    return statement->type == STATEMENT_USE ? declare_use(scope, statement, errors)
                                            : declare_unit(scope, statement, errors);
}

static bool host_is_formula(void *context, const char *name) {
    const ModuleScope *scope = context;
    const LibraryName *found = find_library_name(name);
    int formula;
    return (found && !found->part) || name_map_get(&scope->module->formulas, name, &formula);
}

ParseHost loader_parse_host(ModuleScope *scope) {
    return (ParseHost){.context = scope,
                       .is_unit = host_is_unit,
                       .is_alias = host_is_alias,
                       .nearest_unit = host_nearest_unit,
                       .declared = host_declared,
                       .is_value = host_is_value,
                       .everyday = host_everyday,
                       .stands_alone = host_stands_alone,
                       .is_unit_name = host_is_unit_name,
                       .is_formula = host_is_formula,
                       .library = scope->module->library};
}

/* ---- the library ---- */

/* The file's module, empty at first: its number in the registry. */
static int library_module(Session *session, int file) {
    LibraryState *state = &session->library[file];
    if (!state->module) {
        const LibraryFile *found = &library_files[file];
        Source *source = source_new(found->name, NULL, found->text, found->length);
        state->module = registry_add_module(session->registry, module_new(source, true)) + 1;
        source_release(source);
    }
    return state->module - 1;
}

bool loader_is_library(const Source *source) {
    for (int i = 0; i < library_file_count; i++)
        if (library_files[i].length == source->length &&
            memcmp(library_files[i].text, source->text, source->length) == 0)
            return true;
    return false;
}

int loader_library_module(Session *session, int file) {
    int number = library_module(session, file);
    if (!session->library[file].whole) {
        session->library[file].whole = true;
        load_module(session, session->registry->modules[number], -1, &session->errors);
    }
    return number;
}

/* Each is read by itself, when it is first called. */
static int host_library_formula(void *context, const char *name) {
    const ModuleScope *scope = context;
    const LibraryName *found = find_library_name(name);
    int formula;
    if (!found)
        return -1;
    int number = library_module(scope->session, found->file);
    Module *module = scope->session->registry->modules[number];
    if (found->part && module != scope->module)
        return -1;
    if (!name_map_get(&module->formulas, name, &formula))
        load_module(scope->session, module, found->at, &scope->session->errors);
    return name_map_get(&module->formulas, name, &formula) ? formula : -1;
}

static void host_each_formula(void *context, void (*visit)(void *argument, const char *name),
                              void *argument) {
    (void)context;
    for (int i = 0; i < library_name_count; i++)
        if (!library_names[i].part)
            visit(argument, library_names[i].name);
}

static int host_used_module(void *context, const Statement *use) {
    const ModuleScope *scope = context;
    for (int i = scope->session->link_count - 1; i >= 0; i--)
        if (scope->session->links[i].statement == use)
            return scope->session->links[i].module;
    return -1;
}

CompileHost loader_compile_host(ModuleScope *scope) {
    return (CompileHost){.context = scope,
                         .library_formula = host_library_formula,
                         .native = native_find,
                         .each_formula = host_each_formula,
                         .used_module = host_used_module};
}

void loader_free(Session *session) {
    mem_free(session->library);
    mem_free(session->links);
}
