/* How often each group is met in a zone, before any number is seen. */
#include "base_rates.h"

#include <string.h>

#include <gsl/gsl_randist.h>

#define PRIOR_FINDS 0.5 /* of each group (Jeffreys 1946) */

void bb_base_rates_set(const bb_profile *profile, int zone, const bb_candidates *candidates,
                       const bool *heard, bb_base_rates *rates)
{
    double total = 0;
    memset(rates, 0, sizeof *rates);
    rates->count = candidates->group_count;
    for (size_t g = 0; g < rates->count; g++)
        rates->known[g] = heard[g] ? PRIOR_FINDS : 0;
    for (size_t i = 0; i < profile->finds_count; i++) {
        const bb_finds *finds = &profile->finds[i];
        const size_t g = bb_candidate_group_find(candidates, finds->group);
        if (g == rates->count || !heard[g] || finds->dug[zone] == 0)
            continue;
        rates->known[g] += finds->dug[zone];
        rates->learned = true;
    }
    for (size_t g = 0; g < rates->count; g++)
        total += rates->known[g];
    for (size_t g = 0; g < rates->count; g++)
        rates->mean[g] = rates->known[g] / total;
}

void bb_base_rates_draw(const bb_base_rates *rates, gsl_rng *rng, double *drawn)
{
    if (rates->learned)
        gsl_ran_dirichlet(rng, rates->count, rates->known, drawn);
    else
        memcpy(drawn, rates->mean, rates->count * sizeof *drawn);
}
