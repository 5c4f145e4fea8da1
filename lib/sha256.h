/* SHA-256 (FIPS 180-4) of bytes that come in pieces. */
#ifndef BB_SHA256_H
#define BB_SHA256_H

#include "brineband.h"

#include <stdint.h>

typedef struct {
    uint32_t state[8];
    uint64_t length; /* bytes so far */
    unsigned char block[64];
} bb_sha256;

void bb_sha256_begin(bb_sha256 *hash);
void bb_sha256_feed(bb_sha256 *hash, const void *bytes, size_t length);
void bb_sha256_end(bb_sha256 *hash, char hex[BB_DIGEST_BYTES]);

#endif
