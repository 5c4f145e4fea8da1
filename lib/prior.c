/* What is believed before the sweeps: the model's own prior, sharpened by an earlier profile where
 * both name the same quantity. */
#include "prior.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

#include "status.h"

/* How far a quantity moves from one visit to the next, added to the earlier doubt (in quadrature);
 * judgement, no source. Matched by the end of the parameter's name. */
static const struct {
    const char *ending;
    double sd;
} moves[] = {{"_end", 0.3},       {".log_salt", 0.5}, {".angle_deg", 2}, {".drift_per_hour", 0.3},
             {"log_level", 0.7},  {"log_time", 0.03}, {"log_strength", 0.1}};

static double move_of(const char *name)
{
    for (size_t i = 0; i < sizeof moves / sizeof *moves; i++) {
        size_t length = strlen(name), end = strlen(moves[i].ending);
        if (length >= end && strcmp(name + length - end, moves[i].ending) == 0)
            return moves[i].sd;
    }
    return 0.05;
}

static bool invert_lower(gsl_matrix *matrix)
{
    return gsl_linalg_tri_invert(CblasLower, CblasNonUnit, matrix) == 0;
}

/* covariance = (rows' rows)^-1 */
static bool covariance_of_rows(const double *rows, size_t n, gsl_matrix *covariance)
{
    gsl_matrix_const_view from = gsl_matrix_const_view_array(rows, n, n);
    gsl_matrix_set_zero(covariance);
    return gsl_blas_dsyrk(CblasLower, CblasTrans, 1, &from.matrix, 0, covariance) == 0 &&
           gsl_linalg_cholesky_decomp1(covariance) == 0 &&
           gsl_linalg_cholesky_invert(covariance) == 0;
}

/* rows = L^-1 with covariance = L L' */
static bool rows_of_covariance(gsl_matrix *covariance, double *rows)
{
    const size_t n = covariance->size1;
    if (gsl_linalg_cholesky_decomp1(covariance) != 0 || !invert_lower(covariance))
        return false;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            rows[i * n + j] = j <= i ? gsl_matrix_get(covariance, i, j) : 0;
    return true;
}

static bb_status same_machine(const bb_machine *a, const bb_machine *b, bb_error *error)
{
    const char *field = a->scale_low != b->scale_low || a->scale_high != b->scale_high ||
                                a->scale_step != b->scale_step
                            ? "number scale"
                        : fabs(a->coil_radius_m - b->coil_radius_m) > 1e-6 ? "coil_diameter_cm"
                        : a->frequency_kind != b->frequency_kind ||
                                fabs(a->frequency_hz - b->frequency_hz) > 1e-6 * a->frequency_hz
                            ? "frequency_khz"
                        : strcmp(a->settings, b->settings) != 0 ? "settings"
                                                                : NULL;
    return field == NULL ? BB_OK
                         : bb_error_say(error, BB_INPUT,
                                        "the earlier profile is of another machine or setting: "
                                        "its %s differs", field);
}

/* Put the earlier estimates and covariances in the place of the model's prior. */
static void take_over(const bb_model *model, const bb_zone *zones, const bb_profile *earlier,
                      gsl_matrix *covariance, double *mean, int *from)
{
    const size_t n = (size_t)model->layout.count;
    for (size_t i = 0; i < n; i++) {
        char name[BB_NAME_BYTES + 32];
        bb_model_parameter_name(model, zones, (int)i, name);
        from[i] = -1;
        for (size_t e = 0; e < earlier->parameter_count && from[i] < 0; e++)
            if (strcmp(name, earlier->parameters[e].name) == 0)
                from[i] = (int)e;
    }
    for (size_t i = 0; i < n; i++) {
        if (from[i] < 0)
            continue;
        const bb_parameter *parameter = &earlier->parameters[from[i]];
        double move = move_of(parameter->name);
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
        status = same_machine(&model->machine, &earlier->machine, error);
        if (status == BB_OK)
            take_over(model, zones, earlier, covariance, prior->mean, from);
    }
    for (size_t i = 0; i < n && status == BB_OK; i++)
        prior->sd[i] = sqrt(gsl_matrix_get(covariance, i, i));
    if (status == BB_OK && earlier != NULL && !rows_of_covariance(covariance, prior->rows))
        status = bb_error_say(error, BB_INPUT, "the earlier profile's covariance is not positive");
    free(from);
    gsl_matrix_free(covariance);
    return status;
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
