/* What a profile's JSON must say before anything is computed from it: strangers send these. */
#include "profile_read.h"

#include "model.h"
#include "number.h"
#include "place.h"
#include "profile_fields.h"
#include "target.h"

#include <gsl/gsl_linalg.h>
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ESTIMATE_MAX 200.0 /* of logarithms, and of angles in degrees */

/* ---------------------------------------------------------------- machine and beach */

static bool on_scale(const bb_machine *machine, int number)
{
    return number >= machine->scale_low && number <= machine->scale_high &&
           (number - machine->scale_low) % machine->scale_step == 0;
}

static bb_status read_scale_number(const bb_json_source *source, const bb_json_place *place,
                                   const json_t *value, const bb_machine *machine, int *number)
{
    if (bb_json_is_whole(value, machine->scale_low, machine->scale_high) &&
        on_scale(machine, (int)json_number_value(value))) {
        *number = (int)json_number_value(value);
        return BB_OK;
    }
    return bb_json_refuse(source, place, NULL, "a number of the scale: %d to %d in steps of %d",
                          machine->scale_low, machine->scale_high, machine->scale_step);
}

/* [low, high] on the machine's scale. */
static bb_status read_range(const bb_json_source *source, const bb_json_place *place,
                            const json_t *value, const bb_machine *machine, int *low, int *high)
{
    bb_json_place first = {place, NULL, 0}, second = {place, NULL, 1};
    bb_status status = bb_json_list(source, place, value, 2, 2);
    if (status == BB_OK)
        status = read_scale_number(source, &first, json_array_get(value, 0), machine, low);
    if (status == BB_OK)
        status = read_scale_number(source, &second, json_array_get(value, 1), machine, high);
    if (status == BB_OK && *low > *high)
        status = bb_json_refuse(source, &second, NULL, "a number from %d", *low);
    return status;
}

static bb_status read_bands(const bb_json_source *source, const bb_json_place *place,
                            const json_t *value, const bb_machine *machine, bb_bands *bands)
{
    bb_status status = bb_json_list(source, place, value, 0, BB_BANDS_MAX);
    *bands = (bb_bands){0};
    for (size_t i = 0; status == BB_OK && i < json_array_size(value); i++) {
        bb_json_place here = {place, NULL, i};
        int *low = &bands->band[i].low, *high = &bands->band[i].high;
        status = read_range(source, &here, json_array_get(value, i), machine, low, high);
        if (status == BB_OK && i > 0 && *low - bands->band[i - 1].high < 2 * machine->scale_step)
            status = bb_json_refuse(source, &here, NULL,
                                    "a range above the one before it, with a number between them");
        bands->count++;
    }
    return status;
}

static bb_status check_scale(const bb_json_source *source, const bb_json_place *place,
                             const bb_machine *machine)
{
    bb_json_place high = {place, "scale_high", 0};
    int range = machine->scale_high - machine->scale_low;
    if (range > 0 && range % machine->scale_step == 0 &&
        range / machine->scale_step < BB_NUMBERS_MAX)
        return BB_OK;
    return bb_json_refuse(source, &high, NULL, "a number 1 to %d steps of %d above %d",
                          BB_NUMBERS_MAX - 1, machine->scale_step, machine->scale_low);
}

static bb_status check_frequency(const bb_json_source *source, const bb_json_place *place,
                                 bb_machine *machine)
{
    bb_json_place lower = {place, "lower_frequency_khz", 0};
    bool pair = machine->frequency_kind == BB_FREQUENCY_PAIR;
    if (pair && !(machine->lower_frequency_hz < machine->frequency_hz))
        return bb_json_refuse(source, &lower, NULL, "the lower frequency of a pair");
    if (!pair && !isnan(machine->lower_frequency_hz))
        return bb_json_refuse(source, &lower, NULL, "null, for this is not a pair");
    if (!pair)
        machine->lower_frequency_hz = 0;
    return BB_OK;
}

static bb_status read_machine(const bb_json_source *source, const bb_json_place *place,
                              const json_t *value, bb_profile *profile)
{
    bb_machine *machine = &profile->machine;
    bb_json_place now = {place, "reject_now", 0}, below = {place, "reject_below", 0};
    const json_t *reject_below = json_object_get(value, below.key);
    bb_status status = bb_fields_read(source, place, value, &bb_machine_fields, machine);
    machine->coil_radius_m /= 2; /* written as a diameter */
    if (status == BB_OK)
        status = check_scale(source, place, machine);
    if (status == BB_OK)
        status = check_frequency(source, place, machine);
    if (status == BB_OK)
        status = read_bands(source, &now, json_object_get(value, now.key), machine,
                            &machine->reject_now);
    if (status != BB_OK || json_is_null(reject_below))
        return status;
    machine->has_reject_below = true;
    return read_scale_number(source, &below, reject_below, machine, &machine->reject_below);
}

static bb_status read_beach(const bb_json_source *source, const bb_json_place *place,
                            const json_t *value, bb_profile *profile)
{
    bb_json_place date = {place, "date", 0};
    bb_status status = bb_fields_read(source, place, value, &bb_beach_fields, &profile->beach);
    profile->beach.low_water_min = -1;
    profile->beach.turn_back_min = -1;
    if (status == BB_OK && profile->beach.date[0] != '\0' && !bb_date_accepted(profile->beach.date))
        status = bb_json_refuse(source, &date, NULL, "a day as YYYY-MM-DD, or null");
    return status;
}

/* ---------------------------------------------------------------- lists with names */

/* Names stand first in their records and differ; none is the reserved one (NULL: none is). */
static bb_status check_names(const bb_json_source *source, const bb_json_place *place,
                             const void *items, size_t count, size_t size, const char *reserved)
{
    for (size_t i = 0; i < count; i++) {
        const char *name = (const char *)items + i * size;
        bb_json_place record = {place, NULL, i}, here = {&record, "name", 0};
        if (reserved != NULL && strcmp(name, reserved) == 0)
            return bb_json_refuse(source, &here, NULL, "another name: this one is taken");
        for (size_t k = 0; k < i; k++)
            if (strcmp(name, (const char *)items + k * size) == 0)
                return bb_json_refuse(source, &here, NULL, "a name that was not used before");
    }
    return BB_OK;
}

/* Room for a list of at most high records; NULL with the status that says why. */
static void *make_room(const bb_json_source *source, const bb_json_place *place,
                       const json_t *value, size_t high, size_t size, bb_status *status)
{
    *status = bb_json_list(source, place, value, 0, high);
    if (*status != BB_OK)
        return NULL;
    void *items = calloc(json_array_size(value) + 1, size);
    if (items == NULL)
        *status = bb_out_of_memory(source->error);
    return items;
}

static bb_status read_zones(const bb_json_source *source, const bb_json_place *place,
                            const json_t *value, bb_profile *profile)
{
    bb_status status;
    size_t size = sizeof *profile->zones;
    profile->zones = make_room(source, place, value, BB_ZONES_MAX, size, &status);
    if (status != BB_OK)
        return status;
    profile->zone_count = json_array_size(value);
    status = bb_records_read(source, place, value, &bb_zone_fields, profile->zones, size);
    if (status != BB_OK)
        return status;
    return check_names(source, place, profile->zones, profile->zone_count, size, "air");
}

static bb_status check_target(const bb_json_source *source, const bb_json_place *place,
                              const bb_target *target)
{
    bb_body body;
    bb_target_kind kind;
    bb_json_place material = {place, "material", 0}, core = {place, "core", 0};
    if (bb_target_body(target, 20, 1, &body, &kind) != BB_OK)
        return bb_json_refuse(source, place, "sizes that make no body",
                              "a bore below the diameter");
    if (target->material[0] != '\0' && bb_material_find(target->material) == NULL)
        return bb_json_refuse(source, &material, NULL, "a known material, or null");
    if (target->core[0] != '\0' && bb_material_find(target->core) == NULL)
        return bb_json_refuse(source, &core, NULL, "a known material, or null");
    return BB_OK;
}

static bb_status read_targets(const bb_json_source *source, const bb_json_place *place,
                              const json_t *value, bb_profile *profile)
{
    bb_status status;
    size_t size = sizeof *profile->targets;
    profile->targets = make_room(source, place, value, BB_TARGETS_MAX, size, &status);
    if (status != BB_OK)
        return status;
    profile->target_count = json_array_size(value);
    status = bb_records_read(source, place, value, &bb_target_fields, profile->targets, size);
    for (size_t i = 0; status == BB_OK && i < profile->target_count; i++) {
        bb_json_place here = {place, NULL, i};
        status = check_target(source, &here, &profile->targets[i]);
    }
    if (status != BB_OK)
        return status;
    return check_names(source, place, profile->targets, profile->target_count, size, "sand");
}

/* ---------------------------------------------------------------- what was learned */

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

static bb_status read_parameters(const bb_json_source *source, const bb_json_place *place,
                                 const json_t *value, bb_profile *profile)
{
    bb_status status;
    size_t size = sizeof *profile->parameters;
    profile->parameters = make_room(source, place, value, BB_PROFILE_PARAMETERS_MAX, size, &status);
    if (status != BB_OK)
        return status;
    profile->parameter_count = json_array_size(value);
    status = read_parameter_list(source, place, value, &bb_parameter_fields, profile->parameters);
    if (status != BB_OK)
        return status;
    return check_names(source, place, profile->parameters, profile->parameter_count, size, NULL);
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

static bb_status read_covariance(const bb_json_source *source, const bb_json_place *place,
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

static bb_status read_noise(const bb_json_source *source, const bb_json_place *place,
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

/* ---------------------------------------------------------------- what it was learned from */

/* [[number, sweeps], ...], numbers rising; into one count a number of the scale. */
static bb_status read_numbers(const bb_json_source *source, const bb_json_place *place,
                              const json_t *value, const bb_machine *machine, bb_bare *bare)
{
    double sum = 0;
    int before = INT_MIN;
    bb_status status = bb_json_list(source, place, value, 0, BB_NUMBERS_MAX);
    for (size_t i = 0; status == BB_OK && i < json_array_size(value); i++) {
        const json_t *pair = json_array_get(value, i);
        bb_json_place here = {place, NULL, i}, first = {&here, NULL, 0}, second = {&here, NULL, 1};
        int number = 0;
        double sweeps = 0;
        status = bb_json_list(source, &here, pair, 2, 2);
        if (status == BB_OK)
            status = read_scale_number(source, &first, json_array_get(pair, 0), machine, &number);
        if (status == BB_OK && number <= before)
            status = bb_json_refuse(source, &first, NULL, "a number above the one before it");
        if (status == BB_OK)
            status = bb_json_number(source, &second, json_array_get(pair, 1), 0, BB_SWEEPS_MAX,
                                    &sweeps);
        if (status != BB_OK)
            return status;
        bare->counts[(number - machine->scale_low) / machine->scale_step] = sweeps;
        before = number;
        sum += sweeps;
    }
    if (status == BB_OK && fabs(sum - bare->number_swept) > 1e-9 * sum)
        status = bb_json_refuse(source, place, NULL, "sweeps that add up to number_swept (%.15g)",
                                bare->number_swept);
    return status;
}

/* A range that may be null: then low is above high. */
static bb_status read_range_or_null(const bb_json_source *source, const bb_json_place *place,
                                    const json_t *value, const bb_machine *machine, int *low,
                                    int *high)
{
    *low = 0;
    *high = -1;
    return json_is_null(value) ? BB_OK : read_range(source, place, value, machine, low, high);
}

static bb_status read_bare(const bb_json_source *source, const bb_json_place *place,
                           const json_t *value, const bb_machine *machine, bb_bare *bare)
{
    bb_json_place heard = {place, "heard", 0}, numbers = {place, "numbers", 0};
    bb_json_place last = {place, "last_range", 0}, before = {place, "before_range", 0};
    bb_status status = bb_fields_read(source, place, value, &bb_bare_fields, bare);
    if (status == BB_OK && !(bare->number_swept <= bare->heard && bare->heard <= bare->swept))
        status = bb_json_refuse(source, &heard, NULL, "a number from number_swept to swept");
    if (status == BB_OK)
        status = read_numbers(source, &numbers, json_object_get(value, numbers.key), machine, bare);
    if (status == BB_OK)
        status = read_range_or_null(source, &last, json_object_get(value, last.key), machine,
                                    &bare->last_low, &bare->last_high);
    if (status == BB_OK)
        status = read_range_or_null(source, &before, json_object_get(value, before.key), machine,
                                    &bare->before_low, &bare->before_high);
    return status;
}

static bb_status read_sand(const bb_json_source *source, const bb_json_place *place,
                           const json_t *value, bb_profile *profile)
{
    size_t count = profile->zone_count;
    bb_status status = bb_json_list(source, place, value, count, count);
    if (status != BB_OK)
        return status;
    profile->bare = calloc(count + 1, sizeof *profile->bare);
    if (profile->bare == NULL)
        return bb_out_of_memory(source->error);
    for (size_t z = 0; status == BB_OK && z < count; z++) {
        bb_json_place here = {place, NULL, z};
        status = read_bare(source, &here, json_array_get(value, z), &profile->machine,
                           &profile->bare[z]);
    }
    return status;
}

/* A row a target: sweeps in air, then in each zone. */
static bb_status read_target_sweeps(const bb_json_source *source, const bb_json_place *place,
                                    const json_t *value, bb_profile *profile)
{
    size_t rows = profile->target_count, columns = profile->zone_count + 1;
    bb_status status = bb_json_list(source, place, value, rows, rows);
    if (status != BB_OK)
        return status;
    profile->target_sweeps = calloc(rows * columns + 1, sizeof *profile->target_sweeps);
    if (profile->target_sweeps == NULL)
        return bb_out_of_memory(source->error);
    for (size_t i = 0; status == BB_OK && i < rows; i++) {
        bb_json_place row = {place, NULL, i};
        const json_t *sweeps = json_array_get(value, i);
        status = bb_json_list(source, &row, sweeps, columns, columns);
        for (size_t k = 0; status == BB_OK && k < columns; k++) {
            bb_json_place here = {&row, NULL, k};
            status = bb_json_number(source, &here, json_array_get(sweeps, k), 0, BB_SWEEPS_MAX,
                                    &profile->target_sweeps[i * columns + k]);
        }
    }
    return status;
}

static bb_status read_data(const bb_json_source *source, const bb_json_place *place,
                           const json_t *value, bb_profile *profile)
{
    bb_json_place digest = {place, "digest", 0}, drifts = {place, "salt_drifts", 0};
    bb_json_place sweeps = {place, "target_sweeps", 0};
    const json_t *flag = json_object_get(value, drifts.key);
    bb_status status = bb_fields_read(source, place, value, &bb_data_fields, profile);
    size_t digits = strspn(profile->digest, "0123456789abcdef");
    profile->drift_hour = json_is_true(flag) ? 0 : NAN; /* the time of day was not written */
    if (status == BB_OK && !json_is_boolean(flag))
        status = bb_json_refuse(source, &drifts, NULL, "true or false");
    if (status == BB_OK && profile->digest[0] != '\0' &&
        (digits != sizeof profile->digest - 1 || profile->digest[digits] != '\0'))
        status = bb_json_refuse(source, &digest, NULL, "64 hexadecimal digits, or null");
    if (status != BB_OK)
        return status;
    return read_target_sweeps(source, &sweeps, json_object_get(value, sweeps.key), profile);
}

static bb_status read_diagnostics(const bb_json_source *source, const bb_json_place *place,
                                  const json_t *value, bb_profile *profile)
{
    bb_json_place rank = {place, "rank", 0};
    bb_status status = bb_fields_read(source, place, value, &bb_evidence_fields,
                                      &profile->evidence);
    if (status == BB_OK && profile->evidence.rank > profile->parameter_count)
        status = bb_json_refuse(source, &rank, NULL, "at most the number of parameters, %zu",
                                profile->parameter_count);
    return status;
}

/* ---------------------------------------------------------------- the whole */

/* The parameters are those of the model that machine, beach, zones and targets make. */
static bb_status check_names_of_model(const bb_json_source *source, const bb_profile *profile,
                                      const bb_model *model)
{
    const size_t count = profile->parameter_count, wanted = (size_t)model->layout.count;
    size_t stranger = bb_model_stranger(model, profile->zones, profile->parameters, count);
    bb_json_place list = {NULL, "parameters", 0}, record = {&list, NULL, stranger};
    bb_json_place name = {&record, "name", 0};
    if (stranger < wanted && stranger < count) {
        char own[BB_NAME_BYTES + 32];
        bb_model_parameter_name(model, profile->zones, (int)stranger, own);
        return bb_json_refuse(source, &name, NULL, "\"%s\" at this place", own);
    }
    if (count != wanted)
        return bb_json_refuse(source, &list, NULL, "a list of %zu, as machine, zones and targets "
                              "have it", wanted);
    return BB_OK;
}

/* Of a size that exponentials bear; the ends of the scale, which come first, in order. */
static bb_status check_estimates(const bb_json_source *source, const bb_profile *profile)
{
    enum { LOW_END, HIGH_END, ENDS };
    bb_json_place list = {NULL, "parameters", 0};
    bb_json_place end = {&list, NULL, HIGH_END}, high = {&end, "estimate", 0};
    double low = profile->parameters[LOW_END].estimate;
    if (!(profile->parameters[HIGH_END].estimate > low))
        return bb_json_refuse(source, &high, NULL, "a number above %.15g, the low end", low);
    for (size_t i = ENDS; i < profile->parameter_count; i++) {
        bb_json_place record = {&list, NULL, i}, estimate = {&record, "estimate", 0};
        if (fabs(profile->parameters[i].estimate) > ESTIMATE_MAX)
            return bb_json_refuse(source, &estimate, NULL, "a number from %g to %g", -ESTIMATE_MAX,
                                  ESTIMATE_MAX);
    }
    return BB_OK;
}

/* What was written of the curve must be what its parameters say. */
static bb_status check_knots(const bb_json_source *source, const bb_profile *profile)
{
    bb_json_place place = {NULL, "scale_knots", 0};
    const json_t *value = json_object_get(source->root, place.key);
    bb_knot knots[BB_CURVE_KNOTS], wanted[BB_CURVE_KNOTS];
    bb_status status = bb_json_list(source, &place, value, BB_CURVE_KNOTS, BB_CURVE_KNOTS);
    if (status == BB_OK)
        status = bb_records_read(source, &place, value, &bb_knot_fields, knots, sizeof *knots);
    bb_profile_knots(profile, wanted);
    double close = 1e-9 * (profile->machine.scale_high - profile->machine.scale_low);
    for (size_t i = 0; status == BB_OK && i < BB_CURVE_KNOTS; i++) {
        bb_json_place here = {&place, NULL, i};
        if (knots[i].angle_deg != wanted[i].angle_deg ||
            !(fabs(knots[i].number - wanted[i].number) <= close))
            status = bb_json_refuse(source, &here, "a knot that does not fit the parameters",
                                    "%.15g at %g degrees", wanted[i].number, wanted[i].angle_deg);
    }
    return status;
}

static bb_status check_model(const bb_json_source *source, const bb_profile *profile)
{
    bb_model *model = NULL;
    bb_error error = {0};
    bb_status status = bb_model_new(&profile->machine, &profile->beach, profile->zones,
                                    profile->zone_count, profile->targets, profile->target_count,
                                    profile->drift_hour, &model, &error);
    if (status == BB_MEMORY)
        return bb_out_of_memory(source->error);
    if (status != BB_OK)
        return bb_json_refuse(source, NULL, error.accepted, "a beach that can be computed");
    status = check_names_of_model(source, profile, model);
    bb_model_free(model);
    if (status == BB_OK)
        status = check_estimates(source, profile);
    return status == BB_OK ? check_knots(source, profile) : status;
}

/* Before any key is called unknown: a newer program may have added it. */
static bb_status check_format(const bb_json_source *source)
{
    bb_json_place format = {NULL, "format", 0}, version = {NULL, "version", 0};
    const char *name = json_string_value(json_object_get(source->root, format.key));
    if (!json_is_object(source->root))
        return bb_json_refuse(source, NULL, NULL, "an object");
    if (name == NULL || strcmp(name, BB_PROFILE_FORMAT) != 0)
        return bb_json_refuse(source, &format, NULL, "\"%s\"", BB_PROFILE_FORMAT);
    const json_t *number = json_object_get(source->root, version.key);
    if (bb_json_is_whole(number, BB_PROFILE_VERSION + 1, INT_MAX))
        return bb_json_refuse(source, &version, NULL, "%d: a newer program wrote this profile",
                              BB_PROFILE_VERSION);
    return BB_OK;
}

/* In an order in which each finds what it needs of those before it. */
static const struct {
    const char *key;
    bb_status (*read)(const bb_json_source *, const bb_json_place *, const json_t *, bb_profile *);
} sections[] = {
    {"machine", read_machine},       {"beach", read_beach},
    {"zones", read_zones},           {"targets", read_targets},
    {"parameters", read_parameters}, {"covariance", read_covariance},
    {"noise", read_noise},           {"sand", read_sand},
    {"data", read_data},             {"diagnostics", read_diagnostics},
};

bb_status bb_profile_from_tree(const bb_json_source *source, bb_profile **profile)
{
    bb_profile *made = calloc(1, sizeof *made);
    if (made == NULL)
        return bb_out_of_memory(source->error);
    bb_profile_head head;
    bb_status status = check_format(source);
    if (status == BB_OK)
        status = bb_fields_read(source, NULL, source->root, &bb_profile_fields, &head);
    for (size_t i = 0; status == BB_OK && i < sizeof sections / sizeof *sections; i++) {
        bb_json_place place = {NULL, sections[i].key, 0};
        status = sections[i].read(source, &place, json_object_get(source->root, place.key), made);
    }
    if (status == BB_OK)
        status = check_model(source, made);
    if (status == BB_OK)
        *profile = made;
    else
        bb_profile_free(made);
    return status;
}

bb_status bb_profile_read(const char *text, size_t length, const char *path, bb_profile **profile,
                          bb_error *error)
{
    bb_json_source source;
    bb_status status = bb_json_open(&source, text, length, path, error);
    if (status == BB_OK)
        status = bb_profile_from_tree(&source, profile);
    bb_json_close(&source);
    return status;
}
