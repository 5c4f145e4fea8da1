/* What the model, its priors and a visit's readings allow to be said at best: predictions over draws
 * from the posterior of parameters and noise together, where a fit has one optimum and its curvature.
 * Readings are taken as independent, as they are in the inside and steady families. */
#ifndef POSTERIOR_H
#define POSTERIOR_H

#include <gsl/gsl_rng.h>

#include "brineband.h"

enum { POSTERIOR_DRAWS = 200 };

/* Predictors of draws by adaptive Metropolis steps (Haario, Saksman and Tamminen 2001, Bernoulli
 * 7:223) from the fit's optimum. taken: share of the steps. BB_MEMORY and the model's errors. */
bb_status posterior_draw(const bb_visit *visit, const bb_profile *fitted, gsl_rng *random,
                         bb_predictor *draws[POSTERIOR_DRAWS], double *taken);
void posterior_free(bb_predictor *draws[POSTERIOR_DRAWS]);

#endif
