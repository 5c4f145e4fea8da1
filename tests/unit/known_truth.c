/* Sets the model's parameters from a drawn truth. */
#include "known_truth.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void known_curve(const truth_scale *scale, double *theta)
{
    ck_assert(!scale->logistic);
    theta[0] = scale->low;
    theta[1] = scale->high;
    for (int i = 0; i < BB_CURVE_SPANS; i++)
        theta[2 + i] = log((scale->value[i + 1] - scale->value[i]) /
                           (bb_curve_angle_deg[i + 1] - bb_curve_angle_deg[i]));
}

static void put(double *theta, int index, double value)
{
    if (index >= 0)
        theta[index] = value;
}

void known_theta(const truth *t, const bb_model *model, double *theta)
{
    const bb_layout *at = &model->layout;
    known_curve(&t->scale, theta);
    put(theta, at->frequency, 0);
    put(theta, at->severity, log(t->severity));
    put(theta, at->level, 0);
    for (size_t z = 0; z < t->zone_count; z++) {
        const truth_place swing = {(int)z, BB_TARGET_SAND, 0, t->beach.swing_height_m, NAN};
        put(theta, at->residual[z],
            log(truth_residual(t, &swing) / (BB_RESIDUAL_SHARE * truth_ground(t, &swing))));
        put(theta, at->angle[z], t->zone[z].angle_deg);
        put(theta, at->drift[z], t->zone[z].drift_per_hour);
    }
    for (int k = 0; k < (int)t->target_count; k++) {
        put(theta, at->first_target + 2 * k, t->target[k].time);
        put(theta, at->first_target + 2 * k + 1, t->target[k].log_strength);
    }
}

bb_noise_level known_noise(const truth *t)
{
    bb_noise_level level = {.reading = t->reading, .wander = t->wander_deg};
    for (size_t z = 0; z < t->zone_count; z++)
        level.jitter[z] = t->zone[z].jitter;
    return level;
}

static void told(const truth *t, bb_zone *zones, bb_target *targets)
{
    for (size_t z = 0; z < t->zone_count; z++)
        zones[z] = t->zone[z].told;
    for (size_t k = 0; k < t->target_count; k++)
        targets[k] = t->target[k].told;
}

static double drift_hour(const truth *t)
{
    return t->of.kind == VISIT_FULL ? t->middle_hour : NAN;
}

bb_model *known_model(const truth *t)
{
    bb_zone zones[TRUTH_ZONES];
    bb_target targets[TRUTH_TARGETS];
    bb_model *model = NULL;
    told(t, zones, targets);
    ck_assert_int_eq(bb_model_new(&t->machine, &t->beach, zones, t->zone_count, targets,
                                  t->target_count, drift_hour(t), &model, NULL),
                     BB_OK);
    return model;
}

bb_profile *known_profile(const truth *t)
{
    bb_model *model = known_model(t);
    bb_profile *profile = calloc(1, sizeof *profile);
    const size_t p = (size_t)model->layout.count, zones = t->zone_count, targets = t->target_count;
    double theta[BB_PARAMETERS_MAX];
    ck_assert_ptr_nonnull(profile);
    *profile = (bb_profile){.machine = t->machine,
                            .beach = t->beach,
                            .zone_count = zones,
                            .target_count = targets,
                            .parameter_count = p,
                            .zones = calloc(zones, sizeof *profile->zones),
                            .targets = calloc(targets + 1, sizeof *profile->targets),
                            .parameters = calloc(p, sizeof *profile->parameters),
                            .covariance = calloc(p * p, sizeof *profile->covariance),
                            .bare = calloc(zones, sizeof *profile->bare),
                            .target_sweeps =
                                calloc((targets + 1) * (zones + 1), sizeof *profile->target_sweeps),
                            .air_sweeps = 1,
                            .drift_hour = drift_hour(t)};
    told(t, profile->zones, profile->targets);
    known_theta(t, model, theta);
    for (size_t i = 0; i < p; i++) {
        bb_model_parameter_name(model, profile->zones, (int)i, profile->parameters[i].name);
        profile->parameters[i].estimate = theta[i];
    }
    bb_model_noise_prior(model, profile->zones, &profile->noise);
    profile->noise.reading.estimate = log(t->reading);
    profile->noise.wander.estimate = log(t->wander_deg);
    for (size_t z = 0; z < zones; z++)
        profile->noise.jitter[z].estimate = log(t->zone[z].jitter);
    bb_model_free(model);
    return profile;
}
