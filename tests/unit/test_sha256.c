/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SHA-256 against the examples published with the standard, and lengths around the ends of a block. */
#include <criterion/criterion.h>
#include <string.h>

#include "base/mem.h"
#include "base/sha256.h"

static const struct {
    const char *message;
    const char *hash;
    const char *source;
} published[] = {
    {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", "FIPS 180-2, appendix B.1"},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1", "FIPS 180-2, appendix B.2"},
    {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
     "NIST CAVP, SHA256ShortMsg.rsp, Len = 0"},
};

Test(sha256, published_examples) {
    for (size_t i = 0; i < sizeof published / sizeof *published; i++) {
        char hash[SHA256_HEX_SIZE];
        sha256_hex(published[i].message, strlen(published[i].message), hash);
        cr_expect_str_eq(hash, published[i].hash, "%s: %s", published[i].source, hash);
    }
}

/* So many times the letter a. The million is FIPS 180-2, appendix B.3; the others are from sha256sum of GNU
 * coreutils 9.1: the length fits the last block, or needs one more. */
static const struct {
    size_t count;
    const char *hash;
} letters[] = {
    {55, "9f4390f8d30c2dd92ec9f095b65e2b9ae9b0a925a5258e241c9f1e910f734318"},
    {56, "b35439a4ac6f0948b6d6f9e3c6af0f5f590ce20f1bde7090ef7970686ec6738a"},
    {63, "7d3e74a05d7db15bce4ad9ec0658ea98e3f06eeecf16b4c6fff2da457ddc2f34"},
    {64, "ffe054fe7ae0cb6dc65c3af9b61d5209f439851db43d0ba5997337df154668eb"},
    {65, "635361c48bb9eab14198e76ea8ab7f1a41685d6ad62aa9146d301d4f17eb0ae0"},
    {119, "31eba51c313a5c08226adf18d4a359cfdfd8d2e816b13f4af952f7ea6584dcfb"},
    {120, "2f3d335432c70b580af0e8e1b3674a7c020d683aa5f73aaaedfdc55af904c21c"},
    {1000000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"},
};

Test(sha256, letters) {
    for (size_t i = 0; i < sizeof letters / sizeof *letters; i++) {
        char hash[SHA256_HEX_SIZE];
        char *message = mem_alloc(letters[i].count);
        memset(message, 'a', letters[i].count);
        sha256_hex(message, letters[i].count, hash);
        cr_expect_str_eq(hash, letters[i].hash, "%zu letters: %s", letters[i].count, hash);
        mem_free(message);
    }
}

Test(sha256, nothing_at_all) {
    char hash[SHA256_HEX_SIZE];
    sha256_hex(NULL, 0, hash);
    cr_expect_str_eq(hash, published[2].hash);
}
