/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values as arguments of a message (base/message.h). */
#ifndef RUNDLET_VALUE_ARG_H
#define RUNDLET_VALUE_ARG_H

#include "quantities/quantity_arg.h"
#include "values/value.h"

MessageArg arg_kind(const UnitTable *units, Value value); /* what it is: "a volume", "a text" */
/* As `show` prints it; a text is in quotes, and a long value breaks off. */
MessageArg arg_value(const UnitTable *units, Value value);
MessageArg arg_quantity(const UnitTable *units, double number, UnitId unit); /* likewise */
/* The same, typed as in a script: 10%, and 5 gal. */
MessageArg arg_typed(const UnitTable *units, Value value);

#endif
