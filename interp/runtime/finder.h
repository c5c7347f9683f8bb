/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every `find` shares: bounds, trial values, what the conditions say there, and the end of the search.
 * Private to find.c and find_many.c. */
#ifndef RUNDLET_FINDER_H
#define RUNDLET_FINDER_H

#include "runtime/vm_parts.h"

/* A condition where last evaluated. */
typedef struct FinderGap {
    double gap;                   /* left − right on their common scale */
    double size;                  /* of the sides */
    double last_left, last_right; /* their numbers, to see whether a side moves at all */
    bool has_value, left_moves, right_moves;
} FinderGap;

typedef struct Finder {
    Vm *vm;
    const FindPlan *plan;
    double *low, *high; /* by unknown, in the unit of its lower bound */
    UnitId *units;      /* by unknown */
    FinderGap *gaps;    /* by condition */
    double goal;        /* counted from its first value, in that one's unit */
    Value first_goal;   /* none: not evaluated yet */
    Diag *first_error;  /* of a place where a side failed */
    bool stopped;       /* a limit or an interruption */
    int first_source;   /* a ± evaluated again by another trial value is the same source */
    uint64_t place;     /* of this find, in all runs of the script */
    int muted;
} Finder;

/* Reads the bounds, keeps what the unknowns' globals hold, mutes the report. False: vm->error says why;
 * nothing is to be closed. */
bool finder_open(Finder *f, Vm *vm, const FindPlan *plan);
/* Unmutes; unless found, puts the globals back. Returns whether the find as a whole succeeded. */
bool finder_close(Finder *f, bool found);
/* The conditions and the goal at x. False: an error there (the first is kept, later ones are not worded), or
 * stopped. */
bool finder_evaluate(Finder *f, const double *x);
/* x is settled: binds it and evaluates once more, so that its cautions are heard, and its limits judged. */
bool finder_settle(Finder *f, const double *x);
/* In a run that shows its working: what the sides come to so many steps beside the whole-number answer x. */
void finder_record_beside(Finder *f, const double *x, int steps);
/* In a run that is to leave it so: x becomes what the script as it is had found, and is bound. False: search.
 */
bool finder_recall(Finder *f, double *x);

/* Does a gap count as none, or does it satisfy the condition's relation? */
bool finder_holds(const Finder *f, int condition, double gap, double size);
/* x of an unknown as `show` prints it. */
MessageArg finder_at(const Finder *f, int unknown, double x);
/* Every place failed: the first failure is the answer. Returns false, like all below. */
bool finder_fail_everywhere(Finder *f);
bool finder_fail(Finder *f, MessageId id, MessageArg *args, Span at);
bool finder_fail_hint(Finder *f, MessageId id, MessageArg *args, MessageId hint, MessageArg *hint_args,
                      Span at);
void finder_note_several(Finder *f, double first, double second);

#endif
