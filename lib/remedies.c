/* What would help where no setting is both quiet and safe: each remedy is tried, and the choice made
 * again. */
#include "brineband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "band_search.h"
#include "draw.h"
#include "groups.h"
#include "learning.h"
#include "predictor.h"
#include "reject.h"

#define LEAST_GAIN 0.005
#define LOWER_SWING 0.5
#define SMALLER_COIL 0.7
#define HIGHER_FREQUENCY 2.0
#define LOWER_FREQUENCY 0.5
#define PATIENCE 0.2 /* of what the answer's own search is given: remedies are compared, not dialled in */
#define BELIEVED 3.0 /* standard deviations */

static const double lifts_m[] = {0, 0.05, 0.10};
enum { LIFTS = sizeof lifts_m / sizeof *lifts_m, LAYING_SWEEPS = 2, DRAWS = 32, SEED = 20260509 };

static bb_status safe_silence(const bb_predictor *predictor, const bb_reject_options *options,
                              double *silence)
{
    bb_reject_options quick = *options;
    quick.patience = PATIENCE * bb_patience_of(options->patience);
    return bb_reject_safe_silence(predictor, &quick, silence);
}

static bb_status silence_within_loss(const bb_profile *profile, const bb_reject_options *options,
                                     double *silence, bb_error *error)
{
    bb_predictor *predictor = NULL;
    bb_status status = bb_predictor_new(profile, &predictor, error);
    if (status == BB_OK)
        status = safe_silence(predictor, options, silence);
    bb_predictor_free(predictor);
    return status;
}

static bool may_pump(const bb_bare *bare)
{
    return bare->swept > 0 && bare->swept < BB_BARE_ENOUGH;
}

static bool is_small_gold(const bb_target *target)
{
    return target->keep && strcmp(target->group, BB_GROUP_SMALL_GOLD) == 0;
}

/* ---------------------------------------------------------------- sweeps still to be made */

/* A beach as sweeps still to be made may leave it: each is drawn from what is expected after the
 * one before, so that over many draws the beach stays what it is taken for, with less doubt. */
typedef struct {
    bb_predictor *predictor;
    gsl_rng *rng;
    double *row, *gain; /* room for the parameters */
} future;

/* Move the parameters by the mean of a laying that lies so many standard deviations above what was
 * expected. A fit believes no reading that is far out. */
static bb_status move(future *of, const bb_point *point, double sweeps, double above)
{
    bb_predictor *predictor = of->predictor;
    const size_t p = predictor->parameter_count;
    double mean, variance;
    memset(of->row, 0, p * sizeof *of->row);
    bb_status status =
        bb_laying_expect(&predictor->state, point, sweeps, of->row, &mean, &variance);
    if (status != BB_OK)
        return status;
    const double all = bb_mean_absorb(predictor->covariance, p, of->row, variance, of->gain);
    const double off = sqrt(all) * fmin(fmax(above, -BELIEVED), BELIEVED);
    for (size_t i = 0; i < p; i++)
        predictor->theta[i] += of->gain[i] * off;
    const bb_noise_level level = predictor->state.noise;
    return bb_state_set(&predictor->state, predictor->model, predictor->theta, &level,
                        predictor->answers);
}

/* One more bare sweep, in the counts and in the parameters. */
static bb_status pump(future *of, int zone)
{
    bb_predictor *predictor = of->predictor;
    const bb_machine *machine = &predictor->model->machine;
    const bb_point point = {zone, BB_TARGET_SAND, 0, predictor->model->swing_height_m, NAN};
    bb_bare *bare = &predictor->bare[zone];
    bb_prediction sand;
    double share;
    bb_status status = bb_predict_sand(predictor, zone, &sand, &share);
    bare->swept++;
    if (status != BB_OK || gsl_rng_uniform(of->rng) >= share)
        return status;
    const size_t n = bb_draw_index(of->rng, sand.p, sizeof *sand.p, sand.count);
    bare->heard++;
    bare->number_swept++;
    bare->counts[n]++;
    return move(of, &point, 1, (bb_scale_number(machine, n) - sand.mean) / sand.sd);
}

static bb_status sweep_bare(future *of)
{
    bb_status status = BB_OK;
    for (size_t z = 0; z < of->predictor->model->zone_count; z++)
        while (status == BB_OK && may_pump(&of->predictor->bare[z]))
            status = pump(of, (int)z);
    return status;
}

/* One laying of a piece, which teaches nothing where the salt drowns it. */
static bb_status lay(future *of, int target, int zone, double lift_m, double sweeps)
{
    const bb_point point = {zone, target, 0, of->predictor->model->swing_height_m + lift_m, NAN};
    bb_prediction piece;
    bb_status status = bb_predict(of->predictor, target, zone, 0, point.height_m, &piece);
    return status == BB_OK && !piece.masked
               ? move(of, &point, sweeps, gsl_ran_ugaussian(of->rng))
               : status;
}

/* The kept small gold of the kit on each zone's sand, and with the coil raised over it. */
static bb_status sweep_gold(future *of, double sweeps)
{
    const bb_model *model = of->predictor->model;
    bb_status status = BB_OK;
    for (size_t k = 0; k < model->target_count; k++)
        for (size_t z = 0; z < model->zone_count && is_small_gold(&of->predictor->targets[k]); z++)
            for (int i = 0; i < LIFTS && status == BB_OK; i++)
                status = lay(of, (int)k, (int)z, lifts_m[i], sweeps / LIFTS);
    return status;
}

/* One draw of what the sweeps leave, and the choice made after them. */
static bb_status choose_after(const bb_profile *profile, const bb_reject_options *options,
                              const bb_remedy *remedy, gsl_rng *rng, double *silence,
                              bb_error *error)
{
    future of = {.rng = rng};
    const size_t p = profile->parameter_count;
    bb_status status = bb_predictor_new(profile, &of.predictor, error);
    if (status != BB_OK)
        return status;
    of.row = calloc(2 * p, sizeof *of.row);
    of.gain = of.row == NULL ? NULL : of.row + p;
    status = of.row == NULL                            ? BB_MEMORY
             : remedy->kind == BB_REMEDY_BARE_SWEEPS ? sweep_bare(&of)
                                                     : sweep_gold(&of, remedy->amount);
    if (status == BB_OK)
        status = safe_silence(of.predictor, options, silence);
    free(of.row);
    bb_predictor_free(of.predictor);
    return status;
}

static bb_status try_sweeps(const bb_profile *profile, const bb_reject_options *options,
                            bb_remedy *remedy, bb_error *error)
{
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    bb_status status = rng == NULL ? BB_MEMORY : BB_OK;
    if (status == BB_OK)
        gsl_rng_set(rng, SEED);
    double sum = 0, drawn = 0;
    for (int draw = 0; draw < DRAWS && status == BB_OK; draw++) {
        double silence = 0;
        status = choose_after(profile, options, remedy, rng, &silence, error);
        if (status == BB_RANGE) { /* a draw out of all bounds: the profile knows very little */
            status = BB_OK;
            continue;
        }
        sum += silence;
        drawn++;
    }
    remedy->silence = drawn > 0 ? sum / drawn : 0;
    if (rng != NULL)
        gsl_rng_free(rng);
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
    case BB_REMEDY_SMALL_GOLD:
        return try_sweeps(profile, options, remedy, error);
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
    bool more_bare = false, any_gold = false;
    for (size_t k = 0; k < profile->target_count; k++)
        any_gold = any_gold || is_small_gold(&profile->targets[k]);
    for (size_t z = 0; z < profile->zone_count; z++)
        more_bare = more_bare || may_pump(&profile->bare[z]);
    if (more_bare)
        remedies[count++] = (bb_remedy){BB_REMEDY_BARE_SWEEPS, BB_BARE_ENOUGH, 0, 0};
    if (any_gold)
        remedies[count++] = (bb_remedy){BB_REMEDY_SMALL_GOLD, LIFTS * LAYING_SWEEPS, 0, 0};
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
