/* What may lie under a number: the pieces of the kit and of the catalogue, by group. */
#include "candidates.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "groups.h"
#include "names.h"
#include "target.h"

#define WORN_YEARS 20.0  /* in salt sand, of a worn coin: judgement, no source */

static const char *const usual_groups[] = {BB_GROUP_SMALL_GOLD, BB_GROUP_GOLD, BB_GROUP_SILVER,
                                           BB_GROUP_COIN,       BB_GROUP_FOIL, BB_GROUP_JUNK,
                                           BB_GROUP_IRON};
enum { USUAL = sizeof usual_groups / sizeof *usual_groups };

static bool magnetic(const char *material)
{
    const bb_material *known = bb_material_find(material);
    return known != NULL && known->permeability > BB_MAGNETIC;
}

/* It, or what is under its plating, draws a magnet. */
static bool is_ferrous(const bb_target *target)
{
    return strcmp(target->group, BB_GROUP_IRON) == 0 || magnetic(target->material) ||
           magnetic(target->core);
}

static bool is_layered(const bb_target *target)
{
    return target->core[0] != '\0' && target->plating_m > 0;
}

/* Plated steel whose skin is gone is a bare steel disc; a clad coin has lost some of its faces. */
static bb_target worn(const bb_target *target)
{
    bb_target result = *target;
    (void)snprintf(result.name, sizeof result.name, "%.50s, worn", target->name);
    if (magnetic(target->core)) {
        memcpy(result.material, target->core, sizeof result.material);
        result.conductivity_S_per_m = target->core_conductivity_S_per_m;
        result.core[0] = '\0';
        result.core_conductivity_S_per_m = result.plating_m = NAN;
    } else {
        result.years = WORN_YEARS;
    }
    return result;
}

size_t bb_candidate_group_find(const bb_candidates *candidates, const char *name)
{
    size_t i = 0;
    while (i < candidates->group_count && !bb_same_word(candidates->groups[i].name, name))
        i++;
    return i;
}

static void add_group(bb_candidates *candidates, const char *name)
{
    if (bb_candidate_group_find(candidates, name) < candidates->group_count)
        return;
    bb_candidate_group *group = &candidates->groups[candidates->group_count++];
    *group = (bb_candidate_group){.keep = false};
    (void)snprintf(group->name, sizeof group->name, "%s", name);
}

static void add(bb_candidates *candidates, const bb_target *target, int known, double sd_log,
                double share)
{
    candidates->at[candidates->count++] = (bb_candidate){.target = *target,
                                                         .known = known,
                                                         .sd_log = sd_log,
                                                         .share = share,
                                                         .ferrous = is_ferrous(target)};
}

static bool in_kit(const bb_profile *profile, const char *name)
{
    const bb_names names = BB_NAMES(profile->targets, profile->target_count);
    return bb_name_find(&names, name) >= 0;
}

static void add_catalogue(const bb_profile *profile, bb_candidates *candidates)
{
    for (size_t i = 0; i < bb_catalogue_count(); i++) {
        bb_target target;
        double sd_log;
        (void)bb_catalogue_at(i, &target, &sd_log);
        if (in_kit(profile, target.name))
            continue;
        const bool layered = is_layered(&target);
        add(candidates, &target, -1, sd_log, layered ? 0.5 : 1);
        const bb_target old = worn(&target);
        if (layered)
            add(candidates, &old, -1, sd_log, 0.5);
    }
}

/* The groups that have pieces, the usual ones first, then the user's own words, then bare sand. */
static void sort_into_groups(bb_candidates *candidates)
{
    double shares[BB_CLASSES_MAX] = {0};
    for (size_t g = 0; g < USUAL; g++)
        for (size_t i = 0; i < candidates->count; i++)
            if (bb_same_word(candidates->at[i].target.group, usual_groups[g]))
                add_group(candidates, usual_groups[g]);
    for (size_t i = 0; i < candidates->count; i++) {
        bb_candidate *of = &candidates->at[i];
        add_group(candidates, of->target.group);
        of->group = bb_candidate_group_find(candidates, of->target.group);
        candidates->groups[of->group].keep |= of->target.keep;
        shares[of->group] += of->share;
    }
    for (size_t i = 0; i < candidates->count; i++)
        candidates->at[i].share /= shares[candidates->at[i].group];
    add_group(candidates, BB_GROUP_SAND);
}

bb_status bb_candidates_new(const bb_profile *profile, bool only_kit, bb_candidates *candidates)
{
    candidates->count = candidates->group_count = 0;
    candidates->at = calloc(profile->target_count + 2 * bb_catalogue_count() + 1,
                            sizeof *candidates->at);
    if (candidates->at == NULL)
        return BB_MEMORY;
    for (size_t k = 0; k < profile->target_count; k++)
        add(candidates, &profile->targets[k], (int)k, NAN, 1);
    if (!only_kit)
        add_catalogue(profile, candidates);
    sort_into_groups(candidates);
    return BB_OK;
}

void bb_candidates_free(bb_candidates *candidates)
{
    free(candidates->at);
    candidates->at = NULL;
    candidates->count = 0;
}
