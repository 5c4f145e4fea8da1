/* Exact limits of a share from a count (Clopper and Pearson 1934, Biometrika 26:404). */
#include "brineband.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

/* The point that leaves tail below it (or above). GSL's search does not always end for long counts. */
static double beta_point(double tail, double a, double b, bool above)
{
    double (*const inverse)(double, double, double) =
        above ? gsl_cdf_beta_Qinv : gsl_cdf_beta_Pinv;
    const double point = inverse(tail, a, b);
    double low = 0, high = 1;
    if (isfinite(point))
        return point;
    while (low < (low + high) / 2 && (low + high) / 2 < high) {
        const double middle = (low + high) / 2;
        const bool left = above ? gsl_cdf_beta_Q(middle, a, b) > tail
                                : gsl_cdf_beta_P(middle, a, b) < tail;
        *(left ? &low : &high) = middle;
    }
    return low;
}

double bb_binomial_lower(double counted, double trials, double tail)
{
    return counted > 0 ? beta_point(tail, counted, trials - counted + 1, false) : 0;
}

double bb_binomial_upper(double counted, double trials, double tail)
{
    return counted < trials ? beta_point(tail, counted + 1, trials - counted, true) : 1;
}

double bb_binomial_trials(double share, double tail)
{
    return ceil(log(tail) / log1p(-share) - 1e-9);
}
