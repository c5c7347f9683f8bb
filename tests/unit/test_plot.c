/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Axes of plots at the ends of what doubles hold, and pictures in few columns. */
#include <criterion/criterion.h>
#include <float.h>
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "output/plot.h"
#include "output/reasons.h"
#include "values/heap.h"

static UnitTable *units;
static TableResult *table;

static void begin(void) {
    units = unit_table_new();
}

static void end(void) {
    table_free(table);
    unit_table_free(units);
}

TestSuite(plot, .init = begin, .fini = end);

/* A table of `columns` curves: y[i] over i + 1, the same for each. */
static void make_table(const double *y, int rows, int columns) {
    table = table_new(columns + 1);
    table->is_plot = true;
    for (int c = 0; c <= columns; c++)
        table->columns[c].label = mem_copy_string(c ? "y" : "x");
    for (int row = 0; row < rows; row++) {
        table_add_row(table);
        for (int c = 0; c <= columns; c++)
            table->columns[c].cells[row].value = value_number(c ? y[row] : row + 1);
    }
}

static PlotPicture picture_of(const double *y, int rows) {
    PlotPicture picture;
    int from = 1;
    make_table(y, rows, 1);
    cr_assert(plot_next(&picture, units, table, &from));
    return picture;
}

static void expect_ticks(const PlotAxis *axis, const char *const *wanted, int count) {
    cr_assert_eq(axis->ticks, count, "%d ticks", axis->ticks);
    for (int i = 0; i < count; i++) {
        Text tick = {0};
        plot_tick(&tick, axis, i);
        cr_expect_str_eq(text_string(&tick), wanted[i]);
        text_free(&tick);
    }
}

#define EXPECT_TICKS(axis, ...)                                                                              \
    expect_ticks(axis, (const char *const[]){__VA_ARGS__},                                                   \
                 (int)(sizeof(const char *const[]){__VA_ARGS__} / sizeof(char *)))

Test(plot, ticks_lie_around_the_data) {
    PlotPicture picture = picture_of((const double[]){3, 17}, 2);
    EXPECT_TICKS(&picture.up, "0", "5", "10", "15", "20");
    EXPECT_TICKS(&picture.along, "1.0", "1.2", "1.4", "1.6", "1.8", "2.0");
}

Test(plot, the_largest_doubles_have_an_axis) {
    PlotPicture picture = picture_of((const double[]){-DBL_MAX, DBL_MAX}, 2);
    EXPECT_TICKS(&picture.up, "-1e308", "0", "1e308");
    cr_expect(isfinite(picture.up.low) && isfinite(picture.up.high));
    cr_expect_eq(plot_share(&picture.up, -DBL_MAX), 0);
    cr_expect_eq(plot_share(&picture.up, 0), 0.5);
    cr_expect_eq(plot_share(&picture.up, DBL_MAX), 1);
}

Test(plot, a_level_curve_of_the_largest_double_has_an_axis) {
    PlotPicture picture = picture_of((const double[]){DBL_MAX, DBL_MAX}, 2);
    cr_expect(isfinite(picture.up.high) && picture.up.low < DBL_MAX && picture.up.high == DBL_MAX);
    cr_expect_gt(picture.up.ticks, 1);
}

Test(plot, what_is_next_to_nothing_is_level) {
    PlotPicture picture = picture_of((const double[]){4.9e-324, 1e-323}, 2);
    cr_expect(picture.up.low < 0 && picture.up.high > 0 && picture.up.step > 0);
    cr_expect_float_eq(plot_share(&picture.up, 1e-323), 0.5, 1e-9);
}

/* Each tick differs from its neighbours, however small the step. */
Test(plot, small_steps_are_told_apart) {
    PlotPicture picture = picture_of((const double[]){1e-13, 3e-13}, 2);
    EXPECT_TICKS(&picture.up, "1.0e-13", "1.5e-13", "2.0e-13", "2.5e-13", "3.0e-13");
}

Test(plot, more_curves_than_marks_open_another_picture) {
    make_table((const double[]){1, 2}, 2, 2 * PLOT_CURVES + 1);
    PlotPicture picture;
    int from = 1, counts[4] = {0}, pictures = 0;
    for (; plot_next(&picture, units, table, &from); pictures++)
        counts[pictures] = picture.curve_count;
    cr_assert_eq(pictures, 3);
    cr_expect(counts[0] == PLOT_CURVES && counts[1] == PLOT_CURVES && counts[2] == 1);
}

Test(plot, no_line_is_wider_than_asked) {
    make_table((const double[]){1000000, 12345678}, 2, 1);
    for (int within = 34; within <= 78; within++) {
        Text out = {0};
        plot_text(&out, units, table, within);
        const char *rest = text_string(&out);
        int widest = 0;
        for (; *rest; rest += strcspn(rest, "\n") + 1)
            widest = (int)strcspn(rest, "\n") > widest ? (int)strcspn(rest, "\n") : widest;
        cr_expect_leq(widest, within, "%d columns:\n%s", within, text_string(&out));
        cr_expect_geq(widest, within < 71 ? within : 71, "%d columns are not used:\n%s", within,
                      text_string(&out));
        text_free(&out);
    }
}

static void expect_reasons(const char *const *wanted, int wanted_count) {
    int count;
    char **lines = reasons_lines(table, &count);
    cr_assert_eq(count, wanted_count);
    for (int i = 0; i < count; i++)
        cr_expect_str_eq(lines[i], wanted[i]);
    reasons_free(lines, count);
}

Test(plot, reasons_are_gathered_by_their_kinds) {
    static const char *const given[] = {
        "6.1 bar is too much", "no sugar",          "6.25 bar is too much", "7 bar is too much",
        "8 bar is too little", "9 bar is too much", "10 bar is too much"};
    static const char *const wanted[] = {"6.1 bar is too much",
                                         "6.25 bar is too much",
                                         "7 bar is too much",
                                         "and 2 more like these",
                                         "no sugar",
                                         "8 bar is too little"};
    make_table((const double[]){1}, 1, 1);
    for (size_t i = 0; i < sizeof given / sizeof given[0]; i++)
        table_add_reason(table, given[i]);
    expect_reasons(wanted, 6);
}

Test(plot, reasons_without_end_are_counted) {
    make_table((const double[]){1}, 1, 1);
    for (int i = 0; i < REASONS_KINDS + 5; i++)
        table_add_reason(table, (char[]){(char)('a' + i), '\0'});
    int count;
    char **lines = reasons_lines(table, &count);
    cr_assert_eq(count, REASONS_KINDS + 1);
    cr_expect_str_eq(lines[REASONS_KINDS], "and 5 other reasons");
    reasons_free(lines, count);
}
