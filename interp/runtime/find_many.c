/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `find` with several unknowns, several conditions, or a goal (docs/reference/language.md, "Several
 * unknowns"): hands the conditions to the solver of find/constrained.h as plain functions, and puts what
 * it found into words. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "find/constrained.h"
#include "runtime/finder.h"
#include "values/display.h"

enum { SHOWN_DIGITS_MOST = 15 };

static SequentialAnswer evaluate(void *context, const double *x, double *gaps, double *tolerances,
                                 double *goal) {
    Finder *f = context;
    if (!finder_evaluate(f, x))
        return f->stopped ? SEQUENTIAL_STOP : SEQUENTIAL_NO_VALUE;
    for (int i = 0; i < f->plan->condition_count; i++) {
        gaps[i] = f->gaps[i].gap;
        tolerances[i] = arith_tolerance(f->gaps[i].size, 0);
    }
    *goal = f->goal;
    return SEQUENTIAL_VALUE;
}

/* ---- messages ---- */

/* A piece of the script, spaces and line ends made one. */
static MessageArg source_text(const Finder *f, Span span) {
    const Source *source = vm_frame(f->vm)->chunk->source;
    Text text = {0};
    bool blank = false;
    for (uint32_t i = span.start; i < span.end; i++) {
        char c = source->text[i];
        bool is_blank = c == ' ' || c == '\t' || c == '\n' || c == '\r';
        if (is_blank && !blank && text.length)
            text_add_char(&text, ' ');
        if (!is_blank)
            text_add_char(&text, c);
        blank = is_blank;
    }
    return arg_taken(ARG_TEXT, &text);
}

/* Two values with as many digits as it takes to tell them apart. */
static void show_apart(const Finder *f, Value a, Value b, char **shown_a, char **shown_b) {
    *shown_a = vm_shown(f->vm, a);
    *shown_b = vm_shown(f->vm, b);
    for (int digits = 6; digits <= SHOWN_DIGITS_MOST && strcmp(*shown_a, *shown_b) == 0; digits += 3) {
        FormatSpec spec = {FORMAT_DIGITS, digits};
        Text text_a = {0}, text_b = {0};
        display_quantity(&text_a, f->vm->registry->units, a.as.number, a.unit, spec);
        display_quantity(&text_b, f->vm->registry->units, b.as.number, b.unit, spec);
        mem_free(*shown_a);
        mem_free(*shown_b);
        *shown_a = text_take(&text_a);
        *shown_b = text_take(&text_b);
    }
}

/* "a = 2 L, b = 3 L" */
static MessageArg places(const Finder *f, const double *x) {
    Text list = {0};
    for (int j = 0; j < f->plan->unknown_count; j++) {
        char *shown = message_take(PHRASE_NAME_IS, ARGS(f->plan->unknowns[j].name, finder_at(f, j, x[j])));
        text_add_string(&list, j ? ", " : "");
        text_add_string(&list, shown);
        mem_free(shown);
    }
    return arg_taken(ARG_LIST, &list);
}

/* "a, b and c" or "a, b or c" */
static MessageArg names(const Finder *f, MessageId joint) {
    Text list = {0};
    for (int j = 0; j < f->plan->unknown_count; j++) {
        message_add_joint(&list, j == 0, j + 1 == f->plan->unknown_count, joint);
        text_add_string(&list, f->plan->unknowns[j].name);
    }
    return arg_taken(ARG_LIST, &list);
}

/* The condition that fails, how near it came, and where. A side that never moves is the target. */
static bool fail_condition(Finder *f, int k, const double *x) {
    const FindPart *part = &f->plan->conditions[k];
    if (f->vm->quiet || !finder_evaluate(f, x))
        return false; /* within the trial of another find nobody hears it */
    if (!f->gaps[k].left_moves && !f->gaps[k].right_moves && f->low[0] < f->high[0])
        return finder_fail(f, MSG_FIND_FLAT, ARGS(names(f, PHRASE_JOINED_OR)), part->span);
    bool turned = !f->gaps[k].left_moves && f->gaps[k].right_moves;
    Value left = vm_registers(f->vm)[part->left], right = vm_registers(f->vm)[part->right];
    Relation relation = part->relation;
    if (turned && relation != RELATION_EQUAL)
        relation = relation == RELATION_LESS_EQUAL ? RELATION_GREATER_EQUAL : RELATION_LESS_EQUAL;
    char *reached, *target;
    show_apart(f, turned ? right : left, turned ? left : right, &reached, &target);
    MessageArg wanted =
        relation == RELATION_EQUAL
            ? arg_text(target)
            : arg_phrase(relation == RELATION_LESS_EQUAL ? PHRASE_OR_LESS : PHRASE_OR_MORE, ARGS(target));
    finder_fail_hint(f, MSG_FIND_CANNOT,
                     ARGS(source_text(f, turned ? part->right_span : part->left_span), reached, wanted),
                     k == 0   ? HINT_FIND_AT
                     : k == 1 ? HINT_FIND_AT_BEHIND_ONE
                              : HINT_FIND_AT_BEHIND,
                     ARGS(places(f, x)), part->span);
    mem_free(reached);
    mem_free(target);
    return false;
}

static bool fail_no_whole(Finder *f, int j) {
    const FindUnknown *unknown = &f->plan->unknowns[j];
    return finder_fail(f, MSG_FIND_NO_WHOLE,
                       ARGS(unknown->name, finder_at(f, j, f->low[j]), finder_at(f, j, f->high[j])),
                       span_join(unknown->from_span, unknown->to_span));
}

static bool conclude(Finder *f, ConstrainedOutcome outcome, const ConstrainedResult *result, Span span) {
    switch (outcome) {
    case CONSTRAINED_FOUND:
        if (!isnan(result->another))
            finder_note_several(f, result->x[0], result->another);
        return finder_settle(f, result->x);
    case CONSTRAINED_IMPOSSIBLE:
        return fail_condition(f, result->failed, result->x);
    case CONSTRAINED_NO_VALUES:
        return finder_fail_everywhere(f);
    case CONSTRAINED_NO_WHOLE:
        return fail_no_whole(f, result->failed);
    case CONSTRAINED_NOT_CONVERGED:
        return finder_fail(f, MSG_FIND_NOT_CONVERGED, ARGS(names(f, PHRASE_JOINED_AND)), span);
    case CONSTRAINED_STOPPED:
        break;
    }
    return false;
}

/* ---- the search ---- */

static const ConstrainedRelation relations[] = {
    [RELATION_EQUAL] = CONSTRAINED_EQUAL,
    [RELATION_LESS_EQUAL] = CONSTRAINED_AT_MOST,
    [RELATION_GREATER_EQUAL] = CONSTRAINED_AT_LEAST,
};

bool vm_find_many(Vm *vm, const FindPlan *plan, Span span) {
    Finder f;
    size_t n = (size_t)plan->unknown_count, m = (size_t)plan->condition_count;
    if (!finder_open(&f, vm, plan))
        return false;
    double *x = mem_array(n, sizeof *x);
    if (finder_recall(&f, x)) {
        mem_free(x);
        return finder_close(&f, true);
    }
    bool *whole = mem_array(n, sizeof *whole);
    ConstrainedRelation *relation = mem_array(m + 1, sizeof *relation);
    for (size_t j = 0; j < n; j++)
        whole[j] = plan->unknowns[j].whole;
    for (size_t i = 0; i < m; i++)
        relation[i] = relations[plan->conditions[i].relation];
    ConstrainedProblem problem = {.unknowns = plan->unknown_count,
                                  .low = f.low,
                                  .high = f.high,
                                  .whole = whole,
                                  .conditions = plan->condition_count,
                                  .relations = relation,
                                  .goal_direction = plan->direction,
                                  .evaluate = evaluate,
                                  .context = &f};
    ConstrainedResult result = {.x = x};
    ConstrainedOutcome outcome = constrained_solve(&problem, &result);
    bool found = conclude(&f, outcome, &result, span);
    mem_free(x);
    mem_free(whole);
    mem_free(relation);
    return finder_close(&f, found);
}
