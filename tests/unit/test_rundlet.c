/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The public C API: what a program that holds an interpreter may count on. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "facade/rundlet.h"

static RundletStatus run(Rundlet *rundlet, const char *text) {
    return rundlet_run(rundlet, "quince.rlet", text, strlen(text));
}

/* One unit each way: NIST Handbook 44, appendix C: 1 gal = 3.785 411 784 L. */
static const char gallon[] = "input batch = 5 gal\nshow batch as L\nexpect batch > 0 L\n";

Test(rundlet, runs_and_runs_again) {
    Rundlet *rundlet = rundlet_new();
    cr_assert_eq(run(rundlet, gallon), RUNDLET_OK, "%s", rundlet_errors(rundlet));
    cr_expect_str_eq(rundlet_results(rundlet), "batch as L = 18.93 L\n");
    cr_expect_str_eq(rundlet_errors(rundlet), "");
    rundlet_set_input(rundlet, "batch", "1 gal");
    cr_assert_eq(run(rundlet, gallon), RUNDLET_OK);
    cr_expect_str_eq(rundlet_results(rundlet), "batch as L = 3.785 L\n");
    cr_assert_eq(run(rundlet, gallon), RUNDLET_OK); /* an input is set for one run */
    cr_expect_str_eq(rundlet_results(rundlet), "batch as L = 18.93 L\n");
    rundlet_free(rundlet);
}

static const struct {
    const char *text;
    RundletStatus status;
    const char *error; /* begins so */
} failures[] = {
    {"show 1 gal + 1 g", RUNDLET_FAILED, "quince.rlet:1:12: a volume and a mass cannot be added\n"},
    {"show (", RUNDLET_FAILED, "quince.rlet:1:"},
    {"expect 1 == 2", RUNDLET_FAILED, "quince.rlet:1:"},
    {"formula f(x) = f(x)\nshow f(1)", RUNDLET_LIMIT, "quince.rlet:1:"},
    {"while true do let x = 1 end", RUNDLET_LIMIT, "quince.rlet:1:1: the script ran longer than its limit\n"},
    {"while true do print \"x\" end", RUNDLET_LIMIT,
     "rundlet: the results are larger than their limit of 10kB\n"},
};

Test(rundlet, failures_have_a_status_and_words) {
    Rundlet *rundlet = rundlet_new();
    rundlet_limit(rundlet, 0.2, 0, 0, 10000);
    for (size_t i = 0; i < sizeof failures / sizeof *failures; i++) {
        RundletStatus status = run(rundlet, failures[i].text);
        const char *errors = rundlet_errors(rundlet);
        cr_expect_eq(status, failures[i].status, "%s: %d", failures[i].text, (int)status);
        cr_expect(strncmp(errors, failures[i].error, strlen(failures[i].error)) == 0, "%s: %s",
                  failures[i].text, errors);
        cr_expect_leq(strlen(rundlet_results(rundlet)), 10000);
    }
    rundlet_free(rundlet);
}

Test(rundlet, results_count_as_memory) {
    static const char endless[] = "while true do event 2027-02-14, \"rack\" end";
    Rundlet *rundlet = rundlet_new();
    rundlet_limit(rundlet, 0, 3000000, 0, 0);
    cr_expect_eq(run(rundlet, endless), RUNDLET_LIMIT);
    cr_expect(strstr(rundlet_errors(rundlet), "memory"), "%s", rundlet_errors(rundlet));
    rundlet_free(rundlet);
}

Test(rundlet, wrong_inputs_are_usage) {
    Rundlet *rundlet = rundlet_new();
    rundlet_set_input(rundlet, "bach", "1 gal");
    cr_expect_eq(run(rundlet, gallon), RUNDLET_USAGE);
    rundlet_set_input(rundlet, "batch", "1 g");
    cr_expect_eq(run(rundlet, gallon), RUNDLET_USAGE);
    rundlet_free(rundlet);
}

Test(rundlet, checks_without_running) {
    Rundlet *rundlet = rundlet_new();
    cr_expect_eq(rundlet_check(rundlet, "a", "print \"x\"", 9), RUNDLET_OK);
    cr_expect_str_eq(rundlet_results(rundlet), "");
    cr_expect_eq(rundlet_check(rundlet, "a", "show nowhere", 12), RUNDLET_FAILED);
    cr_expect(strncmp(rundlet_errors(rundlet), "a:1:6: ", 7) == 0);
    rundlet_free(rundlet);
}

Test(rundlet, reports) {
    const char *form;
    Rundlet *rundlet = rundlet_new();
    cr_expect_null(rundlet_report(rundlet, "json"), "nothing was run yet");
    rundlet_set_today(rundlet, 2027, 2, 29); /* no such day: nothing happens */
    rundlet_set_today(rundlet, 2027, 2, 14);
    cr_assert_eq(run(rundlet, "show today()\ntable d in [today()]\n  column \"x\" = d\nend"), RUNDLET_OK);
    cr_expect_null(rundlet_report(rundlet, "nonsense"));
    cr_expect_null(rundlet_report(rundlet, NULL));
    for (int i = 0; (form = rundlet_form(i)); i++) {
        const char *report = rundlet_report(rundlet, form);
        cr_assert_not_null(report, "%s", form);
        cr_expect(strcmp(form, "calendar") == 0 || strstr(report, "2027-02-14"), "%s", form);
    }
    rundlet_free(rundlet);
}

/* What the header says of forms is what there is. */
Test(rundlet, the_header_lists_every_form) {
    char header[16384];
    FILE *file = fopen(TESTS_DIR "/../interp/facade/rundlet.h", "r");
    cr_assert_not_null(file);
    header[fread(header, 1, sizeof header - 1, file)] = '\0';
    fclose(file);
    int count = 0;
    for (const char *form; (form = rundlet_form(count)); count++) {
        char quoted[32];
        snprintf(quoted, sizeof quoted, "\"%s\"", form);
        cr_expect(strstr(header, quoted), "%s", form);
    }
    cr_expect_geq(count, 6);
}

Test(rundlet, a_limit_names_no_option_of_the_program) {
    Rundlet *rundlet = rundlet_new();
    rundlet_limit(rundlet, 0, 0, 0, 200);
    cr_expect_eq(run(rundlet, "while true do print \"x\" end"), RUNDLET_LIMIT);
    cr_expect_str_eq(rundlet_errors(rundlet), "rundlet: the results are larger than their limit of 200B\n"
                                              "   hint: show less, or raise the limit\n");
    rundlet_free(rundlet);
}

Test(rundlet, a_report_too_large_is_cut_and_said) {
    Rundlet *rundlet = rundlet_new();
    rundlet_limit(rundlet, 0, 0, 0, 1000);
    cr_expect_eq(run(rundlet, "for i from 1 to 40 do show i end"), RUNDLET_OK);
    cr_expect_str_eq(rundlet_errors(rundlet), "");
    const char *report = rundlet_report(rundlet, "json");
    cr_assert_not_null(report);
    cr_expect_leq(strlen(report), 1000);
    cr_expect(strstr(rundlet_errors(rundlet), "larger than their limit of 1kB"), "%s",
              rundlet_errors(rundlet));
    rundlet_free(rundlet);
}

Test(rundlet, two_live_side_by_side) {
    Rundlet *one = rundlet_new(), *two = rundlet_new();
    cr_assert_eq(run(one, "let a = 1\nshow a"), RUNDLET_OK);
    cr_assert_eq(run(two, "let b = 2\nshow b"), RUNDLET_OK);
    cr_expect_str_eq(rundlet_results(one), "a = 1\n");
    cr_expect_str_eq(rundlet_results(two), "b = 2\n");
    cr_expect_eq(run(one, "show b"), RUNDLET_FAILED);
    rundlet_free(two);
    rundlet_free(one);
}

Test(rundlet, nothing_to_free) {
    rundlet_free(NULL);
    rundlet_free(rundlet_new());
    cr_expect(strlen(rundlet_version()) >= 5);
}
