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

/* The labels of the results and columns that have a working, in one. */
static char *worked(const char *text, const char *of) {
    SessionOptions options = session_default_options();
    options.working = 1;
    options.working_of = of;
    Session *session = session_new(&options);
    Text labels = {0};
    mem_free(run(session, text, SESSION_OK));
    const Report *report = session_report(session);
    for (int i = 0; i < report->count; i++) {
        const Item *item = report->items[i];
        text_add_string(&labels, item->working ? item->label : "");
        text_add_string(&labels, item->working ? " " : "");
        for (int c = 0; item->table && c < item->table->column_count; c++) {
            const TableColumn *column = &item->table->columns[c];
            text_add_string(&labels, column->working ? column->label : "");
            text_add_string(&labels, column->working ? " " : "");
        }
    }
    session_free(session);
    return text_take(&labels);
}

Test(session, the_working_of_one_result) {
    static const char results[] =
        "let a = 2 gal\nshow \"First\": a * 2, \"Other\": a * 3\nshow \"First\": a * 4\n"
        "table v in [1, 2]\n  column \"twice\" = v * 2\n  column \"thrice\" = v * 3\nend\n"
        "show \"Last\": a * 5\nnote \"over\"\n";
    static const char *const wanted[][2] = {
        {"", "Last "},        {"first", "First "}, {"OTHER", "Other "},
        {"none of them", ""}, {"twice", "twice "}, {NULL, "First Other First twice thrice Last "}};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        char *labels = worked(results, wanted[i][0]);
        cr_expect_str_eq(labels, wanted[i][1]);
        mem_free(labels);
    }
}

Test(session, an_expression_that_is_tried_leaves_nothing) {
    SessionOptions options = session_default_options();
    Session *session = session_new(&options);
    KindInfo info;
    cr_expect_eq(session_enter(session, "let a = 5 gal"), SESSION_OK);
    cr_expect_eq(session_try_expression(session, "a * 2"), SESSION_OK);
    cr_expect_not(session_kind_of(session, "it", false, &info));
    cr_expect_eq(session_try_expression(session, "a + 1 g"), SESSION_FAILED);
    cr_expect_eq(session_errors(session)->count, 1);
    cr_expect_eq(session_enter(session, "a * 3"), SESSION_OK);
    cr_expect_eq(session_try_expression(session, "it * 2"), SESSION_OK);
    cr_expect(session_kind_of(session, "it", false, &info) && info.number > 14.9 && info.number < 15.1);
    /* a caution of what was tried is still to be given */
    cr_expect_eq(session_try_expression(session, "priming_dose(5 gal, 2.5 vols, 68 °F)"), SESSION_OK);
    cr_expect_eq(session_enter(session, "priming_dose(5 gal, 2.5 vols, 68 °F)"), SESSION_OK);
    bool cautioned = false;
    for (int i = 0; i < session_report(session)->count; i++)
        cautioned = cautioned || session_report(session)->items[i]->type == ITEM_CAUTION;
    cr_expect(cautioned);
    session_free(session);
}
