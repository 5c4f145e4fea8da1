/* What is believed before the sweeps: the model's own prior, or another profile. */
#ifndef BB_PRIOR_H
#define BB_PRIOR_H

#include "model.h"

typedef struct {
    size_t count;
    double *rows; /* count x count: rows (theta - mean) are independent with unit variance */
    double *mean;
    double *sd;
} bb_prior;

/* earlier: a profile to start from, or NULL. BB_INPUT when it belongs to another machine. */
bb_status bb_prior_new(const bb_model *model, const bb_zone *zones, const bb_profile *earlier,
                       bb_prior *prior, bb_error *error);
/* The noise to start from, likewise. */
bb_status bb_prior_noise(const bb_model *model, const bb_zone *zones, const bb_profile *earlier,
                         bb_noise *noise, bb_error *error);
void bb_prior_free(bb_prior *prior);

/* Its covariance, count squared. */
bb_status bb_prior_covariance(const bb_prior *prior, double *covariance);

/* How far a quantity moves from one visit to the next (sd), by the name that profiles give it. */
double bb_visit_move(const char *name);

/* The key of beach.ini in which two machines differ so that their numbers are not one's, or NULL. */
const char *bb_machine_difference(const bb_machine *a, const bb_machine *b);

#endif
