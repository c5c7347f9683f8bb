/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The names of sources of uncertainty, as budgets and notes tell them: "pressed" of an input or a let, else
 * what the ± is a part of and its line, "gravity of cider, line 6"; and of those that would read the same the
 * column, or which of them it is. */
#ifndef RUNDLET_SOURCE_NAMES_H
#define RUNDLET_SOURCE_NAMES_H

#include "runtime/worlds.h"
#include "values/chunk.h"

/* Of the ± at instruction `at`; `script`: the one that runs, whose name goes without saying. */
SourceWords source_words(const Chunk *chunk, int32_t at, const Source *script);
/* Gives those learnt last, which still have their full names, names that tell them apart. */
void source_names_settle(WorldSource *sources, int count);

#endif
