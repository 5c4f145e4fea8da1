/* Examines a fitted visit: its predictions of fresh sweeps against their true distributions. */
#ifndef EXAMINE_H
#define EXAMINE_H

#include "score.h"

/* Where a prediction is made: where the piece was swept or not, too deep to hear, over bare sand.
 */
enum { SWEPT, UNSWEPT, MASKED, SAND, PLACES };
extern const char *const place_name[PLACES];

/* Every piece in every zone, where it was swept and at depths where it was not. draws: predictors whose
 * mean is the prediction; a fit has one. scores: PLACES, zeroed. The baseline is fitted to the same
 * visit. */
bb_status examine(const truth *t, const bb_visit *visit, bb_predictor *const *draws, size_t count,
                  gsl_rng *random, scores *sums);

#endif
