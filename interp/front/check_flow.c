/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "front/check_flow.h"

#include <string.h>

#include "base/mem.h"
#include "front/tree.h"
#include "values/name_map.h"

typedef struct Flow {
    const UnitTable *units;
    const CompileHost *host;
    bool library; /* a file of the library itself */
    Source *source;
    DiagList *errors;
    NameMap used;        /* names that some expression of the file reads */
    const char **inside; /* names declared since the innermost loop began */
    int inside_count, inside_capacity;
    bool in_loop;
} Flow;

/* ---- ways through a formula ---- */

static void find_give(void *context, const Block *block) {
    bool *found = context;
    for (int i = 0; i < block->count && !*found; i++) {
        *found = block->items[i]->type == STATEMENT_GIVE;
        tree_visit_statement(block->items[i], &(TreeVisit){.block = find_give, .context = found});
    }
}

bool flow_gives_nothing(const FormulaTree *formula) {
    bool found = formula->expr || formula->native;
    find_give(&found, &formula->block);
    return !found;
}

/* Is there a `stop` that leaves this body? */
static bool stops(const Block *block) {
    bool found = false;
    for (int i = 0; i < block->count && !found; i++) {
        const Statement *s = block->items[i];
        found = s->type == STATEMENT_STOP;
        for (int b = 0; s->type == STATEMENT_IF && b < s->as.choice.count; b++)
            found = found || stops(&s->as.choice.branches[b].block);
        if (s->type == STATEMENT_IF)
            found = found || stops(&s->as.choice.otherwise);
    }
    return found;
}

static bool is_refusal(const Node *node) {
    return node->type == NODE_CALL && !node->as.call.qualifier && strcmp(node->as.call.name, "refuse") == 0;
}

static bool leaves(const Block *block);

/* Does no run come past this statement? */
static bool leaves_at(const Statement *s) {
    switch ((int)s->type) {
    case STATEMENT_GIVE:
        return true;
    case STATEMENT_EXPRESSION:
        return is_refusal(s->as.simple.expr);
    case STATEMENT_IF:
        for (int i = 0; i < s->as.choice.count; i++)
            if (!leaves(&s->as.choice.branches[i].block))
                return false;
        return s->as.choice.has_otherwise && leaves(&s->as.choice.otherwise);
    case STATEMENT_WHILE:
        return s->as.while_.condition->type == NODE_TRUTH && s->as.while_.condition->as.truth &&
               !stops(&s->as.while_.body);
    default:
        return false;
    }
}

static bool leaves(const Block *block) {
    for (int i = 0; i < block->count; i++)
        if (leaves_at(block->items[i]))
            return true;
    return false;
}

static bool is_told(const Flow *flow, MessageId id, Span at) {
    for (int i = 0; i < flow->errors->count; i++) {
        const Diag *diag = flow->errors->items[i];
        if (diag->id == id && diag->source == flow->source && diag->span.start == at.start)
            return true;
    }
    return false;
}

static void check_ways(Flow *flow, const FormulaTree *formula) {
    Span at = formula->name_span;
    MessageId id = flow_gives_nothing(formula) ? MSG_NOTHING_GIVEN : MSG_MAY_GIVE_NOTHING;
    if (!formula->expr && !formula->native && !leaves(&formula->block) && !is_told(flow, id, at))
        diag_add(flow->errors, id, flow->source, at, ARGS(formula->name));
}

/* ---- names ---- */

static void note_used(void *context, const Node *node) {
    Flow *flow = context;
    if (node->type == NODE_NAME)
        name_map_set(&flow->used, node->as.name.name, 1);
    if (node->type == NODE_CALL && !node->as.call.qualifier) /* it may be a value that holds a formula */
        name_map_set(&flow->used, node->as.call.name, 1);
    tree_visit_node(node, &(TreeVisit){.node = note_used, .context = flow});
}

static void note_used_in(void *context, const Block *block) {
    for (int i = 0; i < block->count; i++)
        tree_visit_statement(block->items[i],
                             &(TreeVisit){.node = note_used, .block = note_used_in, .context = context});
}

/* A name that means something else where no script gives it a meaning. */
static void check_shadow(Flow *flow, MessageId id, const char *name, Span at) {
    if (!name)
        return;
    bool shadows =
        id == MSG_NAME_IS_UNIT ? unit_is_own_name(flow->units, name) : unit_is_name(flow->units, name);
    if (id == MSG_FORMULA_SHADOWS)
        shadows = !flow->library && flow->host->library_formula(flow->host->context, name) >= 0;
    if (shadows && !is_told(flow, id, at))
        diag_add(flow->errors, id, flow->source, at, ARGS(name));
}

static void check_used(Flow *flow, const char *name, Span at) {
    int ignored;
    if (!name_map_get(&flow->used, name, &ignored))
        diag_add(flow->errors, MSG_NAME_UNUSED, flow->source, at, ARGS(name));
}

typedef struct Reader {
    const char *name;
    bool found;
} Reader;

static void find_name(void *context, const Node *node) {
    Reader *reader = context;
    if (node->type == NODE_NAME && strcmp(node->as.name.name, reader->name) == 0)
        reader->found = true;
    tree_visit_node(node, &(TreeVisit){.node = find_name, .context = reader});
}

static void add_inside(Flow *flow, const char *name) {
    if (!name)
        return;
    MEM_GROW(flow->inside, flow->inside_count, flow->inside_capacity);
    flow->inside[flow->inside_count++] = name;
}

/* `let n = n + x` in a loop, of an n from outside. One that is only converted (`let v = v as gal`) is shown.
 */
static void check_let(Flow *flow, const Statement *s) {
    check_shadow(flow, MSG_NAME_IS_UNIT, s->as.let.name, s->as.let.name_span);
    const Node *value = s->as.let.value;
    Reader reader = {.name = s->as.let.name};
    bool outside = flow->in_loop && value->type != NODE_AS;
    for (int i = 0; i < flow->inside_count; i++)
        outside = outside && strcmp(flow->inside[i], s->as.let.name) != 0;
    if (outside)
        find_name(&reader, value);
    if (reader.found)
        diag_add(flow->errors, MSG_LET_IN_LOOP, flow->source, s->as.let.name_span, ARGS(s->as.let.name));
    else
        check_used(flow, s->as.let.name, s->as.let.name_span);
    add_inside(flow, s->as.let.name);
}

/* ---- all statements ---- */

static void look_at_block(void *context, const Block *block);

static void look_at_loop(Flow *flow, const Statement *s, const TurnsExpr *turns, const TurnsExpr *across) {
    Flow outer = *flow;
    flow->inside = NULL;
    flow->inside_count = flow->inside_capacity = 0;
    flow->in_loop = true;
    for (int i = 0; i < 2; i++) {
        const TurnsExpr *own = i ? across : turns;
        add_inside(flow, own ? own->name : NULL);
        add_inside(flow, own ? own->second : NULL);
        check_shadow(flow, MSG_NAME_IS_UNIT, own ? own->name : NULL, own ? own->name_span : (Span){0, 0});
        check_shadow(flow, MSG_NAME_IS_UNIT, own ? own->second : NULL, own ? own->second_span : (Span){0, 0});
    }
    tree_visit_statement(s, &(TreeVisit){.block = look_at_block, .context = flow});
    mem_free(flow->inside);
    flow->inside = outer.inside;
    flow->inside_count = outer.inside_count;
    flow->inside_capacity = outer.inside_capacity;
    flow->in_loop = outer.in_loop;
}

static void look_at_formula(Flow *flow, const FormulaTree *formula) {
    check_shadow(flow, MSG_FORMULA_SHADOWS, formula->name, formula->name_span);
    for (int i = 0; i < formula->param_count && !formula->native; i++) {
        check_shadow(flow, MSG_NAME_IS_UNIT, formula->params[i].name, formula->params[i].span);
        check_used(flow, formula->params[i].name, formula->params[i].span);
    }
    check_ways(flow, formula);
    look_at_block(flow, &formula->block);
}

static void look_at(Flow *flow, const Statement *s) {
    switch ((int)s->type) {
    case STATEMENT_LET:
        check_let(flow, s);
        break;
    case STATEMENT_INPUT:
        check_shadow(flow, MSG_NAME_IS_UNIT, s->as.input.name, s->as.input.name_span);
        check_used(flow, s->as.input.name, s->as.input.name_span);
        break;
    case STATEMENT_FORMULA:
        look_at_formula(flow, &s->as.formula);
        break;
    case STATEMENT_FOR:
        look_at_loop(flow, s, &s->as.for_.turns, NULL);
        break;
    case STATEMENT_TABLE:
        look_at_loop(flow, s, &s->as.table.turns, &s->as.table.across);
        break;
    case STATEMENT_FIND:
        for (int i = 0; i < s->as.find.unknown_count; i++)
            check_shadow(flow, MSG_NAME_IS_UNIT, s->as.find.unknowns[i].name,
                         s->as.find.unknowns[i].name_span);
        break;
    case STATEMENT_UNIT:
        check_shadow(flow, MSG_UNIT_SHADOWS, s->as.unit.name, s->as.unit.name_span);
        break;
    case STATEMENT_WHILE:
        look_at_loop(flow, s, NULL, NULL);
        break;
    default:
        tree_visit_statement(s, &(TreeVisit){.block = look_at_block, .context = flow});
        break;
    }
}

static void look_at_block(void *context, const Block *block) {
    Flow *flow = context;
    int count = flow->inside_count;
    for (int i = 0; i < block->count; i++)
        look_at(flow, block->items[i]);
    flow->inside_count = count;
}

void check_flow(const Registry *registry, const Program *program, Source *source, const CompileHost *host,
                bool library, DiagList *errors) {
    Flow flow = {
        .units = registry->units, .host = host, .library = library, .source = source, .errors = errors};
    note_used_in(&flow, &program->block);
    look_at_block(&flow, &program->block);
    mem_free(flow.inside);
    name_map_free(&flow.used);
}
