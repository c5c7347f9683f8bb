/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The working of a result as JSON, in the shape of docs/reference/program.md, "Reports". */
#ifndef RUNDLET_JSON_WORKING_H
#define RUNDLET_JSON_WORKING_H

#include "base/text.h"
#include "values/working.h"

/* The members "steps", and "earlier" and "shares" where there are some, of an object that is open. None for
 * NULL: a run without its working. */
void json_add_working(Text *out, const Working *working);

#endif
