/* Random effects: one quantity as several visits found it, with what differs between visits. */
#include "brineband.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

#include "status.h"

BB_CALLS_GSL;

enum { STEPS_MAX = 500 };

#define SETTLED 1e-15   /* of the between-visit variance, relative */
#define TAIL 0.95       /* of the two-sided 90 % limits */
#define TAIL_MEAN 0.975 /* of the 95 % limits of the mean */

/* Weighted sums at one between-visit variance. */
typedef struct {
    double weight, square, cube; /* sums of w, w^2 and w^2 (y - mean)^2 */
    double mean, q;
} sums;

static sums sums_at(const double *estimate, const double *variance, size_t count, double tau2)
{
    sums at = {0};
    for (size_t i = 0; i < count; i++) {
        const double weight = 1 / (variance[i] + tau2);
        at.weight += weight;
        at.square += weight * weight;
        at.mean += weight * (estimate[i] - estimate[0]);
    }
    at.mean = estimate[0] + at.mean / at.weight;
    for (size_t i = 0; i < count; i++) {
        const double weight = 1 / (variance[i] + tau2), off = estimate[i] - at.mean;
        at.q += weight * off * off;
        at.cube += weight * weight * off * off;
    }
    return at;
}

/* Where Q is its expectation k - 1; Newton's steps from nought rise to it (DerSimonian and Kacker
 * 2007, Contemporary Clinical Trials 28:105). */
static double paule_mandel(const double *estimate, const double *variance, size_t count)
{
    double tau2 = 0;
    for (int step = 0; step < STEPS_MAX; step++) {
        const sums at = sums_at(estimate, variance, count, tau2);
        const double excess = at.q - (double)(count - 1);
        if (!(excess > 0) || !(excess / at.cube > SETTLED * tau2))
            break;
        tau2 += excess / at.cube;
    }
    return tau2;
}

static double dersimonian_laird(const sums *fixed, size_t count)
{
    return fmax((fixed->q - (double)(count - 1)) /
                    (fixed->weight - fixed->square / fixed->weight), 0);
}

static bool accepted(const double *estimate, const double *variance, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(estimate[i]) || !isfinite(variance[i]) || !(variance[i] > 0))
            return false;
    return count > 0;
}

bb_status bb_pool(const double *estimate, const double *variance, size_t count,
                  bb_pool_method method, bb_pooled *pooled)
{
    if (!accepted(estimate, variance, count))
        return BB_RANGE;
    const sums fixed = sums_at(estimate, variance, count, 0);
    const double freedom = (double)count - 1;
    bb_pooled made = {.count = count, .q = fixed.q, .mean_low = NAN, .mean_high = NAN,
                      .new_low = NAN, .new_high = NAN, .q_p = NAN, .typical_variance = NAN};
    if (count > 1)
        made.tau2 = method == BB_POOL_DERSIMONIAN_LAIRD ? dersimonian_laird(&fixed, count)
                                                        : paule_mandel(estimate, variance, count);
    const sums at = sums_at(estimate, variance, count, made.tau2);
    made.mean = at.mean;
    made.se = made.se_knapp_hartung = 1 / sqrt(at.weight);
    if (count > 1) {
        made.typical_variance = freedom * fixed.weight /
                                (fixed.weight * fixed.weight - fixed.square);
        made.i2 = made.tau2 / (made.tau2 + made.typical_variance);
        made.q_p = gsl_cdf_chisq_Q(fixed.q, freedom);
        made.se_knapp_hartung = made.se * sqrt(fmax(1, at.q / freedom));
        const double mean_room = gsl_cdf_tdist_Pinv(TAIL_MEAN, freedom) * made.se_knapp_hartung;
        const double new_room = gsl_cdf_tdist_Pinv(TAIL, freedom) *
                                hypot(sqrt(made.tau2), made.se_knapp_hartung);
        made.mean_low = made.mean - mean_room;
        made.mean_high = made.mean + mean_room;
        made.new_low = made.mean - new_room;
        made.new_high = made.mean + new_room;
    }
    *pooled = made;
    return BB_OK;
}

void bb_pool_without(const double *estimate, const double *variance, size_t count, double tau2,
                     double *weight, double *shift)
{
    const sums all = sums_at(estimate, variance, count, tau2);
    for (size_t i = 0; i < count; i++) {
        const double own = 1 / (variance[i] + tau2);
        weight[i] = own / all.weight;
        shift[i] = count > 1 ? own * (estimate[i] - all.mean) / (all.weight - own) : NAN;
    }
}
