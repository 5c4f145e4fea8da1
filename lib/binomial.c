/* Exact limits of a share from a count (Clopper and Pearson 1934, Biometrika 26:404). */
#include "brineband.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

double bb_binomial_lower(double counted, double trials, double tail)
{
    return counted > 0 ? gsl_cdf_beta_Pinv(tail, counted, trials - counted + 1) : 0;
}

double bb_binomial_upper(double counted, double trials, double tail)
{
    return counted < trials ? gsl_cdf_beta_Qinv(tail, counted + 1, trials - counted) : 1;
}

double bb_binomial_trials(double share, double tail)
{
    return ceil(log(tail) / log1p(-share) - 1e-9);
}
