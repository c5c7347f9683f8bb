/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one reader of literals. A number, a quantity, a reading with its ±, a date, true and false mean the
 * same in a script, as an input, in a text given to quantity() and in a cell of a file, and what cannot be
 * read is refused for the same reason: this is the parser itself, held to one literal. */
#ifndef RUNDLET_LITERAL_H
#define RUNDLET_LITERAL_H

#include "front/ast.h"
#include "front/parse.h"
#include "values/module.h"

typedef struct Literal {
    Value value;
    double uncertainty; /* of `1.050 ± 0.002 SG`: standard, on the value's own unit; 0 without */
} Literal;

/* Spaces and line ends around it are left out. `module`: whose own units may be in it, beside the built-in
 * ones; NULL for none. False after setting `why`: its id is the row of the mistake (LITERAL_FORM when the
 * text is not a literal at all), its hint the whole reason in words, NULL when there is no more to tell. */
bool literal_read(const Registry *registry, const Module *module, const char *bytes, size_t length,
                  Literal *literal, Fault *why);
/* The same of a literal whose unit is elsewhere, as in the heading of a column. */
bool literal_read_number(const Registry *registry, UnitId unit, const char *bytes, size_t length,
                         Literal *literal, Fault *why);
/* What comes out of a text while the script runs has no ±. False after setting `why` when there is one. */
bool literal_is_exact(const Literal *literal, Fault *why);
/* A unit alone, as it stands after a number; `module` as for literal_read. */
bool literal_read_unit(const Registry *registry, const Module *module, const char *bytes, size_t length,
                       UnitId *unit, Fault *why);
/* A date alone, in days since 1970-01-01. */
bool literal_read_date(const char *bytes, size_t length, double *days, Fault *why);

/* The tree of a literal; NULL if it is none: then `errors` may say why, or have nothing to add. */
Node *parse_literal(Source *source, const ParseHost *host, bool unit_follows, DiagList *errors, Arena *arena);

#endif
