/* Random effects: one quantity as several visits found it, with what differs between visits. */
#include "brineband.h"

#include <math.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_randist.h>

#include "status.h"

BB_CALLS_GSL;

enum { STEPS_MAX = 500, NODES = 64 };

#define SETTLED 1e-15   /* of the between-visit variance, relative */
#define TAIL 0.05       /* below each end of the 90 % limits */
#define TAIL_MEAN 0.975 /* of the 95 % limits of the mean */
#define NEAR 1e-12      /* of the room between visits: an end of the limits that is exact enough */
#define LEAST 1e-7      /* chance of the rarest variance between visits that is looked at */

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

/* Where Q falls to q, or 0; Newton's steps from nought rise to it (DerSimonian and Kacker 2007,
 * Contemporary Clinical Trials 28:105). */
static double where_q_is(double q, const double *estimate, const double *variance, size_t count)
{
    double tau2 = 0;
    for (int step = 0; step < STEPS_MAX; step++) {
        const sums at = sums_at(estimate, variance, count, tau2);
        const double excess = at.q - q;
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

/* Where a new visit may lie: a mixture of normals over the variances between that the data leave
 * possible. */
typedef struct {
    double weight[NODES + 1], mean[NODES + 1], sd[NODES + 1], total;
} forecast;

static void forecast_add(forecast *of, int node, double weight, double tau2, const sums *at)
{
    of->weight[node] = weight;
    of->mean[node] = at->mean;
    of->sd[node] = sqrt(tau2 + 1 / at->weight);
    of->total += weight;
}

/* Q at the true variance between is chi squared with k - 1 degrees of freedom, so that its upper
 * tail is a confidence distribution of that variance (the Q profile of Viechtbauer 2007, Statistics
 * in Medicine 26:37; over it a new visit, as Nagashima, Noma and Furukawa 2019, Statistical Methods
 * in Medical Research 28:1689, do with another Q; both from memory). What lies below nought counts
 * as nought. */
static bool look_out(const double *estimate, const double *variance, size_t count, double typical,
                     forecast *of)
{
    const double freedom = (double)count - 1;
    const double low = where_q_is(gsl_cdf_chisq_Qinv(LEAST, freedom), estimate, variance, count),
                 high = where_q_is(gsl_cdf_chisq_Pinv(LEAST, freedom), estimate, variance, count);
    gsl_integration_glfixed_table *rule = gsl_integration_glfixed_table_alloc(NODES);
    const sums equal = sums_at(estimate, variance, count, 0);
    of->total = 0;
    if (rule == NULL)
        return false;
    forecast_add(of, NODES, gsl_cdf_chisq_Q(equal.q, freedom), 0, &equal);
    for (size_t node = 0; node < NODES; node++) {
        double x, weight;
        (void)gsl_integration_glfixed_point(log(low + typical), log(high + typical), node, &x,
                                            &weight, rule);
        const double tau2 = fmax(exp(x) - typical, 0);
        const sums at = sums_at(estimate, variance, count, tau2);
        forecast_add(of, (int)node,
                    weight * exp(x) * at.cube * gsl_ran_chisq_pdf(at.q, freedom), tau2, &at);
    }
    gsl_integration_glfixed_table_free(rule);
    return true;
}

static double forecast_below(const forecast *of, double value, double *density)
{
    double sum = 0;
    *density = 0;
    for (int node = 0; node <= NODES; node++) {
        const double t = (value - of->mean[node]) / of->sd[node];
        if (of->weight[node] > 0) {
            sum += of->weight[node] * gsl_cdf_ugaussian_P(t);
            *density += of->weight[node] * gsl_ran_ugaussian_pdf(t) / of->sd[node];
        }
    }
    *density /= of->total;
    return sum / of->total;
}

/* Newton's steps, halved wherever they would leave what is known to enclose it. */
static double forecast_quantile(const forecast *of, double p, double middle, double room)
{
    double low = middle, high = middle, density, reach = room;
    while (forecast_below(of, low, &density) > p)
        low -= reach *= 2;
    reach = room;
    while (forecast_below(of, high, &density) < p)
        high += reach *= 2;
    double at = low + (high - low) / 2;
    for (int step = 0; step < STEPS_MAX && high - low > SETTLED * room; step++) {
        const double off = forecast_below(of, at, &density) - p, from = at;
        *(off < 0 ? &low : &high) = at;
        at -= off / density;
        if (!(at > low && at < high))
            at = low + (high - low) / 2;
        if (fabs(at - from) <= NEAR * room)
            break;
    }
    return at;
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
                                                        : where_q_is(freedom, estimate, variance,
                                                                     count);
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
        made.mean_low = made.mean - mean_room;
        made.mean_high = made.mean + mean_room;
        forecast next;
        if (!look_out(estimate, variance, count, made.typical_variance, &next))
            return BB_MEMORY;
        const double step = hypot(sqrt(made.tau2), made.se_knapp_hartung);
        made.new_low = forecast_quantile(&next, TAIL, made.mean, step);
        made.new_high = forecast_quantile(&next, 1 - TAIL, made.mean, step);
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
