/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What belongs to a step beside its sum: the table of a pour, what was taken for granted, the sources of a ±.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "facade/working_state.h"
#include "values/liquid_value.h"
#include "values/value_arg.h"

/* ---- pours ---- */

enum { POUR_PARTS_MOST = 40, PLACES_MORE = 6 };

typedef struct Pour {
    const WorkingBuilder *b;
    const Record *parts[POUR_PARTS_MOST];
    int count;
    LiquidObject *made;
} Pour;

/* What is conserved, or nearly (the volume): a column of the table. */
typedef enum PourContent {
    POUR_VOLUME,
    POUR_WATER,
    POUR_SUGAR,
    POUR_SOLIDS,
    POUR_ALCOHOL,
    POUR_ACID,
    POUR_BITTERNESS,
    POUR_COST,
    POUR_CONTENTS
} PourContent;

static const struct {
    MessageId head;
    bool in_grams; /* of masses: of small ones, whatever the size of the whole */
} pour_contents[POUR_CONTENTS] = {
    [POUR_VOLUME] = {PHRASE_POUR_VOLUME, false},        [POUR_WATER] = {PHRASE_POUR_WATER, false},
    [POUR_SUGAR] = {PHRASE_POUR_SUGAR, false},          [POUR_SOLIDS] = {PHRASE_POUR_SOLIDS, false},
    [POUR_ALCOHOL] = {PHRASE_POUR_ALCOHOL, false},      [POUR_ACID] = {PHRASE_POUR_ACID, true},
    [POUR_BITTERNESS] = {PHRASE_POUR_BITTERNESS, true}, [POUR_COST] = {PHRASE_POUR_COST, false}};

static double contents_of(LiquidObject *object, PourContent content) {
    const Liquid *liquid = &object->liquid;
    switch (content) {
    case POUR_VOLUME:
        return liquid_value_volume_l(object);
    case POUR_WATER:
        return liquid->water_kg;
    case POUR_SUGAR:
        return liquid->sugar_kg;
    case POUR_SOLIDS:
        return liquid->solids_kg;
    case POUR_ALCOHOL:
        return liquid->alcohol_kg;
    case POUR_ACID:
        return liquid->acid_kg;
    case POUR_BITTERNESS:
        return liquid->bitter_kg;
    case POUR_COST:
        return liquid->has_cost ? liquid->cost : 0;
    case POUR_CONTENTS:
        break;
    }
    return 0;
}

/* The unit a row is in, and its number on it. */
static double in_content_unit(const Pour *pour, LiquidObject *object, PourContent content, UnitId *unit) {
    const UnitTable *units = pour->b->session->registry->units;
    double number = contents_of(object, content);
    if (content == POUR_COST) {
        Fault fault = {0};
        *unit = pour->made->money;
        if (object->money && object->money != *unit)
            unit_convert(units, number, object->money, *unit, &number, &fault);
        fault_clear(&fault);
        return number;
    }
    if (content == POUR_VOLUME) {
        Value volume = liquid_value_volume_like(units, pour->made, number);
        *unit = volume.unit;
        return volume.as.number;
    }
    bool small = pour_contents[content].in_grams || liquid_mass_kg(&pour->made->liquid) < 1;
    *unit = small ? UNIT_G : UNIT_KG;
    return small ? number * 1000 : number;
}

static double rounded(double number, int places) {
    Text text = {0};
    double read = number;
    format_places(&text, number, places);
    format_read(text_string(&text), text.length, &read);
    text_free(&text);
    return read;
}

/* As many places as it takes for the parts to add up as they are printed; `rounds` where nothing helps. */
static int places_of(const double *numbers, int count, double sum, bool *rounds) {
    double size = fabs(sum);
    int least = size >= 100 ? 1 : size >= 1 ? 3 : 4;
    for (int places = least; places < least + PLACES_MORE; places++) {
        double printed = 0, half = 0.25 * pow(10, -places);
        for (int i = 0; i < count; i++)
            printed += rounded(numbers[i], places);
        if (fabs(printed - rounded(sum, places)) < half)
            return places;
    }
    *rounds = true;
    return least;
}

static char *number_text(const Pour *pour, double number, UnitId unit, int places) {
    Text out = {0};
    display_quantity(&out, pour->b->session->registry->units, number, unit,
                     (FormatSpec){.mode = FORMAT_PLACES, .count = places});
    return text_take(&out);
}

/* A column of the table: the parts, their sum, what they made. */
static void fill_column(const Pour *pour, PourContent content, WorkingTable *table, int at, bool *rounds) {
    double numbers[POUR_PARTS_MOST], sum = 0;
    UnitId unit = UNIT_NUMBER;
    for (int i = 0; i < pour->count; i++)
        sum += numbers[i] = in_content_unit(pour, pour->parts[i]->value.as.liquid, content, &unit);
    double made = in_content_unit(pour, pour->made, content, &unit);
    int places = places_of(numbers, pour->count, sum, rounds);
    *working_cell(table, 0, at) = mem_copy_string(message_text(pour_contents[content].head));
    for (int i = 0; i < pour->count; i++)
        *working_cell(table, i + 1, at) = number_text(pour, numbers[i], unit, places);
    *working_cell(table, pour->count + 1, at) = number_text(pour, sum, unit, places);
    *working_cell(table, pour->count + 2, at) = number_text(pour, made, unit, places);
}

/* A cost is known when it is of all parts. */
static bool has_content(const Pour *pour, PourContent content) {
    for (int i = 0; i < pour->count; i++)
        if (content == POUR_COST && !pour->parts[i]->value.as.liquid->liquid.has_cost)
            return false;
    for (int i = 0; i < pour->count; i++)
        if (contents_of(pour->parts[i]->value.as.liquid, content) > 0)
            return true;
    return false;
}

/* The parts of a sum, but not those of a sum in one of them. */
static bool find_parts(Pour *pour, int32_t from, int32_t to) {
    const Record *whole = working_record(pour->b, to);
    for (int32_t i = to - 1; i > from; i--) { /* what a part is made of comes before it */
        const Record *record = working_record(pour->b, i);
        const Mark *mark = recorder_mark_of(record);
        bool part = mark->role == MARK_PART && record->depth == whole->depth &&
                    span_holds(recorder_mark_of(whole)->span, mark->span);
        for (int k = 0; k < pour->count && part; k++)
            part = !span_holds(recorder_mark_of(pour->parts[k])->span, mark->span);
        if (!part)
            continue;
        if (record->value.tag != TAG_LIQUID || pour->count == POUR_PARTS_MOST)
            return false;
        pour->parts[pour->count++] = record;
    }
    for (int k = 0; k < pour->count / 2; k++) {
        const Record *other = pour->parts[k];
        pour->parts[k] = pour->parts[pour->count - 1 - k];
        pour->parts[pour->count - 1 - k] = other;
    }
    return pour->count > 1;
}

void working_fill_pour(const WorkingBuilder *b, int32_t from, int32_t to, WorkingStep *step) {
    Pour pour = {.b = b};
    if (working_record(b, to)->value.tag != TAG_LIQUID || step->table.cells || !find_parts(&pour, from, to))
        return;
    pour.made = working_record(b, to)->value.as.liquid;
    int columns = 1;
    for (int content = 0; content < POUR_CONTENTS; content++)
        columns += has_content(&pour, (PourContent)content);
    working_table_new(&step->table, pour.count + 3, columns);
    *working_cell(&step->table, 0, 0) = mem_copy_string("");
    for (int i = 0; i < pour.count; i++)
        *working_cell(&step->table, i + 1, 0) =
            working_source(pour.parts[i], recorder_mark_of(pour.parts[i])->span);
    *working_cell(&step->table, pour.count + 1, 0) = mem_copy_string(message_text(PHRASE_POUR_BEFORE));
    *working_cell(&step->table, pour.count + 2, 0) = mem_copy_string(message_text(PHRASE_POUR_AFTER));
    for (int content = 0, at = 1; content < POUR_CONTENTS; content++)
        if (has_content(&pour, (PourContent)content))
            fill_column(&pour, (PourContent)content, &step->table, at++, &step->rounded);
}

bool working_is_inner_sum(const WorkingBuilder *b, int32_t to, int32_t end) {
    const Record *sum = working_record(b, to);
    Span span = recorder_mark_of(sum)->span;
    for (int32_t i = to + 1; i <= end; i++) {
        const Record *record = working_record(b, i);
        const Mark *mark = recorder_mark_of(record);
        if (record->depth != sum->depth || record->phase == MARK_BEGIN)
            continue;
        if (mark->role == MARK_PART && mark->span.start == span.start && mark->span.end == span.end)
            return false;
        if (mark->role == MARK_SUM && mark->span.start == span.start && mark->span.end > span.end)
            return true;
    }
    return false;
}

/* ---- what was taken for granted ---- */

/* The call of a script that came to assume something: its place. */
static const Mark *call_that_assumed(const WorkingBuilder *b, const Assumed *assumed) {
    for (int32_t i = assumed->before - 1; i >= 0; i--) {
        const Mark *mark = working_mark(b, i);
        if (mark->role == MARK_CALL && working_record(b, i)->phase == MARK_BEGIN)
            return mark;
    }
    return NULL;
}

/* Was the same said before, of the same call? From now on it was. */
static bool was_assumed(WorkingBuilder *b, const Assumed *assumed) {
    Text key = {0};
    text_add_integer(&key, assumed->id);
    text_add_char(&key, ' ');
    text_add_integer(&key, (long long)(uintptr_t)call_that_assumed(b, assumed));
    bool known = name_map_get(&b->defaults, text_string(&key), &(int){0});
    name_map_set(&b->defaults, text_string(&key), 1);
    text_free(&key);
    return known;
}

/* The first that was noted after a record. */
static int first_assumed(const Recorder *recorder, int32_t after) {
    int low = 0, high = recorder->assumed_count;
    while (low < high) {
        int middle = low + (high - low) / 2;
        if (recorder->assumed[middle].before <= after)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

void working_fill_assumptions(WorkingBuilder *b, int32_t from, int32_t to, WorkingStep *step) {
    const Recorder *recorder = b->recorder;
    for (int i = first_assumed(recorder, from); i < recorder->assumed_count; i++) {
        const Assumed *assumed = &recorder->assumed[i];
        if (assumed->before > to)
            return;
        if (b->assumed[i])
            continue;
        b->assumed[i] = true;
        if (was_assumed(b, assumed))
            continue;
        MessageId id = (MessageId)assumed->id;
        MessageId change = id == NOTE_JUICE_SHARE  ? PHRASE_CHANGE_SHARE
                           : id == NOTE_MALT_SHARE ? PHRASE_CHANGE_MALT_SHARE
                                                   : PHRASE_CHANGE_SUGAR;
        bool known = name_map_get(&b->defaults, message_text(id), &(int){0}); /* and how to change it */
        name_map_set(&b->defaults, message_text(id), 1);
        working_assume(step, known ? mem_copy_string(message_text(id))
                                   : message_take(PHRASE_ASSUMED, ARGS(arg_words(id), arg_words(change))));
    }
}

/* `at: 20 °C` from the usage of a formula; NULL where the parameter's default is absent, nought or nothing.
 */
static char *default_text(const Formula *formula, int index) {
    const char *label = formula->params[index].label;
    Text start = {0};
    text_add_string(&start, label);
    text_add_string(&start, ": ");
    const char *at = strstr(formula->usage, text_string(&start));
    while (at && at > formula->usage && !strchr("( ", at[-1]))
        at = strstr(at + 1, text_string(&start));
    text_free(&start);
    if (!at)
        return NULL;
    const char *value = at + strlen(label) + 2;
    size_t length = 0;
    bool quoted = false;
    for (int depth = 0; value[length] && (depth > 0 || quoted || !strchr(",)", value[length])); length++) {
        quoted = quoted != (value[length] == '"');
        depth +=
            (value[length] == '(' || value[length] == '[') - (value[length] == ')' || value[length] == ']');
    }
    double number;
    size_t digits = strspn(value, "0123456789.");
    bool nought = format_read(value, digits, &number) && !(number > 0);
    return nought || (length == 4 && strncmp(value, "none", 4) == 0) ? NULL : mem_copy(value, length);
}

void working_fill_defaults(WorkingBuilder *b, const Mark *call, WorkingStep *step) {
    const Formula *formula = call->number >= 0 ? b->session->registry->formulas[call->number] : NULL;
    for (int i = 0; formula && i < formula->param_count && i < 64; i++) {
        bool size =
            strcmp(formula->params[i].label, "mass") == 0; /* of a liquid that is poured by the amount */
        char *value = call->left_out >> i & 1 && !size ? default_text(formula, i) : NULL;
        if (!value)
            continue;
        const char *label = formula->params[i].label;
        char *text = message_take(PHRASE_DEFAULT, ARGS(label, value, formula->name));
        mem_free(value);
        if (name_map_get(&b->defaults, text, &(int){0})) {
            mem_free(text);
            continue;
        }
        name_map_set(&b->defaults, text, 1);
        working_assume(step, text);
    }
}

/* ---- units ---- */

/* Does a text have the unit, as a word or in the plural? */
static bool has_unit(const char *text, const char *unit) {
    size_t length = strlen(unit);
    for (const char *at = text ? strstr(text, unit) : NULL; at; at = strstr(at + 1, unit)) {
        char before = at > text ? at[-1] : ' ', after = at[length] == 's' ? at[length + 1] : at[length];
        if (strchr(" (/*·", before) && (!after || strchr(" ),/*^]}\"", after)))
            return true;
    }
    return false;
}

static bool uses_unit(const WorkingStep *steps, int count, const char *unit) {
    for (int i = 0; i < count; i++) {
        const WorkingStep *step = &steps[i];
        if (has_unit(step->expression, unit) || has_unit(step->with_values, unit) ||
            has_unit(step->value, unit) || uses_unit(step->children, step->child_count, unit))
            return true;
    }
    return false;
}

void working_add_units(WorkingBuilder *b, Working *working) {
    const Session *session = b->session;
    for (int i = 0; i < session->note_count; i++) {
        const NameNote *note = &session->notes[i];
        if (!note->is_unit || !note->written)
            continue;
        const char *name = unit_get(session->registry->units, (UnitId)note->number)->name;
        if (name_map_get(&b->units, name, &(int){0}) || !uses_unit(working->steps, working->count, name))
            continue;
        name_map_set(&b->units, name, 1);
        WorkingStep step = {.role = WORKING_UNIT, .literal = true};
        Text one = {0};
        text_add_string(&one, "1 ");
        text_add_string(&one, name);
        step.name = text_take(&one);
        step.expression = mem_copy_string(note->written);
        step.value = mem_copy_string(note->written);
        step.about = note->doc ? mem_copy_string(note->doc) : NULL;
        working_add(&working->steps, &working->count, &working->capacity);
        memmove(working->steps + 1, working->steps, (size_t)(working->count - 1) * sizeof *working->steps);
        working->steps[0] = step;
    }
}

/* ---- the sources of a ± ---- */

static int compare_shares(const void *a, const void *b) {
    const WorkingShare *left = a, *right = b;
    if (left->percent < right->percent || left->percent > right->percent)
        return left->percent < right->percent ? 1 : -1;
    return strcmp(left->name, right->name);
}

void working_fill_shares(const WorkingBuilder *b, const Shown *shown, Working *working) {
    const Session *session = b->session;
    int count = session_source_count(session), kept = 0;
    ShownNumber first;
    const UnitTable *units = session->registry->units;
    if (!shown->spreads || session->trials || !display_numbers(units, shown->value, &first, 1) ||
        !display_has_spread(units, first.number, first.unit, shown->spreads[0], shown->format))
        return;
    WorkingShare *all = mem_array((size_t)count + 1, sizeof *all);
    for (int i = 0; i < count; i++) {
        SourceShare share = session_source_share(session, shown->number, i);
        double part = share.contribution / shown->spreads[0];
        if (part * part < 0.0005)
            continue;
        all[kept++] = (WorkingShare){mem_copy_string(share.name), part * part * 100};
    }
    qsort(all, (size_t)kept, sizeof *all, compare_shares);
    for (int i = 0; i < kept; i++) {
        if (i < WORKING_SHARES_MOST)
            working->shares[working->share_count++] = all[i];
        else
            mem_free(all[i].name);
    }
    working->more_shares = kept - working->share_count;
    mem_free(all);
}
