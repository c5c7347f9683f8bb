/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sources of uncertainty, the log of shown numbers, and random draws. */
#include "runtime/worlds.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "base/mem.h"

Worlds *worlds_new(void) {
    return mem_alloc(sizeof(Worlds));
}

static void free_sources(Worlds *worlds) {
    for (int i = 0; i < worlds->source_count; i++)
        mem_free(worlds->sources[i].name);
    worlds->source_count = 0;
}

void worlds_free(Worlds *worlds) {
    if (!worlds)
        return;
    free_sources(worlds);
    mem_free(worlds->sources);
    mem_free(worlds->draws);
    mem_free(worlds->log.items);
    mem_free(worlds->central.items);
    mem_free(worlds->shares);
    mem_free(worlds->bends);
    mem_free(worlds->lost);
    mem_free(worlds->crossed);
    mem_free(worlds->spreads);
    mem_free(worlds->trials);
    mem_free(worlds);
}

void worlds_begin(Worlds *worlds, WorldMode mode) {
    worlds->mode = mode;
    worlds->next_source = worlds->first_source;
    worlds->drawn = 0;
    worlds->log.count = 0;
    worlds->shown_next = 0;
}

void worlds_keep_central(Worlds *worlds) {
    WorldLog kept = worlds->log;
    worlds->log = worlds->central;
    worlds->central = kept;
    worlds->log.count = 0;
}

/* ---- random numbers: xoshiro256** (Blackman, Vigna, ACM Trans. Math. Softw. 47, 2021), seeded by splitmix64
 * ---- */

static uint64_t rotated(uint64_t x, int k) {
    return (x << k) | (x >> (64 - k));
}

static uint64_t next_random(Worlds *worlds) {
    uint64_t *s = worlds->random;
    uint64_t result = rotated(s[1] * 5, 7) * 9, t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotated(s[3], 45);
    return result;
}

void worlds_seed(Worlds *worlds, uint64_t seed) {
    for (int i = 0; i < 4; i++) {
        seed += 0x9e3779b97f4a7c15u;
        uint64_t z = seed;
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
        worlds->random[i] = z ^ (z >> 31);
    }
}

/* 0 <= x < 1 */
static double uniform(Worlds *worlds) {
    return (double)(next_random(worlds) >> 11) * 0x1.0p-53;
}

/* Marsaglia's polar method; the second number of each pair is not kept, so that a draw depends on nothing
 * before it but the generator. */
static double normal(Worlds *worlds) {
    for (;;) {
        double u = 2 * uniform(worlds) - 1, v = 2 * uniform(worlds) - 1, s = u * u + v * v;
        if (s > 0 && s < 1)
            return u * sqrt(-2 * log(s) / s);
    }
}

/* In standard uncertainties: a rectangle of half-width √3 has standard uncertainty 1. */
static double draw(Worlds *worlds, Spread spread) {
    return spread == SPREAD_NORMAL ? normal(worlds) : (2 * uniform(worlds) - 1) * 1.7320508075688772;
}

/* The draw of source k of this run, always the same within it (find evaluates a source many times). */
static double draw_of(Worlds *worlds, int k, Spread spread) {
    while (worlds->drawn <= k) {
        MEM_GROW(worlds->draws, worlds->drawn, worlds->draw_capacity);
        worlds->draws[worlds->drawn++] = draw(worlds, spread);
    }
    return worlds->draws[k];
}

/* ---- sources ---- */

static void learn_source(Worlds *worlds, int k, const void *site, const char *name, Value value,
                         double uncertainty, Spread spread) {
    if (k < worlds->source_count)
        return; /* evaluated again by find */
    MEM_GROW(worlds->sources, worlds->source_count, worlds->source_capacity);
    worlds->sources[worlds->source_count++] = (WorldSource){.site = site,
                                                            .name = mem_copy_string(name),
                                                            .uncertainty = uncertainty,
                                                            .spread = spread,
                                                            .value = value};
}

/* There is no infinity, in hidden runs neither. */
static double moved_number(double number, double by) {
    return fmax(-DBL_MAX, fmin(DBL_MAX, number + by));
}

bool worlds_are_moved(const Worlds *worlds) {
    return worlds->mode == WORLD_MOVED || worlds->mode == WORLD_TRIAL;
}

double worlds_source(Worlds *worlds, const void *site, const char *name, Value value, double uncertainty,
                     Spread spread) {
    int k = worlds->next_source++;
    double number = value.as.number;
    switch (worlds->mode) {
    case WORLD_DISCOVER:
        learn_source(worlds, k, site, name, value, uncertainty, spread);
        return number;
    case WORLD_MOVED:
        if ((k != worlds->moved && k != worlds->moved_too) || worlds->sources[k].site != site)
            return number;
        return moved_number(number, worlds->moved_by * uncertainty);
    case WORLD_TRIAL:
        return moved_number(number, draw_of(worlds, k, spread) * uncertainty);
    case WORLD_PLAIN:
    case WORLD_SHOWN:
        break;
    }
    return number;
}

/* ---- contributions ---- */

size_t worlds_bytes(const Worlds *worlds) {
    const size_t name = 32; /* of a source, about */
    return (size_t)worlds->source_capacity * (sizeof(WorldSource) + name) +
           (size_t)(worlds->log.capacity + worlds->central.capacity) * sizeof(LoggedNumber) +
           (size_t)worlds->draw_capacity * sizeof(double) + worlds->share_bytes;
}

size_t worlds_share_bytes(const Worlds *worlds) {
    return ((size_t)worlds->central.count + 1) * ((size_t)worlds->source_count + 3) * sizeof(double);
}

void worlds_open_shares(Worlds *worlds) {
    size_t numbers = (size_t)worlds->central.count + 1;
    worlds->share_bytes = worlds_share_bytes(worlds);
    mem_free(worlds->shares);
    mem_free(worlds->bends);
    mem_free(worlds->lost);
    mem_free(worlds->crossed);
    mem_free(worlds->spreads);
    worlds->crossed = mem_array(numbers, sizeof(double));
    worlds->lost = mem_array(numbers, sizeof(int));
    worlds->lost_told = 0;
    worlds->shares = mem_array(numbers * (size_t)(worlds->source_count + 1), sizeof(double));
    worlds->bends = mem_array(numbers, sizeof(double));
    worlds->spreads = mem_array(numbers, sizeof(double));
}

/* A number that a moved run did not show, or showed elsewhere, has no contribution that could be told. */
static bool is_same(const WorldLog *log, int i, const LoggedNumber *central) {
    return i < log->count && log->items[i].site == central->site && log->items[i].unit == central->unit;
}

static double *share_of(const Worlds *worlds, int number, int source) {
    return &worlds->shares[(size_t)number * (size_t)worlds->source_count + (size_t)source];
}

void worlds_add_share(Worlds *worlds, int source, const WorldLog *up, const WorldLog *down) {
    for (int i = 0; i < worlds->central.count; i++) {
        const LoggedNumber *central = &worlds->central.items[i];
        bool goes_up = is_same(up, i, central), goes_down = is_same(down, i, central);
        if (!goes_up && !goes_down) {
            worlds->lost[i] = source + 1;
            continue;
        }
        double above = goes_up ? up->items[i].number - central->number : 0;
        double below = goes_down ? down->items[i].number - central->number : 0;
        if (!goes_up)
            above = -below; /* one side only: what there is, and a poor guide */
        if (!goes_down)
            below = -above;
        if (!goes_up || !goes_down)
            worlds->bends[i] = DBL_MAX;
        if (!isfinite(above) || !isfinite(below))
            continue;                                         /* of numbers near the largest there is */
        *share_of(worlds, i, source) = above / 2 - below / 2; /* JCGM 100, 5.1.3 note 2 */
        if (worlds->bends[i] < DBL_MAX)
            worlds->bends[i] += above / 2 + below / 2;
    }
}

/* The mixed second difference is u_a u_b ∂²f/∂a∂b; its square is a term of the variance that first order
 * leaves out (JCGM 100:2008, 5.1.2 note). */
void worlds_add_cross(Worlds *worlds, const WorldLog *a, const WorldLog *b, const WorldLog *both) {
    for (int i = 0; i < worlds->central.count; i++) {
        const LoggedNumber *central = &worlds->central.items[i];
        if (!is_same(a, i, central) || !is_same(b, i, central) || !is_same(both, i, central))
            continue;
        double cross = both->items[i].number - a->items[i].number - b->items[i].number + central->number;
        if (isfinite(cross * cross))
            worlds->crossed[i] += cross * cross;
    }
}

void worlds_settle(Worlds *worlds) {
    for (int i = 0; i < worlds->central.count; i++) {
        double variance = 0, largest = 0; /* squares of huge shares, or tiny ones, are no numbers */
        for (int source = 0; source < worlds->source_count; source++)
            largest = fmax(largest, fabs(*share_of(worlds, i, source)));
        for (int source = 0; source < worlds->source_count && largest > 0; source++) {
            double share = *share_of(worlds, i, source) / largest;
            variance += share * share;
        }
        worlds->spreads[i] = fmin(sqrt(variance) * largest, DBL_MAX);
    }
}

const char *worlds_lost_source(Worlds *worlds, int number) {
    int lost = worlds->lost && number < worlds->central.count ? worlds->lost[number] : 0;
    if (lost == 0 || lost == worlds->lost_told)
        return NULL;
    worlds->lost_told = lost;
    return worlds->sources[lost - 1].name;
}

/* Is the first order a poor guide for a number of the central log? */
static bool is_bent(const Worlds *worlds, int number) {
    const double poor =
        0.1; /* the second order moves the value, or widens its uncertainty, by a tenth of that */
    double bend = fabs(worlds->bends[number]), spread = worlds->spreads[number];
    double least = 1e-9 * fabs(worlds->central.items[number].number);
    double wider = hypot(spread, sqrt(worlds->crossed[number])) - spread;
    return (bend > poor * spread && bend > least) || (wider > poor * spread && wider > least);
}

/* ---- shown numbers ---- */

static void add_numbers(WorldLog *log, const void *site, Value value) {
    ShownNumber few[8], *numbers = few;
    int count = display_numbers(value, few, 8);
    if (count > 8) {
        numbers = mem_array((size_t)count, sizeof *numbers);
        display_numbers(value, numbers, count);
    }
    for (int i = 0; i < count; i++) {
        MEM_GROW(log->items, log->count, log->capacity);
        log->items[log->count++] =
            (LoggedNumber){.site = site, .number = numbers[i].number, .unit = numbers[i].unit};
    }
    if (numbers != few)
        mem_free(numbers);
}

const double *worlds_show(Worlds *worlds, const void *site, Value value, bool *bent) {
    *bent = false;
    if (worlds->mode == WORLD_PLAIN)
        return NULL;
    if (worlds->mode != WORLD_SHOWN) {
        add_numbers(&worlds->log, site, value);
        return NULL;
    }
    int first = worlds->shown_next, count = display_numbers(value, NULL, 0);
    worlds->shown_next += count;
    if (!worlds->spreads || first + count > worlds->central.count)
        return NULL;
    for (int i = first; i < first + count; i++) {
        if (worlds->central.items[i].site != site)
            return NULL;
        *bent = *bent || is_bent(worlds, i);
    }
    return worlds->spreads + first;
}
