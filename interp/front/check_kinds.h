/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mistakes of kind that can be seen without running: a volume plus a mass, a text as a condition. For
 * `--check`. */
#ifndef RUNDLET_CHECK_KINDS_H
#define RUNDLET_CHECK_KINDS_H

#include "front/compile.h"

/* Goes through a program that was parsed without errors and compiled, with or without, and adds an error for
 * each statement whose kinds cannot work, where compiling found none in it (`errors` holds those; a name that
 * is not known is of no known kind): message, place, labels and hint as the run would give them. What is not
 * known for sure is let pass: `expect error`, table cells (a cell that fails is a dash), values that only the
 * run knows. Changes nothing but `errors`, the heap and the table of units. */
void check_kinds(Registry *registry, Module *module, const Program *program, const CompileHost *host,
                 DiagList *errors);

#endif
