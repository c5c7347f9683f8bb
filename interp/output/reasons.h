/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Why cells of a table failed, told below it: reasons that differ by their numbers alone are of one kind, and
 * only the first of a kind are reported. JSON and CSV have them all. */
#ifndef RUNDLET_REASONS_H
#define RUNDLET_REASONS_H

#include "values/report.h"

enum {
    REASONS_ALIKE = 3, /* told of one kind; a fourth too when it is the last */
    REASONS_KINDS = 8  /* told of */
};

/* The lines to be told, kinds in their order: reasons, `and 15 more like these`, `and 4 other reasons`. An
 * array of *count for reasons_free. */
char **reasons_lines(const TableResult *table, int *count);
void reasons_free(char **lines, int count);
/* The same for a terminal: each after a dash, wrapped. */
void reasons_text(Text *out, const TableResult *table, int columns);

#endif
