/* What lies under a number: odds over the groups, and whether to dig. */
#include "judge.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "groups.h"
#include "posterior.h"
#include "sand_number.h"
#include "status.h"

#define IRON_SOUND 0.8     /* share of ferrous pieces that are heard as iron too: judgement, no source */
#define IRON_SOUND_NOT 0.2 /* of anything else, iron beside it or an edge: judgement, no source */
#define DIG_ABOVE 0.5      /* of what is worth keeping */
#define BEYOND_DOUBT 0.95  /* of iron, at the low end of its range */
#define STRANGE_BELOW 0.01 /* chance of a number at least as rare, under every class */
#define SEVERAL_BELOW 0.05 /* chance as one thing, in shares of that as several */
#define ORDNANCE_ABOVE 0.1 /* of iron */

static const char *const advice_words[] = {[BB_ADVICE_DIG] = "dig",
                                           [BB_ADVICE_WORTH_A_DIG] = "worth a dig",
                                           [BB_ADVICE_LIKELY_NOT] = "likely not"};

const char *bb_advice_text(bb_advice advice)
{
    return advice_words[advice];
}

/* ---------------------------------------------------------------- making */

static bb_status set_chances(bb_judge *judge, int zone)
{
    const bb_machine *machine = &judge->predictor->model->machine;
    bb_prediction sand;
    bb_status status = bb_predict_sand(judge->predictor, zone, &sand, NULL);
    judge->chance = calloc(judge->classes * judge->numbers, sizeof *judge->chance);
    if (status != BB_OK || judge->chance == NULL)
        return status != BB_OK ? status : BB_MEMORY;
    memcpy(judge->chance + judge->sand * judge->numbers, sand.p, judge->numbers * sizeof *sand.p);
    for (size_t i = 0; i < judge->soundings.count; i++) {
        const bb_sounding *sounding = &judge->soundings.at[i];
        const bb_outlook_node *node = judge->soundings.nodes + sounding->first;
        double *row = judge->chance +
                      judge->candidates.at[sounding->candidate].group * judge->numbers;
        for (int n = 0; n < sounding->count; n++)
            bb_normal_add(machine, node[n].number, bb_outlook_node_sd(&node[n]),
                          sounding->weight * node[n].weight, row);
    }
    return BB_OK;
}

static bb_status fill(bb_judge *judge, const bb_profile *profile, int zone,
                      const bb_judge_options *options, bb_error *error)
{
    bb_status status = bb_predictor_new(profile, &judge->predictor, error);
    judge->zone = zone;
    judge->depth_m = options->depth_m;
    if (status == BB_OK)
        status = bb_candidates_new(profile, options->only_kit, &judge->candidates);
    if (status == BB_OK)
        status = bb_soundings_new(judge->predictor, &judge->candidates, zone, options->depth_m,
                                  &judge->soundings);
    if (status != BB_OK)
        return status;
    judge->classes = judge->candidates.group_count;
    judge->sand = judge->classes - 1;
    judge->numbers = bb_scale_count(&profile->machine);
    judge->sand_worth = bb_sand_worth(&judge->predictor->bare[zone],
                                      bb_sand_modelled(judge->predictor, zone));
    judge->soundings.heard[judge->sand] = true;
    bb_base_rates_set(profile, zone, &judge->candidates, judge->soundings.heard, &judge->rates);
    return set_chances(judge, zone);
}

bb_status bb_judge_new(const bb_profile *profile, int zone, const bb_judge_options *options,
                       bb_judge **out, bb_error *error)
{
    if (zone < 0 || zone >= (int)profile->zone_count || options->depth_m < 0 ||
        options->depth_m > 2)
        return bb_error_say(error, BB_RANGE, "%s", bb_status_text(BB_RANGE));
    bb_judge *judge = calloc(1, sizeof *judge);
    bb_status status = judge == NULL ? BB_MEMORY : fill(judge, profile, zone, options, error);
    if (status != BB_OK) {
        bb_judge_free(judge);
        return bb_error_say(error, status, "%s", bb_status_text(status));
    }
    *out = judge;
    return BB_OK;
}

void bb_judge_free(bb_judge *judge)
{
    if (judge == NULL)
        return;
    bb_predictor_free(judge->predictor);
    bb_candidates_free(&judge->candidates);
    bb_soundings_free(&judge->soundings);
    free(judge->chance);
    free(judge);
}

/* ---------------------------------------------------------------- judging */

static bb_question ask(const int *readings, size_t count, bool iron_sound)
{
    bb_question question = {.if_ferrous = iron_sound ? IRON_SOUND : 1,
                            .if_not = iron_sound ? IRON_SOUND_NOT : 1};
    bb_repeats_set(readings, count, &question.repeats);
    return question;
}

/* The chance of a number of this class that is at least as rare as the one read. */
static double tail(const bb_judge *judge, size_t class, int reading)
{
    const double *p = judge->chance + class * judge->numbers;
    const double read = p[bb_scale_index(&judge->predictor->model->machine, reading)];
    double sum = 0;
    for (size_t n = 0; n < judge->numbers; n++)
        if (p[n] <= read)
            sum += p[n];
    return sum;
}

static bool is_strange(const bb_judge *judge, const bb_repeats *repeats)
{
    for (size_t r = 0; r < repeats->count; r++) {
        bool explained = false;
        for (size_t c = 0; c < judge->classes && !explained; c++)
            explained = judge->soundings.heard[c] &&
                        tail(judge, c, repeats->numbers[r]) >= STRANGE_BELOW;
        if (!explained)
            return true;
    }
    return false;
}

/* What the readings say each alone and all together, whatever else was heard. */
typedef struct {
    size_t iron;              /* class */
    double together, apart;   /* chances as one thing, and as many as there are readings */
    double least_iron;        /* probability of iron, the least of all and of each */
} findings;

static bb_status find(const bb_judge *judge, const int *readings, size_t count, findings *found)
{
    const bb_question all = ask(readings, count, false);
    bool iron_alone[BB_CLASSES_MAX + 1] = {false};
    found->iron = bb_candidate_group_find(&judge->candidates, BB_GROUP_IRON);
    iron_alone[found->iron] = true; /* beyond the classes where there is none */
    found->apart = 1;
    bb_status status =
        bb_question_chance(judge, &all, iron_alone, &found->together, &found->least_iron);
    for (size_t i = 0; i < count && status == BB_OK; i++) {
        const bb_question one = ask(&readings[i], 1, false);
        double chance = 1, iron = 0;
        status = bb_question_chance(judge, &one, iron_alone, &chance, &iron);
        found->apart *= chance;
        found->least_iron = fmin(found->least_iron, iron);
    }
    return status;
}

/* The low end of the range of iron. */
static bb_status lowest_iron(const bb_judge *judge, const findings *found, const int *readings,
                             size_t count, double *low)
{
    const bb_question question = ask(readings, count, false);
    bool marked[BB_CLASSES_MAX] = {false};
    bb_posterior posterior = {0};
    bb_status status = bb_posterior_new(judge, &question, &posterior);
    if (status != BB_OK)
        return status;
    marked[found->iron] = true;
    *low = bb_posterior_odds(&posterior, marked).low;
    bb_posterior_free(&posterior);
    return BB_OK;
}

static bb_status advise(const bb_judge *judge, const findings *found, const int *readings,
                        size_t count, bb_judgement *judgement)
{
    bool iron = count >= 2 && !judgement->several && !judgement->strange &&
                found->least_iron >= BEYOND_DOUBT;
    bb_status status = BB_OK;
    for (size_t i = 0; i <= count && iron && status == BB_OK; i++) {
        double low = 0; /* first of all together, then of each */
        status = lowest_iron(judge, found, i == 0 ? readings : &readings[i - 1], i == 0 ? count : 1,
                             &low);
        iron = low >= BEYOND_DOUBT;
    }
    judgement->advice = iron                                       ? BB_ADVICE_LIKELY_NOT
                        : judgement->keep.probability >= DIG_ABOVE ? BB_ADVICE_DIG
                                                                   : BB_ADVICE_WORTH_A_DIG;
    return status;
}

static int likelier(const void *a, const void *b)
{
    const double p = ((const bb_class *)a)->odds.probability;
    const double q = ((const bb_class *)b)->odds.probability;
    return p < q ? 1 : p > q ? -1 : 0;
}

/* The odds of every class, and of those that a digger asks about together. */
static void set_odds(const bb_judge *judge, const bb_posterior *posterior, bb_judgement *judgement)
{
    bool keep[BB_CLASSES_MAX] = {false}, twins[BB_CLASSES_MAX] = {false};
    const size_t gold = bb_candidate_group_find(&judge->candidates, BB_GROUP_SMALL_GOLD);
    const size_t foil = bb_candidate_group_find(&judge->candidates, BB_GROUP_FOIL);
    const size_t iron = bb_candidate_group_find(&judge->candidates, BB_GROUP_IRON);
    judgement->class_count = judge->classes;
    judgement->rates_learned = judge->rates.learned;
    for (size_t c = 0; c < judge->classes; c++) {
        const bb_candidate_group *group = &judge->candidates.groups[c];
        bool only[BB_CLASSES_MAX] = {false};
        only[c] = true;
        bb_class *class = &judgement->classes[c];
        *class = (bb_class){.keep = group->keep,
                            .base_rate = judge->rates.mean[c],
                            .odds = bb_posterior_odds(posterior, only)};
        memcpy(class->group, group->name, sizeof class->group);
        keep[c] = group->keep;
        twins[c] = c == gold || c == foil;
    }
    judgement->keep = bb_posterior_odds(posterior, keep);
    judgement->small_gold_or_foil = gold < judge->classes && foil < judge->classes
                                        ? bb_posterior_odds(posterior, twins)
                                        : (bb_odds){NAN, NAN, NAN};
    judgement->ordnance =
        iron < judge->classes && judgement->classes[iron].odds.high >= ORDNANCE_ABOVE;
    qsort(judgement->classes, judge->classes, sizeof *judgement->classes, likelier);
}

static bool all_on_scale(const bb_judge *judge, const int *readings, size_t count)
{
    if (count < 1 || count > BB_REPEATS_MAX)
        return false;
    for (size_t i = 0; i < count; i++)
        if (!bb_scale_holds(&judge->predictor->model->machine, readings[i]))
            return false;
    return true;
}

bb_status bb_judge_keep(const bb_judge *judge, const int *readings, size_t count,
                        double *probability)
{
    bool keep[BB_CLASSES_MAX];
    double chance;
    if (!all_on_scale(judge, readings, count))
        return BB_RANGE;
    const bb_question question = ask(readings, count, false);
    for (size_t c = 0; c < judge->classes; c++)
        keep[c] = judge->candidates.groups[c].keep;
    return bb_question_chance(judge, &question, keep, &chance, probability);
}

bb_status bb_judge_readings(const bb_judge *judge, const int *readings, size_t count,
                            bool iron_sound, bb_judgement *judgement)
{
    if (!all_on_scale(judge, readings, count))
        return BB_RANGE;
    const bb_question question = ask(readings, count, iron_sound);
    bb_posterior posterior = {0};
    bb_status status = bb_posterior_new(judge, &question, &posterior);
    if (status != BB_OK)
        return status;
    set_odds(judge, &posterior, judgement);
    bb_posterior_free(&posterior);
    judgement->ordnance |= iron_sound;
    judgement->strange = is_strange(judge, &question.repeats);
    findings found;
    status = find(judge, readings, count, &found);
    judgement->several = count > 1 && found.together < SEVERAL_BELOW * found.apart;
    return status == BB_OK ? advise(judge, &found, readings, count, judgement) : status;
}
