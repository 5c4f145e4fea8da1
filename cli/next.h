/* What a visit's files allow, and the one next thing to do, by counting what was swept. */
#ifndef NEXT_H
#define NEXT_H

#include "brineband.h"

#include <stdbool.h>
#include <stddef.h>

enum { BARE_SWEEPS_LEAST = 15, BARE_SWEEPS_ENOUGH = 25 };

typedef struct {
    bool ready; /* nothing is missing: choose bands */
    char text[512];
} next_step;

next_step next_after(const bb_visit *visit);

/* Sweeps with nothing rejected: of any target in air; of one target (or any, BB_TARGET_ANY) in
 * any zone of the beach. */
enum { BB_TARGET_ANY = -2 };
double swept_in_air(const bb_visit *visit);
double swept_on_sand(const bb_visit *visit, int target);

#endif
