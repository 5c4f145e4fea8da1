/* What a profile owns, and what in it was learned. */
#include "brineband.h"

#include <stdlib.h>
#include <string.h>

#include "copy.h"

#define MISSES_BELOW 0.01 /* chance of a fit so far off, by the repeats' own spread */

bb_status bb_profile_copy(const bb_profile *profile, bb_profile **copy)
{
    const size_t zones = profile->zone_count, targets = profile->target_count,
                 parameters = profile->parameter_count;
    bb_profile *made = bb_copy(profile, 1, sizeof *profile);
    if (made == NULL)
        return BB_MEMORY;
    made->zones = bb_copy(profile->zones, zones, sizeof *made->zones);
    made->targets = bb_copy(profile->targets, targets, sizeof *made->targets);
    made->parameters = bb_copy(profile->parameters, parameters, sizeof *made->parameters);
    made->covariance =
        bb_copy(profile->covariance, parameters * parameters, sizeof *made->covariance);
    made->bare = bb_copy(profile->bare, zones, sizeof *made->bare);
    made->target_sweeps =
        bb_copy(profile->target_sweeps, targets * (zones + 1), sizeof *made->target_sweeps);
    made->read_though_lost = bb_copy(profile->read_though_lost, profile->read_though_lost_count,
                                     sizeof *made->read_though_lost);
    made->finds = bb_copy(profile->finds, profile->finds_count, sizeof *made->finds);
    if (!made->zones || !made->targets || !made->parameters || !made->covariance || !made->bare ||
        !made->target_sweeps || !made->read_though_lost || !made->finds) {
        bb_profile_free(made);
        return BB_MEMORY;
    }
    *copy = made;
    return BB_OK;
}

void bb_profile_free(bb_profile *profile)
{
    if (profile == NULL)
        return;
    free(profile->zones);
    free(profile->targets);
    free(profile->parameters);
    free(profile->covariance);
    free(profile->bare);
    free(profile->target_sweeps);
    free(profile->read_though_lost);
    free(profile->finds);
    free(profile);
}

void bb_profile_anonymise(bb_profile *profile)
{
    enum { MONTH = sizeof "YYYY-MM" - 1 };
    profile->machine.name[0] = '\0';
    profile->beach.name[0] = '\0';
    if (strlen(profile->beach.date) > MONTH)
        profile->beach.date[MONTH] = '\0';
}

bool bb_profile_misses(const bb_profile *profile)
{
    return profile->evidence.lack_of_fit_p < MISSES_BELOW;
}

bool bb_parameter_learned(const bb_parameter *parameter)
{
    return parameter->sd <= 0.9 * parameter->prior_sd; /* the design's limit; judgement, no source */
}
