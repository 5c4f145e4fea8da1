/* The Secure Hash Algorithm SHA-256: FIPS 180-4, sections 4.1.2, 4.2.2, 5 and 6.2. */
#include "sha256.h"

#include <stdio.h>
#include <string.h>

/* First 32 bits of the fractional parts of the cube roots of the first 64 primes (4.2.2). */
static const uint32_t round_constants[64] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
};

static uint32_t rotate(uint32_t word, int bits)
{
    return word >> bits | word << (32 - bits);
}

static void schedule(const unsigned char block[64], uint32_t words[64])
{
    for (size_t t = 0; t < 16; t++)
        words[t] = (uint32_t)block[4 * t] << 24 | (uint32_t)block[4 * t + 1] << 16 |
                   (uint32_t)block[4 * t + 2] << 8 | block[4 * t + 3];
    for (int t = 16; t < 64; t++) {
        uint32_t w2 = words[t - 2], w15 = words[t - 15];
        words[t] = (rotate(w2, 17) ^ rotate(w2, 19) ^ w2 >> 10) + words[t - 7] +
                   (rotate(w15, 7) ^ rotate(w15, 18) ^ w15 >> 3) + words[t - 16];
    }
}

/* Letters as in section 6.2.2. */
static void compress(uint32_t state[8], const unsigned char block[64])
{
    uint32_t words[64], a = state[0], b = state[1], c = state[2], d = state[3];
    uint32_t e = state[4], f = state[5], g = state[6], h = state[7];
    schedule(block, words);
    for (int t = 0; t < 64; t++) {
        uint32_t t1 = h + (rotate(e, 6) ^ rotate(e, 11) ^ rotate(e, 25)) + ((e & f) ^ (~e & g)) +
                      round_constants[t] + words[t];
        uint32_t t2 = (rotate(a, 2) ^ rotate(a, 13) ^ rotate(a, 22)) +
                      ((a & b) ^ (a & c) ^ (b & c));
        h = g;
        g = f;
        f = e;
        e = d + t1;
        d = c;
        c = b;
        b = a;
        a = t1 + t2;
    }
    const uint32_t change[8] = {a, b, c, d, e, f, g, h};
    for (int i = 0; i < 8; i++)
        state[i] += change[i];
}

void bb_sha256_begin(bb_sha256 *hash)
{
    /* First 32 bits of the fractional parts of the square roots of the first 8 primes (5.3.3). */
    *hash = (bb_sha256){{0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c,
                         0x1f83d9ab, 0x5be0cd19}, 0, {0}};
}

void bb_sha256_feed(bb_sha256 *hash, const void *bytes, size_t length)
{
    const unsigned char *next = bytes;
    while (length > 0) {
        size_t used = (size_t)(hash->length % 64);
        size_t take = length < 64 - used ? length : 64 - used;
        memcpy(hash->block + used, next, take);
        hash->length += take;
        next += take;
        length -= take;
        if (used + take == 64)
            compress(hash->state, hash->block);
    }
}

void bb_sha256_end(bb_sha256 *hash, char hex[BB_DIGEST_BYTES])
{
    static const unsigned char padding[64] = {0x80};
    unsigned char bits[8];
    for (int i = 0; i < 8; i++)
        bits[i] = (unsigned char)(hash->length * 8 >> (56 - 8 * i));
    size_t used = (size_t)(hash->length % 64);
    bb_sha256_feed(hash, padding, used < 56 ? 56 - used : 120 - used);
    bb_sha256_feed(hash, bits, sizeof bits);
    for (size_t i = 0; i < 8; i++)
        (void)snprintf(hex + 8 * i, 9, "%08lx", (unsigned long)hash->state[i]);
}
