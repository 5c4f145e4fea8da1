/* Calls of invented finds against what they were. */
#include "odds.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "simulate/simulate.h"

#define TAIL (0.001 / (2 * BB_BRIER_BINS)) /* one set in a thousand leaves its limits anywhere */

static bb_status fit_one(unsigned long seed, bb_profile **profile)
{
    static simulated_visit simulated;
    const simulation of = {.family = FAMILY_INSIDE, .kind = VISIT_FULL, .seed = seed};
    bb_visit visit = {0};
    bb_error error = {0};
    if (!visit_simulate(&of, &simulated))
        return BB_MEMORY;
    bb_status status = simulated_visit_read(&simulated, &visit, &error);
    if (status == BB_OK)
        status = bb_fit(&visit, NULL, profile, &error);
    bb_visit_free(&visit);
    return status;
}

static bb_status call(const bb_judge *judge, int finds, size_t readings, unsigned long seed,
                      bb_brier *brier)
{
    bb_practice *practice = NULL;
    double *chance = calloc((size_t)finds, sizeof *chance);
    bool *came = calloc((size_t)finds, sizeof *came);
    bb_status status =
        chance && came ? bb_practice_new(judge, seed, &practice) : BB_MEMORY;
    for (int i = 0; i < finds && status == BB_OK; i++) {
        bb_round round;
        status = bb_practice_draw(practice, readings, &round);
        if (status == BB_OK)
            status = bb_judge_keep(judge, round.readings, readings, &chance[i]);
        came[i] = round.keep;
    }
    if (status == BB_OK)
        status = bb_brier_score(chance, came, (size_t)finds, brier);
    bb_practice_free(practice);
    free(chance);
    free(came);
    return status;
}

/* Prints a line a tenth; false where one lies outside. */
static bool tell(const bb_brier *brier, size_t readings)
{
    bool inside = true;
    printf("%zu reading%s: Brier score %.4f, reliability %.5f, resolution %.4f, uncertainty %.4f\n",
           readings, readings == 1 ? "" : "s", brier->score, brier->reliability, brier->resolution,
           brier->uncertainty);
    for (size_t b = 0; b < BB_BRIER_BINS; b++) {
        const bb_brier_bin *bin = &brier->bins[b];
        const double calls = (double)bin->calls, came = (double)bin->came;
        if (bin->calls == 0)
            continue;
        const double low = bb_binomial_lower(came, calls, TAIL);
        const double high = bb_binomial_upper(came, calls, TAIL);
        const bool in = low <= bin->called && bin->called <= high;
        printf("    called %.3f: came in %5zu of %5zu, %.3f (limits %.3f to %.3f)%s\n",
               bin->called, bin->came, bin->calls, came / calls, low, high, in ? "" : " OUTSIDE");
        inside = inside && in;
    }
    return inside;
}

bool odds_run(int finds, unsigned long seed)
{
    const bb_judge_options options = {.only_kit = true, .depth_m = NAN}; /* fewer, so faster */
    bb_profile *profile = NULL;
    bb_judge *judge = NULL;
    bb_brier one = {0}, three = {0};
    bb_status status = fit_one(seed, &profile);
    if (status == BB_OK)
        status = bb_judge_new(profile, 0, &options, &judge, NULL);
    if (status == BB_OK)
        status = call(judge, finds, 1, seed, &one);
    if (status == BB_OK)
        status = call(judge, finds, 3, seed, &three);
    bb_judge_free(judge);
    bb_profile_free(profile);
    if (status != BB_OK)
        return false;
    const bool first = tell(&one, 1), second = tell(&three, 3);
    return first && second && three.score < one.score;
}
