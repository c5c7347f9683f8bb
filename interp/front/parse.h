/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text to tree. Knows the grammar of docs/reference/language.md, "Scripts", "Expressions" and "Statements",
 * and nothing of values or of what a unit means.
 *
 * One thing it must ask: whether a word is a unit, since `*` and `/` inside a unit continue only before a
 * unit name, and units may be declared (`unit can = …`) or come in by `use` above their first use. The host
 * answers. */
#ifndef RUNDLET_PARSE_H
#define RUNDLET_PARSE_H

#include "base/diag.h"
#include "front/ast.h"

typedef struct ParseHost {
    void *context;
    /* Is this word a unit here (plural rule included)? `qualifier` is the alias of a `use … as`, or NULL. */
    bool (*is_unit)(void *context, const char *qualifier, const char *name);
    /* Is there a `use … as` of that name? Then `5 club.can` is a unit and `club.f(…)` a call. */
    bool (*is_alias)(void *context, const char *name);
    /* The nearest unit name to a wrong one, or NULL. The text stays the host's. */
    const char *(*nearest_unit)(void *context, const char *name);
    /* A unit or use statement was parsed: from now on its units are known. Returns false after adding to
     * `errors`. */
    bool (*declared)(void *context, const Statement *statement, DiagList *errors);
    /* Is it a value of an earlier entry of the prompt? May be NULL, as may the next. */
    bool (*is_value)(void *context, const char *name);
    /* The built-in unit's own name, when the word is a spelling of every day for it; else NULL. */
    const char *(*everyday)(void *context, const char *name);
    /* Is the word too common for `*` and `/` to go on to it as a unit? */
    bool (*stands_alone)(void *context, const char *name);
    /* Is it a unit's own name, neither a spelling of every day nor a plural? */
    bool (*is_unit_name)(void *context, const char *name);
    /* Is it a formula of the library, or of an earlier entry of the prompt? May be NULL. */
    bool (*is_formula)(void *context, const char *name);
    bool library; /* a file of the library: formulas may be written in C, with more to say of their kinds */
} ParseHost;

typedef enum ParseStatus {
    PARSE_OK,
    PARSE_ERRORS,
    PARSE_UNFINISHED /* nothing is wrong so far, but the source stops inside a bracket or a block, or after an
                      * operator (or a comma, `=`, `then` …): the prompt reads on. For a file it is an error,
                      * and in `errors` */
} ParseStatus;

/* Parses a whole source. Always gives a program (possibly with fewer statements): after an error it continues
 * with the next statement, so that --check shows all of them. Errors go to `errors` in order. */
ParseStatus parse_program(Source *source, const ParseHost *host, DiagList *errors, Program **program);

/* Parses the one statement that begins at a byte of the source, and nothing else of it. */
ParseStatus parse_one(Source *source, size_t at, const ParseHost *host, DiagList *errors, Program **program);

#endif
