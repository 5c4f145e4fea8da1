/* All that one fit holds, and its steps: rows, settling, the optimum. */
#ifndef BB_FITTING_H
#define BB_FITTING_H

#include "cells.h"
#include "curvature.h"
#include "noise.h"
#include "prior.h"

enum { BB_FIT_ROUNDS = 80, BB_FIT_ITERATIONS = 200 };

/* A place where a fit stood, to go back to. */
typedef struct {
    double *theta, *covariance;
    bb_noise noise;
    bb_evidence evidence;
    double log; /* of the probability of all that was read and believed */
} bb_standing;

typedef struct {
    bb_model *model;
    bb_prior prior;
    bb_cells cells;
    bb_curvature curvature;
    double *theta, *other, *rival; /* rival: where another start ended */
    double *covariance, *again;              /* again: of a second solve */
    double *scaled_prior;                    /* curvature of the prior in prior sds */
    bb_answer *answers;
    bb_noise noise;
    bb_noise_level level;
    bb_evidence evidence;
    bb_standing kept, earlier; /* earlier: the optimum kept before it */
    bool careful; /* whether each round goes all the way */
} bb_fitting;

/* The residual of one row of the prior. */
double bb_fit_prior_residual(const bb_fitting *fit, const double *theta, size_t row);

/* The rows of the readings, then the prior's, and their derivatives by the parameters unless NULL.
 */
bb_status bb_fit_residuals(const bb_fitting *fit, const double *theta, double *residuals,
                           double *jacobian);

/* The fast way down from theta, with weights and noise held. */
bb_status bb_fit_descend(bb_fitting *fit, double *theta, int iterations, double tolerance,
                         double *sum_of_squares);

/* The covariance at theta, with weights and noise held, from the rows' slopes there. BB_RANK. */
bb_status bb_fit_covariance(bb_fitting *fit, const double *theta, double *covariance);

/* The proved way down from theta, with its covariance and evidence. */
bb_status bb_fit_solve(bb_fitting *fit, double *theta, bb_trust trust, int iterations,
                       double tolerance, double *covariance, bb_least_squares_evidence *evidence);

/* Between where the fit stands and another point, in standard errors: the largest of any parameter.
 */
double bb_fit_distance(const bb_fitting *fit, const double *other);

/* Where the fit stands, parameters and noise terms, in prior sds from their priors. */
size_t bb_fit_point_count(const bb_fitting *fit);
void bb_fit_point_set(bb_fitting *fit, const double *point);

/* The cells weighed and ready where the fit stands. */
bb_status bb_fit_stand(bb_fitting *fit, bb_state *state);

/* From where the fit stands, parameters and noise in turn until a turn leads nowhere, or on the way
 * home: to where it was kept. BB_NOT_CONVERGED after BB_FIT_ROUNDS. */
bb_status bb_fit_settle(bb_fitting *fit, bool homeward);

/* From where the fit stands to the optimum, proved by other starts. */
bb_status bb_fit_optimum(bb_fitting *fit, bb_error *error);

#endif
