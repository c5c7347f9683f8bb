/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Comparisons with a text that the other side never is: `weekday(d) == "saturday"`, an input of choices and a
 * text that is none of them. For `--check`. */
#ifndef RUNDLET_CHECK_CHOICES_H
#define RUNDLET_CHECK_CHOICES_H

#include "base/diag.h"
#include "front/parse.h"

/* Adds a note (CLASS_NOTE) for each. */
void check_choices(const Program *program, Source *source, DiagList *errors);

#endif
