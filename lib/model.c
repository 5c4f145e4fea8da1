/* The physical model of a visit: which parameters there are, what is believed of them beforehand,
 * and how each target and each zone answers. */
#include "model.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "status.h"

/* Widths of the priors (design section 5); judgement, no source. */
#define SD_END_SHARE 0.02
#define SD_SLOPE_STEP 0.7
#define SD_SLOPE_MEAN 1.0
#define SD_TIME 0.2
#define SD_STRENGTH 0.3
#define SD_UNKNOWN_TIME 1.6
#define SD_UNKNOWN_STRENGTH 2.0
#define SD_LEVEL 1.5
#define SD_RESIDUAL 0.5
#define SD_ANGLE_DEG 5.0
#define SD_BLACK_SAND_ANGLE_DEG 25.0
#define SD_DRIFT_PER_HOUR 0.3
#define SD_SEVERITY 0.7
#define SD_FREQUENCY 0.7 /* of its logarithm, when not known */
#define SD_JITTER 2.0
#define WANDER_DEG 2.0
#define SD_WANDER 1.0
#define SD_READING 0.7

#define SAME_HEIGHT_M 1e-9
#define SMALLEST_GROUND 1e-12 /* a response; keeps logarithms finite over dry sand */

static void lay_out(bb_model *model)
{
    bb_layout *at = &model->layout;
    int next = BB_CURVE_PARAMETERS;
    bool aged = false, drifts = !isnan(model->drift_hour);
    for (size_t k = 0; k < model->target_count; k++)
        aged = aged || model->target[k].aged;
    at->frequency = model->machine.frequency_kind == BB_FREQUENCY_UNKNOWN ? next++ : -1;
    at->severity = aged ? next++ : -1;
    at->level = model->zone_count > 0 ? next++ : -1;
    for (size_t z = 0; z < model->zone_count; z++) {
        at->residual[z] = next++;
        at->angle[z] = next++;
        at->drift[z] = drifts ? next++ : -1;
    }
    at->first_target = next;
    at->count = next + 2 * (int)model->target_count;
}

static bb_status set_zone(const bb_machine *machine, const bb_beach *beach, const bb_zone *from,
                          double water_S_per_m, double omega, bb_model_zone *zone)
{
    bb_status status = bb_sand_conductivity(water_S_per_m, beach->sand_porosity, from->saturation,
                                            &zone->ground.sigma_S_per_m);
    if (status != BB_OK)
        return status;
    zone->ground.susceptibility = from->susceptibility;
    zone->ground.layer_m = from->dry_layer_m;
    zone->ground.layer_sigma_S_per_m = 0;
    status = bb_ground_response(&zone->ground, omega, machine->coil_radius_m, beach->swing_height_m,
                                &zone->response);
    zone->strength = fmax(bb_response_strength(zone->response), SMALLEST_GROUND);
    zone->angle_deg = zone->strength > SMALLEST_GROUND ? bb_response_angle_deg(zone->response) : 0;
    zone->angle_sd_deg = beach->black_sand_possible ? SD_BLACK_SAND_ANGLE_DEG : SD_ANGLE_DEG;
    return status;
}

bb_status bb_model_target_set(const bb_model *model, const bb_target *target, double sd_log,
                              bb_model_target *out)
{
    bb_body body;
    *out = (bb_model_target){.source = *target, .sd_time = SD_TIME, .sd_strength = SD_STRENGTH};
    bb_status status = bb_target_body(target, model->temperature_c, 1.0, &body, &out->kind);
    if (status != BB_OK)
        return status;
    if (out->kind == BB_KIND_POLE) {
        out->sd_time = SD_UNKNOWN_TIME;
        out->sd_strength = SD_UNKNOWN_STRENGTH;
    } else if (out->kind == BB_KIND_IRON) {
        bb_iron iron = bb_target_iron(target, model->machine.frequency_hz);
        out->mean_time = iron.angle_deg;
        out->sd_time = iron.angle_sd_deg;
        out->sd_strength = SD_UNKNOWN_STRENGTH;
    } else if (!isnan(sd_log)) {
        out->sd_time = sd_log;
    }
    if (out->kind != BB_KIND_BODY)
        return BB_OK;
    if (!bb_is_body(&body))
        return BB_RANGE;
    out->aged = target->years > 0;
    out->body = bb_shaped_body_of(&body);
    return BB_OK;
}

bb_status bb_model_new(const bb_machine *machine, const bb_beach *beach, const bb_zone *zones,
                       size_t zone_count, const bb_target *targets, size_t target_count,
                       double drift_hour, bb_model **out, bb_error *error)
{
    bb_model *model = calloc(1, sizeof *model);
    if (model == NULL)
        return bb_out_of_memory(error);
    model->machine = *machine;
    model->swing_height_m = beach->swing_height_m;
    model->temperature_c = beach->water_temperature_c;
    model->omega = bb_angular_frequency(machine->frequency_hz);
    model->zone_count = zone_count;
    model->target_count = target_count;
    model->drift_hour = drift_hour;
    model->target = calloc(target_count + 1, sizeof *model->target);

    double water_S_per_m = 0;
    bb_status status = model->target == NULL ? BB_MEMORY
                                             : bb_water_conductivity(beach->water_salinity,
                                                                     beach->water_temperature_c,
                                                                     &water_S_per_m, NULL);
    for (size_t z = 0; z < zone_count && status == BB_OK; z++)
        status = set_zone(machine, beach, &zones[z], water_S_per_m, model->omega, &model->zone[z]);
    for (size_t k = 0; k < target_count && status == BB_OK; k++) {
        status = bb_model_target_set(model, &targets[k], NAN, &model->target[k]);
        if (status == BB_RANGE)
            (void)bb_error_say(error, status, "%s: its sizes make no body that can be computed",
                               targets[k].name);
    }
    if (status != BB_OK) {
        bb_model_free(model);
        return bb_error_say(error, status, "%s", bb_status_text(status));
    }
    lay_out(model);
    *out = model;
    return BB_OK;
}

bb_status bb_model_of(const bb_profile *profile, bb_model **model, bb_error *error)
{
    return bb_model_new(&profile->machine, &profile->beach, profile->zones, profile->zone_count,
                        profile->targets, profile->target_count, profile->drift_hour, model, error);
}

void bb_model_free(bb_model *model)
{
    if (model != NULL)
        free(model->target);
    free(model);
}

bb_status bb_model_lift(const bb_model *model, int zone, double height_m, bb_lift *lift)
{
    const bb_model_zone *of = &model->zone[zone];
    *lift = (bb_lift){.height_m = height_m, .ratio = 1};
    if (fabs(height_m - model->swing_height_m) < SAME_HEIGHT_M)
        return BB_OK;
    for (size_t i = 0; i < of->lift_count; i++)
        if (of->lifts[i].height_m == height_m) {
            *lift = of->lifts[i];
            return BB_OK;
        }
    bb_complex response;
    bb_status status = bb_ground_response(&of->ground, model->omega, model->machine.coil_radius_m,
                                          height_m, &response);
    const double strength = bb_response_strength(response);
    if (status == BB_OK && strength > SMALLEST_GROUND) {
        lift->ratio = strength / of->strength;
        lift->shift_deg = bb_response_angle_deg(response) - of->angle_deg;
    }
    return status;
}

bb_status bb_model_remember(bb_model *model, int zone, double height_m)
{
    bb_model_zone *of = &model->zone[zone];
    bb_lift lift;
    bb_status status = bb_model_lift(model, zone, height_m, &lift);
    if (status != BB_OK || of->lift_count == BB_LIFTS_MAX)
        return status;
    for (size_t i = 0; i < of->lift_count; i++)
        if (of->lifts[i].height_m == height_m)
            return BB_OK;
    of->lifts[of->lift_count++] = lift;
    return BB_OK;
}

void bb_model_parameter_name(const bb_model *model, const bb_zone *zones, int index,
                             char name[BB_PARAMETER_BYTES])
{
    const bb_layout *at = &model->layout;
    const size_t room = BB_PARAMETER_BYTES;
    const struct {
        int index;
        const char *name;
    } shared[] = {{0, "scale.low_end"},
                  {1, "scale.high_end"},
                  {at->frequency, "frequency.log"},
                  {at->severity, "corrosion.log"},
                  {at->level, "salt.log_level"}};
    for (size_t i = 0; i < sizeof shared / sizeof *shared; i++)
        if (shared[i].index == index) {
            (void)snprintf(name, room, "%s", shared[i].name);
            return;
        }
    if (index < BB_CURVE_PARAMETERS) {
        (void)snprintf(name, room, "scale.log_slope.%d", index - 1);
        return;
    }
    for (size_t z = 0; z < model->zone_count; z++) {
        const char *what = at->residual[z] == index ? "log_salt"
                           : at->angle[z] == index  ? "angle_deg"
                           : at->drift[z] == index  ? "drift_per_hour"
                                                    : NULL;
        if (what != NULL) {
            (void)snprintf(name, room, "zone.%s.%s", zones[z].name, what);
            return;
        }
    }
    const int k = (index - at->first_target) / 2;
    (void)snprintf(name, room, "target.%s.%s", model->target[k].source.name,
                   (index - at->first_target) % 2          ? "log_strength"
                   : model->target[k].kind == BB_KIND_IRON ? "angle_deg"
                                                           : "log_time");
}

size_t bb_model_stranger(const bb_model *model, const bb_zone *zones,
                         const bb_parameter *parameters, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char name[BB_PARAMETER_BYTES];
        if (i >= (size_t)model->layout.count)
            return i;
        bb_model_parameter_name(model, zones, (int)i, name);
        if (strcmp(name, parameters[i].name) != 0)
            return i;
    }
    return count;
}

void bb_model_prior(const bb_model *model, double *rows, double *mean)
{
    const bb_layout *at = &model->layout;
    const size_t n = (size_t)at->count;
    memset(rows, 0, n * n * sizeof *rows);
    memset(mean, 0, n * sizeof *mean);
    const double low = model->machine.scale_low, high = model->machine.scale_high;
    mean[0] = low;
    mean[1] = high;
    for (size_t i = 0; i < 2; i++)
        rows[i * n + i] = 1 / (SD_END_SHARE * (high - low));
    for (size_t i = 0; i < BB_CURVE_SPANS; i++) {
        size_t row = 2 + i;
        if (i + 1 < BB_CURVE_SPANS) {
            rows[row * n + 2 + i] = -1 / SD_SLOPE_STEP;
            rows[row * n + 3 + i] = 1 / SD_SLOPE_STEP;
        } else {
            for (size_t j = 0; j < BB_CURVE_SPANS; j++)
                rows[row * n + 2 + j] = 1 / (SD_SLOPE_MEAN * BB_CURVE_SPANS);
        }
    }
#define PRIOR(index, center, sd)                                                                   \
    do {                                                                                           \
        if ((index) >= 0) {                                                                        \
            rows[(size_t)(index)*n + (size_t)(index)] = 1 / (sd);                                  \
            mean[index] = (center);                                                                \
        }                                                                                          \
    } while (0)
    PRIOR(at->frequency, 0, SD_FREQUENCY);
    PRIOR(at->severity, 0, SD_SEVERITY);
    PRIOR(at->level, 0, SD_LEVEL);
    for (size_t z = 0; z < model->zone_count; z++) {
        PRIOR(at->residual[z], 0, SD_RESIDUAL);
        PRIOR(at->angle[z], model->zone[z].angle_deg, model->zone[z].angle_sd_deg);
        PRIOR(at->drift[z], 0, SD_DRIFT_PER_HOUR);
    }
    for (size_t k = 0; k < model->target_count; k++) {
        const bb_model_target *target = &model->target[k];
        int index = at->first_target + 2 * (int)k;
        PRIOR(index, target->mean_time, target->sd_time);
        PRIOR(index + 1, target->mean_strength, target->sd_strength);
    }
#undef PRIOR
}

static bb_parameter noise_parameter(const char *name, double mean, double sd)
{
    bb_parameter parameter = {.estimate = mean, .sd = sd, .prior_mean = mean, .prior_sd = sd};
    (void)snprintf(parameter.name, sizeof parameter.name, "%s", name);
    return parameter;
}

void bb_model_noise_prior(const bb_model *model, const bb_zone *zones, bb_noise *noise)
{
    const double range = model->machine.scale_high - model->machine.scale_low;
    const double typical = 0.5 * fmax(model->machine.scale_step, range / 100);
    memset(noise, 0, sizeof *noise);
    noise->reading = noise_parameter("noise.log_reading", log(typical), SD_READING);
    noise->wander = noise_parameter("noise.log_wander_deg", log(WANDER_DEG), SD_WANDER);
    for (size_t z = 0; z < model->zone_count; z++) {
        char name[BB_PARAMETER_BYTES];
        (void)snprintf(name, sizeof name, "zone.%s.log_jitter", zones[z].name);
        noise->jitter[z] =
            noise_parameter(name, log(BB_RESIDUAL_SHARE * model->zone[z].strength), SD_JITTER);
    }
}

bb_noise_level bb_noise_level_of(const bb_noise *noise, size_t zone_count)
{
    bb_noise_level level = {.reading = exp(noise->reading.estimate),
                            .wander = exp(noise->wander.estimate)};
    for (size_t z = 0; z < zone_count; z++)
        level.jitter[z] = exp(noise->jitter[z].estimate);
    return level;
}
