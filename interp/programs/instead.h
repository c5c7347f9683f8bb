/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A typed line with an error: the one that must have been meant, which is run in its place, or else one that
 * works, to be typed instead. */
#ifndef RUNDLET_INSTEAD_H
#define RUNDLET_INSTEAD_H

#include "programs/console.h"

/* The line that a typed one with an error says beyond doubt; NULL when there is none, or no error. Nothing is
 * run. `expression`: it must be one, as for `-e`. mem_free it. */
char *instead_understood(Session *session, const char *typed, bool expression);
/* Says on standard error that the typed line is read as this one. */
void instead_say(Console *console, const char *line);

/* Shows on standard error the line mended as its hints say, unless the last hint has shown it already; where
 * the hints do not lead to one, an example of what its words seem to ask for. `console->session` is the one
 * that failed. Returns the line (mem_free it), or NULL when there is none. */
char *instead_show(Console *console, const char *typed, bool expression);

#endif
