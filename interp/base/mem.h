/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Allocation: the only door to the C heap.
 *
 * None of these returns NULL: when the machine has no memory left they call the failure handler, which does
 * not return (the program's own prints one line and leaves with the status of a limit). Tests make the n-th
 * allocation fail with `mem_fail_after`. Sizes are checked for overflow. */
#ifndef RUNDLET_MEM_H
#define RUNDLET_MEM_H

#include <stddef.h>

typedef void (*MemFailure)(void);

void *mem_alloc(size_t size);               /* zeroed; size 0 gives a valid pointer */
void *mem_resize(void *block, size_t size); /* like realloc; new bytes are not zeroed */
void *mem_array(size_t count, size_t size); /* zeroed array */
void *mem_resize_array(void *block, size_t count, size_t size);
char *mem_copy(const char *bytes, size_t length); /* NUL-terminated copy */
char *mem_copy_string(const char *string);        /* NULL stays NULL */
void mem_free(void *block);                       /* NULL is fine */
/* The same two as libraries call back for memory; the context is not used. */
void *mem_alloc_for(size_t size, void *context);
void mem_free_for(void *block, void *context);

void mem_set_failure_handler(MemFailure handler); /* must not return */
void mem_fail_after(long allocations); /* tests: the allocation after so many fails; negative: never */

/* Makes room for one more element in a growing array: `array` and `capacity` are lvalues. */
#define MEM_GROW(array, count, capacity)                                                                     \
    do {                                                                                                     \
        if ((count) >= (capacity)) {                                                                         \
            (capacity) = (capacity) < 8 ? 8 : (capacity)*2;                                                  \
            (array) = mem_resize_array((array), (size_t)(capacity), sizeof *(array));                        \
        }                                                                                                    \
    } while (0)

#endif
