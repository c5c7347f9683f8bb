/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "programs/instead.h"

#include <string.h>

#include "base/mem.h"
#include "programs/prompt.h"
#include "programs/readings.h"

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

/* An error of computing is about the numbers: an example would say nothing of them. An argument of the wrong
 * kind says that the formula is not known well. */
static bool asks_for_example(const Diag *error) {
    MessageClass class = error ? message_class(error->id) : CLASS_LIMIT;
    return class == CLASS_SYNTAX || class == CLASS_NAME || (error && error->id == MSG_ARGUMENT_KIND);
}

/* A name that nothing is known of: how it is given a value. */
static char *line_declaring(const Diag *error) {
    Text line = {0};
    if (!error || error->id != MSG_UNKNOWN_VALUE)
        return NULL;
    text_add_string(&line, "let ");
    text_add_string(&line, error->args[0].text);
    text_add_string(&line, " = 5 gal");
    return text_take(&line);
}

/* A file is not read twice, several lines are no slip of one, and what cannot be seen is not guessed at. */
static bool is_one_line(const char *typed) {
    const char *use = strstr(typed, "use \"");
    bool plain = !use || (use != typed && use[-1] != ' ' && use[-1] != ';');
    for (const char *at = typed; *at && plain; at++)
        plain = (unsigned char)*at >= ' ' || *at == '\t' || (*at == '\r' && !at[1]);
    return plain;
}

static bool is_beyond_doubt(const char *typed, const char *line, bool surely) {
    return line && surely && reading_keeps_all(typed, line);
}

char *instead_understood(Session *session, const char *typed, bool expression) {
    bool surely = false;
    if (!is_one_line(typed) || session_line_state(session, typed, expression) != LINE_FAULTY)
        return NULL;
    for (int i = 0; i < 3; i++) {
        char *line = i == 1
                         ? session_mended(session, typed, expression, &surely)
                         : reading_of(session, typed, (ReadingScope){expression, .alone = i == 0}, &surely);
        if (is_beyond_doubt(typed, line, surely))
            return line;
        mem_free(line);
    }
    return NULL;
}

void instead_say(Console *console, const char *line) {
    show(console, PHRASE_LINE_READ_AS, line);
}

/* After an error of computing too: it may have been seen only then what was not meant so. */
static char *line_instead(Console *console, const char *typed, bool expression) {
    bool surely;
    char *line = session_mended(console->session, typed, expression, &surely);
    if (line || !is_one_line(typed))
        return line;
    line = reading_of(console->session, typed, (ReadingScope){.expression = expression}, &surely);
    if (line && strcmp(line, typed) == 0) { /* it failed */
        mem_free(line);
        line = NULL;
    }
    return line;
}

char *instead_show(Console *console, const char *typed, bool expression) {
    const Diag *error = last_error(console);
    bool example = asks_for_example(error);
    char *line = line_instead(console, typed, expression);
    if (line) {
        if (!error || !error->hint || !strstr(error->hint, line))
            show(console, PHRASE_LINE_TO_TRY, line);
        return line;
    }
    line = example ? prompt_line_like(console->session, typed) : NULL;
    line = line || !example ? line : line_declaring(error);
    if (line && !(error->hint && strstr(error->hint, line)))
        show(console, PHRASE_LINE_LIKE, line);
    return line;
}
