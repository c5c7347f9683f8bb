/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What unit.c, unit_names.c and unit_algebra.c share of a unit table; nobody else includes this. */
#ifndef RUNDLET_UNIT_TABLE_H
#define RUNDLET_UNIT_TABLE_H

#include "quantities/unit.h"

/* Dimensions with fixed ids. Others are interned as they come up. */
enum {
    DIMENSION_NONE,
    DIMENSION_VOLUME,
    DIMENSION_MASS,
    DIMENSION_LENGTH,
    DIMENSION_TIME,
    DIMENSION_TEMPERATURE,
    DIMENSION_GRAVITY,
    DIMENSION_STRENGTH,
    DIMENSION_PRESSURE,
    DIMENSION_CONCENTRATION,
    DIMENSION_ENERGY,
    DIMENSION_ACIDITY,
    DIMENSION_DATE,
    DIMENSION_MONTHS,
    DIMENSION_POWER,
    DIMENSION_COLOUR,
    DIMENSION_PASTEURISATION,
    DIMENSION_CELLS,
    DIMENSION_FIXED
};

#define DIMENSION_FACTORS 12 /* a unit of more base dimensions is refused as too complicated */
typedef struct Dimension {
    int count;
    DimFactor factors[DIMENSION_FACTORS]; /* ascending by base, no exponent 0 */
    Kind kind;                            /* of an amount of this dimension */
} Dimension;

/* Hashed ids: the owner compares what they stand for. */
typedef struct UnitIndex {
    struct UnitSlot {
        uint32_t hash;
        uint32_t item; /* plus 1; 0 is empty */
    } * slots;
    uint32_t size; /* a power of two */
    uint32_t count;
} UnitIndex;

void unit_index_add(UnitIndex *index, uint32_t hash, uint32_t item);
/* The next item with this hash, start with *at = hash; false when there is none. */
bool unit_index_next(const UnitIndex *index, uint32_t hash, uint32_t *at, uint32_t *item);
uint32_t unit_hash(uint32_t hash, const void *bytes, size_t length);

/* The last products, by operands. */
enum { PRODUCTS_KEPT = 256, UNITS_MAX = 65536 };
typedef struct KeptProduct {
    uint64_t key; /* 0: none */
    double factor;
    UnitId result;
} KeptProduct;

struct UnitTableParts {
    Dimension *dimensions;
    uint32_t dimension_count, dimension_capacity;
    UnitIndex dimension_index;
    UnitIndex compounds; /* compound units by their terms */
    UnitIndex spellings; /* 2 × id for the name of a built-in unit, 2 × id + 1 for its alias */
    uint32_t capacity;   /* of the table's units */
    uint32_t bases;      /* base dimensions in use */
    KeptProduct kept[PRODUCTS_KEPT];
};

/* Adds a unit; its name becomes the table's. */
UnitId unit_table_add(UnitTable *table, const Unit *unit);
/* The id of a dimension; a new one gets its kind here. */
uint32_t unit_dimension_intern(UnitTable *table, const Dimension *dimension);
void unit_names_fill(UnitTable *table);
void unit_compounds_fill(UnitTable *table);

bool unit_check_room(const UnitTable *table, Fault *fault);

#endif
