/* A profile put to every use it has. */
#include "use.h"

#include "hold.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

char *use_written(const bb_profile *profile)
{
    char *text = NULL, *again = NULL;
    bb_profile *back = NULL;
    bb_error error = {0};
    hold(bb_profile_write(profile, true, &text, &error) == BB_OK, "a profile can be written");
    hold(bb_profile_read(text, strlen(text), "p.json", &back, &error) == BB_OK,
         "what was written is read");
    hold(bb_profile_write(back, true, &again, &error) == BB_OK, "what was read can be written");
    hold(strcmp(text, again) == 0, "what is written twice is the same");
    bb_profile_free(back);
    free(again);
    return text;
}

static void hold_prediction(const bb_machine *machine, const bb_prediction *prediction)
{
    double sum = 0;
    hold(prediction->count >= 2 && prediction->count <= BB_NUMBERS_MAX, "numbers of the scale");
    for (size_t i = 0; i < prediction->count; i++) {
        hold(prediction->p[i] >= 0 && prediction->p[i] <= 1 + 1e-9, "a chance is 0 to 1");
        sum += prediction->p[i];
    }
    hold(fabs(sum - 1) < 1e-6, "chances add up to one");
    hold(prediction->mean >= machine->scale_low - 1e-6 &&
             prediction->mean <= machine->scale_high + 1e-6 && prediction->sd >= 0 &&
             isfinite(prediction->sd),
         "a mean lies on the scale, with a standard deviation");
    hold(prediction->low <= prediction->high && prediction->low >= machine->scale_low &&
             prediction->high <= machine->scale_high,
         "a range lies on the scale");
}

static void predict(const bb_profile *profile, const bb_predictor *predictor)
{
    static const double depths_m[] = {0, 0.1, 2};
    bb_prediction prediction;
    for (int zone = BB_ZONE_AIR; zone < (int)profile->zone_count; zone++)
        for (int target = 0; target < (int)profile->target_count && target < 4; target++)
            for (size_t i = zone == BB_ZONE_AIR; i < sizeof depths_m / sizeof *depths_m; i++)
                if (bb_predict(predictor, target, zone, depths_m[i], NAN, &prediction) == BB_OK)
                    hold_prediction(&profile->machine, &prediction);
    for (int zone = 0; zone < (int)profile->zone_count; zone++) {
        double share = NAN;
        if (bb_predict_sand(predictor, zone, &prediction, &share) != BB_OK)
            continue;
        hold_prediction(&profile->machine, &prediction);
        hold(share >= 0 && share <= 1, "a share of sweeps that sound is 0 to 1");
    }
}

static void reject(const bb_predictor *predictor)
{
    bb_reject_options options = bb_reject_defaults();
    options.at_most = 2; /* five over a thousand numbers take minutes under the sanitizers */
    bb_reject *choice = NULL;
    bb_error error = {0};
    bb_status status = bb_reject_new(predictor, &options, &choice, &error);
    if (status != BB_OK) {
        hold_refusal(status, &error);
        return;
    }
    for (size_t i = 0; i < choice->zone_count; i++)
        hold(choice->chosen.silenced[i] >= -1e-9 && choice->chosen.silenced[i] <= 1 + 1e-9,
             "a silence is 0 to 1");
    for (size_t i = 0; i < choice->target_count; i++)
        hold(isnan(choice->chosen.lost[i]) ||
                 (choice->chosen.lost[i] >= -1e-9 && choice->chosen.lost[i] <= 1 + 1e-9),
             "a loss is 0 to 1");
    bb_reject_free(choice);
}

static void judge(const bb_profile *profile)
{
    static const bb_judge_options options = {.only_kit = true, .depth_m = NAN};
    bb_judge *made = NULL;
    bb_judgement judgement;
    bb_error error = {0};
    if (profile->zone_count == 0)
        return;
    bb_status status = bb_judge_new(profile, 0, &options, &made, &error);
    if (status != BB_OK) {
        hold_refusal(status, &error);
        return;
    }
    double sum = 0;
    hold(bb_judge_readings(made, &profile->machine.scale_low, 1, true, &judgement) == BB_OK,
         "any number of the scale is judged");
    for (size_t i = 0; i < judgement.class_count; i++) {
        hold(judgement.classes[i].odds.probability >= 0, "a probability is not negative");
        sum += judgement.classes[i].odds.probability;
    }
    hold(fabs(sum - 1) < 1e-6, "probabilities add up to one");
    bb_judge_free(made);
}

static void merge(const bb_profile *profile)
{
    static const bb_merge_options options = {BB_POOL_PAULE_MANDEL, false};
    bb_merge *made = NULL;
    bb_merge_fate fate;
    bb_profile *club = NULL;
    bb_error error = {0};
    hold(bb_merge_begin(&options, &made, &error) == BB_OK, "a merge begins");
    bb_status status = bb_merge_add(made, profile, "p.json", &fate, &error);
    if (status == BB_OK)
        status = bb_merge_end(made, &club, NULL, NULL, &error);
    if (status == BB_OK)
        free(use_written(club));
    else
        hold(status == BB_INPUT || status == BB_TOO_LITTLE, "a merge is refused for a cause");
    bb_profile_free(club);
    bb_merge_free(made);
}

void use_profile(const bb_profile *profile)
{
    bb_predictor *predictor = NULL;
    bb_error error = {0};
    bb_status status = bb_predictor_new(profile, &predictor, &error);
    if (status == BB_OK) {
        predict(profile, predictor);
        reject(predictor);
    } else {
        hold_refusal(status, &error);
    }
    bb_predictor_free(predictor);
    judge(profile);
    merge(profile);
}
