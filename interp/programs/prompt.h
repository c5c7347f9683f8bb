/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The prompt: one session, entry by entry, until its user leaves. */
#ifndef RUNDLET_PROMPT_H
#define RUNDLET_PROMPT_H

#include "programs/console.h"
#include "programs/options.h"

/* On a terminal SESSION_OK; else how the worst entry or command went. */
SessionStatus prompt_run(const Options *options, Console *console);

/* A line that runs and does what the words of `text`, which was not understood, seem to ask for. NULL when
 * none does. */
const char *prompt_line_like(Session *session, const char *text);

#endif
