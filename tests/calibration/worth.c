/* One beach swept by the program's plan and by an even spread of as many sweeps, and how well each
 * decides. */
#include "worth.h"

#include <math.h>
#include <stdio.h>
#include <gsl/gsl_randist.h>

#include "choice.h"
#include "score.h"

#define NEAR 0.15 /* of the scale, from the sand's number */
#define HEARD_ABOVE 3.0

enum { PUMPS = 15, LAYING = 2, PLANNED = 24, DRAWS = 1000, WAYS = 2 };

static const double depths_m[] = {0.02, 0.05, 0.10};
static const char *const way_name[WAYS] = {"planned", "even"};

typedef struct {
    double beaches, fitted[WAYS], better, worse, sweeps[WAYS];
    double regret[WAYS], difference, difference_squared; /* of regret, even less planned */
    scores near[WAYS];
} worth;

/* ---------------------------------------------------------------- sweeping */

static void lay(simulated_visit *visit, truth_place place, int sweeps, gsl_rng *random)
{
    const truth *t = &visit->truth;
    const bool errs = place.zone != BB_ZONE_AIR && place.target != BB_TARGET_SAND;
    const double error_m = errs ? gsl_ran_gaussian(random, t->depth_sd_m) : 0;
    const int laying = visit->count > 0 ? visit->sweep[visit->count - 1].laying + 1 : 0;
    for (int i = 0; i < sweeps && visit->count < SWEEPS_MAX; i++) {
        truth_sweep *made = &visit->sweep[visit->count++];
        *made = (truth_sweep){.place = place, .laying = laying, .heard = true};
        if (place.target == BB_TARGET_SAND)
            made->heard = gsl_rng_uniform(random) < t->zone[place.zone].sounding;
        made->reading = truth_number(t, &place, error_m, random);
    }
}

static void lay_stop(simulated_visit *visit, const bb_plan_stop *stop, gsl_rng *random)
{
    const truth_place place = {stop->zone, stop->target, stop->depth_m, stop->height_m, NAN};
    const int sweeps = stop->target == BB_TARGET_SAND ? stop->sweeps : LAYING;
    for (int done = 0; done < stop->sweeps; done += sweeps)
        lay(visit, place, sweeps, random);
}

/* The places of a plan, taken at even steps: as many layings over all of them. */
static void lay_evenly(simulated_visit *visit, int layings, gsl_rng *random)
{
    static const double depth_m[] = {0, 0, 0, 0.08}, lift_m[] = {0, 0.05, 0.10, 0};
    enum { HOW = 4 };
    const truth *t = &visit->truth;
    const int pieces = (int)t->target_count, zones = (int)t->zone_count;
    const int all = pieces * (1 + zones * HOW);
    for (int i = 0; i < layings; i++) {
        const int at = (int)((i + 0.5) * all / layings) % all;
        const int place = at / pieces - 1, target = at % pieces;
        const int how = place % HOW;
        lay(visit,
            place < 0 ? (truth_place){BB_ZONE_AIR, target, 0.10, 0, NAN}
                      : (truth_place){place / HOW, target, depth_m[how],
                                      t->beach.swing_height_m + lift_m[how], NAN},
            LAYING, random);
    }
}

static bb_status plan_for(simulated_visit *visit, bb_plan **plan)
{
    bb_visit blank = {0};
    bb_error error = {0};
    const bb_plan_options options = {.sweeps = PUMPS * (int)visit->truth.zone_count + PLANNED,
                                     .minutes = NAN};
    visit->count = 0;
    bb_status status = simulated_visit_read(visit, &blank, &error);
    if (status == BB_OK)
        status = bb_plan_new(&blank, NULL, &options, plan, &error);
    bb_visit_free(&blank);
    return status;
}

static void sweep(simulated_visit *visit, const bb_plan *plan, int way, gsl_rng *random)
{
    int layings = 0;
    visit->count = 0;
    for (size_t i = 0; i < plan->stop_count; i++) {
        const bool sand = plan->stops[i].target == BB_TARGET_SAND;
        layings += sand ? 0 : plan->stops[i].sweeps / LAYING;
        if (sand || way == 0)
            lay_stop(visit, &plan->stops[i], random);
    }
    if (way == 1)
        lay_evenly(visit, layings, random);
}

/* ---------------------------------------------------------------- deciding */

/* Kept pieces whose true number lies near the sand's. */
static bb_status score_near(const truth *t, const bb_predictor *predictor, gsl_rng *random,
                            scores *sums)
{
    const double reach = NEAR * (t->machine.scale_high - t->machine.scale_low);
    bb_status status = BB_OK;
    for (int z = 0; z < (int)t->zone_count; z++) {
        truth_place place = {z, BB_TARGET_SAND, 0, t->beach.swing_height_m, NAN};
        truth_distribution sand, shown;
        truth_chances(t, &place, DRAWS, random, &sand);
        for (int k = 0; k < (int)t->target_count; k++)
            for (size_t d = 0; d < 3 && t->target[k].told.keep && status == BB_OK; d++) {
                bb_prediction predicted;
                place.target = k;
                place.depth_m = depths_m[d];
                if (truth_signal_to_ground(t, &place) < HEARD_ABOVE)
                    continue;
                truth_chances(t, &place, DRAWS, random, &shown);
                if (fabs(shown.mean - sand.mean) > reach)
                    continue;
                status = bb_predict(predictor, k, z, place.depth_m, NAN, &predicted);
                if (status == BB_OK)
                    score_add(sums, &shown, &predicted, predicted.p, t->machine.scale_step);
            }
    }
    return status;
}

/* Fit, choose and compare with the truth; false where the fit refuses. */
static bool decide(const simulated_visit *visit, worth *sums, int way, double *regret)
{
    bb_visit read = {0};
    bb_error error = {0};
    bb_profile *profile = NULL;
    bb_predictor *predictor = NULL;
    bb_reject *reject = NULL;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    const bb_reject_options options = bb_reject_defaults();
    bb_status status = random == NULL ? BB_MEMORY : simulated_visit_read(visit, &read, &error);
    if (status == BB_OK)
        status = bb_fit(&read, NULL, &profile, &error);
    if (status == BB_OK)
        status = bb_predictor_new(profile, &predictor, &error);
    if (status == BB_OK)
        status = bb_reject_new(predictor, &options, &reject, &error);
    if (status == BB_OK) {
        gsl_rng_set(random, visit->truth.of.seed); /* the same truth for both ways */
        status = choice_regret(&visit->truth, reject, random, regret) ? BB_OK : BB_MEMORY;
    }
    if (status == BB_OK)
        status = score_near(&visit->truth, predictor, random, &sums->near[way]);
    bb_reject_free(reject);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
    bb_visit_free(&read);
    gsl_rng_free(random);
    return status == BB_OK;
}

static void count(worth *sums, const bool *fitted, const double *regret)
{
    sums->beaches++;
    for (int way = 0; way < WAYS; way++)
        sums->fitted[way] += fitted[way];
    if (!fitted[0] || !fitted[1])
        return;
    const double gain = regret[1] - regret[0];
    for (int way = 0; way < WAYS; way++)
        sums->regret[way] += regret[way];
    sums->difference += gain;
    sums->difference_squared += gain * gain;
    sums->better += gain > 0.005;
    sums->worse += gain < -0.005;
}

static bool run_beach(unsigned long seed, worth *sums)
{
    static simulated_visit visit;
    const simulation of = {.family = FAMILY_INSIDE, .kind = VISIT_FULL, .seed = seed};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    bb_plan *plan = NULL;
    double regret[WAYS] = {0};
    bool fitted[WAYS] = {false};
    bool done = random != NULL && truth_draw(&of, &visit.truth) && plan_for(&visit, &plan) == BB_OK;
    for (int way = 0; way < WAYS && done; way++) {
        gsl_rng_set(random, seed + 0x9a7);
        sweep(&visit, plan, way, random);
        sums->sweeps[way] += (double)visit.count;
        fitted[way] = decide(&visit, sums, way, &regret[way]);
    }
    if (done)
        count(sums, fitted, regret);
    bb_plan_free(plan);
    gsl_rng_free(random);
    return done;
}

bool worth_run(int beaches, unsigned long first_seed)
{
    static worth sums;
    for (int i = 0; i < beaches; i++)
        if (!run_beach(first_seed + (unsigned long)i, &sums))
            return false;
    const double both = fmin(sums.fitted[0], sums.fitted[1]);
    printf("way       fitted  sweeps  band regret  log score near the band (points)\n");
    for (int way = 0; way < WAYS; way++)
        printf("%-8s  %6.0f  %6.1f  %11.4f  %.3f (%.0f)\n", way_name[way], sums.fitted[way],
               sums.sweeps[way] / sums.beaches, sums.regret[way] / both,
               sums.near[way].log_score / sums.near[way].points, sums.near[way].points);
    const double mean = sums.difference / both;
    printf("even less planned: %.4f +/- %.4f; the plan better in %.0f, worse in %.0f of %.0f\n",
           mean, sqrt(fmax(sums.difference_squared / both - mean * mean, 0) / both), sums.better,
           sums.worse, both);
    return true;
}
