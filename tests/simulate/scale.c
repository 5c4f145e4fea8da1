/* Two kinds of machine curve: the model's own, by another road, and one that it does not hold. */
#include "scale.h"

#include <math.h>

#include <gsl/gsl_randist.h>

static const double knot_deg[SCALE_KNOTS] = {-90, -40, 0, 10, 25, 45, 65, 80, 90};

/* Slope of a monotone cubic where chords d0 over h0 and d1 over h1 meet: Fritsch and Butland 1984,
 * SIAM J. Sci. Stat. Comput. 5:300, written as 1 / slope = a weighted mean of 1 / chord. */
static double knot_slope(double h0, double d0, double h1, double d1)
{
    double share = (2 * h1 + h0) / (3 * (h0 + h1));
    return 1 / (share / d0 + (1 - share) / d1);
}

void scale_draw_cubic(truth_scale *scale, int low, int high, gsl_rng *random)
{
    const double range = high - low;
    double rise[SCALE_KNOTS - 1], width[SCALE_KNOTS - 1], log_slope = 0, total = 0;
    scale->logistic = false;
    scale->low = low + gsl_ran_gaussian(random, 0.02 * range);
    scale->high = high + gsl_ran_gaussian(random, 0.02 * range);
    for (int i = 0; i < SCALE_KNOTS - 1; i++) {
        width[i] = knot_deg[i + 1] - knot_deg[i];
        log_slope += i == 0 ? 0 : gsl_ran_gaussian(random, 0.7);
        rise[i] = width[i] * exp(log_slope);
        total += rise[i];
    }
    scale->value[0] = scale->low;
    for (int i = 0; i < SCALE_KNOTS - 1; i++) {
        rise[i] *= (scale->high - scale->low) / total;
        scale->value[i + 1] = scale->value[i] + rise[i];
    }
    scale->slope[0] = rise[0] / width[0];
    scale->slope[SCALE_KNOTS - 1] = rise[SCALE_KNOTS - 2] / width[SCALE_KNOTS - 2];
    for (int i = 1; i < SCALE_KNOTS - 1; i++)
        scale->slope[i] =
            knot_slope(width[i - 1], rise[i - 1] / width[i - 1], width[i], rise[i] / width[i]);
}

void scale_draw_logistic(truth_scale *scale, int low, int high, gsl_rng *random)
{
    const double center[SCALE_STEPS] = {-20, 15, 65}, spread[SCALE_STEPS] = {20, 12, 12};
    const double share[SCALE_STEPS] = {0.15, 0.3, 0.25};
    scale->logistic = true;
    scale->low = low + gsl_ran_gaussian(random, 0.02 * (high - low));
    scale->high = high + gsl_ran_gaussian(random, 0.02 * (high - low));
    for (int i = 0; i < SCALE_STEPS; i++) {
        scale->share[i] = share[i] * gsl_ran_flat(random, 0.5, 1.3);
        scale->center_deg[i] = center[i] + gsl_ran_flat(random, -spread[i], spread[i]);
        scale->width_deg[i] = gsl_ran_flat(random, 5, 14);
    }
}

static double logistic_step(double angle_deg, double center_deg, double width_deg)
{
    return 1 / (1 + exp((center_deg - angle_deg) / width_deg));
}

/* Each step runs from 0 at -90 to 1 at +90 degrees; a straight line has the rest. */
static double logistic_share(const truth_scale *scale, double angle_deg)
{
    double sum = 0, rest = 1;
    for (int i = 0; i < SCALE_STEPS; i++) {
        double center = scale->center_deg[i], width = scale->width_deg[i];
        double first = logistic_step(-90, center, width), last = logistic_step(90, center, width);
        sum += scale->share[i] * (logistic_step(angle_deg, center, width) - first) / (last - first);
        rest -= scale->share[i];
    }
    return sum + rest * (angle_deg + 90) / 180;
}

double scale_number(const truth_scale *scale, double angle_deg)
{
    if (scale->logistic)
        return scale->low + (scale->high - scale->low) * logistic_share(scale, angle_deg);
    int i = 0;
    while (i < SCALE_KNOTS - 2 && angle_deg > knot_deg[i + 1])
        i++;
    double h = knot_deg[i + 1] - knot_deg[i], s = (angle_deg - knot_deg[i]) / h;
    double chord = (scale->value[i + 1] - scale->value[i]) / h;
    double c = 3 * chord - 2 * scale->slope[i] - scale->slope[i + 1];
    double d = scale->slope[i] + scale->slope[i + 1] - 2 * chord;
    return scale->value[i] + h * s * (scale->slope[i] + s * (c + s * d));
}
