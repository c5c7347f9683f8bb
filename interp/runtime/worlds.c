/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sources of uncertainty, the log of shown numbers, and random draws. */
#include "runtime/worlds.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "numbers/format.h"
#include "runtime/source_names.h"

Worlds *worlds_new(void) {
    return mem_alloc(sizeof(Worlds));
}

static void free_names(WorldSource *source) {
    mem_free(source->name);
    mem_free(source->full);
}

static void forget_late_sources(Worlds *worlds) {
    while (worlds->late_count > 0)
        free_names(&worlds->sources[worlds->source_count + --worlds->late_count]);
}

void worlds_keep_sources(Worlds *worlds, int count) {
    forget_late_sources(worlds);
    while (worlds->source_count > count)
        free_names(&worlds->sources[--worlds->source_count]);
}

void worlds_clear_reasons(Worlds *worlds) {
    for (int i = 0; i < worlds->reason_count; i++) {
        source_release(worlds->reasons[i].source);
        mem_free(worlds->reasons[i].text);
    }
    worlds->reason_count = 0;
}

void worlds_free(Worlds *worlds) {
    if (!worlds)
        return;
    worlds_keep_sources(worlds, 0);
    worlds_clear_reasons(worlds);
    bad_ends_free(&worlds->ends);
    turned_free(&worlds->turned);
    place_map_free(&worlds->places);
    place_map_free(&worlds->central_places);
    place_map_free(&worlds->refused);
    mem_free(worlds->evaluated);
    mem_free(worlds->refusals);
    mem_free(worlds->sided);
    mem_free(worlds->sources);
    mem_free(worlds->draws);
    mem_free(worlds->log.items);
    mem_free(worlds->central.items);
    mem_free(worlds->shares);
    mem_free(worlds->bends);
    mem_free(worlds->lost);
    mem_free(worlds->crossed);
    mem_free(worlds->spreads);
    mem_free(worlds->trials);
    mem_free(worlds);
}

static void draw_sources(Worlds *worlds);

/* What was learnt of the script before, except for its sources: at the prompt they live on. */
static void forget_script(Worlds *worlds) {
    place_map_clear(&worlds->places);
    forget_late_sources(worlds);
    mem_free(worlds->trials);
    mem_free(worlds->refusals);
    worlds->trials = NULL;
    worlds->refusals = NULL;
    worlds_clear_reasons(worlds);
}

void worlds_begin(Worlds *worlds, WorldMode mode) {
    worlds->mode = mode;
    worlds->next_source = 0;
    worlds->log.count = 0;
    worlds->shown_next = 0;
    worlds->stopped = -1;
    worlds->runs = mode == WORLD_CENTRAL ? 1 : worlds->runs + 1;
    place_map_clear(&worlds->refused);
    bad_ends_begin_run(&worlds->ends, mode == WORLD_CENTRAL);
    turned_begin_run(&worlds->turned, mode == WORLD_CENTRAL);
    if (mode == WORLD_CENTRAL)
        forget_script(worlds);
    else if (mode == WORLD_TRIAL)
        draw_sources(worlds);
}

void worlds_keep_central(Worlds *worlds) {
    WorldLog kept = worlds->log;
    worlds->log = worlds->central;
    worlds->central = kept;
    worlds->log.count = 0;
    place_map_clear(&worlds->central_places);
    source_names_settle(worlds->sources, worlds->source_count);
}

/* ---- random numbers: xoshiro256** (Blackman, Vigna, ACM Trans. Math. Softw. 47, 2021), seeded by splitmix64
 * ---- */

static uint64_t rotated(uint64_t x, int k) {
    return (x << k) | (x >> (64 - k));
}

static uint64_t next_random(Worlds *worlds) {
    uint64_t *s = worlds->random;
    uint64_t result = rotated(s[1] * 5, 7) * 9, t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotated(s[3], 45);
    return result;
}

void worlds_seed(Worlds *worlds, uint64_t seed) {
    for (int i = 0; i < 4; i++) {
        seed += 0x9e3779b97f4a7c15u;
        uint64_t z = seed;
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
        worlds->random[i] = z ^ (z >> 31);
    }
}

/* 0 <= x < 1 */
static double uniform(Worlds *worlds) {
    return (double)(next_random(worlds) >> 11) * 0x1.0p-53;
}

/* Marsaglia's polar method; the second number of each pair is not kept, so that a draw depends on nothing
 * before it but the generator. */
static double normal(Worlds *worlds) {
    for (;;) {
        double u = 2 * uniform(worlds) - 1, v = 2 * uniform(worlds) - 1, s = u * u + v * v;
        if (s > 0 && s < 1)
            return u * sqrt(-2 * log(s) / s);
    }
}

/* A rectangle of this half-width has standard uncertainty 1. */
static const double RECTANGLE = 1.7320508075688772;

/* In standard uncertainties. */
static double draw(Worlds *worlds, Spread spread) {
    return spread == SPREAD_NORMAL ? normal(worlds) : (2 * uniform(worlds) - 1) * RECTANGLE;
}

/* All sources in their order, so that a seed gives the same draws whatever way a run takes. */
static void draw_sources(Worlds *worlds) {
    for (int i = 0; i < worlds->source_count + worlds->late_count; i++) {
        MEM_GROW(worlds->draws, i, worlds->draw_capacity);
        worlds->draws[i] = i < worlds->source_count ? draw(worlds, worlds->sources[i].spread) : (double)NAN;
    }
}

/* The draw of a source, always the same within a run (find evaluates a source many times). */
static double draw_of(Worlds *worlds, int source) {
    if (isnan(worlds->draws[source]))
        worlds->draws[source] = draw(worlds, worlds->sources[source].spread);
    return worlds->draws[source];
}

/* ---- sources ---- */

/* Learns a source at a place where none is known. A drawn run may come to some that no run before met. */
static int learn_source(Worlds *worlds, WorldSource source) {
    int index = worlds->source_count + worlds->late_count;
    MEM_GROW(worlds->sources, index, worlds->source_capacity);
    worlds->sources[index] = source;
    place_map_add(&worlds->places, source.place, index);
    if (worlds->mode != WORLD_TRIAL) {
        worlds->source_count++;
        return index;
    }
    worlds->late_count++;
    MEM_GROW(worlds->draws, index, worlds->draw_capacity);
    worlds->draws[index] = (double)NAN;
    return index;
}

/* There is no infinity, in hidden runs neither. */
static double moved_number(double number, double by) {
    return fmax(-DBL_MAX, fmin(DBL_MAX, number + by));
}

bool worlds_are_moved(const Worlds *worlds) {
    return worlds->mode == WORLD_MOVED || worlds->mode == WORLD_TRIAL || worlds->mode == WORLD_END;
}

/* A run with one source moved, or a pair: is it that one? */
static bool is_moved(const Worlds *worlds, int source) {
    return (worlds->mode == WORLD_MOVED || worlds->mode == WORLD_END) && source >= 0 &&
           (source == worlds->moved || source == worlds->moved_too);
}

double worlds_source(Worlds *worlds, uint64_t place, SourceWords words, Value value, double uncertainty,
                     Spread spread) {
    bool learns = worlds->mode == WORLD_CENTRAL || worlds->mode == WORLD_TRIAL;
    int source = place_map_get(&worlds->places, place);
    WorldSource met = {.place = place,
                       .name = words.brief,
                       .full = words.full,
                       .uncertainty = uncertainty,
                       .spread = spread,
                       .value = value};
    if (source < 0 && learns)
        source = learn_source(worlds, met);
    else
        free_names(&met);
    MEM_GROW(worlds->evaluated, worlds->next_source, worlds->evaluated_capacity);
    worlds->evaluated[worlds->next_source++] = source;
    if (is_moved(worlds, source))
        return moved_number(value.as.number, worlds->moved_by * uncertainty);
    if (worlds->mode == WORLD_TRIAL)
        return moved_number(value.as.number, draw_of(worlds, source) * uncertainty);
    return value.as.number;
}

double worlds_moved_by(const Worlds *worlds, int k) {
    int source = worlds->evaluated[k];
    if (worlds->mode == WORLD_TRIAL)
        return worlds->draws[source];
    return is_moved(worlds, source) ? worlds->moved_by : 0;
}

/* ---- limits at the bad end of a ± ---- */

double worlds_reach(const Worlds *worlds, int source) {
    return worlds->sources[source].spread == SPREAD_RECTANGULAR ? RECTANGLE : 2;
}

/* On the unit of the central run; NaN where it is of another kind there. */
static double on_unit(const Worlds *worlds, double number, UnitId from, UnitId unit) {
    if (from == unit)
        return number;
    Fault ignored = {0};
    double converted;
    bool same = unit_same_kind(worlds->units, from, unit) &&
                unit_convert(worlds->units, number, from, unit, &converted, &ignored);
    fault_clear(&ignored);
    return same ? converted : (double)NAN;
}

static Value at_bad_end(const JudgedFigure *known) {
    Value value = known->figure;
    if (!isfinite(known->margin) || fabs(value.as.number + known->margin) > DBL_MAX)
        return value_none();
    value.as.number += known->margin;
    return value;
}

Value worlds_judge(Worlds *worlds, uint64_t place, Value figure, Judge how) {
    bool is_weighed = how == JUDGE_WEIGHED;
    if (worlds->mode == WORLD_CENTRAL) {
        const JudgedFigure *learnt = bad_ends_learn(&worlds->ends, place, figure, is_weighed);
        return is_weighed ? figure : at_bad_end(learnt);
    }
    JudgedFigure *known = bad_ends_get(&worlds->ends, place);
    if (is_weighed) {
        bool stays = known && worlds->mode == WORLD_END && worlds->as_weighed;
        return stays ? known->figure : figure;
    }
    if (!known) /* only this run comes to it */
        return worlds->mode == WORLD_AGAIN ? value_none() : figure;
    if (worlds->mode == WORLD_END)
        known->ends[worlds->moved_by < 0] =
            on_unit(worlds, figure.as.number, figure.unit, known->figure.unit);
    return at_bad_end(known);
}

bool worlds_recall(Worlds *worlds, uint64_t place, UnitId unit, double *number) {
    if (worlds->mode != WORLD_END || !worlds->as_weighed)
        return false;
    const JudgedFigure *known = bad_ends_get(&worlds->ends, place);
    *number = known ? on_unit(worlds, known->figure.as.number, known->figure.unit, unit) : (double)NAN;
    return !isnan(*number);
}

/* ---- what a run has no value for ---- */

static bool is_reason(const Reason *reason, const Diag *why) {
    return reason->id == why->id && reason->source == why->source && reason->at.start == why->span.start &&
           reason->at.end == why->span.end;
}

static int reason_of(Worlds *worlds, const Diag *why) {
    for (int i = 0; i < worlds->reason_count; i++) {
        Reason *reason = &worlds->reasons[i];
        if (!is_reason(reason, why))
            continue;
        reason->varies = reason->varies || strcmp(reason->text, why->message) != 0;
        return i;
    }
    if (worlds->reason_count == REASONS_MOST) {
        worlds->reasons[REASONS_MOST - 1].varies = true;
        return REASONS_MOST - 1;
    }
    worlds->reasons[worlds->reason_count] = (Reason){.id = why->id,
                                                     .source = source_keep(why->source),
                                                     .at = why->span,
                                                     .text = mem_copy_string(why->message)};
    return worlds->reason_count++;
}

/* How this run moves its one source. */
static Turn turn_of(const Worlds *worlds) {
    bool to_end = worlds->mode == WORLD_END;
    return (Turn){.source = worlds->moved,
                  .down = worlds->moved_by < 0,
                  .to_end = to_end,
                  .tolerance = to_end && worlds->sources[worlds->moved].spread == SPREAD_RECTANGULAR};
}

/* Are its results compared with those of the script as it is? */
static bool has_faces(const Worlds *worlds) {
    bool pair = worlds->mode == WORLD_MOVED && worlds->moved_too >= 0;
    return worlds->mode != WORLD_PLAIN && worlds->mode != WORLD_TRIAL && !pair;
}

/* A limit that only this run comes to; not where the script as it is fails as well. */
static void add_refusal(Worlds *worlds, MessageId id, const Source *source, Span at, const char *text) {
    bool fails_too = source == worlds->failed_in && at.start == worlds->failed_at.start;
    if (id == MSG_REFUSED && !fails_too)
        turned_add_caution(&worlds->turned, text, turn_of(worlds));
}

void worlds_refuse(Worlds *worlds, uint64_t place, const Diag *why, bool is_result) {
    if (!worlds_are_moved(worlds))
        return;
    place_map_add(&worlds->refused, place, reason_of(worlds, why));
    bool elsewhere = is_result && place_map_get(&worlds->turned.places, place) < 0;
    if (elsewhere && has_faces(worlds))
        add_refusal(worlds, why->id, why->source, why->span, why->message);
}

void worlds_stop(Worlds *worlds, const Diag *why) {
    if (worlds_are_moved(worlds))
        worlds->stopped = reason_of(worlds, why);
}

int worlds_reason(const Worlds *worlds, int number) {
    int reason = place_map_get(&worlds->refused, worlds->central.items[number].shown);
    return reason < 0 && number > worlds->reached ? worlds->stopped : reason;
}

/* ---- contributions ---- */

size_t worlds_bytes(const Worlds *worlds) {
    const size_t name = 64; /* of a source, about */
    return (size_t)worlds->source_capacity * (sizeof(WorldSource) + name) +
           (size_t)(worlds->log.capacity + worlds->central.capacity) * sizeof(LoggedNumber) +
           (size_t)worlds->draw_capacity * sizeof(double) + (size_t)worlds->evaluated_capacity * sizeof(int) +
           place_map_bytes(&worlds->places) + place_map_bytes(&worlds->central_places) +
           place_map_bytes(&worlds->refused) + bad_ends_bytes(&worlds->ends) + turned_bytes(&worlds->turned) +
           worlds->share_bytes;
}

size_t worlds_share_bytes(const Worlds *worlds) {
    return ((size_t)worlds->central.count + 1) * ((size_t)worlds->source_count + 4) * sizeof(double);
}

void worlds_open_shares(Worlds *worlds) {
    size_t numbers = (size_t)worlds->central.count + 1;
    worlds->share_bytes = worlds_share_bytes(worlds);
    mem_free(worlds->shares);
    mem_free(worlds->bends);
    mem_free(worlds->lost);
    mem_free(worlds->sided);
    mem_free(worlds->crossed);
    mem_free(worlds->spreads);
    worlds->sided = mem_array(numbers, sizeof(int));
    worlds->crossed = mem_array(numbers, sizeof(double));
    worlds->lost = mem_array(numbers, sizeof(int));
    worlds->lost_told = 0;
    worlds->shares = mem_array(numbers * (size_t)(worlds->source_count + 1), sizeof(double));
    worlds->bends = mem_array(numbers, sizeof(double));
    worlds->spreads = mem_array(numbers, sizeof(double));
}

static void fill_central_places(Worlds *worlds) {
    if (worlds->central_places.count)
        return;
    for (int i = 0; i < worlds->central.count; i++)
        place_map_add(&worlds->central_places, worlds->central.items[i].place, i);
}

/* Most runs show the same in the same order: only one that does not is looked up. */
void worlds_align(Worlds *worlds, double *numbers) {
    int next = 0;
    worlds->reached = -1;
    for (int i = 0; i < worlds->central.count; i++)
        numbers[i] = (double)NAN;
    for (int i = 0; i < worlds->log.count; i++) {
        const LoggedNumber *logged = &worlds->log.items[i];
        int at = next;
        if (at >= worlds->central.count || worlds->central.items[at].place != logged->place) {
            fill_central_places(worlds);
            at = place_map_get(&worlds->central_places, logged->place);
        }
        if (at < 0)
            continue; /* the central run has it not */
        numbers[at] = on_unit(worlds, logged->number, logged->unit, worlds->central.items[at].unit);
        worlds->reached = at > worlds->reached ? at : worlds->reached;
        next = at + 1;
    }
}

static double *share_of(const Worlds *worlds, int number, int source) {
    return &worlds->shares[(size_t)number * (size_t)worlds->source_count + (size_t)source];
}

void worlds_add_share(Worlds *worlds, int source, const double *up, const double *down, int stopped_behind) {
    for (int i = 0; i < worlds->central.count; i++) {
        double central = worlds->central.items[i].number;
        bool goes_up = !isnan(up[i]), goes_down = !isnan(down[i]);
        if (!goes_up && !goes_down) {
            worlds->lost[i] = i > stopped_behind ? source + 1 : -(source + 1);
            continue;
        }
        double above = goes_up ? up[i] - central : central - down[i];
        double below = goes_down ? down[i] - central : central - up[i];
        if (!goes_up || !goes_down) { /* one side only: what there is, and a poor guide, as is reported */
            worlds->sided[i] = goes_down ? source + 1 : -(source + 1);
            worlds->bends[i] = DBL_MAX;
        }
        if (!isfinite(above) || !isfinite(below))
            continue;                                         /* of numbers near the largest there is */
        *share_of(worlds, i, source) = above / 2 - below / 2; /* JCGM 100, 5.1.3 note 2 */
        if (worlds->bends[i] < DBL_MAX)
            worlds->bends[i] += above / 2 + below / 2;
    }
}

/* The mixed second difference is u_a u_b ∂²f/∂a∂b; its square is a term of the variance that first order
 * leaves out (JCGM 100:2008, 5.1.2 note). */
void worlds_add_cross(Worlds *worlds, const double *a, const double *b, const double *both) {
    for (int i = 0; i < worlds->central.count; i++) {
        double cross = both[i] - a[i] - b[i] + worlds->central.items[i].number;
        if (isfinite(cross * cross)) /* NaN where one of the runs lacks it */
            worlds->crossed[i] += cross * cross;
    }
}

void worlds_settle(Worlds *worlds) {
    for (int i = 0; i < worlds->central.count; i++) {
        double variance = 0, largest = 0; /* squares of huge shares, or tiny ones, are not numbers */
        for (int source = 0; source < worlds->source_count; source++)
            largest = fmax(largest, fabs(*share_of(worlds, i, source)));
        for (int source = 0; source < worlds->source_count && largest > 0; source++) {
            double share = *share_of(worlds, i, source) / largest;
            variance += share * share;
        }
        worlds->spreads[i] = fmin(sqrt(variance) * largest, DBL_MAX);
        if (largest == 0 && worlds->sided[i]) { /* there is no ± that could be a poor guide */
            worlds->sided[i] = 0;
            worlds->bends[i] = 0;
        }
    }
}

bool worlds_is_bent(const Worlds *worlds, int number) {
    const double poor =
        0.1; /* the second order moves the value, or widens its uncertainty, by a tenth of that */
    double bend = fabs(worlds->bends[number]), spread = worlds->spreads[number];
    double least = 1e-9 * fabs(worlds->central.items[number].number);
    double wider = hypot(spread, sqrt(worlds->crossed[number])) - spread;
    return (bend > poor * spread && bend > least) || (wider > poor * spread && wider > least);
}

/* ---- shown numbers ---- */

/* One number of a value with so many: a list that is longer in another run is another list. */
static uint64_t place_of(uint64_t shown, int index, int count) {
    return shown + (uint64_t)index * 0x9e3779b97f4a7c15u + (uint64_t)count * 0xd1342543de82ef95u;
}

static void add_numbers(Worlds *worlds, uint64_t place, Value value) {
    WorldLog *log = &worlds->log;
    ShownNumber few[8], *numbers = few;
    int count = display_numbers(worlds->units, value, few, 8);
    if (count > 8) {
        numbers = mem_array((size_t)count, sizeof *numbers);
        display_numbers(worlds->units, value, numbers, count);
    }
    for (int i = 0; i < count; i++) {
        MEM_GROW(log->items, log->count, log->capacity);
        log->items[log->count++] = (LoggedNumber){.place = place_of(place, i, count),
                                                  .shown = place,
                                                  .number = numbers[i].number,
                                                  .unit = numbers[i].unit};
    }
    if (numbers != few)
        mem_free(numbers);
}

int worlds_show(Worlds *worlds, uint64_t place, Value value) {
    if (worlds->mode == WORLD_PLAIN || worlds->mode == WORLD_END)
        return -1;
    int first = worlds->log.count;
    if (worlds->mode != WORLD_AGAIN) {
        add_numbers(worlds, place, value);
        return worlds->mode == WORLD_CENTRAL && worlds->log.count > first ? first : -1;
    }
    int count = display_numbers(worlds->units, value, NULL, 0);
    first = worlds->shown_next;
    worlds->shown_next += count;
    for (int i = first; i < first + count; i++)
        if (i >= worlds->central.count || worlds->central.items[i].shown != place)
            return -1;
    return count ? first : -1;
}

void worlds_work(Worlds *worlds, int first) {
    for (int i = first; i < worlds->log.count; i++)
        worlds->log.items[i].worked = true;
}

bool worlds_want_again(const Worlds *worlds) {
    for (int i = 0; i < worlds->central.count; i++)
        if (worlds->central.items[i].worked &&
            (worlds->spreads[i] > DISPLAY_SPREAD_LEAST * fabs(worlds->central.items[i].number) ||
             worlds->lost[i] || worlds->sided[i] ||
             (worlds->trials && worlds->trials[i].count < worlds->trials[i].draws)))
            return true;
    return false;
}

/* ---- faces ---- */

/* Does it hold a truth? Looks at `left` values at most. */
static bool holds_truth(Value value, int *left) {
    if (--*left < 0 || value.tag == TAG_TRUTH)
        return value.tag == TAG_TRUTH;
    uint32_t count = value.tag == TAG_LIST     ? value.as.list->count
                     : value.tag == TAG_RECORD ? value.as.record->count
                                               : 0;
    for (uint32_t i = 0; i<count && * left> 0; i++)
        if (holds_truth(value.tag == TAG_LIST ? value.as.list->items[i] : value.as.record->fields[i].value,
                        left))
            return true;
    return false;
}

/* `text`: NULL for a number. */
static int face_of(Worlds *worlds, uint64_t place, const char *text, Value value) {
    enum { LOOKED_AT = 10000 };
    int left = LOOKED_AT;
    if (worlds->mode == WORLD_CENTRAL)
        return turned_learn(&worlds->turned, place, text, holds_truth(value, &left));
    if (worlds->mode == WORLD_AGAIN)
        return turned_find(&worlds->turned, place);
    int other = turned_compare(&worlds->turned, place, text);
    if (other < 0)
        return -1;
    Text brief = {0};
    display_brief(&brief, worlds->units, value, false);
    turned_set(&worlds->turned, other, FACE_OTHER, text_string(&brief), turn_of(worlds));
    text_free(&brief);
    return -1;
}

int worlds_face_text(Worlds *worlds, uint64_t place, const char *text, Value value) {
    return has_faces(worlds) ? face_of(worlds, place, text, value) : -1;
}

int worlds_face(Worlds *worlds, uint64_t place, Value value) {
    if (!has_faces(worlds))
        return -1;
    if (value_is_quantity(value))
        return face_of(worlds, place, NULL, value);
    Text text = {0};
    display_value(&text, worlds->units, value, (FormatSpec){0});
    int face = face_of(worlds, place, text_string(&text), value);
    text_free(&text);
    return face;
}

/* The reason why this run does not come to a face, or -1 if it took another path. */
static int reason_of_face(const Worlds *worlds, int face, int reached) {
    int reason = place_map_get(&worlds->refused, worlds->turned.faces[face].place);
    return reason < 0 && face > reached ? worlds->stopped : reason;
}

static void set_missing(Worlds *worlds, int face, int reached) {
    int reason = reason_of_face(worlds, face, reached);
    if (reason < 0) {
        turned_set(&worlds->turned, face, FACE_AWAY, NULL, turn_of(worlds));
        return;
    }
    bool here = place_map_get(&worlds->refused, worlds->turned.faces[face].place) >= 0;
    worlds->turned.faces[face].by_limit = worlds->reasons[reason].id == MSG_REFUSED;
    turned_set(&worlds->turned, face, here ? FACE_FAILS : FACE_STOPPED, worlds->reasons[reason].text,
               turn_of(worlds));
}

void worlds_keep_faces(Worlds *worlds, const Report *report, const Diag *error) {
    worlds->failed_in = error ? error->source : NULL;
    worlds->failed_at = error ? error->span : (Span){0, 0};
    turned_take_cautions(&worlds->turned, report, NULL);
}

void worlds_compare(Worlds *worlds, const Report *report) {
    Turned *turned = &worlds->turned;
    Turn turn = turn_of(worlds);
    turned_take_cautions(turned, report, &turn);
    int reached = -1;
    for (int i = 0; i < turned->count; i++)
        if (turned->faces[i].seen == turned->run)
            reached = i;
    for (int i = 0; i < turned->count; i++)
        if (turned->faces[i].seen != turned->run && turned->faces[i].fate == FACE_STAYS)
            set_missing(worlds, i, reached);
    const Reason *stopped = worlds->stopped >= 0 ? &worlds->reasons[worlds->stopped] : NULL;
    if (stopped && reached == turned->count - 1) /* no face tells of it */
        add_refusal(worlds, stopped->id, stopped->source, stopped->at, stopped->text);
}

/* A spread is a difference of two runs: what is after its twelfth digit is what rounding left of them. */
static double without_noise(double spread) {
    enum { DIGITS = 12 };
    Text digits = {0};
    double rounded = spread;
    format_digits(&digits, spread, DIGITS);
    bool read = format_read(text_string(&digits), digits.length, &rounded);
    text_free(&digits);
    return read ? rounded : spread;
}

double worlds_spread(const Worlds *worlds, int number) {
    return without_noise(worlds->spreads[number]);
}
