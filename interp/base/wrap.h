/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a line of a message may be broken. */
#ifndef RUNDLET_WRAP_H
#define RUNDLET_WRAP_H

#include <stddef.h>

/* The bytes of the first piece of a text, which starts with no space, that belong on one line: a word or, up
 * to that many columns, what is copied or typed as a whole: `…`, "…", a call with its arguments, a list or
 * record, a number and its unit, the two sides of an operator, an option and its value. Of a wider piece, the
 * word alone. */
size_t wrap_piece(const char *text, size_t length, size_t columns);

#endif
