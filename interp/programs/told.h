/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which cautions a session of the prompt has given, so that what it computes again does not repeat them. A
 * caution whose text has changed is another one. */
#ifndef RUNDLET_TOLD_H
#define RUNDLET_TOLD_H

#include <stdbool.h>

#include "base/text.h"

/* `{0}` is a start. */
typedef struct Told {
    char **texts;
    int count, capacity;
} Told;

/* Counts a caution as given. False when it was given before. */
bool told_add(Told *told, const char *text);
/* Was it given before? */
bool told_has(const Told *told, const char *text);
/* Forgets all of them. */
void told_clear(Told *told);

/* In what is kept of an entry's results, each caution stands between marks. */
void told_begin_mark(Text *kept);
void told_end_mark(Text *kept);
/* What is kept without any cautions, added to `out`. */
void told_add_results(Text *out, const char *kept);
/* Of what is kept, the cautions that were not given yet, and with `results` all the rest: added to `out`, and
 * counted as given. */
void told_add_fresh(Told *told, Text *out, const char *kept, bool results);

#endif
