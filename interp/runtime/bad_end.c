/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "runtime/bad_end.h"

#include <math.h>

#include "base/mem.h"

#define COVERAGE    2.0  /* JCGM 100:2008, 6.3.3: about 95 % */
#define MARGIN_NEAR 1e-6 /* of a margin: two that differ by less are one */

void bad_ends_free(BadEnds *ends) {
    mem_free(ends->figures);
    place_map_free(&ends->places);
    *ends = (BadEnds){0};
}

void bad_ends_clear(BadEnds *ends) {
    ends->count = ends->weighed = 0;
    ends->nothing_known = false;
    place_map_clear(&ends->places);
}

size_t bad_ends_bytes(const BadEnds *ends) {
    return (size_t)ends->capacity * sizeof(JudgedFigure) + place_map_bytes(&ends->places);
}

void bad_ends_begin_run(BadEnds *ends, bool learns) {
    ends->run++;
    if (learns)
        ends->learning = ends->run;
}

/* ---- figures ---- */

/* The first at a place that this run has not come to, or -1; `place` becomes its own. A loop that only a
 * machine sees, as that of `sort`, comes to one place several times. */
static int next_at(const BadEnds *ends, uint64_t *place) {
    for (;;) {
        int index = place_map_get(&ends->places, *place);
        if (index < 0 || ends->figures[index].seen != ends->run)
            return index;
        *place = *place * 0x9e3779b97f4a7c15u + 1;
    }
}

const JudgedFigure *bad_ends_learn(BadEnds *ends, uint64_t place, Value figure, bool is_weighed) {
    int index = next_at(ends, &place);
    if (index < 0) {
        index = ends->count;
        MEM_GROW(ends->figures, ends->count, ends->capacity);
        ends->figures[ends->count++] = (JudgedFigure){.place = place, .is_weighed = is_weighed};
        ends->weighed += is_weighed;
        place_map_add(&ends->places, place, index);
    }
    JudgedFigure *known = &ends->figures[index];
    known->figure = figure;
    known->seen = known->learnt = ends->run;
    if (ends->nothing_known)
        known->margin = (double)INFINITY;
    return known;
}

JudgedFigure *bad_ends_get(BadEnds *ends, uint64_t place) {
    int index = next_at(ends, &place);
    if (index < 0)
        return NULL;
    ends->figures[index].seen = ends->run;
    return &ends->figures[index];
}

/* ---- margins ---- */

void bad_ends_open(BadEnds *ends) {
    for (int i = 0; i < ends->count; i++) {
        ends->figures[i].squares[SERIES_FOLLOWS] = ends->figures[i].squares[SERIES_AS_WEIGHED] = 0;
        ends->figures[i].lost = false;
    }
}

void bad_ends_open_source(BadEnds *ends) {
    for (int i = 0; i < ends->count; i++)
        ends->figures[i].ends[0] = ends->figures[i].ends[1] = (double)NAN;
}

/* How much higher it is at the worse end. Where one end takes another way through the script, or is outside
 * what is known, the other one has to do for both. */
static double worse_end(const JudgedFigure *figure) {
    double up = figure->ends[0] - figure->figure.as.number;
    double down = figure->ends[1] - figure->figure.as.number;
    if (isnan(up) || isnan(down))
        return fabs(isnan(up) ? down : up);
    return fmax(0, fmax(up, down));
}

/* Does the script as it is come to it, and judge it? */
static bool is_judged(const BadEnds *ends, const JudgedFigure *figure) {
    return figure->learnt == ends->learning && !figure->is_weighed;
}

void bad_ends_add_source(BadEnds *ends, int series, double reach) {
    for (int i = 0; i < ends->count; i++) {
        JudgedFigure *figure = &ends->figures[i];
        if (!is_judged(ends, figure))
            continue;
        double worse = worse_end(figure) * COVERAGE / reach;
        figure->lost = figure->lost || !isfinite(worse * worse);
        if (!figure->lost)
            figure->squares[series] += worse * worse;
    }
}

/* Margins only grow, so that they settle. */
bool bad_ends_settle(BadEnds *ends) {
    bool grew = false;
    for (int i = 0; i < ends->count; i++) {
        JudgedFigure *figure = &ends->figures[i];
        if (!is_judged(ends, figure))
            continue;
        double margin = figure->lost
                            ? (double)INFINITY
                            : sqrt(fmax(figure->squares[SERIES_FOLLOWS], figure->squares[SERIES_AS_WEIGHED]));
        if (margin > figure->margin * (1 + MARGIN_NEAR)) {
            figure->margin = margin;
            grew = true;
        }
    }
    return grew;
}
