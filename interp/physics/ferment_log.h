/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the readings of a fermenting batch say: how fast the gravity falls, the curve it falls along, and when
 * it will be near its end.
 *
 * Gravity is in pts above 1.000, time in days from any origin. The errors of readings count as independent
 * and normal with one spread. That spread is estimated from the readings themselves together with
 * `reading_pts`, the standard uncertainty a reading is believed to have, which weighs as FERMENT_BELIEF
 * readings: three equal readings do not make a hydrometer perfect. From FERMENT_CORRELATED readings on,
 * errors that resemble their neighbour by a correlation r make n readings count as n (1 − r)/(1 + r) (G. V.
 * Bayley and J. M. Hammersley, Suppl. J. Roy. Statist. Soc. 8 (1946) 184-197, first term, from memory); r is
 * corrected for what a fit takes from it, in the manner of F. H. C. Marriott and J. A. Pope, Biometrika 41
 * (1954) 390-402 (from memory). */
#ifndef PHYSICS_FERMENT_LOG_H
#define PHYSICS_FERMENT_LOG_H

#include <stdbool.h>

enum {
    FERMENT_TREND_LEAST = 3, /* readings at different times for a trend */
    FERMENT_CURVE_LEAST = 5, /* and for a curve of four parameters */
    FERMENT_BELIEF = 4,
    FERMENT_CORRELATED = 20,
    FERMENT_BINS = 300 /* a longer log is averaged into so many even parts for the curve */
};

/* An end is what is within so many pts of the curve's own final gravity. */
#define FERMENT_END_PTS 1.0
/* A rise above this is not an error of reading: something was added, or the log is of two batches. */
#define FERMENT_RISE_PTS 5.0

/* Sorted by day. */
typedef struct FermentReading {
    double day, pts;
} FermentReading;

/* ---- trend: a straight line through the last readings ---- */

typedef struct FermentTrend {
    double rate_pts_day;  /* below 0: it falls */
    double error_pts_day; /* standard uncertainty of the rate */
    double freedom;       /* degrees of freedom after it */
    double span_day;      /* from the first reading used to the last */
    double level_pts;     /* mean of those of the last three that lie within over_day of the last */
    double sag_pts;   /* by how much the last one, two or three lie below the mean of those before, at most */
    int count;        /* readings used */
    int alike;        /* of those, the last ones that lie within twice reading_pts of one another */
    double stood_day; /* from the first of these to the last */
    double sank_pts;  /* and by how much the last lies below the first */
} FermentTrend;

/* Over the last `over_day` > 0: back to the latest reading at least that old, never fewer than the last
 * three; all of a shorter log. False when fewer than FERMENT_TREND_LEAST times differ. */
bool ferment_trend(const FermentReading *readings, int count, double over_day, double reading_pts,
                   FermentTrend *trend);

/* By how much the gravity rose above the lowest reading before, and stayed there for a second reading, at
 * most; `at` is set to the first of these two. 0 where it never did. */
double ferment_rise(const FermentReading *readings, int count, int *at);

/* ---- curves ---- */

typedef enum FermentShape { FERMENT_LOGISTIC, FERMENT_GOMPERTZ } FermentShape;

/* final + (start − final) × share(rate × (day − middle)); share(u) is 1/(1 + e^u) for the logistic curve and
 * 1 − exp(−e^−u) for Gompertz's, both falling from 1 to 0. Source: M. H. Zwietering, I. Jongenburger, F. M.
 * Rombouts, K. van 't Riet, Appl. Environ. Microbiol. 56 (1990) 1875-1881 (from memory). */
typedef struct FermentCurve {
    FermentShape shape;
    double start_pts, final_pts; /* what it levels out at on both sides */
    double rate_per_day, middle_day;
    double final_error_pts; /* standard uncertainty of final_pts, within a shape and between both */
    double scatter_pts;     /* of single readings about the curve */
    double lead;            /* AIC of the other shape, at the same spread, less this one's; 0 or more */
} FermentCurve;

/* The end expected, a soft prior: normal about final_pts with the standard uncertainty spread_pts. */
typedef struct FermentExpectation {
    double final_pts, spread_pts, reading_pts;
} FermentExpectation;

double ferment_curve_pts(const FermentCurve *curve, double day);
double ferment_curve_steepest(const FermentCurve *curve);                        /* pts a day, above 0 */
double ferment_curve_rate(FermentShape shape, double drop_pts, double steepest); /* its inverse */

typedef enum FermentOutcome {
    FERMENT_DONE,
    FERMENT_FEW,      /* fewer than FERMENT_CURVE_LEAST times differ */
    FERMENT_NO_CURVE, /* the scatter about the best is more than a sixth of its drop */
    FERMENT_OPEN      /* forecast: no latest day can be told; the rest is good */
} FermentOutcome;

/* Both shapes are fitted; the one of the lower AIC (H. Akaike, IEEE Trans. Autom. Control 19 (1974) 716-723)
 * is given: as both have four parameters and the spread of readings counts as known, the one of the smaller
 * sum of squares, prior and all. The other's weight is exp(−lead/2); without a fit it has none, and lead is
 * 0. */
FermentOutcome ferment_fit(const FermentReading *readings, int count, const FermentExpectation *expectation,
                           FermentCurve *curve);

typedef struct FermentForecast {
    FermentCurve curve;
    double from_day, likely_day, to_day;
} FermentForecast;

/* The day the gravity comes within FERMENT_END_PTS of its end, and the days between which that lies with 95 %
 * confidence: every day for which either shape, with all else fitted again, is no worse than the best curve
 * by more than the square of Student's t (profile likelihood: D. M. Bates and D. G. Watts, Nonlinear
 * Regression Analysis, 1988, ch. 6, from memory). Both shapes count, as an early log cannot tell them apart.
 * Open when one of them is a straight line over the log, or reaches 30 days and thrice the log's span ahead.
 */
FermentOutcome ferment_forecast(const FermentReading *readings, int count,
                                const FermentExpectation *expectation, FermentForecast *forecast);

#endif
