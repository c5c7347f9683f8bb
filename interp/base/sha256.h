/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The SHA-256 hash of a byte string, by which a report names the script it belongs to.
 * Source: FIPS 180-4, Secure Hash Standard, sections 4.1.2, 4.2.2, 5.1.1, 5.3.3 and 6.2. */
#ifndef RUNDLET_SHA256_H
#define RUNDLET_SHA256_H

#include <stddef.h>

enum { SHA256_HEX_SIZE = 65 }; /* 64 lower-case digits and the closing NUL */

/* Writes the hash of `length` bytes to `out`. Cannot fail; `bytes` may be NULL when length is 0. */
void sha256_hex(const void *bytes, size_t length, char out[SHA256_HEX_SIZE]);

#endif
