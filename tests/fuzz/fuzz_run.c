/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* libFuzzer harness: parses, compiles and runs whatever it is given, under tight limits, and gives its report
 * in every form. Nothing may crash, leak, print an internal word or bytes that are no UTF-8; whether the
 * script fails is its own business. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "facade/session.h"
#include "output/render.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_words(const char *text) {
    if (strstr(text, "nan") == text || strstr(text, " nan ") || strstr(text, " inf "))
        abort();
}

static void render_all(Session *session, Text *out) {
    RenderSubject subject = {.program = "rundlet 0",
                             .script = "fuzz",
                             .sha256 = "00",
                             .report = session_report(session),
                             .units = session_units(session),
                             .errors = session_errors(session)};
    for (int i = 0; render_form_at(i); i++) {
        text_clear(out);
        render_form_at(i)->render(out, &subject);
        if (!utf8_is_valid(text_string(out), out->length, &(size_t){0}))
            abort();
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    SessionOptions options = session_default_options();
    options.folder = "/nonexistent";
    options.shelf = "/nonexistent";
    options.has_today = true;
    options.today = 20000;
    options.limits = (SessionLimits){.seconds = 0.5, .memory = 32u << 20, .depth = 200};
    Session *session = session_new(&options);
    Source *source = source_new("fuzz", NULL, (const char *)data, size);
    session_run(session, source);
    const Report *report = session_report(session);
    Text rendered = {0};
    for (int i = 0; i < report->count; i++) {
        if (report->items[i]->type != ITEM_SHOW)
            continue;
        text_clear(&rendered);
        render_shown_text(&rendered, session_units(session), report->items[i]);
        check_words(text_string(&rendered));
    }
    const DiagList *errors = session_errors(session);
    for (int i = 0; i < errors->count; i++)
        diag_render(&rendered, errors->items[i]);
    render_all(session, &rendered);
    text_free(&rendered);
    source_release(source);
    session_free(session);
    return 0;
}
