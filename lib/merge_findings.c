/* What a visit found beside its prior: each quantity by itself, and curve and pieces together. */
#include "merge.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

#include "copy.h"
#include "prior.h"
#include "status.h"

#define LEARNED 0.81 /* of the prior's variance: above it the visit taught too little to count */
#define SAME_PRIOR 1e-6

bool bb_is_shared(const bb_layout *at, size_t index)
{
    const int i = (int)index;
    return i < BB_CURVE_PARAMETERS || i == at->frequency || i == at->severity ||
           i >= at->first_target;
}

double bb_prior_precision(const double *rows, size_t n, size_t i, size_t j)
{
    double sum = 0;
    if (i != j && (i >= BB_CURVE_PARAMETERS || j >= BB_CURVE_PARAMETERS))
        return 0;
    for (size_t r = 0; r < BB_CURVE_PARAMETERS && i < BB_CURVE_PARAMETERS; r++)
        sum += rows[r * n + i] * rows[r * n + j];
    return i < BB_CURVE_PARAMETERS ? sum : rows[i * n + i] * rows[i * n + i];
}

bb_status bb_newcomer_ready(bb_newcomer *of, bb_error *error)
{
    const bb_profile *profile = of->profile;
    bb_status status = bb_model_of(profile, &of->model, error);
    if (status != BB_OK)
        return status;
    of->n = (size_t)of->model->layout.count;
    if (profile->parameter_count != of->n ||
        bb_model_stranger(of->model, profile->zones, profile->parameters, of->n) != of->n)
        return bb_error_say(error, BB_INPUT, "%s: its parameters are not those of its kit and zones",
                            of->path);
    of->rows = calloc(of->n * of->n, sizeof *of->rows);
    of->mean = calloc(of->n, sizeof *of->mean);
    if (of->rows == NULL || of->mean == NULL)
        return bb_out_of_memory(error);
    bb_model_prior(of->model, of->rows, of->mean);
    bb_model_noise_prior(of->model, profile->zones, &of->noise);
    return BB_OK;
}

void bb_newcomer_release(bb_newcomer *of)
{
    bb_model_free(of->model);
    free(of->rows);
    free(of->mean);
}

static bool differs(double a, double b)
{
    return fabs(a - b) > SAME_PRIOR * (1 + fabs(b));
}

bool bb_newcomer_from_prior(const bb_newcomer *of)
{
    const bb_parameter *reading = &of->profile->noise.reading;
    bool other = differs(reading->prior_mean, of->noise.reading.prior_mean) ||
                 differs(reading->prior_sd, of->noise.reading.prior_sd);
    for (size_t i = 0; i < of->n && !other; i++) {
        const bb_parameter *parameter = &of->profile->parameters[i];
        other = differs(parameter->prior_mean, of->mean[i]) ||
                (i >= BB_CURVE_PARAMETERS &&
                 differs(parameter->prior_sd, 1 / of->rows[i * of->n + i]));
    }
    return other;
}

static bb_merge_sum *sum_named(bb_merge *merge, bb_merge_kind kind, const char *name)
{
    for (size_t i = 0; i < merge->sum_count; i++)
        if (merge->sums[i].kind == kind && strcmp(merge->sums[i].name, name) == 0)
            return &merge->sums[i];
    bb_merge_sum *sums =
        bb_grown(merge->sums, merge->sum_count + 1, &merge->sum_room, sizeof *sums);
    if (sums == NULL)
        return NULL;
    merge->sums = sums;
    bb_merge_sum *made = &merge->sums[merge->sum_count++];
    *made = (bb_merge_sum){.kind = kind};
    (void)snprintf(made->name, sizeof made->name, "%s", name);
    return made;
}

/* A quantity's estimate from this visit's sweeps alone: what its prior gave is taken out again.
 * Counted from origin, where the physics puts it. */
static bb_status add_finding(bb_merge *merge, bb_merge_kind kind, const char *name,
                             double estimate, double variance, double prior_mean,
                             double prior_variance, double origin)
{
    if (!(variance > 0) || !(variance <= LEARNED * prior_variance))
        return BB_OK;
    bb_merge_sum *sum = sum_named(merge, kind, name);
    if (sum == NULL)
        return BB_MEMORY;
    bb_finding *findings =
        bb_grown(sum->findings, sum->count + 1, &sum->room, sizeof *findings);
    if (findings == NULL)
        return BB_MEMORY;
    sum->findings = findings;
    const double own = 1 / (1 / variance - 1 / prior_variance);
    sum->findings[sum->count++] = (bb_finding){
        .member = merge->member_count,
        .estimate = own * (estimate / variance - prior_mean / prior_variance) - origin,
        .variance = own};
    return BB_OK;
}

static bb_status add_noise(bb_merge *merge, bb_merge_kind kind, const char *name,
                           const bb_parameter *found, const bb_parameter *prior, double origin)
{
    return add_finding(merge, kind, name, found->estimate, found->sd * found->sd, prior->prior_mean,
                       prior->prior_sd * prior->prior_sd, origin);
}

static double prior_variance(const bb_newcomer *of, int index)
{
    const double row = of->rows[(size_t)index * of->n + (size_t)index];
    return 1 / (row * row);
}

static bb_status add_zone(bb_merge *merge, const bb_newcomer *of, size_t z)
{
    const bb_layout *at = &of->model->layout;
    const bb_profile *profile = of->profile;
    const char *name = profile->zones[z].name;
    const size_t level = (size_t)at->level, own = (size_t)at->residual[z],
                 angle = (size_t)at->angle[z];
    const double *c = profile->covariance;
    bb_status status = add_finding(
        merge, BB_MERGE_SALT, name,
        profile->parameters[level].estimate + profile->parameters[own].estimate,
        c[level * of->n + level] + c[own * of->n + own] + 2 * c[level * of->n + own], 0,
        prior_variance(of, at->level) + prior_variance(of, at->residual[z]), 0);
    if (status == BB_OK)
        status = add_finding(merge, BB_MERGE_ANGLE, name, profile->parameters[angle].estimate,
                             c[angle * of->n + angle], of->mean[angle],
                             prior_variance(of, at->angle[z]), of->mean[angle]);
    if (status == BB_OK)
        status = add_noise(merge, BB_MERGE_JITTER, name, &profile->noise.jitter[z],
                           &of->noise.jitter[z], of->noise.jitter[z].prior_mean);
    return status;
}

bb_status bb_merge_findings(bb_merge *merge, const bb_newcomer *of)
{
    const bb_profile *profile = of->profile;
    bb_status status = BB_OK;
    for (size_t z = 0; z < profile->zone_count && status == BB_OK; z++)
        status = add_zone(merge, of, z);
    if (status != BB_OK || merge->options.any_machine)
        return status;
    status = add_noise(merge, BB_MERGE_READING, "", &profile->noise.reading, &of->noise.reading, 0);
    if (status == BB_OK)
        status = add_noise(merge, BB_MERGE_WANDER, "", &profile->noise.wander, &of->noise.wander, 0);
    for (size_t i = (size_t)of->model->layout.first_target; i < of->n && status == BB_OK; i++)
        status = add_finding(merge, BB_MERGE_PARAMETER, profile->parameters[i].name,
                             profile->parameters[i].estimate, profile->covariance[i * of->n + i],
                             of->mean[i], prior_variance(of, (int)i), 0);
    return status;
}

/* ---------------------------------------------------------------- curve and pieces */

static size_t shared_named(bb_merge *merge, const char *name)
{
    size_t at = 0;
    while (at < merge->shared_count && strcmp(merge->shared[at].name, name) != 0)
        at++;
    if (at == merge->shared_count)
        (void)snprintf(merge->shared[merge->shared_count++].name, sizeof merge->shared->name, "%s",
                       name);
    return at;
}

/* The information of a visit's sweeps on what it shares with others, L = C^-1 - P^-1, weakened by
 * what moves between visits, T (diagonal): L* = L - L S M^-1 S L with S = sqrt T and
 * M = 1 + S L S, so that no visit weighs more than its own day allows. gain: L (estimate). Only the
 * lower triangle of L* is set. */
static bb_status weaken(gsl_matrix *information, gsl_vector *gain, const double *move)
{
    const size_t n = gain->size;
    gsl_matrix *m = gsl_matrix_alloc(n, n), *half = gsl_matrix_alloc(n, n);
    gsl_vector *seen = gsl_vector_alloc(n);
    const bool room = m != NULL && half != NULL && seen != NULL;
    bool done = room;
    for (size_t i = 0; i < n && done; i++) {
        gsl_vector_set(seen, i, move[i] * gsl_vector_get(gain, i));
        for (size_t j = 0; j < n; j++) {
            const double value = move[i] * gsl_matrix_get(information, i, j);
            gsl_matrix_set(half, i, j, value);
            gsl_matrix_set(m, i, j, value * move[j] + (i == j));
        }
    }
    done = done && gsl_linalg_cholesky_decomp1(m) == 0;
    if (done) {
        gsl_blas_dtrsv(CblasLower, CblasNoTrans, CblasNonUnit, m, seen);
        gsl_blas_dtrsm(CblasLeft, CblasLower, CblasNoTrans, CblasNonUnit, 1, m, half);
        gsl_blas_dgemv(CblasTrans, -1, half, seen, 1, gain);
        gsl_blas_dsyrk(CblasLower, CblasTrans, -1, half, 1, information);
    }
    gsl_matrix_free(m);
    gsl_matrix_free(half);
    gsl_vector_free(seen);
    return done ? BB_OK : room ? BB_RANK : BB_MEMORY;
}

/* Information and gain of the shared parameters, index[0..s). */
static bool shared_information(const bb_newcomer *of, const size_t *index, gsl_matrix *information,
                               gsl_vector *gain)
{
    const size_t s = gain->size;
    for (size_t i = 0; i < s; i++)
        for (size_t j = 0; j < s; j++)
            gsl_matrix_set(information, i, j, of->profile->covariance[index[i] * of->n + index[j]]);
    if (gsl_linalg_cholesky_decomp1(information) != 0)
        return false;
    gsl_linalg_cholesky_invert(information);
    for (size_t i = 0; i < s; i++) {
        double sum = 0;
        for (size_t j = 0; j < s; j++) {
            const double prior = bb_prior_precision(of->rows, of->n, index[i], index[j]);
            sum += gsl_matrix_get(information, i, j) * of->profile->parameters[index[j]].estimate -
                   prior * of->mean[index[j]];
            gsl_matrix_set(information, i, j, gsl_matrix_get(information, i, j) - prior);
        }
        gsl_vector_set(gain, i, sum);
    }
    return true;
}

bb_status bb_merge_shared(bb_merge *merge, const bb_newcomer *of)
{
    size_t index[BB_SHARED_MAX] = {0}, place[BB_SHARED_MAX] = {0}, s = 0;
    double move[BB_SHARED_MAX] = {0};
    for (size_t i = 0; i < of->n; i++)
        if (bb_is_shared(&of->model->layout, i)) {
            index[s] = i;
            move[s++] = bb_visit_move(of->profile->parameters[i].name);
        }
    gsl_matrix *information = gsl_matrix_alloc(s, s);
    gsl_vector *gain = gsl_vector_alloc(s);
    bb_status status = information == NULL || gain == NULL ? BB_MEMORY : BB_OK;
    if (status == BB_OK && !shared_information(of, index, information, gain))
        status = BB_RANK;
    if (status == BB_OK)
        status = weaken(information, gain, move);
    for (size_t i = 0; i < s && status == BB_OK; i++)
        place[i] = shared_named(merge, of->profile->parameters[index[i]].name);
    for (size_t i = 0; i < s && status == BB_OK; i++) {
        merge->shared[place[i]].weighted += gsl_vector_get(gain, i);
        for (size_t j = 0; j < s; j++)
            merge->information[place[i] * BB_SHARED_MAX + place[j]] +=
                gsl_matrix_get(information, i > j ? i : j, i > j ? j : i);
    }
    gsl_matrix_free(information);
    gsl_vector_free(gain);
    return status;
}
