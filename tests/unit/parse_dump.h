/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A parsed tree as one line of s-expressions, so that it can be compared as text. */
#ifndef PARSE_DUMP_H
#define PARSE_DUMP_H

#include "base/text.h"
#include "front/ast.h"

void parse_dump(Text *out, const Program *program);

#endif
