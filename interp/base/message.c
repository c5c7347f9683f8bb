/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/message.h"

#include <string.h>
#include <strings.h>

#include "base/mem.h"

typedef struct MessageRow {
    const char *name;
    MessageClass class;
    const char *text;
    const char *hint;
    const char *alone; /* its hint for a literal alone; NULL: the row tells nothing about one */
} MessageRow;

static const MessageRow rows[] = {
    {"MSG_NONE", CLASS_SCRIPT, "", "", NULL},
#define ROW(id, class_, text, hint, alone) {#id, class_, text, hint, alone},
#include "messages.def"
#undef ROW
};

MessageClass message_class(MessageId id) {
    return rows[id].class;
}

const char *message_text(MessageId id) {
    return rows[id].text;
}

const char *message_name(MessageId id) {
    return strchr(rows[id].name, '_') + 1;
}

bool message_is_of_literal(MessageId id) {
    return rows[id].alone != NULL;
}

/* ---- arguments ---- */

MessageArg arg_text(const char *text) {
    return (MessageArg){.type = ARG_TEXT, .text = mem_copy_string(text ? text : "")};
}

MessageArg arg_taken(ArgType type, Text *text) {
    return (MessageArg){.type = type, .text = text_take(text)};
}

MessageArg arg_whole(long long number) {
    Text text = {0};
    text_add_integer(&text, number);
    return (MessageArg){.type = ARG_NUMBER, .text = text_take(&text), .number = (double)number};
}

MessageArg arg_phrase(MessageId id, MessageArg *args) {
    return (MessageArg){.type = ARG_PHRASE, .text = message_take(id, args)};
}

MessageArg arg_words(MessageId id) {
    return arg_phrase(id, NO_ARGS);
}

MessageArg arg_operand(MessageArg arg, OperandSide side) {
    arg.operand = side;
    return arg;
}

MessageArg arg_mending(MessageArg arg, Mends mends) {
    arg.mends = mends;
    return arg;
}

MessageArg arg_meant(const char *typed, const char *meant) {
    return arg_mending(arg_text(meant), strcasecmp(typed, meant) == 0 ? MENDS_PLACE | SURELY : MENDS_PLACE);
}

MessageArg arg_copy(const MessageArg *arg) {
    MessageArg copy = *arg;
    copy.text = mem_copy_string(arg->text);
    copy.unit = mem_copy_string(arg->unit);
    return copy;
}

void arg_replace(MessageArg *old, MessageArg arg) {
    mem_free(old->text);
    mem_free(old->unit);
    *old = arg;
}

void args_free(MessageArg *args) {
    for (int i = 0; args && i < MESSAGE_ARGS && args[i].type != ARG_END; i++) {
        mem_free(args[i].text);
        mem_free(args[i].unit);
        args[i] = (MessageArg){0};
    }
}

void args_take(MessageArg *into, MessageArg *from) {
    args_free(into);
    for (int i = 0; from && i < MESSAGE_ARGS && from[i].type != ARG_END; i++)
        into[i] = from[i];
}

/* ---- the renderer ---- */

/* A word of a message stays on its line: what a script put into it may hold newlines and worse. */
static void add_word(Text *out, const char *word) {
    text_add_clean(out, word, strlen(word), "", " ");
}

static char *render(const char *pattern, const MessageArg *args) {
    Text out = {0};
    int count = 0;
    while (args && count < MESSAGE_ARGS && args[count].type != ARG_END)
        count++;
    for (const char *p = pattern; *p; p++) {
        bool hole = p[0] == '%' && p[1] >= '1' && p[1] <= '9';
        if (!hole) {
            text_add_char(&out, *p);
            continue;
        }
        p++;
        if (*p - '1' < count)
            add_word(&out, args[*p - '1'].text);
    }
    return text_take(&out);
}

char *message_render(MessageId id, const MessageArg *args) {
    return render(rows[id].text, args);
}

char *message_render_hint(MessageId id, bool alone, const MessageArg *args) {
    const char *pattern = alone && rows[id].alone ? rows[id].alone : rows[id].hint;
    return *pattern ? render(pattern, args) : NULL;
}

void message_add_joint(Text *out, bool first, bool last, MessageId joint) {
    text_add_string(out, first ? "" : last ? message_text(joint) : ", ");
}

char *message_take(MessageId id, MessageArg *args) {
    char *text = message_render(id, args);
    args_free(args);
    return text;
}
