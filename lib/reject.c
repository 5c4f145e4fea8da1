/* Which numbers to reject: the choice between what the sand shows and what each target shows. */
#include "brineband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "band_search.h"
#include "loss_doubt.h"
#include "predictor.h"
#include "reject.h"
#include "status.h"

#define DOUBTFUL 0.1 /* chance of a loss above the limit that proves nothing any more; judgement */
#define READ_LEAST 3 /* sweeps that heard a piece lost by the model before they count; judgement */
#define DROWNED 0.8  /* share of their numbers, rejected, with which the salt may have drowned it; judgement */
#define LEVEL 0.05 /* of the sounding share's upper limit, one-sided */

/* Silences that the trade-off asks for in turn, beside one setting for each count of bands. */
static const double frontier_quiet[] = {0, 0.5, 0.8, 0.9, 0.95, 0.98, 0.99};
enum { SILENCES = sizeof frontier_quiet / sizeof *frontier_quiet,
       FRONTIER = SILENCES + BB_BANDS_MAX + 1 };
static const double FRONTIER_PATIENCE = 0.3; /* of what the answer's own search is given */

bb_reject_options bb_reject_defaults(void)
{
    return (bb_reject_options){.quiet = 0.95, .max_loss = 0.05, .to_depth_m = 0.10, .at_most = -1};
}

static bool in_range(const bb_predictor *predictor, const bb_reject_options *options)
{
    bool zones = true;
    for (size_t i = 0; options->zones != NULL && i < options->zone_count; i++)
        zones = zones && options->zones[i] >= 0 &&
                (size_t)options->zones[i] < predictor->model->zone_count;
    return zones && options->quiet >= 0 && options->quiet <= 1 && options->max_loss >= 0 &&
           options->max_loss <= 1 && options->patience >= 0 && options->to_depth_m >= 0 &&
           options->to_depth_m <= BB_REJECT_DEEPEST_M && options->at_most <= BB_BANDS_MAX;
}

/* ---------------------------------------------------------------- scores */

/* The rows that bind, packed for the choice. */
static bb_status problem_of(const bb_reject *reject, double patience, double **packed,
                            bb_band_problem *problem)
{
    *packed = calloc(reject->target_count * reject->numbers + 1, sizeof **packed);
    if (*packed == NULL)
        return BB_MEMORY;
    *problem = (bb_band_problem){.numbers = reject->numbers,
                                 .zones = reject->zone_count,
                                 .sand = reject->sand,
                                 .loss = *packed,
                                 .at_most = reject->at_most,
                                 .quiet = reject->quiet,
                                 .max_loss = reject->max_loss,
                                 .patience = patience};
    for (size_t t = 0; t < reject->target_count; t++)
        if (reject->targets[t].binds)
            memcpy(*packed + problem->losses++ * reject->numbers, reject->loss + t * reject->numbers,
                   reject->numbers * sizeof **packed);
    return BB_OK;
}

static double rejected_share(const bb_machine *machine, const bb_bands *bands, const double *row)
{
    double share = 0;
    for (int b = 0; b < bands->count; b++)
        for (int number = bands->band[b].low; number <= bands->band[b].high;
             number += machine->scale_step)
            share += row[bb_scale_index(machine, number)];
    return share;
}

/* Silence that so many sweeps, of which this share sounded, leave no lower. */
static double quiet_at_least(double heard, double swept)
{
    return 1 - (swept > 0 ? bb_binomial_upper(fmax(heard, 0) * swept, swept, LEVEL) : 1);
}

bb_status bb_reject_score_bands(const bb_reject *reject, const bb_machine *machine,
                                const bb_bands *bands, bb_reject_score *score)
{
    *score = (bb_reject_score){.bands = *bands,
                               .silenced = calloc(reject->zone_count + 1, sizeof(double)),
                               .silenced_low = calloc(reject->zone_count + 1, sizeof(double)),
                               .silenced_low_more = calloc(reject->zone_count + 1, sizeof(double)),
                               .lost = calloc(reject->target_count + 1, sizeof(double)),
                               .read_lost = calloc(reject->target_count + 1, sizeof(double)),
                               .worst_silence = 1,
                               .proved = true,
                               .most_silence = 1};
    if (!score->silenced || !score->silenced_low || !score->silenced_low_more || !score->lost ||
        !score->read_lost) {
        bb_reject_score_free(score);
        return BB_MEMORY;
    }
    for (int b = 0; b < bands->count; b++)
        score->numbers += (bands->band[b].high - bands->band[b].low) / machine->scale_step + 1;
    score->fewest = score->numbers;
    for (size_t z = 0; z < reject->zone_count; z++) {
        const double share = reject->zones[z].sounding_share;
        const double heard =
            share - rejected_share(machine, bands, reject->sand + z * reject->numbers);
        const double swept = reject->zones[z].bare_sweeps;
        score->silenced[z] = 1 - heard;
        score->silenced_low[z] = quiet_at_least(heard, swept);
        score->silenced_low_more[z] = quiet_at_least(heard, fmax(swept, BB_BARE_ENOUGH));
        score->worst_silence = fmin(score->worst_silence, score->silenced[z]);
    }
    for (size_t t = 0; t < reject->target_count; t++) {
        const bb_reject_target *target = &reject->targets[t];
        const double share = rejected_share(machine, bands, reject->loss + t * reject->numbers);
        score->lost[t] = target->audible ? share : NAN;
        score->read_lost[t] = target->read > 0 ? share : NAN;
        if (target->binds)
            score->worst_loss = fmax(score->worst_loss, score->lost[t]);
    }
    return BB_OK;
}

void bb_reject_score_free(bb_reject_score *score)
{
    free(score->silenced);
    free(score->silenced_low);
    free(score->silenced_low_more);
    free(score->lost);
    free(score->read_lost);
    *score = (bb_reject_score){0};
}

static bb_bands numbers_of(const bb_machine *machine, const bb_band_choice *choice)
{
    bb_bands bands = {.count = choice->count};
    for (int b = 0; b < choice->count; b++) {
        bands.band[b].low = bb_scale_number(machine, (size_t)choice->band[b].low);
        bands.band[b].high = bb_scale_number(machine, (size_t)choice->band[b].high);
    }
    return bands;
}

static bb_status score_choice(const bb_reject *reject, const bb_machine *machine,
                              const bb_band_choice *choice, bb_reject_score *score)
{
    const bb_bands bands = numbers_of(machine, choice);
    bb_status status = bb_reject_score_bands(reject, machine, &bands, score);
    score->proved = choice->proved;
    score->fewest = choice->fewest;
    score->most_silence = choice->most_silence;
    score->least_loss = choice->least_loss;
    return status;
}

/* ---------------------------------------------------------------- the choice */

static bool bare_only(const bb_predictor *predictor)
{
    double swept = predictor->air_sweeps + predictor->pooled_visits;
    for (size_t i = 0; i < predictor->model->target_count * (predictor->model->zone_count + 1); i++)
        swept += predictor->target_sweeps[i];
    return swept == 0;
}

static bool all_bare(const bb_reject *reject)
{
    bool all = true;
    for (size_t z = 0; z < reject->zone_count; z++)
        all = all && reject->zones[z].bare_sweeps > 0;
    return all;
}

/* Whether silence and losses rest on sweeps made here. */
static bb_proof proof_of(const bb_predictor *predictor, const bb_reject *reject)
{
    bool in_the_kit = false, on_sand = false;
    for (size_t t = 0; t < reject->target_count; t++) {
        const bb_reject_target *row = &reject->targets[t];
        const bool gold = row->target.keep && strcmp(row->target.group, BB_GROUP_SMALL_GOLD) == 0;
        in_the_kit = in_the_kit || (gold && row->index >= 0);
        on_sand = on_sand || (gold && row->swept > 0);
    }
    return predictor->air_sweeps == 0 ? BB_PROOF_NO_AIR
           : predictor->pooled_visits > 0 ? BB_PROOF_POOLED
           : !all_bare(reject)        ? BB_PROOF_NO_BARE
           : !in_the_kit              ? BB_PROOF_NO_SMALL_GOLD
           : !on_sand                 ? BB_PROOF_NOT_ON_SAND
                                      : BB_PROOF_WHOLE;
}

/* A search that ran out of work still gives the best that it met, and says what it proved. */
static const bb_band_choice none_met = {.count = -1};

static bb_status or_best_met(bb_status status, const bb_band_choice *choice)
{
    return status == BB_NOT_CONVERGED && choice->count >= 0 ? BB_OK : status;
}

static bb_status choose_short(bb_reject *reject, const bb_machine *machine,
                              const bb_band_problem *problem)
{
    bb_band_choice gold = none_met, quiet = none_met;
    reject->verdict = BB_VERDICT_SHORT;
    bb_status status = or_best_met(bb_bands_gold_first(problem, &gold), &gold);
    if (status == BB_OK)
        status = score_choice(reject, machine, &gold, &reject->chosen);
    if (status == BB_OK)
        status = or_best_met(bb_bands_quiet_first(problem, &quiet), &quiet);
    if (status == BB_TOO_LITTLE) /* no set of so few bands is quiet at all */
        return bb_reject_score_bands(reject, machine, &reject->chosen.bands, &reject->quiet_first);
    return status == BB_OK ? score_choice(reject, machine, &quiet, &reject->quiet_first) : status;
}

/* A beach that is quiet already needs no band and no proof. Else, where the losses were not learned
 * here, they do not bind and only decide between equals. */
static bb_status choose(bb_reject *reject, const bb_machine *machine, bb_band_problem problem)
{
    bb_band_choice choice = {.proved = true, .most_silence = 1};
    const double max_loss = problem.max_loss;
    bb_status status = bb_bands_score(&problem, &choice);
    if (status != BB_OK)
        return status;
    if (choice.worst_silence < problem.quiet) {
        if (reject->proof != BB_PROOF_WHOLE) {
            reject->verdict = BB_VERDICT_UNPROVED;
            problem.max_loss = reject->proof == BB_PROOF_POOLED ? max_loss : 1;
        }
        choice = none_met;
        status = or_best_met(bb_bands_choose(&problem, &choice), &choice);
        if (status == BB_TOO_LITTLE && reject->proof == BB_PROOF_POOLED) {
            problem.max_loss = 1;
            status = or_best_met(bb_bands_choose(&problem, &choice), &choice);
        }
        problem.max_loss = max_loss;
    }
    reject->undecided = status == BB_NOT_CONVERGED;
    if (status == BB_TOO_LITTLE || reject->undecided)
        return choose_short(reject, machine, &problem);
    return status == BB_OK ? score_choice(reject, machine, &choice, &reject->chosen) : status;
}

static bool in_frontier(const bb_reject *reject, const bb_bands *bands)
{
    for (size_t i = 0; i < reject->frontier_count; i++)
        if (bb_bands_same(&reject->frontier[i].bands, bands))
            return true;
    return false;
}

static bb_status add_to_frontier(bb_reject *reject, const bb_machine *machine,
                                 const bb_band_choice *choice)
{
    const bb_bands bands = numbers_of(machine, choice);
    if (in_frontier(reject, &bands))
        return BB_OK;
    return score_choice(reject, machine, choice, &reject->frontier[reject->frontier_count++]);
}

/* The fewest numbers for each silence in turn, whatever they cost. */
static bb_status add_silences(bb_reject *reject, const bb_machine *machine, bb_band_problem problem)
{
    bb_status status = BB_OK;
    problem.max_loss = 1;
    for (int i = 0; i < SILENCES && status == BB_OK; i++) {
        bb_band_choice choice = none_met;
        problem.quiet = frontier_quiet[i];
        status = or_best_met(bb_bands_choose(&problem, &choice), &choice);
        if (status == BB_TOO_LITTLE || status == BB_NOT_CONVERGED)
            return BB_OK;
        if (status == BB_OK)
            status = add_to_frontier(reject, machine, &choice);
    }
    return status;
}

/* What each further band buys, within the loss allowed. */
static bb_status add_counts(bb_reject *reject, const bb_machine *machine,
                            const bb_band_problem *problem)
{
    bb_band_choice choices[BB_BANDS_MAX + 1];
    for (int k = 0; k <= BB_BANDS_MAX; k++)
        choices[k] = none_met;
    bb_status status = bb_bands_frontier(problem, choices);
    status = status == BB_NOT_CONVERGED ? BB_OK : status;
    for (int k = 0; k <= problem->at_most && status == BB_OK; k++)
        if (choices[k].count >= 0)
            status = add_to_frontier(reject, machine, &choices[k]);
    return status;
}

/* Noisier first, fewer numbers first among equals. */
static int quieter(const void *one, const void *other)
{
    const bb_reject_score *a = one, *b = other;
    const int order = (a->worst_silence > b->worst_silence) - (a->worst_silence < b->worst_silence);
    return order != 0 ? order : (a->numbers > b->numbers) - (a->numbers < b->numbers);
}

static bb_status set_frontier(bb_reject *reject, const bb_machine *machine, bb_band_problem problem)
{
    problem.patience = FRONTIER_PATIENCE * bb_patience_of(problem.patience);
    bb_status status = add_silences(reject, machine, problem);
    if (status == BB_OK)
        status = add_counts(reject, machine, &problem);
    qsort(reject->frontier, reject->frontier_count, sizeof *reject->frontier, quieter);
    return status;
}

static bb_status make_room(const bb_predictor *predictor, const bb_reject_options *options,
                           bb_reject *reject)
{
    const size_t zones = options->zones == NULL ? predictor->model->zone_count : options->zone_count;
    const size_t rows = (predictor->model->target_count + bb_catalogue_count()) * zones;
    reject->numbers = bb_scale_count(&predictor->model->machine);
    reject->zones = calloc(zones + 1, sizeof *reject->zones);
    reject->sand = calloc(zones * reject->numbers + 1, sizeof *reject->sand);
    reject->targets = calloc(rows + 1, sizeof *reject->targets);
    reject->loss = calloc(rows * reject->numbers + 1, sizeof *reject->loss);
    reject->frontier = calloc(FRONTIER, sizeof *reject->frontier);
    return reject->zones && reject->sand && reject->targets && reject->loss && reject->frontier
               ? BB_OK
               : BB_MEMORY;
}

/* What the choice is made from; the catalogue where it binds or is wanted too. */
static bb_status set_problem(const bb_predictor *predictor, const bb_reject_options *options,
                             bool catalogue, bb_reject *reject, double **packed,
                             bb_band_problem *problem)
{
    reject->quiet = options->quiet;
    reject->max_loss = options->max_loss;
    reject->to_depth_m = options->to_depth_m;
    reject->at_most =
        options->at_most < 0 ? predictor->model->machine.reject_bands : options->at_most;
    bb_status status = make_room(predictor, options, reject);
    if (status == BB_OK)
        status = bb_reject_rows(predictor, options, catalogue || options->with_catalogue, reject);
    return status == BB_OK ? problem_of(reject, options->patience, packed, problem) : status;
}

static bb_status set_doubt(const bb_predictor *predictor, bb_reject *reject)
{
    const size_t rows = reject->target_count;
    reject->lost_high = calloc(rows + 1, sizeof *reject->lost_high);
    reject->over_limit = calloc(rows + 1, sizeof *reject->over_limit);
    double most = 0;
    bb_status status = reject->lost_high && reject->over_limit ? BB_OK : BB_MEMORY;
    for (size_t t = 0; t < rows && status == BB_OK; t++) {
        const bb_reject_target *target = &reject->targets[t];
        bb_loss_doubt doubt = {NAN, NAN};
        if (target->audible && target->index >= 0)
            status = bb_loss_doubt_of(predictor, target, &reject->chosen.bands, reject->to_depth_m,
                                      BB_REJECT_STEP_M, reject->max_loss, &doubt);
        reject->lost_high[t] = doubt.high;
        reject->over_limit[t] = doubt.over;
        if (target->binds && doubt.over > most) {
            most = doubt.over;
            reject->doubted = t;
        }
    }
    if (status == BB_OK && most > DOUBTFUL && reject->verdict == BB_VERDICT_OK) {
        reject->verdict = BB_VERDICT_UNPROVED;
        reject->proof = BB_PROOF_DOUBTFUL;
    }
    return status;
}

/* A kept piece that the model calls lost and the sweeps heard: where the bands silence a part of what
 * was read, what they cost is not known. Where they silence nearly all of it the salt may as well have
 * drowned the piece, as the model says. */
static void doubt_the_lost(bb_reject *reject)
{
    double most = READ_LEAST;
    if (reject->verdict != BB_VERDICT_OK)
        return;
    for (size_t t = 0; t < reject->target_count; t++) {
        const bb_reject_target *target = &reject->targets[t];
        const double lost = reject->chosen.read_lost[t];
        if (target->target.keep && target->read >= most && lost > reject->max_loss && lost < DROWNED) {
            most = target->read;
            reject->doubted = t;
            reject->proof = BB_PROOF_READ_THOUGH_LOST;
            reject->verdict = BB_VERDICT_UNPROVED;
        }
    }
}

static bb_status fill(const bb_predictor *predictor, const bb_reject_options *options,
                      bb_reject *reject)
{
    const bb_machine *machine = &predictor->model->machine;
    double *packed = NULL;
    bb_band_problem problem;
    bb_status status = set_problem(predictor, options, true, reject, &packed, &problem);
    if (status != BB_OK)
        return status;
    reject->proof = proof_of(predictor, reject);
    reject->bare_only = bare_only(predictor);
    status = choose(reject, machine, problem);
    if (status == BB_OK)
        status = set_doubt(predictor, reject);
    if (status == BB_OK)
        doubt_the_lost(reject);
    if (status == BB_OK)
        status = set_frontier(reject, machine, problem);
    if (status == BB_OK && options->own != NULL)
        status = bb_reject_score_bands(reject, machine, options->own, &reject->own);
    free(packed);
    return status;
}

bb_status bb_reject_safe_silence(const bb_predictor *predictor, const bb_reject_options *options,
                                 double *silence)
{
    double *packed = NULL;
    bb_band_problem problem;
    bb_band_choice choice = none_met;
    bb_reject *reject = calloc(1, sizeof *reject);
    bb_status status = reject == NULL ? BB_MEMORY
                                      : set_problem(predictor, options, false, reject, &packed, &problem);
    if (status == BB_OK)
        status = or_best_met(bb_bands_choose(&problem, &choice), &choice);
    if (status == BB_TOO_LITTLE || status == BB_NOT_CONVERGED)
        status = or_best_met(bb_bands_gold_first(&problem, &choice), &choice);
    *silence = choice.worst_silence;
    free(packed);
    bb_reject_free(reject);
    return status;
}

bb_status bb_reject_new(const bb_predictor *predictor, const bb_reject_options *options,
                        bb_reject **out, bb_error *error)
{
    if (!in_range(predictor, options))
        return bb_error_say(error, BB_RANGE, "silence and loss are shares from 0 to 1, the depth 0 "
                            "to %.0f cm, the bands at most %d", BB_REJECT_DEEPEST_M * 100, BB_BANDS_MAX);
    bb_reject *reject = calloc(1, sizeof *reject);
    bb_status status = reject == NULL ? BB_MEMORY : fill(predictor, options, reject);
    if (status != BB_OK) {
        bb_reject_free(reject);
        return bb_error_say(error, status, "%s", bb_status_text(status));
    }
    *out = reject;
    return BB_OK;
}

void bb_reject_free(bb_reject *reject)
{
    if (reject == NULL)
        return;
    for (size_t i = 0; i < reject->frontier_count; i++)
        bb_reject_score_free(&reject->frontier[i]);
    bb_reject_score_free(&reject->chosen);
    bb_reject_score_free(&reject->quiet_first);
    bb_reject_score_free(&reject->own);
    free(reject->zones);
    free(reject->sand);
    free(reject->targets);
    free(reject->loss);
    free(reject->frontier);
    free(reject->lost_high);
    free(reject->over_limit);
    free(reject);
}
