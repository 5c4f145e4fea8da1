/* How well a predicted distribution of numbers did against the true one, free of sampling noise:
 * every score is the expectation over the true distribution. */
#ifndef SCORE_H
#define SCORE_H

#include "simulate/simulate.h"

enum { LEVELS = 3 }; /* central intervals of 50, 80 and 90 % */
extern const double score_level[LEVELS];

/* Logarithmic scores are taken after mixing in this share of a flat distribution, for the baseline
 * alike, so that one outlier costs no more than it should. */
#define FLAT_SHARE 1e-3

typedef struct {
    double points;
    double covered[LEVELS];    /* sums of the chance of lying inside, by the randomised PIT */
    double square, floor;      /* sums of mean squared error and of the truth's own variance, in
                                  squared steps of the scale */
    double log_score;          /* sum of expected natural logarithms */
    double baseline_log_score; /* the same for the baseline */
} scores;

/* Add one point: truth, prediction, and the baseline's chances. */
void score_add(scores *sums, const truth_distribution *true_numbers,
               const bb_prediction *prediction, const double *baseline, double step);
void score_merge(scores *into, const scores *from);

#endif
