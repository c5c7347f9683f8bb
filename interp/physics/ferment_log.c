/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trends, curves and forecasts of a fermentation log.
 *
 * A curve has four parameters: start, final, the logarithm of its rate, and its middle. A coarse grid over
 * the last two (the first two are then linear) finds where to start, Levenberg and Marquardt's method does
 * the rest. For the forecast the middle is replaced by the day of the end, which is then held at one day
 * after the other while the three others are fitted anew. The start of the curve carries a weak prior of its
 * own: a log that begins late says nothing of it. */
#include "physics/ferment_log.h"

#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/least_squares.h"
#include "numbers/numeric.h"

enum { START, FINAL, LOG_RATE, MIDDLE, PARAMETERS };
enum { ROUNDS = 4, GRID_RATES = 12, GRID_MIDDLES = 16, BISECTIONS = 20 };

static const double start_spread_pts = 20, least_drop_pts = 1.05; /* of a curve: more than the end's 1 */
static const double largest_scatter = 1.0 / 6; /* of the drop: through more, some curve runs always */
static const double slowest_per_day = 0.05, fastest_per_day = 20;

/* ---- the spread of readings ---- */

/* Variance of one reading about a fit with `fitted` parameters, from residuals weighted to be alike. */
static double spread_of(const double *residuals, int count, int fitted, double reading_pts, double *freedom) {
    double squares = 0, neighbours = 0;
    for (int i = 0; i < count; i++) {
        squares += residuals[i] * residuals[i];
        neighbours += i > 0 ? residuals[i] * residuals[i - 1] : 0;
    }
    *freedom = fmax(count - fitted, 0) + FERMENT_BELIEF;
    double variance = (squares + FERMENT_BELIEF * reading_pts * reading_pts) / *freedom;
    double alike = squares > 0 ? numeric_clamp(neighbours / squares, 0, 0.95) : 0;
    return count < FERMENT_CORRELATED ? variance : variance * (1 + alike) / (1 - alike);
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

bool ferment_trend(const FermentReading *readings, int count, double over_day, double reading_pts,
                   FermentTrend *trend) {
    if (different_times(readings, count) < FERMENT_TREND_LEAST)
        return false;
    const FermentReading *used = readings + window_start(readings, count, over_day);
    int rows = (int)(readings + count - used);
    double *design = mem_array(4 * (size_t)rows, sizeof *design);
    double *values = design + 2 * rows, *residuals = values + rows;
    double line[2] = {0}, sum = 0, middle = 0, spread = 0;
    for (int i = 0; i < rows; i++)
        middle += used[i].day / rows;
    for (int i = 0; i < rows; i++) {
        design[2 * i] = 1;
        design[2 * i + 1] = used[i].day - middle;
        values[i] = used[i].pts;
        spread += (used[i].day - middle) * (used[i].day - middle);
    }
    bool done = least_squares_linear(rows, 2, design, values, line, NULL, &sum);
    for (int i = 0; i < rows; i++)
        residuals[i] = values[i] - line[0] - line[1] * design[2 * i + 1];
    double variance = spread_of(residuals, rows, 2, reading_pts, &trend->freedom);
    trend->rate_pts_day = line[1];
    trend->error_pts_day = sqrt(variance / spread);
    trend->span_day = used[rows - 1].day - used[0].day;
    trend->level_pts = recent_level(used, rows, over_day);
    trend->count = rows;
    mem_free(design);
    return done;
}

double ferment_rise(const FermentReading *readings, int count, int *at) {
    double lowest = INFINITY, most = 0;
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

/* The readings, or their means over even parts of the time, with the prior. */
typedef struct Study {
    FermentReading *readings;
    double *roots; /* square roots of how many readings each stands for */
    int count;
    double final_pts, final_spread, start_pts; /* prior */
    double reading_pts, sigma, freedom;
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
        residuals[i] = study->roots[i] * gap / study->sigma;
    }
    residuals[study->count] = (p[FINAL] - study->final_pts) / study->final_spread;
    residuals[study->count + 1] = (p[START] - study->start_pts) / start_spread_pts;
    return true;
}

/* Chi-square of the fit from a start; what is held or not, `p` has PARAMETERS numbers. Infinite if none. */
static double fit_from(const Fitting *fitting, double *p, double *covariance) {
    const Study *study = fitting->study;
    double first = study->readings[0].day, last = study->readings[study->count - 1].day;
    double span = fmax(last - first, 1), sum = 0;
    const double low[] = {-10, -30, log(slowest_per_day), first - 2 * span - 30};
    const double high[] = {250, 200, log(fastest_per_day), last + 4 * span + 60};
    LeastSquaresProblem problem = {.rows = study->count + 2,
                                   .parameters = fitting->held ? PARAMETERS - 1 : PARAMETERS,
                                   .low = low,
                                   .high = high,
                                   .function = misses,
                                   .context =
                                       &(Fitting){study, fitting->shape, fitting->held, fitting->end_day}};
    LeastSquaresOutcome outcome = least_squares_fit(&problem, p, covariance, &sum);
    return outcome == LEAST_SQUARES_NO_VALUE ? NUMERIC_ENDLESS : sum;
}

/* Start and final for a rate and a middle: two unknowns, linear, with the prior. False when it does not fall.
 */
static bool level_out(const Fitting *fitting, double *p) {
    const Study *study = fitting->study;
    double weight_start = 1 / (start_spread_pts * start_spread_pts);
    double weight_final = 1 / (study->final_spread * study->final_spread);
    double ss = weight_start, sf = 0, ff = weight_final;
    double s = weight_start * study->start_pts, f = weight_final * study->final_pts;
    for (int i = 0; i < study->count; i++) {
        double share = share_left(fitting->shape, exp(p[LOG_RATE]) * (study->readings[i].day - p[MIDDLE]));
        double weight = study->roots[i] * study->roots[i] / (study->sigma * study->sigma);
        ss += weight * share * share;
        sf += weight * share * (1 - share);
        ff += weight * (1 - share) * (1 - share);
        s += weight * share * study->readings[i].pts;
        f += weight * (1 - share) * study->readings[i].pts;
    }
    double determinant = ss * ff - sf * sf;
    p[START] = (s * ff - f * sf) / determinant;
    p[FINAL] = (ss * f - sf * s) / determinant;
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
    const Study *study = fitting->study;
    double first = study->readings[0].day, span = fmax(study->readings[study->count - 1].day - first, 1);
    double least = NUMERIC_ENDLESS, p[PARAMETERS];
    for (int i = 0; i < GRID_RATES; i++) {
        p[LOG_RATE] = log(2 / span) + i * log(60.0) / (GRID_RATES - 1); /* from a slow bend to a step */
        p[LOG_RATE] = numeric_clamp(p[LOG_RATE], log(slowest_per_day), log(fastest_per_day));
        for (int j = 0; j < GRID_MIDDLES; j++) {
            p[MIDDLE] = first + span * (-0.3 + 1.8 * j / (GRID_MIDDLES - 1));
            if (!level_out(fitting, p))
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
    double p[2][PARAMETERS];
    double sum[2]; /* chi-square, infinite where there is no fit */
    double covariance[2][PARAMETERS * PARAMETERS];
    FermentShape best;
} Shapes;

/* Even parts of the time, each with the mean of its readings; the readings themselves if few. */
static void study_open(Study *study, const FermentReading *readings, int count,
                       const FermentExpectation *expectation) {
    bool binned = count > FERMENT_BINS;
    int capacity = binned ? FERMENT_BINS : count, at = 0;
    double first = readings[0].day, span = readings[count - 1].day - first;
    *study = (Study){.final_pts = expectation->final_pts,
                     .final_spread = expectation->spread_pts,
                     .reading_pts = expectation->reading_pts,
                     .sigma = expectation->reading_pts};
    study->readings = mem_array((size_t)capacity, sizeof *study->readings);
    study->roots = mem_array((size_t)capacity, sizeof *study->roots);
    for (int bin = 0; bin < capacity; bin++) {
        double end = first + span * (bin + 1) / capacity, days = 0, pts = 0;
        int held = 0;
        while (at < count && (binned ? readings[at].day <= end || bin == capacity - 1 : held == 0)) {
            days += readings[at].day;
            pts += readings[at++].pts;
            held++;
        }
        if (held == 0)
            continue; /* a gap in the log */
        study->readings[study->count] = (FermentReading){days / held, pts / held};
        study->roots[study->count++] = sqrt(held);
    }
    study->start_pts = study->readings[0].pts;
    for (int i = 1; i < study->count; i++)
        study->start_pts = fmax(study->start_pts, study->readings[i].pts);
}

static void study_close(Study *study) {
    mem_free(study->readings);
    mem_free(study->roots);
}

/* The spread of the readings weighs the prior, and comes out of the fit: a few rounds settle both. */
static bool study_fit(Study *study, Shapes *shapes) {
    double *residuals = mem_array((size_t)study->count + 2, sizeof *residuals);
    for (int round = 0; round < ROUNDS; round++) {
        for (int i = 0; i < 2; i++) {
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
            residuals[i] *= study->sigma;
        if (round < ROUNDS - 1)
            study->sigma =
                sqrt(spread_of(residuals, study->count, PARAMETERS, study->reading_pts, &study->freedom));
    }
    mem_free(residuals);
    const double *p = shapes->p[shapes->best];
    return shapes->sum[shapes->best] < NUMERIC_ENDLESS &&
           study->sigma <= largest_scatter * (p[START] - p[FINAL]);
}

static void give_curve(const Study *study, const Shapes *shapes, FermentCurve *curve) {
    Fitting fitting = {study, shapes->best, false, 0};
    const double *covariance = shapes->covariance[shapes->best];
    double best = shapes->sum[shapes->best], other = shapes->sum[1 - (int)shapes->best];
    curve_of(&fitting, shapes->p[shapes->best], curve);
    curve->scatter_pts = study->sigma;
    /* The fit scales its covariance by chi-square over rows to spare; sigma is known here, so that goes. */
    double scale = best / (study->count + 2 - PARAMETERS);
    double variance = covariance[FINAL * PARAMETERS + FINAL] / scale;
    curve->final_error_pts = variance >= 0 && isfinite(variance) ? sqrt(variance) : study->final_spread;
    /* Both have four parameters, so that all else in AICc cancels. */
    curve->lead = other < NUMERIC_ENDLESS && best > 0 ? study->count * log(other / best) : 0;
}

FermentOutcome ferment_fit(const FermentReading *readings, int count, const FermentExpectation *expectation,
                           FermentCurve *curve) {
    FermentOutcome outcome = FERMENT_FEW;
    Study study;
    Shapes shapes = {0};
    if (different_times(readings, count) < FERMENT_CURVE_LEAST)
        return outcome;
    study_open(&study, readings, count, expectation);
    outcome = study_fit(&study, &shapes) ? FERMENT_DONE : FERMENT_NO_CURVE;
    if (outcome == FERMENT_DONE)
        give_curve(&study, &shapes, curve);
    study_close(&study);
    return outcome;
}

/* ---- forecast ---- */

typedef struct Walk {
    const Study *study;
    FermentShape shape;
    double limit; /* chi-square up to which a day is possible */
} Walk;

/* Is the end possible on that day? `p` comes with a start and goes with the fit. */
static bool is_possible(const Walk *walk, double day, double *p) {
    Fitting fitting = {walk->study, walk->shape, true, day};
    return fit_from(&fitting, p, NULL) <= walk->limit;
}

/* How far from a possible day the possible ones reach, in one direction (1 or -1), up to `furthest`. */
static double reach(const Walk *walk, double day, const double *start, double direction, double furthest) {
    double inside = day, outside = day, step = 0.1, p[PARAMETERS], trial[PARAMETERS];
    memcpy(p, start, sizeof p);
    for (;; step *= 1.5) {
        bool is_last = direction * (inside + direction * step - furthest) >= 0;
        outside = is_last ? furthest : inside + direction * step;
        memcpy(trial, p, sizeof trial);
        if (!is_possible(walk, outside, trial))
            break;
        inside = outside;
        memcpy(p, trial, sizeof p);
        if (is_last)
            return furthest;
    }
    for (int i = 0; i < BISECTIONS && fabs(outside - inside) > 0.01; i++) {
        double middle = (inside + outside) / 2;
        memcpy(trial, p, sizeof trial);
        if (is_possible(walk, middle, trial)) {
            inside = middle;
            memcpy(p, trial, sizeof p);
        } else {
            outside = middle;
        }
    }
    return outside;
}

static double end_day(FermentShape shape, const double *p) {
    return p[MIDDLE] + end_place(shape, p[START] - p[FINAL]) / exp(p[LOG_RATE]);
}

static FermentOutcome give_range(const Study *study, const Shapes *shapes, FermentForecast *forecast) {
    double t = least_squares_student_quantile(0.975, study->freedom);
    double first = study->readings[0].day, last = study->readings[study->count - 1].day;
    double furthest = last + 3 * fmax(last - first, 1) + 30;
    forecast->likely_day = end_day(shapes->best, shapes->p[shapes->best]);
    forecast->from_day = forecast->to_day = forecast->likely_day;
    for (int i = 0; i < 2; i++) {
        Walk walk = {study, (FermentShape)i, shapes->sum[shapes->best] + t * t};
        if (!(shapes->sum[i] <= walk.limit))
            continue;
        double day = end_day(walk.shape, shapes->p[i]);
        forecast->from_day =
            fmin(forecast->from_day, reach(&walk, day, shapes->p[i], -1, fmin(first, day - 1)));
        forecast->to_day = fmax(forecast->to_day, reach(&walk, day, shapes->p[i], 1, fmax(furthest, day)));
    }
    return forecast->to_day >= furthest ? FERMENT_OPEN : FERMENT_DONE;
}

FermentOutcome ferment_forecast(const FermentReading *readings, int count,
                                const FermentExpectation *expectation, FermentForecast *forecast) {
    FermentOutcome outcome = FERMENT_NO_CURVE;
    Study study;
    Shapes shapes = {0};
    if (different_times(readings, count) < FERMENT_CURVE_LEAST)
        return FERMENT_FEW;
    study_open(&study, readings, count, expectation);
    if (study_fit(&study, &shapes)) {
        give_curve(&study, &shapes, &forecast->curve);
        outcome = give_range(&study, &shapes, forecast);
    }
    study_close(&study);
    return outcome;
}
