/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an entry that goes on still waits for: a bracket, the value after a sign or word, or `end`. A text is
 * none of them, since it has to end on its own line. */
#include <string.h>

#include "base/mem.h"
#include "programs/prompt_state.h"

enum { OPEN_MOST = 64 };

typedef struct OpenBrackets {
    char closing[OPEN_MOST];
    int count;
} OpenBrackets;

static const char *skip_text(const char *text);

/* After the `}` of a value inside a text, `text` being after its `{`. */
static const char *skip_value(const char *text) {
    int depth = 1;
    while (*text && depth) {
        if (*text == '"') {
            text = skip_text(text + 1);
            continue;
        }
        depth += (*text == '{') - (*text == '}');
        text++;
    }
    return text;
}

/* After the quote that ends a text, `text` being after the first. */
static const char *skip_text(const char *text) {
    while (*text && *text != '"') {
        if (*text == '\\' && text[1])
            text += 2;
        else if (*text == '{')
            text = skip_value(text + 1);
        else
            text++;
    }
    return text + (*text != '\0');
}

/* The brackets that are open at the end; `last`: the last sign or word of the text, which is the caller's. */
static OpenBrackets read_brackets(const char *text, char **last) {
    static const char opening[] = "([{", closing[] = ")]}";
    OpenBrackets open = {0};
    size_t start = 0, end = 0;
    for (const char *at = text; *at;) {
        const char *bracket = strchr(opening, *at), *from = at;
        if (*at == '#') {
            at += strcspn(at, "\n");
            continue;
        }
        at = *at == '"' ? skip_text(at + 1) : at + 1;
        if (bracket && open.count < OPEN_MOST)
            open.closing[open.count++] = closing[bracket - opening];
        else if (open.count && *from == open.closing[open.count - 1])
            open.count--;
        if (strchr(" \t\r\n", *from))
            continue;
        bool letters = strchr("abcdefghijklmnopqrstuvwxyz", *from) != NULL;
        bool goes_on = letters && end == (size_t)(from - text) && from > text &&
                       strchr("abcdefghijklmnopqrstuvwxyz_0123456789", from[-1]);
        start = goes_on ? start : (size_t)(from - text);
        end = (size_t)(at - text);
    }
    *last = mem_copy(text + start, end - start);
    return open;
}

/* Does something have to follow this sign or word, though it opens no block? */
static bool wants_more(const char *last) {
    static const char *const words[] = {"and",  "or",     "not", "as", "of",   "so", "with",
                                        "near", "within", "mod", "in", "from", "to", "by"};
    if (*last && !last[1] && strchr("+-*/^=<>,:", *last))
        return true;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i], last) == 0)
            return true;
    return false;
}

static const char *bracket_that(char closing) {
    return closing == ')' ? "(" : closing == ']' ? "[" : "{";
}

/* One bit for what is missing, so that each is told once. */
static unsigned note_what_is_open(Prompt *prompt, const OpenBrackets *open, const char *last, bool tells) {
    enum { BRACKET = 1, VALUE = 2, BLOCK = 4 };
    unsigned what = open->count ? BRACKET : wants_more(last) ? VALUE : BLOCK;
    if (!tells && (prompt->told_unfinished & what))
        return what;
    if (what == BRACKET) {
        char closing[] = {open->closing[open->count - 1], '\0'};
        prompt_note(prompt, NOTE_BRACKET_OPEN, ARGS(bracket_that(*closing), closing));
    } else if (what == VALUE) {
        prompt_note(prompt, NOTE_VALUE_MISSING, ARGS(last));
    } else {
        prompt_note(prompt, NOTE_BLOCK_OPEN, NO_ARGS);
    }
    return what;
}

void prompt_note_unfinished(Prompt *prompt, const char *entry, const char *line) {
    if (!prompt->typed)
        return;
    char *last;
    OpenBrackets open = read_brackets(entry, &last);
    prompt->told_unfinished |= note_what_is_open(prompt, &open, last, prompt_is_command(line));
    mem_free(last);
}
