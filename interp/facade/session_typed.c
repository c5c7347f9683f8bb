/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was typed at the prompt, written otherwise: in canonical units, and, after an error, as the hints have
 * it. */
#include <string.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "front/check_kinds.h"

/* `68F`: the unit gets a space before it. */
static bool touches_digit(const char *text, size_t at) {
    return at > 0 && text[at - 1] >= '0' && text[at - 1] <= '9';
}

static char *respell(const char *text, const Program *program) {
    Text out = {0};
    size_t at = 0;
    for (int i = 0; i < program->respelled_count; i++) {
        const Respelling *change = &program->respelled[i];
        text_add(&out, text + at, change->span.start - at);
        bool unit = change->text[0] != '/';
        text_add_string(&out, unit && touches_digit(text, change->span.start) ? " " : "");
        text_add_string(&out, change->text);
        at = change->span.end;
    }
    text_add_string(&out, text + at);
    return text_take(&out);
}

char *session_respelled(Session *session, const char *text) {
    session_open_prompt(session);
    Source *source = source_new("prompt", NULL, text, strlen(text));
    ModuleScope scope = {.session = session, .module = session->script};
    ParseHost host = loader_parse_host(&scope);
    host.declared = NULL;
    DiagList errors = {0};
    Program *program;
    bool parsed = parse_program(source, &host, &errors, &program) == PARSE_OK && errors.count == 0;
    char *respelled = parsed && program->respelled_count ? respell(text, program) : NULL;
    program_free(program);
    diag_list_free(&errors);
    source_release(source);
    return respelled;
}

/* ---- mending ---- */

enum { MOST_MENDS = 8 };

/* Names, arguments and kinds too; nothing of it is run, and nothing is left of it. */
static ParseStatus check_source(Session *session, Source *source, bool expression, DiagList *errors) {
    ModuleScope scope = {.session = session, .module = session->script};
    ParseHost host = loader_parse_host(&scope);
    CompileHost compile_host = loader_compile_host(&scope);
    CompileOptions options = {.prompt = true,
                              .earlier_formulas = entry_earlier(session, session->script, true)};
    Program *program;
    entry_begin(session);
    ParseStatus status = parse_program(source, &host, errors, &program);
    bool parsed = status == PARSE_OK && errors->count == 0;
    if (parsed && expression && !session_is_one_expression(program))
        diag_add(errors, MSG_EXPRESSION_WANTED, source, (Span){0, (uint32_t)source->length}, NO_ARGS);
    else if (parsed &&
             compile_program(session->registry, session->script, program, &compile_host, options, errors))
        check_kinds(session->registry, session->script, program, &compile_host, errors);
    entry_end(session, false);
    program_free(program);
    return status;
}

/* The same of a text. `mended`, if not NULL: what the first error says to type, or NULL. */
static LineState check_line(Session *session, const char *text, bool expression, char **mended,
                            bool *surely) {
    session_open_prompt(session);
    Source *source = source_new("prompt", NULL, text, strlen(text)), *kept = session->script->source;
    DiagList errors = {0};
    session->script->source = source;
    ParseStatus status = check_source(session, source, expression, &errors);
    session->script->source = kept;
    if (mended)
        *mended = errors.count ? diag_mended(errors.items[0], surely) : NULL;
    LineState state = status == PARSE_UNFINISHED ? LINE_GOES_ON : errors.count ? LINE_FAULTY : LINE_RUNS;
    diag_list_free(&errors);
    source_release(source);
    return state;
}

LineState session_line_state(Session *session, const char *text, bool expression) {
    return check_line(session, text, expression, NULL, NULL);
}

char *session_mended(Session *session, const char *text, bool expression, bool *surely) {
    *surely = true;
    if (strpbrk(text, ";\n")) /* a hint shows one statement */
        return NULL;
    char *line = mem_copy_string(text);
    for (int i = 0; i <= MOST_MENDS && line; i++) {
        bool sure = true;
        char *mended;
        LineState state = check_line(session, line, expression, &mended, &sure);
        if (state == LINE_RUNS && i > 0)
            return line;
        *surely = *surely && sure;
        mem_free(line);
        line = mended;
    }
    mem_free(line);
    return NULL;
}
