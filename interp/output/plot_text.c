/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plots in characters, for a terminal: a mark of its own for each curve, `:` for a band of ±. */
#include <math.h>
#include <string.h>

#include "output/plot.h"
#include "output/reasons.h"
#include "output/render.h"

enum { MOST_WIDTH = 61, LEAST_WIDTH = 21, HEIGHT = 17, BESIDE_TICKS = 2 };
static const char marks[PLOT_CURVES + 1] = "*o+x#@%&=~^$";

typedef struct Grid {
    char cells[HEIGHT][MOST_WIDTH + 1];
    int width;
    int margin; /* columns left of the axis */
} Grid;

/* A point, each part as a share of its axis. */
typedef struct Point {
    double x, y, low, high; /* low, high: of its ± */
    bool spread;
} Point;

static int place(double share, int cells) {
    return (int)lround(share * (cells - 1));
}

static void put(Grid *grid, int column, int row, char mark) {
    if (column < 0 || column >= grid->width || row < 0 || row >= HEIGHT)
        return;
    char *cell = &grid->cells[HEIGHT - 1 - row][column];
    if (mark != ':' || *cell == ' ')
        *cell = mark;
}

static double between(double a, double b, double share) {
    return a + share * (b - a);
}

/* The part of a curve between two neighbouring points, column by column, with its band. */
static void draw_part(Grid *grid, Point a, Point b, char mark) {
    int from = place(a.x, grid->width), to = place(b.x, grid->width);
    int direction = to < from ? -1 : 1;
    for (int column = from;; column += direction) {
        double share = to == from ? 1 : (double)(column - from) / (to - from);
        int low = place(between(a.low, b.low, share), HEIGHT);
        int high = place(between(a.high, b.high, share), HEIGHT);
        for (int row = low; (a.spread || b.spread) && row <= high; row++)
            put(grid, column, row, ':');
        put(grid, column, place(between(a.y, b.y, share), HEIGHT), mark);
        if (column == to)
            break;
    }
}

static void draw_curve(Grid *grid, const PlotPicture *picture, int index) {
    const TableResult *table = picture->table;
    int column = picture->curves[index];
    bool joined = false;
    Point before = {0};
    for (int row = 0; row < table->row_count; row++) {
        double x, y, spread = table->columns[column].cells[row].spread;
        bool there = plot_point(table, column, row, &x, &y);
        if (there) {
            Point point = {.x = plot_share(&picture->along, x), .y = plot_share(&picture->up, y)};
            point.spread = spread > 0;
            point.low = point.spread ? plot_share(&picture->up, y - spread) : point.y;
            point.high = point.spread ? plot_share(&picture->up, y + spread) : point.y;
            point.low = fmax(0, point.low); /* the axis ends where doubles do */
            point.high = fmin(1, point.high);
            draw_part(grid, joined ? before : point, point, marks[index]);
            before = point;
        }
        joined = there;
    }
}

static void end_line(Text *out) {
    while (out->length && out->bytes[out->length - 1] == ' ')
        out->bytes[--out->length] = '\0';
    text_add_char(out, '\n');
}

static int widest_tick(const PlotAxis *axis) {
    size_t widest = 0;
    for (int i = 0; i < axis->ticks; i++) {
        Text tick = {0};
        plot_tick(&tick, axis, i);
        widest = tick.length > widest ? tick.length : widest;
        text_free(&tick);
    }
    return (int)widest;
}

static void add_rows(Text *out, const Grid *grid, const PlotPicture *picture) {
    for (int line = 0; line < HEIGHT; line++) {
        Text tick = {0};
        for (int i = 0; i < picture->up.ticks && !tick.length; i++)
            if (place(plot_share(&picture->up, plot_tick_value(&picture->up, i)), HEIGHT) ==
                HEIGHT - 1 - line)
                plot_tick(&tick, &picture->up, i);
        text_add_padding(out, tick.length,
                         grid->margin > BESIDE_TICKS ? (size_t)(grid->margin - BESIDE_TICKS) : 0);
        text_add(out, text_string(&tick), tick.length);
        text_add_string(out, tick.length ? " +" : " |");
        text_add(out, grid->cells[line], (size_t)grid->width);
        end_line(out);
        text_free(&tick);
    }
}

/* The rule below and the ticks under it; every second, or third, … when all would run into one another. */
static void add_foot(Text *out, const Grid *grid, const PlotPicture *picture, int within) {
    const PlotAxis *along = &picture->along;
    char rule[MOST_WIDTH + 1];
    memset(rule, '-', MOST_WIDTH);
    PlotRoom room = {.from = grid->margin, .least = 0, .most = within, .column = 1, .gap = 2};
    room.to = room.from + grid->width - 1;
    int apart = plot_ticks_apart(along, &room);
    Text ticks = {0};
    for (int i = 0; i < along->ticks; i++) {
        double share = plot_share(along, plot_tick_value(along, i));
        int column = place(share, grid->width);
        rule[column] = '+';
        if (i % apart)
            continue;
        double moved = column - share * (grid->width - 1); /* to a whole column, the label as the mark */
        size_t start = (size_t)lround(plot_tick_start(along, i, &room) + moved);
        text_add_padding(&ticks, ticks.length, start);
        plot_tick(&ticks, along, i);
    }
    text_add_repeated(out, ' ', (size_t)grid->margin);
    text_add(out, rule, (size_t)grid->width);
    text_add_char(out, '\n');
    text_add(out, text_string(&ticks), ticks.length);
    end_line(out);
    text_free(&ticks);
}

static void add_foot_label(Text *out, const UnitTable *units, const Grid *grid, const TableColumn *column) {
    Text label = {0};
    plot_label(&label, units, column);
    int width = (int)utf8_width(text_string(&label), label.length);
    int before = width < grid->width ? (grid->width - width) / 2 : 0;
    text_add_repeated(out, ' ', (size_t)(grid->margin + before));
    text_add(out, text_string(&label), label.length);
    end_line(out);
    text_free(&label);
}

static void add_picture(Text *out, const UnitTable *units, const PlotPicture *picture, int within) {
    const TableResult *table = picture->table;
    Grid grid = {.margin = widest_tick(&picture->up) + BESIDE_TICKS};
    int room = within - grid.margin;
    grid.width = room > MOST_WIDTH ? MOST_WIDTH : room < LEAST_WIDTH ? LEAST_WIDTH : room;
    for (int line = 0; line < HEIGHT; line++)
        memset(grid.cells[line], ' ', MOST_WIDTH);
    for (int i = picture->curve_count - 1; i >= 0; i--) /* the first curve lies on top */
        draw_curve(&grid, picture, i);
    if (table->caption) {
        render_one_line(out, table->caption);
        end_line(out);
    }
    for (int i = 0; i < picture->curve_count; i++) {
        text_add_char(out, marks[i]);
        text_add_char(out, ' ');
        plot_label(out, units, &table->columns[picture->curves[i]]);
        end_line(out);
    }
    add_rows(out, &grid, picture);
    add_foot(out, &grid, picture, within);
    add_foot_label(out, units, &grid, &table->columns[0]);
}

void plot_text(Text *out, const UnitTable *units, const TableResult *table, int columns) {
    PlotPicture picture;
    int from = 1;
    bool any = false;
    while (plot_next(&picture, units, table, &from)) {
        if (any)
            text_add_char(out, '\n');
        add_picture(out, units, &picture, columns);
        any = true;
    }
    Text remark = {0};
    plot_remark(&remark, table);
    if (remark.length) {
        text_add(out, text_string(&remark), remark.length);
        text_add_char(out, '\n');
    }
    text_free(&remark);
    reasons_text(out, table, columns);
}
