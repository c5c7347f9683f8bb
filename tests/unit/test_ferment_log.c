/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trends, curves and forecasts against logs whose truth is known: exact curves come back exactly, closed forms
 * of a line, and how often the 95 % range of a forecast holds the true day, counted over seeded synthetic logs. */
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

/* The truth, written down apart from the module under test, as Zwietering et al. have it: drop A, steepest fall
 * mu, lag. */
typedef struct Truth {
    bool gompertz;
    double start, drop, steepest, lag;
} Truth;

static double true_drop(const Truth *truth, double day) {
    double e = exp(1.0);
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

typedef struct Season {
    const char *name;
    double every_day;    /* between readings */
    double noise_pts;    /* standard deviation of a reading */
    double step_pts;     /* readings are rounded to this */
    double surprise_pts; /* standard deviation of the true end about the expected one */
    double seen_least, seen_most; /* share of the drop at the last reading */
    double held_least;            /* share of the ranges given that must hold the truth */
    int given_least;              /* of LOGS */
} Season;

/* As a club's ciders go: 45 to 65 pts, a lag of 0.3 to 2 days, 3 to 12 pts a day at the steepest. */
static Truth draw_truth(const Season *season, unsigned long long *state) {
    Truth truth = {.gompertz = uniform(state) < 0.5};
    truth.start = 45 + 20 * uniform(state);
    truth.drop = truth.start - season->surprise_pts * normal(state); /* the end expected is 0 pts */
    truth.steepest = 3 + 9 * uniform(state);
    truth.lag = 0.3 + 1.7 * uniform(state);
    return truth;
}

static int draw_log(const Season *season, const Truth *truth, unsigned long long *state,
                    FermentReading *readings) {
    double seen = season->seen_least + (season->seen_most - season->seen_least) * uniform(state);
    int count = 0;
    for (double day = 0; count < READINGS_MOST; day += season->every_day) {
        double drop = true_drop(truth, day);
        double pts = truth->start - drop + season->noise_pts * normal(state);
        if (season->step_pts > 0)
            pts = season->step_pts * nearbyint(pts / season->step_pts);
        readings[count++] = (FermentReading){day, pts};
        if (count >= FERMENT_CURVE_LEAST && drop >= seen * truth->drop)
            break;
    }
    return count;
}

typedef struct Tally {
    int given, covered, below, above, shape;
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
    cr_assert(outcome == FERMENT_DONE || outcome == FERMENT_OPEN, "%s: outcome %d", season->name, (int)outcome);
    tally->shape += (forecast.curve.shape == FERMENT_GOMPERTZ) == truth.gompertz;
    tally->counts += count;
    if (outcome == FERMENT_OPEN)
        return; /* a refusal holds nothing */
    tally->given++;
    tally->below += end < forecast.from_day;
    tally->above += end > forecast.to_day;
    tally->covered += end >= forecast.from_day && end <= forecast.to_day;
    tally->widths += forecast.to_day - forecast.from_day;
}

/* The figures of docs/model.md; FERMENT_SHOW in the environment prints them. */
static const Season seasons[] = {
    {"twice a day, ±1 pts, a tenth to half seen", 0.5, 1, 0, 4, 0.1, 0.5, 0.9, 140},
    {"daily, ±1 pts, a tenth to half seen", 1, 1, 0, 4, 0.1, 0.5, 0.9, 140},
    {"daily, ±1 pts, half to nine tenths seen", 1, 1, 0, 4, 0.5, 0.9, 0.9, 140},
    {"every second day, ±1 pts, half to all seen", 2, 1, 0, 4, 0.5, 0.98, 0.9, 140},
    {"daily, ±0.5 pts, read to 1 pts, a tenth to nine tenths", 1, 0.5, 1, 4, 0.1, 0.9, 0.9, 140},
    {"hourly, ±0.3 pts, a tenth to nine tenths", 1.0 / 24, 0.3, 0, 4, 0.1, 0.9, 0.9, 140},
    {"daily, ±1 pts, the end twice as surprising", 1, 1, 0, 8, 0.1, 0.9, 0.8, 140},
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
            printf("%-56s given %d held %d early %d late %d shape %d width %.1f day readings %.0f slowest %.3f s\n",
                   season->name, tally.given, tally.covered, tally.above, tally.below, tally.shape,
                   tally.widths / fmax(1, tally.given), tally.counts / LOGS, tally.slowest);
        cr_expect(held >= season->held_least, "%s: %d of %d ranges hold the day", season->name, tally.covered,
                  tally.given);
        cr_expect(tally.given >= season->given_least, "%s: only %d ranges given", season->name, tally.given);
    }
}
