/* The probability of each class given what was read, with its range over draws of the fit. */
#include "posterior.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_sort.h>

enum { SEED = 20260510 };

#define NEGLIGIBLE 1e-5 /* share of the whole: a sounding that adds less is not drawn */
#define RANGE_TAIL 0.05
#define NEVER 1e-9 /* chance of a reading that is taken for an outlier */

/* Chances of what was read: of each sounding, of each class, and of each class in each draw. */
typedef struct {
    const bb_judge *judge;
    const bb_question *question;
    double *sounding, *class, *drawn;
} chances;

static double heard(const chances *of, const bb_sounding *sounding)
{
    const bool ferrous = of->judge->candidates.at[sounding->candidate].ferrous;
    return sounding->weight * (ferrous ? of->question->if_ferrous : of->question->if_not);
}

static void step_through(const chances *of, const bb_sounding *sounding, bb_repeats_chances *steps)
{
    bb_repeats_chances_set(&of->judge->predictor->model->machine,
                           of->judge->soundings.nodes + sounding->first, sounding->count,
                           &of->question->repeats, steps);
}

/* Alone, each reading is either one that the piece may show or an outlier. */
static double of_sounding(const chances *of, const bb_sounding *sounding)
{
    const bb_machine *machine = &of->judge->predictor->model->machine;
    const bb_repeats *repeats = &of->question->repeats;
    const double never = bb_with_outliers(machine, NEVER);
    double outliers = 1;
    for (size_t r = 0; r < repeats->count; r++) {
        const double alone =
            bb_reading_chance(machine, of->judge->soundings.nodes + sounding->first,
                              sounding->count, repeats->numbers[r]);
        if (repeats->count == 1 && repeats->counts[0] == 1)
            return alone;
        if (alone > never) {
            bb_repeats_chances steps;
            step_through(of, sounding, &steps);
            return bb_repeats_mean(&steps, 0, 1);
        }
        outliers *= pow(alone, repeats->counts[r]);
    }
    return outliers;
}

/* Readings of the sand come from a distribution that is itself known only as well as so many
 * readings tell: each counts as one more of them for the next (Blackwell and MacQueen 1973). */
static double of_sand(const chances *of)
{
    const bb_judge *judge = of->judge;
    const bb_machine *machine = &judge->predictor->model->machine;
    const bb_repeats *repeats = &of->question->repeats;
    const double *p = judge->chance + judge->sand * judge->numbers;
    double product = of->question->if_not, before = 0;
    for (size_t r = 0; r < repeats->count; r++) {
        const double known =
            bb_with_outliers(machine, p[bb_scale_index(machine, repeats->numbers[r])]);
        for (int same = 0; same < repeats->counts[r]; same++, before++)
            product *= (judge->sand_worth * known + same) / (judge->sand_worth + before);
    }
    return product;
}

static void set_chances(const chances *of)
{
    const bb_judge *judge = of->judge;
    for (size_t i = 0; i < judge->soundings.count; i++) {
        const bb_sounding *sounding = &judge->soundings.at[i];
        of->sounding[i] = heard(of, sounding) * of_sounding(of, sounding);
        of->class[judge->candidates.at[sounding->candidate].group] += of->sounding[i];
    }
    of->class[judge->sand] = of_sand(of);
}

/* The chance of the sand at a number is known about as well as a count of the readings that its
 * distribution is worth near there, within a fiftieth of the scale. */
static void draw_sand(const chances *of, gsl_rng *rng)
{
    const bb_judge *judge = of->judge;
    const bb_repeats *repeats = &of->question->repeats;
    const double *p = judge->chance + judge->sand * judge->numbers;
    const size_t near = judge->numbers / 50 + 1;
    double *row = of->drawn + judge->sand * BB_DRAWS;
    for (size_t d = 0; d < BB_DRAWS; d++)
        row[d] = of->class[judge->sand];
    for (size_t r = 0; r < repeats->count; r++) {
        const size_t at = bb_scale_index(&judge->predictor->model->machine, repeats->numbers[r]);
        double known = 0.5;
        for (size_t n = at > near ? at - near : 0; n <= at + near && n < judge->numbers; n++)
            known += judge->sand_worth * p[n];
        for (size_t d = 0; d < BB_DRAWS; d++)
            row[d] *= pow(gsl_ran_gamma(rng, known, 1 / known), repeats->counts[r]);
    }
}

static void draw_soundings(const chances *of)
{
    const bb_judge *judge = of->judge;
    double all = 0;
    for (size_t c = 0; c < judge->classes; c++)
        all += judge->rates.mean[c] * of->class[c];
    for (size_t i = 0; i < judge->soundings.count; i++) {
        const bb_sounding *sounding = &judge->soundings.at[i];
        const size_t class = judge->candidates.at[sounding->candidate].group;
        double *row = of->drawn + class * BB_DRAWS;
        if (judge->rates.mean[class] * of->sounding[i] < NEGLIGIBLE * all) {
            for (size_t d = 0; d < BB_DRAWS; d++)
                row[d] += of->sounding[i];
            continue;
        }
        bb_repeats_chances steps;
        step_through(of, sounding, &steps);
        for (size_t d = 0; d < BB_DRAWS; d++)
            row[d] += heard(of, sounding) *
                      bb_repeats_mean(&steps, sounding->shift[d], sounding->left);
    }
}

/* ---------------------------------------------------------------- probabilities */

static void set_probabilities(const chances *of, gsl_rng *rng, bb_posterior *posterior)
{
    const bb_judge *judge = of->judge;
    double rates[BB_CLASSES_MAX], total = 0, weights = 0;
    for (size_t c = 0; c < judge->classes; c++)
        total += posterior->probability[c] = judge->rates.mean[c] * of->class[c];
    for (size_t c = 0; c < judge->classes; c++)
        posterior->probability[c] /= total;
    for (size_t d = 0; d < BB_DRAWS; d++) {
        double sum = 0;
        bb_base_rates_draw(&judge->rates, rng, rates);
        for (size_t c = 0; c < judge->classes; c++)
            sum += posterior->drawn[c * BB_DRAWS + d] = rates[c] * of->drawn[c * BB_DRAWS + d];
        for (size_t c = 0; c < judge->classes; c++)
            posterior->drawn[c * BB_DRAWS + d] /= sum;
        posterior->weight[d] = sum;
        weights += sum;
    }
    for (size_t d = 0; d < BB_DRAWS; d++)
        posterior->weight[d] /= weights;
}

static bool make_room(const bb_judge *judge, chances *of)
{
    of->sounding = calloc(judge->soundings.count + 1, sizeof *of->sounding);
    of->class = calloc(judge->classes, sizeof *of->class);
    of->drawn = calloc(judge->classes * BB_DRAWS, sizeof *of->drawn);
    return of->sounding && of->class && of->drawn;
}

static void release(chances *of)
{
    free(of->sounding);
    free(of->class);
    free(of->drawn);
}

bb_status bb_posterior_new(const bb_judge *judge, const bb_question *question,
                           bb_posterior *posterior)
{
    chances of = {.judge = judge, .question = question};
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    posterior->classes = judge->classes;
    posterior->probability = calloc(judge->classes, sizeof *posterior->probability);
    posterior->drawn = calloc(judge->classes * BB_DRAWS, sizeof *posterior->drawn);
    const bool room =
        make_room(judge, &of) && rng && posterior->probability && posterior->drawn;
    if (room) {
        gsl_rng_set(rng, SEED);
        set_chances(&of);
        draw_soundings(&of);
        draw_sand(&of, rng);
        set_probabilities(&of, rng, posterior);
    } else {
        bb_posterior_free(posterior);
    }
    release(&of);
    gsl_rng_free(rng);
    return room ? BB_OK : BB_MEMORY;
}

void bb_posterior_free(bb_posterior *posterior)
{
    free(posterior->probability);
    free(posterior->drawn);
    posterior->probability = posterior->drawn = NULL;
}

bb_odds bb_posterior_odds(const bb_posterior *posterior, const bool *marked)
{
    bb_odds odds = {0, 0, 0};
    double drawn[BB_DRAWS] = {0}, below = 0;
    size_t order[BB_DRAWS];
    for (size_t c = 0; c < posterior->classes; c++) {
        if (!marked[c])
            continue;
        odds.probability += posterior->probability[c];
        for (size_t d = 0; d < BB_DRAWS; d++)
            drawn[d] += posterior->drawn[c * BB_DRAWS + d];
    }
    gsl_sort_index(order, drawn, 1, BB_DRAWS);
    odds.low = odds.high = drawn[order[0]];
    for (size_t i = 0; i < BB_DRAWS; i++) {
        if (below <= RANGE_TAIL)
            odds.low = drawn[order[i]];
        if (below <= 1 - RANGE_TAIL)
            odds.high = drawn[order[i]];
        below += posterior->weight[order[i]];
    }
    odds.probability = fmin(odds.probability, 1);
    odds.low = fmin(odds.low, odds.probability);
    odds.high = fmin(fmax(odds.high, odds.probability), 1);
    return odds;
}

bb_status bb_question_chance(const bb_judge *judge, const bb_question *question,
                             const bool *marked, double *chance, double *share)
{
    chances of = {.judge = judge, .question = question};
    const bool room = make_room(judge, &of);
    if (room) {
        set_chances(&of);
        *chance = *share = 0;
        for (size_t c = 0; c < judge->classes; c++) {
            *chance += judge->rates.mean[c] * of.class[c];
            *share += marked[c] ? judge->rates.mean[c] * of.class[c] : 0;
        }
        *share = fmin(*share / *chance, 1);
    }
    release(&of);
    return room ? BB_OK : BB_MEMORY;
}
