/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Curves drawn from the table of a `plot` statement: in characters for a terminal, as SVG for pages.
 *
 * The first column goes along, the others are curves against it. Curves of one unit share a picture; those of
 * another get one of their own below. Cells that are no numbers are gaps. A ± is drawn as a band. */
#ifndef RUNDLET_PLOT_H
#define RUNDLET_PLOT_H

#include "values/report.h"

/* The ticks of an axis: low, low + step, … high, each printed with so many decimals. */
typedef struct PlotAxis {
    double low, high;   /* what the axis spans */
    double first, step; /* of the ticks inside it */
    int ticks;
    int places;
    bool dates;
} PlotAxis;

/* One picture: the curves that share a unit. */
typedef struct PlotPicture {
    const TableResult *table;
    PlotAxis along, up;
    UnitId unit;
    int curves[16]; /* columns of the table */
    int curve_count;
} PlotPicture;

/* Takes the next picture of a table; `from`: 1 at first, then what it left. False when none is left. */
bool plot_next(PlotPicture *picture, const UnitTable *units, const TableResult *table, int *from);
void plot_tick(Text *out, const PlotAxis *axis, int tick);
double plot_tick_value(const PlotAxis *axis, int tick);
/* A cell as a number on its column's unit; false for a gap. */
bool plot_number(const TableResult *table, int column, int row, double *number);
/* `label [unit]` of an axis or curve. */
void plot_label(Text *out, const UnitTable *units, const TableColumn *column);

void plot_text(Text *out, const UnitTable *units, const TableResult *table);
void plot_svg(Text *out, const UnitTable *units, const TableResult *table);

#endif
