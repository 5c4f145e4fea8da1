/* What a profile's JSON must say before anything is computed from it: strangers send these. */
#include "profile_read.h"

#include "model.h"
#include "place.h"
#include "profile_fields.h"
#include "profile_read_parts.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The parameters are those of the model that machine, beach, zones and targets make. */
static bb_status check_names_of_model(const bb_json_source *source, const bb_profile *profile,
                                      const bb_model *model)
{
    const size_t count = profile->parameter_count, wanted = (size_t)model->layout.count;
    size_t stranger = bb_model_stranger(model, profile->zones, profile->parameters, count);
    bb_json_place list = {NULL, "parameters", 0}, record = {&list, NULL, stranger};
    bb_json_place name = {&record, "name", 0};
    if (stranger < wanted && stranger < count) {
        char own[BB_PARAMETER_BYTES];
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
        if (fabs(profile->parameters[i].estimate) > BB_ESTIMATE_MAX)
            return bb_json_refuse(source, &estimate, NULL, "a number from %g to %g", -BB_ESTIMATE_MAX,
                                  BB_ESTIMATE_MAX);
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
    bb_status status = bb_model_of(profile, &model, &error);
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
    {"machine", bb_read_machine},       {"beach", bb_read_beach},
    {"zones", bb_read_zones},           {"targets", bb_read_targets},
    {"parameters", bb_read_parameters}, {"covariance", bb_read_covariance},
    {"noise", bb_read_noise},           {"sand", bb_read_sand},
    {"data", bb_read_data},             {"diagnostics", bb_read_diagnostics},
    {"finds", bb_read_finds},
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
