/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which names the sides of an `expect` read, so that a check that fails can say what they were. */
#include "base/mem.h"
#include "front/compile_state.h"
#include "front/tree.h"

/* `recipe.acids.malic`: the name it begins with; NULL: it begins with something else. */
static const Node *name_before_fields(const Node *node, Text *path) {
    if (node->type == NODE_NAME)
        return node;
    const Node *name = node->type == NODE_FIELD ? name_before_fields(node->as.field.object, path) : NULL;
    if (!name)
        return NULL;
    text_add_string(path, path->length ? "." : "");
    text_add_string(path, node->as.field.name);
    return name;
}

static void add_read(Compiler *c, const Node *node, const Node *name, char *path) {
    const Local *local = compiler_find_local(c, name->as.name.name);
    int slot = -1;
    Chunk *chunk = c->chunk;
    if (!local && !name_map_get(&c->module->globals, name->as.name.name, &slot)) {
        mem_free(path);
        return;
    }
    MEM_GROW(chunk->check_reads, chunk->check_read_count, chunk->check_read_capacity);
    chunk->check_reads[chunk->check_read_count++] = (CheckRead){.code = chunk->count - 1,
                                                                .span = node->span,
                                                                .reg = local ? local->reg : 0,
                                                                .global = local ? -1 : slot,
                                                                .path = path};
}

/* Not in a list made with `for`, nor in a find: names there may be theirs. */
static void add_reads(void *context, const Node *node) {
    Compiler *c = context;
    Text path = {0};
    if (node->type == NODE_COMPREHENSION || node->type == NODE_FIND)
        return;
    const Node *name = name_before_fields(node, &path);
    if (name) {
        add_read(c, node, name, path.length ? text_take(&path) : NULL);
        return;
    }
    text_free(&path);
    tree_visit_node(node, &(TreeVisit){.node = add_reads, .context = c});
}

void compile_check_reads(Compiler *c, const Node *left, const Node *right) {
    if (left)
        add_reads(c, left);
    if (right)
        add_reads(c, right);
}
