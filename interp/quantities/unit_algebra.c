/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compound units: products, quotients, powers and roots of units, and their names.
 *
 * A product is a list of simple units with exponents and a factor. The right operand's units join the left
 * one's: the same unit first, then one of the same dimension that it cancels (3 mL/L × gal is mL), then one
 * that it adds to (m × ft is m^2). What is left may still cancel as a whole: L against m^-3, ppm against L
 * once it is written mg/L. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mem.h"
#include "quantities/quantity_arg.h"
#include "quantities/unit_table.h"

enum { EXPONENT_MAX = 99, PRODUCT_TERMS = 4 * UNIT_TERMS };

/* ---- dimensions ---- */

static uint32_t hash_dimension(const Dimension *dimension) {
    uint32_t hash = 0;
    for (int i = 0; i < dimension->count; i++) {
        hash = unit_hash(hash, &dimension->factors[i].base, sizeof dimension->factors[i].base);
        hash = unit_hash(hash, &dimension->factors[i].exponent, sizeof dimension->factors[i].exponent);
    }
    return hash;
}

static bool same_dimension(const Dimension *a, const Dimension *b) {
    if (a->count != b->count)
        return false;
    for (int i = 0; i < a->count; i++)
        if (a->factors[i].base != b->factors[i].base || a->factors[i].exponent != b->factors[i].exponent)
            return false;
    return true;
}

uint32_t unit_dimension_intern(UnitTable *table, const Dimension *dimension) {
    struct UnitTableParts *parts = table->parts;
    uint32_t hash = hash_dimension(dimension), at = hash, id;
    while (unit_index_next(&parts->dimension_index, hash, &at, &id))
        if (same_dimension(&parts->dimensions[id], dimension))
            return id;
    MEM_GROW(parts->dimensions, parts->dimension_count, parts->dimension_capacity);
    id = parts->dimension_count++;
    parts->dimensions[id] = *dimension;
    unit_index_add(&parts->dimension_index, hash, id);
    return id;
}

static const Dimension *dimension_of(const UnitTable *table, UnitId id) {
    return &table->parts->dimensions[unit_get(table, id)->dim];
}

/* Adds base^exponent, in order; false when there is no room. */
static bool add_base(Dimension *dimension, uint32_t base, int exponent) {
    int at = 0;
    while (at < dimension->count && dimension->factors[at].base < base)
        at++;
    DimFactor *factor = &dimension->factors[at];
    size_t behind = (size_t)(dimension->count - at);
    if (at < dimension->count && factor->base == base) {
        factor->exponent = factor->exponent + exponent;
        if (factor->exponent == 0) {
            memmove(factor, factor + 1, (behind - 1) * sizeof *factor);
            dimension->count--;
        }
        return true;
    }
    if (dimension->count == DIMENSION_FACTORS)
        return false;
    memmove(factor + 1, factor, behind * sizeof *factor);
    *factor = (DimFactor){base, exponent};
    dimension->count++;
    return true;
}

/* ---- what may be part of a compound ---- */

/* Sets the fault for readings, scales of strength and colour that are no factor, percent. */
static bool check_part(const UnitTable *table, UnitId id, Fault *fault) {
    const Unit *unit = unit_get(table, id);
    if (unit->scale == SCALE_PERCENT)
        return fault_set(fault, MSG_UNIT_PERCENT_PART, ARGS(unit->name));
    if (!unit->reading && !unit_is_linear(unit))
        return fault_set(fault, unit->kind == KIND_COLOUR ? MSG_UNIT_COLOUR_PART : MSG_UNIT_STRENGTH_PART,
                         ARGS(unit->name));
    if (!unit->reading)
        return true;
    fault_set(fault, MSG_UNIT_READING_PART, ARGS(unit->name));
    return fault_hint(fault,
                      unit->kind == KIND_TEMPERATURE ? HINT_TEMPERATURE_PART
                      : unit->kind == KIND_GRAVITY   ? HINT_GRAVITY_PART
                                                     : HINT_READING_NUMBER,
                      NO_ARGS);
}

/* ---- products ---- */

typedef struct Product {
    long double factor; /* what the number is to be multiplied with */
    int count;
    UnitFactor terms[PRODUCT_TERMS];
} Product;

static long double integer_power(long double base, int exponent) {
    long double power = 1;
    for (unsigned e = (unsigned)(exponent < 0 ? -exponent : exponent); e; e >>= 1, base *= base)
        if (e & 1)
            power *= base;
    return exponent < 0 ? 1 / power : power;
}

static void remove_term(Product *product, int at) {
    product->count--;
    for (int i = at; i < product->count; i++)
        product->terms[i] = product->terms[i + 1];
}

static void append_term(Product *product, UnitFactor term) {
    assert(product->count < PRODUCT_TERMS);
    product->terms[product->count++] = term;
}

/* The place of the term that a new one joins, or -1. */
static int find_partner(const UnitTable *table, const Product *product, UnitFactor term) {
    uint32_t dim = unit_get(table, term.unit)->dim;
    int adds_to = -1, cancels = -1;
    for (int i = product->count - 1; i >= 0; i--) {
        const UnitFactor *there = &product->terms[i];
        if (there->unit == term.unit)
            return i;
        if (unit_get(table, there->unit)->dim != dim)
            continue;
        if ((there->exponent < 0) == (term.exponent < 0))
            adds_to = i;
        else
            cancels = i;
    }
    return cancels >= 0 ? cancels : adds_to;
}

static void join_term(const UnitTable *table, Product *product, UnitFactor term) {
    const Unit *unit = unit_get(table, term.unit);
    if (unit->dim == DIMENSION_NONE) { /* `unit dozen = 12` is a number in the end */
        product->factor *= integer_power(unit->exact, term.exponent);
        return;
    }
    int at = find_partner(table, product, term);
    if (at < 0) {
        append_term(product, term);
        return;
    }
    UnitFactor *partner = &product->terms[at];
    if (partner->unit != term.unit)
        product->factor *= integer_power(unit->exact / unit_get(table, partner->unit)->exact, term.exponent);
    partner->exponent += term.exponent;
    if (partner->exponent == 0)
        remove_term(product, at);
}

/* Two terms of powers of one base dimension that leave nothing: L · m^-3. */
static bool cancel_pair(const UnitTable *table, Product *product) {
    for (int i = 0; i < product->count; i++)
        for (int j = i + 1; j < product->count; j++) {
            UnitFactor left = product->terms[i], right = product->terms[j];
            const Dimension *a = dimension_of(table, left.unit), *b = dimension_of(table, right.unit);
            if (a->count != 1 || b->count != 1 || a->factors[0].base != b->factors[0].base ||
                a->factors[0].exponent * left.exponent + b->factors[0].exponent * right.exponent != 0 ||
                a->factors[0].exponent == b->factors[0].exponent)
                continue;
            product->factor *= integer_power(unit_get(table, left.unit)->exact, left.exponent) *
                               integer_power(unit_get(table, right.unit)->exact, right.exponent);
            remove_term(product, j);
            remove_term(product, i);
            return true;
        }
    return false;
}

/* Whether two terms have a base dimension in common that one multiplies with and the other divides by. */
static bool opposed(const UnitTable *table, UnitFactor left, UnitFactor right) {
    const Dimension *a = dimension_of(table, left.unit), *b = dimension_of(table, right.unit);
    for (int i = 0; i < a->count; i++)
        for (int j = 0; j < b->count; j++)
            if (a->factors[i].base == b->factors[j].base &&
                (a->factors[i].exponent * left.exponent < 0) != (b->factors[j].exponent * right.exponent < 0))
                return true;
    return false;
}

/* Writes one unit that stands for a compound out as that, where it could then cancel: ppm · L is mg/L · L. */
static bool expand_term(const UnitTable *table, Product *product) {
    for (int i = 0; i < product->count; i++) {
        UnitFactor term = product->terms[i];
        const Unit *unit = unit_get(table, term.unit);
        bool cancels = false;
        for (int j = 0; unit->of && j < product->count; j++)
            cancels = cancels || (j != i && opposed(table, term, product->terms[j]));
        if (!cancels || product->count + UNIT_TERMS > PRODUCT_TERMS)
            continue;
        const Unit *compound = unit_get(table, unit->of);
        Product rest = *product;
        product->count = i;
        product->factor *= integer_power(unit->exact / compound->exact, term.exponent);
        for (int k = 0; k < compound->term_count; k++) {
            UnitFactor part = compound->terms[k];
            join_term(table, product, (UnitFactor){part.unit, part.exponent * term.exponent});
        }
        for (int k = i + 1; k < rest.count; k++)
            join_term(table, product, rest.terms[k]);
        return true;
    }
    return false;
}

/* ---- from a product to a unit ---- */

static bool product_dimension(const UnitTable *table, const Product *product, Dimension *dimension) {
    *dimension = (Dimension){.kind = KIND_OTHER};
    for (int i = 0; i < product->count; i++) {
        UnitFactor term = product->terms[i];
        const Dimension *own = dimension_of(table, term.unit);
        if (term.exponent > EXPONENT_MAX || term.exponent < -EXPONENT_MAX)
            return false;
        for (int k = 0; k < own->count; k++)
            if (!add_base(dimension, own->factors[k].base, own->factors[k].exponent * term.exponent))
                return false;
    }
    return true;
}

/* What is multiplied with comes first, what is divided by after it. */
static void order_terms(Product *product) {
    Product ordered = {.factor = product->factor};
    for (int sign = 1; sign >= -1; sign -= 2)
        for (int i = 0; i < product->count; i++)
            if (product->terms[i].exponent * sign > 0)
                append_term(&ordered, product->terms[i]);
    *product = ordered;
}

static char *compound_name(const UnitTable *table, const Product *product) {
    Text name = {0};
    bool divides = product->terms[0].exponent > 0; /* else `min^-1`: nothing to divide */
    for (int i = 0; i < product->count; i++) {
        int exponent = product->terms[i].exponent;
        bool below = divides && exponent < 0;
        if (i)
            text_add_string(&name, below ? "/" : "·");
        text_add_string(&name, unit_get(table, product->terms[i].unit)->name);
        if (below)
            exponent = -exponent;
        if (exponent != 1) {
            text_add_char(&name, '^');
            text_add_integer(&name, exponent);
        }
    }
    return text_take(&name);
}

/* An energy in a volume has the dimension of a pressure, and is none. */
static Kind compound_kind(const UnitTable *table, const Product *product, Kind by_dimension) {
    for (int i = 0; by_dimension == KIND_PRESSURE && i < product->count; i++)
        if (unit_get(table, product->terms[i].unit)->kind == KIND_ENERGY)
            return KIND_OTHER;
    return by_dimension;
}

static uint32_t hash_terms(const UnitFactor *terms, int count) {
    uint32_t hash = 0;
    for (int i = 0; i < count; i++) {
        hash = unit_hash(hash, &terms[i].unit, sizeof terms[i].unit);
        hash = unit_hash(hash, &terms[i].exponent, sizeof terms[i].exponent);
    }
    return hash;
}

static bool same_terms(const Unit *unit, const Product *product) {
    if (unit->term_count != product->count)
        return false;
    for (int i = 0; i < product->count; i++)
        if (unit->terms[i].unit != product->terms[i].unit ||
            unit->terms[i].exponent != product->terms[i].exponent)
            return false;
    return true;
}

static UnitId add_compound(UnitTable *table, const Product *product, const Dimension *dimension) {
    Unit unit = {.name = compound_name(table, product), .scale = SCALE_LINEAR, .places = -1, .exact = 1};
    unit.dim = unit_dimension_intern(table, dimension);
    unit.kind = compound_kind(table, product, table->parts->dimensions[unit.dim].kind);
    unit.term_count = product->count;
    for (int i = 0; i < product->count; i++) {
        unit.terms[i] = product->terms[i];
        unit.exact *=
            integer_power(unit_get(table, product->terms[i].unit)->exact, product->terms[i].exponent);
    }
    unit.factor = (double)unit.exact;
    return unit_table_add(table, &unit);
}

/* The unit of an ordered product as it stands. */
static bool intern_product(UnitTable *table, const Product *product, UnitId *id, Fault *fault) {
    if (product->count == 1 && product->terms[0].exponent == 1) {
        *id = product->terms[0].unit;
        return true;
    }
    uint32_t hash = hash_terms(product->terms, product->count), at = hash;
    while (unit_index_next(&table->parts->compounds, hash, &at, id))
        if (same_terms(unit_get(table, *id), product))
            return true;
    Dimension dimension;
    if (product->count > UNIT_TERMS || !product_dimension(table, product, &dimension))
        return fault_set(fault, MSG_UNIT_TOO_COMPLICATED, NO_ARGS);
    if (!unit_check_room(table, fault))
        return false;
    *id = add_compound(table, product, &dimension);
    unit_index_add(&table->parts->compounds, hash, *id);
    return true;
}

void unit_compounds_fill(UnitTable *table) {
    for (UnitId id = UNIT_G_PER_L; id < UNIT_BUILTIN_COUNT; id++) {
        const Unit *unit = unit_get(table, id);
        unit_index_add(&table->parts->compounds, hash_terms(unit->terms, unit->term_count), id);
    }
}

/* Cancels what can cancel; a dimensionless rest becomes the plain number. */
static bool finish_product(UnitTable *table, Product *product, UnitId *id, double *factor, Fault *fault) {
    while (cancel_pair(table, product) || expand_term(table, product))
        ;
    Dimension dimension;
    if (!product_dimension(table, product, &dimension))
        return fault_set(fault, MSG_UNIT_TOO_COMPLICATED, NO_ARGS);
    if (dimension.count == 0) {
        for (int i = 0; i < product->count; i++)
            product->factor *=
                integer_power(unit_get(table, product->terms[i].unit)->exact, product->terms[i].exponent);
        product->count = 0;
    }
    *factor = (double)product->factor;
    if (!isfinite(*factor) || *factor <= 0)
        return fault_set(fault, MSG_OVERFLOW, NO_ARGS);
    if (product->count == 0) {
        *id = UNIT_NUMBER;
        return true;
    }
    order_terms(product);
    return intern_product(table, product, id, fault);
}

/* ---- public ---- */

bool unit_compose(UnitTable *table, const UnitFactor *factors, int count, UnitId *id, Fault *fault) {
    if (count == 1 && factors[0].exponent == 1) {
        *id = factors[0].unit;
        return true;
    }
    Product product = {.factor = 1};
    for (int i = 0; i < count; i++) {
        if (!check_part(table, factors[i].unit, fault))
            return false;
        int at = 0;
        while (at < product.count && product.terms[at].unit != factors[i].unit)
            at++;
        if (at == PRODUCT_TERMS || factors[i].exponent > EXPONENT_MAX || factors[i].exponent < -EXPONENT_MAX)
            return fault_set(fault, MSG_UNIT_TOO_COMPLICATED, NO_ARGS);
        if (at < product.count)
            product.terms[at].exponent += factors[i].exponent;
        else
            append_term(&product, factors[i]);
    }
    order_terms(&product); /* drops exponents of 0 */
    if (product.count == 0) {
        *id = UNIT_NUMBER;
        return true;
    }
    return intern_product(table, &product, id, fault);
}

static void start_product(const Unit *unit, Product *product) {
    *product = (Product){.factor = 1, .count = 0};
    for (int i = 0; i < unit->term_count; i++)
        append_term(product, unit->terms[i]);
}

static bool multiply(UnitTable *table, UnitId a, UnitId b, bool divide, UnitId *result, double *factor,
                     Fault *fault) {
    const Unit *left = unit_get(table, a), *right = unit_get(table, b);
    if (divide && a == b && !left->reading) { /* %ABW too */
        *result = UNIT_NUMBER;
        *factor = 1;
        return true;
    }
    if (a != UNIT_NUMBER && left->scale != SCALE_PERCENT && !check_part(table, a, fault))
        return false;
    if (right->scale != SCALE_PERCENT && !check_part(table, b, fault))
        return false;
    Product product;
    start_product(left, &product);
    if (left->dim == DIMENSION_NONE && left->term_count == 1) {
        product.count = 0;
        product.factor = left->exact;
    }
    for (int i = 0; i < right->term_count; i++)
        join_term(table, &product,
                  (UnitFactor){right->terms[i].unit,
                               divide ? -right->terms[i].exponent : right->terms[i].exponent});
    return finish_product(table, &product, result, factor, fault);
}

bool unit_multiply(UnitTable *table, UnitId a, UnitId b, bool divide, UnitId *result, double *factor,
                   Fault *fault) {
    if (b == UNIT_NUMBER || (a == UNIT_NUMBER && !divide)) { /* number × °C is the caller's to refuse */
        *result = b == UNIT_NUMBER ? a : b;
        *factor = 1;
        return true;
    }
    uint64_t key = ((uint64_t)a << 33 | (uint64_t)b << 1 | divide) + 1;
    KeptProduct *kept = &table->parts->kept[(a * 5 + b * 2 + divide) % PRODUCTS_KEPT];
    if (kept->key != key) {
        KeptProduct made = {.key = key};
        if (!multiply(table, a, b, divide, &made.result, &made.factor, fault))
            return false;
        *kept = made;
    }
    *result = kept->result;
    *factor = kept->factor;
    return true;
}

bool unit_power(UnitTable *table, UnitId a, int exponent, UnitId *result, double *factor, Fault *fault) {
    *result = exponent == 1 ? a : UNIT_NUMBER;
    *factor = 1;
    if (exponent == 0 || exponent == 1 || a == UNIT_NUMBER)
        return true;
    const Unit *unit = unit_get(table, a);
    if (unit->scale != SCALE_PERCENT && !check_part(table, a, fault))
        return false;
    if (exponent > EXPONENT_MAX || exponent < -EXPONENT_MAX)
        return fault_set(fault, MSG_UNIT_TOO_COMPLICATED, NO_ARGS);
    Product product = {.factor = 1};
    for (int i = 0; i < unit->term_count; i++)
        append_term(&product, (UnitFactor){unit->terms[i].unit, unit->terms[i].exponent * exponent});
    return finish_product(table, &product, result, factor, fault);
}

/* ---- roots ---- */

static UnitId coherent_unit(uint32_t base) {
    static const UnitId units[DIM_OWN] = {[DIM_LENGTH] = UNIT_M,
                                          [DIM_MASS] = UNIT_KG,
                                          [DIM_TIME] = UNIT_S,
                                          [DIM_TEMPERATURE] = UNIT_CELSIUS_DIFFERENCE,
                                          [DIM_STRENGTH] = UNIT_ABV,
                                          [DIM_GRAVITY] = UNIT_PTS,
                                          [DIM_MONTHS] = UNIT_MONTH,
                                          [DIM_COLOUR] = UNIT_SRM,
                                          [DIM_PASTEURISATION] = UNIT_PU,
                                          [DIM_CELLS] = UNIT_GCELL};
    return base < DIM_OWN ? units[base] : UNIT_NUMBER;
}

/* √J/kg has no even powers, but m/s: the same in coherent units. */
static bool halve_dimension(const UnitTable *table, const Unit *unit, Product *product) {
    const Dimension *dimension = &table->parts->dimensions[unit->dim];
    long double target = 1;
    *product = (Product){.factor = 1};
    for (int i = 0; i < dimension->count; i++) {
        UnitId id = coherent_unit(dimension->factors[i].base);
        int exponent = dimension->factors[i].exponent;
        if (exponent % 2 || id == UNIT_NUMBER)
            return false;
        append_term(product, (UnitFactor){id, exponent / 2});
        target *= integer_power(unit_get(table, id)->exact, exponent);
    }
    product->factor = sqrtl(unit->exact / target);
    return true;
}

static bool halve_terms(const Unit *unit, Product *product) {
    start_product(unit, product);
    for (int i = 0; i < product->count; i++) {
        if (product->terms[i].exponent % 2)
            return false;
        product->terms[i].exponent /= 2;
    }
    return true;
}

bool unit_square_root(UnitTable *table, UnitId a, UnitId *result, double *factor, Fault *fault) {
    const Unit *unit = unit_get(table, a);
    *result = UNIT_NUMBER;
    *factor = 1;
    if (a == UNIT_NUMBER)
        return true;
    if (unit->scale != SCALE_PERCENT && !check_part(table, a, fault))
        return false;
    Product product;
    if (halve_terms(unit, &product) || halve_dimension(table, unit, &product))
        return finish_product(table, &product, result, factor, fault);
    return fault_set(fault, MSG_UNIT_ROOT, ARGS(arg_unit_kind(table, a)));
}
