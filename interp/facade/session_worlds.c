/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Running a script in several worlds (runtime/worlds.h): as it is, with each source of uncertainty moved,
 * with all of them drawn; what the first of these runs kept is reported at the end. */
#include <limits.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "runtime/settle.h"

/* What a run changes and the next one needs as it was. */
static Snapshot take_snapshot(const Session *session) {
    const Registry *registry = session->registry;
    Snapshot snapshot = {.global_count = registry->global_count, .module_count = registry->module_count};
    snapshot.globals = registry_copy_values(registry);
    snapshot.has_run = mem_array((size_t)registry->module_count + 1, sizeof(bool));
    for (int i = 0; i < registry->module_count; i++)
        snapshot.has_run[i] = registry->modules[i]->has_run;
    return snapshot;
}

static void snapshot_free(Snapshot *snapshot) {
    mem_free(snapshot->globals);
    mem_free(snapshot->has_run);
    *snapshot = (Snapshot){0};
}

static void go_back(Session *session, const Snapshot *snapshot) {
    registry_put_values(session->registry, snapshot->globals, snapshot->global_count);
    for (int i = 0; i < snapshot->module_count; i++)
        session->registry->modules[i]->has_run = snapshot->has_run[i];
}

/* ---- the globals of moved worlds, at the prompt ---- */

void worlds_mark_moved(const Session *session) {
    entry_mark(session);
    const Snapshot *kept[] = {&session->start, &session->end};
    for (int i = 0; i < 2; i++)
        for (int g = 0; g < kept[i]->global_count; g++)
            heap_mark(kept[i]->globals[g]);
    if (session->held)
        report_mark(session->held);
    for (int i = 0; i < session->moved_count; i++)
        for (int g = 0; g < session->moved[i].count; g++)
            heap_mark(session->moved[i].values[g]);
    for (int i = 0; i < session->moved_next_count; i++)
        for (int g = 0; g < session->moved_next[i].count; g++)
            heap_mark(session->moved_next[i].values[g]);
}

void worlds_free_moved(Session *session) {
    for (int i = 0; i < session->moved_count; i++)
        mem_free(session->moved[i].values);
    mem_free(session->moved);
    mem_free(session->moved_next); /* empty between entries */
    session->moved_next = NULL;
    session->moved_next_capacity = 0;
    session->moved = NULL;
    session->moved_count = session->moved_capacity = 0;
}

/* The runs in which one source is moved, in pairs: up and down. At the prompt each has its globals. */
enum { MOVED_SHARES, MOVED_ENDS, MOVED_ENDS_AS_WEIGHED, MOVED_PAIRS };

static int world_of(int source, int pair, bool down) {
    return (source * MOVED_PAIRS + pair) * 2 + down;
}

/* Globals as they are in the world of `index`; a new world begins as the central one. */
static void enter_moved(Session *session, const Snapshot *snapshot, int index) {
    go_back(session, snapshot);
    if (index < session->moved_count)
        registry_put_values(session->registry, session->moved[index].values, session->moved[index].count);
}

/* The world may be run once more before the entry is over: until then the globals of before are needed. */
static void keep_moved(Session *session, int index) {
    const Registry *registry = session->registry;
    while (session->moved_next_count <= index) {
        MEM_GROW(session->moved_next, session->moved_next_count, session->moved_next_capacity);
        session->moved_next[session->moved_next_count++] = (MovedGlobals){0};
    }
    MovedGlobals now = {registry_copy_values(registry), registry->global_count};
    mem_free(session->moved_next[index].values);
    session->moved_next[index] = now;
}

/* The entry is over. */
static void pass_moved_on(Session *session) {
    for (int i = 0; i < session->moved_next_count; i++) {
        MovedGlobals *next = &session->moved_next[i];
        if (i == session->moved_count) {
            MEM_GROW(session->moved, session->moved_count, session->moved_capacity);
            session->moved[session->moved_count++] = (MovedGlobals){0};
        }
        if (!next->values)
            continue; /* the entry was ended before */
        mem_free(session->moved[i].values);
        session->moved[i] = *next;
    }
    session->moved_next_count = 0;
}

/* ---- hidden runs ---- */

/* One run whose results go to `report`; its numbers are in worlds->log. */
static bool run_into(Session *session, Report *report) {
    Vm *vm = session->vm;
    Report *told = session->report;
    session->report = vm->report = report;
    bool ran = session_run_once(session);
    session->report = vm->report = told;
    return ran;
}

/* One that shows nothing. False when it must not continue (a limit, Ctrl-C). `compares`: what it would show
 * is compared with the script as it is. */
static bool run_hidden(Session *session, bool compares) {
    Vm *vm = session->vm;
    Report *hidden = report_new();
    bool ran = run_into(session, hidden) || !vm_error_is_final(vm);
    if (ran && vm->error) {
        worlds_stop(vm->worlds, vm->error);
        vm_drop_error(vm);
    }
    if (ran && compares)
        worlds_compare(vm->worlds, hidden);
    report_free(hidden);
    return ran;
}

/* The script as it is: what it shows, and the error that ends it, wait for the other runs. */
static bool run_held(Session *session, WorldMode mode, Diag **error) {
    Vm *vm = session->vm;
    report_free(session->held);
    diag_free(*error);
    *error = NULL;
    session->held = report_hold(session->report);
    worlds_begin(vm->worlds, mode);
    bool ran = run_into(session, session->held) || !vm_error_is_final(vm);
    if (!ran)
        return false;
    *error = vm->error;
    vm->error = NULL;
    if (mode == WORLD_CENTRAL)
        worlds_keep_faces(vm->worlds, session->held, *error);
    snapshot_free(&session->end);
    session->end = take_snapshot(session);
    return true;
}

/* A run with one source moved. */
static bool run_moved(Session *session, int pair, int source, double by, bool keep) {
    Worlds *worlds = session->vm->worlds;
    int index = world_of(source, pair, by < 0);
    enter_moved(session, &session->start, keep ? index : session->moved_count);
    worlds_begin(worlds, pair == MOVED_SHARES ? WORLD_MOVED : WORLD_END);
    worlds->as_weighed = pair == MOVED_ENDS_AS_WEIGHED;
    worlds->moved = source;
    worlds->moved_by = by;
    worlds->moved_too = -1;
    if (!run_hidden(session, true))
        return false;
    if (keep)
        keep_moved(session, index);
    return true;
}

/* What is to be held of all runs at once must fit the memory limit. */
static bool allows(Session *session, size_t bytes) {
    Fault fault = {0};
    Vm *vm = session->vm;
    if (heap_allows(session->registry->heap, bytes + worlds_bytes(vm->worlds), &fault))
        return true;
    vm_drop_error(vm);
    vm->error = diag_from_fault(&fault, NULL, (Span){0, 0});
    return false;
}

enum {
    PAIRS_SOURCES = 16,
    PAIRS_NUMBERS = 10000
}; /* beyond these, pairs are not tried: it would take too long */

/* Two sources moved up together, for every pair: shows where first order leaves out what they make together.
 */
static bool move_pairs(Session *session, const Snapshot *snapshot, double *const *ups, double *both) {
    Worlds *worlds = session->vm->worlds;
    for (int a = 0; a < worlds->source_count; a++) {
        for (int b = a + 1; b < worlds->source_count; b++) {
            go_back(session, snapshot);
            worlds_begin(worlds, WORLD_MOVED);
            worlds->moved = a;
            worlds->moved_too = b;
            worlds->moved_by = 1;
            if (!run_hidden(session, false))
                return false;
            worlds_align(worlds, both);
            worlds_add_cross(worlds, ups[a], ups[b], both);
        }
    }
    return true;
}

/* After which number both this run and an earlier one had stopped. */
static int later_stop(const Worlds *worlds, int earlier) {
    int own = worlds->stopped >= 0 ? worlds->reached : INT_MAX;
    return own > earlier ? own : earlier;
}

static bool move_all(Session *session, const Snapshot *snapshot, bool keep) {
    Worlds *worlds = session->vm->worlds;
    double *ups[PAIRS_SOURCES] = {NULL};
    size_t numbers = (size_t)worlds->central.count + 1;
    bool going = true,
         pairs = !keep && worlds->source_count <= PAIRS_SOURCES && worlds->central.count <= PAIRS_NUMBERS;
    if (!allows(session, worlds_share_bytes(worlds) + 2 * numbers * sizeof(double)))
        return false;
    worlds_open_shares(worlds);
    double *up = mem_array(numbers, sizeof(double)), *down = mem_array(numbers, sizeof(double));
    for (int source = 0; source < worlds->source_count && going; source++) {
        if (pairs)
            ups[source] = mem_array(numbers, sizeof(double));
        double *upward = pairs ? ups[source] : up;
        going = run_moved(session, MOVED_SHARES, source, 1, keep);
        if (going)
            worlds_align(worlds, upward);
        int behind = worlds->stopped >= 0 ? worlds->reached : INT_MAX;
        going = going && run_moved(session, MOVED_SHARES, source, -1, keep);
        if (!going)
            break;
        worlds_align(worlds, down);
        worlds_add_share(worlds, source, upward, down, later_stop(worlds, behind));
    }
    if (going && pairs)
        going = move_pairs(session, snapshot, ups, down);
    for (int i = 0; i < PAIRS_SOURCES; i++)
        mem_free(ups[i]);
    mem_free(up);
    mem_free(down);
    worlds_settle(worlds);
    return going;
}

/* ---- limits at the bad ends ---- */

/* Every source at both its ends: how far what is judged gets there. */
static bool reach_ends(Session *session, int pair, bool keep) {
    Worlds *worlds = session->vm->worlds;
    int series = pair == MOVED_ENDS ? SERIES_FOLLOWS : SERIES_AS_WEIGHED;
    for (int source = 0; source < worlds->source_count; source++) {
        double reach = worlds_reach(worlds, source);
        bad_ends_open_source(&worlds->ends);
        if (!run_moved(session, pair, source, reach, keep) || !run_moved(session, pair, source, -reach, keep))
            return false;
        bad_ends_add_source(&worlds->ends, series, reach);
    }
    return true;
}

/* The script as it is, again and again until its limits are judged at the bad ends: a refusal may take it
 * another way, where other limits are. Without limits the ends tell what they turn (runtime/turned.h). At the
 * prompt what is judged comes in later entries, if at all. */
static bool run_judged(Session *session, bool keep, Diag **error) {
    enum { ROUNDS_MOST = 8 };
    Worlds *worlds = session->vm->worlds;
    int known = worlds->source_count;
    bad_ends_clear(&worlds->ends);
    for (int round = 1;; round++) {
        worlds_keep_sources(worlds, known);
        worlds->ends.nothing_known = round == ROUNDS_MOST;
        if (!run_held(session, WORLD_CENTRAL, error))
            return false;
        worlds_keep_central(worlds);
        bad_ends_open(&worlds->ends);
        if (!reach_ends(session, MOVED_ENDS, keep) ||
            ((keep || worlds->ends.weighed) && !reach_ends(session, MOVED_ENDS_AS_WEIGHED, keep)))
            return false;
        if (worlds->ends.nothing_known || !bad_ends_settle(&worlds->ends))
            return true;
        go_back(session, &session->start);
    }
}

/* ---- random draws ---- */

/* The draws of each shown number, in columns. */
typedef struct Draws {
    double **columns;
    long *counts;
    long *refused;
    double *row; /* of one draw */
    int numbers;
} Draws;

static int compare_numbers(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Linear between the two nearest of the sorted draws. */
static double quantile(const double *sorted, long count, double share) {
    double at = share * (double)(count - 1);
    long low = (long)at;
    double rest = at - (double)low; /* each times its own, as a difference of huge numbers may be none */
    return low + 1 < count ? (1 - rest) * sorted[low] + rest * sorted[low + 1] : sorted[count - 1];
}

static Drawn summarize(double *draws, long count) {
    Drawn summary = {.count = count};
    if (count == 0)
        return summary;
    double largest = 0, mean = 0, squares = 0;
    for (long i = 0; i < count; i++)
        largest = fmax(largest, fabs(draws[i]));
    double scale = largest > 1e150 ? 0x1p-600 : 1; /* squares of huge numbers are none */
    for (long i = 0; i < count; i++) {             /* Welford: no cancellation */
        double step = scale * draws[i] - mean;
        mean += step / (double)(i + 1);
        squares += step * (scale * draws[i] - mean);
    }
    qsort(draws, (size_t)count, sizeof *draws, compare_numbers);
    summary.mean = mean / scale;
    summary.uncertainty = count > 1 ? fmin(sqrt(squares / (double)(count - 1)) / scale, DBL_MAX) : 0;
    summary.low = quantile(draws, count, 0.025);
    summary.high = quantile(draws, count, 0.975);
    return summary;
}

/* A draw that has no value for a number is counted by its reason, or, when it went another way through the
 * script, not at all. */
static void take_missing(Worlds *worlds, Draws *draws, int number) {
    int reason = worlds_reason(worlds, number);
    if (reason < 0)
        return;
    if (!worlds->refusals)
        worlds->refusals = mem_array(((size_t)draws->numbers + 1) * REASONS_MOST, sizeof(int));
    worlds->refusals[(size_t)number * REASONS_MOST + (size_t)reason]++;
    draws->refused[number]++;
}

static void take_draws(Worlds *worlds, Draws *draws) {
    worlds_align(worlds, draws->row);
    for (int i = 0; i < draws->numbers; i++) {
        if (isnan(draws->row[i]))
            take_missing(worlds, draws, i);
        else
            draws->columns[i][draws->counts[i]++] = draws->row[i];
    }
}

static Draws open_draws(int numbers, long trials) {
    size_t room = (size_t)numbers + 1;
    Draws draws = {.numbers = numbers};
    draws.columns = mem_array(room, sizeof(double *));
    draws.counts = mem_array(room, sizeof(long));
    draws.refused = mem_array(room, sizeof(long));
    draws.row = mem_array(room, sizeof(double));
    for (int i = 0; i < numbers; i++)
        draws.columns[i] = mem_array((size_t)trials, sizeof(double));
    return draws;
}

/* What was drawn, for the run that shows: from here on texts and tables tell it. Where a draw was refused the
 * others are not a fair sample, and no ± is given. */
static void close_draws(Worlds *worlds, Draws *draws, long trials) {
    worlds->trials = mem_array((size_t)draws->numbers + 1, sizeof(Drawn));
    for (int i = 0; i < draws->numbers; i++) {
        worlds->trials[i] = summarize(draws->columns[i], draws->counts[i]);
        worlds->trials[i].draws = trials;
        worlds->trials[i].refused = draws->refused[i];
        worlds->spreads[i] = draws->refused[i] ? 0 : worlds->trials[i].uncertainty;
        mem_free(draws->columns[i]);
    }
    mem_free(draws->columns);
    mem_free(draws->counts);
    mem_free(draws->refused);
    mem_free(draws->row);
}

/* A report says how its numbers came about. */
static void assume_draws(Session *session) {
    char *text =
        message_take(NOTE_DRAWN, ARGS(arg_whole(session->trials), arg_whole((long long)session->seed)));
    report_assume(session->report, text);
    mem_free(text);
}

static bool draw_all(Session *session, const Snapshot *snapshot) {
    Worlds *worlds = session->vm->worlds;
    int numbers = worlds->central.count;
    size_t counts = ((size_t)numbers + 1) * (4 * sizeof(double) + REASONS_MOST * sizeof(int));
    if (!allows(session, counts + ((size_t)numbers + 1) * (size_t)session->trials * sizeof(double)))
        return false;
    Draws draws = open_draws(numbers, session->trials);
    bool going = true;
    worlds_clear_reasons(worlds); /* the moved runs' */
    worlds_seed(worlds, session->seed);
    for (long trial = 0; trial < session->trials && going; trial++) {
        go_back(session, snapshot);
        worlds_begin(worlds, WORLD_TRIAL);
        going = run_hidden(session, false);
        if (going)
            take_draws(worlds, &draws);
    }
    close_draws(worlds, &draws, session->trials);
    if (going && worlds->source_count > 0)
        assume_draws(session);
    return going;
}

/* ---- the whole ---- */

static bool run_all(Session *session, bool keep, Diag **error) {
    Worlds *worlds = session->vm->worlds;
    if (!run_judged(session, keep, error) || !move_all(session, &session->start, keep) ||
        (session->trials > 0 && !draw_all(session, &session->start)))
        return false;
    if (!worlds_want_again(worlds))
        return true;
    go_back(session, &session->start);
    return run_held(session, WORLD_AGAIN, error);
}

/* Tells what was held; vm->error becomes the one that ended it. */
static bool tell_held(Session *session, Diag *error) {
    Vm *vm = session->vm;
    Report *held = session->held;
    session->held = NULL;
    go_back(session, &session->end);
    if (settle_report(vm, held)) {
        vm->error = error;
        return !error;
    }
    diag_free(error);
    vm->error = diag_new(MSG_INTERRUPTED, NULL, (Span){0, 0}, NO_ARGS);
    return false;
}

bool worlds_run(Session *session, bool keep) {
    Worlds *worlds = session->vm->worlds;
    Diag *error = NULL;
    session->start = take_snapshot(session);
    if (!keep) {
        worlds_keep_sources(worlds, 0);
        worlds->turned.verdict = false;
    }
    bool ran = run_all(session, keep, &error);
    if (ran) {
        ran = tell_held(session, error);
    } else {
        diag_free(error);
        report_free(session->held);
        session->held = NULL;
    }
    worlds->mode = WORLD_PLAIN;
    pass_moved_on(session);
    snapshot_free(&session->start);
    snapshot_free(&session->end);
    return ran;
}
