/* What lies under a number: Bayes by hand, several readings, and the rules of the advice. */
#include "brineband.h"
#include "cases.h"
#include "compare.h"
#include "repeats.h"
#include "small_visit.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bb_judge *judge_of(const bb_profile *profile, int zone, bool only_kit, double depth_m)
{
    const bb_judge_options options = {.only_kit = only_kit, .depth_m = depth_m};
    bb_judge *judge = NULL;
    bb_error error = {0};
    bb_status status = bb_judge_new(profile, zone, &options, &judge, &error);
    ck_assert_msg(status == BB_OK, "%s", error.accepted);
    return judge;
}

static const bb_class *class_of(const bb_judgement *judgement, const char *group)
{
    for (size_t c = 0; c < judgement->class_count; c++)
        if (strcmp(judgement->classes[c].group, group) == 0)
            return &judgement->classes[c];
    ck_abort_msg("no class %s", group);
}

static bb_judgement ask(const bb_judge *judge, int first, int second, bool iron_sound)
{
    const int readings[] = {first, second};
    bb_judgement judgement;
    size_t count = second < 0 ? 1 : 2;
    ck_assert_int_eq(bb_judge_readings(judge, readings, count, iron_sound, &judgement), BB_OK);
    return judgement;
}

/* ---------------------------------------------------------------- several readings */

START_TEST(several_readings_share_one_error)
{
    static const char *const columns[] = {"first", "second", "third"};
    const bb_machine machine = {.scale_low = 0, .scale_high = 80, .scale_step = 1};
    reference *table = reference_open("reference/repeated_readings.csv");
    for (size_t row = 0; row < reference_rows(table); row++) {
        const double own = reference_number(table, row, "sd_own");
        const bb_outlook_node node = {.weight = 1,
                                      .number = reference_number(table, row, "mean"),
                                      .own = own * own,
                                      .common = reference_number(table, row, "sd_common")};
        int numbers[3];
        size_t count = 0;
        for (size_t i = 0; i < 3; i++)
            if (!reference_empty(table, row, columns[i]))
                numbers[count++] = (int)reference_number(table, row, columns[i]);
        bb_repeats repeats;
        bb_repeats_chances chances;
        bb_repeats_set(numbers, count, &repeats);
        bb_repeats_chances_set(&machine, &node, 1, &repeats, &chances);
        check_close("chance of several readings", reference_text(table, row, "source"),
                    reference_number(table, row, "chance"), bb_repeats_mean(&chances, 0, 1),
                    relative(1e-3));
    }
    reference_close(table);
}
END_TEST

/* ---------------------------------------------------------------- odds */

/* Bayes from what predict says of the same pieces, one in a hundred readings being anything. */
START_TEST(one_reading_is_judged_by_the_predictions)
{
    const double depth_m = 0.05, numbers = 81, outliers = 0.01;
    bb_profile *profile = small_profile();
    bb_judge *judge = judge_of(profile, 0, true, depth_m);
    bb_predictor *predictor = NULL;
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, NULL), BB_OK);
    for (int number = 0; number <= 80; number++) {
        double chance[8], total = 0;
        bb_prediction prediction;
        size_t count = profile->target_count;
        for (size_t k = 0; k <= count; k++) {
            const int target = k == count ? BB_TARGET_SAND : (int)k;
            ck_assert_int_eq(bb_predict(predictor, target, 0, depth_m, NAN, &prediction), BB_OK);
            bool heard = k == count || !prediction.masked;
            chance[k] = heard ? (1 - outliers) * prediction.p[number] + outliers / numbers : 0;
            total += chance[k];
        }
        const bb_judgement found = ask(judge, number, -1, false);
        double sum = 0;
        for (size_t k = 0; k <= count; k++) {
            const char *group = k == count ? "bare sand" : profile->targets[k].group;
            check_close("probability of a group", "Bayes on the predictions", chance[k] / total,
                        class_of(&found, group)->odds.probability, absolute(1e-3));
            sum += class_of(&found, group)->odds.probability;
        }
        check_close("sum of probabilities", "one", 1, sum, absolute(1e-12));
    }
    bb_predictor_free(predictor);
    bb_judge_free(judge);
    bb_profile_free(profile);
}
END_TEST

START_TEST(the_range_holds_the_probability)
{
    bb_profile *profile = small_profile();
    bb_judge *judge = judge_of(profile, 0, false, NAN);
    for (int number = 0; number <= 80; number += CASES(5, 20)) {
        const bb_judgement found = ask(judge, number, number < 80 ? number + 1 : -1, false);
        double sum = 0;
        for (size_t c = 0; c < found.class_count; c++) {
            const bb_odds *odds = &found.classes[c].odds;
            ck_assert(0 <= odds->low && odds->low <= odds->probability);
            ck_assert(odds->probability <= odds->high && odds->high <= 1);
            ck_assert(c == 0 || odds->probability <= found.classes[c - 1].odds.probability);
            sum += odds->probability;
        }
        check_close("sum of probabilities", "one", 1, sum, absolute(1e-12));
        const double twins = class_of(&found, "small gold")->odds.probability +
                             class_of(&found, "foil")->odds.probability;
        check_close("small gold or foil", "their sum", twins,
                    found.small_gold_or_foil.probability, absolute(1e-12));
    }
    bb_judge_free(judge);
    bb_profile_free(profile);
}
END_TEST

START_TEST(the_order_of_readings_leaves_no_trace)
{
    bb_profile *profile = small_profile();
    bb_judge *judge = judge_of(profile, 0, false, NAN);
    const bb_judgement one = ask(judge, 23, 25, false), other = ask(judge, 25, 23, false);
    for (size_t c = 0; c < one.class_count; c++)
        check_close("probability, readings swapped", "unswapped", one.classes[c].odds.probability,
                    class_of(&other, one.classes[c].group)->odds.probability, absolute(1e-12));
    bb_judge_free(judge);
    bb_profile_free(profile);
}
END_TEST

START_TEST(the_catalogue_comes_with_worn_coins_unless_only_the_kit_is_wanted)
{
    bb_profile *profile = small_profile();
    bb_judge *kit = judge_of(profile, 0, true, 0), *all = judge_of(profile, 0, false, 0);
    /* where the kit knows iron alone, a coin may be worn plated steel */
    check_close("coin at an iron number", "the kit's one coin reads 67", 0,
                class_of(&(bb_judgement[]){ask(kit, 4, 4, false)}[0], "coin")->odds.probability,
                absolute(1e-3));
    const bb_judgement found = ask(all, 4, 4, false);
    ck_assert_double_gt(class_of(&found, "coin")->odds.probability, 0.05);
    static const char *const worth[] = {"small gold", "gold", "silver", "coin"};
    for (size_t c = 0; c < found.class_count; c++) {
        bool keep = false;
        for (size_t i = 0; i < 4; i++)
            keep |= strcmp(found.classes[c].group, worth[i]) == 0;
        ck_assert_int_eq(found.classes[c].keep, keep);
    }
    bb_judge_free(kit);
    bb_judge_free(all);
    bb_profile_free(profile);
}
END_TEST

START_TEST(too_deep_to_hear_is_no_candidate)
{
    bb_profile *profile = small_profile();
    bb_judge *judge = judge_of(profile, 0, true, 0.5);
    const bb_judgement found = ask(judge, 14, -1, false);
    const bb_class *stud = class_of(&found, "small gold");
    ck_assert(stud->odds.probability == 0 && stud->odds.high == 0 && stud->base_rate == 0);
    bb_judge_free(judge);
    bb_profile_free(profile);
}
END_TEST

/* ---------------------------------------------------------------- advice */

START_TEST(the_iron_sound_multiplies_the_odds_by_four)
{
    bb_profile *profile = small_profile();
    bb_judge *judge = judge_of(profile, 0, true, NAN);
    for (int number = 0; number <= 80; number += 4) {
        const bb_judgement without = ask(judge, number, -1, false);
        const bb_judgement with = ask(judge, number, -1, true);
        const double before = class_of(&without, "iron")->odds.probability;
        const double after = class_of(&with, "iron")->odds.probability;
        check_close("odds with the iron sound", "four times those without",
                    4 * before / (1 - before), after / (1 - after), relative(1e-9));
        ck_assert_int_ne(with.advice, BB_ADVICE_LIKELY_NOT);
        ck_assert(with.ordnance);
    }
    bb_judge_free(judge);
    bb_profile_free(profile);
}
END_TEST

START_TEST(likely_not_needs_two_readings_that_are_iron_beyond_doubt)
{
    static const struct {
        int first, second;
        bool only_kit, iron_sound;
        bb_advice advice;
    } cases[] = {
        {4, 3, true, false, BB_ADVICE_LIKELY_NOT},
        {4, 4, true, true, BB_ADVICE_LIKELY_NOT},
        {4, -1, true, false, BB_ADVICE_WORTH_A_DIG},  /* one direction only */
        {4, -1, true, true, BB_ADVICE_WORTH_A_DIG},
        {4, 3, false, false, BB_ADVICE_WORTH_A_DIG},  /* a worn plated coin sounds like iron */
        {4, 38, true, false, BB_ADVICE_WORTH_A_DIG},  /* mixed: a coin beside iron */
        {23, 23, true, true, BB_ADVICE_WORTH_A_DIG},  /* the sand's number */
        {38, 38, true, false, BB_ADVICE_DIG},
        {67, 66, true, false, BB_ADVICE_DIG},
    };
    bb_profile *profile = small_profile();
    bb_judge *judges[2] = {judge_of(profile, 0, false, NAN), judge_of(profile, 0, true, NAN)};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const bb_judgement found = ask(judges[cases[i].only_kit], cases[i].first, cases[i].second,
                                       cases[i].iron_sound);
        ck_assert_msg(found.advice == cases[i].advice, "%d %d: wanted %s, got %s", cases[i].first,
                      cases[i].second, bb_advice_text(cases[i].advice),
                      bb_advice_text(found.advice));
    }
    bb_judge_free(judges[0]);
    bb_judge_free(judges[1]);
    bb_profile_free(profile);
}
END_TEST

START_TEST(a_number_that_nothing_shows_is_strange)
{
    bb_profile *profile = small_profile();
    bb_judge *judge = judge_of(profile, 0, true, 0);
    ck_assert(ask(judge, 52, -1, false).strange);
    ck_assert(!ask(judge, 23, -1, false).strange);
    ck_assert(!ask(judge, 38, -1, false).strange);
    bb_judge_free(judge);
    bb_profile_free(profile);
}
END_TEST

START_TEST(readings_far_apart_are_several_things)
{
    bb_profile *profile = small_profile();
    bb_judge *judge = judge_of(profile, 0, true, NAN);
    ck_assert(ask(judge, 4, 67, false).several);
    ck_assert(!ask(judge, 66, 67, false).several);
    ck_assert(!ask(judge, 23, 22, false).several);
    bb_judge_free(judge);
    bb_profile_free(profile);
}
END_TEST

START_TEST(what_is_out_of_range_is_refused)
{
    bb_profile *profile = small_profile();
    bb_judge *judge = judge_of(profile, 0, true, NAN), *none = NULL;
    const bb_judge_options deep = {true, 2.1}, high = {true, -0.1}, good = {true, NAN};
    bb_judgement found;
    const int off_scale = 81, readings[BB_REPEATS_MAX + 1] = {0};
    ck_assert_int_eq(bb_judge_new(profile, 2, &good, &none, NULL), BB_RANGE);
    ck_assert_int_eq(bb_judge_new(profile, BB_ZONE_AIR, &good, &none, NULL), BB_RANGE);
    ck_assert_int_eq(bb_judge_new(profile, 0, &deep, &none, NULL), BB_RANGE);
    ck_assert_int_eq(bb_judge_new(profile, 0, &high, &none, NULL), BB_RANGE);
    ck_assert_int_eq(bb_judge_readings(judge, &off_scale, 1, false, &found), BB_RANGE);
    ck_assert_int_eq(bb_judge_readings(judge, readings, 0, false, &found), BB_RANGE);
    ck_assert_int_eq(bb_judge_readings(judge, readings, BB_REPEATS_MAX + 1, false, &found),
                     BB_RANGE);
    ck_assert_int_eq(bb_judge_readings(judge, readings, BB_REPEATS_MAX, false, &found), BB_OK);
    bb_judge_free(judge);
    bb_profile_free(profile);
}
END_TEST

START_TEST(a_kit_without_foil_or_iron_has_no_odds_of_them)
{
    static const char *const pieces[] = {"gold 14ct,4,small gold", "aluminium,4,foil",
                                         "sterling silver,4,coin"};
    for (size_t i = 0; i < sizeof pieces / sizeof *pieces; i++) {
        char kit[128];
        (void)snprintf(kit, sizeof kit, "target,shape,material,diameter_mm,group\nstud,sphere,%s\n",
                       pieces[i]);
        bb_profile *profile = profile_of("[machine]\nscale_low = 0\nscale_high = 80\n"
                                         "frequency_khz = 7\n[zone wet]\n", kit,
                                         "zone,target,depth_cm,reading\nair,stud,5,14 14 15\n"
                                         "wet,sand,,23 22 24 23 23 24 22 21 22 23\n");
        bb_judge *judge = judge_of(profile, 0, true, NAN);
        const bb_judgement found = ask(judge, 14, -1, false);
        ck_assert_msg(isnan(found.small_gold_or_foil.probability) &&
                      isnan(found.small_gold_or_foil.low) && !found.ordnance, "%s", pieces[i]);
        bb_judge_free(judge);
        bb_profile_free(profile);
    }
}
END_TEST

/* ---------------------------------------------------------------- base rates */

START_TEST(finds_move_the_base_rates_of_their_zone)
{
    bb_profile *profile = small_profile();
    profile->finds = calloc(2, sizeof *profile->finds);
    ck_assert_ptr_nonnull(profile->finds);
    profile->finds_count = 2;
    profile->finds[0] = (bb_finds){.group = "foil", .dug = {9}};
    profile->finds[1] = (bb_finds){.group = "bare sand", .dug = {2}};
    bb_judge *wet = judge_of(profile, 0, true, 0), *damp = judge_of(profile, 1, true, 0);
    const bb_judgement found = ask(wet, 30, -1, false), other = ask(damp, 30, -1, false);
    size_t groups = 0;
    for (size_t c = 0; c < found.class_count; c++)
        groups += found.classes[c].base_rate > 0;
    /* Dirichlet with half a find for each group that can be heard */
    check_close("base rate of foil", "(9 + 1/2) / (11 + groups/2)", 9.5 / (11 + (double)groups / 2),
                class_of(&found, "foil")->base_rate, absolute(1e-12));
    ck_assert(found.rates_learned && !other.rates_learned);
    check_close("base rate elsewhere", "even", class_of(&other, "gold")->base_rate,
                class_of(&other, "foil")->base_rate, absolute(1e-12));
    bb_judge_free(wet);
    bb_judge_free(damp);
    bb_profile_free(profile);
}
END_TEST

/* ---------------------------------------------------------------- whether the odds are right */

/* Calls of so many invented finds with so many readings each. */
static bb_brier score_of(const bb_judge *judge, size_t finds, size_t readings, double *chance,
                         bool *came)
{
    bb_practice *practice = NULL;
    bb_brier brier;
    ck_assert_int_eq(bb_practice_new(judge, 20261125, &practice), BB_OK);
    for (size_t i = 0; i < finds; i++) {
        bb_round round;
        ck_assert_int_eq(bb_practice_draw(practice, readings, &round), BB_OK);
        ck_assert_int_eq(bb_judge_keep(judge, round.readings, readings, &chance[i]), BB_OK);
        came[i] = round.keep;
    }
    bb_practice_free(practice);
    ck_assert_int_eq(bb_brier_score(chance, came, finds, &brier), BB_OK);
    return brier;
}

/* Each bin's share within the binomial limits that one set in a thousand would leave anywhere. */
static void check_reliable(const bb_brier *brier)
{
    const double tail = 0.001 / (2 * BB_BRIER_BINS);
    for (size_t b = 0; b < BB_BRIER_BINS; b++) {
        const bb_brier_bin *bin = &brier->bins[b];
        if (bin->calls == 0)
            continue;
        const double calls = (double)bin->calls, hits = (double)bin->came;
        const double low = bb_binomial_lower(hits, calls, tail);
        const double high = bb_binomial_upper(hits, calls, tail);
        ck_assert_msg(low <= bin->called && bin->called <= high,
                      "called %.4f, came in %zu of %zu (%.4f to %.4f)", bin->called, bin->came,
                      bin->calls, low, high);
    }
}

START_TEST(odds_come_true_as_often_as_called_and_three_readings_tell_more_than_one)
{
    enum { FINDS = 2000 }; /* build/calibration --judge takes 10,000 */
    static double chance[FINDS];
    static bool came[FINDS];
    bb_profile *profile = small_profile();
    bb_judge *judge = judge_of(profile, 0, true, NAN);
    const bb_brier one = score_of(judge, FINDS, 1, chance, came);
    const bb_brier three = score_of(judge, FINDS, 3, chance, came);
    check_reliable(&one);
    check_reliable(&three);
    ck_assert_double_lt(three.score + 3 * three.se, one.score);
    bb_judge_free(judge);
    bb_profile_free(profile);
}
END_TEST

Suite *suite_judge(void)
{
    Suite *suite = suite_create("judge");
    TCase *cases = tcase_create("judge");
    tcase_set_timeout(cases, 120);
    tcase_add_test(cases, several_readings_share_one_error);
    tcase_add_test(cases, one_reading_is_judged_by_the_predictions);
    tcase_add_test(cases, the_range_holds_the_probability);
    tcase_add_test(cases, the_order_of_readings_leaves_no_trace);
    tcase_add_test(cases, the_catalogue_comes_with_worn_coins_unless_only_the_kit_is_wanted);
    tcase_add_test(cases, too_deep_to_hear_is_no_candidate);
    tcase_add_test(cases, the_iron_sound_multiplies_the_odds_by_four);
    tcase_add_test(cases, likely_not_needs_two_readings_that_are_iron_beyond_doubt);
    tcase_add_test(cases, a_number_that_nothing_shows_is_strange);
    tcase_add_test(cases, readings_far_apart_are_several_things);
    tcase_add_test(cases, what_is_out_of_range_is_refused);
    tcase_add_test(cases, a_kit_without_foil_or_iron_has_no_odds_of_them);
    tcase_add_test(cases, finds_move_the_base_rates_of_their_zone);
    tcase_add_test(cases,
                   odds_come_true_as_often_as_called_and_three_readings_tell_more_than_one);
    suite_add_tcase(suite, cases);
    return suite;
}
