/* Drawing one of many by its weight. */
#ifndef BB_DRAW_H
#define BB_DRAW_H

#include <stddef.h>

#include <gsl/gsl_rng.h>

/* An index below count, each as likely as its weight, which sum to about one: the first of them stands
 * at weight, the next each stride bytes on. */
size_t bb_draw_index(gsl_rng *rng, const double *weight, size_t stride, size_t count);

#endif
