/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* libFuzzer harness of the lexer and parser: any bytes give a tree or errors, never a crash, and the errors
 * can be shown. Build with clang -fsanitize=fuzzer,address,undefined and the files of base, numbers and
 * front. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/mem.h"
#include "front/literal.h"
#include "front/parse.h"
#include "parse_dump.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Words that begin with a letter up to `m` are units, so that both branches are reached whatever the input.
 */
static bool host_is_unit(void *context, const char *qualifier, const char *name) {
    (void)context;
    (void)qualifier;
    return (name[0] >= 'a' && name[0] <= 'm') || (unsigned char)name[0] >= 0x80 || name[0] == '%';
}

static bool host_is_alias(void *context, const char *name) {
    (void)context;
    return name[0] == 'z';
}

static const char *host_nearest(void *context, const char *name) {
    (void)context;
    return strlen(name) % 2 ? "gal" : NULL;
}

static void check(bool held) {
    if (!held)
        abort();
}

static void fuzz_program(Source *source, const ParseHost *host) {
    DiagList errors = {0};
    Program *program = NULL;
    Text out = {0};
    ParseStatus status = parse_program(source, host, &errors, &program);
    check(program != NULL && (status == PARSE_OK) == (errors.count == 0));
    parse_dump(&out, program);
    for (int i = 0; i < errors.count; i++) {
        const Diag *diag = errors.items[i];
        check(diag->span.start <= diag->span.end && diag->span.end <= source->length);
        diag_render(&out, diag);
    }
    text_free(&out);
    program_free(program);
    diag_list_free(&errors);
}

static void fuzz_pieces(Source *source, const ParseHost *host) {
    DiagList errors = {0};
    Arena *arena = arena_new();
    parse_literal(source, host, false, &errors, arena);
    parse_literal(source, host, true, &errors, arena);
    arena_free(arena);
    diag_list_free(&errors);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    ParseHost host = {.is_unit = host_is_unit,
                      .is_alias = host_is_alias,
                      .nearest_unit = host_nearest,
                      .library = size % 2 == 1};
    char *text = mem_copy((const char *)data, size);
    Source *source = source_new("fuzz", NULL, text, size);
    fuzz_program(source, &host);
    fuzz_pieces(source, &host);
    source_release(source);
    mem_free(text);
    return 0;
}
