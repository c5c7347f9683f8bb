/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits that hold at the bad end of a ± (docs/model.md, "Uncertainty"; guarded acceptance, JCGM 106:2012,
 * 8.3.2, with the expanded uncertainty of JCGM 100:2008, 6.3.3: two standard uncertainties).
 *
 * The library judges a figure, such as the pressure in a bottle, by its highest value within the ± of the
 * readings, and so has to know that ± while the script runs. So the script is run first, then once for each
 * end of each source, then again with the margins that those runs have shown, until nothing changes. In every
 * later run a judged figure is that of the script as it is, margin included: so all runs judge alike.
 *
 * What was weighed or set by the readings (a dose, the answer of a `find`) no longer follows them once they
 * turn out to be wrong. A second series of runs leaves it as it was, and the wider margin counts. */
#ifndef RUNDLET_BAD_END_H
#define RUNDLET_BAD_END_H

#include <stdbool.h>
#include <stdint.h>

#include "runtime/place_map.h"
#include "values/value.h"

typedef struct JudgedFigure {
    uint64_t place;
    Value figure;      /* of the script as it is */
    double margin;     /* to its bad end, in the unit of the figure; INFINITY: nothing is known there */
    double ends[2];    /* where one source is moved up and down; NaN: not judged there */
    double squares[2]; /* of what the sources add, both series */
    bool lost;         /* with some source moved either way it is not judged at all */
    bool is_weighed;   /* not judged, but kept as it is in the second series */
    int seen, learnt;  /* the last run that came to it, and the last of the script as it is */
} JudgedFigure;

/* `BadEnds ends = {0};` are none yet. */
typedef struct BadEnds {
    JudgedFigure *figures;
    int count, capacity;
    int weighed;        /* how many of them are */
    int run, learning;  /* this run, and the last one that learns */
    bool nothing_known; /* no margins were found that hold: every figure is lost */
    PlaceMap places;
} BadEnds;

enum { SERIES_FOLLOWS, SERIES_AS_WEIGHED, SERIES_COUNT };

void bad_ends_free(BadEnds *ends);
void bad_ends_clear(BadEnds *ends); /* a new script */
size_t bad_ends_bytes(const BadEnds *ends);
void bad_ends_begin_run(BadEnds *ends, bool learns); /* `learns`: the script as it is */

/* A figure is judged (or weighed) in the script as it is. Valid until the next one is learnt. */
const JudgedFigure *bad_ends_learn(BadEnds *ends, uint64_t place, Value figure, bool is_weighed);
/* The same figure in another run; NULL if the script as it is does not come to it. */
JudgedFigure *bad_ends_get(BadEnds *ends, uint64_t place);

/* Before all runs with a source moved, and before the two of each source, which leave what they judge in
 * `ends`; after those two, which had it moved by `reach` standard uncertainties. */
void bad_ends_open(BadEnds *ends);
void bad_ends_open_source(BadEnds *ends);
void bad_ends_add_source(BadEnds *ends, int series, double reach);
/* The margins of all sources together. False when the script as it is was judged by them already. */
bool bad_ends_settle(BadEnds *ends);

#endif
