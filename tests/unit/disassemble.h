/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The code of a chunk as text, an instruction a line, by the table of values/opcode.def. */
#ifndef DISASSEMBLE_H
#define DISASSEMBLE_H

#include "base/text.h"
#include "quantities/unit_table.h"
#include "values/chunk.h"

void disassemble(Text *out, const Chunk *chunk, const UnitTable *units);

#endif
