/* What a profile must say of the sweeps that taught it, and of its fit. */
#include "profile_read_parts.h"

#include "place.h"
#include "profile_fields.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

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
            status = bb_read_scale_number(source, &first, json_array_get(pair, 0), machine,
                                          &number);
        if (status == BB_OK && number <= before)
            status = bb_json_refuse(source, &first, NULL, "a number above the one before it");
        if (status == BB_OK)
            status = bb_json_number(source, &second, json_array_get(pair, 1), 0, BB_SWEEPS_MAX,
                                    &sweeps);
        if (status != BB_OK)
            return status;
        bare->counts[bb_scale_index(machine, number)] = sweeps;
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
    return json_is_null(value) ? BB_OK : bb_read_range(source, place, value, machine, low, high);
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

bb_status bb_read_sand(const bb_json_source *source, const bb_json_place *place,
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

/* What only a club's profile says: that it is one. */
static bb_status read_pooled(const bb_json_source *source, const bb_json_place *place,
                             const json_t *value, bb_profile *profile)
{
    bb_json_place visits = {place, "pooled_visits", 0}, any = {place, "any_machine", 0};
    const json_t *count = json_object_get(value, visits.key);
    const json_t *flag = json_object_get(value, any.key);
    if (count != NULL && !(json_typeof(count) == JSON_INTEGER && bb_json_is_number(count, 1, BB_POOLED_MAX)))
        return bb_json_refuse(source, &visits, NULL, "a whole number from 1 to %d", BB_POOLED_MAX);
    profile->pooled_visits = (int)json_number_value(count);
    if (flag != NULL && (json_typeof(flag) != JSON_TRUE || count == NULL))
        return bb_json_refuse(source, &any, NULL, "true, beside pooled_visits, or nothing");
    profile->any_machine = flag != NULL;
    return BB_OK;
}

/* A number of sweeps or readings that is absent where there are none. */
static bb_status read_if_any(const bb_json_source *source, const bb_json_place *place,
                             const json_t *value, const char *key, double *number)
{
    bb_json_place here = {place, key, 0};
    const json_t *found = json_object_get(value, key);
    return found == NULL ? BB_OK
                         : bb_json_number(source, &here, found, 0, BB_SWEEPS_MAX, number);
}

/* The place of a zone or a target in its list. */
static bb_status read_position(const bb_json_source *source, const bb_json_place *place,
                               const json_t *value, size_t count, int *position)
{
    if (count == 0 || !json_is_integer(value) || !bb_json_is_number(value, 0, (double)count - 1))
        return bb_json_refuse(source, place, NULL, "a whole number from 0, below %zu", count);
    *position = (int)json_integer_value(value);
    return BB_OK;
}

static bb_status read_target_number(const bb_json_source *source, const bb_json_place *place,
                                    const json_t *row, const bb_profile *profile,
                                    bb_target_number *number)
{
    const bb_json_place target = {place, NULL, 0}, zone = {place, NULL, 1}, at = {place, NULL, 2},
                        sweeps = {place, NULL, 3};
    bb_status status = bb_json_list(source, place, row, 4, 4);
    if (status == BB_OK)
        status = read_position(source, &target, json_array_get(row, 0), profile->target_count,
                               &number->target);
    if (status == BB_OK)
        status = read_position(source, &zone, json_array_get(row, 1), profile->zone_count,
                               &number->zone);
    if (status == BB_OK)
        status = bb_read_scale_number(source, &at, json_array_get(row, 2), &profile->machine,
                                      &number->number);
    if (status == BB_OK)
        status = bb_json_number(source, &sweeps, json_array_get(row, 3), 0, BB_SWEEPS_MAX,
                                &number->sweeps);
    return status;
}

static bb_status read_though_lost(const bb_json_source *source, const bb_json_place *place,
                                  const json_t *value, bb_profile *profile)
{
    bb_json_place here = {place, "read_though_lost", 0};
    const json_t *list = json_object_get(value, here.key);
    if (list == NULL)
        return BB_OK;
    bb_status status = bb_json_list(source, &here, list, 1, BB_TARGET_NUMBERS_MAX);
    const size_t count = json_array_size(list);
    if (status != BB_OK)
        return status;
    profile->read_though_lost = calloc(count, sizeof *profile->read_though_lost);
    if (profile->read_though_lost == NULL)
        return bb_out_of_memory(source->error);
    profile->read_though_lost_count = count;
    for (size_t i = 0; i < count && status == BB_OK; i++) {
        bb_json_place row = {&here, NULL, i};
        status = read_target_number(source, &row, json_array_get(list, i), profile,
                                    &profile->read_though_lost[i]);
    }
    return status;
}

bb_status bb_read_data(const bb_json_source *source, const bb_json_place *place,
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
    if (status == BB_OK)
        status = read_pooled(source, place, value, profile);
    if (status == BB_OK)
        status = read_if_any(source, place, value, "air_before", &profile->air_before);
    if (status == BB_OK)
        status = read_if_any(source, place, value, "left_out", &profile->left_out);
    if (status == BB_OK)
        status = read_if_any(source, place, value, "hard_to_believe", &profile->hard_to_believe);
    if (status == BB_OK)
        status = read_though_lost(source, place, value, profile);
    if (status != BB_OK)
        return status;
    return read_target_sweeps(source, &sweeps, json_object_get(value, sweeps.key), profile);
}

bb_status bb_read_diagnostics(const bb_json_source *source, const bb_json_place *place,
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

/* What was dug of each group, a count a zone; left out where nothing was. */
bb_status bb_read_finds(const bb_json_source *source, const bb_json_place *place,
                        const json_t *value, bb_profile *profile)
{
    if (value == NULL)
        return BB_OK;
    bb_status status;
    const size_t zones = profile->zone_count;
    profile->finds =
        bb_records_room(source, place, value, BB_CLASSES_MAX, sizeof *profile->finds, &status);
    profile->finds_count = json_array_size(value);
    if (status == BB_OK)
        status = bb_records_read(source, place, value, &bb_finds_fields, profile->finds,
                                 sizeof *profile->finds);
    for (size_t i = 0; status == BB_OK && i < profile->finds_count; i++) {
        bb_json_place record = {place, NULL, i}, dug = {&record, "dug", 0};
        const json_t *counts = json_object_get(json_array_get(value, i), dug.key);
        status = bb_json_list(source, &dug, counts, zones, zones);
        for (size_t z = 0; status == BB_OK && z < zones; z++) {
            bb_json_place here = {&dug, NULL, z};
            status = bb_json_number(source, &here, json_array_get(counts, z), 0, BB_DUG_MAX,
                                    &profile->finds[i].dug[z]);
        }
    }
    if (status == BB_OK)
        status = bb_names_check(source, place, "group", profile->finds, profile->finds_count,
                                sizeof *profile->finds, NULL);
    return status;
}
