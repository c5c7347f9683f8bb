/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "disassemble.h"

#include <string.h>

#include "values/display.h"

typedef struct OpcodeRow {
    const char *name;
    const char *operands;
} OpcodeRow;

static const OpcodeRow opcode_rows[] = {
#define OPCODE(name, operands) {#name, operands},
#include "values/opcode.def"
#undef OPCODE
};

static void add_operand(Text *out, char letter, Instruction i) {
    text_add_char(out, ' ');
    text_add_char(out, letter == 'K'                    ? 'k'
                       : letter >= 'A' && letter <= 'C' ? 'r'
                       : letter == 'D'                  ? '#'
                                                        : 'x');
    switch (letter) {
    case 'A':
        text_add_integer(out, i.a);
        break;
    case 'B':
        text_add_integer(out, i.b);
        break;
    case 'C':
    case 'K':
        text_add_integer(out, i.c);
        break;
    case 'D':
        text_add_integer(out, i.d);
        break;
    default:
        text_add_integer(out, i.x);
        break;
    }
}

static void add_constant(Text *out, const Chunk *chunk, const UnitTable *units, Instruction i) {
    const char *operands = opcode_rows[i.op].operands;
    int index = strchr(operands, 'K') ? i.c : i.op == OP_CONSTANT ? i.d : -1;
    if (index < 0 || index >= chunk->constant_count)
        return;
    text_add_string(out, "   ; ");
    display_literal(out, units, chunk->constants[index]);
}

void disassemble(Text *out, const Chunk *chunk, const UnitTable *units) {
    text_add_string(out, chunk->name ? chunk->name : "script");
    text_add_char(out, '\n');
    for (int at = 0; at < chunk->count; at++) {
        Instruction i = chunk->code[at];
        text_add_integer(out, at);
        text_add_char(out, ' ');
        text_add_string(out, opcode_rows[i.op].name);
        for (const char *p = opcode_rows[i.op].operands; *p; p++)
            add_operand(out, *p, i);
        add_constant(out, chunk, units, i);
        text_add_char(out, '\n');
    }
}
