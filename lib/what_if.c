/* A profile under other circumstances: the computed ground moves, what was fitted beside it stays. */
#include "brineband.h"

#include <math.h>

#include "model.h"
#include "status.h"

#define LEAST_YEARS 1e-9 /* keeps the severity of corrosion among the parameters */

bb_what_if bb_what_if_nothing(void)
{
    return (bb_what_if){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
}

static double changed_or(double change, double now)
{
    return isnan(change) ? now : change;
}

static bb_status apply(const bb_what_if *changes, bb_profile *profile, bb_error *error)
{
    if (!isnan(changes->frequency_hz)) {
        if (profile->machine.frequency_kind != BB_FREQUENCY_ONE)
            return bb_error_say(error, BB_RANGE,
                                "another frequency can be asked only of a machine that works on one "
                                "known frequency (frequency_khz in beach.ini)");
        profile->machine.frequency_hz = changes->frequency_hz;
    }
    profile->machine.coil_radius_m =
        changed_or(changes->coil_radius_m, profile->machine.coil_radius_m);
    bb_beach *beach = &profile->beach;
    beach->swing_height_m = changed_or(changes->swing_height_m, beach->swing_height_m);
    beach->water_salinity = changed_or(changes->water_salinity, beach->water_salinity);
    beach->water_temperature_c =
        changed_or(changes->water_temperature_c, beach->water_temperature_c);
    for (size_t z = 0; z < profile->zone_count; z++) {
        profile->zones[z].saturation =
            changed_or(changes->saturation, profile->zones[z].saturation);
        profile->zones[z].dry_layer_m =
            changed_or(changes->dry_layer_m, profile->zones[z].dry_layer_m);
    }
    return BB_OK;
}

/* Years make a new piece of an old one, whose severity of corrosion must then be known. */
static bb_status age(double years, bb_profile *profile, bb_error *error)
{
    bool severity = false;
    for (size_t k = 0; k < profile->target_count; k++)
        severity = severity || profile->targets[k].years > 0;
    for (size_t k = 0; k < profile->target_count && !isnan(years); k++) {
        if (!severity && years > 0)
            return bb_error_say(error, BB_RANGE,
                                "years in the sand can be asked only after an aged piece (years in "
                                "kit.csv) was swept: how fast metal wastes here is not known");
        if (severity)
            profile->targets[k].years = fmax(years, LEAST_YEARS);
    }
    return BB_OK;
}

/* Angles by the difference, jitters by the ratio, of the ground computed before and after. */
static void carry_over(const bb_model *before, const bb_model *after, bb_profile *profile)
{
    for (size_t z = 0; z < profile->zone_count; z++) {
        const double shift_deg = after->zone[z].angle_deg - before->zone[z].angle_deg;
        bb_parameter *angle = &profile->parameters[before->layout.angle[z]];
        angle->estimate += shift_deg;
        angle->prior_mean += shift_deg;
        const double ratio = log(after->zone[z].strength / before->zone[z].strength);
        profile->noise.jitter[z].estimate += ratio;
        profile->noise.jitter[z].prior_mean += ratio;
    }
}

bb_status bb_profile_what_if(const bb_profile *profile, const bb_what_if *changes,
                             bb_profile **changed, bb_error *error)
{
    bb_profile *other = NULL;
    bb_model *before = NULL, *after = NULL;
    bb_status status = bb_profile_copy(profile, &other);
    if (status != BB_OK)
        return bb_error_say(error, status, "%s", bb_status_text(status));
    status = apply(changes, other, error);
    if (status == BB_OK)
        status = age(changes->years, other, error);
    if (status == BB_OK)
        status = bb_model_of(profile, &before, error);
    if (status == BB_OK)
        status = bb_model_of(other, &after, error);
    if (status == BB_OK && (size_t)before->layout.count != profile->parameter_count)
        status = bb_error_say(error, BB_INPUT, "the profile does not fit its own machine and kit");
    if (status == BB_OK)
        carry_over(before, after, other);
    bb_model_free(before);
    bb_model_free(after);
    if (status == BB_OK)
        *changed = other;
    else
        bb_profile_free(other);
    return status;
}
