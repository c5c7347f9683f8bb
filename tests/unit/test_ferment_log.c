/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trends, curves and forecasts against logs whose truth is known: exact curves come back exactly, closed
 * forms of a line, and how often the 95 % range of a forecast holds the true day, counted over seeded
 * synthetic logs. */
#include "physics/ferment_log.h"

#include "near.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { LOGS = 200, READINGS_MOST = 400 };

/* A linear congruential generator (Knuth, MMIX): the same numbers on every machine. */
static double uniform(unsigned long long *state) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return ((double)(*state >> 11) + 0.5) / 9007199254740992.0;
}

/* Box and Muller, Ann. Math. Stat. 29 (1958) 610-611. */
static double normal(unsigned long long *state) {
    double radius = sqrt(-2 * log(uniform(state)));
    return radius * cos(2 * acos(-1.0) * uniform(state));
}

/* The truth, written down apart from the module under test, as Zwietering et al. have it: drop A, steepest
 * fall mu, lag. */
typedef struct Truth {
    bool gompertz, first_order; /* the latter is neither curve: the model's limit */
    double start, drop, steepest, lag;
} Truth;

static double true_drop(const Truth *truth, double day) {
    double e = exp(1.0);
    if (truth->first_order) /* full speed after the lag, then ever slower */
        return day < truth->lag
                   ? 0
                   : truth->drop * (1 - exp(-truth->steepest / truth->drop * (day - truth->lag)));
    if (truth->gompertz)
        return truth->drop * exp(-exp(truth->steepest * e / truth->drop * (truth->lag - day) + 1));
    return truth->drop / (1 + exp(4 * truth->steepest / truth->drop * (truth->lag - day) + 2));
}

static double true_end(const Truth *truth) {
    double low = 0, high = 1000;
    for (int i = 0; i < 100; i++) {
        double middle = (low + high) / 2;
        if (truth->drop - true_drop(truth, middle) > 1)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* How ferments go: pts a day at the steepest, days before they begin. */
typedef struct Pace {
    double steepest_least, steepest_most, lag_least, lag_most;
} Pace;

typedef struct Season {
    const char *name;
    const Pace *pace;
    double every_day;             /* between readings */
    double noise_pts;             /* standard deviation of a reading */
    double step_pts;              /* readings are rounded to this */
    double surprise_pts;          /* standard deviation of the true end about the expected one */
    double seen_least, seen_most; /* share of the drop at the last reading */
    double held_least;            /* share of the ranges given that must hold the truth */
    int given_least;              /* of LOGS */
    bool first_order;
    double alike; /* correlation of an error of reading with the one before */
    int more;     /* readings after that share */
} Season;

static Truth draw_truth(const Season *season, unsigned long long *state) {
    Truth truth = {.gompertz = uniform(state) < 0.5, .first_order = season->first_order};
    truth.start = 45 + 20 * uniform(state);
    truth.drop = truth.start - season->surprise_pts * normal(state); /* the end expected is 0 pts */
    const Pace *pace = season->pace;
    truth.steepest = pace->steepest_least + (pace->steepest_most - pace->steepest_least) * uniform(state);
    truth.lag = pace->lag_least + (pace->lag_most - pace->lag_least) * uniform(state);
    return truth;
}

static int draw_log(const Season *season, const Truth *truth, unsigned long long *state,
                    FermentReading *readings) {
    double seen = season->seen_least + (season->seen_most - season->seen_least) * uniform(state);
    double error = 0;
    int count = 0, more = season->more;
    for (double day = 0; count < READINGS_MOST; day += season->every_day) {
        double drop = true_drop(truth, day);
        error = season->alike * error + sqrt(1 - season->alike * season->alike) * normal(state);
        double pts = truth->start - drop + season->noise_pts * error;
        if (season->step_pts > 0)
            pts = season->step_pts * nearbyint(pts / season->step_pts);
        readings[count++] = (FermentReading){day, pts};
        if (count >= FERMENT_CURVE_LEAST && drop >= seen * truth->drop && more-- == 0)
            break;
    }
    return count;
}

typedef struct Tally {
    int given, covered, shape;
    int early[2], late[2]; /* the whole range too early or too late, by the true shape */
    int hasty;             /* refused as open, but "no sooner than" a day after the true one */
    double widths, counts, slowest;
} Tally;

static void judge(const Season *season, unsigned long long *state, Tally *tally) {
    FermentReading readings[READINGS_MOST];
    FermentExpectation expectation = {0, 4, 1}; /* as log_forecast has them */
    FermentForecast forecast;
    Truth truth = draw_truth(season, state);
    int count = draw_log(season, &truth, state, readings);
    double end = true_end(&truth);
    clock_t begun = clock();
    FermentOutcome outcome = ferment_forecast(readings, count, &expectation, &forecast);
    tally->slowest = fmax(tally->slowest, (double)(clock() - begun) / CLOCKS_PER_SEC);
    cr_assert(outcome == FERMENT_DONE || outcome == FERMENT_OPEN, "%s: outcome %d", season->name,
              (int)outcome);
    tally->shape += (forecast.curve.shape == FERMENT_GOMPERTZ) == truth.gompertz;
    tally->counts += count;
    if (outcome == FERMENT_OPEN) {
        tally->hasty += end < forecast.from_day;
        return;
    }
    tally->given++;
    tally->early[truth.gompertz] += end > forecast.to_day;
    tally->late[truth.gompertz] += end < forecast.from_day;
    tally->covered += end >= forecast.from_day && end <= forecast.to_day;
    tally->widths += forecast.to_day - forecast.from_day;
}

static const Pace club = {3, 12, 0.3, 2}, cool = {0.6, 1.5, 3, 10}, cold = {0.2, 0.6, 5, 20},
                  quick = {40, 100, 0.3, 1};

/* The figures of docs/model.md; FERMENT_SHOW in the environment prints them. Ciders of 45 to 65 pts. Where
 * the least share is below 0.9 the limit is known, and the number only keeps it from getting worse unseen. */
static const Season seasons[] = {
    {"twice a day, ±1 pts, a tenth to half seen", &club, 0.5, 1, 0, 4, 0.1, 0.5, 0.9, 140, false, 0, 0},
    {"daily, ±1 pts, a tenth to half seen", &club, 1, 1, 0, 4, 0.1, 0.5, 0.9, 140, false, 0, 0},
    {"daily, ±1 pts, half to nine tenths seen", &club, 1, 1, 0, 4, 0.5, 0.9, 0.9, 140, false, 0, 0},
    {"every second day, ±1 pts, half to all seen", &club, 2, 1, 0, 4, 0.5, 0.98, 0.9, 140, false, 0, 0},
    {"daily, ±0.5 pts, read to 1 pts, a tenth to nine tenths", &club, 1, 0.5, 1, 4, 0.1, 0.9, 0.9, 140, false,
     0, 0},
    {"hourly, ±0.3 pts, a tenth to nine tenths", &club, 1.0 / 24, 0.3, 0, 4, 0.1, 0.9, 0.9, 140, false, 0, 0},
    {"daily, ±1 pts, the end twice as surprising", &club, 1, 1, 0, 8, 0.1, 0.9, 0.8, 140, false, 0, 0},
    {"daily, ±1 pts, first order after a lag", &club, 1, 1, 0, 4, 0.1, 0.9, 0.3, 140, true, 0, 0},
    {"hourly, ±1 pts, errors alike by 0.9, half seen", &club, 1.0 / 24, 1, 0, 4, 0.5, 0.5, 0.9, 140, false,
     0.9, 0},
    {"daily, ±1 pts, two weeks more after the end", &club, 1, 1, 0, 4, 0.98, 0.98, 0.9, 200, false, 0, 14},
    {"cool, every third day, ±1 pts, 0.3 seen", &cool, 3, 1, 0, 4, 0.3, 0.3, 0.9, 20, false, 0, 0},
    {"cool, every third day, ±1 pts, 0.5 seen", &cool, 3, 1, 0, 4, 0.5, 0.5, 0.9, 140, false, 0, 0},
    {"cool, every third day, ±1 pts, 0.7 seen", &cool, 3, 1, 0, 4, 0.7, 0.7, 0.9, 140, false, 0, 0},
    {"cold, weekly, ±1 pts, 0.3 seen", &cold, 7, 1, 0, 4, 0.3, 0.3, 0.8, 0, false, 0, 0},
    {"cold, weekly, ±1 pts, 0.5 seen", &cold, 7, 1, 0, 4, 0.5, 0.5, 0.9, 120, false, 0, 0},
    {"cold, weekly, ±1 pts, 0.7 seen", &cold, 7, 1, 0, 4, 0.7, 0.7, 0.9, 140, false, 0, 0},
};

Test(ferment_log, forecasts_hold_the_truth) {
    for (size_t s = 0; s < sizeof seasons / sizeof *seasons; s++) {
        const Season *season = &seasons[s];
        unsigned long long state = 20270314 + s;
        Tally tally = {0};
        for (int i = 0; i < LOGS; i++)
            judge(season, &state, &tally);
        double held = tally.covered / fmax(1, tally.given);
        if (getenv("FERMENT_SHOW"))
            printf("%-56s given %d held %d early %d+%d late %d+%d hasty %d shape %d width %.1f day "
                   "readings %.0f slowest %.3f s\n",
                   season->name, tally.given, tally.covered, tally.early[0], tally.early[1], tally.late[0],
                   tally.late[1], tally.hasty, tally.shape, tally.widths / fmax(1, tally.given),
                   tally.counts / LOGS, tally.slowest);
        cr_expect(held >= season->held_least, "%s: %d of %d ranges hold the day", season->name, tally.covered,
                  tally.given);
        cr_expect(tally.hasty <= LOGS / 20, "%s: %d of those refused end sooner than told", season->name,
                  tally.hasty);
        cr_expect(tally.given >= season->given_least, "%s: only %d ranges given", season->name, tally.given);
    }
}

/* ---- which curve, and its end ---- */

static const Season marks[] = {
    {"daily, ±0.5 pts, 0.5 seen", &club, 1, 0.5, 0, 4, 0.5, 0.5, 0, 0, false, 0, 0},
    {"daily, ±0.5 pts, 0.7 seen", &club, 1, 0.5, 0, 4, 0.7, 0.7, 0, 0, false, 0, 0},
    {"daily, ±0.5 pts, 0.95 seen", &club, 1, 0.5, 0, 4, 0.95, 0.95, 0, 0, false, 0, 0},
    {"daily, ±1 pts, 0.5 seen", &club, 1, 1, 0, 4, 0.5, 0.5, 0, 0, false, 0, 0},
    {"daily, ±1 pts, 0.7 seen", &club, 1, 1, 0, 4, 0.7, 0.7, 0, 0, false, 0, 0},
    {"daily, ±1 pts, 0.95 seen", &club, 1, 1, 0, 4, 0.95, 0.95, 0, 0, false, 0, 0},
    {"cold, weekly, ±1 pts, 0.7 seen", &cold, 7, 1, 0, 4, 0.7, 0.7, 0, 0, false, 0, 0},
    {"cold, weekly, ±1 pts, 0.95 seen", &cold, 7, 1, 0, 4, 0.95, 0.95, 0, 0, false, 0, 0},
};

/* Of logs whose other shape lies so far behind, how many are of the other shape. */
typedef struct Leads {
    int clear, wrong;
} Leads;

static void count_lead(Leads *leads, double least, const FermentCurve *curve, const Truth *truth) {
    leads->clear += curve->lead >= least;
    leads->wrong += curve->lead >= least && (curve->shape == FERMENT_GOMPERTZ) != truth->gompertz;
}

Test(ferment_log, leads_and_ends_are_what_they_say) {
    Leads two = {0}, six = {0};
    for (size_t s = 0; s < sizeof marks / sizeof *marks; s++) {
        unsigned long long state = 20270420 + s;
        Leads here_two = {0}, here_six = {0};
        int once = 0, twice = 0;
        double errors = 0;
        for (int i = 0; i < LOGS; i++) {
            FermentReading readings[READINGS_MOST];
            FermentExpectation expectation = {0, 4, 1};
            FermentCurve curve;
            Truth truth = draw_truth(&marks[s], &state);
            int count = draw_log(&marks[s], &truth, &state, readings);
            cr_assert_eq(ferment_fit(readings, count, &expectation, &curve), FERMENT_DONE);
            double miss = fabs(curve.final_pts - (truth.start - truth.drop));
            once += miss <= curve.final_error_pts;
            twice += miss <= 2 * curve.final_error_pts;
            errors += curve.final_error_pts;
            count_lead(&here_two, 2, &curve, &truth);
            count_lead(&here_six, 6, &curve, &truth);
        }
        if (getenv("FERMENT_SHOW"))
            printf("%-32s lead 2: %d, wrong %d; 6: %d, wrong %d; final within 1: %d, 2: %d, mean %.2f pts\n",
                   marks[s].name, here_two.clear, here_two.wrong, here_six.clear, here_six.wrong, once, twice,
                   errors / LOGS);
        cr_expect(once >= 0.55 * LOGS && twice >= 0.9 * LOGS, "%s: %d %d", marks[s].name, once, twice);
        two = (Leads){two.clear + here_two.clear, two.wrong + here_two.wrong};
        six = (Leads){six.clear + here_six.clear, six.wrong + here_six.wrong};
    }
    /* Of two shapes alike beforehand the worse has the odds exp(-lead / 2): 1 in 3.7, 1 in 21. */
    cr_expect(two.clear > 500 && two.wrong <= two.clear / 3.7, "%d of %d", two.wrong, two.clear);
    cr_expect(six.clear > 100 && six.wrong <= six.clear / 21.0, "%d of %d", six.wrong, six.clear);
}

/* Days count from anywhere. */
Test(ferment_log, the_origin_moves_nothing) {
    static const Season moved[] = {
        {"daily", &club, 1, 1, 0, 4, 0.3, 0.98, 0, 0, false, 0, 0},
        {"a quick one", &quick, 0.05, 0.5, 0, 4, 0.5, 0.98, 0, 0, false, 0, 0},
        {"cold", &cold, 7, 1, 0, 4, 0.3, 0.98, 0, 0, false, 0, 0},
    };
    static const double origins[] = {20700, 999000, -999000};
    FermentReading readings[READINGS_MOST], there[READINGS_MOST];
    FermentExpectation expectation = {0, 4, 1};
    double furthest = 0;
    for (size_t s = 0; s < sizeof moved / sizeof *moved; s++)
        for (int i = 0; i < 30; i++) {
            unsigned long long state = 20270501 + (unsigned)i;
            FermentForecast here = {0}, then = {0};
            Truth truth = draw_truth(&moved[s], &state);
            int count = draw_log(&moved[s], &truth, &state, readings);
            double origin = origins[i % 3];
            for (int k = 0; k < count; k++)
                there[k] = (FermentReading){readings[k].day + origin, readings[k].pts};
            FermentOutcome outcome = ferment_forecast(readings, count, &expectation, &here);
            cr_assert_eq(ferment_forecast(there, count, &expectation, &then), outcome);
            const double apart[] = {then.from_day - origin - here.from_day,
                                    then.likely_day - origin - here.likely_day,
                                    then.to_day - origin - here.to_day,
                                    then.curve.middle_day - origin - here.curve.middle_day,
                                    then.curve.final_pts - here.curve.final_pts,
                                    then.curve.final_error_pts - here.curve.final_error_pts,
                                    then.curve.lead - here.curve.lead};
            for (size_t k = 0; k < sizeof apart / sizeof *apart; k++) {
                cr_expect_lt(fabs(apart[k]), 1e-6, "%s %d: field %zu by %g", moved[s].name, i, k, apart[k]);
                furthest = fmax(furthest, fabs(apart[k]));
            }
        }
    if (getenv("FERMENT_SHOW"))
        printf("other origins move a result by %.1e at most\n", furthest);
}

/* ---- what has a closed form ---- */

Test(ferment_log, exact_curves_come_back) {
    for (int shape = 0; shape < 2; shape++) {
        Truth truth = {
            .gompertz = shape == FERMENT_GOMPERTZ, .start = 50, .drop = 48, .steepest = 8, .lag = 1.5};
        FermentReading readings[40];
        FermentExpectation expectation = {2, 4, 0.2};
        FermentCurve curve;
        for (int i = 0; i < 40; i++)
            readings[i] = (FermentReading){0.5 * i, truth.start - true_drop(&truth, 0.5 * i)};
        cr_assert_eq(ferment_fit(readings, 40, &expectation, &curve), FERMENT_DONE);
        cr_expect_eq(curve.shape, (FermentShape)shape);
        cr_expect(near(curve.final_pts, 2, 0, 1e-3) && near(curve.start_pts, 50, 0, 0.02), "%g %g",
                  curve.final_pts, curve.start_pts);
        cr_expect(near(ferment_curve_steepest(&curve), 8, 1e-3, 0), "%g", ferment_curve_steepest(&curve));
        cr_expect(near(ferment_curve_rate(curve.shape, 48, 8), curve.rate_per_day, 2e-3, 0));
        for (double day = 0; day < 25; day += 0.7)
            cr_expect(near(ferment_curve_pts(&curve, day), truth.start - true_drop(&truth, day), 0, 0.02),
                      "%g", day);
        FermentForecast forecast;
        cr_assert_eq(ferment_forecast(readings, 40, &expectation, &forecast), FERMENT_DONE);
        cr_expect(near(forecast.likely_day, true_end(&truth), 0, 0.02), "%g", forecast.likely_day);
        cr_expect_gt(curve.lead, 10);
    }
}

Test(ferment_log, trend_of_a_line) {
    /* y = 50 - 2 t, off by +1 and -1 in turn: slope and residuals by the textbook sums over 8 days. */
    FermentReading readings[8];
    FermentTrend trend;
    double sxx = 42, sxy = 0, mean = 0, squares = 0;
    for (int i = 0; i < 8; i++) {
        readings[i] = (FermentReading){i, 50 - 2 * i + (i % 2 ? -1 : 1)};
        mean += readings[i].pts / 8;
        sxy += (i - 3.5) * readings[i].pts;
    }
    for (int i = 0; i < 8; i++) {
        double miss = readings[i].pts - mean - sxy / sxx * (i - 3.5);
        squares += miss * miss;
    }
    cr_assert(ferment_trend(readings, 8, 100, 0.5, &trend));
    cr_expect(near(trend.rate_pts_day, sxy / sxx, 1e-12, 0), "%.15g", trend.rate_pts_day);
    cr_expect(near(trend.error_pts_day, sqrt((squares + 4 * 0.25) / 10 / sxx), 1e-12, 0), "%.15g",
              trend.error_pts_day);
    cr_expect_eq(trend.freedom, 10);
    cr_expect_eq(trend.count, 8);
    cr_expect(ferment_trend(readings, 8, 4, 0.5, &trend) && trend.count == 5 && trend.span_day == 4);
    cr_expect(ferment_trend(readings, 8, 0.1, 0.5, &trend) && trend.count == 3);
    cr_expect_not(ferment_trend(readings, 2, 4, 0.5, &trend));
}

/* How often the band of one standard uncertainty and the 95 % bounds hold the truth. */
Test(ferment_log, trends_hold_the_truth) {
    enum { TRIES = 2000 };
    unsigned long long state = 7;
    int within = 0, below = 0;
    for (int i = 0; i < TRIES; i++) {
        FermentReading readings[8];
        FermentTrend trend;
        for (int day = 0; day < 8; day++)
            readings[day] = (FermentReading){day, 10 - 0.5 * day + 0.5 * normal(&state)};
        cr_assert(ferment_trend(readings, 8, 7, 0.5, &trend));
        within += fabs(trend.rate_pts_day + 0.5) <= trend.error_pts_day;
        below += trend.rate_pts_day + 0.5 <= 1.8125 * trend.error_pts_day; /* Student's t, 10 degrees, 95 % */
    }
    if (getenv("FERMENT_SHOW"))
        printf("trend: %d of %d within one standard uncertainty, %d below the 95 %% bound\n", within, TRIES,
               below);
    cr_expect(near(within, 0.68 * TRIES, 0, 0.04 * TRIES), "%d", within);
    cr_expect(near(below, 0.95 * TRIES, 0, 0.02 * TRIES), "%d", below);
}

/* 10 000 readings, as a logger writes them in a week: means over 300 parts of the time are fitted. */
Test(ferment_log, a_logger_is_quick) {
    enum { MANY = 10000, LOGGERS = 40 };
    static FermentReading readings[MANY];
    FermentExpectation expectation = {0, 4, 1};
    FermentForecast forecast;
    double slowest = 0;
    int held = 0;
    for (int log = 0; log < LOGGERS; log++) {
        unsigned long long state = 11 + (unsigned)log;
        Truth truth = {.gompertz = log % 2, .start = 50, .drop = 50, .steepest = 6 + log % 5, .lag = 1};
        double end = true_end(&truth);
        for (int i = 0; i < MANY; i++)
            readings[i] = (FermentReading){0.0007 * i, truth.start - true_drop(&truth, 0.0007 * i) +
                                                           0.3 * normal(&state)};
        clock_t begun = clock();
        cr_assert_eq(ferment_forecast(readings, MANY, &expectation, &forecast), FERMENT_DONE);
        slowest = fmax(slowest, (double)(clock() - begun) / CLOCKS_PER_SEC);
        held += forecast.from_day <= end && end <= forecast.to_day;
        cr_expect(near(forecast.likely_day, end, 0, 0.3), "%d: %g for %g", log, forecast.likely_day, end);
    }
    if (getenv("FERMENT_SHOW"))
        printf("%d readings: %d of %d ranges hold the day, slowest %.3f s\n", MANY, held, LOGGERS, slowest);
    cr_expect_geq(held, 36);
}

Test(ferment_log, refusals) {
    FermentReading readings[9];
    FermentExpectation expectation = {0, 4, 1};
    FermentForecast forecast;
    FermentCurve curve;
    for (int i = 0; i < 9; i++)
        readings[i] = (FermentReading){i / 3, 50 - i};
    cr_expect_eq(ferment_forecast(readings, 9, &expectation, &forecast), FERMENT_FEW,
                 "nine readings, three times");
    for (int i = 0; i < 9; i++) /* straight: it may bend anywhere, but a curve runs through */
        readings[i] = (FermentReading){i, 50 - i};
    cr_expect_eq(ferment_forecast(readings, 9, &expectation, &forecast), FERMENT_OPEN);
    cr_expect_gt(forecast.from_day, 8);
    for (int i = 0; i < 9; i++)
        readings[i] =
            (FermentReading){7 * i, 50 * (i < 1)}; /* over in the first week, before a second reading */
    cr_assert_eq(ferment_forecast(readings, 9, &expectation, &forecast), FERMENT_DONE);
    cr_expect(forecast.from_day < 0.5 && forecast.to_day > 7 && forecast.to_day < 10, "%g %g",
              forecast.from_day, forecast.to_day);
    cr_expect(near(forecast.curve.final_pts, 0, 0, 0.1) && near(forecast.curve.final_error_pts, 0.3, 0, 0.1),
              "%g ± %g", forecast.curve.final_pts, forecast.curve.final_error_pts);
    for (int i = 0; i < 9; i++)
        readings[i] = (FermentReading){i, 0.2 * (i < 4)};
    cr_expect_eq(ferment_fit(readings, 9, &expectation, &curve), FERMENT_NO_CURVE);
    cr_expect_eq(ferment_forecast(readings, 9, &expectation, &forecast), FERMENT_NO_CURVE);
}
