/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "values/working.h"

#include "base/mem.h"

WorkingStep *working_add(WorkingStep **steps, int *count, int *capacity) {
    MEM_GROW(*steps, *count, *capacity);
    (*steps)[*count] = (WorkingStep){0};
    return &(*steps)[(*count)++];
}

static void step_clear(WorkingStep *step) {
    for (int i = 0; i < step->child_count; i++)
        step_clear(&step->children[i]);
    mem_free(step->children);
    mem_free(step->name);
    mem_free(step->expression);
    mem_free(step->with_values);
    mem_free(step->value);
    mem_free(step->formula);
    mem_free(step->about);
    mem_free(step->source);
}

void working_clear(Working *working) {
    for (int i = 0; i < working->count; i++)
        step_clear(&working->steps[i]);
    mem_free(working->steps);
    mem_free(working->label);
    *working = (Working){0};
}
