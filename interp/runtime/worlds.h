/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Uncertainty by running again (docs/reference/language.md, "Readings with their ±"; JCGM 100:2008, 5.1.3
 * note 2; JCGM 101).
 *
 * A value carries no uncertainty. A script in which a ± is evaluated is run several times: once to learn its
 * sources (every evaluation of a ± is one), then twice for each source with that one moved up and down by its
 * standard uncertainty, and at last as it stands, to be shown. Each run logs the numbers it would show, in
 * order; half the difference between the two moved runs is what a source contributes to a number. Correlation
 * is right by construction, through conversions, formulas, liquids, find, tables and loops alike: they are
 * simply run. With --trials every source is drawn at random instead. Plain scripts are run once and pay
 * nothing. */
#ifndef RUNDLET_WORLDS_H
#define RUNDLET_WORLDS_H

#include <stdint.h>

#include "values/chunk.h"
#include "values/display.h"

typedef enum WorldMode {
    WORLD_PLAIN,    /* no ± in the script */
    WORLD_DISCOVER, /* learns the sources and the central numbers */
    WORLD_MOVED,    /* one source moved */
    WORLD_TRIAL,    /* all sources drawn */
    WORLD_SHOWN     /* the last run: shows, with what the others found */
} WorldMode;

typedef enum Spread { SPREAD_NORMAL, SPREAD_RECTANGULAR } Spread;

typedef struct WorldSource {
    const void *site;   /* the instruction that evaluates it */
    char *name;         /* of its input or let; else "line 12, column 9" */
    double uncertainty; /* standard, on the value's own unit */
    Spread spread;
    Value value; /* its central value */
} WorldSource;

typedef struct LoggedNumber {
    const void *site; /* the instruction that showed it */
    double number;
    UnitId unit;
} LoggedNumber;

/* What N random draws made of a shown number (JCGM 101). */
typedef struct TrialSummary {
    double mean, uncertainty; /* standard */
    double low, high;         /* the interval that holds the middle 95 % */
    long count;               /* draws in which it was shown */
} TrialSummary;

typedef struct WorldLog {
    LoggedNumber *items;
    int count, capacity;
} WorldLog;

typedef struct Worlds {
    WorldMode mode;
    WorldSource *sources;
    int source_count, source_capacity;
    int first_source; /* the number of the first source of a run; above 0 at the prompt, where earlier ones
                         live */
    int next_source;  /* in this run */
    int moved;        /* WORLD_MOVED: which source, and by how many standard uncertainties */
    double moved_by;
    int moved_too; /* a second source moved up with it, or -1 */
    double *draws; /* WORLD_TRIAL: one a source, drawn when first needed in a run */
    int drawn, draw_capacity;
    uint64_t random[4];
    WorldLog log;     /* of this run */
    WorldLog central; /* of the discovering run */
    double *shares;   /* contributions, number by source: shares[number * source_count + source] */
    double *bends;    /* by number: how far the second order moves it */
    double *crossed;  /* by number: variance that two sources make together, beyond what each makes alone */
    int *lost;        /* by number: 1 + a source that moved both ways stops the script before it; 0: none */
    int lost_told;    /* the one a note told of last */
    double *spreads;  /* WORLD_SHOWN: by number of the central log */
    TrialSummary *trials; /* WORLD_SHOWN after --trials: by number; NULL without */
    int shown_next;
    size_t share_bytes; /* that shares, bends and spreads take */
} Worlds;

Worlds *worlds_new(void);
void worlds_free(Worlds *worlds);
/* Starts a run in a mode: counters back to the beginning, log empty. */
void worlds_begin(Worlds *worlds, WorldMode mode);
/* Is this a run with a source moved or drawn? What it shows is not what is shown. */
bool worlds_are_moved(const Worlds *worlds);
/* A ± is evaluated: the number to go on with in this world. */
double worlds_source(Worlds *worlds, const void *site, const char *name, Value value, double uncertainty,
                     Spread spread);
/* The numbers of a value that is about to be shown: logs them, or (WORLD_SHOWN) gives the uncertainty of
 * each; NULL when none is known. Valid until the next call. `bent`: first order misleads for one of them. */
const double *worlds_show(Worlds *worlds, const void *site, Value value, bool *bent);
/* Takes the logs of the two runs in which a source was moved up and down; call for every source, then settle.
 */
void worlds_open_shares(Worlds *worlds);
size_t worlds_share_bytes(const Worlds *worlds); /* it will take */
size_t worlds_bytes(const Worlds *worlds);       /* all of it takes, about */
void worlds_add_share(Worlds *worlds, int source, const WorldLog *up, const WorldLog *down);
void worlds_settle(Worlds *worlds);
/* Takes the logs of runs with source a, source b, and both moved up: what they make only together. */
void worlds_add_cross(Worlds *worlds, const WorldLog *a, const WorldLog *b, const WorldLog *both);
/* A source whose part in a number could not be told, if that was not said before; NULL for none. */
const char *worlds_lost_source(Worlds *worlds, int number);
/* Ends WORLD_DISCOVER: its log becomes the central one. */
void worlds_keep_central(Worlds *worlds);
void worlds_seed(Worlds *worlds, uint64_t seed);

#endif
