/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plots as SVG: one self-contained element a picture, drawn in the colour of the text around it, so that it
 * reads on light, dark and paper. Curves differ by their dashes and are named at their right ends, not by
 * colour. */
#include <math.h>
#include <string.h>

#include "output/plot.h"
#include "output/render.h"

enum { WIDTH = 640, HEIGHT = 360, LEFT = 70, RIGHT = 150, TOP = 16, BOTTOM = 52 };

static const char *const dashes[] = {"", "7 4", "2 3", "9 3 2 3", "12 4", "4 2"};
enum { DASHES = sizeof dashes / sizeof dashes[0] };

static void add_escaped(Text *out, const char *text) {
    for (const char *p = text; *p; p++) {
        switch (*p) {
        case '<':
            text_add_string(out, "&lt;");
            break;
        case '>':
            text_add_string(out, "&gt;");
            break;
        case '&':
            text_add_string(out, "&amp;");
            break;
        case '"':
            text_add_string(out, "&quot;");
            break;
        default:
            text_add_char(out, *p);
        }
    }
}

static double on_axis(const PlotAxis *axis, double number, double from, double to) {
    return from + (number - axis->low) / (axis->high - axis->low) * (to - from);
}

static double x_of(const PlotPicture *picture, double number) {
    return on_axis(&picture->along, number, LEFT, WIDTH - RIGHT);
}

static double y_of(const PlotPicture *picture, double number) {
    return on_axis(&picture->up, number, HEIGHT - BOTTOM, TOP);
}

static void add_number(Text *out, double number) {
    format_places(out, number, 1);
}

static void add_point(Text *out, char command, double x, double y) {
    text_add_char(out, command);
    add_number(out, x);
    text_add_char(out, ' ');
    add_number(out, y);
}

static void add_line(Text *out, double x1, double y1, double x2, double y2, const char *opacity) {
    text_add_string(out, "<path d=\"");
    add_point(out, 'M', x1, y1);
    add_point(out, 'L', x2, y2);
    text_add_string(out, "\" stroke=\"currentColor\" stroke-opacity=\"");
    text_add_string(out, opacity);
    text_add_string(out, "\"/>\n");
}

static void add_words(Text *out, double x, double y, const char *anchor, const char *words) {
    text_add_string(out, "<text x=\"");
    add_number(out, x);
    text_add_string(out, "\" y=\"");
    add_number(out, y);
    text_add_string(out, "\" text-anchor=\"");
    text_add_string(out, anchor);
    text_add_string(out, "\">");
    add_escaped(out, words);
    text_add_string(out, "</text>\n");
}

static void add_axes(Text *out, const UnitTable *units, const PlotPicture *picture) {
    double bottom = HEIGHT - BOTTOM, right = WIDTH - RIGHT;
    for (int i = 0; i < picture->up.ticks; i++) {
        Text tick = {0};
        double y = y_of(picture, plot_tick_value(&picture->up, i));
        plot_tick(&tick, &picture->up, i);
        add_line(out, LEFT, y, right, y, "0.2");
        add_words(out, LEFT - 8, y + 4, "end", text_string(&tick));
        text_free(&tick);
    }
    double free_from = 0;
    for (int i = 0; i < picture->along.ticks; i++) {
        Text tick = {0};
        double x = x_of(picture, plot_tick_value(&picture->along, i));
        plot_tick(&tick, &picture->along, i);
        double half = (double)tick.length * 3.6;
        add_line(out, x, bottom, x, bottom + 5, "1");
        if (x - half > free_from) {
            add_words(out, x, bottom + 20, "middle", text_string(&tick));
            free_from = x + half + 6;
        }
        text_free(&tick);
    }
    add_line(out, LEFT, bottom, right, bottom, "1");
    add_line(out, LEFT, TOP, LEFT, bottom, "1");
    Text label = {0};
    plot_label(&label, units, &picture->table->columns[0]);
    add_words(out, (LEFT + right) / 2, HEIGHT - 10, "middle", text_string(&label));
    text_free(&label);
}

/* The band of ± around a curve: along its upper edge and back along the lower one; gaps part it. */
static void add_band(Text *out, const PlotPicture *picture, int column) {
    const TableResult *table = picture->table;
    const double *spreads = table->columns[column].spreads;
    for (int start = 0; start < table->row_count;) {
        double x, y;
        int end = start;
        while (end < table->row_count && plot_number(table, 0, end, &x) &&
               plot_number(table, column, end, &y) && spreads[end] > 0)
            end++;
        if (end > start) {
            text_add_string(out, "<path fill=\"currentColor\" fill-opacity=\"0.15\" d=\"");
            for (int step = 0; step < 2 * (end - start); step++) {
                bool upper = step < end - start;
                int row = upper ? start + step : 2 * end - start - step - 1;
                plot_number(table, 0, row, &x);
                plot_number(table, column, row, &y);
                add_point(out, step ? 'L' : 'M', x_of(picture, x),
                          y_of(picture, upper ? y + spreads[row] : y - spreads[row]));
            }
            text_add_string(out, "Z\"/>\n");
        }
        start = end + 1;
    }
}

static void add_curve(Text *out, const UnitTable *units, const PlotPicture *picture, int index) {
    const TableResult *table = picture->table;
    int column = picture->curves[index];
    double x = 0, y = 0, last = TOP;
    bool joined = false;
    add_band(out, picture, column);
    text_add_string(out,
                    "<path fill=\"none\" stroke=\"currentColor\" stroke-width=\"2\" stroke-dasharray=\"");
    text_add_string(out, dashes[index % DASHES]);
    text_add_string(out, "\" d=\"");
    for (int row = 0; row < table->row_count; row++) {
        bool there = plot_number(table, 0, row, &x) && plot_number(table, column, row, &y);
        if (there) {
            last = y_of(picture, y);
            add_point(out, joined ? 'L' : 'M', x_of(picture, x), last);
        }
        joined = there;
    }
    text_add_string(out, "\"/>\n");
    Text label = {0};
    plot_label(&label, units, &table->columns[column]);
    /* names of curves that end close together stand below one another */
    double y_name = picture->curve_count > 1 ? TOP + 14 + index * 34 : last + 4;
    double x_name = WIDTH - RIGHT + 10;
    if (picture->curve_count > 1) {
        text_add_string(out, "<path stroke=\"currentColor\" stroke-width=\"2\" stroke-dasharray=\"");
        text_add_string(out, dashes[index % DASHES]);
        text_add_string(out, "\" d=\"");
        add_point(out, 'M', x_name, y_name + 8);
        add_point(out, 'L', x_name + 60, y_name + 8);
        text_add_string(out, "\"/>\n");
    }
    add_words(out, x_name, y_name, "start", text_string(&label));
    text_free(&label);
}

void plot_svg(Text *out, const UnitTable *units, const TableResult *table) {
    PlotPicture picture;
    int from = 1;
    while (plot_next(&picture, units, table, &from)) {
        Text label = {0};
        text_add_string(&label, "curves over ");
        plot_label(&label, units, &table->columns[0]);
        text_add_string(out,
                        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" viewBox=\"0 0 640 360\" "
                        "width=\"640\" font-family=\"sans-serif\" font-size=\"12\" fill=\"currentColor\" "
                        "aria-label=\"");
        add_escaped(out, text_string(&label));
        text_add_string(out, "\">\n");
        add_axes(out, units, &picture);
        for (int i = 0; i < picture.curve_count; i++)
            add_curve(out, units, &picture, i);
        text_add_string(out, "</svg>\n");
        text_free(&label);
    }
}
