/* The noise terms of a fit at given parameters. */
#ifndef BB_NOISE_H
#define BB_NOISE_H

#include "cells.h"
#include "curvature.h"

enum { BB_NOISE_TERMS_MAX = 2 + BB_ZONES_MAX };

/* The terms in order: reading noise, wander, then each zone's jitter. */
bb_parameter *bb_noise_term(bb_noise *noise, size_t index);

/* Log of the probability of every whole number read (readings at an end of the scale are censored
 * there; a small share are outliers spread over the scale) and of the noise terms' prior, less half
 * the log determinant of the curvature, as restricted likelihood has it, for what the fitted
 * parameters took from the residuals. cells must be ready at the state. Its gradient by ln s0, ln w
 * and each ln J, and the sum of squared scores, may be NULL together. NAN when there is none. */
double bb_noise_log_posterior(bb_state *state, const bb_cells *cells, bb_curvature *curvature,
                              const bb_noise *noise, double *gradient,
                              double information[BB_NOISE_TERMS_MAX][BB_NOISE_TERMS_MAX]);

/* Log probability of one number read where this signal reaches the coil, and its derivatives by ln s0,
 * ln w and ln J: from all nodes, or from as few as give the same. */
double bb_noise_reading_log(const bb_state *state, const bb_signal *signal, int number,
                            bool all_nodes, double score[3]);

/* The inverse of its curvature as climbs have learned it; not known before the first. */
typedef struct {
    double inverse[BB_NOISE_TERMS_MAX][BB_NOISE_TERMS_MAX];
    bool known;
} bb_noise_bend;

/* Climb to its maximum, or until the share left of what there was to gain is left. change: how far
 * that was, in standard errors. Fills in standard errors. */
bb_status bb_noise_settle(bb_state *state, const bb_cells *cells, bb_curvature *curvature,
                          bb_noise *noise, bb_noise_bend *bend, double left, double *change);

#endif
