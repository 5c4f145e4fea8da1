/* Adding visits to a club one by one: which counts, and what may not be pooled. */
#include "merge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "prior.h"
#include "status.h"

enum { FIRST_ROOM = 16 };

bb_status bb_merge_begin(const bb_merge_options *options, bb_merge **out, bb_error *error)
{
    bb_merge *merge = calloc(1, sizeof *merge);
    if (merge != NULL) {
        merge->options = *options;
        merge->information = calloc((size_t)BB_SHARED_MAX * BB_SHARED_MAX,
                                    sizeof *merge->information);
    }
    if (merge == NULL || merge->information == NULL) {
        bb_merge_free(merge);
        return bb_out_of_memory(error);
    }
    *out = merge;
    return BB_OK;
}

void bb_merge_free(bb_merge *merge)
{
    if (merge == NULL)
        return;
    for (size_t i = 0; i < merge->sum_count; i++)
        free(merge->sums[i].findings);
    for (size_t i = 0; i < merge->quantity_count; i++)
        free(merge->quantities[i].entries);
    free(merge->sums);
    free(merge->quantities);
    free(merge->digests);
    free(merge->visits);
    free(merge->slots);
    free(merge->information);
    free(merge);
}

/* ---------------------------------------------------------------- the same visit twice */

static size_t slot_of(const bb_merge *merge, const char *digest)
{
    size_t hash = 0;
    for (int i = 0; i < 12; i++)
        hash = hash * 31 + (unsigned char)digest[i];
    size_t slot = hash % merge->slot_count;
    while (merge->slots[slot] != 0 && strcmp(merge->digests[merge->slots[slot] - 1], digest) != 0)
        slot = (slot + 1) % merge->slot_count;
    return slot;
}

static bool is_known(const bb_merge *merge, const char *digest)
{
    return merge->slot_count > 0 && merge->slots[slot_of(merge, digest)] != 0;
}

/* Room for one more member: slots are never more than half full. */
static bb_status make_room(bb_merge *merge)
{
    if (merge->member_count < merge->member_room)
        return BB_OK;
    const size_t room = merge->member_room == 0 ? FIRST_ROOM : 2 * merge->member_room;
    bb_digest_text *digests = realloc(merge->digests, room * sizeof *digests);
    if (digests != NULL)
        merge->digests = digests;
    size_t *visits = realloc(merge->visits, room * sizeof *visits);
    if (visits != NULL)
        merge->visits = visits;
    size_t *slots = calloc(2 * room, sizeof *slots);
    if (digests == NULL || visits == NULL || slots == NULL) {
        free(slots);
        return BB_MEMORY;
    }
    free(merge->slots);
    merge->slots = slots;
    merge->slot_count = 2 * room;
    merge->member_room = room;
    for (size_t m = 0; m < merge->member_count; m++)
        merge->slots[slot_of(merge, merge->digests[m])] = m + 1;
    return BB_OK;
}

/* ---------------------------------------------------------------- what may not be pooled */

static bb_status refuse(bb_error *error, const char *path, const char *what, const char *field)
{
    return bb_error_say(error, BB_INPUT, "%s: %s: its %s differs", path, what, field);
}

static bb_status check_machine(const bb_merge *merge, const bb_newcomer *of, bb_error *error)
{
    const bb_machine *own = &of->profile->machine, *club = &merge->machine;
    if (merge->options.any_machine || merge->member_count == 0)
        return BB_OK;
    const char *field = bb_machine_difference(club, own);
    if (field == NULL && *own->name != '\0' && *club->name != '\0' &&
        strcmp(own->name, club->name) != 0)
        field = "name";
    return field == NULL ? BB_OK
                         : refuse(error, of->path,
                                  "of another machine or setting than the profiles before it",
                                  field);
}

static bool same(double a, double b)
{
    return (isnan(a) && isnan(b)) || fabs(a - b) <= 1e-9 * fabs(a);
}

static const char *target_difference(const bb_target *a, const bb_target *b)
{
    return a->shape != b->shape                                  ? "shape"
           : strcmp(a->material, b->material) != 0               ? "material"
           : !same(a->conductivity_S_per_m, b->conductivity_S_per_m) ? "material"
           : !same(a->diameter_m, b->diameter_m)                 ? "diameter_mm"
           : !same(a->thickness_m, b->thickness_m)               ? "thickness_mm"
           : !same(a->bore_m, b->bore_m)                         ? "bore_mm"
           : !same(a->mass_kg, b->mass_kg)                       ? "mass_g"
           : strcmp(a->core, b->core) != 0                       ? "core"
           : !same(a->core_conductivity_S_per_m, b->core_conductivity_S_per_m) ? "core"
           : !same(a->plating_m, b->plating_m)                   ? "plating_um"
           : !same(a->years, b->years)                           ? "years"
                                                                 : NULL;
}

static size_t target_named(const bb_merge *merge, const char *name)
{
    size_t at = 0;
    while (at < merge->target_count && strcmp(merge->targets[at].name, name) != 0)
        at++;
    return at;
}

static size_t zone_named(const bb_merge *merge, const char *name)
{
    size_t at = 0;
    while (at < merge->zone_count && strcmp(merge->zones[at].zone.name, name) != 0)
        at++;
    return at;
}

static bb_status check_targets(const bb_merge *merge, const bb_newcomer *of, bb_error *error)
{
    size_t fresh = 0;
    if (merge->options.any_machine)
        return BB_OK;
    for (size_t k = 0; k < of->profile->target_count; k++) {
        const bb_target *target = &of->profile->targets[k];
        const size_t at = target_named(merge, target->name);
        const char *field =
            at < merge->target_count ? target_difference(target, &merge->targets[at]) : NULL;
        if (field != NULL)
            return bb_error_say(error, BB_INPUT, "%s: its piece \"%s\" is not the one of that name "
                                "in the profiles before it: its %s differs; give one of them "
                                "another name", of->path, target->name, field);
        fresh += at == merge->target_count;
    }
    return merge->target_count + fresh <= BB_TARGETS_MAX
               ? BB_OK
               : bb_error_say(error, BB_INPUT, "%s: more than %d pieces by different names",
                              of->path, BB_TARGETS_MAX);
}

static bb_status check_zones(const bb_merge *merge, const bb_newcomer *of, bb_error *error)
{
    size_t fresh = 0;
    for (size_t z = 0; z < of->profile->zone_count; z++)
        fresh += zone_named(merge, of->profile->zones[z].name) == merge->zone_count;
    return merge->zone_count + fresh <= BB_ZONES_MAX
               ? BB_OK
               : bb_error_say(error, BB_INPUT, "%s: more than %d zones by different names",
                              of->path, BB_ZONES_MAX);
}

static bb_status check(const bb_merge *merge, const bb_newcomer *of, bb_error *error)
{
    if (strlen(of->profile->digest) + 1 != BB_DIGEST_BYTES)
        return bb_error_say(error, BB_INPUT, "%s: it has no digest, by which the same visit would "
                            "be known again", of->path);
    bb_status status = check_machine(merge, of, error);
    if (status == BB_OK)
        status = check_targets(merge, of, error);
    return status == BB_OK ? check_zones(merge, of, error) : status;
}

/* ---------------------------------------------------------------- beach, zones and kit */

static void add_beach(bb_merge *merge, const bb_newcomer *of)
{
    const bb_beach *own = &of->profile->beach;
    bb_beach *sum = &merge->beach;
    sum->swing_height_m += own->swing_height_m;
    sum->water_salinity += own->water_salinity;
    sum->water_temperature_c += own->water_temperature_c;
    sum->sand_porosity += own->sand_porosity;
    sum->susceptibility += own->susceptibility;
    sum->black_sand_possible = sum->black_sand_possible || own->black_sand_possible;
    sum->swing_height_assumed = sum->swing_height_assumed || own->swing_height_assumed;
    sum->water_assumed = sum->water_assumed || own->water_assumed;
    sum->porosity_assumed = sum->porosity_assumed || own->porosity_assumed;
    if (strcmp(own->date, sum->date) > 0)
        memcpy(sum->date, own->date, sizeof sum->date);
    if (merge->member_count == 0)
        memcpy(sum->name, own->name, sizeof sum->name);
    else if (strcmp(own->name, sum->name) != 0)
        sum->name[0] = '\0';
}

static void add_zones_and_kit(bb_merge *merge, const bb_newcomer *of)
{
    const bb_profile *profile = of->profile;
    size_t at[BB_ZONES_MAX];
    for (size_t z = 0; z < profile->zone_count; z++) {
        const bb_zone *own = &profile->zones[z];
        at[z] = zone_named(merge, own->name);
        bb_zone_sum *sum = &merge->zones[at[z]];
        if (at[z] == merge->zone_count)
            merge->zones[merge->zone_count++] = (bb_zone_sum){.zone = *own};
        sum->saturation += own->saturation;
        sum->dry_layer_m += own->dry_layer_m;
        sum->susceptibility += own->susceptibility;
        sum->wetness_assumed = sum->wetness_assumed || own->wetness_assumed;
        sum->visits++;
        sum->swept += profile->bare[z].swept;
        sum->heard += profile->bare[z].heard;
    }
    if (merge->options.any_machine)
        return;
    merge->air_sweeps += profile->air_sweeps;
    merge->sand_sweeps += profile->sand_sweeps;
    for (size_t k = 0; k < profile->target_count; k++) {
        const double *sweeps = profile->target_sweeps + k * (profile->zone_count + 1);
        const size_t target = target_named(merge, profile->targets[k].name);
        if (target == merge->target_count)
            merge->targets[merge->target_count++] = profile->targets[k];
        else if (merge->base == merge->member_count)
            merge->targets[target] = profile->targets[k];
        merge->sweeps[target][0] += sweeps[0];
        for (size_t z = 0; z < profile->zone_count; z++)
            merge->sweeps[target][at[z] + 1] += sweeps[z + 1];
    }
}

/* ---------------------------------------------------------------- adding */

static bb_status count_in(bb_merge *merge, const bb_newcomer *of)
{
    const bb_profile *profile = of->profile;
    bb_status status = make_room(merge);
    if (status == BB_OK && !merge->options.any_machine)
        status = bb_merge_shared(merge, of);
    if (status == BB_OK)
        status = bb_merge_findings(merge, of);
    if (status != BB_OK)
        return status;
    const size_t member = merge->member_count;
    memcpy(merge->digests[member], profile->digest, BB_DIGEST_BYTES);
    merge->visits[member] = merge->added;
    merge->slots[slot_of(merge, profile->digest)] = member + 1;
    if (member == 0 || strcmp(profile->digest, merge->digests[merge->base]) < 0) {
        char known[BB_TEXT_BYTES];
        memcpy(known, merge->machine.name, sizeof known);
        merge->base = member;
        merge->machine = profile->machine;
        if (*merge->machine.name == '\0')
            memcpy(merge->machine.name, known, sizeof known);
    }
    if (*merge->machine.name == '\0')
        memcpy(merge->machine.name, profile->machine.name, sizeof merge->machine.name);
    add_beach(merge, of);
    add_zones_and_kit(merge, of);
    merge->member_count++;
    return BB_OK;
}

bb_status bb_merge_add(bb_merge *merge, const bb_profile *profile, const char *path,
                       bb_merge_fate *fate, bb_error *error)
{
    bb_newcomer of = {.profile = profile, .path = path};
    bb_status status = BB_OK;
    *fate = profile->pooled_visits > 0                ? BB_MERGE_POOLED
            : is_known(merge, profile->digest)        ? BB_MERGE_TWICE
                                                      : BB_MERGE_COUNTED;
    if (*fate == BB_MERGE_COUNTED) {
        status = check(merge, &of, error);
        if (status == BB_OK)
            status = bb_newcomer_ready(&of, error);
        if (status == BB_OK && bb_newcomer_from_prior(&of))
            *fate = BB_MERGE_FROM_PRIOR;
        else if (status == BB_OK)
            status = count_in(merge, &of);
    }
    bb_newcomer_release(&of);
    if (status == BB_OK)
        merge->added++;
    return status == BB_OK ? BB_OK : bb_error_say(error, status, "%s: %s", path,
                                                  bb_status_text(status));
}
