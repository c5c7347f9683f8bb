/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The catalogue of what a person reads (messages.def), and the one renderer of its rows.
 *
 * Code words nothing: it names a row and passes its arguments as data. An argument knows what it is (a text,
 * a number, a quantity, a kind, a list of names, a phrase of the catalogue) and how it is shown; those of
 * quantities and values are made in quantities/quantity_arg.h and values/value_arg.h. Whoever takes arguments
 * owns them from then on. */
#ifndef RUNDLET_MESSAGE_H
#define RUNDLET_MESSAGE_H

#include <stdbool.h>
#include "text.h"

typedef enum MessageId {
    MSG_NONE,
#define ROW(id, class_, text, hint, alone) id,
#include "messages.def"
#undef ROW
    MESSAGE_COUNT
} MessageId;

/* What kind of failure a message is: decides what may be caught and the exit status. */
typedef enum MessageClass {
    CLASS_SYNTAX, /* stops a file before its first line */
    CLASS_NAME,   /* unknown or misused names, wrong arguments: likewise */
    CLASS_SCRIPT, /* found while running: `expect error` catches it */
    CLASS_KIND,   /* the same, but kinds, units and literals tell it: --check finds it too */
    CLASS_LIMIT,  /* time, memory, depth, output: never caught, status 3 */
    CLASS_EXPECT, /* a failed check: the run continues, status 1 */
    CLASS_NOTE,   /* no error: --check says what may be a slip, and the status stays */
    CLASS_USAGE,  /* command line: status 2 */
    CLASS_FILE,   /* unreadable or unwritable file: status 4 on the command line */
    CLASS_WORDS   /* no message by itself: a hint, a note or caution of a report, a phrase */
} MessageClass;

MessageClass message_class(MessageId id);
const char *message_text(MessageId id); /* the row's pattern */
const char *message_name(MessageId id); /* as machines read it: ADD_KINDS */
/* Has the row words for a text that is one literal and no script (LITERAL in messages.def)? */
bool message_is_of_literal(MessageId id);

typedef enum ArgType {
    ARG_END,
    ARG_TEXT,
    ARG_NUMBER,
    ARG_QUANTITY,
    ARG_KIND,
    ARG_LIST,
    ARG_PLACE,
    ARG_PHRASE
} ArgType;
typedef enum OperandSide { SIDE_NONE, SIDE_LEFT, SIDE_RIGHT } OperandSide;
/* What an argument that says what to type would replace: nothing, the marked place, or the line. SURELY, with
 * either: nothing else can have been meant, so the prompt runs it at once. */
typedef enum Mends { MENDS_NOTHING, MENDS_PLACE = 1, MENDS_LINE = 2, SURELY = 4 } Mends;

typedef struct MessageArg {
    ArgType type;
    OperandSide operand; /* the side of an operator that this very value is on */
    Mends mends;
    char *text;    /* as it is shown; owned */
    double number; /* NUMBER, QUANTITY: before it was rounded to be shown */
    char *unit;    /* QUANTITY; owned */
} MessageArg;

enum { MESSAGE_ARGS = 6 };
/* The arguments that fill %1 … %6 of a row: each a string, which is copied, or a MessageArg. */
#define ARG(x)                                  _Generic((x), MessageArg : arg_itself, default : arg_text)(x)
#define ARGS_1(a)                               ARG(a)
#define ARGS_2(a, ...)                          ARG(a), ARGS_1(__VA_ARGS__)
#define ARGS_3(a, ...)                          ARG(a), ARGS_2(__VA_ARGS__)
#define ARGS_4(a, ...)                          ARG(a), ARGS_3(__VA_ARGS__)
#define ARGS_5(a, ...)                          ARG(a), ARGS_4(__VA_ARGS__)
#define ARGS_6(a, ...)                          ARG(a), ARGS_5(__VA_ARGS__)
#define ARGS_PICK(a, b, c, d, e, f, count, ...) ARGS_##count
#define ARGS_COUNTED(...)                       ARGS_PICK(__VA_ARGS__)
#define ARGS(...)                               ((MessageArg[]){ARGS_COUNTED(__VA_ARGS__, 6, 5, 4, 3, 2, 1, 0)(__VA_ARGS__), {0}})
#define NO_ARGS                                 ((MessageArg *)NULL)

static inline MessageArg arg_itself(MessageArg arg) {
    return arg;
}
MessageArg arg_text(const char *text);          /* a copy; NULL counts as "" */
MessageArg arg_taken(ArgType type, Text *text); /* takes the builder's bytes */
MessageArg arg_whole(long long number);
MessageArg arg_phrase(MessageId id, MessageArg *args);
MessageArg arg_words(MessageId id); /* a phrase without arguments */
MessageArg arg_operand(MessageArg arg, OperandSide side);
MessageArg arg_mending(MessageArg arg, Mends mends);
/* A name in the place of one that is spelled like it: surely, where only capitals differ. */
MessageArg arg_meant(const char *typed, const char *meant);
MessageArg arg_copy(const MessageArg *arg);
void arg_replace(MessageArg *old, MessageArg arg);

/* Into an array of MESSAGE_ARGS, the rest ARG_END; what it held is freed. `from`: NULL for none. */
void args_take(MessageArg *into, MessageArg *from);
void args_free(MessageArg *args); /* those up to ARG_END or MESSAGE_ARGS of them; NULL is fine */

/* The row with its arguments, on one line. The caller frees it, and still owns the arguments. */
char *message_render(MessageId id, const MessageArg *args);
/* The row's own hint likewise; `alone` where the text is one literal. NULL if it has none. */
char *message_render_hint(MessageId id, bool alone, const MessageArg *args);
/* The same as message_render, and takes the arguments. */
char *message_take(MessageId id, MessageArg *args);
/* What goes before an item of a list such as "a, b or c": nothing before the first, `joint` (PHRASE_JOINED_OR
 * or PHRASE_JOINED_AND) before the last, a comma before the others. */
void message_add_joint(Text *out, bool first, bool last, MessageId joint);

#endif
