/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a run that shows its working does, in order: each value that was read, given a name, called for or
 * shown, with its mark in the code (values/chunk.h).
 *
 * Nothing is recorded of trial evaluations of a find, nor of runs with a source moved. Of a loop the first
 * and the last turn stay. */
#ifndef RUNDLET_RECORDER_H
#define RUNDLET_RECORDER_H

#include "values/chunk.h"

typedef struct Record {
    const Chunk *chunk;
    int32_t mark;
    MarkPhase phase;
    int depth;       /* of the frame */
    Value value;     /* at MARK_DONE */
    int32_t begun;   /* MARK_DONE: the record of its MARK_BEGIN; -1: it has none */
    int32_t definer; /* MARK_READ: the record that gave the name its value; -1: not known */
    int32_t inside;  /* MARK_BEGIN: what the condition around it came to; -1: there is none */
    int turn;        /* MARK_TURN: its number, from 1; at MARK_DONE how many there were */
} Record;

typedef struct Recorder {
    Record *items;
    int32_t count, capacity;
    struct FrameNames *frames; /* by depth: who defined its locals */
    int frame_count;
    int32_t *globals; /* by number: the record that defined it + 1 */
    int global_count;
    bool full; /* there was more than fits */
} Recorder;

Recorder *recorder_new(void);
void recorder_free(Recorder *recorder);
void recorder_clear(Recorder *recorder);
void recorder_mark(const Recorder *recorder); /* its values are roots */
void recorder_add(Recorder *recorder, const Chunk *chunk, int32_t mark, MarkPhase phase, int depth,
                  Value value);

#endif
