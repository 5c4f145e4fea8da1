/* A profile as JSON text that its own reader accepts: no place, no time of day, no note. */
#include "place.h"
#include "profile_fields.h"
#include "profile_read.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static json_t *from_range(int low, int high)
{
    json_t *range = bb_json_append(json_array(), json_integer(low));
    return bb_json_append(range, json_integer(high));
}

static json_t *write_machine(const bb_profile *profile)
{
    bb_machine machine = profile->machine;
    machine.coil_radius_m *= 2; /* written as a diameter */
    if (machine.frequency_kind != BB_FREQUENCY_PAIR)
        machine.lower_frequency_hz = NAN;
    json_t *bands = json_array();
    for (int i = 0; i < machine.reject_now.count; i++)
        bands = bb_json_append(bands, from_range(machine.reject_now.band[i].low,
                                                 machine.reject_now.band[i].high));
    json_t *object = bb_json_with(bb_fields_write(&bb_machine_fields, &machine), "reject_now",
                                  bands);
    return bb_json_with(object, "reject_below",
                        machine.has_reject_below ? json_integer(machine.reject_below)
                                                 : json_null());
}

static json_t *write_beach(const bb_profile *profile)
{
    return bb_fields_write(&bb_beach_fields, &profile->beach);
}

static json_t *write_zones(const bb_profile *profile)
{
    return bb_records_write(&bb_zone_fields, profile->zones, profile->zone_count,
                            sizeof *profile->zones);
}

static json_t *write_knots(const bb_profile *profile)
{
    bb_knot knots[BB_CURVE_KNOTS];
    bb_profile_knots(profile, knots);
    return bb_records_write(&bb_knot_fields, knots, BB_CURVE_KNOTS, sizeof *knots);
}

static json_t *write_targets(const bb_profile *profile)
{
    return bb_records_write(&bb_target_fields, profile->targets, profile->target_count,
                            sizeof *profile->targets);
}

static json_t *from_parameter(const bb_parameter *parameter)
{
    return bb_json_with(bb_fields_write(&bb_parameter_fields, parameter), "learned",
                        json_boolean(bb_parameter_learned(parameter)));
}

static json_t *from_parameters(const bb_parameter *parameters, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; list != NULL && i < count; i++)
        list = bb_json_append(list, from_parameter(&parameters[i]));
    return list;
}

static json_t *write_parameters(const bb_profile *profile)
{
    return from_parameters(profile->parameters, profile->parameter_count);
}

static json_t *from_numbers(const double *numbers, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; list != NULL && i < count; i++)
        list = bb_json_append(list, bb_json_from_number(numbers[i]));
    return list;
}

static json_t *write_covariance(const bb_profile *profile)
{
    json_t *rows = json_array();
    for (size_t i = 0; rows != NULL && i < profile->parameter_count; i++)
        rows = bb_json_append(rows, from_numbers(profile->covariance + i * profile->parameter_count,
                                                 i + 1));
    return rows;
}

static json_t *write_noise(const bb_profile *profile)
{
    const bb_noise *noise = &profile->noise;
    json_t *object = bb_json_with(json_object(), "ln_reading_numbers",
                                  from_parameter(&noise->reading));
    object = bb_json_with(object, "ln_wander_deg", from_parameter(&noise->wander));
    return bb_json_with(object, "ln_jitter", from_parameters(noise->jitter, profile->zone_count));
}

static json_t *from_bare(const bb_profile *profile, size_t zone)
{
    const bb_machine *machine = &profile->machine;
    const bb_bare *bare = &profile->bare[zone];
    json_t *numbers = json_array();
    for (int i = 0; i < BB_NUMBERS_MAX && numbers != NULL; i++)
        if (bare->counts[i] != 0) {
            json_t *pair = bb_json_append(json_array(),
                                          json_integer(bb_scale_number(machine, (size_t)i)));
            pair = bb_json_append(pair, bb_json_from_number(bare->counts[i]));
            numbers = bb_json_append(numbers, pair);
        }
    json_t *object = bb_json_with(bb_fields_write(&bb_bare_fields, bare), "numbers", numbers);
    object = bb_json_with(object, "last_range",
                          bare->last_low <= bare->last_high
                              ? from_range(bare->last_low, bare->last_high)
                              : json_null());
    return bb_json_with(object, "before_range",
                        bare->before_low <= bare->before_high
                            ? from_range(bare->before_low, bare->before_high)
                            : json_null());
}

static json_t *write_sand(const bb_profile *profile)
{
    json_t *list = json_array();
    for (size_t z = 0; list != NULL && z < profile->zone_count; z++)
        list = bb_json_append(list, from_bare(profile, z));
    return list;
}

/* [target, zone, number, sweeps], both by their place in the profile. */
static json_t *from_target_numbers(const bb_target_number *numbers, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; list != NULL && i < count; i++) {
        json_t *row = bb_json_append(json_array(), json_integer(numbers[i].target));
        row = bb_json_append(row, json_integer(numbers[i].zone));
        row = bb_json_append(row, json_integer(numbers[i].number));
        list = bb_json_append(list, bb_json_append(row, bb_json_from_number(numbers[i].sweeps)));
    }
    return list;
}

static json_t *write_data(const bb_profile *profile)
{
    size_t columns = profile->zone_count + 1;
    json_t *rows = json_array();
    for (size_t i = 0; rows != NULL && i < profile->target_count; i++)
        rows = bb_json_append(rows, from_numbers(profile->target_sweeps + i * columns, columns));
    json_t *object = bb_json_with(bb_fields_write(&bb_data_fields, profile), "salt_drifts",
                                  json_boolean(!isnan(profile->drift_hour)));
    if (profile->pooled_visits > 0)
        object = bb_json_with(object, "pooled_visits", json_integer(profile->pooled_visits));
    if (profile->air_before > 0)
        object = bb_json_with(object, "air_before", bb_json_from_number(profile->air_before));
    if (profile->left_out > 0)
        object = bb_json_with(object, "left_out", bb_json_from_number(profile->left_out));
    if (profile->hard_to_believe > 0)
        object = bb_json_with(object, "hard_to_believe",
                              bb_json_from_number(profile->hard_to_believe));
    if (profile->read_though_lost_count > 0)
        object = bb_json_with(object, "read_though_lost",
                              from_target_numbers(profile->read_though_lost,
                                                  profile->read_though_lost_count));
    if (profile->any_machine)
        object = bb_json_with(object, "any_machine", json_true());
    return bb_json_with(object, "target_sweeps", rows);
}

static json_t *write_diagnostics(const bb_profile *profile)
{
    return bb_fields_write(&bb_evidence_fields, &profile->evidence);
}

static json_t *write_finds(const bb_profile *profile)
{
    json_t *list = json_array();
    for (size_t i = 0; list != NULL && i < profile->finds_count; i++) {
        const bb_finds *finds = &profile->finds[i];
        json_t *object = bb_fields_write(&bb_finds_fields, finds);
        list = bb_json_append(list, bb_json_with(object, "dug",
                                                 from_numbers(finds->dug, profile->zone_count)));
    }
    return list;
}

static const struct {
    const char *key;
    json_t *(*write)(const bb_profile *);
} sections[] = {
    {"machine", write_machine},       {"beach", write_beach},
    {"zones", write_zones},           {"scale_knots", write_knots},
    {"targets", write_targets},       {"parameters", write_parameters},
    {"covariance", write_covariance}, {"noise", write_noise},
    {"sand", write_sand},             {"data", write_data},
    {"diagnostics", write_diagnostics},
};

static json_t *to_tree(const bb_profile *profile)
{
    static const bb_profile_head head = {BB_PROFILE_FORMAT, BB_PROFILE_VERSION, BB_VERSION};
    json_t *tree = bb_fields_write(&bb_profile_fields, &head);
    for (size_t i = 0; tree != NULL && i < sizeof sections / sizeof *sections; i++)
        tree = bb_json_with(tree, sections[i].key, sections[i].write(profile));
    return profile->finds_count > 0 ? bb_json_with(tree, "finds", write_finds(profile)) : tree;
}

/* Whatever is written is read back first, so that no profile leaves that would be refused. */
static bb_status check_tree(json_t *tree, bb_error *error)
{
    bb_json_source source = {.root = tree, .error = error};
    bb_profile *copy = NULL;
    bb_status status = bb_profile_from_tree(&source, &copy);
    bb_profile_free(copy);
    return status;
}

bb_status bb_profile_write(const bb_profile *profile, bool with_place, char **text,
                           bb_error *error)
{
    bb_profile shown = *profile;
    if (!with_place)
        shown.beach.name[0] = '\0';
    json_t *tree = to_tree(&shown);
    bb_status status = tree == NULL ? bb_out_of_memory(error) : check_tree(tree, error);
    char *made = status == BB_OK ? bb_json_text(tree) : NULL;
    json_decref(tree);
    if (status != BB_OK)
        return status;
    if (made == NULL)
        return bb_out_of_memory(error);
    *text = made;
    return BB_OK;
}
