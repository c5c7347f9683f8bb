/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What --budget and --trials print of a shown value's uncertainty. */
#ifndef RUNDLET_SPREAD_H
#define RUNDLET_SPREAD_H

#include "programs/console.h"
#include "programs/options.h"

/* The sources below a shown value, the largest share of its variance first:
 *     83 %  og = 1.0520 ± 0.0020 SG
 * Adds nothing for a value without a ±. */
void spread_budget(Text *out, Session *session, const Item *item);
/* The last line: of --trials how many draws, and the seed that repeats them; of either that the script has no
 * ±. */
void spread_close(Console *console, Session *session, const Options *options);

#endif
