/* What would help where no setting is both quiet and safe: each remedy is tried, and the choice made
 * again. */
#include "brineband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "band_search.h"
#include "groups.h"
#include "reject.h"

#define LEAST_GAIN 0.005
#define LOWER_SWING 0.5
#define SMALLER_COIL 0.7
#define HIGHER_FREQUENCY 2.0
#define LOWER_FREQUENCY 0.5
#define PATIENCE 0.02 /* of what the answer's own search is given: remedies are compared, not dialled in */
#define LEARNED_SHARE 0.3 /* of its doubt, that a swept piece keeps of its own number; judgement */

static bb_status silence_within_loss(const bb_profile *profile, const bb_reject_options *options,
                                     double *silence, bb_error *error)
{
    bb_predictor *predictor = NULL;
    bb_reject_options quick = *options;
    quick.patience = PATIENCE * bb_patience_of(options->patience);
    bb_status status = bb_predictor_new(profile, &predictor, error);
    if (status == BB_OK)
        status = bb_reject_safe_silence(predictor, &quick, silence);
    bb_predictor_free(predictor);
    return status;
}

/* As if what was read bare had been read again, up to enough sweeps in every zone. */
static void sweep_more(bb_profile *profile, const bb_remedy *remedy)
{
    for (size_t z = 0; z < profile->zone_count; z++) {
        bb_bare *bare = &profile->bare[z];
        if (bare->swept == 0 || bare->swept >= remedy->amount)
            continue;
        const double factor = remedy->amount / bare->swept;
        bare->swept *= factor;
        bare->heard *= factor;
        bare->number_swept *= factor;
        for (size_t n = 0; n < BB_NUMBERS_MAX; n++)
            bare->counts[n] *= factor;
    }
}

/* As if the kept small gold had been swept: its own parameters lose most of their doubt. */
static void sweep_gold(bb_profile *profile, const bb_remedy *remedy)
{
    (void)remedy;
    const size_t p = profile->parameter_count;
    for (size_t k = 0; k < profile->target_count; k++) {
        if (strcmp(profile->targets[k].group, BB_GROUP_SMALL_GOLD) != 0)
            continue;
        for (size_t i = p - 2 * profile->target_count + 2 * k, end = i + 2; i < end; i++)
            for (size_t j = 0; j < p; j++) {
                profile->covariance[i * p + j] *= LEARNED_SHARE;
                profile->covariance[j * p + i] *= LEARNED_SHARE;
            }
    }
}

static bb_status try_data(const bb_profile *profile, const bb_reject_options *options,
                          void (*apply)(bb_profile *, const bb_remedy *), bb_remedy *remedy,
                          bb_error *error)
{
    bb_profile *other = NULL;
    bb_status status = bb_profile_copy(profile, &other);
    if (status == BB_OK) {
        apply(other, remedy);
        status = silence_within_loss(other, options, &remedy->silence, error);
    }
    bb_profile_free(other);
    return status;
}

static bb_status try_physics(const bb_profile *profile, const bb_reject_options *options,
                             const bb_what_if *changes, bb_remedy *remedy, bb_error *error)
{
    bb_profile *other = NULL;
    bb_status status = bb_profile_what_if(profile, changes, &other, error);
    if (status == BB_OK)
        status = silence_within_loss(other, options, &remedy->silence, error);
    bb_profile_free(other);
    return status;
}

static bb_status try_one(const bb_profile *profile, const bb_reject_options *options,
                         bb_remedy *remedy, bb_error *error)
{
    bb_what_if changes = bb_what_if_nothing();
    bb_reject_options alone = *options;
    const int zone = (int)remedy->amount;
    switch (remedy->kind) {
    case BB_REMEDY_BARE_SWEEPS:
        return try_data(profile, options, sweep_more, remedy, error);
    case BB_REMEDY_SMALL_GOLD:
        return try_data(profile, options, sweep_gold, remedy, error);
    case BB_REMEDY_HEIGHT:
        changes.swing_height_m = remedy->amount;
        break;
    case BB_REMEDY_COIL:
        changes.coil_radius_m = remedy->amount / 2;
        break;
    case BB_REMEDY_FREQUENCY:
        changes.frequency_hz = remedy->amount;
        break;
    case BB_REMEDY_ZONE:
        alone.zones = &zone;
        alone.zone_count = 1;
        return silence_within_loss(profile, &alone, &remedy->silence, error);
    }
    return try_physics(profile, options, &changes, remedy, error);
}

/* What may be tried for this machine and beach. */
static size_t candidates(const bb_profile *profile, bb_remedy remedies[BB_REMEDIES_MAX])
{
    const bb_machine *machine = &profile->machine;
    size_t count = 0;
    bool more_bare = false;
    for (size_t z = 0; z < profile->zone_count; z++)
        more_bare = more_bare ||
                    (profile->bare[z].swept > 0 && profile->bare[z].swept < BB_BARE_ENOUGH);
    if (more_bare)
        remedies[count++] = (bb_remedy){BB_REMEDY_BARE_SWEEPS, BB_BARE_ENOUGH, 0, 0};
    remedies[count++] = (bb_remedy){BB_REMEDY_SMALL_GOLD, 0, 0, 0};
    remedies[count++] =
        (bb_remedy){BB_REMEDY_HEIGHT, LOWER_SWING * profile->beach.swing_height_m, 0, 0};
    remedies[count++] =
        (bb_remedy){BB_REMEDY_COIL, SMALLER_COIL * 2 * machine->coil_radius_m, 0, 0};
    if (machine->frequency_kind == BB_FREQUENCY_ONE) {
        remedies[count++] =
            (bb_remedy){BB_REMEDY_FREQUENCY, HIGHER_FREQUENCY * machine->frequency_hz, 0, 0};
        remedies[count++] =
            (bb_remedy){BB_REMEDY_FREQUENCY, LOWER_FREQUENCY * machine->frequency_hz, 0, 0};
    }
    for (size_t z = 0; z < profile->zone_count && count < BB_REMEDIES_MAX; z++)
        if (profile->bare[z].swept > 0)
            remedies[count++] = (bb_remedy){BB_REMEDY_ZONE, (double)z, 0, 0};
    return count;
}

static int larger_first(const void *one, const void *other)
{
    const double a = ((const bb_remedy *)one)->gain, b = ((const bb_remedy *)other)->gain;
    return (a < b) - (a > b);
}

bb_status bb_remedies(const bb_profile *profile, const bb_reject_options *options,
                      bb_remedy remedies[BB_REMEDIES_MAX], size_t *count, bb_error *error)
{
    double now = 0;
    bb_status status = silence_within_loss(profile, options, &now, error);
    const size_t tried = candidates(profile, remedies);
    *count = 0;
    for (size_t i = 0; i < tried && status == BB_OK; i++) {
        bb_remedy remedy = remedies[i];
        status = try_one(profile, options, &remedy, error);
        remedy.gain = remedy.silence - now;
        if (status == BB_OK && remedy.gain > LEAST_GAIN)
            remedies[(*count)++] = remedy;
    }
    qsort(remedies, *count, sizeof *remedies, larger_first);
    return status;
}
