/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a run that shows its working does, in order: each value that was read, given a name, called for or
 * shown, with its mark in the code (values/chunk.h).
 *
 * Of a loop the first and the last turn stay. Nothing is recorded of the trials of a `find`, except what the
 * sides of its condition come to beside a whole-number answer, nor of runs with a source of ± moved. */
#ifndef RUNDLET_RECORDER_H
#define RUNDLET_RECORDER_H

#include "values/chunk.h"

typedef struct Record {
    const Chunk *chunk;
    int64_t serial; /* from 1, never given twice: a record that is dropped leaves a gap */
    int32_t mark;
    MarkPhase phase;
    int depth;       /* of the frame */
    Value value;     /* at MARK_DONE */
    Value redone;    /* what its printed working gives; absent: not worked out */
    int32_t begun;   /* MARK_DONE: the record of its MARK_BEGIN; -1: it has none */
    int32_t definer; /* MARK_READ: the record that gave the name its value; MARK_TURN: that of the loop's
                        list; -1: not known */
    int32_t inside;  /* MARK_BEGIN: what the condition around it came to; -1: there is none */
    int32_t turn_of; /* the MARK_BEGIN of the turn it was in; -1: of none */
    int turn;        /* MARK_TURN: its number, from 1; at MARK_DONE how many there were */
    int beside;      /* of a find: so many steps off its answer; 0: at the answer */
} Record;

/* A default of ours that a formula in C took, while a record was the next. */
typedef struct Assumed {
    int32_t before;
    int id; /* MessageId of its words */
} Assumed;

typedef struct Recorder {
    Record *items;
    int32_t count, capacity;
    Assumed *assumed;
    int assumed_count, assumed_capacity;
    int64_t serials;           /* given so far */
    int beside;                /* what is recorded is so many steps beside the answer of a find, */
    int beside_depth;          /* whose sides are in this frame */
    bool paused;               /* nothing is recorded: steps are being worked out again */
    bool full;                 /* there was more than fits */
    struct FrameNames *frames; /* by depth: who defined its locals, what its conditions came to */
    int frame_count, deepest;  /* frames above `deepest` hold nothing */
    int32_t *globals;          /* by number: the record that defined it + 1 */
    int global_count;
    struct OpenTurn *turns; /* of the loops under way */
    int turn_count, turn_capacity;
    int32_t *begun; /* records at MARK_BEGIN that wait for their MARK_DONE */
    int begun_count, begun_capacity;
} Recorder;

Recorder *recorder_new(void);
void recorder_free(Recorder *recorder);
void recorder_clear(Recorder *recorder);
void recorder_mark(const Recorder *recorder); /* its values are roots */
void recorder_add(Recorder *recorder, const Chunk *chunk, int32_t mark, MarkPhase phase, int depth,
                  Value value);
void recorder_assume(Recorder *recorder, int id);
/* There is no room for more: all that was kept is let go. */
void recorder_give_up(Recorder *recorder);
/* The serial of the value that a `show` or `column` of the frame has just worked out; 0: it is not kept. */
int64_t recorder_shown(const Recorder *recorder, const Chunk *chunk, int depth);
/* The record of that serial; -1: it was dropped, or there never was one. */
int32_t recorder_find(const Recorder *recorder, int64_t serial);
static inline const Mark *recorder_mark_of(const Record *record) {
    return &record->chunk->marks[record->mark];
}

#endif
