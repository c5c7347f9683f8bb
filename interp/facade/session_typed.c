/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was typed at the prompt, written otherwise: in canonical units, and, after an error, as the hints have
 * it. */
#include <string.h>

#include "base/mem.h"
#include "facade/session_state.h"
#include "front/check_kinds.h"

/* `68F`: the unit gets a blank before it. */
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
static void check_entry(Session *session, Source *source, DiagList *errors) {
    ModuleScope scope = {.session = session, .module = session->script};
    ParseHost host = loader_parse_host(&scope);
    CompileHost compile_host = loader_compile_host(&scope);
    CompileOptions options = {.prompt = true,
                              .earlier_formulas = entry_earlier(session, session->script, true)};
    Program *program;
    entry_begin(session);
    bool parsed = parse_program(source, &host, errors, &program) == PARSE_OK && errors->count == 0;
    if (parsed &&
        compile_program(session->registry, session->script, program, &compile_host, options, errors))
        check_kinds(session->registry, session->script, program, &compile_host, errors);
    entry_end(session, false);
    program_free(program);
}

/* NULL when the first error does not say what to type. `faultless`: there is none. */
static char *mend_once(Session *session, const char *text, bool *faultless) {
    Source *source = source_new("prompt", NULL, text, strlen(text)), *kept = session->script->source;
    DiagList errors = {0};
    session->script->source = source;
    check_entry(session, source, &errors);
    session->script->source = kept;
    *faultless = errors.count == 0;
    char *mended = *faultless ? NULL : diag_mended(errors.items[0]);
    diag_list_free(&errors);
    source_release(source);
    return mended;
}

char *session_mended(Session *session, const char *text) {
    if (strpbrk(text, ";\n")) /* a hint shows one statement */
        return NULL;
    session_open_prompt(session);
    char *line = mem_copy_string(text);
    for (int i = 0; i <= MOST_MENDS && line; i++) {
        bool faultless;
        char *mended = mend_once(session, line, &faultless);
        if (faultless && i > 0)
            return line;
        mem_free(line);
        line = mended;
    }
    mem_free(line);
    return NULL;
}
