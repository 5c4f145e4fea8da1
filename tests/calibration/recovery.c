/* Standard scores of the fitted parameters against the truth, by the names profiles give them. */
#include "recovery.h"

#include <math.h>
#include <string.h>

const char *const recovery_name[RECOVER_COUNT] = {"ln A",  "psi",    "ln J", "ln w",
                                                  "ln s0", "lambda", "beta"};

static void add(recoveries *r, int which, double off, double sd, double prior_sd)
{
    const double normal_95 = 1.6448536269514722;
    const double z = off / sd;
    r->count[which] += 1;
    r->sum[which] += z;
    r->square[which] += z * z;
    r->within[which] += fabs(z) <= normal_95 ? 1 : 0;
    r->learned[which] += sd / prior_sd;
}

static int find(const bb_profile *profile, const char *first, const char *name, const char *last)
{
    char wanted[BB_PARAMETER_BYTES];
    (void)snprintf(wanted, sizeof wanted, "%s%s%s", first, name, last);
    for (size_t i = 0; i < profile->parameter_count; i++)
        if (strcmp(profile->parameters[i].name, wanted) == 0)
            return (int)i;
    return -1;
}

static void add_parameter(recoveries *r, int which, const bb_parameter *fitted, double wanted)
{
    if (!isnan(wanted))
        add(r, which, fitted->estimate - wanted, fitted->sd, fitted->prior_sd);
}

/* ln A is a sum of the beach's level and the zone's own: its variance takes their covariance. */
static void add_residual(recoveries *r, const truth *t, size_t z, const bb_profile *profile)
{
    const size_t p = profile->parameter_count;
    const size_t level = (size_t)find(profile, "salt.log_level", "", "");
    const size_t own = (size_t)find(profile, "zone.", t->zone[z].told.name, ".log_salt");
    const truth_place place = {(int)z, BB_TARGET_SAND, 0, t->beach.swing_height_m, NAN};
    const bb_parameter *a = &profile->parameters[level], *b = &profile->parameters[own];
    double variance = profile->covariance[level * p + level] + profile->covariance[own * p + own] +
                      2 * profile->covariance[level * p + own];
    const double computed = 0.002 * truth_ground(t, &place);
    add(r, RECOVER_RESIDUAL,
        log(computed) + a->estimate + b->estimate - log(truth_residual(t, &place)), sqrt(variance),
        hypot(a->prior_sd, b->prior_sd));
}

void recovery_add(recoveries *r, const truth *t, const bb_profile *profile)
{
    for (size_t z = 0; z < t->zone_count; z++) {
        const char *name = t->zone[z].told.name;
        add_residual(r, t, z, profile);
        add_parameter(r, RECOVER_ANGLE,
                      &profile->parameters[find(profile, "zone.", name, ".angle_deg")],
                      t->zone[z].angle_deg);
        add_parameter(r, RECOVER_JITTER, &profile->noise.jitter[z], log(t->zone[z].jitter));
    }
    add_parameter(r, RECOVER_WANDER, &profile->noise.wander, log(t->wander_deg));
    add_parameter(r, RECOVER_READING, &profile->noise.reading, log(t->reading));
    for (size_t k = 0; k < t->target_count; k++) {
        const truth_target *target = &t->target[k];
        int time = find(profile, "target.", target->told.name, ".log_time");
        if (target->told.shape == BB_SHAPE_OTHER || time < 0)
            continue;
        add_parameter(r, RECOVER_TIME, &profile->parameters[time], target->time);
        add_parameter(r, RECOVER_STRENGTH, &profile->parameters[time + 1], target->log_strength);
    }
}
