/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which starts, which branch, and what to say when nothing does: all around the local solver of sequential.c.
 *
 * Unknowns are scaled to t in [0, 1]; gaps and the goal are scaled to vary by about 1 over the probes, so
 * that conditions in °Bx, L and money weigh alike. When the conditions cannot all be met they are taken in
 * their order: the first that cannot be met together with those before it is named, at the place where it is
 * nearest met. */
#include "find/constrained.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "find/constrained_line.h"
#include "numbers/numeric.h"

enum {
    PROBES = 120,
    LINE_PROBES = 20,
    CORNER_UNKNOWNS_MOST = 5, /* 2^5 corners */
    STARTS_MOST = 8,
    AGREEING_STARTS = 3,  /* so many starts that end at the best place are believed */
    TRIES_MOST = 1000000, /* whole numbers tried one by one */
    TRIES_BEFORE_BRANCHING = 2000,
    BRANCHES_MOST = 20000
};
#define LINEAR       1e-10 /* of a function's variation: what is left beside a plane */
#define SAME_PLACE   1e-6
#define WHOLE_ENOUGH 1e-6
#define AT_BOUND     1e-13

typedef struct Box {
    double *lower, *upper;
} Box; /* in t */

typedef struct Probe {
    double *t, *gaps;
    double goal, score;
    bool has_value;
} Probe;

typedef struct Search {
    const ConstrainedProblem *problem;
    int n, m;
    double *range, *middle;
    double *weights; /* by condition: 1 / its variation */
    double goal_weight, goal_shift;
    bool is_weighed; /* once: goals of different boxes are compared */
    double *x, *gaps, *tolerances;
    bool *equal;
    Probe *probes;
    int probe_count, value_count;
    double *somewhere;      /* the best probe of all boxes */
    double somewhere_score; /* infinite: none has a value */
    /* Diagnosis: conditions up to `stage` are met, and the distance of that one, from the side it is on, is
     * the goal. */
    int stage; /* -1: the problem itself */
    double side;
    const double *hint;          /* a place to start from too, or NULL */
    double *plane, *plane_slope; /* of a linear problem: gaps by t, goal by t */
    bool is_linear;
    double *stage_plane, *stage_slope;
    int branches;
    bool is_fine; /* take more pains with derivatives */
    bool gave_up, stopped;
} Search;

/* ---- scaling ---- */

static double x_of(const Search *s, int j, double t) {
    const ConstrainedProblem *p = s->problem;
    double x = t >= 1 ? p->high[j] : p->low[j] + t * s->range[j];
    return p->whole[j] && fabs(x - round(x)) < 1e-9 ? round(x) : x;
}

static double t_of(const Search *s, int j, double x) {
    return s->range[j] > 0 ? numeric_clamp((x - s->problem->low[j]) / s->range[j], 0, 1) : 0;
}

static double sign_of(const Search *s, int i) {
    return s->problem->relations[i] == CONSTRAINED_AT_MOST ? -1 : 1;
}

static SequentialAnswer evaluate_raw(Search *s, const double *t, double *goal) {
    for (int j = 0; j < s->n; j++)
        s->x[j] = x_of(s, j, t[j]);
    SequentialAnswer answer = s->problem->evaluate(s->problem->context, s->x, s->gaps, s->tolerances, goal);
    s->stopped = s->stopped || answer == SEQUENTIAL_STOP;
    return answer;
}

static SequentialAnswer evaluate_scaled(void *context, const double *t, double *values, double *tolerances,
                                        double *goal) {
    Search *s = context;
    SequentialAnswer answer = evaluate_raw(s, t, goal);
    if (answer != SEQUENTIAL_VALUE)
        return answer;
    int count = s->stage < 0 ? s->m : s->stage + 1;
    for (int i = 0; i < count; i++) {
        values[i] = s->gaps[i] * s->weights[i] * sign_of(s, i);
        tolerances[i] = s->tolerances[i] * s->weights[i];
    }
    if (s->stage >= 0) {
        values[s->stage] = s->side * s->gaps[s->stage] * s->weights[s->stage];
        *goal = values[s->stage];
    } else {
        *goal = -s->problem->goal_direction * s->goal_weight * (*goal - s->goal_shift);
    }
    return answer;
}

static double unmet(const Search *s, int i, double gap) {
    return s->problem->relations[i] == CONSTRAINED_EQUAL ? fabs(gap) : fmax(0, -gap * sign_of(s, i));
}

/* ---- probes ---- */

static double halton(int index, int base) {
    double part = 1, sum = 0;
    for (; index > 0; index /= base) {
        part /= base;
        sum += part * (index % base);
    }
    return sum;
}

static int nth_prime(int n) {
    static const int primes[] = {2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53};
    return primes[n % (int)(sizeof primes / sizeof *primes)];
}

static void add_probe(Search *s, Probe *probe) {
    probe->has_value = !s->stopped && evaluate_raw(s, probe->t, &probe->goal) == SEQUENTIAL_VALUE;
    memcpy(probe->gaps, s->gaps, (size_t)s->m * sizeof(double));
    s->value_count += probe->has_value;
}

static int free_unknowns(const Search *s, const Box *box) {
    int count = 0;
    for (int j = 0; j < s->n; j++)
        count += box->upper[j] > box->lower[j];
    return count;
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* 1 / the distance of the quartiles: what a pole or a high power does in a corner does not count. */
static double weight_of(double *values, int count) {
    qsort(values, (size_t)count, sizeof *values, by_size);
    double spread = values[count - 1 - count / 4] - values[count / 4], range = values[count - 1] - values[0];
    spread = fmax(spread, range * 1e-9);
    return spread > 0 && isfinite(1 / spread) ? 1 / spread : 1;
}

static void weigh(Search *s) {
    double *values = mem_array((size_t)s->value_count, sizeof *values);
    for (int i = -1; i < s->m; i++) {
        int count = 0;
        for (int k = 0; k < s->probe_count; k++)
            if (s->probes[k].has_value)
                values[count++] = i < 0 ? s->probes[k].goal : s->probes[k].gaps[i];
        if (i < 0)
            s->goal_weight = weight_of(values, count);
        else
            s->weights[i] = weight_of(values, count);
    }
    mem_free(values);
    s->is_weighed = true;
}

/* How promising a probe is as a start: conditions first, then what is wanted. */
static void score_probes(Search *s) {
    if (s->value_count && !s->is_weighed)
        weigh(s);
    for (int k = 0; k < s->probe_count; k++) {
        Probe *probe = &s->probes[k];
        probe->score = -s->problem->goal_direction * probe->goal * s->goal_weight * 0.1;
        for (int i = 0; i < s->m; i++)
            probe->score += unmet(s, i, probe->gaps[i]) * s->weights[i];
        for (int j = 0; j < s->n && !s->problem->goal_direction; j++)
            probe->score += 0.05 * (probe->t[j] - 0.5) * (probe->t[j] - 0.5);
        if (probe->has_value && probe->score < s->somewhere_score) {
            s->somewhere_score = probe->score;
            memcpy(s->somewhere, probe->t, (size_t)s->n * sizeof(double));
        }
    }
}

/* The middle, both ends of every range from there, the corners, and places spread evenly (Halton's sequence).
 */
static void probe_box(Search *s, const Box *box) {
    int free = free_unknowns(s, box), corners = free <= CORNER_UNKNOWNS_MOST ? 1 << free : 0;
    int axes = 2 * s->n, spread = free ? PROBES : 0;
    s->value_count = 0;
    s->probe_count = 1 + axes + corners + spread;
    for (int k = 0; k < s->probe_count && !s->stopped; k++) {
        Probe *probe = &s->probes[k];
        int corner = k - 1 - axes, bit = 0;
        for (int j = 0; j < s->n; j++) {
            double part = 0.5;
            if (k >= 1 && k <= axes)
                part = (k - 1) / 2 == j ? (k - 1) % 2 : 0.5;
            else if (corner >= 0 && corner < corners)
                part = box->upper[j] > box->lower[j] ? corner >> bit++ & 1 : 0;
            else if (corner >= corners)
                part = halton(corner - corners + 1, nth_prime(j));
            probe->t[j] = box->lower[j] + part * (box->upper[j] - box->lower[j]);
        }
        add_probe(s, probe);
    }
    score_probes(s);
}

/* Are all functions planes, as far as the probes tell? The axis probes give the slopes, the others are the
 * test. */
static bool recognise_planes(Search *s) {
    const Probe *base = &s->probes[0];
    if (s->value_count < s->probe_count)
        return false;
    for (int j = 0; j < s->n; j++) {
        const Probe *low = &s->probes[1 + 2 * j], *high = &s->probes[2 + 2 * j];
        double distance = high->t[j] - low->t[j];
        for (int i = 0; i < s->m; i++)
            s->plane[i * s->n + j] = distance > 0 ? (high->gaps[i] - low->gaps[i]) / distance : 0;
        s->plane_slope[j] = distance > 0 ? (high->goal - low->goal) / distance : 0;
    }
    for (int k = 1; k < s->probe_count; k++) {
        const Probe *probe = &s->probes[k];
        double goal = base->goal - probe->goal;
        for (int j = 0; j < s->n; j++)
            goal += s->plane_slope[j] * (probe->t[j] - base->t[j]);
        if (s->problem->goal_direction && fabs(goal) * s->goal_weight > LINEAR)
            return false;
        for (int i = 0; i < s->m; i++) {
            double gap = base->gaps[i] - probe->gaps[i];
            for (int j = 0; j < s->n; j++)
                gap += s->plane[i * s->n + j] * (probe->t[j] - base->t[j]);
            if (fabs(gap) * s->weights[i] > LINEAR)
                return false;
        }
    }
    return true;
}

/* ---- the local problem of this stage ---- */

static SequentialProblem local_problem(Search *s, const Box *box) {
    int count = s->stage < 0 ? s->m : s->stage + 1;
    for (int i = 0; i < count; i++)
        s->equal[i] = i != s->stage && s->problem->relations[i] == CONSTRAINED_EQUAL;
    for (int i = 0; i < count; i++)
        for (int j = 0; j < s->n; j++)
            s->stage_plane[i * s->n + j] =
                s->plane[i * s->n + j] * s->weights[i] * (i == s->stage ? s->side : sign_of(s, i));
    for (int j = 0; j < s->n; j++)
        s->stage_slope[j] = s->stage < 0 ? -s->problem->goal_direction * s->goal_weight * s->plane_slope[j]
                                         : s->stage_plane[s->stage * s->n + j];
    return (SequentialProblem){.unknowns = s->n,
                               .conditions = count,
                               .equal = s->equal,
                               .lower = box->lower,
                               .upper = box->upper,
                               .middle = s->middle,
                               .has_goal = s->stage >= 0 || s->problem->goal_direction != 0,
                               .jacobian = s->is_linear ? s->stage_plane : NULL,
                               .slope = s->stage_slope,
                               .fine = s->is_fine,
                               .evaluate = evaluate_scaled,
                               .context = s};
}

typedef struct Best {
    SequentialPoint point;
    bool met, converged;
    int agreeing; /* starts that ended here */
} Best;

static void best_open(const Search *s, Best *best) {
    *best = (Best){0};
    sequential_point_open(&best->point, s->n, s->m);
}

static bool same_place(const Search *s, const double *a, const double *b) {
    for (int j = 0; j < s->n; j++)
        if (fabs(a[j] - b[j]) > SAME_PLACE)
            return false;
    return true;
}

static void offer(Search *s, Best *best, const SequentialPoint *point, bool converged, int conditions) {
    if (!(point->violation <= 1))
        return;
    double alike = best->converged && !converged ? 1e-6 : 1e-9;
    if (best->met && same_place(s, best->point.t, point->t)) {
        best->agreeing++;
        if (converged <= best->converged && point->goal >= best->point.goal)
            return;
    } else if (best->met && point->goal >= best->point.goal - alike) {
        return;
    } else {
        best->agreeing = 1;
    }
    best->met = true;
    best->converged = converged || (best->converged && same_place(s, best->point.t, point->t));
    sequential_point_copy(&best->point, point, s->n, conditions);
}

static bool solve_from(Search *s, const Box *box, const double *start, Best *best) {
    SequentialProblem local = local_problem(s, box);
    SequentialPoint point;
    SequentialOutcome outcome = SEQUENTIAL_STALLED;
    sequential_point_open(&point, s->n, s->m);
    for (int j = 0; j < s->n; j++)
        point.t[j] = numeric_clamp(start[j], box->lower[j], box->upper[j]);
    if (sequential_evaluate(&local, &point) == SEQUENTIAL_VALUE) {
        outcome = sequential_solve(&local, &point);
        offer(s, best, &point, outcome == SEQUENTIAL_CONVERGED, local.conditions);
    }
    sequential_point_close(&point);
    return !s->stopped;
}

/* The best probe by score that is not near one already used. */
static const Probe *next_start(const Search *s, const Probe *const *used, int count) {
    const Probe *best = NULL;
    for (int k = 0; k < s->probe_count; k++) {
        const Probe *probe = &s->probes[k];
        bool apart = probe->has_value && (!best || probe->score < best->score);
        for (int u = 0; apart && u < count; u++) {
            double distance = 0;
            for (int j = 0; j < s->n; j++)
                distance = fmax(distance, fabs(probe->t[j] - used[u]->t[j]));
            apart = distance > 0.1;
        }
        if (apart)
            best = probe;
    }
    return best;
}

/* Whole unknowns apart, the problem within a box. The probes of a box that holds it must be at hand. */
static void solve_box(Search *s, const Box *box, Best *best) {
    const Probe *used[STARTS_MOST];
    if (s->hint)
        solve_from(s, box, s->hint, best);
    solve_from(s, box, s->middle, best);
    if (s->is_linear)
        return;
    for (int count = 0; count < STARTS_MOST && best->agreeing < AGREEING_STARTS && !s->stopped; count++) {
        used[count] = next_start(s, used, count);
        if (!used[count])
            return;
        solve_from(s, box, used[count]->t, best);
    }
}

/* ---- whole unknowns ---- */

static double whole_low(const ConstrainedProblem *p, int j) {
    return ceil(p->low[j] - 1e-9);
}
static double whole_high(const ConstrainedProblem *p, int j) {
    return floor(p->high[j] + 1e-9);
}

static double count_tries(const ConstrainedProblem *p) {
    double tries = 1;
    for (int j = 0; j < p->unknowns; j++)
        if (p->whole[j])
            tries *= whole_high(p, j) - whole_low(p, j) + 1;
    return tries;
}

static void box_open(const Search *s, Box *box) {
    box->lower = mem_array(2 * (size_t)s->n, sizeof(double));
    box->upper = box->lower + s->n;
    for (int j = 0; j < s->n; j++) {
        bool whole = s->problem->whole[j];
        box->lower[j] = whole ? t_of(s, j, whole_low(s->problem, j)) : 0;
        box->upper[j] = whole ? t_of(s, j, whole_high(s->problem, j)) : s->range[j] > 0;
    }
}

static void box_close(Box *box) {
    mem_free(box->lower);
}

/* The whole unknown farthest from a whole number; -1 when all are whole. */
static int most_broken(const Search *s, const Box *box, const double *t) {
    int which = -1;
    double most = WHOLE_ENOUGH;
    for (int j = 0; j < s->n; j++) {
        double x = s->problem->low[j] + t[j] * s->range[j];
        if (s->problem->whole[j] && box->upper[j] > box->lower[j] && fabs(x - round(x)) > most) {
            most = fabs(x - round(x));
            which = j;
        }
    }
    return which;
}

static void settle_whole(Search *s, const Box *box, const double *t, Best *best) {
    size_t bytes = 2 * (size_t)s->n * sizeof(double);
    Box fixed = {.lower = mem_alloc(bytes)};
    memcpy(fixed.lower, box->lower, bytes);
    fixed.upper = fixed.lower + s->n;
    for (int j = 0; j < s->n; j++)
        if (s->problem->whole[j])
            fixed.lower[j] = fixed.upper[j] = t_of(s, j, round(s->problem->low[j] + t[j] * s->range[j]));
    solve_from(s, &fixed, t, best);
    mem_free(fixed.lower);
}

static void branch(Search *s, const Box *box, Best *best) {
    Best here;
    if (s->stopped || s->gave_up)
        return;
    if (++s->branches > BRANCHES_MOST) {
        s->gave_up = true;
        return;
    }
    best_open(s, &here);
    solve_box(s, box, &here);
    bool promising = here.met && (!best->met || here.point.goal < best->point.goal - 1e-9);
    int j = promising ? most_broken(s, box, here.point.t) : -1;
    if (promising && j < 0)
        settle_whole(s, box, here.point.t, best);
    if (promising && j >= 0) {
        double x = s->problem->low[j] + here.point.t[j] * s->range[j];
        double lower = box->lower[j], upper = box->upper[j];
        bool down_first = x - floor(x) < 0.5;
        for (int pass = 0; pass < 2; pass++) {
            bool down = (pass == 0) == down_first;
            if (down)
                box->upper[j] = t_of(s, j, floor(x));
            else
                box->lower[j] = t_of(s, j, ceil(x));
            branch(s, box, best);
            box->lower[j] = lower;
            box->upper[j] = upper;
        }
    }
    sequential_point_close(&here.point);
}

/* One by one: the first whole unknown turns slowest. False when all are done. */
static bool next_try(const Search *s, double *whole) {
    for (int j = s->n - 1; j >= 0; j--) {
        if (!s->problem->whole[j])
            continue;
        double next = whole[j] + 1;
        if (next > whole[j] && next <= whole_high(s->problem, j)) {
            whole[j] = next;
            return true;
        }
        whole[j] = whole_low(s->problem, j);
    }
    return false;
}

/* Some unknowns whole, few of them: each choice is a problem of its own in the others. */
static void try_each(Search *s, Best *best) {
    Box box;
    double *whole = mem_array((size_t)s->n, sizeof *whole);
    for (int j = 0; j < s->n; j++)
        whole[j] = whole_low(s->problem, j);
    do {
        box_open(s, &box);
        for (int j = 0; j < s->n; j++)
            if (s->problem->whole[j])
                box.lower[j] = box.upper[j] = t_of(s, j, whole[j]);
        Best here;
        best_open(s, &here);
        probe_box(s, &box);
        if (s->value_count)
            solve_box(s, &box, &here);
        if (here.met)
            offer(s, best, &here.point, here.converged, s->stage < 0 ? s->m : s->stage + 1);
        sequential_point_close(&here.point);
        box_close(&box);
    } while (!s->stopped && next_try(s, whole));
    mem_free(whole);
}

/* All unknowns whole: every one is tried. Keeps the best that meets all; else the one that meets the most
 * conditions in their order and is nearest in the next. */
static ConstrainedOutcome try_all(Search *s, ConstrainedResult *result) {
    const ConstrainedProblem *p = s->problem;
    double *x = mem_array(2 * (size_t)s->n, sizeof *x), *t = x + s->n, best = 0, goal = 0;
    bool first_will_do = s->n == 1 && !p->goal_direction;
    int most_met = -1;
    for (int j = 0; j < s->n; j++)
        x[j] = whole_low(p, j);
    do {
        double wanted = 0;
        int met = 0;
        for (int j = 0; j < s->n; j++)
            t[j] = t_of(s, j, x[j]);
        if (evaluate_raw(s, t, &goal) != SEQUENTIAL_VALUE)
            continue;
        while (met < s->m && unmet(s, met, s->gaps[met]) <= s->tolerances[met])
            met++;
        if (met < s->m)
            wanted = unmet(s, met, s->gaps[met]);
        else if (p->goal_direction)
            wanted = -p->goal_direction * goal;
        else
            for (int j = 0; j < s->n; j++)
                wanted += s->n == 1 ? x[j] : (t[j] - 0.5) * (t[j] - 0.5);
        if (met < most_met || (met == most_met && wanted >= best))
            continue;
        most_met = met;
        best = wanted;
        memcpy(result->x, x, (size_t)s->n * sizeof *x);
    } while (!s->stopped && !(first_will_do && most_met == s->m) && next_try(s, x));
    mem_free(x);
    result->failed = most_met;
    return s->stopped        ? CONSTRAINED_STOPPED
           : most_met < 0    ? CONSTRAINED_NO_VALUES
           : most_met < s->m ? CONSTRAINED_IMPOSSIBLE
                             : CONSTRAINED_FOUND;
}

/* ---- the whole problem, and what fails in it ---- */

typedef enum Plan { PLAN_BOX, PLAN_BRANCH, PLAN_TRY_EACH } Plan;

static void solve_stage(Search *s, Plan plan, Best *best) {
    Box box;
    if (plan == PLAN_TRY_EACH) {
        try_each(s, best);
        return;
    }
    box_open(s, &box);
    s->branches = 0;
    if (plan == PLAN_BRANCH)
        branch(s, &box, best);
    else
        solve_box(s, &box, best);
    box_close(&box);
}

/* A bound that binds is met to rounding by the solver: it is given as it stands. */
static void take(const Search *s, const double *t, double *x) {
    for (int j = 0; j < s->n; j++)
        x[j] = x_of(s, j, t[j] <= AT_BOUND ? 0 : t[j] >= 1 - AT_BOUND ? 1 : t[j]);
}

/* Makes condition k as nearly met as those before it allow, from the place `here`, which it moves. With whole
 * unknowns the nearest place may lie on either side. False when no place meets those before it. */
static bool approach(Search *s, Plan plan, int k, double *here) {
    double nearest = NUMERIC_ENDLESS, goal = 0, first_side = s->gaps[k] < 0 ? -1 : 1;
    double *start = mem_array((size_t)s->n, sizeof *start);
    memcpy(start, here, (size_t)s->n * sizeof *start);
    for (int pass = 0; pass < (plan == PLAN_BOX ? 1 : 2) && !s->stopped; pass++) {
        Best best;
        best_open(s, &best);
        s->stage = k;
        s->side = pass ? -first_side : first_side;
        s->hint = start;
        solve_stage(s, plan, &best);
        s->stage = -1;
        s->hint = NULL;
        if (best.met && evaluate_raw(s, best.point.t, &goal) == SEQUENTIAL_VALUE) {
            double distance = unmet(s, k, s->gaps[k]);
            if (distance < nearest) {
                nearest = distance;
                memcpy(here, best.point.t, (size_t)s->n * sizeof *here);
            }
        }
        sequential_point_close(&best.point);
    }
    mem_free(start);
    return isfinite(nearest);
}

/* Conditions in their order. `here` is a place with values. FOUND: there is a place after all, and `here` is
 * one. */
static ConstrainedOutcome diagnose(Search *s, Plan plan, double *here, ConstrainedResult *result) {
    for (int k = 0; k < s->m && !s->stopped; k++) {
        double goal = 0;
        bool needs_whole = plan != PLAN_BOX && k == 0;
        if (evaluate_raw(s, here, &goal) != SEQUENTIAL_VALUE)
            break;
        if (unmet(s, k, s->gaps[k]) <= s->tolerances[k] && !needs_whole)
            continue;
        if (!approach(s, plan, k, here) || evaluate_raw(s, here, &goal) != SEQUENTIAL_VALUE)
            return CONSTRAINED_NOT_CONVERGED;
        if (unmet(s, k, s->gaps[k]) <= s->tolerances[k])
            continue;
        take(s, here, result->x);
        result->failed = k;
        return CONSTRAINED_IMPOSSIBLE;
    }
    return CONSTRAINED_FOUND;
}

/* A goal that goes by steps, ceil(a / 5 L) say, has no slope to follow: it stands still around t, and is
 * better elsewhere along one of the unknowns. What was found there need not be the best. */
static bool is_on_step(Search *s, double *t, int j, double here) {
    const double nearby = 1e-3;
    double kept = t[j], goal = 0;
    bool still = true, better = false;
    for (int side = -1; side <= 1 && still; side += 2) {
        t[j] = numeric_clamp(kept + side * nearby, 0, 1);
        still = evaluate_raw(s, t, &goal) != SEQUENTIAL_VALUE || goal == here;
    }
    for (int k = 0; k <= LINE_PROBES && still && !better; k++) {
        t[j] = (double)k / LINE_PROBES;
        better =
            evaluate_raw(s, t, &goal) == SEQUENTIAL_VALUE && s->problem->goal_direction * (goal - here) > 0;
    }
    t[j] = kept;
    return still && better;
}

static bool is_on_any_step(Search *s, const double *place) {
    double *t = mem_array((size_t)s->n, sizeof *t), here = 0;
    bool found = false;
    memcpy(t, place, (size_t)s->n * sizeof *t);
    bool has_value = evaluate_raw(s, t, &here) == SEQUENTIAL_VALUE;
    for (int j = 0; j < s->n && has_value && !found; j++)
        found = s->range[j] > 0 && !s->problem->whole[j] && is_on_step(s, t, j, here);
    mem_free(t);
    return found;
}

/* A goal may vary far less near its best place than over the ranges, and be scaled too small there to be
 * closed in on well: it is scaled again by its variation nearby, and solved once more from there. */
static void refine(Search *s, Best *best) {
    const double nearby = 1e-3;
    double *t = mem_array((size_t)s->n, sizeof *t), goal = 0, most = 0;
    Box box;
    if (evaluate_raw(s, best->point.t, &s->goal_shift) == SEQUENTIAL_VALUE) {
        for (int k = 0; k < 2 * s->n; k++) {
            memcpy(t, best->point.t, (size_t)s->n * sizeof *t);
            t[k / 2] = numeric_clamp(t[k / 2] + (k % 2 ? nearby : -nearby), 0, 1);
            if (evaluate_raw(s, t, &goal) == SEQUENTIAL_VALUE)
                most = fmax(most, fabs(goal - s->goal_shift));
        }
        if (most > 0) {
            s->goal_weight = 1 / most;
            memcpy(t, best->point.t, (size_t)s->n * sizeof *t);
            best->point.goal = 0;
            s->is_fine = true;
            box_open(s, &box);
            solve_from(s, &box, t, best);
            box_close(&box);
        }
    }
    mem_free(t);
}

static ConstrainedOutcome conclude(Search *s, Plan plan, ConstrainedResult *result) {
    Best best;
    bool is_linear = s->is_linear;
    ConstrainedOutcome outcome = CONSTRAINED_FOUND;
    best_open(s, &best);
    solve_stage(s, plan, &best);
    if (is_linear && !(best.met && best.converged) && plan == PLAN_BOX) {
        s->is_linear = false; /* planes as far as the probes told: the general way has the last word */
        solve_stage(s, plan, &best);
        s->is_linear = is_linear;
    }
    if (!best.met && !s->stopped && !s->gave_up) {
        bool has_start = isfinite(s->somewhere_score);
        double *here = mem_array((size_t)s->n, sizeof *here);
        memcpy(here, s->somewhere, (size_t)s->n * sizeof *here);
        outcome = has_start ? diagnose(s, plan, here, result) : CONSTRAINED_NO_VALUES;
        s->hint = here;
        if (outcome == CONSTRAINED_FOUND)
            solve_stage(s, plan, &best);
        mem_free(here);
        s->hint = NULL;
    }
    bool is_smooth = !s->problem->goal_direction || s->is_linear || !best.met;
    if (!is_smooth && plan == PLAN_BOX)
        refine(s, &best);
    if (!is_smooth && is_on_any_step(s, best.point.t))
        best.converged = false;
    if (outcome == CONSTRAINED_FOUND) {
        take(s, best.point.t, result->x);
        outcome = best.met && best.converged && !s->gave_up ? CONSTRAINED_FOUND : CONSTRAINED_NOT_CONVERGED;
    }
    sequential_point_close(&best.point);
    return s->stopped ? CONSTRAINED_STOPPED : outcome;
}

static ConstrainedOutcome search_all(Search *s, ConstrainedResult *result) {
    Box box;
    double tries = count_tries(s->problem);
    bool any_whole = false, all_whole = true;
    for (int j = 0; j < s->n; j++) {
        any_whole = any_whole || s->problem->whole[j];
        all_whole = all_whole && s->problem->whole[j];
    }
    if (all_whole && tries <= TRIES_BEFORE_BRANCHING)
        return try_all(s, result);
    box_open(s, &box);
    probe_box(s, &box);
    box_close(&box);
    s->is_linear = recognise_planes(s);
    if (all_whole && !s->is_linear && tries <= TRIES_MOST && !s->stopped)
        return try_all(s, result);
    if (any_whole && !s->is_linear && tries <= TRIES_BEFORE_BRANCHING && !s->stopped)
        return conclude(s, PLAN_TRY_EACH, result);
    if (s->value_count == 0 && !s->stopped)
        return CONSTRAINED_NO_VALUES;
    return conclude(s, any_whole ? PLAN_BRANCH : PLAN_BOX, result);
}

/* ---- set-up ---- */

static void search_open(Search *s, const ConstrainedProblem *problem) {
    size_t n = (size_t)problem->unknowns, m = (size_t)problem->conditions;
    size_t most = 1 + 2 * n + (1u << CORNER_UNKNOWNS_MOST) + PROBES;
    *s = (Search){
        .problem = problem, .n = problem->unknowns, .m = problem->conditions, .stage = -1, .goal_weight = 1};
    s->range = mem_array(6 * n + 3 * m + 2 * m * n + most * (n + m) + 1, sizeof(double));
    s->middle = s->range + n;
    s->x = s->middle + n;
    s->plane_slope = s->x + n;
    s->stage_slope = s->plane_slope + n;
    s->weights = s->stage_slope + n;
    s->gaps = s->weights + m;
    s->tolerances = s->gaps + m;
    s->plane = s->tolerances + m;
    s->stage_plane = s->plane + m * n;
    s->somewhere = s->stage_plane + m * n;
    s->somewhere_score = NUMERIC_ENDLESS;
    double *probe_numbers = s->somewhere + n;
    s->equal = mem_array(m + 1, sizeof *s->equal);
    s->probes = mem_array(most, sizeof *s->probes);
    for (size_t k = 0; k < most; k++) {
        s->probes[k].t = probe_numbers + k * (n + m);
        s->probes[k].gaps = s->probes[k].t + n;
    }
    for (size_t j = 0; j < n; j++) {
        s->range[j] = problem->high[j] - problem->low[j];
        s->middle[j] = s->range[j] > 0 ? 0.5 : 0;
    }
    for (size_t i = 0; i < m; i++)
        s->weights[i] = 1;
}

ConstrainedOutcome constrained_solve(const ConstrainedProblem *problem, ConstrainedResult *result) {
    Search s;
    result->failed = -1;
    result->another = NUMERIC_NONE;
    for (int j = 0; j < problem->unknowns; j++) {
        if (problem->whole[j] && whole_low(problem, j) > whole_high(problem, j)) {
            result->failed = j;
            return CONSTRAINED_NO_WHOLE;
        }
    }
    if (problem->unknowns == 1 && !problem->whole[0])
        return constrained_solve_line(problem, result);
    search_open(&s, problem);
    ConstrainedOutcome outcome = search_all(&s, result);
    mem_free(s.range);
    mem_free(s.equal);
    mem_free(s.probes);
    return outcome;
}
