/* What was swept, counted and in words, before any model. */
#ifndef SWEPT_H
#define SWEPT_H

#include "brineband.h"

/* Sweeps with nothing rejected: of any target in air; of one target (or BB_TARGET_ANY) in any zone
 * of the beach. */
enum { BB_TARGET_ANY = -2 };
double swept_in_air(const bb_visit *visit);
double swept_on_sand(const bb_visit *visit, int target);

/* Targets with a sweep anywhere. */
size_t swept_pieces(const bb_visit *visit);

/* Was it swept, and never heard? */
bool is_silent(const bb_bare *bare);

/* One line: how often the bare sand of a zone was swept, and what it read. */
void say_bare_sand(const bb_visit *visit, size_t zone);

#endif
