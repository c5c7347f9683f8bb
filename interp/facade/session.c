/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A session: from a source text to a report and diagnostics. */
#include "facade/session.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "front/check_choices.h"
#include "front/check_flow.h"
#include "front/check_kinds.h"
#include "front/literal.h"
#include "front/word.h"
#include "numbers/calendar.h"
#include "runtime/native_text.h"

enum { DEFAULT_DEPTH = 1000 };
#define DEFAULT_MEMORY ((size_t)1 << 30)

const char *session_version(void) {
    return RUNDLET_VERSION; /* as the build has it */
}

const char *session_program(void) {
    return "rundlet " RUNDLET_VERSION;
}

SessionOptions session_default_options(void) {
    return (SessionOptions){.limits = {.memory = DEFAULT_MEMORY, .depth = DEFAULT_DEPTH}};
}

/* ---- making one ---- */

static double local_today(void) {
    time_t now = time(NULL);
    struct tm parts;
    if (!localtime_r(&now, &parts))
        return 0;
    return (double)calendar_days((CalendarDate){parts.tm_year + 1900, parts.tm_mon + 1, parts.tm_mday});
}

static char *default_shelf(void) {
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    Text path = {0};
    text_add_string(&path, data && *data ? data : home ? home : "");
    text_add_string(&path, data && *data ? "/rundlet" : "/.local/share/rundlet");
    return text_take(&path);
}

static char *current_folder(void) {
    char buffer[PATH_MAX];
    return mem_copy_string(getcwd(buffer, sizeof buffer) ? buffer : "/");
}

static void assume(void *context, MessageId id) {
    Session *session = context;
    report_assume(session->report, message_text(id));
    if (session->vm->recorder && !session->vm->recorder->paused && !session->vm->probing &&
        !worlds_are_moved(session->vm->worlds))
        recorder_assume(session->vm->recorder, (int)id);
}

static void note(void *context, MessageId id, MessageArg *args) {
    Session *session = context;
    char *text = message_take(id, args);
    report_say_once(session->report, ITEM_NOTE, text);
    mem_free(text);
}

static bool caution(void *context, const char *topic, MessageId id, MessageArg *args) {
    Session *session = context;
    char *text = id == MSG_NONE ? NULL : message_take(id, args);
    bool said = report_caution_topic(session->report, topic ? topic : text, text);
    mem_free(text);
    return said;
}

static void mark_more(void *context) {
    worlds_mark_moved(context);
    if (((Session *)context)->vm && ((Session *)context)->vm->recorder)
        recorder_mark(((Session *)context)->vm->recorder);
}

/* New ones go to the listener. */
static void tell_errors(Session *session) {
    for (; session->reported < session->errors.count; session->reported++)
        if (session->on_error)
            session->on_error(session->error_context, session->errors.items[session->reported]);
}

static void on_failure(void *context, const Diag *diag) {
    (void)diag;
    tell_errors(context);
}

static void on_expect(void *context, const Source *source, Span span, bool passed, const Diag *diag) {
    Session *session = context;
    if (!session->on_expect)
        return;
    char *line = mem_copy(source->text + span.start, span.end - span.start);
    session->on_expect(session->expect_context, line, passed, diag);
    mem_free(line);
}

/* Everything a run changes, new. */
static void open_state(Session *session) {
    session->registry = registry_new(session->options.limits.memory);
    session->registry->heap->stress = session->options.stress;
    session->natives =
        (NativeContext){.today = session->options.has_today ? session->options.today : local_today(),
                        .folder = session->folder,
                        .assume = assume,
                        .note = note,
                        .caution = caution,
                        .callback_context = session};
    VmLimits limits = {.seconds = session->options.limits.seconds, .depth = session->options.limits.depth};
    session->vm = vm_new(session->registry, &session->natives, limits, &session->interrupted);
    session->vm->failures = &session->errors;
    session->vm->mark_more = mark_more;
    session->vm->mark_context = session;
    session->vm->on_failure = on_failure;
    session->vm->on_expect = on_expect;
    session->vm->listener_context = session;
    session->report = report_new();
    session->vm->report = session->report;
    session->library = mem_array((size_t)library_file_count + 1, sizeof *session->library);
    Source *nothing = source_new("", NULL, "", 0);
    session->no_script = module_new(nothing, true);
    source_release(nothing);
    registry_add_module(session->registry, session->no_script);
}

static void close_state(Session *session) {
    worlds_free_moved(session);
    loader_free(session);
    session_free_notes(session);
    session->links = NULL;
    session->link_count = session->link_capacity = 0;
    recorder_free(session->vm->recorder);
    vm_free(session->vm);
    report_free(session->report);
    native_text_free(session->natives.regex);
    session->abacus = NULL;
    session->abacus_over = false;
    registry_free(session->registry);
    session->script = NULL;
    mem_free(session->read_folder);
    session->read_folder = NULL;
}

Session *session_new(const SessionOptions *options) {
    Session *session = mem_alloc(sizeof *session);
    session->options = *options;
    session->folder = options->folder ? mem_copy_string(options->folder) : current_folder();
    session->shelf = options->shelf ? mem_copy_string(options->shelf) : default_shelf();
    open_state(session);
    return session;
}

static void drop_pending(Session *session) {
    for (int i = 0; i < session->pending_count; i++) {
        mem_free(session->pending[i].name);
        mem_free(session->pending[i].value);
    }
    session->pending_count = 0;
}

void session_free(Session *session) {
    if (!session)
        return;
    close_state(session);
    diag_list_free(&session->errors);
    drop_pending(session);
    text_free(&session->replaced);
    mem_free(session->pending);
    mem_free(session->folder);
    mem_free(session->shelf);
    mem_free(session);
}

void session_forget(Session *session) {
    close_state(session);
    diag_list_free(&session->errors);
    session->reported = 0;
    open_state(session);
    session->report->listener = session->on_item;
    session->report->listener_context = session->item_context;
    session->report->passing = session->passing;
}

/* ---- errors and statuses ---- */

static SessionStatus status_of(const Diag *diag) {
    if (diag->id == MSG_INTERRUPTED)
        return SESSION_INTERRUPTED;
    switch (message_class(diag->id)) {
    case CLASS_LIMIT:
        return SESSION_LIMIT;
    case CLASS_USAGE:
        return SESSION_USAGE;
    case CLASS_FILE:
        return SESSION_FILE;
    case CLASS_NOTE:
        return SESSION_OK;
    case CLASS_SYNTAX:
    case CLASS_NAME:
    case CLASS_SCRIPT:
    case CLASS_KIND:
    case CLASS_EXPECT:
    case CLASS_WORDS:
        break;
    }
    return SESSION_FAILED;
}

/* With several causes a limit goes before a failure. */
static SessionStatus worst_status(const Session *session) {
    SessionStatus worst = SESSION_OK;
    for (int i = 0; i < session->errors.count; i++) {
        SessionStatus status = status_of(session->errors.items[i]);
        if (status == SESSION_LIMIT || status == SESSION_INTERRUPTED)
            return status;
        if (worst == SESSION_OK || (status != SESSION_FAILED && status != SESSION_OK))
            worst = status;
    }
    return worst;
}

/* An interruption is for the run under way; one that comes before it began stops it at its first look. */
static SessionStatus finish(Session *session) {
    session->interrupted = 0;
    tell_errors(session);
    return worst_status(session);
}

static void open_report(Session *session) {
    report_free(session->report);
    session->report = report_new();
    session->report->listener = session->on_item;
    session->report->listener_context = session->item_context;
    session->report->passing = session->passing;
    session->vm->report = session->report;
}

static void begin(Session *session) {
    diag_list_free(&session->errors);
    session->reported = 0;
    open_report(session);
}

/* ---- files and inputs ---- */

Source *session_read_file(Session *session, const char *name) {
    size_t length;
    MessageId why;
    char *detail, real[PATH_MAX];
    char *text = loader_read_file(name, false, &length, &why, &detail);
    if (!text) {
        diag_add(&session->errors, why, NULL, (Span){0, 0}, ARGS(name, detail ? detail : ""));
        tell_errors(session);
        mem_free(detail);
        return NULL;
    }
    bool is_file = strcmp(name, "-") != 0 && realpath(name, real);
    Source *source = source_new(name, is_file ? real : NULL, text, length);
    mem_free(text);
    return source;
}

void session_set_input(Session *session, const char *name, const char *value) {
    MEM_GROW(session->pending, session->pending_count, session->pending_capacity);
    Text composed = {0};
    text_add_composed(&composed, name, strlen(name));
    session->pending[session->pending_count++] =
        (PendingInput){.name = text_take(&composed), .value = mem_copy_string(value)};
}

void session_hint_set(Session *session, bool by_set) {
    session->by_set = by_set;
}

static bool is_input(const Program *program, const char *name) {
    for (int i = 0; i < program->block.count; i++) {
        const Statement *s = program->block.items[i];
        if (s->type == STATEMENT_INPUT && strcmp(s->as.input.name, name) == 0)
            return true;
    }
    return false;
}

/* "there is no input called bach": names the inputs there are. */
static void unknown_input(Session *session, const Program *program, const char *name) {
    Text all = {0};
    const char *best = NULL;
    int distance = 99, count = 0;
    for (int i = 0; i < program->block.count; i++) {
        const Statement *s = program->block.items[i];
        if (s->type != STATEMENT_INPUT)
            continue;
        text_nearest(name, s->as.input.name, &best, &distance);
        text_add_string(&all, count++ ? ", " : "");
        text_add_string(&all, s->as.input.name);
    }
    Diag *diag = diag_add(&session->errors, MSG_INPUT_UNKNOWN, NULL, (Span){0, 0}, ARGS(name));
    if (best)
        diag_hint(diag, HINT_MEANT_INPUT, ARGS(best, text_string(&all)));
    else if (count)
        diag_hint(diag, HINT_INPUTS, ARGS(text_string(&all)));
    else
        diag_hint(diag, HINT_NO_INPUTS, NO_ARGS);
    text_free(&all);
}

/* Reads a VALUE as the literal it should be. */
static InputOverride read_override(Session *session, const PendingInput *pending) {
    InputOverride override = {.name = mem_copy_string(pending->name),
                              .text = mem_copy_string(pending->value)};
    Literal literal = {.value = value_none()};
    override.is_literal = literal_read(session->registry, session->script, pending->value,
                                       strlen(pending->value), &literal, &override.why);
    override.value = override.is_literal ? literal.value : value_none();
    override.uncertainty = override.is_literal ? literal.uncertainty : 0;
    session->registry->has_sources = session->registry->has_sources || override.uncertainty > 0;
    return override;
}

static bool set_overrides(Session *session, const Program *program) {
    bool known = true;
    Vm *vm = session->vm;
    vm_drop_overrides(vm); /* of an earlier run */
    vm->by_set = session->by_set;
    vm->overrides = mem_array((size_t)session->pending_count + 1, sizeof *vm->overrides);
    for (int i = 0; i < session->pending_count; i++) {
        const PendingInput *pending = &session->pending[i];
        bool twice = false;
        for (int j = 0; j < i; j++)
            twice = twice || strcmp(session->pending[j].name, pending->name) == 0;
        if (!is_input(program, pending->name)) {
            unknown_input(session, program, pending->name);
            known = false;
        } else if (twice) {
            diag_add(&session->errors, MSG_INPUT_SET_TWICE, NULL, (Span){0, 0}, ARGS(pending->name));
            known = false;
        } else {
            vm->overrides[vm->override_count++] = read_override(session, pending);
        }
    }
    drop_pending(session);
    return known;
}

bool session_read_date(const char *text, double *days, Fault *why) {
    return literal_read_date(text, strlen(text), days, why);
}

/* ---- running ---- */

/* The library's own values are computed before the script that needs them. */
static bool run_libraries(Session *session) {
    for (int i = 0; i < session->registry->module_count; i++) {
        Module *module = session->registry->modules[i];
        if (module->library && module->main && !module->has_run && !vm_run_module(session->vm, module))
            return false;
    }
    return true;
}

static void take_error(Session *session) {
    if (session->vm->error) {
        limits_tell_raise(session->vm->error, session->options.limit_option);
        diag_list_push(&session->errors, session->vm->error);
    }
    session->vm->error = NULL;
}

bool session_run_once(Session *session) {
    if (session->vm->recorder && !worlds_are_moved(session->vm->worlds))
        recorder_clear(session->vm->recorder);
    return vm_run_module(session->vm, session->script);
}

static bool run_with_libraries(Session *session, bool keep) {
    vm_start(session->vm);
    if (!run_libraries(session))
        return false;
    return session->registry->has_sources ? worlds_run(session, keep) : session_run_once(session);
}

static void run_main(Session *session) {
    session->did_run = true;
    if (!run_with_libraries(session, false))
        take_error(session);
    report_finish(session->report);
    if (session->natives.today_used) {
        char name[] = "today()"; /* report_input copies it */
        InputResult today = {.name = name,
                             .value = value_reading(session->natives.today, UNIT_DATE),
                             .set = session->options.has_today,
                             .initial = value_none(),
                             .from = value_none(),
                             .choices = value_none(),
                             .to = value_none()};
        report_input(session->report, &today);
    }
}

MarksOf session_marks(const Session *session) {
    return session->options.working > 1 ? MARKS_ALL : session->options.working ? MARKS_OWN : MARKS_NONE;
}

/* Parses a script into session->script and compiles it. After errors of syntax, names would be missed that a
 * faulty statement declares: without `others` nothing is compiled and the result is NULL; with `others` it is
 * compiled all the same, its errors go there, and the result is never NULL. */
static Program *compile_script(Session *session, Source *source, CompileOptions options, DiagList *others,
                               bool *parsed) {
    begin(session);
    session->did_run = false;
    mem_free(session->read_folder);
    session->read_folder = loader_folder_of(source->path, session->folder);
    session->natives.folder = session->read_folder;
    session->script = module_new(source, others && loader_is_library(source));
    registry_add_module(session->registry, session->script);
    session->script->loading = true;
    ModuleScope scope = {.session = session, .module = session->script};
    ParseHost parse_host = loader_parse_host(&scope);
    CompileHost compile_host = loader_compile_host(&scope);
    Program *program;
    *parsed = parse_program(source, &parse_host, &session->errors, &program) == PARSE_OK;
    *parsed = *parsed && session->errors.count == 0;
    if (*parsed || others)
        compile_program(session->registry, session->script, program, &compile_host, options,
                        *parsed ? &session->errors : others);
    session->script->loading = false;
    if (*parsed || others)
        return program;
    program_free(program);
    return NULL;
}

/* The same for a run. NULL after any errors. */
static Program *prepare(Session *session, Source *source, CompileOptions options) {
    bool parsed;
    Program *program = compile_script(session, source, options, NULL, &parsed);
    if (session->errors.count == 0)
        return program;
    program_free(program);
    return NULL;
}

SessionStatus session_run(Session *session, Source *source) {
    Program *program = prepare(session, source, (CompileOptions){.marks = session_marks(session)});
    if (session->options.working && !session->vm->recorder)
        session->vm->recorder = recorder_new();
    if (program && set_overrides(session, program))
        run_main(session);
    if (session->options.working)
        session_add_working(session);
    program_free(program);
    return finish(session);
}

SessionStatus session_run_trials(Session *session, Source *source, long trials, uint64_t seed) {
    session->trials = trials;
    session->seed = seed;
    SessionStatus status = session_run(session, source);
    session->trials = 0;
    return status;
}

bool session_did_run(const Session *session) {
    return session->did_run;
}

int session_source_count(const Session *session) {
    return session->vm->worlds->source_count;
}

SourceShare session_source_share(const Session *session, int number, int source) {
    const Worlds *worlds = session->vm->worlds;
    const WorldSource *found = &worlds->sources[source];
    SourceShare share = {.name = found->name, .value = found->value, .uncertainty = found->uncertainty};
    if (worlds->shares && number >= 0 && number < worlds->central.count)
        share.contribution = worlds->shares[(size_t)number * (size_t)worlds->source_count + (size_t)source];
    return share;
}

static int compare_places(const void *a, const void *b) {
    const Diag *left = *(Diag *const *)a, *right = *(Diag *const *)b;
    if (left->span.start != right->span.start)
        return left->span.start < right->span.start ? -1 : 1;
    return left->span.end < right->span.end ? -1 : left->span.end > right->span.end;
}

/* Errors of names and of kinds, line after line. Those of other files come by `use`, and nothing after them.
 */
static void sort_errors(DiagList *errors, const Source *source) {
    for (int i = 0; i < errors->count; i++)
        if (errors->items[i]->source != source)
            return;
    if (errors->count > 1)
        qsort(errors->items, (size_t)errors->count, sizeof *errors->items, compare_places);
}

/* Does the text hold `let NAME`, `formula NAME` and the like, or `NAME =`? Then a statement that could not be
 * read may be the one that declares it. */
static bool may_be_declared(const Source *source, const char *name, size_t length) {
    for (const char *at = source->text; (at = strstr(at, name)) != NULL; at += length) {
        const char *end = at + length, *start = at;
        while (*end == ' ')
            end++;
        if (end[0] == '=' && end[1] != '=')
            return true;
        while (start > source->text && start[-1] == ' ')
            start--;
        if (start == source->text || strchr(",(\n", start[-1]))
            return true; /* a second unknown, a parameter, `f(x) = …` */
        const Word *word;
        for (int i = 0; (word = word_at(i)); i++) {
            size_t width = strlen(word->text);
            bool fits = (word->traits & TRAIT_DECLARES) && (size_t)(start - source->text) >= width;
            if (fits && strncmp(start - width, word->text, width) == 0)
                return true;
        }
    }
    return false;
}

/* Beside mistakes of form only those errors of names and arguments are reported that cannot follow from them.
 */
static bool stands_alone(const Source *source, const Diag *diag) {
    if (diag->source != source)
        return false;
    char *name = mem_copy(source->text + diag->span.start, diag->span.end - diag->span.start);
    bool alone = false;
    switch ((int)diag->id) {
    case MSG_UNKNOWN_VALUE:
    case MSG_UNKNOWN_FORMULA:
        alone = *name && !may_be_declared(source, name, strlen(name));
        break;
    case MSG_TOO_MANY_ARGUMENTS:
    case MSG_MISSING_ARGUMENT:
    case MSG_ARGUMENT_TWICE:
    case MSG_UNKNOWN_LABEL:
        alone = true;
        break;
    default:
        break;
    }
    mem_free(name);
    return alone;
}

static void take_errors_that_stand_alone(Session *session, const Source *source, DiagList *others) {
    for (int i = 0; i < others->count; i++) {
        if (stands_alone(source, others->items[i]))
            diag_list_push(&session->errors, others->items[i]);
        else
            diag_free(others->items[i]);
    }
    others->count = 0;
    diag_list_free(others);
}

SessionStatus session_check(Session *session, Source *source) {
    DiagList others = {0};
    bool parsed;
    Program *program = compile_script(session, source, (CompileOptions){0}, &others, &parsed);
    ModuleScope scope = {.session = session, .module = session->script};
    CompileHost host = loader_compile_host(&scope);
    bool named = session->errors.count == 0;
    if (parsed)
        check_kinds(session->registry, session->script, program, &host, &session->errors);
    if (parsed && named) /* beside names that are not known, what reads what is not known either */
        check_flow(session->registry, program, source, &host, loader_is_library(source), &session->errors);
    if (parsed)
        check_choices(program, source, &session->errors);
    take_errors_that_stand_alone(session, source, &others);
    sort_errors(&session->errors, source);
    program_free(program);
    return finish(session);
}

SessionStatus session_list_inputs(Session *session, Source *source) {
    Program *program = prepare(session, source, (CompileOptions){.inputs_only = true});
    if (program) {
        session->report->muted++;
        run_main(session);
        session->report->muted--;
    }
    program_free(program);
    return finish(session);
}

/* ---- the prompt ---- */

void session_open_prompt(Session *session) {
    if (session->script)
        return;
    Source *nothing = source_new("prompt", NULL, "", 0);
    session->script = module_new(nothing, false);
    source_release(nothing);
    registry_add_module(session->registry, session->script);
}

bool session_is_one_expression(const Program *program) {
    return program->block.count == 1 && program->block.items[0]->type == STATEMENT_EXPRESSION;
}

/* False after errors: nothing of it holds. */
static bool run_entry(Session *session, const Program *program, bool typed) {
    ModuleScope scope = {.session = session, .module = session->script};
    CompileHost host = loader_compile_host(&scope);
    CompileOptions options = {.prompt = true,
                              .show_found = typed,
                              .earlier_formulas = entry_earlier(session, session->script, true)};
    bool compiled =
        compile_program(session->registry, session->script, program, &host, options, &session->errors);
    if (!compiled || !set_overrides(session, program))
        return false;
    bool ran = run_with_libraries(session, true);
    if (!ran)
        take_error(session);
    vm_drop_overrides(session->vm);
    report_finish(session->report);
    if (!ran)
        return false;
    session_note_inputs(session, program);
    entry_note_replaced(session, program);
    return true;
}

/* The entries of a session are one run: what the library cautioned of stays said. */
static void begin_entry(Session *session) {
    Report *earlier = session->report;
    session->report = NULL;
    begin(session);
    report_keep_said(session->report, earlier);
    report_free(earlier);
}

static SessionStatus enter(Session *session, Source *source, bool only_expression) {
    session_open_prompt(session);
    begin_entry(session);
    entry_begin(session);
    source_release(session->script->source);
    session->script->source = source_keep(source);
    ModuleScope scope = {.session = session, .module = session->script};
    ParseHost host = loader_parse_host(&scope);
    Program *program;
    ParseStatus status = parse_program(source, &host, &session->errors, &program);
    if (status == PARSE_UNFINISHED && !only_expression) {
        program_free(program);
        entry_end(session, false);
        diag_list_free(&session->errors);
        return SESSION_UNFINISHED;
    }
    if (status == PARSE_OK && only_expression && !session_is_one_expression(program))
        diag_add(&session->errors, MSG_EXPRESSION_WANTED, source, (Span){0, (uint32_t)source->length},
                 NO_ARGS);
    bool holds = status == PARSE_OK && session->errors.count == 0;
    if (holds)
        holds = run_entry(session, program, !source->path);
    entry_end(session, holds && !session->trying);
    drop_pending(session);
    program_free(program);
    return finish(session);
}

static SessionStatus enter_text(Session *session, const char *text, bool only_expression) {
    Source *source = source_new("prompt", NULL, text, strlen(text));
    SessionStatus status = enter(session, source, only_expression);
    source_release(source);
    return status;
}

SessionStatus session_enter(Session *session, const char *text) {
    return enter_text(session, text, false);
}

SessionStatus session_enter_source(Session *session, Source *source) {
    return enter(session, source, false);
}

SessionStatus session_show_expression(Session *session, const char *text) {
    return enter_text(session, text, true);
}

/* What was said meanwhile was not told: it is to be said when it comes up. */
SessionStatus session_try_expression(Session *session, const char *text) {
    Report *said = report_new();
    report_keep_said(said, session->report);
    session->trying = true;
    SessionStatus status = enter_text(session, text, true);
    session->trying = false;
    open_report(session);
    report_keep_said(session->report, said);
    report_free(said);
    return status;
}

bool session_working_is_cut(const Session *session) {
    return session->vm->recorder && session->vm->recorder->full;
}

bool session_entry_holds(const Session *session) {
    return session->entry_holds;
}

const char *session_replaced(const Session *session) {
    return text_string(&session->replaced);
}

/* ---- what others may see ---- */

Report *session_report(Session *session) {
    return session->report;
}

void session_listen(Session *session, void (*listener)(void *context, const Item *item), void *context) {
    session->on_item = listener;
    session->item_context = context;
    session->report->listener = listener;
    session->report->listener_context = context;
}

void session_pass_items(Session *session) {
    session->passing = true;
    session->report->passing = true;
}

const DiagList *session_errors(const Session *session) {
    return &session->errors;
}

void session_on_error(Session *session, void (*listener)(void *context, const Diag *diag), void *context) {
    session->on_error = listener;
    session->error_context = context;
}

void session_on_expect(Session *session,
                       void (*listener)(void *context, const char *source_line, bool passed,
                                        const Diag *diag),
                       void *context) {
    session->on_expect = listener;
    session->expect_context = context;
}

const UnitTable *session_units(const Session *session) {
    return session->registry->units;
}

void session_interrupt(Session *session) {
    session->interrupted = 1;
}

const SessionLimits *session_limits(const Session *session) {
    return &session->options.limits;
}

void session_limit_error(Session *session, MessageId id, const char *amount) {
    limits_tell_raise(diag_add(&session->errors, id, NULL, (Span){0, 0}, ARGS(amount)),
                      session->options.limit_option);
    tell_errors(session);
}
