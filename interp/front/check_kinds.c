/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The check of kinds: names, statements, and a whole script.
 *
 * Two walks. The first goes through the top level only, reports nothing and learns what each name holds, so
 * that a formula may read a value that is declared below it. The second reports. A name keeps the kind it was
 * declared with
 * (`x = …` may not change it), so bodies need no second look: loops are walked once. */
#include "front/check_kinds.h"

#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "front/check_state.h"
#include "front/tree.h"
#include "values/kind_check.h"

/* ---- names ---- */

static void add_name(NameList *list, const char *name, Guess guess) {
    MEM_GROW(list->items, list->count, list->capacity);
    list->items[list->count++] = (KnownName){.name = name, .guess = guess};
}

Guess checker_find(const Checker *c, const char *name) {
    const NameList *outer = c->in_formula ? &c->declared : &c->globals;
    int at;
    for (int i = c->locals.count - 1; i >= c->first_local; i--)
        if (strcmp(c->locals.items[i].name, name) == 0)
            return c->locals.items[i].guess;
    return name_map_get(&outer->places, name, &at) ? outer->items[at].guess : guess_unknown();
}

/* The item of a top-level name, new (not known) at first. */
static Guess *global_guess(NameList *list, const char *name, bool *is_new) {
    int at;
    *is_new = !name_map_get(&list->places, name, &at);
    if (*is_new) {
        at = list->count;
        name_map_set(&list->places, name, at);
        add_name(list, name, guess_unknown());
    }
    return &list->items[at].guess;
}

static void declare_global(Checker *c, const char *name, Guess guess) {
    bool is_new;
    *global_guess(&c->globals, name, &is_new) = guess;
    if (!c->collecting)
        return;
    Guess *all = global_guess(&c->declared, name, &is_new);
    *all = is_new ? guess : guess_join(c, *all, guess);
}

void checker_declare(Checker *c, const char *name, Guess guess) {
    int sound;
    if (c->refused)
        guess = guess_unknown();
    if (name_map_get(&c->assigned, name, &sound))
        guess = sound ? guess_loosened(c, guess) : guess_unknown();
    if (c->depth == 0 && !c->in_formula)
        declare_global(c, name, guess);
    else
        add_name(&c->locals, name, guess);
}

/* A local, as it is. */
static void push_name(Checker *c, const char *name, Guess guess) {
    add_name(&c->locals, name, guess);
}

void checker_forget(Checker *c, int count) {
    c->locals.count = count;
}

static void shadow_name(Checker *c, const Node *node) {
    if (node->type == NODE_NAME)
        push_name(c, node->as.name.name, guess_unknown());
}

static void shadow_asked(Checker *c, const Node *node) {
    if (node->type == NODE_UNARY) {
        shadow_asked(c, node->as.unary.operand);
    } else if (node->type == NODE_CALL && strcmp(node->as.call.name, "kind") == 0 &&
               node->as.call.count == 1) {
        shadow_name(c, node->as.call.args[0].value);
    } else if (node->type == NODE_BINARY) {
        const Node *left = node->as.binary.left, *right = node->as.binary.right;
        if (right->type == NODE_NONE)
            shadow_name(c, left);
        if (left->type == NODE_NONE)
            shadow_name(c, right);
        shadow_asked(c, left);
        shadow_asked(c, right);
    }
}

int checker_shadow_asked(Checker *c, const Node *condition) {
    int count = c->locals.count;
    shadow_asked(c, condition);
    return count;
}

/* ---- which names are changed ---- */

/* Is this expression, given to `name`, certainly not `none`? By its form alone. */
static bool never_none(const Checker *c, const Node *node, const char *name) {
    switch ((int)node->type) {
    case NODE_NONE:
    case NODE_INDEX:
    case NODE_FIELD:
        return false;
    case NODE_NAME:
        return strcmp(node->as.name.name, name) == 0;
    case NODE_CALL:
        return check_call_gives(c, node);
    case NODE_IF:
        return never_none(c, node->as.choice.then, name) && never_none(c, node->as.choice.otherwise, name);
    default:
        return true;
    }
}

static void note_assigned_in(void *context, const Block *block) {
    Checker *c = context;
    for (int i = 0; i < block->count; i++) {
        const Statement *s = block->items[i];
        int sound = 1;
        if (s->type == STATEMENT_ASSIGN) {
            name_map_get(&c->assigned, s->as.let.name, &sound);
            sound = sound && never_none(c, s->as.let.value, s->as.let.name);
            name_map_set(&c->assigned, s->as.let.name, sound);
        }
        tree_visit_statement(s, &(TreeVisit){.block = note_assigned_in, .context = c});
    }
}

/* ---- statements ---- */

static void check_statement(Checker *c, const Statement *s);

/* Is there an error that was found before? */
static bool has_mistake(const Checker *c, Span span) {
    int low = 0, high = c->mistake_count;
    while (low < high) {
        int middle = low + (high - low) / 2;
        if (c->mistakes[middle] < span.start)
            low = middle + 1;
        else
            high = middle;
    }
    return low < c->mistake_count && c->mistakes[low] < span.end;
}

/* A body and the names in it. */
static void check_body(Checker *c, const Block *block) {
    int count = c->locals.count;
    c->depth++;
    c->guarded++;
    for (int i = 0; i < block->count; i++)
        check_statement(c, block->items[i]);
    c->guarded--;
    c->depth--;
    checker_forget(c, count);
}

static void check_assign(Checker *c, const Statement *s) {
    Guess old = checker_find(c, s->as.let.name), changed = check_expr(c, s->as.let.value);
    Fault fault = {0};
    if (guess_known(old) && guess_known(changed) &&
        !kind_check_kept(c->registry->units, old.value, changed.value, s->as.let.name, &fault))
        check_report(c, &fault, (CodeSpan){.at = s->span});
}

/* Are all of a kind the value could be, as far as they are known? Of a list each item is asked. */
static bool fits_input(const Checker *c, Guess value, Guess other) {
    if (value.value.tag == TAG_LIST)
        value = guess_item(c, value.value);
    return !guess_known(value) || !guess_known(other) ||
           kind_same(c->registry->units, value.value, other.value);
}

static void report_input(Checker *c, const Statement *s, MessageId id) {
    Fault fault = {0};
    fault_set(&fault, id, ARGS(s->as.input.name));
    check_report(c, &fault, (CodeSpan){.at = s->as.input.name_span});
}

/* What an input with choices is: what they are, or its default. */
static Guess check_choices(Checker *c, const Statement *s, Guess initial) {
    Guess choices = check_expr(c, s->as.input.from);
    if (!guess_known(choices))
        return initial;
    if (choices.value.tag != TAG_LIST || (choices.exact && choices.value.as.list->count == 0)) {
        report_input(c, s, MSG_INPUT_CHOICES);
        return initial;
    }
    return s->as.input.value ? initial : guess_item(c, choices.value);
}

static void check_input(Checker *c, const Statement *s) {
    const Node *from = s->as.input.from, *to = s->as.input.to, *value = s->as.input.value;
    Guess initial = value ? check_expr(c, value) : guess_unknown();
    if (to) {
        Guess low = check_expr(c, from), high = check_expr(c, to);
        if (!fits_input(c, initial, low) || !fits_input(c, initial, high))
            report_input(c, s, MSG_INPUT_DEFAULT_KIND);
    } else if (from) {
        initial = check_choices(c, s, initial);
    }
    checker_declare(c, s->as.input.name, initial);
}

static void check_show(Checker *c, const Statement *s) {
    for (int i = 0; i < s->as.show.count; i++) {
        const ShowItem *item = &s->as.show.items[i];
        Guess shown = check_expr(c, item->expr);
        if (item->label)
            check_expr(c, item->label);
        check_format(c, shown, item->format, item->expr->span);
    }
}

static void check_text(Checker *c, Guess guess, Span at) {
    Fault fault = {0};
    if (!guess_known(guess) || guess.value.tag == TAG_TEXT)
        return;
    kind_fault(c->registry->units, MSG_SAY_TEXT, guess.value, NULL, &fault);
    check_report(c, &fault, (CodeSpan){.at = at});
}

static void check_event(Checker *c, const Statement *s) {
    Guess date = check_expr(c, s->as.event.date), text = check_expr(c, s->as.event.text);
    bool is_date = date.value.tag == TAG_READING && date.value.unit == UNIT_DATE;
    Fault fault = {0};
    if (guess_known(date) && !is_date) {
        kind_fault(c->registry->units, MSG_EVENT_DATE, date.value, NULL, &fault);
        check_report(c, &fault, (CodeSpan){.at = s->as.event.date->span});
    }
    check_text(c, text, s->as.event.text->span);
}

static void check_if(Checker *c, const Statement *s) {
    int count = c->locals.count;
    for (int i = 0; i < s->as.choice.count; i++) {
        checker_shadow_asked(c, s->as.choice.branches[i].condition);
        c->failed = false;
        check_condition(c, s->as.choice.branches[i].condition);
        check_body(c, &s->as.choice.branches[i].block);
    }
    if (s->as.choice.has_otherwise)
        check_body(c, &s->as.choice.otherwise);
    checker_forget(c, count);
}

/* Bounds and step of a counted loop; what its variable is. */
static Guess check_range(Checker *c, const Node *from, const Node *to, const Node *by) {
    Guess first = check_expr(c, from), last = check_expr(c, to);
    Guess step = by ? check_expr(c, by) : guess_unknown();
    Span span = span_join(from->span, to->span);
    Fault fault = {0};
    bool known = guess_known(first) && guess_known(last) && (!by || guess_known(step));
    if (known && !kind_check_range(c->registry->units, first.value, last.value, step.value, &fault)) {
        check_report(c, &fault, (CodeSpan){.at = by ? span_join(span, by->span) : span});
        return guess_unknown();
    }
    return value_is_quantity(first.value) ? guess_computed(c, first.value, false) : guess_unknown();
}

Guess check_list_source(Checker *c, const Node *node, bool entries, Guess *second) {
    Guess source = check_expr(c, node);
    Fault fault = {0};
    *second = guess_unknown();
    if (!guess_known(source))
        return source;
    if (source.value.tag == TAG_LIST && !entries)
        return guess_item(c, source.value);
    if (source.value.tag == TAG_LIST) {
        *second = guess_item(c, source.value);
        return guess_of_unit(c, UNIT_NUMBER);
    }
    if (source.value.tag == TAG_RECORD && entries) {
        *second = source.exact ? guess_field(c, source.value) : guess_unknown();
        return guess_of_tag(c, TAG_TEXT);
    }
    kind_fault_loop(c->registry->units, source.value, entries, &fault);
    check_report(c, &fault, (CodeSpan){.at = node->span});
    return guess_unknown();
}

/* What the variables of a counted loop are. */
static Guess check_turns(Checker *c, const TurnsExpr *turns, Guess *second) {
    *second = guess_unknown();
    return turns->list ? check_list_source(c, turns->list, turns->second != NULL, second)
                       : check_range(c, turns->from, turns->to, turns->by);
}

/* A loop's own names and, of a table of two inputs, those across; then its body. */
static void check_turn(Checker *c, const TurnsExpr *turns, const TurnsExpr *across, const Block *body) {
    int count = c->locals.count;
    Guess second, first = check_turns(c, turns, &second);
    c->depth++;
    checker_declare(c, turns->name, first);
    if (turns->second)
        checker_declare(c, turns->second, second);
    if (across)
        check_turn(c, across, NULL, body);
    else
        check_body(c, body);
    c->depth--;
    checker_forget(c, count);
}

static void check_table(Checker *c, const Statement *s) {
    const TurnsExpr *across = &s->as.table.across;
    check_turn(c, &s->as.table.turns, across->name ? across : NULL, &s->as.table.body);
}

static void check_for(Checker *c, const Statement *s) {
    check_turn(c, &s->as.for_.turns, NULL, &s->as.for_.body);
}

static void check_while(Checker *c, const Statement *s) {
    int count = checker_shadow_asked(c, s->as.while_.condition);
    check_condition(c, s->as.while_.condition);
    check_body(c, &s->as.while_.body);
    checker_forget(c, count);
}

/* ---- find ---- */

static Guess check_unknown(Checker *c, const Unknown *unknown) {
    Guess from = check_expr(c, unknown->from), to = check_expr(c, unknown->to);
    if (!guess_known(from) || !guess_known(to))
        return value_is_quantity(from.value) ? guess_computed(c, from.value, false) : guess_unknown();
    bool fits = value_is_quantity(from.value) && value_is_quantity(to.value) &&
                unit_same_kind(c->registry->units, from.value.unit, to.value.unit);
    if (fits)
        return guess_computed(c, from.value, false);
    Fault fault = {0};
    kind_fault_pair(c->registry->units, MSG_FIND_BOUND, from.value, to.value, &fault);
    check_report(c, &fault, (CodeSpan){.at = span_join(unknown->from->span, unknown->to->span)});
    return guess_unknown();
}

static void check_find_condition(Checker *c, const Node *condition) {
    const Node *left = condition->as.binary.left, *right = condition->as.binary.right;
    Guess a = check_expr(c, left), b = check_expr(c, right);
    Arith arith = {.units = c->registry->units, .heap = c->registry->heap};
    Fault fault = {0};
    double gap;
    arith.fault = &fault;
    if (guess_known(a) && guess_known(b) && !arith_gap(&arith, a.value, b.value, &gap))
        check_report(c, &fault, (CodeSpan){.at = condition->span, .left = left->span, .right = right->span});
}

/* Leaves the unknowns as the last locals, by the names they have inside. */
static void check_find_parts(Checker *c, const FindTree *find) {
    int count = c->locals.count;
    for (int i = 0; i < find->unknown_count; i++) /* bounds see the names from outside */
        push_name(c, "", check_unknown(c, &find->unknowns[i]));
    for (int i = 0; i < find->unknown_count; i++)
        push_name(c, find->unknowns[i].name, c->locals.items[count + i].guess);
    for (int i = 0; i < find->condition_count; i++)
        check_find_condition(c, find->conditions[i]);
    if (find->goal)
        check_expr(c, find->goal);
    checker_forget(c, count + find->unknown_count);
}

static void check_find(Checker *c, const Statement *s) {
    int count = c->locals.count, unknowns = s->as.find.unknown_count;
    check_find_parts(c, &s->as.find);
    KnownName *found = mem_array((size_t)unknowns + 1, sizeof *found);
    memcpy(found, c->locals.items + count, (size_t)unknowns * sizeof *found);
    checker_forget(c, count);
    for (int i = 0; i < unknowns; i++)
        checker_declare(c, s->as.find.unknowns[i].name, found[i].guess);
    mem_free(found);
}

Guess check_find_value(Checker *c, const Node *node) {
    const FindTree *find = &node->as.find;
    int count = c->locals.count;
    check_find_parts(c, find);
    Guess found = c->locals.items[count].guess;
    if (find->unknown_count > 1) {
        RecordObject *record = record_new(c->registry->heap, (uint32_t)find->unknown_count);
        for (int i = 0; i < find->unknown_count; i++) {
            const char *name = find->unknowns[i].name;
            record->fields[i].name = text_object_intern(c->registry->heap, name, strlen(name));
            record->fields[i].value = c->locals.items[count + i].guess.value;
        }
        found = guess_exact(value_of_record(record));
    }
    checker_forget(c, count);
    return found;
}

/* ---- checks ---- */

static bool is_comparison(const Node *node) {
    return node->type == NODE_BINARY && operator_compares(node->as.binary.op);
}

static void check_why(Checker *c, const Statement *s) {
    c->guarded++;
    if (s->as.expect.why)
        check_expr(c, s->as.expect.why);
    c->guarded--;
}

static void check_expect_error(Checker *c, const Statement *s) {
    check_why(c, s);
}

static void check_expect(Checker *c, const Statement *s) {
    const Node *node = s->as.expect.condition;
    check_why(c, s);
    if (node->type == NODE_NEAR) {
        check_near(c, node, s->span);
    } else if (is_comparison(node)) {
        Guess left = check_expr(c, node->as.binary.left), right = check_expr(c, node->as.binary.right);
        CodeSpan spans = {
            .at = s->span, .left = node->as.binary.left->span, .right = node->as.binary.right->span};
        check_comparison(c, node->as.binary.op, left, right, spans);
    } else {
        Guess answer = check_expr(c, node);
        Fault fault = {0};
        if (guess_known(answer) && !kind_check_truth(c->registry->units, answer.value, &fault))
            check_report(c, &fault, (CodeSpan){.at = node->span});
    }
}

/* ---- formulas ---- */

const FormulaTree *checker_formula_tree(const Checker *c, const Formula *formula) {
    int at;
    if (formula->module != c->module || !name_map_get(&c->formulas, formula->name, &at))
        return NULL;
    const Statement *s = c->program->block.items[at];
    return s->span.start == formula->span.start ? &s->as.formula : NULL;
}

bool checker_formula_is_faulty(const Checker *c, const Formula *formula) {
    int at;
    return formula->module == c->module && name_map_get(&c->faulty, formula->name, &at);
}

static void note_formulas(Checker *c) {
    const Block *block = &c->program->block;
    for (int i = 0; i < block->count; i++) {
        if (block->items[i]->type != STATEMENT_FORMULA)
            continue;
        name_map_set(&c->formulas, block->items[i]->as.formula.name, i);
        if (has_mistake(c, block->items[i]->span))
            name_map_set(&c->faulty, block->items[i]->as.formula.name, i);
    }
}

static void check_given(Checker *c, const Node *node) {
    Guess given = check_expr(c, node);
    Fault fault = {0};
    if (c->result && guess_known(given) &&
        !kind_check_is(c->registry->units, c->result, given.value, true, &fault))
        check_report(c, &fault, (CodeSpan){.at = node->span});
}

static void check_parameters(Checker *c, const FormulaTree *tree, const Formula *formula) {
    for (int i = 0; i < tree->param_count; i++) {
        const Parameter *param = &tree->params[i];
        const KindCheck *kind =
            checker_formula_is_faulty(c, formula) ? NULL : formula_parameter_kind(formula, i);
        if (param->initial)
            check_expr(c, param->initial); /* its kind counts where a call leaves the argument out */
        checker_declare(c, param->name, kind ? guess_of_check(c, kind) : guess_unknown());
    }
}

static void check_formula(Checker *c, const Statement *s) {
    const FormulaTree *tree = &s->as.formula;
    int index;
    if (c->collecting || !name_map_get(&c->module->formulas, tree->name, &index))
        return;
    const Formula *formula = c->registry->formulas[index];
    if (checker_formula_tree(c, formula) != tree)
        return;
    c->in_formula = true;
    check_parameters(c, tree, formula);
    c->result = checker_formula_is_faulty(c, formula) ? NULL : formula_result_kind(formula);
    if (tree->expr)
        check_given(c, tree->expr);
    else
        check_body(c, &tree->block);
    c->result = NULL;
    c->in_formula = false;
    checker_forget(c, 0);
}

/* ---- all of them ---- */

/* A cell that fails is a dash, and the run continues: no error. */
static void check_column(Checker *c, const Statement *s) {
    c->silent++;
    check_expr(c, s->as.column.expr);
    c->silent--;
}

static void check_let(Checker *c, const Statement *s) {
    checker_declare(c, s->as.let.name, check_expr(c, s->as.let.value));
}

static void check_value(Checker *c, const Statement *s) {
    check_expr(c, s->as.simple.expr);
}

static void check_say(Checker *c, const Statement *s) {
    check_text(c, check_expr(c, s->as.simple.expr), s->as.simple.expr->span);
}

static void check_give(Checker *c, const Statement *s) {
    check_given(c, s->as.simple.expr);
}

typedef void CheckStatement(Checker *c, const Statement *s);
static CheckStatement *const checks[] = {
#define STATEMENT(type, allowed, parse, check, ...) [STATEMENT_##type] = check,
#include "front/language.def"
};

static void check_statement(Checker *c, const Statement *s) {
    /* a mistake in a statement that holds others may be theirs */
    c->refused = c->failed = !tree_has_block(s->type) && has_mistake(c, s->span);
    if (checks[s->type])
        checks[s->type](c, s);
}

static void walk(Checker *c, bool collecting) {
    c->collecting = collecting;
    c->silent = collecting;
    c->globals.count = 0;
    name_map_free(&c->globals.places);
    c->globals.places = (NameMap){0};
    c->steps = 0;
    for (int i = 0; i < c->program->block.count; i++)
        check_statement(c, c->program->block.items[i]);
}

static int compare_places(const void *a, const void *b) {
    uint32_t left = *(const uint32_t *)a, right = *(const uint32_t *)b;
    return left < right ? -1 : left > right;
}

static void note_mistakes(Checker *c) {
    c->mistakes = mem_array((size_t)c->errors->count + 1, sizeof *c->mistakes);
    for (int i = 0; i < c->errors->count; i++)
        if (c->errors->items[i]->source == c->source)
            c->mistakes[c->mistake_count++] = c->errors->items[i]->span.start;
    qsort(c->mistakes, (size_t)c->mistake_count, sizeof *c->mistakes, compare_places);
}

void check_kinds(Registry *registry, Module *module, const Program *program, const CompileHost *host,
                 DiagList *errors) {
    Checker c = {.registry = registry,
                 .module = module,
                 .program = program,
                 .host = host,
                 .errors = errors,
                 .source = module->source};
    note_mistakes(&c);
    note_formulas(&c);
    note_assigned_in(&c, &program->block);
    walk(&c, true);
    walk(&c, false);
    mem_free(c.locals.items);
    mem_free(c.globals.items);
    mem_free(c.declared.items);
    name_map_free(&c.globals.places);
    name_map_free(&c.declared.places);
    name_map_free(&c.formulas);
    name_map_free(&c.faulty);
    mem_free(c.mistakes);
    name_map_free(&c.assigned);
}
