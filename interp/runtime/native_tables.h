/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables of natives, one a topic; each sorted by name, for the search in native.c. */
#ifndef RUNDLET_NATIVE_TABLES_H
#define RUNDLET_NATIVE_TABLES_H

#include "runtime/native.h"

typedef struct NativeTable {
    const Native *rows;
    int count;
} NativeTable;

#define NATIVE_TABLE(rows_)                                                                                  \
    { rows_, (int)(sizeof(rows_) / sizeof *(rows_)) }

/* A row: the function NAME_native, known as NAME. */
#define NATIVE(name_)                                                                                        \
    { #name_, name_##_native }

extern const NativeTable native_math_table;
extern const NativeTable native_list_table;
extern const NativeTable native_text_table;
extern const NativeTable native_data_table;
extern const NativeTable native_ferment_table;
extern const NativeTable native_liquid_table;
extern const NativeTable native_physics_table;
extern const NativeTable native_record_table;
extern const NativeTable native_log_table;

#endif
