/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Natives on fermentation logs: lists of records with `when` (a date or a time) and `gravity`, as read()
 * makes them. The mathematics is physics/ferment_log.c; here readings are unpacked, put in order, and results
 * given back in what the log was written in. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/calendar.h"
#include "numbers/least_squares.h"
#include "numbers/numeric.h"
#include "physics/ferment_log.h"
#include "runtime/native_tables.h"
#include "values/value_arg.h"

static const double gap_most_days = 1000; /* between two readings: a mistyped year is longer */
static const double gravity_least = 0.95, gravity_most = 1.25; /* no ferment begins or ends beyond */
static const double days_most = 1e6; /* beyond any log, and far from where differences of days lose digits */

typedef struct Log {
    FermentReading *readings;
    int count;
    UnitId when; /* UNIT_DATE, or the unit of time of the first reading */
} Log;

/* ---- unpacking ---- */

static bool fail_value(Call *call, uint32_t at, const char *field, MessageArg came, MessageId wanted) {
    return native_fail(call, 0, MSG_LOG_VALUE,
                       ARGS(arg_whole((long long)at + 1), arg_phrase(PHRASE_FIELD_IS, ARGS(field, came)),
                            arg_words(wanted)));
}

static bool fail_kind(Call *call, uint32_t at, const char *field, Value value, MessageId wanted) {
    fail_value(call, at, field, arg_kind(call->arith.units, value), wanted);
    return value.tag == TAG_TEXT && strcmp(field, "when") == 0 &&
           fault_hint(call->arith.fault, HINT_LOG_DATES, NO_ARGS);
}

static bool fail_gravity(Call *call, uint32_t at, double sg) {
    fail_value(call, at, "gravity", arg_quantity(call->arith.units, sg, UNIT_SG), PHRASE_LOG_GRAVITIES);
    return fault_hint(call->arith.fault, HINT_LOG_GRAVITY, NO_ARGS);
}

static bool read_when(Call *call, Log *log, uint32_t at, Value when, double *day) {
    UnitTable *units = call->arith.units;
    bool is_date = when.tag == TAG_READING && when.unit == UNIT_DATE;
    bool is_time = when.tag == TAG_AMOUNT && unit_same_kind(units, when.unit, UNIT_DAY);
    if (log->count == 0 && (is_date || is_time))
        log->when = when.unit;
    bool alike = is_date == (log->when == UNIT_DATE);
    if (!(is_date || is_time) || !alike)
        return fail_kind(call, at, "when", when,
                         log->count == 0          ? PHRASE_DATE_OR_TIME
                         : log->when == UNIT_DATE ? PHRASE_DATE_AS_BEFORE
                                                  : PHRASE_TIME_AS_BEFORE);
    *day = when.as.number;
    if (is_time && !unit_convert(units, when.as.number, when.unit, UNIT_DAY, day, call->arith.fault))
        return native_place(call, 0);
    return (is_date || fabs(*day) <= days_most) ||
           fail_value(call, at, "when", arg_value(units, when), PHRASE_MILLION_DAYS);
}

/* One row; one without a gravity is passed over. */
static bool read_row(Call *call, Log *log, uint32_t at, Value row) {
    if (row.tag != TAG_RECORD)
        return fail_kind(call, at, "it", row, PHRASE_LOG_RECORD);
    const Value *when = record_find_string(row.as.record, "when");
    const Value *gravity = record_find_string(row.as.record, "gravity");
    if (!when || !gravity)
        return native_fail(call, 0, MSG_LOG_FIELD,
                           ARGS(arg_whole((long long)at + 1), when ? "gravity" : "when"));
    if (gravity->tag == TAG_NONE)
        return true;
    bool is_gravity =
        gravity->tag == TAG_READING && unit_same_kind(call->arith.units, gravity->unit, UNIT_SG);
    if (!is_gravity)
        return fail_kind(call, at, "gravity", *gravity, PHRASE_GRAVITY);
    double day = 0, sg = gravity->as.number;
    if (!read_when(call, log, at, *when, &day))
        return false;
    if (gravity->unit != UNIT_SG &&
        !unit_convert(call->arith.units, gravity->as.number, gravity->unit, UNIT_SG, &sg, call->arith.fault))
        return native_place(call, 0);
    if (!(sg >= gravity_least && sg <= gravity_most))
        return fail_gravity(call, at, sg);
    log->readings[log->count++] = (FermentReading){day, 1000 * (sg - 1)};
    return true;
}

static int by_day(const void *a, const void *b) {
    double left = ((const FermentReading *)a)->day, right = ((const FermentReading *)b)->day;
    return left < right ? -1 : left > right;
}

static bool give_when(Call *call, const Log *log, double day, double (*whole)(double), Value *value);

/* A fault of what lies between two readings, told with the `when` of both. */
static bool fail_between(Call *call, const Log *log, MessageId id, double amount, UnitId unit, int at) {
    const UnitTable *units = call->arith.units;
    Value before, after;
    return give_when(call, log, log->readings[at - 1].day, floor, &before) &&
           give_when(call, log, log->readings[at].day, floor, &after) &&
           native_fail(
               call, 0, id,
               ARGS(arg_quantity(units, amount, unit), arg_value(units, before), arg_value(units, after)));
}

static bool gaps_hold(Call *call, const Log *log) {
    for (int i = 1; i < log->count; i++) {
        double gap = log->readings[i].day - log->readings[i - 1].day;
        if (gap > gap_most_days)
            return fail_between(call, log, MSG_LOG_GAP, gap, UNIT_DAY, i);
    }
    return true;
}

/* The caller frees log->readings whatever comes. */
static bool read_log(Call *call, Log *log) {
    const ListObject *list = native_list(call, 0);
    *log = (Log){.when = UNIT_DAY};
    log->readings = mem_array(list->count, sizeof *log->readings);
    for (uint32_t i = 0; i < list->count; i++)
        if (!read_row(call, log, i, list->items[i]))
            return false;
    qsort(log->readings, (size_t)log->count, sizeof *log->readings, by_day);
    return gaps_hold(call, log);
}

static bool fail_few(Call *call, int wanted) {
    return native_fail(call, 0, MSG_LOG_FEW, ARGS(call->name, arg_whole(wanted)));
}

/* ---- giving back ---- */

typedef struct Named {
    const char *name;
    Value value;
} Named;

static bool give_record(Call *call, const Named *fields, uint32_t count) {
    RecordObject *record = record_new(call->arith.heap, count);
    for (uint32_t i = 0; i < count; i++) {
        record->fields[i].name = text_object_intern(call->arith.heap, fields[i].name, strlen(fields[i].name));
        record->fields[i].value = fields[i].value;
    }
    call->result = value_of_record(record);
    return true;
}
#define GIVE_RECORD(call, fields) give_record(call, fields, (uint32_t)(sizeof(fields) / sizeof *(fields)))

static Value gravity_of(double pts) {
    return value_reading(1 + pts / 1000, UNIT_SG);
}

/* A day of the log as its `when`; dates are whole, so the caller says which way. */
static bool give_when(Call *call, const Log *log, double day, double (*whole)(double), Value *value) {
    double number = day;
    if (log->when == UNIT_DATE) {
        *value = value_reading(numeric_clamp(whole(day), CALENDAR_FIRST, CALENDAR_LAST), UNIT_DATE);
        return true;
    }
    if (!unit_convert(call->arith.units, day, UNIT_DAY, log->when, &number, call->arith.fault))
        return native_place(call, 0);
    *value = value_amount(number, log->when);
    return true;
}

static bool pts_a_day(Call *call, UnitId *unit) {
    const UnitFactor factors[] = {{UNIT_PTS, 1}, {UNIT_DAY, -1}};
    return unit_compose(call->arith.units, factors, 2, unit, call->arith.fault) || native_place(call, -1);
}

/* ---- trend ---- */

static bool trend_native(Call *call) {
    Log log;
    FermentTrend trend;
    UnitId rate = 0;
    Value rose = value_none(), since;
    int at = 0;
    double over = 0, reading = 0;
    bool done = read_log(call, &log) && native_within(call, 1, UNIT_DAY, 0.01, 10000, &over) &&
                native_within(call, 2, UNIT_PTS, 0.01, 20, &reading) && pts_a_day(call, &rate) &&
                (ferment_trend(log.readings, log.count, over, reading, &trend) ||
                 fail_few(call, FERMENT_TREND_LEAST));
    double rise = done ? ferment_rise(log.readings, log.count, &at) : 0;
    if (rise > FERMENT_RISE_PTS)
        done = give_when(call, &log, log.readings[at].day, floor, &rose);
    done = done && give_when(call, &log, log.readings[log.count - trend.alike].day, floor, &since);
    if (done) {
        double reach = least_squares_student_quantile(0.95, trend.freedom) * trend.error_pts_day;
        const Named fields[] = {
            {"rate", value_amount(trend.rate_pts_day, rate)},
            {"uncertainty", value_amount(trend.error_pts_day, rate)},
            {"fall_least", value_amount(-trend.rate_pts_day - reach, rate)},
            {"fall_most", value_amount(-trend.rate_pts_day + reach, rate)},
            {"first", gravity_of(log.readings[0].pts)},
            {"last", gravity_of(log.readings[log.count - 1].pts)},
            {"present", gravity_of(trend.level_pts)},
            {"sag", value_amount(trend.sag_pts, UNIT_PTS)},
            {"rise", value_amount(rise, UNIT_PTS)},
            {"rose", rose},
            {"span", value_amount(trend.span_day, UNIT_DAY)},
            {"readings", value_number(trend.count)},
            {"alike", value_number(trend.alike)},
            {"since", since},
            {"stood", value_amount(trend.stood_day, UNIT_DAY)},
            {"sank", value_amount(trend.sank_pts, UNIT_PTS)},
        };
        done = GIVE_RECORD(call, fields);
    }
    mem_free(log.readings);
    return done;
}

/* ---- curves ---- */

/* Nothing is said about the end before a tenth of the way to it is seen. */
static bool far_enough(Call *call, const Log *log, const FermentExpectation *expectation) {
    double first = log->readings[0].pts, latest = 0, drop = first - expectation->final_pts;
    for (int i = 1; i <= 3; i++)
        latest += log->readings[log->count - i].pts / 3;
    const UnitTable *units = call->arith.units;
    if (!(drop > FERMENT_END_PTS))
        return native_fail(
            call, 1, MSG_LOG_NO_DROP,
            ARGS(arg_value(units, gravity_of(first)), arg_value(units, gravity_of(expectation->final_pts))));
    return first - latest >= 0.1 * drop ||
           native_fail(call, 0, MSG_LOG_EARLY,
                       ARGS(arg_quantity(units, drop, UNIT_PTS),
                            arg_quantity(units, fmax(first - latest, 0), UNIT_PTS)));
}

static bool read_expectation(Call *call, FermentExpectation *expectation) {
    double final = 0;
    if (!native_in(call, 1, UNIT_SG, &final) ||
        !native_within(call, 2, UNIT_PTS, 0.5, 50, &expectation->spread_pts) ||
        !native_within(call, 3, UNIT_PTS, 0.1, 20, &expectation->reading_pts))
        return false;
    expectation->final_pts = 1000 * (final - 1);
    return true;
}

static bool read_study(Call *call, Log *log, FermentExpectation *expectation) {
    if (!read_log(call, log) || !read_expectation(call, expectation))
        return false;
    if (log->count < FERMENT_CURVE_LEAST)
        return fail_few(call, FERMENT_CURVE_LEAST);
    int at;
    double rise = ferment_rise(log->readings, log->count, &at);
    if (rise > FERMENT_RISE_PTS)
        return fail_between(call, log, MSG_LOG_RISE, rise, UNIT_PTS, at);
    return far_enough(call, log, expectation);
}

static bool fail_outcome(Call *call, FermentOutcome outcome) {
    if (outcome == FERMENT_FEW)
        return fail_few(call, FERMENT_CURVE_LEAST);
    return native_fail(call, 0, MSG_LOG_NO_CURVE, NO_ARGS);
}

static const char *const shape_names[] = {[FERMENT_LOGISTIC] = "logistic", [FERMENT_GOMPERTZ] = "Gompertz"};

static bool curve_native(Call *call) {
    Log log;
    FermentExpectation expectation;
    FermentCurve curve;
    UnitId rate = 0;
    Value began;
    bool done = read_study(call, &log, &expectation) && pts_a_day(call, &rate);
    if (done) {
        FermentOutcome outcome = ferment_fit(log.readings, log.count, &expectation, &curve);
        done = outcome == FERMENT_DONE || fail_outcome(call, outcome);
    }
    if (done && give_when(call, &log, log.readings[0].day, floor, &began)) {
        const char *shape = shape_names[curve.shape];
        const Named fields[] = {
            {"shape", value_string(call->arith.heap, shape)},
            {"start", gravity_of(curve.start_pts)},
            {"final", gravity_of(curve.final_pts)},
            {"steepest", value_amount(ferment_curve_steepest(&curve), rate)},
            {"middle", value_amount(curve.middle_day - log.readings[0].day, UNIT_DAY)},
            {"began", began},
            {"scatter", value_amount(curve.scatter_pts, UNIT_PTS)},
            {"lead", value_number(curve.lead)},
        };
        done = GIVE_RECORD(call, fields);
    }
    mem_free(log.readings);
    return done;
}

/* A number of a field, in a unit; false if it is no such quantity. */
static bool field_in(const Call *call, const RecordObject *record, const char *name, UnitId unit,
                     double *number) {
    const Value *value = record_find_string(record, name);
    Fault ignored = {0};
    bool good = value && value_is_quantity(*value) && unit_same_kind(call->arith.units, value->unit, unit) &&
                unit_convert(call->arith.units, value->as.number, value->unit, unit, number, &ignored);
    fault_clear(&ignored);
    return good;
}

/* The shape that a field names. */
static bool field_shape(const RecordObject *record, FermentShape *shape) {
    const Value *value = record_find_string(record, "shape");
    if (!value || value->tag != TAG_TEXT)
        return false;
    for (size_t i = 0; i < sizeof shape_names / sizeof *shape_names; i++)
        if (strcmp(value->as.text->bytes, shape_names[i]) == 0) {
            *shape = (FermentShape)i;
            return true;
        }
    return false;
}

/* When the curve began, in days, and in what that is reported: UNIT_DATE or UNIT_DAY. */
static bool field_began(const Call *call, const RecordObject *record, UnitId *when, double *day) {
    const UnitId kinds[] = {UNIT_DATE, UNIT_DAY};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (field_in(call, record, "began", kinds[i], day)) {
            *when = kinds[i];
            return kinds[i] == UNIT_DATE || fabs(*day) <= days_most;
        }
    return false;
}

static bool read_curve(Call *call, FermentCurve *curve, UnitId *when, double *began) {
    const RecordObject *record = call->args[0].as.record;
    double start = 0, final = 0, steepest = 0;
    UnitId rate = 0;
    if (!pts_a_day(call, &rate))
        return false;
    if (!field_in(call, record, "start", UNIT_SG, &start) ||
        !field_in(call, record, "final", UNIT_SG, &final) ||
        !field_in(call, record, "steepest", rate, &steepest) ||
        !field_in(call, record, "middle", UNIT_DAY, &curve->middle_day) || !(start > final) ||
        !(steepest > 0))
        return native_wants(call, 0, arg_words(PHRASE_CURVE));
    if (!field_shape(record, &curve->shape))
        return native_wants(call, 0, arg_words(PHRASE_CURVE_SHAPE));
    if (!field_began(call, record, when, began))
        return native_wants(call, 0, arg_words(PHRASE_CURVE_BEGAN));
    curve->start_pts = 1000 * (start - 1);
    curve->final_pts = 1000 * (final - 1);
    curve->rate_per_day = ferment_curve_rate(curve->shape, curve->start_pts - curve->final_pts, steepest);
    return true;
}

static bool curve_gravity_native(Call *call) {
    FermentCurve curve;
    UnitId when = UNIT_DAY;
    double began = 0, day = 0;
    if (!read_curve(call, &curve, &when, &began) || !native_in(call, 1, when, &day))
        return false;
    return native_give(call, 1 + ferment_curve_pts(&curve, day - began) / 1000, UNIT_SG);
}

/* ---- forecast ---- */

static bool fail_open(Call *call, const Log *log, double from) {
    Value value;
    return give_when(call, log, from, floor, &value) &&
           native_fail(call, 0, MSG_LOG_OPEN, ARGS(arg_value(call->arith.units, value)));
}

static double nearest(double day) {
    return floor(day + 0.5);
}

static bool forecast_native(Call *call) {
    Log log;
    FermentExpectation expectation;
    FermentForecast forecast;
    Value from, likely, to;
    bool done = read_study(call, &log, &expectation);
    if (done) {
        FermentOutcome outcome = ferment_forecast(log.readings, log.count, &expectation, &forecast);
        done = outcome == FERMENT_DONE   ? true
               : outcome == FERMENT_OPEN ? fail_open(call, &log, forecast.from_day)
                                         : fail_outcome(call, outcome);
    }
    done = done && give_when(call, &log, forecast.from_day, floor, &from) &&
           give_when(call, &log, forecast.likely_day, nearest, &likely) &&
           give_when(call, &log, forecast.to_day, ceil, &to);
    if (done) {
        const Named fields[] = {
            {"from", from},
            {"likely", likely},
            {"to", to},
            {"final", gravity_of(forecast.curve.final_pts)},
            {"final_uncertainty", value_amount(forecast.curve.final_error_pts, UNIT_PTS)},
            {"shape", value_string(call->arith.heap, shape_names[forecast.curve.shape])},
        };
        done = GIVE_RECORD(call, fields);
        native_caution(call->context, NULL, CAUTION_FORECAST, NO_ARGS);
    }
    mem_free(log.readings);
    return done;
}

static const Native rows[] = {
    NATIVE(curve),
    NATIVE(curve_gravity),
    NATIVE(forecast),
    NATIVE(trend),
};

const NativeTable native_log_table = NATIVE_TABLE(rows);
