/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Errors and notes for people: a row of messages.def (message.h), its arguments, and where it belongs.
 *
 * A module that finds a fault does not word it: it names the row and passes what fills it. There are two ways
 * in:
 *   - the front end knows the source text: diag_add(list, MSG_x, source, span, ARGS(…))
 *   - arithmetic and natives know no source: they fill a Fault, and the run time adds the place. */
#ifndef RUNDLET_DIAG_H
#define RUNDLET_DIAG_H

#include "message.h"
#include "source.h"

/* A failure without a place. `Fault f = {0};` is none. Whoever gets a Fault to fill takes over all arguments.
 */
typedef struct Fault {
    MessageId id;
    MessageArg args[MESSAGE_ARGS];
    char *left; /* what is left and right of the operator, for labels; NULL for none */
    char *right;
    MessageId hint; /* a HINT row in place of the row's own hint; MSG_NONE keeps that */
    MessageArg hint_args[MESSAGE_ARGS];
    MessageId cause; /* what is wrong inside the text that the row is about; MSG_NONE when that is all */
    int argument;    /* from 1: the argument of a call it belongs to; 0: the whole */
    bool ignores;    /* a later fault was set, which is not kept: what is said of it is no part of this one */
} Fault;

MessageArg arg_place(const Source *source, uint32_t offset); /* quince.rlet:14:6 */

void fault_clear(Fault *fault);
/* Sets a fault (an earlier one is kept: the first is the cause) and returns false, so that `return
 * fault_set(…)` reads well. */
bool fault_set(Fault *fault, MessageId id, MessageArg *args);
void fault_label(Fault *fault, const char *left, const char *right);
/* Of the fault just set, and nothing if an earlier one was kept. `hint`: a HINT row; MSG_NONE for the row's
 * own. Returns false. */
bool fault_hint(Fault *fault, MessageId hint, MessageArg *args);
/* The argument of the hint that shows what is on one side of the operator; NULL if none does. */
MessageArg *fault_operand(Fault *fault, OperandSide side);
/* A text was refused for what `why` found in it: its row becomes the cause, its HINT row, if any, the hint.
 */
void fault_because(Fault *fault, Fault *why);
/* What the hint says, as an argument of another: "" for none. */
MessageArg arg_hint(const Fault *fault);

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
    MessageArg args[MESSAGE_ARGS];
    MessageId hint_id; /* as in Fault */
    MessageArg hint_args[MESSAGE_ARGS];
    char *message; /* the row with its arguments, rendered */
    char *hint;    /* NULL for none */
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

Diag *diag_new(MessageId id, Source *source, Span span, MessageArg *args);
Diag *diag_from_fault(Fault *fault, Source *source, Span span); /* takes what the fault has and clears it */
/* The same, with the words for both sides of an operator under their spans; an empty span gets none. */
Diag *diag_from_sides(Fault *fault, Source *source, Span at, Span left, Span right);
void diag_label(Diag *diag, Span span, const char *text);
void diag_hint(Diag *diag, MessageId hint, MessageArg *args); /* a HINT row */
void diag_hint_alone(Diag *diag); /* the row's own for a literal alone, if it has words for one */
/* The source text as the hint would have it: with what is to be typed in the marked place or line. NULL when
 * nothing says so. `surely`: nothing else can have been meant. mem_free it. */
char *diag_mended(const Diag *diag, bool *surely);
void diag_add_trace(Diag *diag, MessageId id, MessageArg *args);
void diag_free(Diag *diag);

Diag *diag_add(DiagList *list, MessageId id, Source *source, Span span,
               MessageArg *args); /* stays the list's */
void diag_list_push(DiagList *list, Diag *diag);
void diag_list_free(DiagList *list);

/* The whole diagnostic as docs/reference/language.md, "What an error looks like", shows it, lines ended by
 * '\n'. */
void diag_render(Text *out, const Diag *diag);

#endif
