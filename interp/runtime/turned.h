/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a ± turns: a truth or text that is another one in a moved run (worlds.h), a result that is missing
 * there, a caution that only such a run gives. Every run leaves the face of each result, which is all that it
 * shows but its numbers; each moved run is compared with the script as it is, and what differs is reported
 * beside the result (settle.h), so that a branch which the readings decide never hides the other one. */
#ifndef RUNDLET_TURNED_H
#define RUNDLET_TURNED_H

#include <stdbool.h>
#include <stdint.h>

#include "runtime/place_map.h"
#include "values/report.h"

/* How a run moves its source. */
typedef struct Turn {
    int source; /* its index */
    bool down;
    bool to_end;    /* to the bad end, else by one standard uncertainty */
    bool tolerance; /* the bad end is all of a tolerance */
} Turn;

typedef enum FaceFate {
    FACE_STAYS,
    FACE_OTHER,  /* a moved run shows something else; `words` is that */
    FACE_AWAY,   /* it takes a path that does not lead here */
    FACE_FAILS,  /* it fails here; `words` says why */
    FACE_STOPPED /* it stopped before; `words` says why */
} FaceFate;

typedef struct Face {
    uint64_t place;
    uint64_t hash;
    int seen;       /* the last run that came to it */
    bool has_truth; /* it shows a truth, or holds one */
    bool by_limit;  /* it fails or stops by a limit of the library */
    FaceFate fate;  /* in the first moved run that differs */
    Turn turn;      /* that run */
    char *words;
} Face;

/* A caution that only a moved run gives. */
typedef struct TurnedCaution {
    Turn turn;
    char *text;
} TurnedCaution;

/* `Turned turned = {0};` is ready for a script. */
typedef struct Turned {
    Face *faces;
    int count, capacity;
    TurnedCaution *cautions;
    int caution_count, caution_capacity;
    PlaceMap places;
    PlaceMap said; /* hashes of the cautions of the script as it is, and of those above */
    int run;
    bool verdict; /* a verdict on a limit was given, at the prompt maybe by an entry before */
} Turned;

void turned_free(Turned *turned);
void turned_begin_run(Turned *turned, bool learns); /* `learns`: the script as it is, all is forgotten */
size_t turned_bytes(const Turned *turned);

/* A result of the script as it is, worded in `text`; NULL for one that is only a number. Its index. */
int turned_learn(Turned *turned, uint64_t place, const char *text, bool has_truth);
/* The same result when the script as it is runs again: its index, -1 if it was not there. */
int turned_find(Turned *turned, uint64_t place);
/* The same in a moved run: its index if it is another one there, else -1. */
int turned_compare(Turned *turned, uint64_t place, const char *text);
/* What a moved run has instead. The first of them stays. */
void turned_set(Turned *turned, int face, FaceFate fate, const char *words, Turn turn);
/* Takes the cautions of the script as it is, and then those of a moved run. */
void turned_take_cautions(Turned *turned, const Report *report, const Turn *turn);
/* What a limit of the library says where only a moved run comes to it. */
void turned_add_caution(Turned *turned, const char *text, Turn turn);

#endif
