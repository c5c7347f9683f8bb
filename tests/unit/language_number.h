/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as a user of the language gets them: an expression with numbers put in, run by a session. */
#ifndef TESTS_UNIT_LANGUAGE_NUMBER_H
#define TESTS_UNIT_LANGUAGE_NUMBER_H

#include "facade/session.h"

#include <stddef.h>

/* The number of the expression that `script` ends with, on its own unit, unrounded; lines before it are
 * statements. {1} to {9} are replaced by the numbers, all their digits. NaN when the script fails, or gives
 * anything but a number or a quantity. The session lasts: cautions and earlier errors do no harm. */
double language_number(Session *session, const char *script, const double *numbers, size_t count);
/* The same with the numbers as further arguments, of any arithmetic type; at least one. */
#define LANGUAGE_NUMBER(session, script, ...)                                                                \
    language_number(session, script, (const double[]){__VA_ARGS__},                                          \
                    sizeof((const double[]){__VA_ARGS__}) / sizeof(double))

#endif
