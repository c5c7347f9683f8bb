/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a source of uncertainty is called: by what its ± is a part of. Where it is in the script is added when
 * it runs (runtime/source_names.h). */
#include "base/mem.h"
#include "front/compile_state.h"

Around compile_around(Compiler *c, const char *name, const Node *whole) {
    Around before = c->around;
    c->around = (Around){.name = name && *name ? name : NULL, .whole = whole};
    return before;
}

Around compile_around_argument(Compiler *c, const char *called, const char *label) {
    Around before = c->around;
    if (label || !before.part)
        c->around.called = called;
    if (label)
        c->around.part = label;
    return before;
}

Around compile_around_field(Compiler *c, const char *field) {
    Around before = c->around;
    c->around.part = field ? field : before.part;
    return before;
}

static char *words_of(const Around *around, const char *formula, bool library, bool whole) {
    const char *owner = around->name ? around->name : around->called;
    if (library) /* nobody knows the names in there */
        return message_take(PHRASE_SOURCE_INSIDE, ARGS(formula));
    char *words = NULL;
    if (whole)
        words = mem_copy_string(owner);
    else if (around->part && (owner || formula))
        words = message_take(PHRASE_SOURCE_PART, ARGS(around->part, owner ? owner : formula));
    else if (around->part)
        words = mem_copy_string(around->part);
    else if (owner || formula)
        words = message_take(PHRASE_SOURCE_INSIDE, ARGS(owner ? owner : formula));
    if (!owner || !formula)
        return words;
    char *within = message_take(PHRASE_SOURCE_WITHIN, ARGS(words, formula));
    mem_free(words);
    return within;
}

void compile_name_source(Compiler *c, const Node *node) {
    Chunk *chunk = c->chunk;
    bool whole = node == c->around.whole;
    MEM_GROW(chunk->source_names, chunk->source_name_count, chunk->source_name_capacity);
    chunk->source_names[chunk->source_name_count++] =
        (SourceName){.at = chunk->count - 1,
                     .words = words_of(&c->around, c->formula ? c->formula->name : NULL,
                                       c->module->library && c->formula, whole),
                     .whole = whole};
}
