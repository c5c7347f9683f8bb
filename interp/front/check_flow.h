/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tree of a script tells without any value: formulas that give nothing, names that nothing reads, a
 * `let` in a loop that was meant to change a name outside. For `--check`. */
#ifndef RUNDLET_CHECK_FLOW_H
#define RUNDLET_CHECK_FLOW_H

#include "base/diag.h"
#include "front/compile.h"

/* No `give` anywhere in it: a call of it is always an error. */
bool flow_gives_nothing(const FormulaTree *formula);

/* Adds an error for each formula that gives nothing (unless a call has told it already), and notes
 * (CLASS_NOTE), which change no status: for one that may reach its end without a give, for names that nothing
 * in the file reads, for `let x = … x …` in a loop, of an x from outside, and for names that are a unit's or
 * a library formula's too; `library`: the script is a file of the library itself. */
void check_flow(const Registry *registry, const Program *program, Source *source, const CompileHost *host,
                bool library, DiagList *errors);

#endif
