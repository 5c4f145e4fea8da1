/* How many of a few sweeps may sound before a setting is no longer believed. */
#include "brineband.h"

#include <gsl/gsl_cdf.h>

#define MISTAKEN 0.05 /* share of the rechecks of a good setting that say it is none */

int bb_reject_recheck(const bb_reject_score *score, int sweeps)
{
    const double heard = 1 - score->worst_silence;
    int most = 0;
    while (most < sweeps && gsl_cdf_binomial_Q((unsigned)most, heard, (unsigned)sweeps) > MISTAKEN)
        most++;
    return most;
}
