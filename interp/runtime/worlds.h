/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Uncertainty by running again (docs/reference/language.md, "Readings with their ±"; JCGM 100:2008, 5.1.3
 * note 2; JCGM 101).
 *
 * A value carries no uncertainty. A script with n sources (every evaluation of a ± is one) is run 4n + 1
 * times: once as it is, to learn its sources and keep what it shows, then twice for each source with that one
 * moved up and down by its standard uncertainty, and twice with it at the ends of its reach, to compare what
 * is shown there (turned.h). Each run logs the numbers it would show; half the difference
 * between the two moved runs is what a source contributes to a number, and what was kept is reported with it
 * (settle.h). Pairs of sources moved together are run besides, n (n - 1) / 2 of them for up to 16 sources:
 * for a note only. A script that works on a text which quotes a number with a ± is run once more, to have it
 * in that text. Sources and numbers of two runs are matched by their places (vm_place in vm_parts.h): a run
 * that takes another branch, or more turns, still finds what both have, and what it has not is reported,
 * never guessed. Correlation is right by construction, through conversions, formulas, liquids, find, tables
 * and loops alike: they are simply run. With --trials every source is drawn at random instead. Plain scripts
 * are run once and pay nothing. A script that comes to a limit which has to hold at the bad end of every ± is
 * run some more times first (bad_end.h). */
#ifndef RUNDLET_WORLDS_H
#define RUNDLET_WORLDS_H

#include <stdint.h>

#include "runtime/bad_end.h"
#include "runtime/place_map.h"
#include "runtime/turned.h"
#include "values/chunk.h"
#include "values/display.h"
#include "values/report.h"

typedef enum WorldMode {
    WORLD_PLAIN,   /* no ± in the script */
    WORLD_CENTRAL, /* learns the sources and the central numbers; what it shows is kept */
    WORLD_MOVED,   /* one source moved */
    WORLD_TRIAL,   /* all sources drawn */
    WORLD_END,     /* one source at an end of its ±, to see what is judged there */
    WORLD_AGAIN    /* as central, with what the others found: for texts that quote a ± */
} WorldMode;

typedef enum Spread { SPREAD_NORMAL, SPREAD_RECTANGULAR } Spread;

/* What a source is called, and what tells it apart from others that are called so (source_names.c); both
 * owned. `full` is NULL where `brief` will do in any case. */
typedef struct SourceWords {
    char *brief;
    char *full;
} SourceWords;

typedef struct WorldSource {
    uint64_t place;     /* where it is evaluated */
    char *name;         /* source_names.h */
    char *full;         /* until the names of all are settled; then NULL */
    double uncertainty; /* standard, on the value's own unit */
    Spread spread;
    Value value; /* its central value */
} WorldSource;

typedef struct LoggedNumber {
    uint64_t place; /* of this number: which one of the value that was shown at `shown` */
    uint64_t shown;
    double number;
    UnitId unit;
    bool worked; /* it is quoted in a text that the script may work on */
} LoggedNumber;

typedef struct WorldLog {
    LoggedNumber *items;
    int count, capacity;
} WorldLog;

/* Why runs had no value at a place: the instruction that failed, and what it said first. */
typedef struct Reason {
    MessageId id;
    Source *source;
    Span at;
    char *text;
    bool varies; /* other runs worded it with other numbers */
} Reason;

/* Reasons told apart; those that come later are counted together as the last. */
enum { REASONS_MOST = 8 };

typedef struct Worlds {
    WorldMode mode;
    WorldSource *sources;
    int source_count, source_capacity;
    int late_count;  /* after them: sources that only drawn runs came to */
    PlaceMap places; /* of the sources of this run's script, by their index */
    int *evaluated;  /* in this run, in order: the index of each source, -1 for one that is not known */
    int next_source; /* how many of them */
    int evaluated_capacity;
    int moved; /* WORLD_MOVED, WORLD_END: which source, and by how many standard uncertainties */
    double moved_by;
    int moved_too;   /* a second source moved up with it, or -1 */
    bool as_weighed; /* WORLD_END: what was weighed stays as it was */
    BadEnds ends;
    Turned turned;
    const Source *failed_in; /* where the script as it is failed: other runs need not tell of that */
    Span failed_at;
    double *draws; /* WORLD_TRIAL: one a source, NaN for a late one that was not needed yet */
    int draw_capacity;
    uint64_t random[4];
    WorldLog log;            /* of this run */
    WorldLog central;        /* of the discovering run */
    PlaceMap central_places; /* filled when first needed */
    PlaceMap refused;        /* places of this run that have no value, and why: the index of a reason */
    int stopped;             /* the reason that ended this run, or -1 */
    int reached;             /* the last of the central numbers that it has (worlds_align), or -1 */
    Reason reasons[REASONS_MOST];
    int reason_count;
    const UnitTable *units;
    double *shares;  /* contributions, number by source: shares[number * source_count + source] */
    double *bends;   /* by number: how far the second order moves it */
    double *crossed; /* by number: variance that two sources make together, beyond what each makes alone */
    int *lost;       /* by number: 1 + a source that moved both ways leaves it without a value; negative: not
                        since the script stopped there */
    int *sided;      /* the same for one way; negative: downward */
    int lost_told;   /* the one a note told of last */
    double *spreads; /* of the central numbers, once they are settled */
    Drawn *trials;   /* after --trials: by number; NULL without */
    int *refusals;   /* by number, then reason: draws refused; NULL while there are none */
    int shown_next;  /* WORLD_AGAIN: the number shown next */
    int runs;        /* of this script */
    size_t share_bytes; /* that shares, bends and spreads take */
} Worlds;

Worlds *worlds_new(void);
void worlds_free(Worlds *worlds);
/* Starts a run in a mode: counters back to the beginning, log empty. */
void worlds_begin(Worlds *worlds, WorldMode mode);
/* Is this a run with a source moved or drawn? What it shows is not what is shown. */
bool worlds_are_moved(const Worlds *worlds);
/* A ± is evaluated: the number to continue with in this world. Takes `words`. */
double worlds_source(Worlds *worlds, uint64_t place, SourceWords words, Value value, double uncertainty,
                     Spread spread);
/* Keeps so many sources: those of the scripts that ran before are no more, or those of this one are learnt
 * again. */
void worlds_keep_sources(Worlds *worlds, int count);
/* How far a source goes to its bad end: two standard uncertainties, and no further than a tolerance allows.
 */
double worlds_reach(const Worlds *worlds, int source);
/* A figure is judged by its highest value within all ± (JUDGE_BAD_END), or it is weighed out
 * (JUDGE_WEIGHED): the value to continue with. None: nothing is known there. */
Value worlds_judge(Worlds *worlds, uint64_t place, Value figure, Judge how);
/* What the script as it is weighed at a place, where this run is to leave it so. */
bool worlds_recall(Worlds *worlds, uint64_t place, UnitId unit, double *number);
/* By how many standard uncertainties the source is moved in this world that was evaluated as the k-th. */
double worlds_moved_by(const Worlds *worlds, int k);
/* Logs the numbers of a value that is about to be shown. The place of the first among the central numbers, -1
 * when it has none there. */
int worlds_show(Worlds *worlds, uint64_t place, Value value);
/* The face of a result that is handed out, -1 if it has none (turned.h); of a text whose numbers are not
 * worded yet in `value`. */
int worlds_face(Worlds *worlds, uint64_t place, Value value);
int worlds_face_text(Worlds *worlds, uint64_t place, const char *text, Value value);
/* After the script as it is (`report`: what it gives; `error`: what ended it, or NULL). */
void worlds_keep_faces(Worlds *worlds, const Report *report, const Diag *error);
/* After a run with one source moved. */
void worlds_compare(Worlds *worlds, const Report *report);
/* The numbers from one on that worlds_show just logged are quoted in a text that the script may work on. */
void worlds_work(Worlds *worlds, int first);
/* Has one of those a ± after all, or something to be noted? Then the script is to be run again, with it. */
bool worlds_want_again(const Worlds *worlds);
/* What the other runs found of a central number: its standard uncertainty; does first order mislead for it?
 */
double worlds_spread(const Worlds *worlds, int number);
bool worlds_is_bent(const Worlds *worlds, int number);
/* In a moved or drawn run: there is no value at a place, or the run stops. `is_result`: it is that of a
 * result (a show, a table's cell), not of a number in a text. */
void worlds_refuse(Worlds *worlds, uint64_t place, const Diag *why, bool is_result);
void worlds_stop(Worlds *worlds, const Diag *why);
/* The numbers of the run just done in the order of the central log, NaN where it has none: `numbers` has room
 * for all of them. */
void worlds_align(Worlds *worlds, double *numbers);
/* Why the run just done lacks a number of the central log: a reason's index, or -1 when it took another way.
 */
int worlds_reason(const Worlds *worlds, int number);
void worlds_clear_reasons(Worlds *worlds);
/* Takes the numbers (worlds_align) of the two runs in which a source was moved up and down, and after which
 * number both had stopped (INT_MAX: one came to its end); call for every source, then settle. */
void worlds_open_shares(Worlds *worlds);
size_t worlds_share_bytes(const Worlds *worlds); /* it will take */
size_t worlds_bytes(const Worlds *worlds);       /* all of it takes, about */
void worlds_add_share(Worlds *worlds, int source, const double *up, const double *down, int stopped_behind);
void worlds_settle(Worlds *worlds);
/* Takes the numbers of runs with source a, source b, and both moved up: what they make only together. */
void worlds_add_cross(Worlds *worlds, const double *a, const double *b, const double *both);
/* Ends WORLD_CENTRAL: its log becomes the central one. */
void worlds_keep_central(Worlds *worlds);
void worlds_seed(Worlds *worlds, uint64_t seed);

#endif
