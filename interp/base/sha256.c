/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SHA-256 as FIPS 180-4 writes it down, names of its variables included. Messages are whole byte strings in
 * memory. */
#include "base/sha256.h"

#include <stdint.h>
#include <string.h>

enum { BLOCK_SIZE = 64, LENGTH_SIZE = 8, WORDS = 8, ROUNDS = 64 };

/* First 32 bits of the fractional parts of the cube roots of the first 64 primes (FIPS 180-4, 4.2.2). */
static const uint32_t round_constants[ROUNDS] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
};

/* The same of the square roots of the first eight primes (5.3.3). */
static const uint32_t initial_hash[WORDS] = {
    0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19,
};

static uint32_t rotate_right(uint32_t x, unsigned n) {
    return x >> n | x << (32 - n);
}

static void expand(const unsigned char *block, uint32_t w[ROUNDS]) {
    for (int t = 0; t < 16; t++)
        w[t] = (uint32_t)block[4 * t] << 24 | (uint32_t)block[4 * t + 1] << 16 |
               (uint32_t)block[4 * t + 2] << 8 | block[4 * t + 3];
    for (int t = 16; t < ROUNDS; t++) {
        uint32_t small_0 = rotate_right(w[t - 15], 7) ^ rotate_right(w[t - 15], 18) ^ w[t - 15] >> 3;
        uint32_t small_1 = rotate_right(w[t - 2], 17) ^ rotate_right(w[t - 2], 19) ^ w[t - 2] >> 10;
        w[t] = small_1 + w[t - 7] + small_0 + w[t - 16];
    }
}

static void hash_block(uint32_t hash[WORDS], const unsigned char *block) {
    uint32_t w[ROUNDS], v[WORDS];
    expand(block, w);
    memcpy(v, hash, sizeof v);
    for (int t = 0; t < ROUNDS; t++) {
        uint32_t a = v[0], b = v[1], c = v[2], e = v[4], f = v[5], g = v[6];
        uint32_t big_1 = rotate_right(e, 6) ^ rotate_right(e, 11) ^ rotate_right(e, 25);
        uint32_t big_0 = rotate_right(a, 2) ^ rotate_right(a, 13) ^ rotate_right(a, 22);
        uint32_t first = v[7] + big_1 + ((e & f) ^ (~e & g)) + round_constants[t] + w[t];
        uint32_t second = big_0 + ((a & b) ^ (a & c) ^ (b & c));
        memmove(v + 1, v, (WORDS - 1) * sizeof *v);
        v[4] += first;
        v[0] = first + second;
    }
    for (int i = 0; i < WORDS; i++)
        hash[i] += v[i];
}

/* The rest of the message, a 1 bit, zeros, and the length in bits: one block or two (5.1.1). */
static void hash_tail(uint32_t hash[WORDS], const unsigned char *rest, size_t count, uint64_t length) {
    unsigned char tail[2 * BLOCK_SIZE] = {0};
    if (count)
        memcpy(tail, rest, count);
    tail[count] = 0x80;
    size_t size = count + 1 + LENGTH_SIZE <= BLOCK_SIZE ? BLOCK_SIZE : 2 * BLOCK_SIZE;
    uint64_t bits = length * 8;
    for (size_t i = 0; i < LENGTH_SIZE; i++)
        tail[size - 1 - i] = (unsigned char)(bits >> (8 * i));
    for (size_t at = 0; at < size; at += BLOCK_SIZE)
        hash_block(hash, tail + at);
}

void sha256_hex(const void *bytes, size_t length, char out[SHA256_HEX_SIZE]) {
    static const char digits[] = "0123456789abcdef";
    const unsigned char *message = bytes;
    uint32_t hash[WORDS];
    memcpy(hash, initial_hash, sizeof hash);
    size_t whole = length - length % BLOCK_SIZE;
    for (size_t at = 0; at < whole; at += BLOCK_SIZE)
        hash_block(hash, message + at);
    hash_tail(hash, whole < length ? message + whole : NULL, length - whole, length);
    for (int i = 0; i < WORDS * 8; i++)
        out[i] = digits[hash[i / 8] >> (28 - 4 * (i % 8)) & 15];
    out[SHA256_HEX_SIZE - 1] = '\0';
}
