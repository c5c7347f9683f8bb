/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Entries of a prompt as a script.
 *
 * What is at the prompt and in a script differs in one thing: an expression alone is an error in a
 * script. So the entries are parsed together, and each such expression gets a `show` before it; where any
 * entry mentions `it`, a `let it = …` as well. What a later entry declares again is left out; where an input
 * shares its name with a value that is used before, it becomes a value. All else stays as it was typed. */
#include <string.h>

#include "base/mem.h"
#include "facade/session.h"
#include "front/parse.h"
#include "front/tree.h"
#include "values/name_map.h"

/* Units and aliases known while parsing: of scripts by name, each with the number 1. */
typedef struct Known {
    const UnitTable *units;
    NameMap own;
    NameMap aliases;
} Known;

static bool is_unit(void *context, const char *qualifier, const char *name) {
    const Known *known = context;
    UnitId id;
    return qualifier || /* it was one when it was entered */
           name_map_get_plural(&known->own, name, &(int){0}) || unit_find(known->units, name, true, &id);
}

static bool is_alias(void *context, const char *name) {
    const Known *known = context;
    return name_map_get(&known->aliases, name, &(int){0});
}

static const char *no_nearest(void *context, const char *name) {
    (void)context;
    (void)name;
    return NULL;
}

static bool take_declaration(void *context, const Statement *statement, DiagList *errors) {
    Known *known = context;
    (void)errors;
    if (statement->type == STATEMENT_UNIT)
        name_map_set(&known->own, statement->as.unit.name, 1);
    else if (statement->type == STATEMENT_USE && statement->as.use.alias)
        name_map_set(&known->aliases, statement->as.use.alias, 1);
    return true;
}

/* Units that came in by `use` are in no entry: the session knows them. */
static void take_session_unit(void *context, const NameInfo *info) {
    Known *known = context;
    if (info->kind == NAME_UNIT)
        name_map_set(&known->own, info->name, 1);
}

static bool is_word_byte(char c) {
    return c == '_' || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
           (c & 0x80);
}

/* Does `it` occur anywhere as a word? In a comment it does no harm. */
static bool speaks_of_it(const char *text) {
    for (const char *p = strstr(text, "it"); p; p = strstr(p + 1, "it"))
        if ((p == text || !is_word_byte(p[-1])) && !is_word_byte(p[2]))
            return true;
    return false;
}

/* ---- what a statement at the top declares ---- */

static const Node *initial_value(const Statement *s) {
    return s->type == STATEMENT_INPUT ? s->as.input.value : s->as.let.value;
}

/* The statement with its documentation: `##` lines above it, and a comment after it. */
static Span whole_span(const char *text, const Statement *s) {
    Span span = s->span;
    while (s->doc) {
        size_t line = span.start;
        while (line > 0 && text[line - 1] != '\n')
            line--;
        size_t above = line > 0 ? line - 1 : 0;
        while (above > 0 && text[above - 1] != '\n')
            above--;
        if (line == 0 || strncmp(text + above + strspn(text + above, " \t"), "##", 2) != 0)
            break;
        span.start = (uint32_t)above;
    }
    size_t rest = span.end + strspn(text + span.end, " \t");
    if (text[rest] == ';')
        span.end = (uint32_t)rest + 1;
    else if (text[rest] == '#')
        span.end = (uint32_t)(rest + strcspn(text + rest, "\n"));
    return span;
}

/* Does a text have the name as a word? */
static bool has_word(const char *text, size_t length, const char *name) {
    size_t width = strlen(name);
    for (size_t at = 0; at + width <= length; at++)
        if (memcmp(text + at, name, width) == 0 && (at == 0 || !is_word_byte(text[at - 1])) &&
            (at + width == length || !is_word_byte(text[at + width])))
            return true;
    return false;
}

/* Does the statement give the name a value, at the top of a script? */
static bool gives_value(const Statement *s, const char *name) {
    if (s->type == STATEMENT_LET || s->type == STATEMENT_ASSIGN)
        return strcmp(s->as.let.name, name) == 0;
    if (s->type == STATEMENT_INPUT)
        return strcmp(s->as.input.name, name) == 0;
    for (int i = 0; s->type == STATEMENT_FIND && i < s->as.find.unknown_count; i++)
        if (strcmp(s->as.find.unknowns[i].name, name) == 0)
            return true;
    return false;
}

/* The value that a statement gives one name, NULL when it gives none, or several. */
static const char *only_value_name(const Statement *s) {
    if (s->type == STATEMENT_LET || s->type == STATEMENT_ASSIGN)
        return s->as.let.name;
    if (s->type == STATEMENT_INPUT)
        return s->as.input.name;
    return s->type == STATEMENT_FIND && s->as.find.unknown_count == 1 ? s->as.find.unknowns[0].name : NULL;
}

/* Where the name stands in what a statement computes, and not where it declares it. */
static bool uses_name(const char *text, const Statement *s, const char *name) {
    Span span = s->span;
    if (gives_value(s, name) && (s->type == STATEMENT_FIND || !initial_value(s)))
        return false;
    if (gives_value(s, name))
        span = initial_value(s)->span;
    return has_word(text + span.start, span.end - span.start, name);
}

/* How a statement stands in a script, which declares an input once and nothing else of its name, and each
 * formula and unit once. */
typedef enum Standing { STANDS, STANDS_AS_VALUE, LEFT_OUT } Standing;

/* Of a formula or a unit, only the last stands. */
static Standing standing_of_declaration(const Program *program, int index, const char *name) {
    const Statement *s = program->block.items[index];
    for (int i = index + 1; i < program->block.count; i++) {
        const Statement *later = program->block.items[i];
        if (later->type == s->type && strcmp(tree_declared_name(later), name) == 0)
            return LEFT_OUT;
    }
    return STANDS;
}

/* Of a name that is an input and something else, only the last stands if nothing used it before; else its
 * inputs become values. */
static Standing standing_of_value(const char *text, const Program *program, int index, const char *name) {
    int last = index, inputs = 0, count = 0;
    for (int i = 0; i < program->block.count; i++)
        if (gives_value(program->block.items[i], name)) {
            last = i;
            inputs += program->block.items[i]->type == STATEMENT_INPUT;
            count++;
        }
    if (!inputs || count == 1)
        return STANDS;
    bool used = false;
    for (int i = 0; i <= last && !used; i++) {
        const Statement *s = program->block.items[i];
        bool replaced = i < last && only_value_name(s) && strcmp(only_value_name(s), name) == 0;
        used = (gives_value(s, name) && !only_value_name(s)) || (!replaced && uses_name(text, s, name));
    }
    if (!used)
        return index < last ? LEFT_OUT : STANDS;
    return program->block.items[index]->type == STATEMENT_INPUT ? STANDS_AS_VALUE : STANDS;
}

/* The names of all inputs, as the script may be long: most names are of none. */
static NameMap input_names(const Program *program) {
    NameMap names = {0};
    for (int i = 0; i < program->block.count; i++)
        if (program->block.items[i]->type == STATEMENT_INPUT)
            name_map_set(&names, program->block.items[i]->as.input.name, 1);
    return names;
}

static Standing standing_of(const char *text, const Program *program, const NameMap *inputs, int index) {
    const Statement *s = program->block.items[index];
    bool declared = s->type == STATEMENT_FORMULA || s->type == STATEMENT_UNIT;
    const char *name = declared ? tree_declared_name(s) : only_value_name(s);
    if (!name)
        return STANDS;
    if (declared)
        return standing_of_declaration(program, index, name);
    return name_map_get(inputs, name, &(int){0}) ? standing_of_value(text, program, index, name) : STANDS;
}

/* An input of choices without a default begins with the first. */
static void add_input_as_value(Text *out, const char *text, const Statement *s) {
    const Node *value = initial_value(s) ? initial_value(s) : s->as.input.from;
    text_add_string(out, "let ");
    text_add_string(out, s->as.input.name);
    text_add_string(out, " = ");
    text_add(out, text + value->span.start, value->span.end - value->span.start);
    text_add_string(out, initial_value(s) ? "" : "[1]");
}

static void add_statements(Text *out, const char *text, const Program *program) {
    bool with_it = speaks_of_it(text);
    NameMap inputs = input_names(program);
    size_t at = 0;
    for (int i = 0; i < program->block.count; i++) {
        const Statement *statement = program->block.items[i];
        Standing standing = standing_of(text, program, &inputs, i);
        if (standing == STANDS && statement->type != STATEMENT_EXPRESSION)
            continue;
        Span span = standing == LEFT_OUT ? whole_span(text, statement) : statement->span;
        text_add(out, text + at, span.start - at);
        at = span.end;
        if (standing == LEFT_OUT) {
            at += text[at] == '\n';
        } else if (standing == STANDS_AS_VALUE) {
            add_input_as_value(out, text, statement);
        } else {
            text_add_string(out, with_it ? "let it = " : "show ");
            text_add(out, text + span.start, span.end - span.start);
            text_add_string(out, with_it ? "; show it" : "");
        }
    }
    text_add_string(out, text + at);
    name_map_free(&inputs);
}

/* ---- entries read once more ---- */

typedef struct Reading {
    Known known;
    Source *source;
    Program *program;
} Reading;

/* Parses entries that worked. */
static void reading_open(Reading *reading, Session *session, const char *text) {
    DiagList errors = {0};
    *reading = (Reading){.known = {.units = session_units(session)}};
    session_each_name(session, take_session_unit, &reading->known);
    ParseHost host = {.context = &reading->known,
                      .is_unit = is_unit,
                      .is_alias = is_alias,
                      .nearest_unit = no_nearest,
                      .declared = take_declaration};
    reading->source = source_new("prompt", NULL, text, strlen(text));
    parse_program(reading->source, &host, &errors, &reading->program);
    diag_list_free(&errors);
}

static void reading_close(Reading *reading) {
    program_free(reading->program);
    source_release(reading->source);
    name_map_free(&reading->known.own);
    name_map_free(&reading->known.aliases);
}

void session_write_script(Session *session, const char *entries, Text *out) {
    Reading reading;
    reading_open(&reading, session, entries);
    add_statements(out, entries, reading.program);
    reading_close(&reading);
}

/* Is the name a line of the list? */
static bool is_line(const char *list, const char *name) {
    size_t length = strlen(name);
    for (const char *at = list; *at; at += strcspn(at, "\n"), at += *at == '\n')
        if (strncmp(at, name, length) == 0 && at[length] == '\n')
            return true;
    return false;
}

static const char *erasable_name(const Statement *s, bool values) {
    if (values && only_value_name(s))
        return only_value_name(s);
    return s->type == STATEMENT_LET ? NULL : tree_declared_name(s);
}

bool session_erase_declared(Session *session, const char *entry, const char *names, const char *instead,
                            bool values, Text *out) {
    Reading reading;
    size_t at = 0;
    bool erased = false;
    reading_open(&reading, session, entry);
    for (int i = 0; i < reading.program->block.count; i++) {
        const Statement *s = reading.program->block.items[i];
        const char *name = erasable_name(s, values);
        if (!name || !is_line(names, name))
            continue;
        bool puts = instead && !erased;
        Span span = puts ? s->span : whole_span(entry, s);
        text_add(out, entry + at, span.start - at);
        text_add_string(out, puts ? instead : "");
        for (at = span.start; at < span.end; at++) /* what follows keeps its line and column */
            text_add_string(out, entry[at] == '\n' ? "\n" : puts ? "" : " ");
        erased = true;
    }
    text_add_string(out, entry + at);
    reading_close(&reading);
    return erased;
}

/* The value of a text input may come without quotes, as on the command line. One of choices without a default
 * is taken for a text unless it begins as a number does. */
static void add_value(Text *out, const Statement *s, const char *value) {
    const Node *initial = initial_value(s);
    bool text = initial ? initial->type == NODE_TEXT : !strchr("0123456789-[{", *value);
    bool bare = s->type == STATEMENT_INPUT && text && *value != '"';
    text_add_string(out, bare ? "\"" : "");
    for (const char *at = value; *at; at++) {
        text_add_string(out, bare && strchr("\"\\{}", *at) ? "\\" : "");
        text_add_char(out, *at);
    }
    text_add_string(out, bare ? "\"" : "");
}

/* Does a block give a value of the script another one? A `let` in it has a name of its own from there on. */
typedef struct BlockSearch {
    const char *name;
    bool found;
} BlockSearch;

static void look_in_block(void *context, const Block *block) {
    BlockSearch *search = context;
    TreeVisit visit = {.block = look_in_block, .context = context};
    for (int i = 0; i < block->count && !search->found; i++) {
        const Statement *s = block->items[i];
        if (s->type == STATEMENT_LET && strcmp(s->as.let.name, search->name) == 0)
            return;
        search->found = s->type == STATEMENT_ASSIGN && strcmp(s->as.let.name, search->name) == 0;
        if (!search->found)
            tree_visit_statement(s, &visit);
    }
}

static bool changes_in_block(const Statement *s, const char *name) {
    BlockSearch search = {.name = name};
    TreeVisit visit = {.block = look_in_block, .context = &search};
    if (s->type != STATEMENT_FORMULA)
        tree_visit_statement(s, &visit);
    return search.found;
}

static Settable settable_of(const Statement *s, const char *name) {
    if (!gives_value(s, name))
        return changes_in_block(s, name) ? SETTABLE_COMPUTED : SETTABLE_NOT;
    return s->type == STATEMENT_INPUT  ? SETTABLE_INPUT
           : s->type == STATEMENT_FIND ? SETTABLE_COMPUTED
                                       : SETTABLE_LET;
}

Settable session_set_value(Session *session, const char *entry, const char *name, const char *value,
                           Text *out) {
    Reading reading;
    const Statement *found = NULL;
    Settable kind = SETTABLE_NOT;
    reading_open(&reading, session, entry);
    for (int i = reading.program->block.count - 1; i >= 0 && kind == SETTABLE_NOT; i--) {
        found = reading.program->block.items[i];
        kind = settable_of(found, name);
    }
    if (kind == SETTABLE_INPUT || kind == SETTABLE_LET) {
        const Node *initial = initial_value(found);
        Span end = {found->span.end, found->span.end}, span = initial ? initial->span : end;
        text_add(out, entry, span.start);
        text_add_string(out, initial ? "" : " = ");
        add_value(out, found, value);
        text_add_string(out, entry + span.end);
    }
    reading_close(&reading);
    return kind;
}
