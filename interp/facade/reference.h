/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables of the language that help and completion describe: its words, units and kinds, the fields of a
 * liquid. What a session knows beside them is in session.h. */
#ifndef RUNDLET_REFERENCE_H
#define RUNDLET_REFERENCE_H

#include "front/word.h"
#include "quantities/unit.h"
#include "values/liquid_value.h"

#endif
