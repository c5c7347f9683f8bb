/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Allocation with one failure path, so that no caller has to test for NULL. */
#include "base/mem.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Process-wide on purpose: memory is a resource of the process, and tests set these two. */
static MemFailure failure_handler = NULL;
static long allocations_left = -1;

static void fail(void) {
    if (failure_handler)
        failure_handler();
    abort(); /* a handler that returns would leave a caller with NULL */
}

static void count_down(void) {
    if (allocations_left < 0)
        return;
    if (allocations_left == 0)
        fail();
    allocations_left--;
}

static size_t checked_product(size_t count, size_t size) {
    if (size && count > SIZE_MAX / size)
        fail();
    return count * size;
}

void *mem_alloc(size_t size) {
    count_down();
    void *block = calloc(1, size ? size : 1);
    if (!block)
        fail();
    return block;
}

void *mem_resize(void *block, size_t size) {
    count_down();
    void *moved = realloc(block, size ? size : 1);
    if (!moved)
        fail();
    return moved;
}

void *mem_array(size_t count, size_t size) {
    return mem_alloc(checked_product(count, size));
}

void *mem_resize_array(void *block, size_t count, size_t size) {
    return mem_resize(block, checked_product(count, size));
}

char *mem_copy(const char *bytes, size_t length) {
    char *copy = mem_alloc(length + 1);
    if (length)
        memcpy(copy, bytes, length);
    return copy;
}

char *mem_copy_string(const char *string) {
    return string ? mem_copy(string, strlen(string)) : NULL;
}

void mem_free(void *block) {
    free(block);
}

void mem_set_failure_handler(MemFailure handler) {
    failure_handler = handler;
}

void mem_fail_after(long allocations) {
    allocations_left = allocations;
}

void *mem_alloc_for(size_t size, void *context) {
    (void)context;
    return mem_alloc(size);
}

void mem_free_for(void *block, void *context) {
    (void)context;
    mem_free(block);
}
