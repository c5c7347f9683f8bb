/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Axes and pictures of plots, and the drawing in characters. */
#include "output/plot.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "output/render.h"

/* ---- numbers ---- */

bool plot_number(const TableResult *table, int column, int row, double *number) {
    Value value = table->columns[column].cells[row];
    if (table->failed[column][row] || !value_is_quantity(value))
        return false;
    *number = value.as.number;
    return true;
}

void plot_label(Text *out, const UnitTable *units, const TableColumn *column) {
    render_column_head(out, units, column);
}

/* The smallest of 1, 2, 5 times a power of ten that is not below a size. */
static double round_step(double size) {
    double power = pow(10, floor(log10(size)));
    double lead = size / power;
    return power * (lead <= 1 + 1e-9 ? 1 : lead <= 2 + 1e-9 ? 2 : lead <= 5 + 1e-9 ? 5 : 10);
}

static int places_of_step(double step) {
    int places = (int)-floor(log10(step) + 1e-9);
    return places < 0 ? 0 : places > 12 ? 12 : places;
}

/* `tight`: the axis ends where the data do, and the ticks lie inside; else it ends at ticks. */
static PlotAxis make_axis(double low, double high, int parts, bool tight, bool dates) {
    if (high - low <= 1e-12 * fmax(fabs(low), fabs(high))) {
        double half = dates ? 1 : low == 0 ? 1 : fabs(low) * 0.05;
        low -= half;
        high += half;
    }
    double step = round_step((high - low) / parts);
    if (dates)
        step = fmax(1, ceil((high - low) / parts));
    PlotAxis axis = {.step = step, .dates = dates, .places = dates ? 0 : places_of_step(step)};
    axis.low = tight ? low : floor(low / step + 1e-9) * step;
    axis.high = tight ? high : ceil(high / step - 1e-9) * step;
    axis.first = dates ? low : ceil(axis.low / step - 1e-9) * step;
    axis.ticks = (int)floor((axis.high - axis.first) / step + 1e-9) + 1;
    return axis;
}

double plot_tick_value(const PlotAxis *axis, int tick) {
    return axis->first + tick * axis->step;
}

void plot_tick(Text *out, const PlotAxis *axis, int tick) {
    if (axis->dates)
        render_date(out, plot_tick_value(axis, tick));
    else
        format_places(out, plot_tick_value(axis, tick), axis->places);
}

/* ---- pictures ---- */

typedef struct Extent {
    double low, high;
    bool any;
} Extent;

static void widen(Extent *extent, double number) {
    extent->low = extent->any ? fmin(extent->low, number) : number;
    extent->high = extent->any ? fmax(extent->high, number) : number;
    extent->any = true;
}

static void widen_by_column(Extent *extent, const TableResult *table, int column) {
    for (int row = 0; row < table->row_count; row++) {
        double number, along;
        if (!plot_number(table, column, row, &number) || !plot_number(table, 0, row, &along))
            continue;
        double spread = column ? table->columns[column].spreads[row] : 0;
        widen(extent, number - spread);
        widen(extent, number + spread);
    }
}

static bool holds_numbers(const TableResult *table, int column) {
    double number;
    for (int row = 0; row < table->row_count; row++)
        if (plot_number(table, column, row, &number))
            return true;
    return false;
}

static bool was_drawn(const TableResult *table, int column, int from) {
    for (int earlier = 1; earlier < from; earlier++)
        if (holds_numbers(table, earlier) && table->columns[earlier].unit == table->columns[column].unit)
            return true;
    return false;
}

/* Ticks are printed with the decimals that readings of their unit have: 1.020 SG. */
static void keep_places(PlotAxis *axis, const Unit *unit) {
    if (unit->reading && unit->places > axis->places)
        axis->places = unit->places;
}

bool plot_next(PlotPicture *picture, const UnitTable *units, const TableResult *table, int *from) {
    enum { PARTS_ALONG = 5, PARTS_OF_DATES = 4, PARTS_UP = 4 };
    const int most = sizeof picture->curves / sizeof picture->curves[0];
    Extent along = {0}, up = {0};
    int first = *from;
    while (first < table->column_count && (!holds_numbers(table, first) || was_drawn(table, first, first)))
        first++;
    if (first >= table->column_count)
        return false;
    *picture = (PlotPicture){.table = table, .unit = table->columns[first].unit};
    for (int c = first; c < table->column_count && picture->curve_count < most; c++)
        if (holds_numbers(table, c) && table->columns[c].unit == picture->unit)
            picture->curves[picture->curve_count++] = c;
    widen_by_column(&along, table, 0);
    for (int i = 0; i < picture->curve_count; i++)
        widen_by_column(&up, table, picture->curves[i]);
    *from = first + 1;
    if (!along.any || !up.any)
        return plot_next(picture, units, table, from);
    bool dates = table->columns[0].unit == UNIT_DATE;
    picture->along = make_axis(along.low, along.high, dates ? PARTS_OF_DATES : PARTS_ALONG, true, dates);
    picture->up = make_axis(up.low, up.high, PARTS_UP, false, picture->unit == UNIT_DATE);
    keep_places(&picture->along, unit_get(units, table->columns[0].unit));
    keep_places(&picture->up, unit_get(units, picture->unit));
    return true;
}

/* ---- characters ---- */

enum { GRID_WIDTH = 61, GRID_HEIGHT = 17 };
static const char marks[] = "*o+x#@%&=~^";

typedef struct Grid {
    char cells[GRID_HEIGHT][GRID_WIDTH + 1];
} Grid;

static int place_on(const PlotAxis *axis, double number, int cells) {
    return (int)lround((number - axis->low) / (axis->high - axis->low) * (cells - 1));
}

static void put(Grid *grid, int column, int row, char mark) {
    if (column < 0 || column >= GRID_WIDTH || row < 0 || row >= GRID_HEIGHT)
        return;
    char *cell = &grid->cells[GRID_HEIGHT - 1 - row][column];
    if (mark != ':' || *cell == ' ')
        *cell = mark;
}

/* The part of a curve between two neighbouring points, column by column; its ± as a band of `:`. */
static void draw_part(Grid *grid, const PlotPicture *picture, const double x[2], const double y[2],
                      const double spread[2], char mark) {
    int from = place_on(&picture->along, x[0], GRID_WIDTH), to = place_on(&picture->along, x[1], GRID_WIDTH);
    int direction = to < from ? -1 : 1;
    for (int column = from;; column += direction) {
        double share = to == from ? 1 : (double)(column - from) / (to - from);
        double middle = y[0] + share * (y[1] - y[0]), half = spread[0] + share * (spread[1] - spread[0]);
        int low = place_on(&picture->up, middle - half, GRID_HEIGHT);
        int high = place_on(&picture->up, middle + half, GRID_HEIGHT);
        for (int row = low; half > 0 && row <= high; row++)
            put(grid, column, row, ':');
        put(grid, column, place_on(&picture->up, middle, GRID_HEIGHT), mark);
        if (column == to)
            break;
    }
}

static void draw_curve(Grid *grid, const PlotPicture *picture, int index) {
    const TableResult *table = picture->table;
    int column = picture->curves[index];
    double x[2] = {0}, y[2] = {0}, spread[2] = {0};
    bool joined = false;
    for (int row = 0; row < table->row_count; row++) {
        bool there = plot_number(table, 0, row, &x[1]) && plot_number(table, column, row, &y[1]);
        spread[1] = table->columns[column].spreads[row];
        if (there && !joined) {
            x[0] = x[1];
            y[0] = y[1];
            spread[0] = spread[1];
        }
        if (there)
            draw_part(grid, picture, x, y, spread, marks[index % (int)(sizeof marks - 1)]);
        joined = there;
        x[0] = x[1];
        y[0] = y[1];
        spread[0] = spread[1];
    }
}

static void end_line(Text *out) {
    while (out->length && out->bytes[out->length - 1] == ' ')
        out->bytes[--out->length] = '\0';
    text_add_char(out, '\n');
}

static size_t widest_tick(const PlotAxis *axis) {
    size_t widest = 0;
    for (int i = 0; i < axis->ticks; i++) {
        Text tick = {0};
        plot_tick(&tick, axis, i);
        widest = tick.length > widest ? tick.length : widest;
        text_free(&tick);
    }
    return widest;
}

static void add_rows(Text *out, const Grid *grid, const PlotPicture *picture, size_t margin) {
    for (int line = 0; line < GRID_HEIGHT; line++) {
        Text tick = {0};
        for (int i = 0; i < picture->up.ticks; i++)
            if (place_on(&picture->up, plot_tick_value(&picture->up, i), GRID_HEIGHT) ==
                GRID_HEIGHT - 1 - line)
                plot_tick(&tick, &picture->up, i);
        text_add_repeated(out, ' ', margin - tick.length);
        text_add(out, text_string(&tick), tick.length);
        text_add_string(out, tick.length ? " +" : " |");
        text_add(out, grid->cells[line], GRID_WIDTH);
        end_line(out);
        text_free(&tick);
    }
}

/* The rule below and the ticks under it; a tick that would run into the one before is left out. */
static void add_foot(Text *out, const UnitTable *units, const PlotPicture *picture, size_t margin) {
    char rule[GRID_WIDTH + 1];
    memset(rule, '-', GRID_WIDTH);
    Text ticks = {0};
    for (int i = 0; i < picture->along.ticks; i++) {
        size_t column = (size_t)place_on(&picture->along, plot_tick_value(&picture->along, i), GRID_WIDTH);
        Text tick = {0};
        plot_tick(&tick, &picture->along, i);
        size_t half = tick.length / 2, start = column > half ? column - half : 0;
        rule[column] = '+';
        if (ticks.length == 0 || start > ticks.length) {
            text_add_repeated(&ticks, ' ', start - ticks.length);
            text_add(&ticks, text_string(&tick), tick.length);
        }
        text_free(&tick);
    }
    text_add_repeated(out, ' ', margin + 2);
    text_add(out, rule, GRID_WIDTH);
    text_add_char(out, '\n');
    text_add_repeated(out, ' ', margin + 2);
    text_add(out, text_string(&ticks), ticks.length);
    end_line(out);
    Text label = {0};
    plot_label(&label, units, &picture->table->columns[0]);
    size_t width = utf8_width(text_string(&label), label.length);
    text_add_repeated(out, ' ', margin + 2 + (width < GRID_WIDTH ? (GRID_WIDTH - width) / 2 : 0));
    text_add(out, text_string(&label), label.length);
    end_line(out);
    text_free(&ticks);
    text_free(&label);
}

static void add_picture(Text *out, const UnitTable *units, const PlotPicture *picture) {
    Grid grid;
    for (int line = 0; line < GRID_HEIGHT; line++) {
        memset(grid.cells[line], ' ', GRID_WIDTH);
        grid.cells[line][GRID_WIDTH] = '\0';
    }
    for (int i = picture->curve_count - 1; i >= 0; i--) /* the first curve lies on top */
        draw_curve(&grid, picture, i);
    for (int i = 0; i < picture->curve_count; i++) {
        text_add_char(out, marks[i % (int)(sizeof marks - 1)]);
        text_add_char(out, ' ');
        plot_label(out, units, &picture->table->columns[picture->curves[i]]);
        text_add_char(out, '\n');
    }
    size_t margin = widest_tick(&picture->up);
    add_rows(out, &grid, picture, margin);
    add_foot(out, units, picture, margin);
}

void plot_text(Text *out, const UnitTable *units, const TableResult *table) {
    PlotPicture picture;
    int from = 1;
    bool any = false;
    while (plot_next(&picture, units, table, &from)) {
        if (any)
            text_add_char(out, '\n');
        add_picture(out, units, &picture);
        any = true;
    }
    if (!any)
        text_add_string(out, "(nothing to draw)\n");
    for (int i = 0; i < table->reason_count; i++) {
        text_add_string(out, "— ");
        render_one_line(out, table->reasons[i]);
        text_add_char(out, '\n');
    }
}
