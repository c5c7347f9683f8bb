/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "values/working.h"

#include "base/mem.h"

WorkingStep *working_add(WorkingStep **steps, int *count, int *capacity) {
    MEM_GROW(*steps, *count, *capacity);
    (*steps)[*count] = (WorkingStep){0};
    return &(*steps)[(*count)++];
}

void working_assume(WorkingStep *step, char *text) {
    MEM_GROW(step->assumptions, step->assumption_count, step->assumption_capacity);
    step->assumptions[step->assumption_count++] = text;
}

void working_table_new(WorkingTable *table, int rows, int columns) {
    *table = (WorkingTable){.rows = rows, .columns = columns};
    table->cells = mem_array((size_t)rows * (size_t)columns, sizeof *table->cells);
}

char **working_cell(const WorkingTable *table, int row, int column) {
    return &table->cells[row * table->columns + column];
}

static void free_texts(char **texts, int count) {
    for (int i = 0; i < count; i++)
        mem_free(texts[i]);
    mem_free(texts);
}

/* Steps are nested no deeper than calls are shown from within: a few levels. */
void working_clear_step(WorkingStep *step) {
    for (int i = 0; i < step->child_count; i++)
        working_clear_step(&step->children[i]);
    mem_free(step->children);
    free_texts(step->assumptions, step->assumption_count);
    free_texts(step->table.cells, step->table.rows * step->table.columns);
    mem_free(step->name);
    mem_free(step->expression);
    mem_free(step->with_values);
    mem_free(step->value);
    mem_free(step->unit);
    mem_free(step->formula);
    mem_free(step->about);
    mem_free(step->source);
    mem_free(step->found_with);
    *step = (WorkingStep){0};
}

void working_free(Working *working) {
    if (!working)
        return;
    for (int i = 0; i < working->count; i++)
        working_clear_step(&working->steps[i]);
    mem_free(working->steps);
    for (int i = 0; i < working->earlier_count; i++) {
        mem_free(working->earlier[i].name);
        mem_free(working->earlier[i].label);
    }
    mem_free(working->earlier);
    for (int i = 0; i < working->share_count; i++)
        mem_free(working->shares[i].name);
    mem_free(working);
}

const char *working_role_word(WorkingRole role) {
    static const char *const words[] = {
#define ROLE(role, word) word,
        WORKING_ROLES(ROLE)
#undef ROLE
    };
    return words[role];
}
