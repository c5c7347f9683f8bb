/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What session.h promises beside running one script: an input counts for one run, an earlier run leaves
 * nothing. */
#include <criterion/criterion.h>

#include <string.h>

#include "base/mem.h"
#include "facade/session.h"
#include "output/render.h"

static const char script[] = "input batch = 5 gal\ninput cans = 3\nshow batch, cans\n";

/* The texts that a run shows, in one. */
static char *run(Session *session, const char *text, SessionStatus wanted) {
    Source *source = source_new("a.rlet", NULL, text, strlen(text));
    Text shown = {0};
    cr_expect_eq(session_run(session, source), wanted);
    const Report *report = session_report(session);
    for (int i = 0; i < report->count; i++) {
        text_add_string(&shown, i ? ", " : "");
        render_shown_text(&shown, session_units(session), report->items[i]);
    }
    source_release(source);
    return text_take(&shown);
}

static void expect_run(Session *session, const char *text, SessionStatus status, const char *wanted) {
    char *shown = run(session, text, status);
    cr_expect_str_eq(shown, wanted);
    mem_free(shown);
}

Test(session, an_input_counts_for_one_run) {
    SessionOptions options = session_default_options();
    Session *session = session_new(&options);
    session_set_input(session, "batch", "1 gal");
    session_set_input(session, "cans", "7");
    expect_run(session, script, SESSION_OK, "1 gal, 7");
    expect_run(session, script, SESSION_OK, "5 gal, 3");
    for (int i = 0; i < 20; i++) { /* what an earlier run set takes no room in a later one */
        session_set_input(session, "cans", "2");
        expect_run(session, script, SESSION_OK, "5 gal, 2");
    }
    for (int i = 0; i < 3;
         i++) { /* nor does why a value could not be read: a leak, where that is looked for */
        session_set_input(session, "batch", "5 galon");
        expect_run(session, script, SESSION_USAGE, "");
    }
    session_set_input(session, "bach", "1 gal");
    expect_run(session, script, SESSION_USAGE, "");
    expect_run(session, script, SESSION_OK, "5 gal, 3");
    session_free(session);
}

Test(session, a_run_that_fails_leaves_nothing_open) {
    static const char failing[] = "let l = [1 / x for x in [1, 0]]\n";
    static const char in_table[] = "table d in [0, 1]\n  let y = 1 / d\n  column \"a\" = y\nend\n";
    SessionOptions options = session_default_options();
    Session *session = session_new(&options);
    expect_run(session, failing, SESSION_FAILED, "");
    expect_run(session, in_table, SESSION_FAILED, "");
    expect_run(session, "show [x for x in [1, 2]]\n", SESSION_OK, "[1, 2]");
    session_free(session);
}

/* A key pressed while the script is being read is not lost; nor does it stop the run after. */
Test(session, an_interruption_is_for_one_run) {
    static const char counting[] = "let n = 0\nfor i from 1 to 100000 do n = n + 1 end\nshow n\n";
    SessionOptions options = session_default_options();
    Session *session = session_new(&options);
    session_interrupt(session);
    expect_run(session, counting, SESSION_INTERRUPTED, "");
    expect_run(session, counting, SESSION_OK, "100000");
    session_free(session);
}
