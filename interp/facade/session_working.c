/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the record of a run (runtime/recorder.h) to the steps that led to each shown value.
 *
 * A step is a value that was given a name, or shown. What it depends on are the records that gave the names
 * it reads their values; and what those depend on; each comes once, in the order of the run. */
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "values/display.h"

typedef struct WorkingBuilder {
    Session *session;
    const Recorder *recorder;
    int levels; /* of the script's own formulas that are shown from within */
    bool *told; /* by record: its step came before */
    bool *explained; /* by formula: what it stands for was said before */
} WorkingBuilder;

static const Mark *mark_of(const Record *record) {
    return &record->chunk->marks[record->mark];
}

/* ---- texts ---- */

/* The source of a span on one line. */
static char *source_text(const Record *record, Span span) {
    Text out = {0};
    const char *text = record->chunk->source->text;
    for (uint32_t at = span.start; at < span.end; at++) {
        bool blank = strchr(" \t\r\n", text[at]) != NULL;
        if (!blank)
            text_add_char(&out, text[at]);
        else if (out.length && out.bytes[out.length - 1] != ' ')
            text_add_char(&out, ' ');
    }
    return text_take(&out);
}

/* Names of these stay names: they cannot be written in place of one. */
static bool is_written_out(Value value) {
    return value.tag == TAG_AMOUNT || value.tag == TAG_READING || value.tag == TAG_TRUTH ||
           value.tag == TAG_TEXT || value.tag == TAG_NONE;
}

static void add_value(Text *out, const Session *session, Value value, int digits) {
    FormatSpec format = {0};
    if (digits && value_is_quantity(value) && value.unit != UNIT_DATE)
        format = (FormatSpec){.mode = FORMAT_DIGITS, .count = digits};
    bool negative = value_is_quantity(value) && value.as.number < 0;
    text_add_string(out, negative ? "(" : "");
    if (value.tag == TAG_TEXT)
        display_literal(out, session->registry->units, value);
    else
        display_value(out, session->registry->units, value, format);
    text_add_string(out, negative ? ")" : "");
}


static char *text_of(const Session *session, Value value) {
    Text out = {0};
    display_value(&out, session->registry->units, value, (FormatSpec){0});
    return text_take(&out);
}

/* ---- computing what was written ---- */

/* The value of an expression as it prints, worked out anew from its text. False when it cannot be. */
static bool compute(Session *session, const char *text, char **result) {
    *result = NULL;
    if (!session->abacus) {
        Source *nothing = source_new("working", NULL, "", 0);
        session->abacus = module_new(nothing, false);
        source_release(nothing);
        name_map_free(&session->abacus->units);
        session->abacus->units = name_map_copy(&session->script->units);
        session->abacus->formulas = name_map_copy(&session->script->formulas);
        registry_add_module(session->registry, session->abacus);
    }
    Source *source = source_new("working", NULL, text, strlen(text));
    ModuleScope scope = {.session = session, .module = session->abacus};
    ParseHost host = loader_parse_host(&scope);
    CompileHost compile_host = loader_compile_host(&scope);
    DiagList errors = {0};
    Program *program;
    Vm *vm = session->vm;
    source_release(session->abacus->source);
    session->abacus->source = source_keep(source);
    bool good = parse_program(source, &host, &errors, &program) == PARSE_OK && errors.count == 0 &&
                session_is_one_expression(program) &&
                compile_program(session->registry, session->abacus, program, &compile_host,
                                (CompileOptions){.prompt = true}, &errors);
    Recorder *recorder = vm->recorder;
    vm->recorder = NULL;
    vm->report->muted++;
    worlds_begin(vm->worlds, WORLD_PLAIN);
    session->abacus->has_run = false;
    good = good && vm_run_module(vm, session->abacus);
    vm->report->muted--;
    vm->recorder = recorder;
    vm_drop_error(vm);
    int slot;
    if (good && name_map_get(&session->abacus->globals, "it", &slot))
        *result = text_of(session, session->registry->global_values[slot]);
    program_free(program);
    diag_list_free(&errors);
    source_release(source);
    return *result != NULL;
}

/* ---- the values in an expression ---- */

typedef struct Replacement {
    Span span;
    Value value;
    bool unclear; /* read more than once, with other values: it stays as it is written */
} Replacement;

typedef struct Replacements {
    Replacement *items;
    int count, capacity;
} Replacements;

static bool same_value(Value a, Value b) {
    return a.tag == b.tag && value_is_quantity(a) && a.unit == b.unit && a.as.number == b.as.number;
}

/* Wider spans come first where two begin together. */
static int compare_spans(const void *a, const void *b) {
    const Span *left = &((const Replacement *)a)->span, *right = &((const Replacement *)b)->span;
    if (left->start != right->start)
        return left->start < right->start ? -1 : 1;
    return left->end > right->end ? -1 : left->end < right->end;
}

static void collect(const WorkingBuilder *b, int32_t from, int32_t to, Span whole, Replacements *found) {
    int depth = b->recorder->items[to].depth;
    for (int32_t i = from + 1; i < to; i++) {
        const Record *record = &b->recorder->items[i];
        const Mark *mark = mark_of(record);
        bool read = mark->role == MARK_READ || (mark->role == MARK_CALL && record->phase == MARK_DONE);
        bool all = mark->span.start == whole.start && mark->span.end == whole.end;
        bool within = mark->span.start >= whole.start && mark->span.end <= whole.end;
        if (record->depth != depth || !read || !within || (all && mark->role == MARK_CALL) ||
            !is_written_out(record->value))
            continue;
        MEM_GROW(found->items, found->count, found->capacity);
        found->items[found->count++] = (Replacement){.span = mark->span, .value = record->value};
    }
    if (found->count)
        qsort(found->items, (size_t)found->count, sizeof *found->items, compare_spans);
    for (int i = 1; i < found->count; i++) {
        Replacement *before = &found->items[i - 1], *item = &found->items[i];
        bool again = before->span.start == item->span.start && before->span.end == item->span.end;
        item->unclear = again && (before->unclear || !same_value(before->value, item->value));
        before->unclear = before->unclear || item->unclear;
    }
}

static char *put_values(const WorkingBuilder *b, const Record *record, const Replacements *values, int digits) {
    Text out = {0};
    const Span whole = mark_of(record)->span;
    const char *text = record->chunk->source->text;
    uint32_t at = whole.start;
    for (int i = 0; i < values->count; i++) {
        const Replacement *item = &values->items[i];
        if (item->span.start < at || item->unclear)
            continue;
        text_add(&out, text + at, item->span.start - at);
        add_value(&out, b->session, item->value, digits);
        at = item->span.end;
    }
    text_add(&out, text + at, whole.end - at);
    return text_take(&out);
}

/* With as many digits as it takes for the values to give the result as it prints. */
static void fill_values(const WorkingBuilder *b, int32_t from, int32_t to, WorkingStep *step) {
    static const int digits[] = {0, 5, 6, 8, 10, 12, 15};
    const Record *record = &b->recorder->items[to];
    Replacements values = {0};
    collect(b, from, to, mark_of(record)->span, &values);
    bool agrees = values.count == 0, computes = true;
    if (record->value.tag == TAG_TEXT) /* how it is laid out needs no numbers */
        values.count = 0, agrees = true;
    for (size_t i = 0; i < sizeof digits / sizeof *digits && !agrees && computes; i++) {
        char *result;
        mem_free(step->with_values);
        step->with_values = put_values(b, record, &values, digits[i]);
        computes = compute(b->session, step->with_values, &result);
        agrees = computes && strcmp(result, step->value) == 0;
        mem_free(result);
    }
    if (!computes) {
        mem_free(step->with_values);
        step->with_values = put_values(b, record, &values, 0);
    }
    step->rounded = computes && !agrees;
    mem_free(values.items);
}

/* ---- formulas ---- */

/* The first sentence of its documentation, and its source. */
static void fill_about(const WorkingBuilder *b, int number, WorkingStep *step) {
    const Formula *formula = b->session->registry->formulas[number];
    if (!formula->doc || b->explained[number])
        return;
    b->explained[number] = true;
    step->formula = mem_copy_string(formula->name);
    size_t length = strcspn(formula->doc, "\n");
    const char *stop = strstr(formula->doc, ". "), *source = strstr(formula->doc, "Source: ");
    if (stop && (size_t)(stop - formula->doc) < length)
        length = (size_t)(stop - formula->doc) + 1;
    step->about = mem_copy(formula->doc, length);
    if (source)
        step->source = mem_copy(source + 8, strcspn(source + 8, "\n"));
}

/* ---- steps ---- */

typedef struct Needed {
    int32_t *items;
    int count, capacity;
} Needed;

static void need(const WorkingBuilder *b, int32_t record, Needed *needed);

/* What the records between two read; those in formulas called too. */
static void need_reads(const WorkingBuilder *b, int32_t from, int32_t to, Needed *needed) {
    for (int32_t i = from + 1; i < to; i++) {
        const Record *record = &b->recorder->items[i];
        int depth = b->recorder->items[to].depth;
        if (mark_of(record)->role != MARK_READ || record->definer < 0)
            continue;
        if (b->recorder->items[record->definer].depth <= depth)
            need(b, record->definer, needed);
    }
}

static void need(const WorkingBuilder *b, int32_t number, Needed *needed) {
    for (int i = 0; i < needed->count; i++)
        if (needed->items[i] == number)
            return;
    const Record *record = &b->recorder->items[number];
    MEM_GROW(needed->items, needed->count, needed->capacity);
    needed->items[needed->count++] = number;
    int32_t begun = record->begun;
    if (begun < 0)
        return;
    need_reads(b, begun, number, needed);
    int32_t inside = b->recorder->items[begun].inside;
    if (inside >= 0)
        need(b, inside, needed);
}

static int compare_numbers(const void *a, const void *b) {
    int32_t left = *(const int32_t *)a, right = *(const int32_t *)b;
    return left < right ? -1 : left > right;
}

static void fill_step(const WorkingBuilder *b, int32_t number, int levels, WorkingStep *step);

static void add_step(const WorkingBuilder *b, int32_t number, int levels, WorkingStep *parent, bool inside) {
    WorkingStep *step = working_add(&parent->children, &parent->child_count, &parent->child_capacity);
    step->inside = inside;
    fill_step(b, number, levels, step);
}

/* What went on inside a formula of the script: its last record is what it gave. */
static void fill_inside(const WorkingBuilder *b, int32_t from, int32_t to, int levels, WorkingStep *step) {
    int depth = b->recorder->items[to].depth + 1;
    int32_t given = to - 1;
    while (given > from && !(b->recorder->items[given].depth == depth &&
                             mark_of(&b->recorder->items[given])->role == MARK_GIVE))
        given--;
    if (given <= from || levels <= 0 || b->recorder->items[given].value.tag == TAG_TEXT)
        return;
    Needed needed = {0};
    need(b, given, &needed);
    qsort(needed.items, (size_t)needed.count, sizeof *needed.items, compare_numbers);
    for (int i = 0; i < needed.count; i++)
        if (needed.items[i] > from)
            add_step(b, needed.items[i], levels - 1, step, true);
    mem_free(needed.items);
}

/* The calls in the expression are steps of their own; the one that is all of it is the step itself. */
static void fill_calls(const WorkingBuilder *b, int32_t from, int32_t to, int levels, WorkingStep *step) {
    const Record *whole = &b->recorder->items[to];
    Span span = mark_of(whole)->span;
    for (int32_t i = from + 1; i < to; i++) {
        const Record *record = &b->recorder->items[i];
        const Mark *mark = mark_of(record);
        if (record->depth != whole->depth || mark->role != MARK_CALL || record->phase != MARK_DONE)
            continue;
        if (mark->span.start == span.start && mark->span.end == span.end) {
            fill_about(b, mark->number, step);
            fill_inside(b, record->begun, i, levels, step);
        } else {
            add_step(b, i, levels, step, false);
        }
    }
}

static void fill_step(const WorkingBuilder *b, int32_t number, int levels, WorkingStep *step) {
    const Record *record = &b->recorder->items[number];
    const Mark *mark = mark_of(record);
    step->because = mark->role == MARK_CONDITION;
    bool named = mark->role != MARK_CALL && mark->role != MARK_SHOW && mark->role != MARK_COLUMN;
    b->told[number] = true;
    step->name = named ? mem_copy_string(mark->name) : NULL;
    step->expression = source_text(record, mark->span);
    step->value = step->because ? mem_copy_string(record->phase == MARK_HELD ? "true" : "false")
                                : text_of(b->session, record->value);
    if (record->begun >= 0) {
        fill_values(b, record->begun, number, step);
        if (mark->role == MARK_CALL)
            fill_about(b, mark->number, step), fill_inside(b, record->begun, number, levels, step);
        else
            fill_calls(b, record->begun, number, levels, step);
    }
    if (step->with_values && strcmp(step->with_values, step->expression) == 0) {
        mem_free(step->with_values);
        step->with_values = NULL;
    }
}

static void build(const WorkingBuilder *b, int32_t shown, Working *working) {
    Needed needed = {0};
    const Mark *mark = mark_of(&b->recorder->items[shown]);
    working->label = mem_copy_string(mark->name);
    need(b, shown, &needed);
    qsort(needed.items, (size_t)needed.count, sizeof *needed.items, compare_numbers);
    for (int i = 0; i < needed.count; i++)
        if (!b->told[needed.items[i]])
            fill_step(b, needed.items[i], b->levels, working_add(&working->steps, &working->count, &working->capacity));
    mem_free(needed.items);
}

void session_working(Session *session, int levels, void (*visit)(void *context, const Working *working),
                     void *context) {
    const Recorder *recorder = session->vm->recorder;
    WorkingBuilder builder = {.session = session, .recorder = recorder, .levels = levels};
    if (!recorder)
        return;
    builder.told = mem_array((size_t)recorder->count + 1, sizeof(bool));
    builder.explained = mem_array((size_t)session->registry->formula_count + 1, sizeof(bool));
    for (int32_t i = 0; i < recorder->count; i++) {
        const Record *record = &recorder->items[i];
        if (mark_of(record)->role != MARK_SHOW || record->phase != MARK_DONE)
            continue;
        Working working = {0};
        build(&builder, i, &working);
        visit(context, &working);
        working_clear(&working);
    }
    mem_free(builder.told);
    mem_free(builder.explained);
}
