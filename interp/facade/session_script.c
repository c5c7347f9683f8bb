/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Entries of a prompt as a script.
 *
 * What stands at the prompt and in a script differs in one thing: an expression alone is an error in a
 * script. So the entries are parsed together, and each such expression gets a `show` before it; where any
 * entry speaks of `it`, a `let it = …` as well. All else stays as it was typed. */
#include <string.h>

#include "base/mem.h"
#include "facade/session.h"
#include "front/parse.h"

/* Units and aliases known while parsing. */
typedef struct Known {
    const UnitTable *units;
    char **own; /* units of scripts */
    int own_count, own_capacity;
    char **aliases;
    int alias_count, alias_capacity;
} Known;

static bool contains(char *const *words, int count, const char *word, size_t length) {
    for (int i = 0; i < count; i++)
        if (strlen(words[i]) == length && memcmp(words[i], word, length) == 0)
            return true;
    return false;
}

static bool is_unit(void *context, const char *qualifier, const char *name) {
    const Known *known = context;
    UnitId id;
    size_t length = strlen(name);
    if (qualifier)
        return true; /* it was one when it was entered */
    if (contains(known->own, known->own_count, name, length))
        return true;
    if (length > 1 && name[length - 1] == 's' && contains(known->own, known->own_count, name, length - 1))
        return true;
    return unit_find(known->units, name, true, &id);
}

static bool is_alias(void *context, const char *name) {
    const Known *known = context;
    return contains(known->aliases, known->alias_count, name, strlen(name));
}

static const char *no_nearest(void *context, const char *name) {
    (void)context;
    (void)name;
    return NULL;
}

static bool take_declaration(void *context, const Statement *statement, DiagList *errors) {
    Known *known = context;
    (void)errors;
    if (statement->type == STATEMENT_UNIT) {
        MEM_GROW(known->own, known->own_count, known->own_capacity);
        known->own[known->own_count++] = mem_copy_string(statement->as.unit.name);
    } else if (statement->type == STATEMENT_USE && statement->as.use.alias) {
        MEM_GROW(known->aliases, known->alias_count, known->alias_capacity);
        known->aliases[known->alias_count++] = mem_copy_string(statement->as.use.alias);
    }
    return true;
}

/* Units that came in by `use` stand in no entry: the session knows them. */
static void take_session_unit(void *context, const NameInfo *info) {
    Known *known = context;
    if (info->kind == NAME_UNIT) {
        MEM_GROW(known->own, known->own_count, known->own_capacity);
        known->own[known->own_count++] = mem_copy_string(info->name);
    }
}

static void known_free(Known *known) {
    for (int i = 0; i < known->own_count; i++)
        mem_free(known->own[i]);
    for (int i = 0; i < known->alias_count; i++)
        mem_free(known->aliases[i]);
    mem_free(known->own);
    mem_free(known->aliases);
}

static bool is_word_byte(char c) {
    return c == '_' || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
           (c & 0x80);
}

/* Does `it` stand anywhere as a word? In a comment it does no harm. */
static bool speaks_of_it(const char *text) {
    for (const char *p = strstr(text, "it"); p; p = strstr(p + 1, "it"))
        if ((p == text || !is_word_byte(p[-1])) && !is_word_byte(p[2]))
            return true;
    return false;
}

static void add_statements(Text *out, const char *text, const Program *program) {
    bool with_it = speaks_of_it(text);
    size_t at = 0;
    for (int i = 0; i < program->block.count; i++) {
        const Statement *statement = program->block.items[i];
        if (statement->type != STATEMENT_EXPRESSION)
            continue;
        Span span = statement->span;
        text_add(out, text + at, span.start - at);
        text_add_string(out, with_it ? "let it = " : "show ");
        text_add(out, text + span.start, span.end - span.start);
        text_add_string(out, with_it ? "; show it" : "");
        at = span.end;
    }
    text_add_string(out, text + at);
}

void session_write_script(Session *session, const char *entries, Text *out) {
    Known known = {.units = session_units(session)};
    DiagList errors = {0};
    Program *program = NULL;
    session_each_name(session, take_session_unit, &known);
    ParseHost host = {.context = &known,
                      .is_unit = is_unit,
                      .is_alias = is_alias,
                      .nearest_unit = no_nearest,
                      .declared = take_declaration};
    Source *source = source_new("prompt", NULL, entries, strlen(entries));
    parse_program(source, &host, &errors, &program);
    add_statements(out, entries, program);
    program_free(program);
    diag_list_free(&errors);
    source_release(source);
    known_free(&known);
}
