/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plots as SVG: one self-contained element a picture, drawn in the colour of the text around it, so that it
 * reads on light, dark and paper.
 *
 *   strength [%ABV]       what goes up: the one curve's name, or the unit that all share
 *   a ─── 4.0 vols …      several curves: their names, in the order in which their ends lie from the top
 *   | curves              each with dashes and marks of its own, and its letter at its right end
 *   +-----------
 *      dose [g]
 *
 * No colour tells curves apart. The picture is narrow and its letters large, so that a phone 390 pixels wide
 * shows them 11 pixels high or more; a page may draw it larger. */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "output/markup.h"
#include "output/plot.h"
#include "output/render.h"

enum {
    WIDTH = 480,
    PLOT_HEIGHT = 250,
    FONT_SIZE = 15,
    LINE = 21,      /* from one line of text to the next */
    SAMPLE = 44,    /* of a curve's dashes, beside its name */
    KEY = 14,       /* the room of a curve's letter */
    FEW_POINTS = 16 /* of a curve: each is marked; more run together */
};
static const double character = 8.8; /* the width of most, in a broad sans serif */

static const char *const dashes[] = {"", "14 5", "2 4", "12 4 2 4", "6 4", "12 3 2 3 2 3"};
/* Marks around the point where they begin. */
static const char *const marks[] = {
    "m-3.5 0a3.5 3.5 0 1 0 7 0a3.5 3.5 0 1 0-7 0z",
    "m-3.2-3.2h6.4v6.4h-6.4z",
    "m0-4.6l4.4 7.8h-8.8z",
    "m-3.5-3.5l7 7m0-7l-7 7",
    "m0-4.8l4.8 4.8-4.8 4.8-4.8-4.8z",
    "m-4.6 0h9.2m-4.6-4.6v9.2",
};
enum { DASHES = sizeof dashes / sizeof dashes[0], MARKS = sizeof marks / sizeof marks[0] };

/* A curve as drawn. */
typedef struct Curve {
    int column;
    int style;           /* its place in the script, which decides its dashes and marks */
    double x_end, y_end; /* its last point */
    double y_key;        /* of its letter */
    bool joined;         /* some neighbours are joined by a line */
    bool marked;         /* at each of its points */
} Curve;

typedef struct Canvas {
    Text *out;
    const UnitTable *units;
    const PlotPicture *picture;
    double left, right, top, bottom;
    Curve curves[PLOT_CURVES]; /* by their ends, from the top */
    int count;
} Canvas;

/* ---- elements ---- */

static double x_of(const Canvas *canvas, double number) {
    return canvas->left + plot_share(&canvas->picture->along, number) * (canvas->right - canvas->left);
}

/* A ± may reach beyond the last double. */
static double y_of(const Canvas *canvas, double number) {
    double share = fmax(0, fmin(1, plot_share(&canvas->picture->up, number)));
    return canvas->bottom - share * (canvas->bottom - canvas->top);
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

/* `style`: more attributes, each after a space. */
static void add_words(Text *out, double x, double y, const char *style, const char *words) {
    text_add_string(out, "<text x=\"");
    add_number(out, x);
    text_add_string(out, "\" y=\"");
    add_number(out, y);
    text_add_char(out, '"');
    text_add_string(out, style);
    text_add_char(out, '>');
    markup_add(out, words);
    text_add_string(out, "</text>\n");
}

/* Words in so much room: what does not fit gives way to an ellipsis. */
static void add_clipped(Text *out, double x, double y, double room, const char *words) {
    size_t most = room > character ? (size_t)(room / character) : 1, length = strlen(words);
    if (utf8_width(words, length) <= most) {
        add_words(out, x, y, "", words);
        return;
    }
    Text cut = {0};
    for (size_t at = 0, width = 0; at < length;) {
        uint32_t code_point;
        size_t used = utf8_decode(words + at, length - at, &code_point);
        used = used ? used : 1;
        width += utf8_width(words + at, used);
        if (width > most - 1)
            break;
        text_add(&cut, words + at, used);
        at += used;
    }
    while (cut.length && cut.bytes[cut.length - 1] == ' ')
        cut.bytes[--cut.length] = '\0';
    text_add_string(&cut, "…");
    add_words(out, x, y, "", text_string(&cut));
    text_free(&cut);
}

static double width_of(const char *words) {
    return character * (double)utf8_width(words, strlen(words));
}

/* ---- axes ---- */

static double widest_tick(const PlotAxis *axis) {
    double widest = 0;
    for (int i = 0; i < axis->ticks; i++) {
        Text tick = {0};
        plot_tick(&tick, axis, i);
        widest = fmax(widest, width_of(text_string(&tick)));
        text_free(&tick);
    }
    return widest;
}

static void add_axis_up(const Canvas *canvas) {
    const PlotAxis *up = &canvas->picture->up;
    for (int i = 0; i < up->ticks; i++) {
        Text tick = {0};
        double y = y_of(canvas, plot_tick_value(up, i));
        plot_tick(&tick, up, i);
        add_line(canvas->out, canvas->left, y, canvas->right, y, "0.2");
        add_words(canvas->out, canvas->left - 8, y + 5, " text-anchor=\"end\"", text_string(&tick));
        text_free(&tick);
    }
    add_line(canvas->out, canvas->left, canvas->top, canvas->left, canvas->bottom, "1");
}

static void add_axis_along(const Canvas *canvas) {
    const PlotAxis *along = &canvas->picture->along;
    PlotRoom room = {.from = canvas->left, .to = canvas->right, .least = 2, .most = WIDTH - 2, .gap = 10};
    room.column = character;
    int apart = plot_ticks_apart(along, &room);
    for (int i = 0; i < along->ticks; i++) {
        double x = x_of(canvas, plot_tick_value(along, i));
        add_line(canvas->out, x, canvas->bottom, x, canvas->bottom + 5, "1");
        if (i % apart)
            continue;
        Text tick = {0};
        plot_tick(&tick, along, i);
        double middle = plot_tick_start(along, i, &room) + width_of(text_string(&tick)) / 2;
        add_words(canvas->out, middle, canvas->bottom + 21, " text-anchor=\"middle\"", text_string(&tick));
        text_free(&tick);
    }
    add_line(canvas->out, canvas->left, canvas->bottom, canvas->right, canvas->bottom, "1");
    Text label = {0};
    plot_label(&label, canvas->units, &canvas->picture->table->columns[0]);
    double width = fmin(width_of(text_string(&label)), WIDTH - 4);
    double start = (canvas->left + canvas->right - width) / 2;
    add_clipped(canvas->out, fmax(2, start), canvas->bottom + 21 + LINE, WIDTH - 4, text_string(&label));
    text_free(&label);
}

/* ---- curves ---- */

static bool point_at(const Canvas *canvas, int column, int row, double *x, double *y) {
    if (row < 0 || row >= canvas->picture->table->row_count ||
        !plot_point(canvas->picture->table, column, row, x, y))
        return false;
    *x = x_of(canvas, *x);
    *y = y_of(canvas, *y);
    return true;
}

/* A point that is drawn, and whether a line leads to it from the one before. */
typedef struct DrawnPoint {
    int row;
    double x, y;
    bool joined;
} DrawnPoint;

/* Neighbours within one unit of width: all of them look like the first, the last, the highest and the lowest.
 */
typedef struct Strand {
    double unit;
    DrawnPoint first, last, highest, lowest;
    int count;
} Strand;

static int end_strand(DrawnPoint *drawn, int count, const Strand *strand) {
    const DrawnPoint *early = &strand->highest, *late = &strand->lowest;
    if (strand->count == 0)
        return count;
    if (early->row > late->row) {
        early = &strand->lowest;
        late = &strand->highest;
    }
    const DrawnPoint *const parts[] = {&strand->first, early, late, &strand->last};
    for (int i = 0; i < 4; i++) {
        if (i > 0 && parts[i]->row == drawn[count - 1].row)
            continue;
        drawn[count] = *parts[i];
        drawn[count++].joined = i > 0 || strand->first.joined;
    }
    return count;
}

/* The points of a curve, of which a log of a hundred thousand needs some two thousand; mem_free frees them.
 */
static DrawnPoint *choose_points(const Canvas *canvas, int column, int *count) {
    int rows = canvas->picture->table->row_count;
    DrawnPoint *drawn = mem_array((size_t)rows + 4, sizeof *drawn);
    Strand strand = {.count = 0};
    bool before = false;
    *count = 0;
    for (int row = 0; row <= rows; row++) {
        DrawnPoint point = {.row = row, .joined = before};
        bool there = point_at(canvas, column, row, &point.x, &point.y);
        if (!there || !before || floor(point.x) != strand.unit) {
            *count = end_strand(drawn, *count, &strand);
            strand = (Strand){floor(point.x), point, point, point, point, 0};
        }
        before = there;
        if (!there)
            continue;
        strand.last = point;
        strand.highest = point.y < strand.highest.y ? point : strand.highest;
        strand.lowest = point.y > strand.lowest.y ? point : strand.lowest;
        strand.count++;
    }
    return drawn;
}

/* The band of ± around a curve: along its upper edge and back along the lower one; gaps part it. */
static void add_band(const Canvas *canvas, int column, const DrawnPoint *drawn, int count) {
    const TableResult *table = canvas->picture->table;
    const TableCell *cells = table->columns[column].cells;
    for (int start = 0; start < count;) {
        int end = start;
        while (end < count && cells[drawn[end].row].spread > 0 && (end == start || drawn[end].joined))
            end++;
        if (end > start) {
            text_add_string(canvas->out, "<path fill=\"currentColor\" fill-opacity=\"0.15\" d=\"");
            for (int step = 0; step < 2 * (end - start); step++) {
                bool upper = step < end - start;
                int row = drawn[upper ? start + step : 2 * end - start - step - 1].row;
                double x, y;
                plot_point(table, column, row, &x, &y);
                add_point(canvas->out, step ? 'L' : 'M', x_of(canvas, x),
                          y_of(canvas, upper ? y + cells[row].spread : y - cells[row].spread));
            }
            text_add_string(canvas->out, "Z\"/>\n");
        }
        start = end > start ? end : start + 1;
    }
}

static void add_dashed(Text *out, int style, const char *path) {
    text_add_string(out, "<path fill=\"none\" stroke=\"currentColor\" stroke-width=\"2\" "
                         "stroke-linejoin=\"round\"");
    if (*dashes[style % DASHES]) {
        text_add_string(out, " stroke-dasharray=\"");
        text_add_string(out, dashes[style % DASHES]);
        text_add_char(out, '"');
    }
    text_add_string(out, " d=\"");
    text_add_string(out, path);
    text_add_string(out, "\"/>\n");
}

static const char *mark_of(int style) {
    return marks[(style + style / DASHES) % MARKS];
}

static void add_marks(Text *out, const char *path) {
    text_add_string(out, "<path fill=\"currentColor\" stroke=\"currentColor\" stroke-width=\"1.6\" d=\"");
    text_add_string(out, path);
    text_add_string(out, "\"/>\n");
}

/* Lines between neighbours; marks at each point, or where a point has no neighbour to be joined to. */
static void add_curve(const Canvas *canvas, const Curve *curve, const DrawnPoint *drawn, int count) {
    Text line = {0}, points = {0};
    for (int i = 0; i < count; i++) {
        const DrawnPoint *point = &drawn[i];
        bool alone = !point->joined && (i + 1 == count || !drawn[i + 1].joined);
        if (!alone)
            add_point(&line, point->joined ? 'L' : 'M', point->x, point->y);
        if (alone || curve->marked) {
            add_point(&points, 'M', point->x, point->y);
            text_add_string(&points, mark_of(curve->style));
        }
    }
    if (line.length)
        add_dashed(canvas->out, curve->style, text_string(&line));
    if (points.length)
        add_marks(canvas->out, text_string(&points));
    text_free(&line);
    text_free(&points);
}

static Curve make_curve(const Canvas *canvas, int style) {
    Curve curve = {.column = canvas->picture->curves[style], .style = style};
    int points = 0;
    bool before = false;
    for (int row = 0; row < canvas->picture->table->row_count; row++) {
        bool there = point_at(canvas, curve.column, row, &curve.x_end, &curve.y_end);
        points += there;
        curve.joined = curve.joined || (there && before);
        before = there;
    }
    curve.marked = points <= FEW_POINTS;
    return curve;
}

/* By their ends from the top; those that end together as the script has them. */
static void sort_curves(Canvas *canvas) {
    for (int i = 0; i < canvas->picture->curve_count; i++) {
        Curve curve = make_curve(canvas, i);
        int at = canvas->count++;
        for (; at > 0 && canvas->curves[at - 1].y_end > curve.y_end; at--)
            canvas->curves[at] = canvas->curves[at - 1];
        canvas->curves[at] = curve;
    }
}

static void move_down(Canvas *canvas, double by) {
    canvas->top += by;
    canvas->bottom += by;
    for (int i = 0; i < canvas->count; i++)
        canvas->curves[i].y_end += by;
}

/* Letters that would lie on one another are moved apart: down, and up again from the foot. */
static void spread_keys(Canvas *canvas) {
    Curve *curves = canvas->curves;
    for (int i = 0; i < canvas->count; i++) {
        curves[i].y_key = curves[i].y_end + 5;
        for (int j = 0; j < i; j++)
            if (fabs(curves[i].x_end - curves[j].x_end) < KEY)
                curves[i].y_key = fmax(curves[i].y_key, curves[j].y_key + KEY + 1);
    }
    for (int i = canvas->count - 1; i >= 0; i--) {
        curves[i].y_key = fmin(curves[i].y_key, canvas->bottom + 2);
        for (int j = i + 1; j < canvas->count; j++)
            if (fabs(curves[i].x_end - curves[j].x_end) < KEY)
                curves[i].y_key = fmin(curves[i].y_key, curves[j].y_key - KEY - 1);
    }
}

static void add_curves(Canvas *canvas) {
    const TableColumn *columns = canvas->picture->table->columns;
    if (canvas->count > 1)
        spread_keys(canvas);
    for (int i = 0; i < canvas->count; i++) {
        const Curve *curve = &canvas->curves[i];
        Text label = {0};
        plot_label(&label, canvas->units, &columns[curve->column]);
        text_add_string(canvas->out, "<g><title>");
        markup_add(canvas->out, text_string(&label));
        text_add_string(canvas->out, "</title>\n");
        int count;
        DrawnPoint *drawn = choose_points(canvas, curve->column, &count);
        add_band(canvas, curve->column, drawn, count);
        add_curve(canvas, curve, drawn, count);
        mem_free(drawn);
        if (canvas->count > 1)
            add_words(canvas->out, curve->x_end + 8, curve->y_key, " font-weight=\"bold\"",
                      (char[]){(char)('a' + i), '\0'});
        text_add_string(canvas->out, "</g>\n");
        text_free(&label);
    }
}

/* ---- what is above ---- */

/* What goes up: the caption of a plot of two inputs, with the name of the only curve, that name alone, or the
 * unit of several. */
static void make_heading(Text *out, const Canvas *canvas) {
    const TableResult *table = canvas->picture->table;
    const Unit *unit = unit_get(canvas->units, canvas->picture->unit);
    if (table->caption) {
        render_one_line(out, table->caption);
        if (canvas->count == 1) {
            text_add_string(out, ": ");
            render_one_line(out, table->columns[canvas->curves[0].column].label);
        }
    } else if (canvas->count == 1) {
        plot_label(out, canvas->units, &table->columns[canvas->curves[0].column]);
    } else if (*unit->name && canvas->picture->unit != UNIT_DATE) {
        text_add_string(out, "in ");
        text_add_string(out, unit->name);
    }
}

/* Letter, dashes and name of each curve, in one column to three, row by row. Returns where they end. */
static double add_names(const Canvas *canvas, double y) {
    const TableColumn *columns = canvas->picture->table->columns;
    double beside = KEY + SAMPLE + 8, widest = 0;
    for (int i = 0; i < canvas->count; i++)
        widest = fmax(widest, width_of(columns[canvas->curves[i].column].label));
    int across = (int)fmax(1, fmin(3, floor((WIDTH + 10) / (beside + widest + 10))));
    double cell = (double)WIDTH / across;
    for (int i = 0; i < canvas->count; i++) {
        const Curve *curve = &canvas->curves[i];
        double x = 2 + i % across * cell, line = y + i / across * LINE;
        Text sample = {0}, label = {0};
        add_words(canvas->out, x, line, " font-weight=\"bold\"", (char[]){(char)('a' + i), '\0'});
        add_point(&sample, 'M', x + KEY, line - 5);
        add_point(&sample, 'L', x + KEY + SAMPLE, line - 5);
        if (curve->joined)
            add_dashed(canvas->out, curve->style, text_string(&sample));
        if (curve->marked || !curve->joined) {
            text_clear(&sample);
            add_point(&sample, 'M', x + KEY + SAMPLE / 2, line - 5);
            text_add_string(&sample, mark_of(curve->style));
            add_marks(canvas->out, text_string(&sample));
        }
        render_one_line(&label, columns[curve->column].label);
        add_clipped(canvas->out, x + beside, line, cell - beside - 6, text_string(&label));
        text_free(&sample);
        text_free(&label);
    }
    return y + (canvas->count + across - 1) / across * LINE;
}

/* Returns where it ends. */
static double draw_above(const Canvas *canvas) {
    Text heading = {0};
    double y = FONT_SIZE + 1;
    make_heading(&heading, canvas);
    if (heading.length) {
        add_clipped(canvas->out, 2, y, WIDTH - 4, text_string(&heading));
        y += LINE;
    }
    text_free(&heading);
    return canvas->count > 1 ? add_names(canvas, y) : y;
}

static void add_picture(Text *out, const UnitTable *units, const PlotPicture *picture) {
    Text body = {0}, label = {0};
    Canvas canvas = {.out = &body, .units = units, .picture = picture};
    canvas.left = fmax(30, widest_tick(&picture->up) + 12);
    canvas.right = WIDTH - (picture->curve_count > 1 ? 10 + KEY : 12);
    canvas.bottom = PLOT_HEIGHT;
    sort_curves(&canvas);
    move_down(&canvas, draw_above(&canvas) - 4);
    add_axis_up(&canvas);
    add_axis_along(&canvas);
    add_curves(&canvas);
    text_add_string(&label, "curves over ");
    plot_label(&label, units, &picture->table->columns[0]);
    text_add_string(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" viewBox=\"0 0 480 ");
    add_number(out, canvas.bottom + 28 + LINE);
    text_add_string(out, "\" width=\"480\" preserveAspectRatio=\"xMinYMin\" font-family=\"sans-serif\" "
                         "font-size=\"15\" fill=\"currentColor\" "
                         "aria-label=\"");
    markup_add(out, text_string(&label));
    text_add_string(out, "\">\n");
    text_add(out, text_string(&body), body.length);
    text_add_string(out, "</svg>\n");
    text_free(&label);
    text_free(&body);
}

void plot_svg(Text *out, const UnitTable *units, const TableResult *table) {
    PlotPicture picture;
    int from = 1;
    while (plot_next(&picture, units, table, &from))
        add_picture(out, units, &picture);
}
