/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* After an error in a typed line: a line that works, to be typed in its place. */
#ifndef RUNDLET_INSTEAD_H
#define RUNDLET_INSTEAD_H

#include "programs/console.h"

/* Shows on standard error the line mended as its hints say, unless the last hint has shown it already; where
 * the hints do not lead to one, an example of what its words seem to ask for. `console->session` is the one
 * that failed. Returns the line (mem_free it), or NULL when there is none. */
char *instead_show(Console *console, const char *typed);

#endif
