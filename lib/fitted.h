/* A settled fit, on its way into a profile. */
#ifndef BB_FITTED_H
#define BB_FITTED_H

#include "cells.h"
#include "prior.h"

typedef struct {
    const bb_visit *visit;
    const bb_model *model;
    const bb_prior *prior;
    const bb_cells *cells;
    const double *theta, *covariance;
    const bb_noise *noise;
    bb_evidence evidence; /* of the solver; lack of fit is added */
    bb_answer *answers;   /* room for every target */
} bb_fitted;

bb_status bb_fitted_profile(const bb_fitted *fitted, bb_profile **profile);

#endif
