/* Invents what a learner may meet on this beach: a thing, its depth and its readings. */
#include "judge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>

#include "draw.h"
#include "repeats.h"

struct bb_practice {
    const bb_judge *judge;
    gsl_rng *rng;
};

bb_status bb_practice_new(const bb_judge *judge, unsigned long seed, bb_practice **out)
{
    bb_practice *practice = calloc(1, sizeof *practice);
    if (practice == NULL)
        return BB_MEMORY;
    practice->judge = judge;
    practice->rng = gsl_rng_alloc(gsl_rng_mt19937);
    if (practice->rng == NULL) {
        free(practice);
        return BB_MEMORY;
    }
    gsl_rng_set(practice->rng, seed);
    *out = practice;
    return BB_OK;
}

void bb_practice_free(bb_practice *practice)
{
    if (practice == NULL)
        return;
    gsl_rng_free(practice->rng);
    free(practice);
}

/* The whole number that is shown for a value: the nearest of the scale. */
static int shown(const bb_practice *practice, double value)
{
    const bb_machine *machine = &practice->judge->predictor->model->machine;
    const double steps = round((value - machine->scale_low) / machine->scale_step);
    const double last = (double)practice->judge->numbers - 1;
    return bb_scale_number(machine, (size_t)fmin(fmax(steps, 0), last));
}

static const bb_candidate *pick_candidate(const bb_practice *practice, size_t class)
{
    const bb_judge *judge = practice->judge;
    const bb_candidate *last = NULL;
    double left = gsl_rng_uniform(practice->rng);
    for (size_t i = 0; i < judge->soundings.count; i++) {
        const bb_sounding *at = &judge->soundings.at[i];
        if (judge->candidates.at[at->candidate].group != class)
            continue;
        last = &judge->candidates.at[at->candidate];
        if (left < at->weight)
            break;
        left -= at->weight;
    }
    return last;
}

/* One piece of the candidate's kind at a depth where it is heard. */
static bb_status lay(const bb_practice *practice, const bb_candidate *candidate,
                     bb_outlook *outlook, double *depth_m)
{
    const bb_judge *judge = practice->judge;
    bb_pieces pieces;
    bb_status status = bb_candidate_pieces(judge->predictor, candidate, &pieces);
    do {
        const size_t k = bb_draw_index(practice->rng, &pieces.at[0].weight, sizeof *pieces.at,
                                       (size_t)pieces.count);
        *depth_m = isnan(judge->depth_m)
                       ? BB_DEPTH_STEP_M * (double)gsl_rng_uniform_int(practice->rng, BB_DEPTHS)
                       : judge->depth_m;
        bb_point point;
        if (status == BB_OK)
            status = bb_outlook_place(judge->predictor, candidate->known, judge->zone, *depth_m, NAN,
                                      &point);
        if (status == BB_OK)
            status = bb_outlook_at(judge->predictor, &point, &pieces.at[k].subject, outlook);
    } while (status == BB_OK && outlook->masked);
    return status;
}

static int read_piece(const bb_practice *practice, const bb_outlook *outlook, double error)
{
    const bb_outlook_node *node =
        &outlook->node[bb_draw_index(practice->rng, &outlook->node->weight, sizeof *outlook->node,
                                     (size_t)outlook->count)];
    return shown(practice, node->number + node->common * error +
                               gsl_ran_gaussian(practice->rng, sqrt(node->own + node->rest)));
}

/* outlook: NULL for bare sand, whose readings come from an urn (lib/posterior.c). */
static void read_all(bb_practice *practice, const bb_outlook *outlook, bb_round *round)
{
    const bb_judge *judge = practice->judge;
    const bb_machine *machine = &judge->predictor->model->machine;
    const double *sand = judge->chance + judge->sand * judge->numbers;
    const double error = gsl_ran_ugaussian(practice->rng); /* shared by all readings */
    for (size_t i = 0; i < round->reading_count; i++) {
        const double again = outlook == NULL ? (double)i / (judge->sand_worth + (double)i) : 0;
        int *reading = &round->readings[i];
        if (gsl_rng_uniform(practice->rng) < again)
            *reading = round->readings[gsl_rng_uniform_int(practice->rng, i)];
        else if (gsl_rng_uniform(practice->rng) < BB_OUTLIER_SHARE)
            *reading = bb_scale_number(machine, gsl_rng_uniform_int(practice->rng, judge->numbers));
        else if (outlook != NULL)
            *reading = read_piece(practice, outlook, error);
        else
            *reading = bb_scale_number(machine, bb_draw_index(practice->rng, sand, sizeof *sand,
                                                              judge->numbers));
    }
}

bb_status bb_practice_draw(bb_practice *practice, size_t readings, bb_round *round)
{
    const bb_judge *judge = practice->judge;
    if (readings < 1 || readings > BB_REPEATS_MAX)
        return BB_RANGE;
    const size_t class = bb_draw_index(practice->rng, judge->rates.mean, sizeof *judge->rates.mean,
                                       judge->classes);
    *round = (bb_round){.depth_m = NAN, .reading_count = readings};
    memcpy(round->group, judge->candidates.groups[class].name, sizeof round->group);
    if (class == judge->sand) {
        read_all(practice, NULL, round);
        return BB_OK;
    }
    bb_outlook outlook;
    const bb_candidate *candidate = pick_candidate(practice, class);
    if (candidate == NULL) /* no group is drawn of which nothing sounds */
        return BB_RANGE;
    bb_status status = lay(practice, candidate, &outlook, &round->depth_m);
    memcpy(round->target, candidate->target.name, sizeof round->target);
    round->keep = judge->candidates.groups[class].keep;
    if (status == BB_OK)
        read_all(practice, &outlook, round);
    return status;
}

void bb_practice_count(const bb_round *round, bool dug, bb_practice_score *score)
{
    int *const counts[2][2] = {{&score->left_other, &score->left_keep},
                               {&score->dug_other, &score->dug_keep}};
    ++*counts[dug][round->keep];
}
