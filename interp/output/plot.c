/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Axes and pictures of plots. */
#include "output/plot.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "numbers/calendar.h"
#include "output/render.h"

/* ---- numbers ---- */

/* A cell as a number on its column's unit; false for a gap. */
static bool cell_number(const TableResult *table, int column, int row, double *number) {
    Value value = table->columns[column].cells[row].value;
    if (table->columns[column].cells[row].failed || !value_is_quantity(value))
        return false;
    *number = value.as.number;
    return true;
}

bool plot_point(const TableResult *table, int column, int row, double *x, double *y) {
    double along, up;
    if (!cell_number(table, 0, row, &along) || !cell_number(table, column, row, &up))
        return false;
    *x = along;
    *y = up;
    return true;
}

void plot_label(Text *out, const UnitTable *units, const TableColumn *column) {
    render_column_head(out, units, column);
}

/* ---- axes ---- */

static double within_doubles(double number) {
    return fmax(-DBL_MAX, fmin(DBL_MAX, number));
}

/* The exponent of a number's first digit; what a last bit takes from a power of ten is given back. */
static double first_digit(double size) {
    return floor(log10(size) + 1e-9);
}

/* The smallest of 1, 2, 5 times a power of ten that is not below a size. */
static double round_step(double size) {
    double power = pow(10, floor(log10(size)));
    double lead = size / power;
    return power * (lead <= 1 + 1e-9 ? 1 : lead <= 2 + 1e-9 ? 2 : lead <= 5 + 1e-9 ? 5 : 10);
}

/* -1 where decimals would be a long row of zeros. */
static int places_of_ticks(double low, double high, double step) {
    double largest = fmax(fabs(low), fabs(high)), places = -first_digit(step);
    if (largest >= 1e10 || largest < 1e-3 || places > 12)
        return -1;
    return places < 0 ? 0 : (int)places;
}

/* The smallest range that can be told apart, else one around it. */
static void widen_level(double *low, double *high, int parts, bool dates) {
    double part = *high / parts - *low / parts, size = fmax(fabs(*low), fabs(*high));
    if (part > 1e-12 * size && part > 1e-305)
        return;
    double half = dates || size == 0 ? 1 : fmax(size * 0.05, 1e-303);
    *low = within_doubles(*low - half);
    *high = within_doubles(*high + half);
}

/* `tight`: the axis ends where the data do, and the ticks lie inside; else it ends at ticks. */
static PlotAxis make_axis(double low, double high, int parts, bool tight, bool dates) {
    widen_level(&low, &high, parts, dates);
    double part = high / parts - low / parts; /* high - low may be no double */
    double step = dates ? fmax(1, ceil(part - 1e-9)) : round_step(part);
    PlotAxis axis = {.step = step, .dates = dates};
    axis.low = tight ? low : within_doubles(floor(low / step + 1e-9) * step);
    axis.high = tight ? high : within_doubles(ceil(high / step - 1e-9) * step);
    axis.first = dates ? axis.low : ceil(axis.low / step - 1e-9) * step;
    axis.ticks = (int)floor(axis.high / step - axis.first / step + 1e-9) + 1;
    axis.places = places_of_ticks(axis.low, axis.high, step);
    return axis;
}

double plot_share(const PlotAxis *axis, double number) {
    return (number / 2 - axis->low / 2) / (axis->high / 2 - axis->low / 2);
}

double plot_tick_value(const PlotAxis *axis, int tick) {
    double value = 2 * (axis->first / 2 + tick * (axis->step / 2)); /* tick * step may be no double */
    return fabs(value) < 1e-6 * axis->step ? 0 : value;
}

void plot_tick(Text *out, const PlotAxis *axis, int tick) {
    double value = plot_tick_value(axis, tick);
    if (axis->dates) {
        if (value >= CALENDAR_FIRST && value <= CALENDAR_LAST) /* an axis may reach beyond its points */
            render_date(out, value);
    } else if (axis->places >= 0) {
        format_places(out, value, axis->places);
    } else if (value == 0) {
        text_add_char(out, '0');
    } else {
        double digits = first_digit(fabs(value)) - first_digit(axis->step) + 1;
        format_digits(out, value, (int)fmax(1, fmin(15, digits)));
    }
}

double plot_tick_start(const PlotAxis *axis, int tick, const PlotRoom *room) {
    Text label = {0};
    plot_tick(&label, axis, tick);
    double width = room->column * (double)utf8_width(text_string(&label), label.length);
    double middle = room->from + plot_share(axis, plot_tick_value(axis, tick)) * (room->to - room->from);
    text_free(&label);
    return fmax(room->least, fmin(middle - width / 2, room->most - width));
}

static bool labels_fit(const PlotAxis *axis, const PlotRoom *room, int apart) {
    double taken = -DBL_MAX;
    for (int tick = 0; tick < axis->ticks; tick += apart) {
        Text label = {0};
        plot_tick(&label, axis, tick);
        double start = plot_tick_start(axis, tick, room);
        if (start < taken) {
            text_free(&label);
            return false;
        }
        taken = start + room->column * (double)utf8_width(text_string(&label), label.length) + room->gap;
        text_free(&label);
    }
    return true;
}

int plot_ticks_apart(const PlotAxis *axis, const PlotRoom *room) {
    int apart = 1;
    while (apart < axis->ticks && !labels_fit(axis, room, apart))
        apart++;
    return apart;
}

/* ---- pictures ---- */

typedef struct Extent {
    double low, high;
    bool any;
} Extent;

static void widen(Extent *extent, double number) {
    number = within_doubles(number);
    extent->low = extent->any ? fmin(extent->low, number) : number;
    extent->high = extent->any ? fmax(extent->high, number) : number;
    extent->any = true;
}

/* By what goes along, where nothing is drawn too: the picture shows the range that was asked for. */
static void widen_along(Extent *extent, const TableResult *table) {
    for (int row = 0; row < table->row_count; row++) {
        double x;
        if (cell_number(table, 0, row, &x))
            widen(extent, x);
    }
}

static void widen_up(Extent *extent, const TableResult *table, int column) {
    for (int row = 0; row < table->row_count; row++) {
        double x, y, spread = table->columns[column].cells[row].spread;
        if (!plot_point(table, column, row, &x, &y))
            continue;
        widen(extent, y - spread);
        widen(extent, y + spread);
    }
}

static bool has_points(const TableResult *table, int column) {
    double x, y;
    for (int row = 0; row < table->row_count; row++)
        if (plot_point(table, column, row, &x, &y))
            return true;
    return false;
}

static bool share_unit(const TableResult *table, int a, int b) {
    return table->columns[a].unit == table->columns[b].unit;
}

/* Does a column open a picture: the first of its unit, or the first that the one before has no room for? */
static bool opens_picture(const TableResult *table, int column) {
    int before = 0;
    for (int earlier = 1; earlier < column; earlier++)
        before += share_unit(table, earlier, column) && has_points(table, earlier);
    return before % PLOT_CURVES == 0 && has_points(table, column);
}

/* Where they are not whole numbers, ticks have the decimals that readings of their unit have: 1.020 SG. */
static void keep_places(PlotAxis *axis, const Unit *unit) {
    if (unit->reading && axis->places > 0 && unit->places > axis->places)
        axis->places = unit->places;
}

bool plot_next(PlotPicture *picture, const UnitTable *units, const TableResult *table, int *from) {
    enum { PARTS_ALONG = 5, PARTS_OF_DATES = 4, PARTS_UP = 4 };
    Extent along = {0}, up = {0};
    int first = *from;
    while (first < table->column_count && !opens_picture(table, first))
        first++;
    *from = first + 1;
    if (first >= table->column_count)
        return false;
    *picture = (PlotPicture){.table = table, .unit = table->columns[first].unit};
    for (int c = first; c < table->column_count && picture->curve_count < PLOT_CURVES; c++) {
        if (!share_unit(table, first, c) || !has_points(table, c))
            continue;
        picture->curves[picture->curve_count++] = c;
        widen_up(&up, table, c);
    }
    widen_along(&along, table);
    bool dates = table->columns[0].unit == UNIT_DATE;
    picture->along = make_axis(along.low, along.high, dates ? PARTS_OF_DATES : PARTS_ALONG, true, dates);
    picture->up = make_axis(up.low, up.high, PARTS_UP, false, picture->unit == UNIT_DATE);
    keep_places(&picture->along, unit_get(units, table->columns[0].unit));
    keep_places(&picture->up, unit_get(units, picture->unit));
    return true;
}

/* ---- what is not drawn ---- */

static bool holds(const TableResult *table, int column, bool (*is)(const TableResult *, int, int)) {
    for (int row = 0; row < table->row_count; row++)
        if (is(table, column, row))
            return true;
    return false;
}

static bool is_number(const TableResult *table, int column, int row) {
    double number;
    return cell_number(table, column, row, &number);
}

static bool is_failed(const TableResult *table, int column, int row) {
    return table->columns[column].cells[row].failed;
}

static bool is_other(const TableResult *table, int column, int row) {
    Value value = table->columns[column].cells[row].value;
    return !is_failed(table, column, row) && !is_number(table, column, row) && value.tag != TAG_NONE &&
           value.tag != TAG_ABSENT;
}

static bool any_holds(const TableResult *table, bool (*is)(const TableResult *, int, int)) {
    for (int column = 1; column < table->column_count; column++)
        if (holds(table, column, is))
            return true;
    return false;
}

static const char *why_no_curve(const TableResult *table) {
    if (any_holds(table, is_number))
        return "no row has both its numbers";
    if (any_holds(table, is_other))
        return "no column holds numbers";
    return any_holds(table, is_failed) ? "every value failed" : "every value is none";
}

static void add_why_nothing(Text *out, const TableResult *table) {
    if (table->row_count == 0) {
        text_add_string(out, "there are no rows");
    } else if (table->column_count < 2) {
        text_add_string(out, "there is one column, and the first one only labels the rows");
    } else if (!holds(table, 0, is_number)) {
        render_one_line(out, table->columns[0].label);
        text_add_string(out, holds(table, 0, is_other)
                                 ? " runs along the bottom, and is neither a number nor a date"
                                 : " runs along the bottom, and has no value");
    } else {
        text_add_string(out, why_no_curve(table));
    }
}

static void add_name(Text *out, const TableColumn *column, int named) {
    text_add_string(out, named ? ", " : "(without a number to draw: ");
    if (*column->label)
        render_one_line(out, column->label);
    else
        text_add_string(out, "a column without a name");
}

void plot_remark(Text *out, const TableResult *table) {
    enum { MOST_NAMES = 6 };
    int missing = 0;
    Text names = {0};
    for (int column = 1; column < table->column_count; column++) {
        if (has_points(table, column))
            continue;
        if (missing < MOST_NAMES)
            add_name(&names, &table->columns[column], missing);
        missing++;
    }
    if (missing == table->column_count - 1 || table->column_count == 0) {
        text_add_string(out, "(nothing to draw: ");
        add_why_nothing(out, table);
        text_add_char(out, ')');
    } else if (missing) {
        text_add_string(out, text_string(&names));
        if (missing > MOST_NAMES) {
            text_add_string(out, " and ");
            text_add_integer(out, missing - MOST_NAMES);
            text_add_string(out, " more");
        }
        text_add_char(out, ')');
    }
    text_free(&names);
}

int plot_rows_apart(const TableResult *table, int most) {
    return table->row_count > most ? (table->row_count + most - 1) / most : 1;
}

bool plot_row_is_told(const TableResult *table, int apart, int row) {
    return row % apart == 0 || row == table->row_count - 1;
}

void plot_rows_told(Text *out, const TableResult *table, int apart) {
    if (apart == 1)
        return;
    text_add_string(out, "one row in ");
    text_add_integer(out, apart);
    text_add_string(out, " of ");
    text_add_integer(out, table->row_count);
    text_add_string(out, ", and the last");
}
