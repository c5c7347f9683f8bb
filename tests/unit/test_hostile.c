/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The interpreter under hostile conditions: every script of tests/lang and examples gives the same results
 * when the heap collects at every chance, two sessions side by side do not meet, and wherever an allocation
 * fails the program leaves by its failure handler. */
#include <criterion/criterion.h>

#include <ftw.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/mem.h"
#include "facade/session.h"
#include "output/render.h"

/* ---- all scripts ---- */

enum { MOST_SCRIPTS = 2000 };
static char *scripts[MOST_SCRIPTS];
static int script_count;

static int take_script(const char *path, const struct stat *status, int type, struct FTW *place) {
    (void)status;
    (void)place;
    size_t length = strlen(path);
    bool is_script = type == FTW_F && length > 5 && strcmp(path + length - 5, ".rlet") == 0;
    /* parts/ are used by others; limits/ holds what is slow on purpose, or runs under options of its own. */
    if (is_script && !strstr(path, "/parts/") && !strstr(path, "/limits/") && script_count < MOST_SCRIPTS)
        scripts[script_count++] = mem_copy_string(path);
    return 0;
}

static void find_scripts(void) {
    nftw(TESTS_DIR "/lang", take_script, 16, FTW_PHYS);
    nftw(CASES_DIR "/tests/lang", take_script, 16, FTW_PHYS);
    nftw(TESTS_DIR "/../examples", take_script, 16, FTW_PHYS);
}

static void drop_scripts(void) {
    for (int i = 0; i < script_count; i++)
        mem_free(scripts[i]);
    script_count = 0;
}

static SessionOptions options_of(bool stress) {
    SessionOptions options = session_default_options();
    options.folder = TESTS_DIR;
    options.shelf = TESTS_DIR "/no-such-folder";
    options.has_today = true;
    options.today = 20454; /* 2026-01-01 */
    options.stress = stress;
    options.limits.seconds =
        60; /* a script that hangs is told, not waited for; the sanitizers take their time */
    return options;
}

/* What a person would see of a finished run: status, items, errors. */
static void add_outcome(Text *out, Session *session, SessionStatus status) {
    const Report *report = session_report(session);
    const DiagList *errors = session_errors(session);
    RenderText state = {.units = session_units(session)};
    text_add_integer(out, (long long)status);
    for (int i = 0; i < report->count; i++) {
        text_add_char(out, '\n');
        text_add_integer(out, (long long)report->items[i]->type);
        render_text_item(out, &state, report->items[i]);
    }
    for (int i = 0; i < errors->count; i++)
        diag_render(out, errors->items[i]);
}

static char *run_alone(const char *path, bool stress) {
    Text out = {0};
    SessionOptions options = options_of(stress);
    Session *session = session_new(&options);
    Source *source = session_read_file(session, path);
    if (source) {
        add_outcome(&out, session, session_run(session, source));
        source_release(source);
    }
    session_free(session);
    return text_take(&out);
}

Test(hostile, collecting_at_every_chance_changes_nothing) {
    int differing = 0;
    find_scripts();
    for (int i = 0; i < script_count; i++) {
        char *calm = run_alone(scripts[i], false), *stressed = run_alone(scripts[i], true);
        if (strcmp(calm, stressed) != 0 || !*calm) {
            differing++;
            fprintf(stderr, "%s:\n%s\nunder stress:\n%s\n", scripts[i], calm, stressed);
        }
        mem_free(calm);
        mem_free(stressed);
    }
    cr_expect_geq(script_count, 100, "only %d scripts found", script_count);
    cr_expect_eq(differing, 0, "%d scripts give something else", differing);
    drop_scripts();
}

static void expect_shown(Session *session, const char *words) {
    Text shown = {0};
    RenderText state = {.units = session_units(session)};
    render_text_item(&shown, &state, session_report(session)->items[0]);
    cr_expect_str_eq(text_string(&shown), words);
    text_free(&shown);
}

Test(hostile, two_sessions_side_by_side) {
    SessionOptions options = options_of(false);
    Session *left = session_new(&options), *right = session_new(&options);
    cr_expect_eq(session_enter(left, "unit can = 12 floz"), SESSION_OK);
    cr_expect_eq(session_enter(right, "unit can = 1 L"), SESSION_OK);
    cr_expect_eq(session_enter(left, "let x = 3 can"), SESSION_OK);
    cr_expect_eq(session_enter(right, "x"), SESSION_FAILED, "a name crossed over");
    cr_expect_eq(session_enter(right, "3 can as L"), SESSION_OK);
    expect_shown(right, "3 L\n");
    session_free(right);
    cr_expect_eq(session_enter(left, "x as floz"), SESSION_OK);
    expect_shown(left, "36 floz\n");
    session_free(left);
}

/* ---- no memory ---- */

static const char small_script[] =
    "input batch = 1 gal\n"
    "unit can = 12 floz\n"
    "let syrup = juice(gravity: 48 °Bx)\n"
    "formula twice(x is volume) = 2 * x\n"
    "find n from 0 to 8 whole so (batch of water() + n can of syrup).gravity >= 1.050 SG\n"
    "for i in [1, 2, 3] do\n  show \"turn {i}\": twice(i can) as L to 2 places\nend\n"
    "table v from 0 L to 3 L\n  column \"half\" = v / 2\nend\n"
    "expect error 1 L + 1 kg\n"
    "show {name: \"late\", n: n}, upper(\"abc\")\n";

enum { LEFT_BY_HANDLER = 97, WENT_THROUGH = 0 };

static void leave(void) {
    _exit(LEFT_BY_HANDLER);
}

/* In a child of its own, since the failure handler must not return. Gives its exit status, -1 for a signal.
 */
static int run_with_allocations(long allowed) {
    pid_t child = fork();
    if (child == 0) {
        SessionOptions options = options_of(false);
        mem_set_failure_handler(leave);
        mem_fail_after(allowed);
        Session *session = session_new(&options);
        Source *source = source_new("small.rlet", NULL, small_script, strlen(small_script));
        SessionStatus status = session_run(session, source);
        _exit(status == SESSION_OK ? WENT_THROUGH : 1);
    }
    int status = 0;
    cr_assert_gt(child, 0);
    cr_assert_eq(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

Test(hostile, any_allocation_may_fail) {
    cr_assert_eq(run_with_allocations(-1), WENT_THROUGH, "the script itself does not run");
    long allowed = 0;
    int status = LEFT_BY_HANDLER;
    /* Every one of the first, then ever wider steps, until the script gets all it asks for. */
    while (status == LEFT_BY_HANDLER && allowed < 1000000) {
        status = run_with_allocations(allowed);
        allowed += allowed < 200 ? 1 : 1 + allowed / 40;
    }
    cr_expect_eq(status, WENT_THROUGH, "status %d with %ld allocations", status, allowed);
    cr_expect_gt(allowed, 200, "the count of allocations does not bite");
}
