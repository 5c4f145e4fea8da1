/* What a profile must say of its parameters, their covariance and the noise. */
#include "profile_read_parts.h"

#include "place.h"
#include "profile_fields.h"

#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

static bb_status read_parameter(const bb_json_source *source, const bb_json_place *place,
                                const json_t *value, const bb_fields *fields,
                                bb_parameter *parameter)
{
    bb_json_place learned = {place, "learned", 0};
    const json_t *flag = json_object_get(value, learned.key);
    bb_status status = bb_fields_read(source, place, value, fields, parameter);
    if (status != BB_OK)
        return status;
    bool wanted = bb_parameter_learned(parameter);
    if (!json_is_boolean(flag) || json_is_true(flag) != wanted)
        return bb_json_refuse(source, &learned, NULL, "%s, as sd and prior_sd have it",
                              wanted ? "true" : "false");
    return BB_OK;
}

static bb_status read_parameter_list(const bb_json_source *source, const bb_json_place *place,
                                     const json_t *value, const bb_fields *fields,
                                     bb_parameter *parameters)
{
    bb_status status = BB_OK;
    for (size_t i = 0; status == BB_OK && i < json_array_size(value); i++) {
        bb_json_place here = {place, NULL, i};
        status = read_parameter(source, &here, json_array_get(value, i), fields, &parameters[i]);
    }
    return status;
}

bb_status bb_read_parameters(const bb_json_source *source, const bb_json_place *place,
                                 const json_t *value, bb_profile *profile)
{
    bb_status status;
    size_t size = sizeof *profile->parameters;
    profile->parameters = bb_records_room(source, place, value, BB_PROFILE_PARAMETERS_MAX, size,
                                          &status);
    if (status != BB_OK)
        return status;
    profile->parameter_count = json_array_size(value);
    status = read_parameter_list(source, place, value, &bb_parameter_fields, profile->parameters);
    if (status != BB_OK)
        return status;
    return bb_names_check(source, place, "name", profile->parameters, profile->parameter_count, size,
                          NULL);
}

static bb_status read_variance(const bb_json_source *source, const bb_json_place *place,
                               const json_t *value, double sd, double *variance)
{
    if (bb_json_is_number(value, sd * sd * (1 - 1e-9), sd * sd * (1 + 1e-9))) {
        *variance = json_number_value(value);
        return BB_OK;
    }
    return bb_json_refuse(source, place, NULL, "%.15g, the square of this parameter's sd", sd * sd);
}

/* One row of the lower triangle, and with it a column of the upper. */
static bb_status read_row(const bb_json_source *source, const bb_json_place *place,
                          const json_t *value, bb_profile *profile)
{
    size_t row = place->index, count = profile->parameter_count;
    double *matrix = profile->covariance, sd = profile->parameters[row].sd;
    bb_status status = bb_json_list(source, place, value, row + 1, row + 1);
    for (size_t column = 0; status == BB_OK && column < row; column++) {
        bb_json_place here = {place, NULL, column};
        const json_t *entry = json_array_get(value, column);
        double limit = sd * profile->parameters[column].sd;
        if (!bb_json_is_number(entry, -limit * (1 + 1e-9), limit * (1 + 1e-9)))
            status = bb_json_refuse(source, &here, NULL, "a number from %.15g to %.15g", -limit,
                                    limit);
        matrix[row * count + column] = matrix[column * count + row] = json_number_value(entry);
    }
    bb_json_place diagonal = {place, NULL, row};
    return status != BB_OK ? status
                           : read_variance(source, &diagonal, json_array_get(value, row), sd,
                                           &matrix[row * count + row]);
}

/* Cholesky of the correlations, with 1e-8 more on their diagonal: rounding may leave a
 * semidefinite matrix a hair below. */
static bb_status check_definite(const bb_json_source *source, const bb_json_place *place,
                                const bb_profile *profile)
{
    size_t count = profile->parameter_count;
    if (count == 0)
        return BB_OK;
    gsl_matrix *correlation = gsl_matrix_alloc(count, count);
    if (correlation == NULL)
        return bb_out_of_memory(source->error);
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < count; j++) {
            double product = profile->parameters[i].sd * profile->parameters[j].sd;
            double share = product > 0 ? profile->covariance[i * count + j] / product : 0;
            gsl_matrix_set(correlation, i, j, i == j ? 1 + 1e-8 : share);
        }
    int failed = gsl_linalg_cholesky_decomp1(correlation);
    gsl_matrix_free(correlation);
    return failed == 0 ? BB_OK
                       : bb_json_refuse(source, place, "a matrix that is not positive definite",
                                        "a covariance matrix");
}

bb_status bb_read_covariance(const bb_json_source *source, const bb_json_place *place,
                                 const json_t *value, bb_profile *profile)
{
    size_t count = profile->parameter_count;
    bb_status status = bb_json_list(source, place, value, count, count);
    if (status != BB_OK)
        return status;
    profile->covariance = calloc(count * count + 1, sizeof *profile->covariance);
    if (profile->covariance == NULL)
        return bb_out_of_memory(source->error);
    for (size_t row = 0; status == BB_OK && row < count; row++) {
        bb_json_place here = {place, NULL, row};
        status = read_row(source, &here, json_array_get(value, row), profile);
    }
    return status == BB_OK ? check_definite(source, place, profile) : status;
}

bb_status bb_read_noise(const bb_json_source *source, const bb_json_place *place,
                            const json_t *value, bb_profile *profile)
{
    bb_noise *noise = &profile->noise;
    bb_json_place reading = {place, "ln_reading_numbers", 0}, wander = {place, "ln_wander_deg", 0};
    bb_json_place jitter = {place, "ln_jitter", 0};
    const json_t *jitters = json_object_get(value, jitter.key);
    bb_status status = bb_fields_read(source, place, value, &bb_noise_fields, noise);
    if (status == BB_OK)
        status = read_parameter(source, &reading, json_object_get(value, reading.key),
                                &bb_logarithm_fields, &noise->reading);
    if (status == BB_OK)
        status = read_parameter(source, &wander, json_object_get(value, wander.key),
                                &bb_logarithm_fields, &noise->wander);
    if (status == BB_OK)
        status = bb_json_list(source, &jitter, jitters, profile->zone_count, profile->zone_count);
    return status != BB_OK ? status
                           : read_parameter_list(source, &jitter, jitters, &bb_logarithm_fields,
                                                 noise->jitter);
}
