/* How often each group is met in a zone, before any number is seen. */
#ifndef BB_BASE_RATES_H
#define BB_BASE_RATES_H

#include <gsl/gsl_rng.h>

#include "candidates.h"

typedef struct {
    size_t count;
    double mean[BB_CLASSES_MAX];  /* they sum to one; 0 for a group that cannot be heard */
    double known[BB_CLASSES_MAX]; /* finds that each rests on, the prior's half with them */
    bool learned;                 /* from finds; else they are even, and not drawn */
} bb_base_rates;

/* Dirichlet with Jeffreys' half a find for each group, so that no finds leave the rates even.
 * heard: by group. */
void bb_base_rates_set(const bb_profile *profile, int zone, const bb_candidates *candidates,
                       const bool *heard, bb_base_rates *rates);

/* One draw of the rates. */
void bb_base_rates_draw(const bb_base_rates *rates, gsl_rng *rng, double *drawn);

#endif
