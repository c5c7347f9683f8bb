/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Kinds asked for outside arithmetic, and their faults. Running and `--check` both come here, so that a
 * mistake is called the same whether it is found before the first line or at its turn. */
#include "values/kind_check.h"

#include <math.h>
#include <string.h>

#include "values/display.h"

bool kind_same(const UnitTable *units, Value a, Value b) {
    if (value_is_quantity(a) && value_is_quantity(b))
        return unit_same_kind(units, a.unit, b.unit);
    return a.tag == b.tag;
}

/* ---- faults ---- */

bool kind_fault(const UnitTable *units, MessageId id, Value value, const char *second, Fault *fault) {
    Text what = {0};
    value_describe(units, value, &what);
    fault_set(fault, id, second ? ARGS(text_string(&what), second) : ARGS(text_string(&what)));
    text_free(&what);
    return false;
}

bool kind_fault_pair(const UnitTable *units, MessageId id, Value a, Value b, Fault *fault) {
    Text left = {0}, right = {0};
    value_describe(units, a, &left);
    value_describe(units, b, &right);
    fault_set(fault, id, ARGS(text_string(&left), text_string(&right)));
    text_free(&left);
    text_free(&right);
    return false;
}

/* ---- `is` ---- */

static bool has_kind(const UnitTable *units, const KindCheck *check, Value value) {
    if (check->is_unit)
        return value_is_quantity(value) && unit_same_kind(units, value.unit, check->unit);
    return value_kind(units, value) == check->kind;
}

static void add_wanted(Text *out, const KindCheck *check) {
    if (check->is_unit) {
        text_add_string(out, "in ");
        text_add_string(out, check->word);
        return;
    }
    if (check->kind == KIND_MONEY || check->kind == KIND_TRUTH) {
        text_add_string(out, check->kind == KIND_MONEY ? "money" : "a truth (true or false)");
        return;
    }
    text_add_string(out, strchr("aeiou", check->word[0]) ? "an " : "a ");
    for (const char *p = check->word; *p; p++)
        text_add_char(out, *p == '_' ? ' ' : *p);
}

bool kind_check_is(const UnitTable *units, const KindCheck *check, Value value, bool result, Fault *fault) {
    if (has_kind(units, check, value))
        return true;
    Text wanted = {0}, came = {0};
    add_wanted(&wanted, check);
    value_describe(units, value, &came);
    fault_set(fault, result ? MSG_RESULT_KIND : MSG_PARAMETER_KIND,
              ARGS(check->subject, text_string(&wanted), text_string(&came)));
    text_free(&wanted);
    text_free(&came);
    return false;
}

/* ---- the others ---- */

bool kind_check_truth(const UnitTable *units, Value value, Fault *fault) {
    return value.tag == TAG_TRUTH || kind_fault(units, MSG_NOT_TRUTH, value, NULL, fault);
}

bool kind_check_kept(const UnitTable *units, Value old, Value changed, const char *name, Fault *fault) {
    if (kind_same(units, old, changed) || old.tag == TAG_NONE || changed.tag == TAG_NONE)
        return true;
    Text was = {0}, is = {0};
    value_describe(units, old, &was);
    value_describe(units, changed, &is);
    fault_set(fault, MSG_KEEPS_KIND, ARGS(name, text_string(&was), text_string(&is)));
    text_free(&was);
    text_free(&is);
    return false;
}

bool kind_check_range(const UnitTable *units, Value from, Value to, Value by, Fault *fault) {
    bool bounds =
        value_is_quantity(from) && value_is_quantity(to) && unit_same_kind(units, from.unit, to.unit);
    if (!bounds)
        return kind_fault_pair(units, MSG_LOOP_BOUNDS, from, to, fault);
    if (by.tag == TAG_ABSENT)
        return true;
    UnitId wanted = from.tag == TAG_AMOUNT ? from.unit : unit_get(units, from.unit)->difference;
    return (by.tag == TAG_AMOUNT && unit_same_kind(units, by.unit, wanted)) ||
           kind_fault_pair(units, MSG_LOOP_STEP_KIND, from, by, fault);
}

/* ---- ± ---- */

static bool spread_fits(const UnitTable *units, Value value, Value spread, PlusMinus how) {
    UnitId wanted = value.tag == TAG_READING ? unit_get(units, value.unit)->difference : value.unit;
    if (how == PLUS_MINUS_SAME_UNIT)
        return value_is_plain(spread);
    if (spread.tag != TAG_AMOUNT || !unit_same_kind(units, spread.unit, wanted))
        return false;
    return spread.unit != UNIT_PERCENT || value.unit == UNIT_PERCENT;
}

/* A share after ± is offered as the amount it is. */
static bool spread_fault(const UnitTable *units, Value value, Value spread, Fault *fault) {
    kind_fault_pair(units, MSG_PLUS_MINUS_KIND, value, spread, fault);
    if (spread.meta != VALUE_META(TAG_AMOUNT, UNIT_PERCENT) || value.tag != TAG_AMOUNT)
        return false;
    Text hint = {0};
    text_add_string(&hint, "write the amount: ± ");
    double amount = fabs(value.as.number * spread.as.number / 100);
    display_quantity(&hint, units, amount, value.unit, (FormatSpec){FORMAT_DEFAULT, 0});
    fault_hint(fault, text_string(&hint));
    text_free(&hint);
    return false;
}

bool kind_check_spread(const UnitTable *units, Value value, Value spread, PlusMinus how, Fault *fault) {
    if (!value_is_quantity(value) || value.unit == UNIT_DATE)
        return kind_fault(units, MSG_PLUS_MINUS_VALUE, value, NULL, fault);
    if (how != PLUS_MINUS_SAME_UNIT && spread.tag == TAG_READING)
        return kind_fault_pair(units, MSG_PLUS_MINUS_READING, value, spread, fault);
    return spread_fits(units, value, spread, how) || spread_fault(units, value, spread, fault);
}

/* ---- fields ---- */

static void add_field_names(Text *out, const RecordObject *record) {
    for (uint32_t i = 0; i < record->count && i < 12; i++) {
        if (i)
            text_add_string(out, i + 1 == record->count ? " and " : ", ");
        text_add_string(out, record->fields[i].name->bytes);
    }
    if (record->count > 12)
        text_add_string(out, " and more");
    if (record->count == 0)
        text_add_string(out, "none at all");
}

bool kind_check_field(const RecordObject *record, const TextObject *name, Value *value, Fault *fault) {
    const Value *found = record_find(record, name);
    if (found) {
        *value = *found;
        return true;
    }
    Text fields = {0};
    const char *best = NULL;
    int distance = 99;
    for (uint32_t i = 0; i < record->count; i++)
        text_nearest(name->bytes, record->fields[i].name->bytes, &best, &distance);
    add_field_names(&fields, record);
    fault_set(fault, MSG_NO_FIELD, ARGS(name->bytes, text_string(&fields)));
    if (best)
        fault_hint_with(fault, "did you mean %1? it has %2", ARGS(best, text_string(&fields)));
    text_free(&fields);
    return false;
}
