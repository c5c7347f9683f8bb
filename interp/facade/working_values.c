/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The values in an expression: what was read is put in place of names, and the text is worked out again,
 * until the digits that are printed give the result that is printed. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "facade/working_state.h"

/* ---- texts ---- */

char *working_source(const Record *record, Span span) {
    Text out = {0};
    source_add_part(&out, record->chunk->source->text, span, span);
    while (out.length && out.bytes[out.length - 1] == ' ')
        out.bytes[--out.length] = '\0';
    return text_take(&out);
}

enum { ITEMS_SHOWN = 3 };

/* `[1 L, 2 L, 3 L, … 9 more]` */
static void add_list_start(Text *out, const UnitTable *units, const ListObject *list, FormatSpec format) {
    text_add_char(out, '[');
    for (uint32_t i = 0; i < ITEMS_SHOWN; i++) {
        display_value(out, units, list->items[i], format);
        text_add_string(out, ", ");
    }
    char *more = message_take(PHRASE_MORE_ITEMS, ARGS(arg_whole((long long)list->count - ITEMS_SHOWN)));
    text_add_string(out, more);
    text_add_char(out, ']');
    mem_free(more);
}

char *working_value(const WorkingBuilder *b, Value value, FormatSpec format) {
    Text out = {0};
    const UnitTable *units = b->session->registry->units;
    if (value.tag == TAG_LIST && value.as.list->count > ITEMS_SHOWN + 1)
        add_list_start(&out, units, value.as.list, format);
    else if (value.tag == TAG_LIST || value.tag == TAG_RECORD || value.tag == TAG_TEXT)
        display_brief(&out, units, value, false);
    else
        display_value(&out, units, value, format);
    return text_take(&out);
}

char *working_literal(const WorkingBuilder *b, Value value) {
    Text out = {0};
    if (value.tag == TAG_TEXT)
        display_brief(&out, b->session->registry->units, value, true);
    else
        display_value(&out, b->session->registry->units, value, (FormatSpec){0});
    return text_take(&out);
}

bool working_is_literal(const char *text) {
    size_t sign = text[0] == '-', number = sign + strspn(text + sign, "0123456789._"), length = strlen(text);
    if (strcmp(text, "true") == 0 || strcmp(text, "false") == 0 || strcmp(text, "none") == 0)
        return true;
    if (text[0] == '"')
        return length > 1 && strcspn(text + 1, "\"{\\") == length - 2;
    if (number == sign || text[sign] < '0' || text[sign] > '9')
        return false;
    return !text[number] || (text[number] == '%' && !text[number + 1]) ||
           (text[number] == ' ' && !strpbrk(text + number + 1, " *+([-"));
}

/* ---- computing what was written ---- */

/* A name that stays a name, since its value cannot be written: a liquid, a list. */
typedef struct Binding {
    const char *name;
    Value value;
} Binding;

static void add_missing(NameMap *map, const NameMap *more) {
    int at = 0, value;
    const char *name;
    while ((name = name_map_next(more, &at, &value)))
        if (!name_map_get(map, name, &(int){0}))
            name_map_set(map, name, value);
}

/* What another script declares that is not known yet: steps within its formulas are written in its words. */
static void bring_in(Module *abacus, const Module *module) {
    add_missing(&abacus->units, &module->units);
    add_missing(&abacus->formulas, &module->formulas);
    add_missing(&abacus->aliases, &module->aliases);
}

/* An empty module that knows what the script does. */
static Module *open_abacus(Session *session) {
    if (!session->abacus) {
        Source *nothing = source_new("working", NULL, "", 0);
        session->abacus = module_new(nothing, false);
        source_release(nothing);
        name_map_free(&session->abacus->units);
        name_map_free(&session->abacus->formulas);
        name_map_free(&session->abacus->aliases);
        session->abacus->units = name_map_copy(&session->script->units);
        session->abacus->formulas = name_map_copy(&session->script->formulas);
        session->abacus->aliases = name_map_copy(&session->script->aliases);
        registry_add_module(session->registry, session->abacus);
        for (int i = 0; i < session->registry->module_count; i++)
            if (!session->registry->modules[i]->library)
                bring_in(session->abacus, session->registry->modules[i]);
    }
    return session->abacus;
}

static void bind(Session *session, const Binding *binding) {
    Module *abacus = session->abacus;
    Registry *registry = session->registry;
    int slot;
    if (!name_map_get(&abacus->globals, binding->name, &slot))
        slot = registry_add_global(registry, abacus, binding->name, GLOBAL_LET, (Span){0, 0});
    registry->globals[slot].declared = registry->globals[slot].earlier = true;
    registry->global_values[slot] = binding->value;
}

void working_bind_globals(const WorkingBuilder *b) {
    const Session *session = b->session;
    int at = 0, slot;
    const char *name;
    open_abacus(b->session);
    while ((name = name_map_next(&session->script->globals, &at, &slot)))
        bind(b->session, &(Binding){name, session->registry->global_values[slot]});
}

static bool run_abacus(Session *session, Source *source) {
    ModuleScope scope = {.session = session, .module = session->abacus};
    ParseHost parse_host = loader_parse_host(&scope);
    CompileHost compile_host = loader_compile_host(&scope);
    CompileOptions options = {.prompt = true, .earlier_formulas = session->registry->formula_count};
    DiagList errors = {0};
    Program *program;
    bool good = parse_program(source, &parse_host, &errors, &program) == PARSE_OK && errors.count == 0 &&
                session_is_one_expression(program) &&
                compile_program(session->registry, session->abacus, program, &compile_host, options, &errors);
    session->abacus->has_run = false;
    good = good && vm_run_module(session->vm, session->abacus);
    session->abacus_over = session->abacus_over || vm_error_is_final(session->vm);
    vm_drop_error(session->vm);
    program_free(program);
    diag_list_free(&errors);
    return good;
}

/* The value of an expression, worked out anew from its text. False when it cannot be. */
static bool compute(Session *session, const char *text, Value *result) {
    if (session->abacus_over)
        return false;
    Vm *vm = session->vm;
    text += text[0] == '+'; /* a line that begins with it would go on from the one before */
    Source *source = source_new("working", NULL, text, strlen(text));
    int slot;
    open_abacus(session);
    source_release(session->abacus->source);
    session->abacus->source = source_keep(source);
    vm->recorder->paused = true;
    vm->report->muted++;
    bool good = run_abacus(session, source);
    vm->report->muted--;
    vm->recorder->paused = false;
    source_release(source);
    good = good && name_map_get(&session->abacus->globals, "it", &slot);
    if (good)
        *result = session->registry->global_values[slot];
    return good;
}

/* Two values as they print, with the same ±; NULL for none. */
static bool print_alike(const WorkingBuilder *b, Value wanted, Value got, FormatSpec format,
                        const double *spreads) {
    const UnitTable *units = b->session->registry->units;
    Text left = {0}, right = {0};
    display_value_spread(&left, units, wanted, format, spreads);
    display_value_spread(&right, units, got, format, wanted.tag == got.tag ? spreads : NULL);
    bool same = strcmp(text_string(&left), text_string(&right)) == 0;
    text_free(&left);
    text_free(&right);
    return same;
}

bool working_gives(const WorkingBuilder *b, const char *text, Value value) {
    Value redone;
    return compute(b->session, text, &redone) && print_alike(b, value, redone, (FormatSpec){0}, NULL);
}

/* ---- the values in an expression ---- */

typedef struct Replacement {
    Span span;
    Span branch;      /* of a choice: what stands for all of it; empty for others */
    const char *name; /* what is there, where it is a name alone; else NULL */
    Value value;
    bool unclear; /* read more than once, with other values: it stays as it is written */
} Replacement;

typedef struct Replacements {
    Replacement *items;
    int count, capacity;
} Replacements;

enum { TEXT_WRITTEN_MOST = 60 };

static bool is_written_out(Value value) {
    if (value.tag == TAG_TEXT && value.as.text->length > TEXT_WRITTEN_MOST)
        return false;
    return value.tag == TAG_AMOUNT || value.tag == TAG_READING || value.tag == TAG_TRUTH ||
           value.tag == TAG_TEXT || value.tag == TAG_NONE;
}

/* Both equal, or both the same object. */
static bool same_value(Value a, Value b) {
    if (a.tag != b.tag || a.unit != b.unit)
        return false;
    return value_is_quantity(a) ? !(a.as.number < b.as.number) && !(a.as.number > b.as.number)
                                : value_is_object(a) && a.as.object == b.as.object;
}

/* Wider spans come first where two begin together. */
static int compare_spans(const void *a, const void *b) {
    const Span *left = &((const Replacement *)a)->span, *right = &((const Replacement *)b)->span;
    if (left->start != right->start)
        return left->start < right->start ? -1 : 1;
    return left->end > right->end ? -1 : left->end < right->end;
}

/* A call stays a call when it is all there is, and so does a field. */
static bool is_replaced(const Record *record, const Mark *mark, int depth, Span whole) {
    bool read = mark->role == MARK_READ || (mark->role == MARK_CALL && record->phase == MARK_DONE);
    bool all = mark->span.start == whole.start && mark->span.end == whole.end;
    bool within = span_holds(whole, mark->span);
    bool alone = mark->role == MARK_READ && mark->name; /* a name */
    if (mark->role != MARK_TAKEN && mark->whole.end && span_holds(whole, mark->whole))
        return false; /* it has other values by turns */
    if (mark->role == MARK_TAKEN)
        return record->depth == depth && span_holds(whole, mark->whole);
    return record->depth == depth && read && within && (alone || !all) && !record->beside;
}

static void collect(const WorkingBuilder *b, int32_t from, int32_t to, Span whole, Replacements *found) {
    int depth = working_record(b, to)->depth;
    for (int32_t i = from + 1; i < to; i++) {
        const Record *record = working_record(b, i);
        const Mark *mark = recorder_mark_of(record);
        bool named = mark->role == MARK_READ && mark->name, taken = mark->role == MARK_TAKEN;
        if (!is_replaced(record, mark, depth, whole) || !(named || taken || is_written_out(record->value)))
            continue;
        Value redone =
            named && record->definer >= 0 ? working_record(b, record->definer)->redone : value_absent();
        MEM_GROW(found->items, found->count, found->capacity);
        found->items[found->count++] =
            (Replacement){.span = taken ? mark->whole : mark->span,
                          .branch = taken ? mark->span : (Span){0, 0},
                          .value = redone.tag == TAG_ABSENT ? record->value : redone,
                          .name = named ? mark->name : NULL};
    }
    if (found->count)
        qsort(found->items, (size_t)found->count, sizeof *found->items, compare_spans);
    for (int i = 1; i < found->count; i++) {
        Replacement *before = &found->items[i - 1], *item = &found->items[i];
        bool again = before->span.start == item->span.start && before->span.end == item->span.end;
        item->unclear = again && (before->unclear || !same_value(before->value, item->value) ||
                                  before->branch.start != item->branch.start);
        before->unclear = before->unclear || item->unclear;
    }
}

typedef struct Writing {
    const WorkingBuilder *b;
    const Record *record;
    const Replacements *values;
    int digits;
} Writing;

/* Is there a ^ after it? */
static bool is_raised(const Writing *w, uint32_t at) {
    const char *text = w->record->chunk->source->text;
    return text[at + strspn(text + at, " \t")] == '^';
}

static void put_values(const Writing *w, Span part, int from, Text *out);

/* The branch of a choice that was taken, in brackets where it is a part of something and not in brackets yet.
 */
static void put_branch(const Writing *w, const Replacement *item, Span part, int from, Text *out) {
    const char *text = w->record->chunk->source->text;
    bool alone = item->span.start == part.start && item->span.end == part.end;
    bool plain = !memchr(text + item->branch.start, ' ', item->branch.end - item->branch.start);
    bool bracketed = item->span.start > part.start && strchr("([,", text[item->span.start - 1]) &&
                     strchr(")],", text[item->span.end]);
    bool adds = !alone && !plain && !bracketed;
    text_add_string(out, adds ? "(" : "");
    put_values(w, item->branch, from, out);
    text_add_string(out, adds ? ")" : "");
}

/* A part of the expression; of a choice only the branch that was taken. */
static void put_values(const Writing *w, Span part, int from, Text *out) {
    const char *text = w->record->chunk->source->text;
    uint32_t at = part.start;
    for (int i = from; i < w->values->count; i++) {
        const Replacement *item = &w->values->items[i];
        bool choice = item->branch.end > 0;
        if (item->span.start < at || item->span.end > part.end || item->unclear ||
            (!choice && !is_written_out(item->value)))
            continue;
        source_add_part(out, text, recorder_mark_of(w->record)->span, (Span){at, item->span.start});
        if (choice)
            put_branch(w, item, part, i + 1, out);
        else
            display_operand(out, w->b->session->registry->units, item->value, w->digits,
                            is_raised(w, item->span.end));
        at = item->span.end;
    }
    if (at < part.end)
        source_add_part(out, text, recorder_mark_of(w->record)->span, (Span){at, part.end});
}

static char *with_values(const Writing *w) {
    Text out = {0};
    put_values(w, recorder_mark_of(w->record)->span, 0, &out);
    return text_take(&out);
}

static void bind_names(const WorkingBuilder *b, const Replacements *values) {
    open_abacus(b->session);
    for (int i = 0; i < values->count; i++) {
        const Replacement *item = &values->items[i];
        if (item->name && !is_written_out(item->value))
            bind(b->session, &(Binding){item->name, item->value});
    }
}

/* Of a liquid, which later steps read more closely than it shows: 7 digits. */
enum { LIQUID_DIGITS = 3, DIGITS_MOST = 15 };

/* Where no digits give what is printed, is it at least the same but for rounding? */
static bool is_near(Value a, Value b) {
    const double close = 1e-6;
    return value_is_quantity(a) && value_is_quantity(b) && a.unit == b.unit &&
           fabs(a.as.number - b.as.number) <= close * fabs(a.as.number);
}

/* Does the expression give the value with so many digits? Its text, or NULL. */
static char *text_that_gives(Writing *writing, Value value, int digits, Value *redone, WorkingStep *step) {
    const WorkingBuilder *b = writing->b;
    FormatSpec format = recorder_mark_of(writing->record)->format;
    bool shown = b->shown && (writing->record == working_record(b, b->shown_at) ||
                              writing->record == working_record(b, b->result_at));
    writing->digits = digits;
    char *text = with_values(writing);
    bool computed = compute(b->session, text, redone);
    if (computed &&
        print_alike(b, value, *redone, format, shown && !b->session->trials ? b->shown->spreads : NULL))
        return text;
    step->rounded = digits == DIGITS_MOST && computed && is_near(value, *redone);
    if (step->rounded)
        return text;
    mem_free(text);
    return NULL;
}

/* With as few digits as it takes. What does not come out with the most of them is left out, as a calculation
 * that takes long is not tried over and over. */
static char *shortest_text(Writing *writing, Value value, WorkingStep *step, Value *redone) {
    static const int digits[] = {0, 5, 6, 7, 8, 10, 12};
    char *exact = text_that_gives(writing, value, DIGITS_MOST, redone, step);
    Record *record = &writing->b->recorder->items[writing->record - writing->b->recorder->items];
    if (!exact || step->rounded || !writing->values->count)
        return exact;
    record->redone = *redone; /* so that it stays while others are worked out */
    for (size_t i = value.tag == TAG_LIQUID ? LIQUID_DIGITS : 0; i < sizeof digits / sizeof *digits; i++) {
        Value closer;
        char *text = text_that_gives(writing, value, digits[i], &closer, step);
        if (!text)
            continue;
        mem_free(exact);
        *redone = closer;
        return text;
    }
    return exact;
}

/* The values of the script that the formulas called between two records read, as they were then. */
typedef struct Earlier {
    int32_t *slots;
    int count, capacity;
} Earlier;

/* Under a name that no script can have, so that a collection does not take it. */
static void put_aside(Session *session, int number, Value value) {
    Text name = {0};
    text_add_char(&name, ' ');
    text_add_integer(&name, number);
    bind(session, &(Binding){text_string(&name), value});
    text_free(&name);
}

static Value put_back(const Session *session, int number) {
    Text name = {0};
    int slot = 0;
    text_add_char(&name, ' ');
    text_add_integer(&name, number);
    name_map_get(&session->abacus->globals, text_string(&name), &slot);
    text_free(&name);
    return session->registry->global_values[slot];
}

static void go_back(const WorkingBuilder *b, int32_t from, int32_t to, Earlier *earlier) {
    int depth = working_record(b, to)->depth;
    for (int32_t i = from + 1; i < to; i++) {
        const Record *record = working_record(b, i);
        const Mark *mark = recorder_mark_of(record);
        bool known = mark->role != MARK_READ || mark->global < 0 || record->depth <= depth;
        for (int k = 0; k < earlier->count && !known; k++)
            known = earlier->slots[k] == mark->global;
        if (known)
            continue;
        put_aside(b->session, earlier->count, b->session->registry->global_values[mark->global]);
        MEM_GROW(earlier->slots, earlier->count, earlier->capacity);
        earlier->slots[earlier->count++] = mark->global;
        b->session->registry->global_values[mark->global] = record->value;
    }
}

static void go_forward(const WorkingBuilder *b, const Earlier *earlier) {
    for (int k = 0; k < earlier->count; k++)
        b->session->registry->global_values[earlier->slots[k]] = put_back(b->session, k);
    mem_free(earlier->slots);
}

void working_fill_values(const WorkingBuilder *b, int32_t from, int32_t to, WorkingStep *step) {
    Record *record = &b->recorder->items[to];
    const Mark *mark = recorder_mark_of(record);
    Replacements values = {0};
    Writing writing = {.b = b, .record = record, .values = &values};
    Value redone = value_absent(), value = record->value;
    if (step->expression[0] == '"' || step->expression[0] == '\'') /* a text needs no numbers */
        return;
    if (mark->role == MARK_CONDITION)
        value = value_truth(record->phase == MARK_HELD);
    collect(b, from, to, mark->span, &values);
    bool name = values.count == 1 && values.items[0].name && values.items[0].span.start == mark->span.start &&
                values.items[0].span.end == mark->span.end;
    if (!name) {
        Earlier earlier = {0};
        bind_names(b, &values);
        go_back(b, from, to, &earlier);
        step->with_values = shortest_text(&writing, value, step, &redone);
        go_forward(b, &earlier);
        bool keeps = step->with_values && !step->rounded && !is_written_out(redone);
        record->redone = keeps ? redone : value_absent();
    }
    mem_free(values.items);
}
