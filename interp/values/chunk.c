/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compiled code, as it is built. */
#include "values/chunk.h"

#include "base/mem.h"

Chunk *chunk_new(const char *name, Source *source) {
    Chunk *chunk = mem_alloc(sizeof *chunk);
    chunk->name = mem_copy_string(name);
    chunk->source = source_keep(source);
    return chunk;
}

static void free_find(FindPlan *plan) {
    for (int i = 0; i < plan->unknown_count; i++)
        mem_free(plan->unknowns[i].name);
    mem_free(plan->unknowns);
    mem_free(plan->conditions);
}

void chunk_free(Chunk *chunk) {
    if (!chunk)
        return;
    mem_free(chunk->name);
    source_release(chunk->source);
    mem_free(chunk->code);
    mem_free(chunk->spans);
    mem_free(chunk->constants);
    mem_free(chunk->views);
    for (int i = 0; i < chunk->kind_count; i++) {
        mem_free(chunk->kinds[i].word);
        mem_free(chunk->kinds[i].formula);
        mem_free(chunk->kinds[i].argument);
    }
    mem_free(chunk->kinds);
    for (int i = 0; i < chunk->find_count; i++)
        free_find(&chunk->finds[i]);
    mem_free(chunk->finds);
    for (int i = 0; i < chunk->show_count; i++)
        mem_free(chunk->shows[i].label);
    mem_free(chunk->shows);
    for (int i = 0; i < chunk->table_count; i++) {
        mem_free(chunk->tables[i].loop_label);
        mem_free(chunk->tables[i].across_label);
    }
    mem_free(chunk->tables);
    for (int i = 0; i < chunk->column_count; i++)
        mem_free(chunk->columns[i].label);
    mem_free(chunk->columns);
    for (int i = 0; i < chunk->input_count; i++) {
        mem_free(chunk->inputs[i].name);
        mem_free(chunk->inputs[i].doc);
    }
    mem_free(chunk->inputs);
    mem_free(chunk->argument_spans);
    for (int i = 0; i < chunk->source_name_count; i++)
        mem_free(chunk->source_names[i].words);
    for (int i = 0; i < chunk->check_read_count; i++)
        mem_free(chunk->check_reads[i].path);
    mem_free(chunk->check_reads);
    mem_free(chunk->source_names);
    for (int i = 0; i < chunk->mark_count; i++)
        mem_free(chunk->marks[i].name);
    mem_free(chunk->marks);
    mem_free(chunk->handouts);
    mem_free(chunk->loops);
    mem_free(chunk);
}

void chunk_mark(const Chunk *chunk) {
    for (int i = 0; i < chunk->constant_count; i++)
        heap_mark(chunk->constants[i]);
}

int chunk_emit(Chunk *chunk, Instruction instruction, CodeSpan span) {
    if (chunk->count >= chunk->capacity) {
        chunk->capacity = chunk->capacity < 16 ? 16 : chunk->capacity * 2;
        chunk->code = mem_resize_array(chunk->code, (size_t)chunk->capacity, sizeof *chunk->code);
        chunk->spans = mem_resize_array(chunk->spans, (size_t)chunk->capacity, sizeof *chunk->spans);
    }
    chunk->code[chunk->count] = instruction;
    chunk->spans[chunk->count] = span;
    return chunk->count++;
}

int chunk_add_constant(Chunk *chunk, Value value) {
    if (chunk->constant_count >= chunk->constant_capacity) {
        chunk->constant_capacity = chunk->constant_capacity < 8 ? 8 : chunk->constant_capacity * 2;
        size_t capacity = (size_t)chunk->constant_capacity;
        chunk->constants = mem_resize_array(chunk->constants, capacity, sizeof(Value));
        chunk->views = mem_resize_array(chunk->views, capacity, sizeof(Value));
    }
    chunk->constants[chunk->constant_count] = value;
    chunk->views[chunk->constant_count] = value;
    return chunk->constant_count++;
}
