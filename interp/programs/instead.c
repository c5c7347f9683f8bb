/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "programs/instead.h"

#include <string.h>

#include "base/mem.h"
#include "programs/prompt.h"

static const Diag *last_error(const Console *console) {
    const DiagList *errors = session_errors(console->session);
    return errors->count ? errors->items[errors->count - 1] : NULL;
}

static void show(Console *console, MessageId words, const char *line) {
    Text out = {0};
    char *text = message_take(words, ARGS(line));
    text_add_string(&out, "    ");
    text_add_string(&out, text);
    text_add_char(&out, '\n');
    console_write_aside(console, &out);
    mem_free(text);
    text_free(&out);
}

/* An error of computing is about the numbers: an example would say nothing of them. */
static bool asks_for_example(const Diag *error) {
    MessageClass class = error ? message_class(error->id) : CLASS_LIMIT;
    return class == CLASS_SYNTAX || class == CLASS_NAME;
}

char *instead_show(Console *console, const char *typed) {
    const Diag *error = last_error(console);
    bool example = asks_for_example(error);
    char *line = session_mended(console->session, typed);
    if (line) {
        if (!error || !error->hint || !strstr(error->hint, line))
            show(console, PHRASE_LINE_TO_TRY, line);
        return line;
    }
    const char *like = example ? prompt_line_like(console->session, typed) : NULL;
    if (like)
        show(console, PHRASE_LINE_LIKE, like);
    return mem_copy_string(like);
}
