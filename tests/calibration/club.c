/* A club of four visits, and what its profile is worth to a fifth one that is short. */
#include "club.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "examine.h"

enum { MEMBERS = 4, SHORT_BARE = 8, SHORT_SWEEPS = 10, VARIANTS = 3 };

static const char *const variant_name[VARIANTS] = {"full", "short alone", "short with club"};

typedef struct {
    scores score[VARIANTS][PLACES];
    double fitted[VARIANTS], clubs;
} club_tally;

/* The first bare sweeps of each zone and every so many-th sweep of a piece. */
static void shorten(simulated_visit *visit)
{
    size_t kept = 0, pieces = 0, piece = 0;
    int bare[TRUTH_ZONES] = {0};
    for (size_t i = 0; i < visit->count; i++)
        pieces += visit->sweep[i].place.target != BB_TARGET_SAND;
    const size_t every = pieces / SHORT_SWEEPS;
    for (size_t i = 0; i < visit->count; i++) {
        const truth_place *place = &visit->sweep[i].place;
        const bool keep = place->target == BB_TARGET_SAND ? bare[place->zone]++ < SHORT_BARE
                                                          : piece++ % every == every / 2;
        if (keep)
            visit->sweep[kept++] = visit->sweep[i];
    }
    visit->count = kept;
}

static bool fit(const simulated_visit *simulated, const bb_profile *prior, bb_visit *visit,
                bb_profile **profile)
{
    bb_error error = {0};
    bool left_out[SWEEPS_MAX];
    bb_status status = simulated_visit_read(simulated, visit, &error);
    if (status == BB_OK)
        status = bb_fit_leaving_out(visit, prior, left_out, profile, &error);
    if (status != BB_OK) {
        char text[3 * BB_TEXT_BYTES] = "";
        (void)bb_error_text(&error, text, sizeof text);
        (void)fprintf(stderr, "club %lu: %s\n", simulated->truth.of.seed, text);
    }
    return status == BB_OK;
}

static bool score(const truth *t, const bb_visit *visit, const bb_profile *profile,
                  scores sums[PLACES])
{
    bb_predictor *predictor = NULL;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    bb_status status = random == NULL ? BB_MEMORY : bb_predictor_new(profile, &predictor, NULL);
    if (status == BB_OK) {
        gsl_rng_set(random, t->of.seed + 0xf4e5);
        status = examine(t, visit, &predictor, 1, random, sums);
    }
    bb_predictor_free(predictor);
    gsl_rng_free(random);
    return status == BB_OK;
}

/* club stays NULL where no member's visit could be fitted. */
static bool make_club(unsigned long seed, bb_profile **club)
{
    static simulated_visit simulated;
    const bb_merge_options options = {0};
    bb_merge *merge = NULL;
    if (bb_merge_begin(&options, &merge, NULL) != BB_OK)
        return false;
    for (unsigned long i = 0; i < MEMBERS; i++) {
        const simulation of = {.seed = seed};
        bb_visit visit = {0};
        bb_profile *profile = NULL;
        bb_merge_fate fate;
        bb_error error = {0};
        if (visit_simulate_day(&of, i + 1, &simulated) && fit(&simulated, NULL, &visit, &profile) &&
            bb_merge_add(merge, profile, "member", &fate, &error) != BB_OK)
            (void)fprintf(stderr, "%s\n", error.accepted);
        bb_profile_free(profile);
        bb_visit_free(&visit);
    }
    bb_status status = bb_merge_end(merge, club, NULL, NULL, NULL);
    bb_merge_free(merge);
    return status == BB_OK || status == BB_TOO_LITTLE;
}

static bool run_club(unsigned long seed, club_tally *tally)
{
    static simulated_visit full, brief;
    const simulation of = {.seed = seed};
    bb_visit whole = {0}, visit[2];
    bb_profile *club = NULL, *profile[VARIANTS] = {NULL};
    memset(visit, 0, sizeof visit);
    if (!visit_simulate_day(&of, MEMBERS + 1, &full) || !make_club(seed, &club))
        return false;
    brief = full;
    shorten(&brief);
    bool done = club != NULL && fit(&full, NULL, &whole, &profile[0]) &&
                fit(&brief, NULL, &visit[0], &profile[1]) &&
                fit(&brief, club, &visit[1], &profile[2]);
    scores scored[VARIANTS][PLACES];
    memset(scored, 0, sizeof scored);
    for (int i = 0; i < VARIANTS && done; i++)
        done = score(&full.truth, &whole, profile[i], scored[i]);
    for (int i = 0; i < VARIANTS && done; i++) {
        for (int place = 0; place < PLACES; place++)
            score_merge(&tally->score[i][place], &scored[i][place]);
        tally->fitted[i]++;
    }
    tally->clubs++;
    for (int i = 0; i < VARIANTS; i++)
        bb_profile_free(profile[i]);
    bb_profile_free(club);
    bb_visit_free(&whole);
    bb_visit_free(&visit[0]);
    bb_visit_free(&visit[1]);
    return true;
}

bool clubs_run(int clubs, unsigned long first_seed)
{
    static club_tally tally;
    for (int i = 0; i < clubs; i++)
        if (!run_club(first_seed + (unsigned long)i, &tally))
            return false;
    for (int variant = 0; variant < VARIANTS; variant++) {
        scores heard = {0};
        printf("%-16s %3.0f of %3.0f", variant_name[variant], tally.fitted[variant], tally.clubs);
        for (int place = 0; place < PLACES; place++) {
            const scores *s = &tally.score[variant][place];
            printf("  %s %.3f (90 %%: %.1f)", place_name[place], s->log_score / s->points,
                   100 * s->covered[LEVELS - 1] / s->points);
            if (place != MASKED)
                score_merge(&heard, s);
        }
        printf("  heard %.3f\n", heard.log_score / heard.points);
    }
    return true;
}
