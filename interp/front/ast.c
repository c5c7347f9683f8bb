/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The arena the tree lives in: blocks that grow, freed all at once. */
#include "front/ast.h"

#include <stdalign.h>
#include <string.h>

#include "base/mem.h"
#include "base/text.h"

typedef struct ArenaBlock ArenaBlock;
struct ArenaBlock {
    ArenaBlock *next;
    size_t used;
    size_t size;
    alignas(8) char bytes[]; /* enough for pointers and doubles, the widest things in a tree */
};

struct Arena {
    ArenaBlock *first; /* the one being filled */
    size_t next_size;
};

enum { FIRST_BLOCK = 4096, LARGEST_BLOCK = 1 << 20 };

Arena *arena_new(void) {
    Arena *arena = mem_alloc(sizeof *arena);
    arena->next_size = FIRST_BLOCK;
    return arena;
}

static ArenaBlock *add_block(Arena *arena, size_t needed) {
    size_t size = needed > arena->next_size ? needed : arena->next_size;
    if (arena->next_size < LARGEST_BLOCK)
        arena->next_size *= 2;
    ArenaBlock *block = mem_alloc(sizeof *block + size); /* zeroed, so all that is handed out is */
    block->size = size;
    block->next = arena->first;
    arena->first = block;
    return block;
}

void *arena_alloc(Arena *arena, size_t size) {
    size = (size + 7) & ~(size_t)7;
    ArenaBlock *block = arena->first;
    if (!block || block->size - block->used < size)
        block = add_block(arena, size);
    void *result = block->bytes + block->used;
    block->used += size;
    return result;
}

char *arena_copy(Arena *arena, const char *bytes, size_t length) {
    char *copy = arena_alloc(arena, length + 1);
    if (length)
        memcpy(copy, bytes, length);
    return copy;
}

char *arena_copy_composed(Arena *arena, const char *bytes, size_t length) {
    if (utf8_is_ascii(bytes, length)) /* nearly every word */
        return arena_copy(arena, bytes, length);
    Text composed = {0};
    text_add_composed(&composed, bytes, length);
    char *copy = arena_copy(arena, text_string(&composed), composed.length);
    text_free(&composed);
    return copy;
}

void arena_free(Arena *arena) {
    if (!arena)
        return;
    for (ArenaBlock *block = arena->first; block;) {
        ArenaBlock *next = block->next;
        mem_free(block);
        block = next;
    }
    mem_free(arena);
}

Allowed statement_allowed(StatementType type) {
    static const Allowed allowed[] = {
#define STATEMENT(type, where, ...) [STATEMENT_##type] = where,
#include "front/language.def"
    };
    return allowed[type];
}

void program_free(Program *program) {
    if (program)
        arena_free(program->arena); /* the program itself lies in its arena */
}
