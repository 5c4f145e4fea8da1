/* What is believed before the sweeps: the model's own prior, sharpened by an earlier profile where
 * both name the same quantity. */
#include "prior.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>

#include "status.h"

#define SAME 1e-6 /* relative, of sizes that count as one */

/* How far a quantity moves from one visit to the next, added to the earlier doubt (in quadrature);
 * judgement, no source. Matched by the end of the parameter's name. */
static const struct {
    const char *ending;
    double sd;
} moves[] = {{"_end", 0.3},         {".log_salt", 0.5},   {".angle_deg", 2},
             {".drift_per_hour", 0.3}, {"log_level", 0.7}, {"log_time", 0.03},
             {"log_strength", 0.1}, {".log_jitter", 0.3}, {".log_wander_deg", 0.3},
             {".log_reading", 0.1}};

double bb_visit_move(const char *name)
{
    for (size_t i = 0; i < sizeof moves / sizeof *moves; i++) {
        size_t length = strlen(name), end = strlen(moves[i].ending);
        if (length >= end && strcmp(name + length - end, moves[i].ending) == 0)
            return moves[i].sd;
    }
    return 0.05;
}

/* covariance = (rows' rows)^-1 */
static bool covariance_of_rows(const double *rows, size_t n, gsl_matrix *covariance)
{
    gsl_matrix_const_view from = gsl_matrix_const_view_array(rows, n, n);
    gsl_matrix_set_zero(covariance);
    gsl_blas_dsyrk(CblasLower, CblasTrans, 1, &from.matrix, 0, covariance);
    if (gsl_linalg_cholesky_decomp1(covariance) != 0)
        return false;
    gsl_linalg_cholesky_invert(covariance);
    return true;
}

/* rows = L^-1 with covariance = L L' */
static bool rows_of_covariance(gsl_matrix *covariance, double *rows)
{
    const size_t n = covariance->size1;
    if (gsl_linalg_cholesky_decomp1(covariance) != 0)
        return false;
    gsl_linalg_tri_invert(CblasLower, CblasNonUnit, covariance);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            rows[i * n + j] = j <= i ? gsl_matrix_get(covariance, i, j) : 0;
    return true;
}

const char *bb_machine_difference(const bb_machine *a, const bb_machine *b)
{
    return a->scale_low != b->scale_low     ? "scale_low"
           : a->scale_high != b->scale_high ? "scale_high"
           : a->scale_step != b->scale_step ? "scale_step"
           : fabs(a->coil_radius_m - b->coil_radius_m) > SAME * a->coil_radius_m
               ? "coil_diameter_cm"
           : a->frequency_kind != b->frequency_kind ||
                   fabs(a->frequency_hz - b->frequency_hz) > SAME * a->frequency_hz ||
                   fabs(a->lower_frequency_hz - b->lower_frequency_hz) > SAME * a->frequency_hz
               ? "frequency_khz"
           : strcmp(a->settings, b->settings) != 0 ? "settings"
                                                   : NULL;
}

static bb_status same_machine(const bb_machine *a, const bb_profile *earlier, bb_error *error)
{
    const char *field = bb_machine_difference(a, &earlier->machine);
    return field == NULL || earlier->any_machine
               ? BB_OK
               : bb_error_say(error, BB_INPUT,
                              "the earlier profile is of another machine or setting: "
                              "its %s differs", field);
}

/* The zone a parameter belongs to, or -1. */
static int zone_of(const bb_layout *at, size_t zone_count, int index)
{
    for (size_t z = 0; z < zone_count; z++)
        if (at->residual[z] == index || at->angle[z] == index || at->drift[z] == index)
            return (int)z;
    return -1;
}

static const bb_model_zone *same_zone(const bb_model *model, const bb_profile *profile,
                                      const char *name)
{
    for (size_t z = 0; z < profile->zone_count; z++)
        if (strcmp(profile->zones[z].name, name) == 0)
            return &model->zone[z];
    return NULL;
}

/* The computed angle moves with the day's water and swing height; what was learned is the rest. */
static void follow_physics(const bb_model *model, const bb_zone *zones, const bb_profile *earlier,
                           const bb_model *before, const int *from, double *mean)
{
    for (size_t z = 0; z < model->zone_count; z++) {
        const bb_model_zone *was = same_zone(before, earlier, zones[z].name);
        const int angle = model->layout.angle[z];
        if (was != NULL && from[angle] >= 0)
            mean[angle] += model->zone[z].angle_deg - was->angle_deg;
    }
}

/* Put the earlier estimates and covariances in the place of the model's prior. */
static void take_over(const bb_model *model, const bb_zone *zones, const bb_profile *earlier,
                      gsl_matrix *covariance, double *mean, int *from)
{
    const size_t n = (size_t)model->layout.count;
    const bb_layout *at = &model->layout;
    for (size_t i = 0; i < n; i++) {
        char name[BB_PARAMETER_BYTES];
        bb_model_parameter_name(model, zones, (int)i, name);
        from[i] = -1;
        if (earlier->any_machine && zone_of(at, model->zone_count, (int)i) < 0 &&
            (int)i != at->level)
            continue;
        for (size_t e = 0; e < earlier->parameter_count && from[i] < 0; e++)
            if (strcmp(name, earlier->parameters[e].name) == 0)
                from[i] = (int)e;
    }
    for (size_t i = 0; i < n; i++) {
        if (from[i] < 0)
            continue;
        const bb_parameter *parameter = &earlier->parameters[from[i]];
        double move = earlier->pooled_visits > 0 ? 0 : bb_visit_move(parameter->name);
        mean[i] = parameter->estimate;
        for (size_t j = 0; j < n; j++) {
            double value = from[j] < 0
                               ? 0
                               : earlier->covariance[(size_t)from[i] * earlier->parameter_count +
                                                     (size_t)from[j]];
            gsl_matrix_set(covariance, i, j, value);
            gsl_matrix_set(covariance, j, i, value);
        }
        gsl_matrix_set(covariance, i, i, gsl_matrix_get(covariance, i, i) + move * move);
    }
}

bb_status bb_prior_new(const bb_model *model, const bb_zone *zones, const bb_profile *earlier,
                       bb_prior *prior, bb_error *error)
{
    const size_t n = (size_t)model->layout.count;
    prior->count = n;
    prior->rows = calloc(n * n, sizeof *prior->rows);
    prior->mean = calloc(n, sizeof *prior->mean);
    prior->sd = calloc(n, sizeof *prior->sd);
    gsl_matrix *covariance = gsl_matrix_alloc(n, n);
    int *from = calloc(n, sizeof *from);
    bb_status status = prior->rows && prior->mean && prior->sd && covariance && from ? BB_OK : BB_MEMORY;
    if (status == BB_OK) {
        bb_model_prior(model, prior->rows, prior->mean);
        status = covariance_of_rows(prior->rows, n, covariance) ? BB_OK : BB_RANK;
    }
    if (status == BB_OK && earlier != NULL) {
        bb_model *before = NULL;
        status = same_machine(&model->machine, earlier, error);
        if (status == BB_OK)
            status = bb_model_of(earlier, &before, error);
        if (status == BB_OK) {
            take_over(model, zones, earlier, covariance, prior->mean, from);
            follow_physics(model, zones, earlier, before, from, prior->mean);
        }
        bb_model_free(before);
    }
    for (size_t i = 0; i < n && status == BB_OK; i++)
        prior->sd[i] = sqrt(gsl_matrix_get(covariance, i, i));
    if (status == BB_OK && earlier != NULL && !rows_of_covariance(covariance, prior->rows))
        status = bb_error_say(error, BB_INPUT, "the earlier profile's covariance is not positive");
    free(from);
    gsl_matrix_free(covariance);
    return status;
}

/* The earlier noise, with its doubt and its move, in the place of the usual one. */
static void take_noise(const bb_parameter *earlier, double shift, bool pooled, bb_parameter *noise)
{
    const double move = pooled ? 0 : bb_visit_move(noise->name);
    noise->prior_mean = noise->estimate = earlier->estimate + shift;
    noise->prior_sd = noise->sd = fmin(hypot(earlier->sd, move), noise->prior_sd);
}

bb_status bb_prior_noise(const bb_model *model, const bb_zone *zones, const bb_profile *earlier,
                         bb_noise *noise, bb_error *error)
{
    bb_model_noise_prior(model, zones, noise);
    if (earlier == NULL)
        return BB_OK;
    const bool pooled = earlier->pooled_visits > 0;
    bb_model *before = NULL;
    bb_status status = bb_model_of(earlier, &before, error);
    if (status != BB_OK)
        return status;
    if (!earlier->any_machine) {
        take_noise(&earlier->noise.reading, 0, pooled, &noise->reading);
        take_noise(&earlier->noise.wander, 0, pooled, &noise->wander);
    }
    for (size_t z = 0; z < model->zone_count; z++)
        for (size_t e = 0; e < earlier->zone_count; e++)
            if (strcmp(zones[z].name, earlier->zones[e].name) == 0)
                take_noise(&earlier->noise.jitter[e],
                           log(model->zone[z].strength / before->zone[e].strength), pooled,
                           &noise->jitter[z]);
    bb_model_free(before);
    return BB_OK;
}

bb_prior_contest bb_prior_contest_of(const bb_profile *profile)
{
    bb_prior_contest contest = {.p = NAN};
    for (size_t i = 0; i < profile->parameter_count; i++) {
        const bb_parameter *parameter = &profile->parameters[i];
        if (!bb_parameter_learned(parameter)) {
            contest.from_prior++;
            continue;
        }
        const double taken = parameter->prior_sd * parameter->prior_sd -
                             parameter->sd * parameter->sd;
        const double far = fabs(parameter->estimate - parameter->prior_mean) / sqrt(taken);
        contest.from_today++;
        if (contest.furthest == NULL || far > contest.standard_errors) {
            contest.furthest = parameter;
            contest.standard_errors = far;
        }
    }
    if (contest.furthest != NULL)
        contest.p = fmin(1, (double)contest.from_today * 2 *
                                gsl_cdf_ugaussian_Q(contest.standard_errors));
    return contest;
}

bb_status bb_prior_covariance(const bb_prior *prior, double *covariance)
{
    gsl_matrix_view to = gsl_matrix_view_array(covariance, prior->count, prior->count);
    return covariance_of_rows(prior->rows, prior->count, &to.matrix) ? BB_OK : BB_RANK;
}

void bb_prior_free(bb_prior *prior)
{
    free(prior->rows);
    free(prior->mean);
    free(prior->sd);
    *prior = (bb_prior){0};
}
