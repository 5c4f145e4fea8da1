/* The sweeps that teach, as the fit weighs them. */
#ifndef BB_CELLS_H
#define BB_CELLS_H

#include "model.h"

typedef struct {
    bb_point point;
    double reading; /* number */
    double count;   /* sweeps */
    double laying;  /* sweeps that share this cell's zone, target, depth and height */
    size_t source;  /* index of the visit's cell */
    double trust;   /* Huber's weight, 1 for a sweep that is believed */
    double leverage; /* share of its expectation that its own reading decides, all its sweeps */
} bb_fit_cell;

/* What weighs one reading of a cell: variance with rounding and the share of the laying's depth
 * error that its sweeps have in common. */
double bb_cell_variance(const bb_fit_cell *cell, const bb_expected *expected, double step);

/* One step of the noise terms towards the maximum of the probability of every whole number read
 * (readings at an end of the scale are censored there; a small share are outliers spread over the
 * scale), of their priors, and of what the fitted parameters took from the residuals (the leverages:
 * as restricted likelihood does). signals: of each cell, at the state's noise. change: largest step of a logarithm. Fills in standard errors. */
bb_status bb_noise_step(bb_state *state, const bb_signal *signals, const bb_fit_cell *cells,
                        size_t count, bb_noise *noise, double *change);

/* Chance of one whole number from a node: the normal of mean and sd over the number's interval,
 * open at the ends of the scale. */
double bb_number_chance(const bb_machine *machine, int number, double mean, double sd);

#endif
