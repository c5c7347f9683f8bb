/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Entries of a prompt as a script.
 *
 * What is at the prompt and in a script differs in one thing: an expression alone is an error in a
 * script. So the entries are parsed together, and each such expression gets a `show` before it; where any
 * entry mentions `it`, a `let it = …` as well. What a later entry declares again is left out, and an input
 * that became a value is one from the start. All else stays as it was typed. */
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

/* Is there a later statement that declares the name of this one again, so that a script may have only that?
 */
static bool is_superseded(const Program *program, int index) {
    const Statement *s = program->block.items[index];
    const char *name = tree_declared_name(s);
    for (int i = index + 1; name && s->type != STATEMENT_LET && i < program->block.count; i++) {
        const Statement *later = program->block.items[i];
        const char *other = tree_declared_name(later);
        bool same = later->type == s->type || (later->type == STATEMENT_LET && s->type == STATEMENT_INPUT);
        if (same && strcmp(other, name) == 0)
            return true;
    }
    return false;
}

static void add_input_as_value(Text *out, const char *text, const Statement *s) {
    if (!initial_value(s)) /* the later declaration is all there is */
        return;
    Span value = initial_value(s)->span;
    text_add_string(out, "let ");
    text_add_string(out, s->as.input.name);
    text_add_string(out, " = ");
    text_add(out, text + value.start, value.end - value.start);
}

static void add_statements(Text *out, const char *text, const Program *program) {
    bool with_it = speaks_of_it(text);
    size_t at = 0;
    for (int i = 0; i < program->block.count; i++) {
        const Statement *statement = program->block.items[i];
        bool superseded = is_superseded(program, i), shown = statement->type == STATEMENT_EXPRESSION;
        if (!superseded && !shown)
            continue;
        bool left_out = superseded && statement->type != STATEMENT_INPUT;
        Span span = left_out ? whole_span(text, statement) : statement->span;
        text_add(out, text + at, span.start - at);
        at = span.end;
        if (left_out) {
            at += text[at] == '\n';
        } else if (superseded) {
            add_input_as_value(out, text, statement);
        } else {
            text_add_string(out, with_it ? "let it = " : "show ");
            text_add(out, text + span.start, span.end - span.start);
            text_add_string(out, with_it ? "; show it" : "");
        }
    }
    text_add_string(out, text + at);
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

bool session_erase_declared(Session *session, const char *entry, const char *names, const char *instead,
                            Text *out) {
    Reading reading;
    size_t at = 0;
    bool erased = false;
    reading_open(&reading, session, entry);
    for (int i = 0; i < reading.program->block.count; i++) {
        const Statement *s = reading.program->block.items[i];
        const char *name = tree_declared_name(s);
        if (!name || s->type == STATEMENT_LET || !is_line(names, name))
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

Settable session_set_value(Session *session, const char *entry, const char *name, const char *value,
                           Text *out) {
    Reading reading;
    const Statement *found = NULL;
    reading_open(&reading, session, entry);
    for (int i = 0; i < reading.program->block.count; i++) {
        const Statement *s = reading.program->block.items[i];
        bool settable = s->type == STATEMENT_INPUT || s->type == STATEMENT_LET;
        if (settable && strcmp(tree_declared_name(s), name) == 0)
            found = s;
    }
    Settable kind = !found ? SETTABLE_NOT : found->type == STATEMENT_INPUT ? SETTABLE_INPUT : SETTABLE_LET;
    if (found) {
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
