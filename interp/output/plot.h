/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Curves drawn from the table of a `plot` statement: in characters for a terminal, as SVG for pages.
 *
 * The first column goes along, the others are curves against it. Curves of one unit share a picture, up to
 * PLOT_CURVES of them; those of another unit, and those beyond, get one of their own below. Cells that are no
 * numbers are gaps. A ± is drawn as a band. A column without a number is named below instead.
 *
 * Any finite number can be drawn, the largest doubles too; a picture's height spans at least 1e-12 of its
 * numbers and 1e-305, and what differs by less is drawn as level. */
#ifndef RUNDLET_PLOT_H
#define RUNDLET_PLOT_H

#include "values/report.h"

enum { PLOT_CURVES = 12 }; /* in one picture: as many as there are marks to tell them apart */

/* An axis and its ticks: first, first + step, …, all within low … high. Along, the axis ends where the data
 * do, so that low and high need not be ticks; up, it ends at ticks where doubles reach so far. */
typedef struct PlotAxis {
    double low, high; /* what the axis spans; low < high, both finite */
    double first, step;
    int ticks;
    int places; /* decimals of a tick; -1: so many digits as tell it from the next, for very large or small */
    bool dates; /* steps are whole days */
} PlotAxis;

/* One picture: the curves that share a unit. */
typedef struct PlotPicture {
    const TableResult *table;
    PlotAxis along, up;
    UnitId unit;
    int curves[PLOT_CURVES]; /* columns of the table */
    int curve_count;
} PlotPicture;

/* Where the labels of ticks may be, in columns of a terminal or units of a picture. */
typedef struct PlotRoom {
    double from, to;    /* the ends of the axis */
    double least, most; /* how far labels reach */
    double column;      /* the width of a character */
    double gap;         /* between two labels */
} PlotRoom;

/* Takes the next picture of a table; `from`: 1 at first, then what it left. False when none is left. */
bool plot_next(PlotPicture *picture, const UnitTable *units, const TableResult *table, int *from);
/* Why there is no picture, or which columns are in none, in brackets and one line; nothing when all are. */
void plot_remark(Text *out, const TableResult *table);

double plot_tick_value(const PlotAxis *axis, int tick);
void plot_tick(Text *out, const PlotAxis *axis, int tick);
/* Where the label of a tick begins: centred on it, and moved into the room. */
double plot_tick_start(const PlotAxis *axis, int tick, const PlotRoom *room);
/* 1 when all labels fit beside one another; 2: every second, … */
int plot_ticks_apart(const PlotAxis *axis, const PlotRoom *room);

/* A number's place on an axis: 0 at low, 1 at high. */
double plot_share(const PlotAxis *axis, double number);
/* Both numbers of a point; false for a gap, which leaves them as they were. */
bool plot_point(const TableResult *table, int column, int row, double *x, double *y);
/* The numbers of a plot in a report: one row in so many, and the last, so that they are about `most`. */
int plot_rows_apart(const TableResult *table, int most);
bool plot_row_is_told(const TableResult *table, int apart, int row);
/* "one row in 25 of 1000, and the last", when some are left out. */
void plot_rows_told(Text *out, const TableResult *table, int apart);
/* `label [unit]` of an axis or curve. */
void plot_label(Text *out, const UnitTable *units, const TableColumn *column);

/* The whole plot with its remark, in so many columns; the reasons of failed cells are reported too. */
void plot_text(Text *out, const UnitTable *units, const TableResult *table, int columns);
/* The pictures alone. */
void plot_svg(Text *out, const UnitTable *units, const TableResult *table);

#endif
