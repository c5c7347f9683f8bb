/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers, units and kinds as arguments of a message (base/message.h). */
#ifndef RUNDLET_QUANTITY_ARG_H
#define RUNDLET_QUANTITY_ARG_H

#include "quantities/unit.h"

MessageArg arg_number(double number); /* in the fewest digits that give it back */
/* Rounded to so many decimals; "" for no unit. */
MessageArg arg_places(double number, int places, const char *unit);
MessageArg arg_plain(double number, const char *unit);         /* as format_plain writes it */
MessageArg arg_unit_kind(const UnitTable *table, UnitId unit); /* "a volume" */

#endif
