/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The prompt: one session, entry by entry, until its user leaves. */
#ifndef RUNDLET_PROMPT_H
#define RUNDLET_PROMPT_H

#include "programs/console.h"
#include "programs/options.h"

/* On a terminal SESSION_OK; else how the worst entry or command went. */
SessionStatus prompt_run(const Options *options, Console *console);

/* A line that runs, for a text that was not understood: the example of a formula it calls, or what its words
 * seem to ask for. NULL when there is none; mem_free it. */
char *prompt_line_like(Session *session, const char *text);

#endif
