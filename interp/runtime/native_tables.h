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

#define NATIVE_TABLES(TABLE)                                                                                 \
    TABLE(math)                                                                                              \
    TABLE(list) TABLE(text) TABLE(data) TABLE(ferment) TABLE(liquid) TABLE(physics) TABLE(record) TABLE(log)

#define TABLE(topic) extern const NativeTable native_##topic##_table;
NATIVE_TABLES(TABLE)
#undef TABLE

#endif
