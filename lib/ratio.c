/* Learned logarithms told as ratios: how fast metal corrodes here, how the sand changes by the hour. */
#include "brineband.h"

#include "constants.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

static bb_ratio ratio_of(const bb_profile *profile, const char *name)
{
    for (size_t i = 0; i < profile->parameter_count; i++) {
        const bb_parameter *log = &profile->parameters[i];
        if (strcmp(log->name, name) != 0)
            continue;
        const double room = gsl_cdf_ugaussian_Pinv(BB_NINE_IN_TEN) * log->sd;
        return (bb_ratio){.learned = bb_parameter_learned(log),
                          .estimate = exp(log->estimate),
                          .low = exp(log->estimate - room),
                          .high = exp(log->estimate + room)};
    }
    return (bb_ratio){.estimate = NAN, .low = NAN, .high = NAN};
}

bb_ratio bb_corrosion_ratio(const bb_profile *profile)
{
    return ratio_of(profile, "corrosion.log");
}

bb_ratio bb_hourly_ratio(const bb_profile *profile, size_t zone)
{
    char name[BB_PARAMETER_BYTES];
    (void)snprintf(name, sizeof name, "zone.%s.drift_per_hour", profile->zones[zone].name);
    return ratio_of(profile, name);
}
