/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a line in everyday words says in the language (readings.def). */
#ifndef RUNDLET_READINGS_H
#define RUNDLET_READINGS_H

#include <stdbool.h>

#include "facade/session.h"

typedef struct ReadingScope {
    bool expression; /* it must be one, as for `-e`; else it may also be a command of the prompt */
    bool alone;      /* one row must be enough, and no hint of an error is followed */
} ReadingScope;

/* A line that says the same as `typed`, which has an error, and has none itself; NULL when there is none.
 * `surely`: nothing else can have been meant. mem_free it. */
char *reading_of(Session *session, const char *typed, ReadingScope scope, bool *surely);

/* Has the line every digit and every ± that was typed? No reading leaves one out. */
bool reading_keeps_all(const char *typed, const char *line);

#endif
