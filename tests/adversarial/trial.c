/* One misleading visit fitted and proved, and the counts over many. */
#include "trial.h"

#include <math.h>
#include <stdio.h>
#include <time.h>

#include "adversary.h"

static double now(void)
{
    struct timespec at;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &at);
    return (double)at.tv_sec + 1e-9 * (double)at.tv_nsec;
}

trial trial_make(size_t family, unsigned long seed)
{
    static scene drawn; /* large */
    trial made = {.found = {.failure = PROOF_HOLDS}};
    bb_visit visit = {0};
    bb_profile *profile = NULL;
    scene_draw(&drawn, family, seed);
    made.status = scene_read(&drawn, &visit, &made.error);
    if (made.status == BB_OK) {
        const double start = now();
        made.status = bb_fit(&visit, NULL, &profile, &made.error);
        made.seconds = now() - start;
    }
    if (made.status == BB_OK) {
        bb_status proved = prove_profile(&visit, NULL, profile, seed, &made.found);
        if (proved != BB_OK)
            made.found = (proof){.failure = PROOF_NUMBERS, .figure = proved};
    } else if (!refusal_teaches(made.status, &made.error)) {
        made.found.failure = PROOF_SILENT;
    }
    bb_profile_free(profile);
    bb_visit_free(&visit);
    return made;
}

void tally_add(tally *to, const trial *made)
{
    to->visits++;
    to->ended[made->status]++;
    to->failed[made->found.failure]++;
    to->slowest = fmax(to->slowest, made->seconds);
    to->seconds += made->seconds;
}

unsigned long tallies_print(const tally *tallies)
{
    unsigned long visits = 0, fitted = 0, failed = 0;
    (void)printf("%-22s %7s %7s %7s %8s %7s %7s %9s %9s\n", "family", "visits", "fitted", "little",
                 "unsettled", "other", "failed", "slowest", "mean");
    for (size_t f = 0; f < adversary_count; f++) {
        const tally *of = &tallies[f];
        const unsigned long unsettled = of->ended[BB_NOT_CONVERGED] + of->ended[BB_RANK];
        const unsigned long lost = of->visits - of->failed[PROOF_HOLDS];
        if (of->visits > 0)
            (void)printf("%-22s %7lu %7lu %7lu %8lu %7lu %7lu %6.0f ms %6.1f ms\n", adversaries[f].name,
                         of->visits, of->ended[BB_OK], of->ended[BB_TOO_LITTLE], unsettled,
                         of->visits - of->ended[BB_OK] - of->ended[BB_TOO_LITTLE] - unsettled, lost,
                         1000 * of->slowest, 1000 * of->seconds / (double)of->visits);
        visits += of->visits;
        fitted += of->ended[BB_OK];
        failed += lost;
    }
    (void)printf("%lu visits, %lu fitted, %lu failed:", visits, fitted, failed);
    for (int failure = PROOF_HOLDS + 1; failure < PROOF_COUNT; failure++) {
        unsigned long count = 0;
        for (size_t f = 0; f < adversary_count; f++)
            count += tallies[f].failed[failure];
        (void)printf("%s %lu %s", failure == PROOF_HOLDS + 1 ? "" : ",", count, proof_words[failure]);
    }
    (void)printf("\n");
    return failed;
}
