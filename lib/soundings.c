/* All that may sound in a zone: each candidate at each depth where it is heard. */
#include "soundings.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "copy.h"

enum { SEED = 20260509 };

#define ALIKE 0.15       /* standard deviations of one sweep */
#define SHARED_REACH 3.0 /* of the shared error */

/* Draws of all parameters about their estimates, always the same ones; parameters x BB_DRAWS. */
static bb_status draw_parameters(const bb_predictor *predictor, double *draws)
{
    const size_t p = predictor->parameter_count;
    gsl_matrix *root = gsl_matrix_alloc(p, p);
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    bb_status status = root == NULL || rng == NULL ? BB_MEMORY : BB_OK;
    if (status == BB_OK) {
        gsl_rng_set(rng, SEED);
        memcpy(root->data, predictor->covariance, p * p * sizeof *root->data);
        status = gsl_linalg_cholesky_decomp1(root) == 0 ? BB_OK : BB_RANK;
    }
    for (size_t d = 0; d < BB_DRAWS && status == BB_OK; d++)
        for (size_t j = 0; j < p; j++) {
            const double z = gsl_ran_ugaussian(rng);
            for (size_t i = j; i < p; i++)
                draws[i * BB_DRAWS + d] += gsl_matrix_get(root, i, j) * z;
        }
    gsl_matrix_free(root);
    gsl_rng_free(rng);
    return status;
}

static void set_shifts(const bb_predictor *predictor, const double *draws,
                       const bb_outlook *outlook, bb_sounding *sounding)
{
    const bb_gradient *common = &outlook->common;
    const double drawn =
        bb_gradient_variance(predictor->covariance, predictor->parameter_count, common);
    sounding->left = sqrt(fmax(1 - drawn, 0));
    memset(sounding->shift, 0, sizeof sounding->shift);
    for (int i = 0; i < common->count; i++)
        for (size_t d = 0; d < BB_DRAWS && common->column[i] >= 0; d++)
            sounding->shift[d] +=
                common->value[i] * draws[(size_t)common->column[i] * BB_DRAWS + d];
}

/* Whether one sweep could hardly tell two nodes apart, whatever the shared error is. */
static bool alike(const bb_outlook_node *a, const bb_outlook_node *b)
{
    return fabs(a->number - b->number) + SHARED_REACH * fabs(a->common - b->common) <
           ALIKE * sqrt(a->own + a->rest);
}

/* Two nodes as one with the same mean and variance. */
static bb_outlook_node merged(const bb_outlook_node *a, const bb_outlook_node *b)
{
    const double weight = a->weight + b->weight, one = a->weight / weight, other = 1 - one;
    const double apart = a->number - b->number, turned = a->common - b->common;
    return (bb_outlook_node){
        .weight = weight,
        .number = one * a->number + other * b->number,
        .own = one * a->own + other * b->own + one * other * apart * apart,
        .common = one * a->common + other * b->common,
        .rest = one * a->rest + other * b->rest + one * other * turned * turned,
    };
}

/* Neighbours that are alike become one node. */
static void merge_nodes(bb_outlook *outlook)
{
    int last = 0;
    for (int i = 1; i < outlook->count; i++) {
        bb_outlook_node *node = &outlook->node[last];
        if (alike(node, &outlook->node[i]))
            *node = merged(node, &outlook->node[i]);
        else
            outlook->node[++last] = outlook->node[i];
    }
    outlook->count = last + 1;
}

static bb_status add(bb_soundings *soundings, const bb_outlook *outlook, const bb_sounding *sounding)
{
    const size_t count = (size_t)outlook->count;
    bb_sounding *at =
        bb_grown(soundings->at, soundings->count + 1, &soundings->room, sizeof *soundings->at);
    if (at == NULL)
        return BB_MEMORY;
    soundings->at = at;
    bb_outlook_node *nodes = bb_grown(soundings->nodes, soundings->node_count + count,
                                      &soundings->node_room, sizeof *soundings->nodes);
    if (nodes == NULL)
        return BB_MEMORY;
    soundings->nodes = nodes;
    memcpy(nodes + soundings->node_count, outlook->node, count * sizeof *nodes);
    at[soundings->count] = *sounding;
    at[soundings->count].first = soundings->node_count;
    at[soundings->count].count = outlook->count;
    soundings->count++;
    soundings->node_count += count;
    return BB_OK;
}

/* A sounding that is alike in every node takes another one in, and its weight. */
static bool take_in(bb_soundings *soundings, bb_sounding *into, const bb_outlook *outlook,
                    const bb_sounding *sounding)
{
    bb_outlook_node *nodes = soundings->nodes + into->first;
    if (into->count != outlook->count)
        return false;
    for (int i = 0; i < into->count; i++)
        if (!alike(&nodes[i], &outlook->node[i]))
            return false;
    const double weight = into->weight + sounding->weight, other = sounding->weight / weight;
    for (int i = 0; i < into->count; i++) {
        bb_outlook_node mine = nodes[i], new = outlook->node[i];
        mine.weight *= 1 - other;
        new.weight *= other;
        nodes[i] = merged(&mine, &new);
    }
    for (size_t d = 0; d < BB_DRAWS; d++)
        into->shift[d] += other * (sounding->shift[d] - into->shift[d]);
    into->left += other * (sounding->left - into->left);
    into->weight = weight;
    return true;
}

static bb_status add_or_merge(bb_soundings *soundings, size_t first, const bb_outlook *outlook,
                              const bb_sounding *sounding)
{
    for (size_t i = first; i < soundings->count; i++)
        if (take_in(soundings, &soundings->at[i], outlook, sounding))
            return BB_OK;
    return add(soundings, outlook, sounding);
}

bb_status bb_candidate_pieces(const bb_predictor *predictor, const bb_candidate *candidate,
                              bb_pieces *pieces)
{
    return candidate->known >= 0
               ? bb_pieces_known(predictor, candidate->known, pieces)
               : bb_pieces_other(predictor, &candidate->target, candidate->sd_log, pieces);
}

/* Where and as what one candidate may be heard: its weights still sum to what share is heard. */
static bb_status add_candidate(const bb_predictor *predictor, const bb_candidate *candidate,
                               size_t index, int zone, double depth_m, const double *draws,
                               bb_soundings *soundings)
{
    bb_pieces pieces;
    bb_status status = bb_candidate_pieces(predictor, candidate, &pieces);
    const int depths = isnan(depth_m) ? BB_DEPTHS : 1;
    const size_t first = soundings->count;
    for (int d = 0; d < depths && status == BB_OK; d++) {
        bb_sounding sounding = {.candidate = index};
        bb_point point;
        status = bb_outlook_place(predictor, candidate->known, zone,
                                  isnan(depth_m) ? d * BB_DEPTH_STEP_M : depth_m, NAN, &point);
        for (int k = 0; k < pieces.count && status == BB_OK; k++) {
            bb_outlook outlook;
            status = bb_outlook_at(predictor, &point, &pieces.at[k].subject, &outlook);
            if (status != BB_OK || outlook.masked)
                continue;
            merge_nodes(&outlook);
            sounding.weight = pieces.at[k].weight;
            set_shifts(predictor, draws, &outlook, &sounding);
            status = add_or_merge(soundings, first, &outlook, &sounding);
        }
    }
    return status;
}

/* Weights that sum to one in each group: evenly over the candidates of it that can be heard, and
 * for each evenly over the depths where it is. */
static void share_evenly(const bb_candidates *candidates, bb_soundings *soundings)
{
    double heard[BB_CLASSES_MAX] = {0};
    for (size_t i = 0; i < soundings->count;) {
        const bb_candidate *of = &candidates->at[soundings->at[i].candidate];
        size_t end = i;
        double sum = 0;
        while (end < soundings->count && soundings->at[end].candidate == soundings->at[i].candidate)
            sum += soundings->at[end++].weight;
        for (; i < end; i++)
            soundings->at[i].weight *= of->share / sum;
        heard[of->group] += of->share;
    }
    for (size_t i = 0; i < soundings->count; i++) {
        const size_t group = candidates->at[soundings->at[i].candidate].group;
        soundings->at[i].weight /= heard[group];
        soundings->heard[group] = true;
    }
}

bb_status bb_soundings_new(const bb_predictor *predictor, const bb_candidates *candidates, int zone,
                           double depth_m, bb_soundings *soundings)
{
    memset(soundings, 0, sizeof *soundings);
    double *draws = calloc(predictor->parameter_count * BB_DRAWS, sizeof *draws);
    bb_status status = draws == NULL ? BB_MEMORY : draw_parameters(predictor, draws);
    for (size_t i = 0; i < candidates->count && status == BB_OK; i++)
        status = add_candidate(predictor, &candidates->at[i], i, zone, depth_m, draws, soundings);
    free(draws);
    if (status == BB_OK)
        share_evenly(candidates, soundings);
    else
        bb_soundings_free(soundings);
    return status;
}

void bb_soundings_free(bb_soundings *soundings)
{
    free(soundings->at);
    free(soundings->nodes);
    memset(soundings, 0, sizeof *soundings);
}
