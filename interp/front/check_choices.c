/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "front/check_choices.h"

#include <string.h>

#include "front/tree.h"
#include "numbers/calendar.h"
#include "values/name_map.h"

typedef struct Choices {
    const Program *program;
    Source *source;
    DiagList *errors;
    NameMap others; /* names that something else than an input declares */
} Choices;

/* ---- names ---- */

static void add_other(Choices *c, const char *name) {
    if (name)
        name_map_set(&c->others, name, 1);
}

static void add_turns(Choices *c, const TurnsExpr *turns) {
    add_other(c, turns->name);
    add_other(c, turns->second);
}

static void add_unknowns(Choices *c, const FindTree *find) {
    for (int i = 0; i < find->unknown_count; i++)
        add_other(c, find->unknowns[i].name);
}

static void names_of_node(void *context, const Node *node) {
    Choices *c = context;
    if (node->type == NODE_COMPREHENSION) {
        add_other(c, node->as.comprehension.variable);
        add_other(c, node->as.comprehension.second);
    }
    if (node->type == NODE_FIND)
        add_unknowns(c, &node->as.find);
    tree_visit_node(node, &(TreeVisit){.node = names_of_node, .context = c});
}

static void names_of_block(void *context, const Block *block) {
    Choices *c = context;
    for (int i = 0; i < block->count; i++) {
        const Statement *s = block->items[i];
        if (s->type == STATEMENT_LET || s->type == STATEMENT_ASSIGN)
            add_other(c, s->as.let.name);
        if (s->type == STATEMENT_FOR)
            add_turns(c, &s->as.for_.turns);
        if (s->type == STATEMENT_FIND)
            add_unknowns(c, &s->as.find);
        if (s->type == STATEMENT_TABLE) {
            add_turns(c, &s->as.table.turns);
            add_turns(c, &s->as.table.across);
        }
        if (s->type == STATEMENT_FORMULA) {
            add_other(c, s->as.formula.name);
            for (int p = 0; p < s->as.formula.param_count; p++)
                add_other(c, s->as.formula.params[p].name);
        }
        tree_visit_statement(s, &(TreeVisit){.node = names_of_node, .block = names_of_block, .context = c});
    }
}

static bool is_other(const Choices *c, const char *name) {
    int ignored;
    return name_map_get(&c->others, name, &ignored);
}

/* ---- what a side may be ---- */

static const TextPart *literal_of(const Node *node) {
    bool plain = node->type == NODE_TEXT && node->as.text.count == 1 && node->as.text.parts[0].literal;
    return plain ? &node->as.text.parts[0] : NULL;
}

/* The list of texts that an input is chosen from; NULL for anything else. */
static const Node *input_choices(const Choices *c, const char *name) {
    for (int i = 0; i < c->program->block.count; i++) {
        const Statement *s = c->program->block.items[i];
        if (s->type != STATEMENT_INPUT || strcmp(s->as.input.name, name) != 0)
            continue;
        const Node *list = s->as.input.to ? NULL : s->as.input.from;
        return list && list->type == NODE_LIST && !is_other(c, name) ? list : NULL;
    }
    return NULL;
}

/* The index-th text that a side may be; NULL behind the last, and `known` false where one is no literal. */
static const char *choice_at(const Node *side, const Node *list, int index, bool *known) {
    if (side->type == NODE_CALL)
        return index < 7 ? calendar_weekday_name(4 + index) : NULL;
    if (index >= list->as.list.count)
        return NULL;
    const TextPart *text = literal_of(list->as.list.items[index]);
    *known = *known && text;
    return text ? text->literal : "";
}

static bool is_weekday(const Choices *c, const Node *side) {
    return side->type == NODE_CALL && !side->as.call.qualifier &&
           strcmp(side->as.call.name, "weekday") == 0 && !is_other(c, "weekday");
}

/* ---- comparing ---- */

static void add_quoted(Text *out, const char *text) {
    text_add_char(out, '"');
    text_add_string(out, text);
    text_add_char(out, '"');
}

static MessageArg quoted(const char *text) {
    Text out = {0};
    add_quoted(&out, text);
    return arg_taken(ARG_TEXT, &out);
}

static void report_never(Choices *c, const Node *side, Span at, const char *literal, const char *nearest,
                         Text *all) {
    enum { WORDS_MAX = 40 };
    size_t length = side->span.end - side->span.start;
    Text words = {0};
    if (length <= WORDS_MAX && !memchr(c->source->text + side->span.start, '\n', length))
        text_add(&words, c->source->text + side->span.start, length);
    else
        text_add_string(&words, "weekday(…)");
    Diag *diag = diag_add(c->errors, MSG_NEVER_EQUAL, c->source, at,
                          ARGS(arg_taken(ARG_TEXT, &words), quoted(literal), arg_taken(ARG_LIST, all)));
    if (nearest)
        diag_hint(diag, HINT_WRITE, ARGS(arg_mending(quoted(nearest), MENDS_PLACE)));
}

static void compare(Choices *c, const Node *side, const Node *literal) {
    const TextPart *text = literal_of(literal);
    const Node *list = side->type == NODE_NAME ? input_choices(c, side->as.name.name) : NULL;
    if (!text || (!list && !is_weekday(c, side)))
        return;
    Text all = {0};
    const char *choice, *nearest = NULL;
    bool known = true, may = false;
    for (int i = 0; (choice = choice_at(side, list, i, &known)); i++) {
        may = may || strcmp(choice, text->literal) == 0;
        if (text_differs_in_case(choice, strlen(choice), text->literal, text->length))
            nearest = choice;
        text_add_string(&all, i ? ", " : "");
        add_quoted(&all, choice);
    }
    if (known && !may)
        report_never(c, side, literal->span, text->literal, nearest, &all);
    text_free(&all);
}

static void look_at_node(void *context, const Node *node) {
    bool is_equality = node->type == NODE_BINARY &&
                       (node->as.binary.op == OPERATOR_EQUAL || node->as.binary.op == OPERATOR_NOT_EQUAL);
    if (is_equality) {
        compare(context, node->as.binary.left, node->as.binary.right);
        compare(context, node->as.binary.right, node->as.binary.left);
    }
    tree_visit_node(node, &(TreeVisit){.node = look_at_node, .context = context});
}

static void look_at_block(void *context, const Block *block) {
    for (int i = 0; i < block->count; i++)
        tree_visit_statement(block->items[i],
                             &(TreeVisit){.node = look_at_node, .block = look_at_block, .context = context});
}

void check_choices(const Program *program, Source *source, DiagList *errors) {
    Choices c = {.program = program, .source = source, .errors = errors};
    names_of_block(&c, &program->block);
    look_at_block(&c, &program->block);
    name_map_free(&c.others);
}
