/* Exact limits of a share from a count (Clopper and Pearson 1934, Biometrika 26:404). */
#include "brineband.h"

#include <float.h>
#include <math.h>

#include <gsl/gsl_sf_gamma.h>

#include "status.h"

BB_CALLS_GSL;

enum { NEWTON_STEPS = 30, FRACTION_TERMS = 100000 };

/* The continued fraction of the incomplete beta function (DLMF 8.17.22) by Lentz's rule. */
static double fraction(double x, double a, double b)
{
    double value = 1, above = 1, below = 0;
    for (int n = 1; n < FRACTION_TERMS; n++) {
        const double m = n / 2;
        const double term = n % 2 ? -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
                                  : m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
        below = 1 / (1 + term * below);
        above = 1 + term / above;
        value *= above * below;
        if (fabs(above * below - 1) < DBL_EPSILON)
            break;
    }
    return 1 / value;
}

/* Chance of a beta variate below x, or above it, and its density times x (1 - x). GSL's own chance
 * errs for counts above some 100,000. */
static double beta_chance(double x, double a, double b, bool above, double *density)
{
    const bool left = x < (a + 1) / (a + b + 2);
    *density = exp(a * log(x) + b * log1p(-x) - gsl_sf_lnbeta(a, b));
    const double tail =
        left ? *density / a * fraction(x, a, b) : *density / b * fraction(1 - x, b, a);
    return left != above ? tail : 1 - tail;
}

/* The point that leaves tail below it (or above): Newton's steps between bounds that close in, then
 * halves. */
static double beta_point(double tail, double a, double b, bool above)
{
    double low = 0, high = 1, point = a / (a + b);
    for (int step = 0; low < point && point < high; step++) {
        double density;
        const double chance = beta_chance(point, a, b, above, &density);
        const double excess = above ? tail - chance : chance - tail;
        *(excess < 0 ? &low : &high) = point;
        const double next = point - excess * point * (1 - point) / density;
        const bool within = step < NEWTON_STEPS && low < next && next < high;
        if (within && fabs(next - point) <= DBL_EPSILON * point)
            return next;
        point = within ? next : low + (high - low) / 2;
    }
    return point;
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
