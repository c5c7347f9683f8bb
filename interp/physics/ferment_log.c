/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trends, curves and forecasts of a fermentation log.
 *
 * A curve has four parameters: start, final, the logarithm of its rate, and its middle. A coarse grid over
 * the last two (the first two are then linear) finds where to start, Levenberg and Marquardt's method does
 * the rest. For the forecast the middle is replaced by the day of the end, which is then held at one day
 * after the other while the three others are fitted again. The start of the curve carries a weak prior of its
 * own: a log that begins late says nothing of it. */
#include "physics/ferment_log.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/least_squares.h"
#include "numbers/numeric.h"

enum { START, FINAL, LOG_RATE, MIDDLE, PARAMETERS };
enum { SHAPES = 2, ROUNDS = 4, GRID_RATES = 13, GRID_MIDDLES = 16 };

static const double start_spread_pts = 20, least_drop_pts = 1.05; /* of a curve: more than the end's 1 */
static const double largest_scatter = 1.0 / 6; /* of the drop: through more, some curve runs always */
/* Bounds of the rate: a bend this slow is a straight line over the log, one this fast a step between two
 * readings. */
static const double slowest_over_log = 0.1, fastest_over_gap = 100;

/* ---- the spread of readings ---- */

/* How much errors resemble their neighbour, from residuals of a fit, which bends after them: an estimate from
 * n of them about p smooth terms comes out too low by about (p + (p + 2) r)/n. */
static double likeness(double squares, double neighbours, int count, int fitted) {
    if (count < FERMENT_CORRELATED || !(squares > 0))
        return 0;
    double low = (double)fitted / count, shrink = 1 - (fitted + 2.0) / count;
    return numeric_clamp((neighbours / squares + low) / shrink, 0, 0.95);
}

typedef struct Spread {
    double scatter; /* standard deviation of a reading about the fit */
    double sigma;   /* the same for weighing readings as if all told something of their own */
    double freedom; /* degrees of freedom of the noise */
} Spread;

/* About a fit with `fitted` parameters, from residuals weighted to be alike. Errors that come in runs count
 * as fewer readings. */
static Spread spread_of(const double *residuals, int count, int fitted, double reading_pts) {
    double squares = 0, neighbours = 0;
    for (int i = 0; i < count; i++) {
        squares += residuals[i] * residuals[i];
        neighbours += i > 0 ? residuals[i] * residuals[i - 1] : 0;
    }
    double alike = likeness(squares, neighbours, count, fitted), run = (1 + alike) / (1 - alike);
    double all = squares + FERMENT_BELIEF * reading_pts * reading_pts;
    double freedom = fmax(count / run - fitted, 0) + FERMENT_BELIEF;
    return (Spread){sqrt(all / (fmax(count - fitted, 0) + FERMENT_BELIEF)), sqrt(all / freedom), freedom};
}

static int different_times(const FermentReading *readings, int count) {
    int different = count > 0;
    for (int i = 1; i < count; i++)
        different += readings[i].day > readings[i - 1].day;
    return different;
}

/* ---- trend ---- */

static int window_start(const FermentReading *readings, int count, double over_day) {
    int start = count - 1;
    double oldest = readings[count - 1].day - over_day;
    while (start > 0 && readings[start].day > oldest + 1e-9)
        start--;
    while (start > 0 && different_times(readings + start, count - start) < FERMENT_TREND_LEAST)
        start--;
    return start;
}

static double recent_level(const FermentReading *used, int rows, double over_day) {
    int first = rows - 1;
    while (first > rows - 3 && used[rows - 1].day - used[first - 1].day <= over_day)
        first--;
    double sum = 0;
    for (int i = first; i < rows; i++)
        sum += used[i].pts;
    return sum / (rows - first);
}

/* A straight line hardly feels a fall at its very end. */
static double sag_of(const FermentReading *used, int rows) {
    double before = 0, after = 0, most = 0;
    for (int i = 0; i < rows; i++)
        before += used[i].pts;
    for (int last = 1; last <= 3 && last < rows; last++) {
        before -= used[rows - last].pts;
        after += used[rows - last].pts;
        most = fmax(most, before / (rows - last) - after / last);
    }
    return most;
}

static int alike_of(const FermentReading *used, int rows, double reading_pts) {
    double low = used[rows - 1].pts, high = low;
    int alike = 0;
    while (alike < rows) {
        double pts = used[rows - 1 - alike].pts;
        low = fmin(low, pts);
        high = fmax(high, pts);
        if (high - low > 2 * reading_pts + 1e-9)
            break;
        alike++;
    }
    return alike;
}

bool ferment_trend(const FermentReading *readings, int count, double over_day, double reading_pts,
                   FermentTrend *trend) {
    if (different_times(readings, count) < FERMENT_TREND_LEAST)
        return false;
    const FermentReading *used = readings + window_start(readings, count, over_day);
    int rows = (int)(readings + count - used);
    double *design = mem_array(4 * (size_t)rows, sizeof *design);
    double *values = design + 2 * rows, *residuals = values + rows;
    double line[2] = {0}, sum = 0, middle = 0, squares = 0;
    for (int i = 0; i < rows; i++)
        middle += used[i].day / rows;
    for (int i = 0; i < rows; i++) {
        design[2 * i] = 1;
        design[2 * i + 1] = used[i].day - middle;
        values[i] = used[i].pts;
        squares += (used[i].day - middle) * (used[i].day - middle);
    }
    bool done = least_squares_linear(rows, 2, design, values, line, NULL, &sum);
    for (int i = 0; i < rows; i++)
        residuals[i] = values[i] - line[0] - line[1] * design[2 * i + 1];
    Spread spread = spread_of(residuals, rows, 2, reading_pts);
    trend->rate_pts_day = line[1];
    trend->error_pts_day = spread.sigma / sqrt(squares);
    trend->freedom = spread.freedom;
    trend->span_day = used[rows - 1].day - used[0].day;
    trend->level_pts = recent_level(used, rows, over_day);
    trend->sag_pts = sag_of(used, rows);
    trend->count = rows;
    trend->alike = alike_of(used, rows, reading_pts);
    const FermentReading *first_alike = used + rows - trend->alike;
    trend->stood_day = used[rows - 1].day - first_alike->day;
    trend->sank_pts = first_alike->pts - used[rows - 1].pts;
    mem_free(design);
    return done;
}

double ferment_rise(const FermentReading *readings, int count, int *at) {
    double lowest = NUMERIC_ENDLESS, most = 0;
    *at = 0;
    for (int i = 0; i + 1 < count; i++) {
        double rise = fmin(readings[i].pts, readings[i + 1].pts) - lowest;
        if (rise > most) {
            most = rise;
            *at = i;
        }
        lowest = fmin(lowest, readings[i].pts);
    }
    return most;
}

/* ---- curves ---- */

static double share_left(FermentShape shape, double u) {
    return shape == FERMENT_LOGISTIC ? 1 / (1 + exp(u)) : -expm1(-exp(-u));
}

/* Where on the curve's own scale a drop has come within the end. */
static double end_place(FermentShape shape, double drop_pts) {
    double left = FERMENT_END_PTS / drop_pts;
    return shape == FERMENT_LOGISTIC ? log(1 / left - 1) : -log(-log1p(-left));
}

double ferment_curve_pts(const FermentCurve *curve, double day) {
    double share = share_left(curve->shape, curve->rate_per_day * (day - curve->middle_day));
    return curve->final_pts + (curve->start_pts - curve->final_pts) * share;
}

static double steepness(FermentShape shape) {
    return shape == FERMENT_LOGISTIC ? 0.25 : exp(-1);
}

double ferment_curve_steepest(const FermentCurve *curve) {
    return steepness(curve->shape) * curve->rate_per_day * (curve->start_pts - curve->final_pts);
}

double ferment_curve_rate(FermentShape shape, double drop_pts, double steepest) {
    return steepest / (steepness(shape) * drop_pts);
}

/* ---- one fit ---- */

/* The readings, or their means over even parts of the time, with the prior. Days count from the first
 * reading. */
typedef struct Study {
    FermentReading *readings;
    double origin_day, span_day, gap_day; /* first reading; to the last; between two, at the least */
    double *roots;                        /* square roots of how many readings each stands for */
    int count;
    double final_pts, final_spread, start_pts; /* prior */
    double reading_pts;
    Spread spread;
} Study;

typedef struct Fitting {
    const Study *study;
    FermentShape shape;
    bool held; /* the end lies at end_day, and gives the middle */
    double end_day;
} Fitting;

static bool curve_of(const Fitting *fitting, const double *p, FermentCurve *curve) {
    double drop = p[START] - p[FINAL];
    if (!(drop >= least_drop_pts))
        return false;
    curve->shape = fitting->shape;
    curve->start_pts = p[START];
    curve->final_pts = p[FINAL];
    curve->rate_per_day = exp(p[LOG_RATE]);
    curve->middle_day =
        fitting->held ? fitting->end_day - end_place(fitting->shape, drop) / curve->rate_per_day : p[MIDDLE];
    return true;
}

static bool misses(const double *p, double *residuals, double *jacobian, void *context) {
    const Fitting *fitting = context;
    const Study *study = fitting->study;
    FermentCurve curve;
    (void)jacobian;
    if (!curve_of(fitting, p, &curve))
        return false;
    for (int i = 0; i < study->count; i++) {
        double gap = study->readings[i].pts - ferment_curve_pts(&curve, study->readings[i].day);
        residuals[i] = study->roots[i] * gap / study->spread.sigma;
    }
    residuals[study->count] = (p[FINAL] - study->final_pts) / study->final_spread;
    residuals[study->count + 1] = (p[START] - study->start_pts) / start_spread_pts;
    return true;
}

static double slowest_log_rate(const Study *study) {
    return log(slowest_over_log / study->span_day);
}

/* Nothing is said about later days. */
static double horizon(const Study *study) {
    return study->span_day + 3 * fmax(study->span_day, 1) + 30;
}

/* Chi-square of the fit from a start; what is held or not, `p` has PARAMETERS numbers. Infinite if none. */
static double fit_from(const Fitting *fitting, double *p, double *covariance) {
    const Study *study = fitting->study;
    double span = study->span_day, sum = 0;
    const double low[] = {-10, -30, slowest_log_rate(study), -10 * span - 30};
    const double high[] = {250, 200, log(fastest_over_gap / study->gap_day), horizon(study)};
    const double typical[] = {10, 10, 1, span};
    Fitting held = *fitting;
    LeastSquaresProblem problem = {.rows = study->count + 2,
                                   .parameters = fitting->held ? PARAMETERS - 1 : PARAMETERS,
                                   .low = low,
                                   .high = high,
                                   .typical = typical,
                                   .is_standardised = true,
                                   .function = misses,
                                   .context = &held};
    LeastSquaresOutcome outcome = least_squares_fit(&problem, p, covariance, &sum);
    return outcome == LEAST_SQUARES_NO_VALUE ? NUMERIC_ENDLESS : sum;
}

/* Start and final for a rate and a middle, and the variance of the final: two unknowns, linear, with the
 * prior. False when it does not fall. */
static bool level_out(const Fitting *fitting, double *p, double *variance) {
    const Study *study = fitting->study;
    double weight_start = 1 / (start_spread_pts * start_spread_pts);
    double weight_final = 1 / (study->final_spread * study->final_spread);
    double ss = weight_start, sf = 0, ff = weight_final;
    double s = weight_start * study->start_pts, f = weight_final * study->final_pts;
    for (int i = 0; i < study->count; i++) {
        double share = share_left(fitting->shape, exp(p[LOG_RATE]) * (study->readings[i].day - p[MIDDLE]));
        double weight = study->roots[i] * study->roots[i] / (study->spread.sigma * study->spread.sigma);
        ss += weight * share * share;
        sf += weight * share * (1 - share);
        ff += weight * (1 - share) * (1 - share);
        s += weight * share * study->readings[i].pts;
        f += weight * (1 - share) * study->readings[i].pts;
    }
    double determinant = ss * ff - sf * sf;
    p[START] = (s * ff - f * sf) / determinant;
    p[FINAL] = (ss * f - sf * s) / determinant;
    *variance = ss / determinant;
    return p[START] - p[FINAL] >= least_drop_pts;
}

static double chi_square(const Fitting *fitting, const double *p, double *residuals) {
    double sum = 0;
    if (!misses(p, residuals, NULL, &(Fitting){fitting->study, fitting->shape, false, 0}))
        return NUMERIC_ENDLESS;
    for (int i = 0; i < fitting->study->count + 2; i++)
        sum += residuals[i] * residuals[i];
    return sum;
}

/* The best of an even grid; infinite if nothing on it falls. */
static double search(const Fitting *fitting, double *best, double *residuals) {
    double span = fitting->study->span_day, slowest = slowest_log_rate(fitting->study);
    double fastest = log(fastest_over_gap / fitting->study->gap_day);
    double least = NUMERIC_ENDLESS, p[PARAMETERS], variance;
    for (int i = 0; i < GRID_RATES; i++) {
        p[LOG_RATE] = log(1 / span) + i * log(120.0) / (GRID_RATES - 1); /* from a slow bend to a step */
        p[LOG_RATE] = numeric_clamp(p[LOG_RATE], slowest, fastest);
        for (int j = 0; j < GRID_MIDDLES; j++) {
            p[MIDDLE] = span * (-0.3 + 1.8 * j / (GRID_MIDDLES - 1));
            if (!level_out(fitting, p, &variance))
                continue;
            double sum = chi_square(fitting, p, residuals);
            if (sum < least) {
                least = sum;
                memcpy(best, p, sizeof p);
            }
        }
    }
    return least;
}

/* ---- a study of both shapes ---- */

typedef struct Shapes {
    double p[SHAPES][PARAMETERS];
    double sum[SHAPES]; /* chi-square, infinite where there is no fit */
    double covariance[SHAPES][PARAMETERS * PARAMETERS];
    FermentShape best;
} Shapes;

/* Even parts of the time, each with the mean of its readings; the readings themselves if few. */
static void study_open(Study *study, const FermentReading *readings, int count,
                       const FermentExpectation *expectation) {
    bool binned = count > FERMENT_BINS;
    int capacity = binned ? FERMENT_BINS : count, at = 0;
    double first = readings[0].day, span = readings[count - 1].day - first;
    *study = (Study){.origin_day = first,
                     .span_day = span,
                     .gap_day = span,
                     .final_pts = expectation->final_pts,
                     .final_spread = expectation->spread_pts,
                     .reading_pts = expectation->reading_pts,
                     .spread = {expectation->reading_pts, expectation->reading_pts, FERMENT_BELIEF}};
    study->readings = mem_array((size_t)capacity, sizeof *study->readings);
    study->roots = mem_array((size_t)capacity, sizeof *study->roots);
    for (int bin = 0; bin < capacity; bin++) {
        double end = first + span * (bin + 1) / capacity, days = 0, pts = 0;
        int held = 0;
        while (at < count && (binned ? readings[at].day <= end || bin == capacity - 1 : held == 0)) {
            days += readings[at].day - first;
            pts += readings[at++].pts;
            held++;
        }
        if (held == 0)
            continue; /* a gap in the log */
        study->readings[study->count] = (FermentReading){days / held, pts / held};
        study->roots[study->count++] = sqrt(held);
    }
    study->start_pts = study->readings[0].pts;
    for (int i = 1; i < study->count; i++) {
        double gap = study->readings[i].day - study->readings[i - 1].day;
        study->start_pts = fmax(study->start_pts, study->readings[i].pts);
        study->gap_day = gap > 0 ? fmin(study->gap_day, gap) : study->gap_day;
    }
    study->gap_day = fmax(study->gap_day, 1e-6 * span);
}

static void study_close(Study *study) {
    mem_free(study->readings);
    mem_free(study->roots);
}

/* The spread of the readings weighs the prior, and comes out of the fit: a few rounds settle both. */
static bool study_fit(Study *study, Shapes *shapes) {
    double *residuals = mem_array((size_t)study->count + 2, sizeof *residuals);
    for (int round = 0; round < ROUNDS; round++) {
        for (int i = 0; i < SHAPES; i++) {
            Fitting fitting = {study, (FermentShape)i, false, 0};
            bool begun = round > 0 || search(&fitting, shapes->p[i], residuals) < NUMERIC_ENDLESS;
            bool fits = begun && (round == 0 || shapes->sum[i] < NUMERIC_ENDLESS);
            shapes->sum[i] = fits ? fit_from(&fitting, shapes->p[i], shapes->covariance[i]) : NUMERIC_ENDLESS;
        }
        shapes->best = shapes->sum[FERMENT_GOMPERTZ] < shapes->sum[FERMENT_LOGISTIC] ? FERMENT_GOMPERTZ
                                                                                     : FERMENT_LOGISTIC;
        if (shapes->sum[shapes->best] == NUMERIC_ENDLESS)
            break;
        Fitting fitting = {study, shapes->best, false, 0};
        misses(shapes->p[shapes->best], residuals, NULL, &fitting);
        for (int i = 0; i < study->count; i++)
            residuals[i] *= study->spread.sigma;
        if (round < ROUNDS - 1)
            study->spread = spread_of(residuals, study->count, PARAMETERS, study->reading_pts);
    }
    mem_free(residuals);
    const double *p = shapes->p[shapes->best];
    return shapes->sum[shapes->best] < NUMERIC_ENDLESS &&
           study->spread.sigma <= largest_scatter * (p[START] - p[FINAL]);
}

/* How much a shape weighs beside the best (H. Akaike's weight). */
static double weight_of(const Shapes *shapes, int shape) {
    return exp((shapes->sum[shapes->best] - shapes->sum[shape]) / 2);
}

/* Of a step between two readings, whose rate is anything, the ends alone are known. */
static double final_variance(const Study *study, const Shapes *shapes, int shape) {
    double variance = shapes->covariance[shape][FINAL * PARAMETERS + FINAL], p[PARAMETERS];
    Fitting fitting = {study, (FermentShape)shape, false, 0};
    memcpy(p, shapes->p[shape], sizeof p);
    if (!isfinite(variance))
        level_out(&fitting, p, &variance);
    return variance;
}

/* The final gravity is uncertain within either shape, and between the two. */
static double final_error(const Study *study, const Shapes *shapes) {
    double squares = 0, weights = 0;
    for (int i = 0; i < SHAPES; i++) {
        double weight = weight_of(shapes, i), apart = shapes->p[i][FINAL] - shapes->p[shapes->best][FINAL];
        if (weight > 0)
            squares += weight * (final_variance(study, shapes, i) + apart * apart);
        weights += weight;
    }
    return sqrt(squares / weights);
}

static void give_curve(const Study *study, const Shapes *shapes, FermentCurve *curve) {
    Fitting fitting = {study, shapes->best, false, 0};
    curve_of(&fitting, shapes->p[shapes->best], curve);
    curve->middle_day += study->origin_day;
    curve->scatter_pts = study->spread.scatter;
    curve->final_error_pts = final_error(study, shapes);
    /* Both have four parameters and the same spread of readings: all else in AIC cancels. */
    double best = shapes->sum[shapes->best], other = shapes->sum[1 - (int)shapes->best];
    curve->lead = other < NUMERIC_ENDLESS ? other - best : 0;
}

/* ---- forecast ---- */

typedef struct Walk {
    const Study *study;
    FermentShape shape;
    double limit;             /* chi-square up to which a day is possible */
    double start[PARAMETERS]; /* a fit nearby */
} Walk;

/* By how much chi-square is above the limit when the end lies on that day, from the start `p` on. */
static double excess_from(const Walk *walk, double day, double *p) {
    Fitting fitting = {walk->study, walk->shape, true, day};
    return fmin(fit_from(&fitting, p, NULL) - walk->limit, 1e9);
}

static double excess(double day, void *context) {
    const Walk *walk = context;
    double p[PARAMETERS];
    memcpy(p, walk->start, sizeof p);
    return excess_from(walk, day, p);
}

/* How far from a possible day the possible ones reach, in one direction (1 or -1), up to `furthest`. */
static double reach(Walk *walk, double day, const double *start, double direction, double furthest) {
    double inside = day, outside = day, edge, p[PARAMETERS];
    memcpy(walk->start, start, sizeof walk->start);
    for (double step = 0.1;; step *= 1.5) {
        bool is_last = direction * (inside + direction * step - furthest) >= 0;
        outside = is_last ? furthest : inside + direction * step;
        memcpy(p, walk->start, sizeof p);
        if (excess_from(walk, outside, p) > 0)
            break;
        inside = outside;
        memcpy(walk->start, p, sizeof p);
        if (is_last)
            return furthest;
    }
    bool found = numeric_find_root(excess, walk, fmin(inside, outside), fmax(inside, outside), 1e-7, &edge);
    return found ? edge : outside;
}

static double end_day(FermentShape shape, const double *p) {
    return p[MIDDLE] + end_place(shape, p[START] - p[FINAL]) / exp(p[LOG_RATE]);
}

/* A shape that bends no more than a straight line does not tell where it ends. */
static bool is_straight(const Study *study, const double *p) {
    return p[LOG_RATE] <= slowest_log_rate(study);
}

static FermentOutcome give_range(const Study *study, const Shapes *shapes, FermentForecast *forecast) {
    double t = least_squares_student_quantile(0.975, study->spread.freedom), furthest = horizon(study);
    double likely = end_day(shapes->best, shapes->p[shapes->best]), from = likely, to = likely;
    bool is_open = false;
    for (int i = 0; i < SHAPES; i++) {
        Walk walk = {study, (FermentShape)i, shapes->sum[shapes->best] + t * t, {0}};
        if (!(shapes->sum[i] <= walk.limit))
            continue;
        double day = end_day(walk.shape, shapes->p[i]);
        from = fmin(from, reach(&walk, day, shapes->p[i], -1, fmin(0, day - 1)));
        to = fmax(to, reach(&walk, day, shapes->p[i], 1, fmax(furthest, day)));
        is_open = is_open || is_straight(study, shapes->p[i]);
    }
    forecast->likely_day = study->origin_day + likely;
    forecast->from_day = study->origin_day + from;
    forecast->to_day = study->origin_day + to;
    return is_open || to >= furthest ? FERMENT_OPEN : FERMENT_DONE;
}

/* ---- both ---- */

/* The curve, and unless `forecast` is NULL the range. */
static FermentOutcome work_out(const FermentReading *readings, int count,
                               const FermentExpectation *expectation, FermentCurve *curve,
                               FermentForecast *forecast) {
    FermentOutcome outcome = FERMENT_NO_CURVE;
    Study study;
    Shapes shapes = {0};
    if (different_times(readings, count) < FERMENT_CURVE_LEAST)
        return FERMENT_FEW;
    study_open(&study, readings, count, expectation);
    if (study_fit(&study, &shapes)) {
        give_curve(&study, &shapes, curve);
        outcome = forecast ? give_range(&study, &shapes, forecast) : FERMENT_DONE;
    }
    study_close(&study);
    return outcome;
}

FermentOutcome ferment_fit(const FermentReading *readings, int count, const FermentExpectation *expectation,
                           FermentCurve *curve) {
    return work_out(readings, count, expectation, curve, NULL);
}

FermentOutcome ferment_forecast(const FermentReading *readings, int count,
                                const FermentExpectation *expectation, FermentForecast *forecast) {
    return work_out(readings, count, expectation, &forecast->curve, forecast);
}
