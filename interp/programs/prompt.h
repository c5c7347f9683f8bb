/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The prompt: one session, entry by entry, until its user leaves. */
#ifndef RUNDLET_PROMPT_H
#define RUNDLET_PROMPT_H

#include "programs/console.h"
#include "programs/options.h"

/* On a terminal SESSION_OK; else how the worst entry or command went. */
SessionStatus prompt_run(const Options *options, Console *console);

#endif
