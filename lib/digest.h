/* A fingerprint of a visit's sweeps, by which the same data is known again. */
#ifndef BB_DIGEST_H
#define BB_DIGEST_H

#include "brineband.h"
#include "sha256.h"

/* SHA-256 of the cells in canonical order. The order of rows, targets and zones, line numbers,
 * layings and the time of day (but not the time between sweeps) leave it as it is; what was
 * swept, where, under which setting and what was read do not. Zones count by their wetness, not
 * by their name. BB_MEMORY. */
bb_status bb_digest(const bb_visit *visit, char hex[BB_DIGEST_BYTES]);

#endif
