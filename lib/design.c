/* Which measurements tell most: greedy choice and exchange over candidates. */
#include "brineband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "copy.h"
#include "status.h"

BB_CALLS_GSL;

enum { PASSES_MAX = 20 };

/* A gain smaller than this share of the whole is no reason to exchange. */
#define LEAST_SHARE 1e-9

typedef struct {
    const bb_design_problem *problem;
    double *covariance; /* with the runs chosen */
    double *along;      /* C g of the candidate looked at */
    int *times;
} state;

static const double *gradient_of(const bb_design_problem *problem, size_t candidate)
{
    return problem->gradient + candidate * problem->parameters;
}

static double dot(const double *a, const double *b, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

/* Sets along to C g; returns g' C g. */
static double look(state *search, size_t candidate)
{
    const size_t p = search->problem->parameters;
    const double *gradient = gradient_of(search->problem, candidate);
    for (size_t i = 0; i < p; i++)
        search->along[i] = dot(search->covariance + i * p, gradient, p);
    return dot(gradient, search->along, p);
}

/* What one more run gains in the criterion. */
static double worth(state *search, size_t candidate)
{
    const bb_design_problem *problem = search->problem;
    const double scale = problem->variance[candidate] + look(search, candidate);
    if (problem->interests == 0)
        return log(scale / problem->variance[candidate]);
    double sum = 0;
    for (size_t i = 0; i < problem->interests; i++) {
        double reach = dot(problem->interest + i * problem->parameters, search->along,
                           problem->parameters);
        sum += problem->weight[i] * reach * reach;
    }
    return sum / scale;
}

/* Add (sign 1) or take away (-1) a run: C -= sign C g g' C / (v + sign g' C g). */
static void run(state *search, size_t candidate, int sign)
{
    const size_t p = search->problem->parameters;
    const double scale = search->problem->variance[candidate] + sign * look(search, candidate);
    for (size_t i = 0; i < p; i++)
        for (size_t j = 0; j < p; j++)
            search->covariance[i * p + j] -= sign * search->along[i] * search->along[j] / scale;
}

static size_t best_candidate(state *search, double *value)
{
    size_t best = 0;
    *value = -INFINITY;
    const int most = search->problem->most;
    for (size_t c = 0; c < search->problem->candidates; c++) {
        if (most > 0 && search->times[c] >= most)
            continue;
        double gain = worth(search, c);
        if (gain > *value) {
            *value = gain;
            best = c;
        }
    }
    return best;
}

static double criterion(const state *search, bb_status *status)
{
    const bb_design_problem *problem = search->problem;
    const size_t p = problem->parameters;
    double sum = 0;
    if (problem->interests > 0) {
        for (size_t i = 0; i < problem->interests; i++) {
            const double *interest = problem->interest + i * p;
            for (size_t j = 0; j < p; j++)
                sum += problem->weight[i] * interest[j] *
                       dot(search->covariance + j * p, interest, p);
        }
        return sum;
    }
    double *copy = bb_copy(search->covariance, p * p, sizeof *copy);
    if (copy == NULL) {
        *status = BB_MEMORY;
        return NAN;
    }
    gsl_matrix_view matrix = gsl_matrix_view_array(copy, p, p);
    if (gsl_linalg_cholesky_decomp1(&matrix.matrix) != 0)
        *status = BB_RANK;
    for (size_t i = 0; i < p; i++)
        sum += 2 * log(copy[i * p + i]);
    free(copy);
    return sum;
}

/* Put every run in question once: take it away, and run what is best instead. */
static bool exchange(state *search, double whole)
{
    int *times = search->times;
    bool moved = false;
    for (size_t c = 0; c < search->problem->candidates; c++) {
        if (times[c] == 0)
            continue;
        run(search, c, -1);
        times[c]--;
        double value, now = worth(search, c);
        size_t best = best_candidate(search, &value);
        if (best != c && value > now + LEAST_SHARE * whole) {
            times[best]++;
            run(search, best, 1);
            moved = true;
        } else {
            times[c]++;
            run(search, c, 1);
        }
    }
    return moved;
}

static bool valid(const bb_design_problem *problem)
{
    for (size_t c = 0; c < problem->candidates; c++)
        if (!(problem->variance[c] > 0))
            return false;
    return problem->parameters > 0 && problem->candidates > 0 && problem->most >= 0 &&
           (problem->most == 0 ||
            problem->runs <= problem->candidates * (size_t)problem->most);
}

bb_status bb_design_choose(const bb_design_problem *problem, int *times, double *before,
                           double *after)
{
    if (!valid(problem))
        return BB_RANGE;
    const size_t p = problem->parameters;
    state search = {.problem = problem,
                     .covariance = bb_copy(problem->covariance, p * p, sizeof(double)),
                     .along = calloc(p, sizeof(double)),
                     .times = times};
    bb_status status = search.covariance && search.along ? BB_OK : BB_MEMORY;
    memset(times, 0, problem->candidates * sizeof *times);
    if (status == BB_OK)
        *before = criterion(&search, &status);
    for (size_t r = 0; r < problem->runs && status == BB_OK; r++) {
        double value;
        size_t best = best_candidate(&search, &value);
        times[best]++;
        run(&search, best, 1);
    }
    if (status == BB_OK) {
        const double whole = problem->interests > 0 ? fabs(*before) : 1;
        for (int pass = 0; pass < PASSES_MAX && exchange(&search, whole); pass++)
            continue;
        *after = criterion(&search, &status);
    }
    free(search.covariance);
    free(search.along);
    return status;
}
