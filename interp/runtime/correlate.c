/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* correlated(readings, pairs): n sources of uncertainty that move together as a correlation matrix says.
 *
 * With r = L Lᵀ (Cholesky) and independent standard sources z, reading i is v_i + u_i Σ_j L_ij z_j. The
 * sources that the record's own ± opened serve as the z; what they moved is moved again (JCGM 100:2008,
 * F.1.2.3; JCGM 101, C.5). */
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "runtime/vm_parts.h"
#include "values/value_arg.h"

enum { READINGS_MAX = 30 };

typedef struct Correlation {
    int count;
    double r[READINGS_MAX][READINGS_MAX];
    double factor[READINGS_MAX][READINGS_MAX]; /* lower triangle */
} Correlation;

static int field_index(const RecordObject *record, const TextObject *name) {
    for (uint32_t i = 0; i < record->count; i++)
        if (record->fields[i].name->length == name->length &&
            strcmp(record->fields[i].name->bytes, name->bytes) == 0)
            return (int)i;
    return -1;
}

static bool bad_coefficient(Vm *vm, Value value) {
    return fault_set(&vm->fault, MSG_CORRELATED_RANGE, ARGS(arg_value(vm->registry->units, value)));
}

static bool read_pair(Vm *vm, const RecordObject *record, Value pair, Correlation *c) {
    const ListObject *list = pair.tag == TAG_LIST ? pair.as.list : NULL;
    if (!list || list->count != 3 || list->items[0].tag != TAG_TEXT || list->items[1].tag != TAG_TEXT)
        return fault_set(&vm->fault, MSG_CORRELATED_FORM, NO_ARGS);
    int at[2];
    for (int i = 0; i < 2; i++) {
        at[i] = field_index(record, list->items[i].as.text);
        if (at[i] < 0)
            return fault_set(&vm->fault, MSG_CORRELATED_NAME, ARGS(list->items[i].as.text->bytes));
    }
    Value r = list->items[2];
    if (!value_is_plain(r) || fabs(r.as.number) > 1 || (at[0] == at[1] && r.as.number != 1))
        return bad_coefficient(vm, r);
    c->r[at[0]][at[1]] = c->r[at[1]][at[0]] = r.as.number;
    return true;
}

/* Cholesky; a pivot that is zero except for rounding ends its column (fully correlated readings are fine). */
static bool factorize(Correlation *c) {
    for (int j = 0; j < c->count; j++) {
        for (int i = j; i < c->count; i++) {
            double rest = c->r[i][j];
            for (int k = 0; k < j; k++)
                rest -= c->factor[i][k] * c->factor[j][k];
            if (i == j && rest < -1e-9)
                return false;
            if (i == j)
                c->factor[j][j] = rest > 1e-12 ? sqrt(rest) : 0;
            else if (c->factor[j][j] > 0)
                c->factor[i][j] = rest / c->factor[j][j];
            else if (fabs(rest) > 1e-9)
                return false;
        }
    }
    return true;
}

static RecordObject *moved_record(Vm *vm, const RecordObject *record, const Correlation *c, int first) {
    const Worlds *worlds = vm->worlds;
    RecordObject *moved = record_new(vm->registry->heap, record->count);
    for (uint32_t i = 0; i < record->count; i++) {
        moved->fields[i] = record->fields[i];
        double steps = 0;
        for (uint32_t j = 0; j <= i; j++)
            steps += c->factor[i][j] * worlds_moved_by(worlds, first + (int)j);
        const WorldSource *source = &worlds->sources[worlds->evaluated[first + (int)i]];
        moved->fields[i].value.as.number = source->value.as.number + steps * source->uncertainty;
    }
    return moved;
}

static bool read_correlation(Vm *vm, int first, Value readings, Value pairs, Correlation *c) {
    if (readings.tag != TAG_RECORD || pairs.tag != TAG_LIST || readings.as.record->count > READINGS_MAX)
        return fault_set(&vm->fault, MSG_CORRELATED_FORM, NO_ARGS);
    const RecordObject *record = readings.as.record;
    c->count = (int)record->count;
    bool own = vm->worlds->mode == WORLD_PLAIN || vm->worlds->next_source - first == c->count;
    for (uint32_t i = 0; i < record->count; i++)
        own = own && value_is_quantity(record->fields[i].value);
    if (!own)
        return fault_set(&vm->fault, MSG_CORRELATED_READINGS, NO_ARGS);
    for (int i = 0; i < c->count; i++)
        c->r[i][i] = 1;
    for (uint32_t i = 0; i < pairs.as.list->count; i++)
        if (!read_pair(vm, record, pairs.as.list->items[i], c))
            return false;
    return factorize(c) || fault_set(&vm->fault, MSG_CORRELATED_IMPOSSIBLE, NO_ARGS);
}

bool vm_correlate(Vm *vm, int first, Value readings, Value pairs, Value *result) {
    Correlation c = {0};
    if (!read_correlation(vm, first, readings, pairs, &c))
        return false;
    bool moves = worlds_are_moved(vm->worlds);
    for (int i = 0; moves && i < c.count; i++)
        moves =
            vm->worlds->evaluated[first + i] >= 0; /* a branch that no other run took: nothing moves there */
    *result = moves ? value_of_record(moved_record(vm, readings.as.record, &c, first)) : readings;
    return true;
}
