/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Uncertainty against published cases (tests/published/uncertainty.csv, each row with its source): every row
 * is made into a script, run by a session, and its shown ± compared. */
#include <criterion/criterion.h>

#include <ctype.h>
#include <string.h>

#include "base/mem.h"
#include "csv_rows.h"
#include "facade/session.h"
#include "facade/session_state.h"
#include "near.h"
#include "numbers/format_spread.h"
#include "output/render.h"

/* ---- rows to scripts ---- */

static bool is_word(char c) {
    return isalnum((unsigned char)c) || c == '_';
}

/* Copies an expression; names of readings get `r.` or `x_` before them, since `g` and `h` are units here. */
static void add_expression(Text *out, const char *expression, const char *inputs, const char *prefix) {
    for (const char *p = expression; *p;) {
        const char *end = p;
        while (is_word(*end))
            end++;
        if (end == p || isdigit((unsigned char)*p)) {
            size_t length = end == p ? 1 : (size_t)(end - p);
            text_add(out, p, length);
            p += length;
            continue;
        }
        Text wanted = {0};
        text_add(&wanted, p, (size_t)(end - p));
        text_add_char(&wanted, '=');
        const char *at = strstr(inputs, text_string(&wanted));
        bool is_input = at && (at == inputs || at[-1] == ' ');
        if (is_input)
            text_add_string(out, prefix);
        if (!is_input && strncmp(p, "pi", 2) == 0 && end == p + 2)
            text_add_string(out, "3.141592653589793");
        else if (!is_input && *p == 'c' && end == p + 1)
            text_add_string(out, "299792458"); /* the speed of light in m/s, exact: SI Brochure */
        else
            text_add(out, p, (size_t)(end - p));
        text_free(&wanted);
        p = end;
    }
}

/* "V=4.999+-0.0032; I=…" as a record of readings. */
static void add_record(Text *out, const char *inputs) {
    text_add_char(out, '{');
    for (const char *p = inputs; *p; p++) {
        if (*p == '=')
            text_add_string(out, ": ");
        else if (*p == ';')
            text_add_char(out, ',');
        else if (*p == '+' && p[1] == '-') {
            text_add_string(out, " ± ");
            p++;
        } else
            text_add_char(out, *p);
    }
    text_add_char(out, '}');
}

/* "r(V,I)=-0.36; r(V,phi)=0.86" as a list of pairs. */
static void add_pairs(Text *out, const char *correlation) {
    text_add_char(out, '[');
    for (const char *p = correlation; (p = strstr(p, "r(")) != NULL;) {
        const char *comma = strchr(p, ','), *close = strchr(p, ')');
        if (out->bytes[out->length - 1] != '[')
            text_add_string(out, ", ");
        text_add_string(out, "[\"");
        text_add(out, p + 2, (size_t)(comma - p - 2));
        text_add_string(out, "\", \"");
        text_add(out, comma + 1, (size_t)(close - comma - 1));
        text_add_string(out, "\", ");
        p = close + 2;
        while (*p && *p != ';' && *p != ' ')
            text_add_char(out, *p++);
        text_add_char(out, ']');
    }
    text_add_char(out, ']');
}

static char *script_of(const CsvRows *rows, size_t row) {
    const char *inputs = csv_rows_text(rows, row, "inputs (value+-standard uncertainty)");
    const char *correlation = csv_rows_text(rows, row, "correlation");
    const char *expression = csv_rows_text(rows, row, "expression");
    Text script = {0};
    text_add_string(&script, "let x = ");
    if (*correlation)
        text_add_string(&script, "correlated(");
    add_record(&script, inputs);
    if (*correlation) {
        text_add_string(&script, ", ");
        add_pairs(&script, correlation);
        text_add_char(&script, ')');
    }
    text_add_char(&script, '\n');
    if (strncmp(expression, "solve ", 6) == 0) { /* the one implicit row: a resistance thermometer */
        text_add_string(&script,
                        "find T from 0 to 100 so x.R0 * (1 + x.A * T + x.B * T^2) == x.RS * x.W\nshow T\n");
    } else {
        text_add_string(&script, "show ");
        add_expression(&script, expression, inputs, "x.");
        text_add_char(&script, '\n');
    }
    return text_take(&script);
}

typedef struct Result {
    double value, uncertainty;
    Drawn drawn;
    int notes;
} Result;

static Result run(const char *script, long trials) {
    SessionOptions options = session_default_options();
    options.folder = "/";
    Session *session = session_new(&options);
    Source *source = source_new("row.rlet", NULL, script, strlen(script));
    SessionStatus status =
        trials ? session_run_trials(session, source, trials, 1) : session_run(session, source);
    Result shown = {0};
    const Report *report = session_report(session);
    for (int i = 0; i < report->count; i++) {
        const Item *item = report->items[i];
        if (item->type == ITEM_NOTE)
            shown.notes++;
        if (item->type != ITEM_SHOW)
            continue;
        shown.value = item->shown.value.as.number;
        shown.uncertainty = item->shown.spreads ? item->shown.spreads[0] : 0;
        shown.drawn = item->drawn;
    }
    cr_expect(status == SESSION_OK, "status %d of\n%s%s", (int)status, script,
              session_errors(session)->count ? session_errors(session)->items[0]->message : "");
    source_release(source);
    session_free(session);
    return shown;
}

/* ---- tests ---- */

Test(uncertainty, published_cases) {
    static CsvRows rows;
    cr_assert(csv_rows_read(&rows, "uncertainty.csv"));
    cr_assert(rows.count >= 15);
    for (size_t row = 0; row < rows.count; row++) {
        char *script = script_of(&rows, row);
        Result shown = run(script, 0);
        double value = csv_rows_number(&rows, row, "value_recomputed");
        double u = csv_rows_number(&rows, row, "u_linear_recomputed");
        cr_expect(near(shown.value, value, 1e-6, 1e-15), "%s: value %.12g, not %.12g\n%s",
                  csv_rows_text(&rows, row, "id"), shown.value, value, script);
        cr_expect(near(shown.uncertainty, u, 0.01, 1e-15), "%s: u %.6g, not %.6g\n%s",
                  csv_rows_text(&rows, row, "id"), shown.uncertainty, u, script);
        mem_free(script);
    }
}

/* JCGM 101:2008, 9.3 and 9.4: where first order misleads, a note says so and the draws tell the truth. */
Test(uncertainty, where_first_order_misleads) {
    const char *mass = "let x = {mR: 100000.0 ± 0.05, dm: 1.234 ± 0.02, ra: tolerance(1.2, 0.1), "
                       "rW: tolerance(8000, 1000), rR: tolerance(8000, 50)}\n"
                       "show (x.mR + x.dm) * (1 + (x.ra - 1.2) * (1 / x.rW - 1 / x.rR)) - 100000\n";
    Result shown = run(mass, 0);
    cr_expect(shown.notes == 1, "two sources act together there, and no note says so");
    cr_expect(near(shown.uncertainty, 0.0539, 0.01, 0), "first order: %g", shown.uncertainty);
    Result drawn = run(mass, 200000);
    cr_expect(near(drawn.drawn.mean, 1.2340, 0, 0.001), "mean %g", drawn.drawn.mean);
    cr_expect(near(drawn.drawn.uncertainty, 0.0754, 0.01, 0), "u %g against 0.0754 of JCGM 101, table 9.3",
              drawn.drawn.uncertainty);
    /* NIST TN 1900, the falling-ball viscometer (data from memory): the quotient of times of 9 and 15 %
     * bends. */
    const char *viscometer =
        "let tM = 61 ± 6.1\nlet tC = 36.6 ± 5.49\nlet muC = 4.63 ± 0.0463\nlet rhoB = 2217 ± 0.5\n"
        "let rhoM = 1180 ± 0.5\nlet rhoC = 810 ± 0.5\n"
        "show muC * (rhoB - rhoM) / (rhoB - rhoC) * tM / tC\n";
    cr_expect(run(viscometer, 0).notes == 1, "no note for the viscometer");
    const char *loss = "let x = {a: 0.0 ± 0.005, b: 0.0 ± 0.005}\nshow x.a^2 + x.b^2\n";
    cr_expect(run(loss, 0).notes == 1, "the first order of a square at zero is nothing, and no note says so");
    drawn = run(loss, 200000);
    cr_expect(near(drawn.drawn.mean, 5e-5, 0.01, 0), "mean %g against 50e-6 of JCGM 101, table 6",
              drawn.drawn.mean);
    cr_expect(near(drawn.drawn.uncertainty, 5e-5, 0.02, 0), "u %g against 50e-6", drawn.drawn.uncertainty);
    const char *together = "let x = correlated({a: 0.0 ± 0.005, b: 0.0 ± 0.005}, [[\"a\", \"b\", 0.9]])\n"
                           "show x.a^2 + x.b^2\n";
    drawn = run(together, 200000);
    cr_expect(near(drawn.drawn.uncertainty, 6.727e-5, 0.02, 0), "u %g against 67e-6",
              drawn.drawn.uncertainty);
}

Test(uncertainty, the_same_seed_gives_the_same_numbers) {
    const char *script = "let x = 5 ± 0.1 L\nshow x * 2\n";
    Result first = run(script, 1000), second = run(script, 1000);
    cr_expect(first.drawn.mean == second.drawn.mean && first.drawn.low == second.drawn.low);
    cr_expect(near(first.drawn.low, 10 - 1.96 * 0.2, 0, 0.05) &&
                  near(first.drawn.high, 10 + 1.96 * 0.2, 0, 0.05),
              "%g to %g", first.drawn.low, first.drawn.high);
}

Test(uncertainty, printed_to_two_digits) {
    static CsvRows rows;
    cr_assert(csv_rows_read(&rows, "uncertainty_rounding.csv"));
    cr_assert(rows.count >= 10);
    for (size_t row = 0; row < rows.count; row++) {
        Text got = {0}, want = {0};
        format_spread(&got, csv_rows_number(&rows, row, "value"), csv_rows_number(&rows, row, "u"),
                      (FormatSpec){0});
        for (const char *p = csv_rows_text(&rows, row, "two_significant (GUM 7.2.6 upper limit)"); *p; p++) {
            if (p[0] == '+' && p[1] == '-') {
                text_add_string(&want, "±");
                p++;
            } else
                text_add_char(&want, *p);
        }
        cr_expect_str_eq(text_string(&got), text_string(&want));
        text_free(&got);
        text_free(&want);
    }
}

/* What docs/reference/language.md, "Readings with their ±", promises of correlation: one evaluation is one
 * source, however far it travels. */
Test(uncertainty, sources_are_kept_apart_and_together) {
    static const struct {
        const char *script;
        double uncertainty;
    } rows[] = {
        {"let x = 5 ± 0.1 L\nshow x - x\n", 0},
        {"let x = 5 ± 0.1 L\nlet y = 5 ± 0.1 L\nshow x - y\n", 0.1414213562},
        {"let x = 5 ± 0.1 L\nlet all = 0 L\nfor i from 1 to 10 do all = all + x end\nshow all\n", 1},
        {"formula reading() = 5 ± 0.1 L\nshow reading() + reading()\n", 0.1414213562},
        {"let x = 4 ± 0.1\nfind y from 0 to 10 so y * y == x\nshow y - sqrt(x)\n", 0},
        {"let x = 4 ± 0.1\nfind y from 0 to 10 so y * y == x\nshow y\n", 0.025},
        {"find y from 0 to 10 so y * 2 == 4 ± 0.1\nshow y\n", 0.05},
        {"let og = 1.050 ± 0.002 SG\nshow (og as °Bx) as SG\n", 0.002},
        {"let og = 1.050 SG ± 2 pts\nshow (juice(gravity: og) + juice(gravity: og)).gravity\n", 0.002},
        {"show tolerance(1.050 SG, 1 pts)\n", 0.001 / 1.7320508},
        {"let offset = 0 pts ± 1 pts\nshow (1.052 SG + offset) - (1.004 SG + offset)\n", 0},
        {"let t = 68 °F ± 1 F°\nshow t as °C\n", 5.0 / 9},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        Result shown = run(rows[i].script, 0);
        cr_expect(near(shown.uncertainty, rows[i].uncertainty, 1e-4, 1e-9), "%g, not %g: %s",
                  shown.uncertainty, rows[i].uncertainty, rows[i].script);
    }
}

static void expect_worded(const Session *session, const Item *item, const char *words) {
    Text text = {0};
    render_shown_text(&text, session_units(session), item);
    cr_expect_str_eq(text_string(&text), words);
    text_free(&text);
}

/* What runtime/worlds.h promises: 4n + 1 runs for n sources, and n (n - 1) / 2 of pairs for up to 16 of them.
 * Only a text that the script may work on takes one more, where it quotes a ±. */
Test(uncertainty, runs_as_often_as_it_must) {
    static const struct {
        const char *script;
        int runs;
    } rows[] = {
        {"let x = 5 ± 0.1 L\nshow x\n", 5},
        {"let x = 5 ± 0.1 L\nlet y = 3 ± 0.1\nshow x * y\n", 9 + 1},
        {"let x = 5 ± 0.1 L\nlet y = 3 ± 0.1\nlet z = 2 ± 0.1\nshow x * y * z\n", 13 + 3},
        {"let all = 0 L\nfor i from 1 to 17 do all = all + (1 ± 0.1 L) end\nshow all\n", 69},
        {"let x = 5 ± 0.1 L\ntable i from 1 to 3\n  column \"x\" = x * i\nend\n", 5},
        {"let x = 5 ± 0.1 L\nprint \"{x}\"\nheading \"of {x}\"\nshow \"now {x}\": x\n", 5},
        {"let x = 5 ± 0.1 L\nevent 2027-02-14, \"{x}\"\nlet n = 2\nlet t = \"{n}\"\nprint t\n", 5},
        {"let x = 5 ± 0.1 L\nlet t = \"{x}\"\nprint t\n", 6},
        {"let x = 5 ± 0.1 L\nprint upper(\"{x}\")\n", 6},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        SessionOptions options = session_default_options();
        options.folder = "/";
        Session *session = session_new(&options);
        Source *source = source_new("runs.rlet", NULL, rows[i].script, strlen(rows[i].script));
        cr_expect(session_run(session, source) == SESSION_OK, "%s: %s", rows[i].script,
                  session_errors(session)->count ? session_errors(session)->items[0]->message : "");
        cr_expect_eq(session->vm->worlds->runs, rows[i].runs, "%d runs, not %d, of\n%s",
                     session->vm->worlds->runs, rows[i].runs, rows[i].script);
        source_release(source);
        session_free(session);
    }
}

/* A session that drew may go on: a longer script, and lines at the prompt, find nothing left of the draws. */
Test(uncertainty, draws_end_with_their_script) {
    static const char drawn[] =
        "let x = 5 ± 1\nif x > 6 then\n  let z = 1 ± 0.2\n  show x * z\nend\nshow x\n";
    static const char longer[] = "let a = 1 ± 0.1\nshow [a, a * 2, a * 3, a * 4]\nshow a\n";
    SessionOptions options = session_default_options();
    options.folder = "/";
    Session *session = session_new(&options);
    Source *first = source_new("drawn.rlet", NULL, drawn, strlen(drawn));
    Source *second = source_new("longer.rlet", NULL, longer, strlen(longer));
    cr_expect(session_run_trials(session, first, 200, 1) == SESSION_OK);
    cr_expect(session_source_count(session) == 1, "a source that only draws met is none of the script's");
    cr_expect(session_enter(session, "let b = 2 ± 0.3\n") == SESSION_OK);
    cr_expect(session_enter(session, "let c = 5 ± 1\n") == SESSION_OK);
    cr_expect(session_enter(session, "b * c\n") == SESSION_OK);
    const Report *report = session_report(session);
    expect_worded(session, report->items[report->count - 1], "10.0 ± 2.5");
    cr_expect(session_run(session, second) == SESSION_OK);
    report = session_report(session);
    cr_assert(report->count == 2);
    expect_worded(session, report->items[0], "[1.00 ± 0.10, 2.00 ± 0.20, 3.00 ± 0.30, 4.00 ± 0.40]");
    expect_worded(session, report->items[1], "1.00 ± 0.10");
    cr_expect(report->items[1]->drawn.draws == 0);
    source_release(first);
    source_release(second);
    session_free(session);
}
