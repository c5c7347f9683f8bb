/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The limits of a run, in one table: how each is written, what it may be, and what it says when it is hit. */
#ifndef RUNDLET_LIMITS_H
#define RUNDLET_LIMITS_H

#include "base/diag.h"

typedef struct SessionLimits {
    double seconds; /* 0: none */
    size_t memory;  /* bytes; 0: none. Default 1 GB */
    int depth;      /* calls; default 1000 */
    size_t output;  /* bytes of results; 0: none */
} SessionLimits;

/* `time=10s,memory=256MB`: any of them, in any order; the others stay as they are. False after adding to
 * `errors`. */
bool limits_read(SessionLimits *limits, const char *text, DiagList *errors);
/* 10MB, 1500kB, 20B: in the largest unit that leaves no rest. */
void limits_add_size(Text *out, size_t bytes);
/* The error that a limit was hit tells how to raise it: `option` ("--limit") before what it could be, or
 * nothing where there is no such option (NULL). Other errors stay as they are. */
void limits_tell_raise(Diag *diag, const char *option);

#endif
