/* What sweeps that are still to be made would teach of the parameters. */
#ifndef BB_LEARNING_H
#define BB_LEARNING_H

#include "model.h"

/* Adds a gradient's values to a row of all parameters. */
void bb_gradient_row(const bb_gradient *gradient, double *row);

/* The mean number of one laying's sweeps: what is expected of it and its variance while the
 * parameters stay; its gradient is added to row, which must be zero. */
bb_status bb_laying_expect(const bb_state *state, const bb_point *point, double sweeps, double *row,
                           double *mean, double *variance);

/* Makes the covariance of the parameters that after a mean with this row and variance. gain: how
 * far each parameter moves for one number that the mean lies above what was expected. Returns the
 * variance of that difference. */
double bb_mean_absorb(double *covariance, size_t parameters, const double *row, double variance,
                      double *gain);

#endif
