/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Errors and notes for people: the catalogue of messages, and the one renderer.
 *
 * Every message is one row of messages.def and exists once. A module that finds a fault does not word it: it
 * names the row and gives the words that fill it. There are two ways in:
 *   - the front end knows the source text: diag_add(list, MSG_x, source, span, ARGS("…"))
 *   - arithmetic and natives know no source: they fill a Fault, and the run time adds the place. */
#ifndef RUNDLET_DIAG_H
#define RUNDLET_DIAG_H

#include <stdbool.h>
#include "source.h"
#include "text.h"

typedef enum MessageId {
    MSG_NONE,
#define MESSAGE(id, class_, text, hint) MSG_##id,
#include "messages.def"
#undef MESSAGE
    MESSAGE_COUNT
} MessageId;

/* What kind of failure a message is: decides what may be caught and the exit status. */
typedef enum MessageClass {
    CLASS_SYNTAX, /* stops a file before its first line */
    CLASS_NAME,   /* unknown or misused names, wrong arguments: likewise */
    CLASS_SCRIPT, /* found while running: `expect error` catches it */
    CLASS_LIMIT,  /* time, memory, depth, output: never caught, status 3 */
    CLASS_EXPECT, /* a failed check: the run goes on, status 1 */
    CLASS_NOTE,   /* no error: --check says what may be a slip, and the status stays */
    CLASS_USAGE,  /* command line: status 2 */
    CLASS_FILE    /* unreadable or unwritable file: status 4 on the command line */
} MessageClass;

#define DIAG_ARGS 6
/* The words that fill %1 … %6 of a message, NULL-terminated. */
#define ARGS(...) ((const char *const[]){__VA_ARGS__, NULL})
#define NO_ARGS   ((const char *const[]){NULL})

/* A failure without a place, owned texts. `Fault f = {0};` is none. */
typedef struct Fault {
    MessageId id;
    char *args[DIAG_ARGS];
    char *left; /* what stands left and right of the operator, for labels; NULL for none */
    char *right;
    char *hint;      /* replaces the row's hint; NULL keeps it */
    MessageId cause; /* what is wrong inside the text that the row is about; MSG_NONE when that is all */
    int argument;    /* from 1: the argument of a call it belongs to; 0: the whole */
} Fault;

void fault_clear(Fault *fault);
/* Sets a fault (an earlier one is kept: the first is the cause) and returns false, so that `return
 * fault_set(…)` reads well. */
bool fault_set(Fault *fault, MessageId id, const char *const *args);
void fault_label(Fault *fault, const char *left, const char *right);
void fault_hint(Fault *fault, const char *hint);
/* The same with %1 … filled in: "did you mean %1?". */
void fault_hint_with(Fault *fault, const char *pattern, const char *const *args);
/* A text was refused for what `why` found in it: its row becomes the cause, its hint the hint. */
void fault_because(Fault *fault, const Fault *why);

typedef struct DiagLabel {
    Span span;
    char *text; /* may be "" */
} DiagLabel;

#define DIAG_LABELS 3
typedef struct Diag {
    MessageId id;
    MessageId cause; /* as in Fault */
    Source *source;  /* kept; NULL for a message without a place */
    Span span;
    char *message;
    char *hint; /* NULL for none */
    DiagLabel labels[DIAG_LABELS];
    int label_count;
    char **trace; /* "in formula prime, called at quince.rlet:14:6" */
    int trace_count;
} Diag;

typedef struct DiagList {
    Diag **items;
    int count;
    int capacity;
} DiagList;

MessageClass message_class(MessageId id);
const char *message_text(MessageId id); /* the row's pattern, for tests */
const char *message_name(MessageId id);
/* The hint where nothing but a literal can stand: "" for none, NULL when the row tells nothing about one. */
const char *message_literal_hint(MessageId id);

Diag *diag_new(MessageId id, Source *source, Span span, const char *const *args);
Diag *diag_from_fault(Fault *fault, Source *source, Span span); /* takes the fault's texts and clears it */
/* The same, with the words for both sides of an operator under their spans; an empty span gets none. */
Diag *diag_from_sides(Fault *fault, Source *source, Span at, Span left, Span right);
void diag_label(Diag *diag, Span span, const char *text);
void diag_set_hint(Diag *diag, const char *hint);
void diag_hint_with(Diag *diag, const char *pattern, const char *const *args); /* with %1 … filled in */
void diag_add_trace(Diag *diag, char *line);                                   /* takes the text */
void diag_free(Diag *diag);

Diag *diag_add(DiagList *list, MessageId id, Source *source, Span span,
               const char *const *args); /* stays the list's */
void diag_list_push(DiagList *list, Diag *diag);
void diag_list_free(DiagList *list);

/* The whole diagnostic as docs/reference/language.md, "What an error looks like", shows it, lines ended by
 * '\n'. */
void diag_render(Text *out, const Diag *diag);

#endif
