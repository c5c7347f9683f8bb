/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The working of one result, for `why` at the prompt and for --working with -e. */
#ifndef RUNDLET_WHY_H
#define RUNDLET_WHY_H

#include "programs/run.h"

enum { WHY_WIDTH = 100 }; /* the most columns that a working is written to */

/* Runs a script in a session of its own, which shows nothing. `label` and `levels` as in SessionOptions
 * (working_of, working); `file` is the name of the script and, where it has a path, tells its folder. The
 * caller frees the session; `status` is how the run went. */
Session *why_run(const Options *options, Console *console, Source *file, int levels, const char *label,
                 SessionStatus *status);
/* Adds the working of that one result, and how to see a formula of the library in it. With `titled` its label
 * comes first, where the working does not have it already. False when there is none. */
bool why_add(Text *out, Session *session, bool titled, size_t columns);

#endif
