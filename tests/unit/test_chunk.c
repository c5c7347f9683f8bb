/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The disassembler: what DEVELOPERS.md offers to whoever works on the compiler. Each operand letter of
 * opcode.def once. */
#include <criterion/criterion.h>

#include "base/mem.h"
#include "disassemble.h"
#include "values/chunk.h"

typedef struct ShownRow {
    Instruction instruction;
    const char *text; /* behind its number */
} ShownRow;

Test(chunk, disassembles_every_kind_of_operand) {
    static const ShownRow rows[] = {
        {{.op = OP_CONSTANT, .a = 3, .d = 0}, "CONSTANT r3 #0   ; 5 gal"},
        {{.op = OP_ADD, .a = 1, .b = 2, .c = 3}, "ADD r1 r2 r3"},
        {{.op = OP_ADD_K, .a = 1, .b = 2, .c = 0}, "ADD_K r1 r2 k0   ; 5 gal"},
        {{.op = OP_JUMP, .d = -2}, "JUMP #-2"},
        {{.op = OP_TEST_LESS, .x = 1, .b = 4, .c = 5}, "TEST_LESS r4 r5 x1"},
        {{.op = OP_END}, "END"},
    };
    enum { COUNT = sizeof rows / sizeof *rows };
    UnitTable *units = unit_table_new();
    Source *source = source_new("a.rlet", NULL, "", 0);
    Chunk *chunk = chunk_new("dose", source);
    Text shown = {0}, wanted = {0};
    chunk_add_constant(chunk, value_amount(5, UNIT_GAL));
    text_add_string(&wanted, "dose\n");
    for (int i = 0; i < COUNT; i++) {
        chunk_emit(chunk, rows[i].instruction, (CodeSpan){0});
        text_add_integer(&wanted, i);
        text_add_char(&wanted, ' ');
        text_add_string(&wanted, rows[i].text);
        text_add_char(&wanted, '\n');
    }
    disassemble(&shown, chunk, units);
    cr_expect_str_eq(text_string(&shown), text_string(&wanted));
    text_free(&shown);
    text_free(&wanted);
    chunk_free(chunk);
    source_release(source);
    unit_table_free(units);
}
