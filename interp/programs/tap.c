/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `--expect FILE…`: each script is a subtest, each `expect` that ran a test point (Test Anything Protocol,
 * version 14).
 *
 * Results of the scripts are not printed. Cautions are, as comments: no form drops them. A script that fails
 * for another reason than an expect is not ok, with the error in its diagnostics. */
#include <string.h>

#include "base/mem.h"
#include "programs/run.h"

typedef struct Tap {
    Console *console;
    RunOutput output; /* counts results against the limit */
    int points;       /* of the subtest */
    int failed;
} Tap;

/* A description: one line, `#` and `\` escaped, as they would begin a directive or an escape. */
static void add_description(Text *out, const char *text) {
    Text line = {0};
    render_one_line(&line, text);
    for (const char *p = text_string(&line); *p; p++) {
        if (*p == '#' || *p == '\\')
            text_add_char(out, '\\');
        text_add_char(out, *p);
    }
    text_free(&line);
}

/* A YAML double-quoted scalar. */
static void add_scalar(Text *out, const char *text) {
    Text line = {0};
    render_one_line(&line, text);
    text_add_char(out, '"');
    for (const char *p = text_string(&line); *p; p++) {
        if (*p == '"' || *p == '\\')
            text_add_char(out, '\\');
        text_add_char(out, *p);
    }
    text_add_string(out, "\"\n");
    text_free(&line);
}

static void add_point(Text *out, const char *indent, bool passed, int number, const char *description) {
    text_add_string(out, indent);
    text_add_string(out, passed ? "ok " : "not ok ");
    text_add_integer(out, number);
    text_add_string(out, " - ");
    add_description(out, description);
}

/* The diagnostic block under a failed point. */
static void add_diagnostics(Text *out, const char *indent, const Diag *diag) {
    Text place = {0};
    render_place(&place, diag);
    text_add_string(out, indent);
    text_add_string(out, "  ---\n");
    text_add_string(out, indent);
    text_add_string(out, "  message: ");
    add_scalar(out, diag->message);
    if (place.length) {
        text_add_string(out, indent);
        text_add_string(out, "  at: ");
        add_scalar(out, text_string(&place));
    }
    text_add_string(out, indent);
    text_add_string(out, "  ...\n");
    text_free(&place);
}

static const char subtest_indent[] = "    ";

static void on_expect(void *context, const char *source_line, bool passed, const Diag *diag) {
    Tap *tap = context;
    Text text = {0};
    tap->points++;
    tap->failed += !passed;
    add_point(&text, subtest_indent, passed, tap->points, source_line);
    text_add_char(&text, '\n');
    if (!passed && diag)
        add_diagnostics(&text, subtest_indent, diag);
    console_write(tap->console, &text);
    text_free(&text);
}

static void write_cautions(Console *console, const Report *report) {
    Text text = {0};
    for (int i = 0; i < report->count; i++) {
        if (report->items[i]->type != ITEM_CAUTION)
            continue;
        text_add_string(&text, subtest_indent);
        text_add_string(&text, "# caution: ");
        render_one_line(&text, report->items[i]->text);
        text_add_char(&text, '\n');
    }
    console_write(console, &text);
    text_free(&text);
}

/* The error that ended the script, if any: the first that is not a failed check, as in reports. */
static const Diag *find_error(Session *session) {
    const DiagList *errors = session_errors(session);
    for (int i = 0; i < errors->count; i++)
        if (message_class(errors->items[i]->id) != CLASS_EXPECT)
            return errors->items[i];
    return NULL;
}

/* A script that does not come to its end has one point more, which fails. */
static void end_subtest(Tap *tap, int number, const char *name, SessionStatus status, const Diag *error) {
    Text text = {0};
    bool passed = status == SESSION_OK;
    if (error || (!passed && !tap->failed)) {
        add_point(&text, subtest_indent, false, ++tap->points, "runs to its end");
        text_add_char(&text, '\n');
        if (error)
            add_diagnostics(&text, subtest_indent, error);
    }
    text_add_string(&text, subtest_indent);
    text_add_string(&text, "1..");
    text_add_integer(&text, tap->points);
    text_add_string(&text, tap->points ? "\n" : " # SKIP no expect in it\n");
    add_point(&text, "", passed, number, name);
    text_add_string(&text, tap->points ? "\n" : " # SKIP no expect in it\n");
    console_write(tap->console, &text);
    text_free(&text);
}

static void begin_subtest(Console *console, const char *name) {
    Text text = {0};
    text_add_string(&text, "# Subtest: ");
    add_description(&text, name);
    text_add_char(&text, '\n');
    console_write(console, &text);
    text_free(&text);
}

static SessionStatus run_one(const Options *options, Console *console, int number) {
    const char *name = options->files[number - 1];
    Session *session = run_new_session(options);
    Tap tap = {.console = console};
    SessionStatus status = SESSION_FILE;
    console_watch(console, session);
    run_listen(&tap.output, console, session, options, true);
    session_on_expect(session, on_expect, &tap);
    begin_subtest(console, name);
    Source *source = session_read_file(session, name);
    if (source) {
        status = run_outcome(&tap.output, session_run(session, source));
        write_cautions(console, session_report(session));
    }
    end_subtest(&tap, number, name, status, find_error(session));
    console_watch(console, NULL);
    source_release(source);
    session_free(session);
    return status;
}

SessionStatus run_expects(const Options *options, Console *console) {
    SessionStatus worst = SESSION_OK;
    Text plan = {0};
    text_add_string(&plan, "TAP version 14\n1..");
    text_add_integer(&plan, options->file_count);
    text_add_char(&plan, '\n');
    console_write(console, &plan);
    text_free(&plan);
    for (int i = 1; i <= options->file_count && !console->failure; i++)
        worst = run_worse(worst, run_one(options, console, i));
    return worst;
}
