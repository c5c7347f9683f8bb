/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Feeds a harness without a fuzzer, so that every build can: each script below the folders given, whole, cut
 * off at several places, and with bytes changed. The changes are the same each time. replay FOLDER… */
#include <ftw.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { MOST_BYTES = 1 << 16, CUTS = 5, CHANGES = 5 };

static long fed;
static uint8_t bytes[MOST_BYTES], changed[MOST_BYTES];
static const char interesting[] = "\"'{}[]();:#=+-*/^%.,0129eE \n\t_aLg\xC2\xB0\xFF\x00";

/* A linear congruential generator with the constants of Knuth's MMIX: reproducible, and no more is asked of
 * it. */
static uint32_t next_random(uint64_t *state) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(*state >> 33);
}

static void feed(const uint8_t *data, size_t size) {
    LLVMFuzzerTestOneInput(data, size);
    fed++;
}

static void feed_variants(size_t size) {
    uint64_t state = size;
    feed(bytes, size);
    for (int i = 0; i < CUTS && size; i++)
        feed(bytes, next_random(&state) % size);
    for (int i = 0; i < CHANGES && size; i++) {
        memcpy(changed, bytes, size);
        for (uint32_t n = 1 + next_random(&state) % 3; n > 0; n--)
            changed[next_random(&state) % size] =
                (uint8_t)interesting[next_random(&state) % (sizeof interesting - 1)];
        feed(changed, size);
    }
}

static int take_file(const char *path, const struct stat *status, int type, struct FTW *place) {
    (void)status;
    (void)place;
    size_t length = strlen(path);
    bool is_script = strstr(path, "/corpus/") || (length > 5 && strcmp(path + length - 5, ".rlet") == 0);
    /* What is slow on purpose would be so with every change. */
    if (type != FTW_F || !is_script || strstr(path, "/limits/"))
        return 0;
    FILE *file = fopen(path, "rb");
    if (!file) {
        perror(path);
        return 1;
    }
    size_t size = fread(bytes, 1, sizeof bytes, file);
    fclose(file);
    if (getenv("REPLAY_SHOW"))
        fprintf(stderr, "%s\n", path);
    feed_variants(size);
    return 0;
}

int main(int argc, char **argv) {
    for (int i = 1; i < argc; i++)
        if (nftw(argv[i], take_file, 16, FTW_PHYS) != 0)
            return 1;
    printf("%ld inputs\n", fed);
    return fed > 0 ? 0 : 1;
}
