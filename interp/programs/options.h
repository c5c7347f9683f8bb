/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command line (docs/reference/program.md, "The program"): what it asks for, and its faults. */
#ifndef RUNDLET_OPTIONS_H
#define RUNDLET_OPTIONS_H

#include "facade/sink.h"

typedef enum Mode {
    MODE_RUN, /* a script */
    MODE_PROMPT,
    MODE_EXPRESSIONS, /* -e */
    MODE_CHECK,
    MODE_EXPECT,
    MODE_INPUTS,
    MODE_HELP,
    MODE_VERSION
} Mode;

/* The texts are those of argv. */
typedef struct Options {
    Mode mode;
    bool prompt_by_default; /* MODE_PROMPT that nobody asked for: standard input may be a script */
    const char **expressions;
    int expression_count;
    const char **files;
    int file_count;
    const char **inputs; /* NAME=VALUE, as written */
    int input_count;
    const RenderForm *form; /* of --report; NULL: the results alone */
    bool budget;            /* --budget */
    int working;            /* --working: so many levels; 0: none */
    long trials;            /* --trials; 0: none */
    bool has_seed;
    uint64_t seed; /* --seed; 1 unless given */
    SessionLimits limits;
    bool has_today;
    double today;
} Options;

/* Reads argv into `options` (zeroed before; options_free in any case). False after adding one error. */
bool options_read(Options *options, int argc, char *const *argv, DiagList *errors);
void options_free(Options *options);
void options_help(Text *out);

#endif
