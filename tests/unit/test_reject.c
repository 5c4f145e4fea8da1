/* The reject report: what bare readings say alone, and what it says when it cannot be sure. */
#include "brineband.h"

#include <check.h>
#include <math.h>
#include <string.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_rng.h>

#include "compare.h"
#include "draw.h"
#include "sand_number.h"
#include "small_visit.h"

/* ---------------------------------------------------------------- the number of bare sand */

enum { NUMBERS = 81 };
static const bb_machine eighty = {.scale_low = 0, .scale_high = 80, .scale_step = 1};

/* Numbers 19 to 27, 24 of them, mean 23, sd 2 sqrt(24 / 23). */
static bb_bare steady_sand(void)
{
    bb_bare bare = {0};
    const double counts[] = {2, 4, 12, 4, 2};
    for (int i = 0; i < 5; i++)
        bare.counts[19 + 2 * i] = counts[i];
    return bare;
}

/* Kernels as reference/model.md gives them, by another road: the sums written out. */
START_TEST(each_bare_reading_has_its_kernel)
{
    const bb_bare bare = steady_sand();
    double p[NUMBERS];
    const double width = 0.85 * 2 * sqrt(24.0 / 23) * pow(24, -0.2);
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, p), BB_OK);
    for (int n = 0; n < NUMBERS; n++) {
        double expected = 0;
        for (int from = 19; from <= 27; from += 2) {
            double above = n == 80 ? 1 : gsl_cdf_tdist_P((n + 0.5 - from) / width, 5);
            double below = n == 0 ? 0 : gsl_cdf_tdist_P((n - 0.5 - from) / width, 5);
            expected += bare.counts[from] / 24 * (above - below);
        }
        ck_assert_double_eq_tol(p[n], expected, 1e-12);
    }
}
END_TEST

START_TEST(a_stray_reading_widens_nothing)
{
    bb_bare bare = steady_sand();
    double without[NUMBERS], with[NUMBERS], sum = 0;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, without), BB_OK);
    bare.counts[60] = 1;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, with), BB_OK);
    const double outliers = (1 + 50 * 0.01) / (25 + 50.0);
    for (int n = 0; n < NUMBERS; n++) {
        ck_assert_double_eq_tol(with[n], (1 - outliers) * without[n] + outliers / NUMBERS, 1e-12);
        sum += with[n];
    }
    ck_assert_double_eq_tol(sum, 1, 1e-12);
}
END_TEST

START_TEST(two_readings_of_one_far_number_are_sand)
{
    bb_bare bare = steady_sand();
    double p[NUMBERS];
    bare.counts[60] = 2;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, p), BB_OK);
    ck_assert_double_gt(p[60], 5 * p[45]);
    /* Nor is a reading at the edge of the others, or one where the model expects it. */
    bare = steady_sand();
    bare.counts[31] = 1;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, NULL, p), BB_OK);
    ck_assert_double_gt(p[31], 0.01);
    double model[NUMBERS] = {[23] = 0.5, [60] = 0.5};
    bare.counts[31] = 0;
    bare.counts[60] = 1;
    ck_assert_int_eq(bb_sand_mix(&bare, &eighty, model, p), BB_OK);
    ck_assert_double_gt(p[60], 5 * 0.5 / (25 + 5));
}
END_TEST

/* ---------------------------------------------------------------- the range of bare readings */

static const bb_machine ten = {.scale_low = 0, .scale_high = 9, .scale_step = 1};

static bb_bare_range range_of(const int *numbers, int count)
{
    bb_bare bare = {0};
    for (int i = 0; i < count; i++)
        bare.counts[numbers[i]] += 1;
    return bb_bare_range_of(&bare, &ten);
}

START_TEST(the_range_of_no_number_of_one_and_of_some)
{
    static const int some[] = {4, 7, 4, 5};
    ck_assert_double_eq(range_of(NULL, 0).read, 0);
    bb_bare_range one = range_of(some, 1);
    ck_assert_double_eq(one.outside_at_most, 1);
    ck_assert(isnan(one.sd) && one.low == 4 && one.high == 4);
    bb_bare_range all = range_of(some, 4);
    ck_assert(all.low == 4 && all.high == 7 && all.lone_ends == 1);
    ck_assert_double_eq_tol(all.sd, sqrt(2), 1e-12); /* of 4 4 5 7, by hand */
    ck_assert_double_eq_tol(all.outside_at_most, 2.0 / 5, 1e-15);
}
END_TEST

/* Wilks 1941: 93 observations for a range that holds 95 % with 95 % confidence (from memory). */
START_TEST(ninety_three_numbers_hold_95_in_100)
{
    bb_bare bare = {.counts = {46, 46}};
    ck_assert_double_lt(bb_bare_range_of(&bare, &ten).inside_at_least, 0.95);
    bare.counts[0] = 47;
    const double held = bb_bare_range_of(&bare, &ten).inside_at_least;
    ck_assert_double_ge(held, 0.95);
    /* Confidence that the range of n holds a share b: 1 - n b^(n-1) + (n-1) b^n. */
    ck_assert_double_eq_tol(1 - 93 * pow(held, 92) + 92 * pow(held, 93), 0.95, 1e-9);
}
END_TEST

/* Every series of four whole numbers, the first three read and the fourth to come: its chance to lie
 * outside the range is below 2 / 4 with ties, and nears it where ties are few. */
START_TEST(whole_numbers_fall_outside_no_more_often_than_said)
{
    for (int kinds = 2; kinds <= 10; kinds++) {
        double outside = 0, series = pow(kinds, 4), said = 0;
        for (int i = 0; i < (int)series; i++) {
            const int read[] = {i % kinds, i / kinds % kinds, i / kinds / kinds % kinds};
            const int next = i / kinds / kinds / kinds;
            const bb_bare_range range = range_of(read, 3);
            outside += next < range.low || next > range.high;
            said = range.outside_at_most;
        }
        ck_assert_double_eq(said, 0.5);
        ck_assert_double_lt(outside / series, said);
        /* Of k equally likely numbers the least of four is alone, and so last, with a chance of
         * sum of j^3 over k^4, j below k; the greatest likewise. */
        const double alone = pow((kinds - 1) * kinds / 2, 2) / series;
        ck_assert_double_eq_tol(outside / series, 2 * alone, 1e-12);
    }
}
END_TEST

START_TEST(a_stopped_search_still_answers)
{
    bb_profile *profile = small_profile();
    bb_predictor *predictor = NULL;
    bb_reject *whole = NULL, *part = NULL;
    bb_reject_options options = bb_reject_defaults();
    options.at_most = BB_BANDS_MAX;
    options.quiet = 0.9;
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, NULL), BB_OK);
    ck_assert_int_eq(bb_reject_new(predictor, &options, &whole, NULL), BB_OK);
    options.patience = 1e-9;
    ck_assert_int_eq(bb_reject_new(predictor, &options, &part, NULL), BB_OK);
    ck_assert(whole->chosen.proved && !whole->undecided);
    ck_assert_int_eq(whole->chosen.fewest, whole->chosen.numbers);
    if (part->undecided) {
        ck_assert_int_eq(part->verdict, BB_VERDICT_SHORT);
    } else if (!part->chosen.proved) {
        ck_assert_int_le(part->chosen.fewest, whole->chosen.numbers);
        ck_assert_int_ge(part->chosen.numbers, whole->chosen.numbers);
    }
    ck_assert(part->undecided || !part->chosen.proved);
    bb_reject_free(whole);
    bb_reject_free(part);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

/* ---------------------------------------------------------------- the trade-off, and what would help */

static bb_reject *reject_of(const bb_profile *profile, const bb_reject_options *options)
{
    bb_predictor *predictor = NULL;
    bb_reject *reject = NULL;
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, NULL), BB_OK);
    ck_assert_int_eq(bb_reject_new(predictor, options, &reject, NULL), BB_OK);
    bb_predictor_free(predictor);
    return reject;
}

/* Bare sand all over the stud's numbers, the stud swept on it, and sweeps more. */
static bb_profile *noisy_profile_and(const char *more)
{
    char sweeps[2048];
    (void)snprintf(sweeps, sizeof sweeps, "%s%s",
                   "zone,target,depth_cm,reading\nair,stud,5,22 22 23\nair,bead,10,38 38 39\n"
                   "wet,sand,,18 25 22 20 27 23 24 19 26 22\ndamp,sand,,22 23 23 22 24 23 22 23 22 23\n"
                   "wet,stud,0,22 23 22\nwet,bead,0,38 37 38\n", more);
    return profile_of(
        "[machine]\nscale_low = 0\nscale_high = 80\nfrequency_khz = 7\ncoil_diameter_cm = 28\n"
        "[beach]\nswing_height_cm = 8\nwater = sea\n[zone wet]\n[zone damp]\n",
        "target,shape,material,diameter_mm,group\nstud,sphere,gold 14ct,5,small gold\n"
        "bead,sphere,gold 9ct,8,gold\n", sweeps);
}

static bb_profile *noisy_profile(void)
{
    return noisy_profile_and("");
}

static bool among(const bb_reject *reject, const bb_bands *bands)
{
    for (size_t i = 0; i < reject->frontier_count; i++)
        if (bb_bands_same(&reject->frontier[i].bands, bands))
            return true;
    return false;
}

START_TEST(the_trade_off_holds_the_choice_of_every_count_of_bands)
{
    bb_profile *profiles[] = {small_profile(), noisy_profile()};
    for (int i = 0; i < 2; i++) {
        bb_reject_options options = bb_reject_defaults();
        options.at_most = 3;
        bb_reject *all = reject_of(profiles[i], &options);
        for (size_t f = 1; f < all->frontier_count; f++)
            ck_assert_double_ge(all->frontier[f].worst_silence, all->frontier[f - 1].worst_silence);
        for (options.at_most = 0; options.at_most <= 3; options.at_most++) {
            bb_reject *one = reject_of(profiles[i], &options);
            if (one->verdict != BB_VERDICT_UNPROVED)
                ck_assert(among(all, &one->chosen.bands));
            bb_reject_free(one);
        }
        bb_reject_free(all);
        bb_profile_free(profiles[i]);
    }
}
END_TEST

static bb_profile *changed(const bb_profile *profile, const bb_remedy *remedy)
{
    bb_what_if changes = bb_what_if_nothing();
    bb_profile *other = NULL;
    if (remedy->kind == BB_REMEDY_HEIGHT)
        changes.swing_height_m = remedy->amount;
    if (remedy->kind == BB_REMEDY_COIL)
        changes.coil_radius_m = remedy->amount / 2;
    if (remedy->kind == BB_REMEDY_FREQUENCY)
        changes.frequency_hz = remedy->amount;
    ck_assert_int_eq(bb_profile_what_if(profile, &changes, &other, NULL), BB_OK);
    return other;
}

/* What a remedy of physics or place promises is what the whole choice then gives. */
static void check_promise(const bb_profile *profile, const bb_remedy *remedy)
{
    bb_reject_options options = bb_reject_defaults();
    const int zone = (int)remedy->amount;
    if (remedy->kind == BB_REMEDY_BARE_SWEEPS || remedy->kind == BB_REMEDY_SMALL_GOLD)
        return;
    if (remedy->kind == BB_REMEDY_ZONE) {
        options.zones = &zone;
        options.zone_count = 1;
    }
    bb_profile *other = changed(profile, remedy);
    bb_reject *then = reject_of(other, &options);
    if (then->verdict != BB_VERDICT_UNPROVED)
        ck_assert_double_eq_tol(then->chosen.worst_silence, remedy->silence, 1e-9);
    bb_reject_free(then);
    bb_profile_free(other);
}

START_TEST(what_would_help_comes_in_the_order_of_its_computed_gain)
{
    bb_profile *profile = noisy_profile();
    bb_reject_options options = bb_reject_defaults();
    bb_reject *now = reject_of(profile, &options);
    bb_remedy remedies[BB_REMEDIES_MAX];
    size_t count = 0;
    ck_assert_int_eq(now->verdict, BB_VERDICT_SHORT);
    ck_assert_int_eq(bb_remedies(profile, &options, remedies, &count, NULL), BB_OK);
    ck_assert_uint_gt(count, 1);
    for (size_t i = 0; i < count; i++) {
        ck_assert_double_eq_tol(remedies[i].silence - now->chosen.worst_silence, remedies[i].gain, 1e-9);
        ck_assert_double_gt(remedies[i].gain, 0.005);
        ck_assert(i == 0 || remedies[i].gain <= remedies[i - 1].gain);
        check_promise(profile, &remedies[i]);
    }
    bb_reject_free(now);
    bb_profile_free(profile);
}
END_TEST

static bool any_of(const bb_remedy *remedies, size_t count, bb_remedy_kind kind)
{
    for (size_t i = 0; i < count; i++)
        if (remedies[i].kind == kind)
            return true;
    return false;
}

START_TEST(what_cannot_be_changed_is_no_help)
{
    bb_profile *profile = noisy_profile();
    const bb_reject_options options = bb_reject_defaults();
    bb_remedy remedies[BB_REMEDIES_MAX];
    size_t count = 0;
    for (size_t k = 0; k < profile->target_count; k++)
        (void)snprintf(profile->targets[k].group, sizeof profile->targets[k].group, "%s",
                       BB_GROUP_COIN);
    profile->bare[1] = (bb_bare){.last_high = -1, .before_high = -1};
    ck_assert_int_eq(bb_remedies(profile, &options, remedies, &count, NULL), BB_OK);
    ck_assert(!any_of(remedies, count, BB_REMEDY_SMALL_GOLD));
    for (size_t i = 0; i < count; i++)
        ck_assert(remedies[i].kind != BB_REMEDY_ZONE || remedies[i].amount == 0);
    bb_profile_free(profile);
}
END_TEST

/* ---- what sweeps still to be made promise, beside what fitting them then gives */

enum { FUTURES = 40, PROMISE_DRAWS = 32 /* as lib/remedies.c */, TEXT = 1024 };

static void add_bare(const bb_predictor *predictor, const char *zone, int index, gsl_rng *random,
                     char *text)
{
    bb_prediction sand;
    ck_assert_int_eq(bb_predict_sand(predictor, index, &sand, NULL), BB_OK);
    for (int i = 10; i < BB_BARE_ENOUGH; i++) {
        const size_t n = bb_draw_index(random, sand.p, sizeof *sand.p, sand.count);
        const size_t used = strlen(text);
        (void)snprintf(text + used, TEXT - used, "%s,sand,,%zu\n", zone, n);
    }
}

START_TEST(more_bare_sweeps_give_what_they_promise)
{
    bb_profile *profile = noisy_profile();
    bb_predictor *predictor = NULL;
    const bb_reject_options options = bb_reject_defaults();
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    double sum = 0, squares = 0;
    bb_remedy remedies[BB_REMEDIES_MAX];
    size_t count = 0;
    ck_assert_int_eq(bb_remedies(profile, &options, remedies, &count, NULL), BB_OK);
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, NULL), BB_OK);
    gsl_rng_set(random, 6);
    for (int i = 0; i < FUTURES; i++) {
        char text[TEXT] = "";
        add_bare(predictor, "wet", 0, random, text);
        add_bare(predictor, "damp", 1, random, text);
        bb_profile *then = noisy_profile_and(text);
        bb_reject *reject = reject_of(then, &options);
        sum += reject->chosen.worst_silence;
        squares += reject->chosen.worst_silence * reject->chosen.worst_silence;
        bb_reject_free(reject);
        bb_profile_free(then);
    }
    double promised = NAN;
    for (size_t r = 0; r < count; r++)
        if (remedies[r].kind == BB_REMEDY_BARE_SWEEPS)
            promised = remedies[r].silence;
    const double mean = sum / FUTURES, sd = sqrt(squares / FUTURES - mean * mean);
    check_close("silence of more bare sweeps", "mean of 40 visits swept on and fitted", mean,
                promised, absolute(2.5 * sd * sqrt(1.0 / FUTURES + 1.0 / PROMISE_DRAWS)));
    gsl_rng_free(random);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
}
END_TEST

/* 25 sweeps that sound as often leave a narrower limit, by the same exact limits. */
START_TEST(more_bare_sweeps_raise_what_is_sure)
{
    bb_profile *profile = small_profile();
    bb_reject_options options = bb_reject_defaults();
    bb_reject *reject = reject_of(profile, &options);
    for (size_t z = 0; z < reject->zone_count; z++) {
        const double heard = 1 - reject->chosen.silenced[z];
        ck_assert_double_lt(reject->zones[z].bare_sweeps, BB_BARE_ENOUGH);
        ck_assert_double_gt(reject->chosen.silenced_low_more[z], reject->chosen.silenced_low[z]);
        ck_assert_double_eq_tol(reject->chosen.silenced_low_more[z],
                                1 - bb_binomial_upper(heard * 25, 25, 0.05), 1e-12);
    }
    bb_reject_free(reject);
    bb_profile_free(profile);
}
END_TEST

Suite *suite_reject(void);
Suite *suite_reject(void)
{
    Suite *suite = suite_create("reject");
    TCase *limits = tcase_create("limits");
    tcase_add_test(limits, a_stopped_search_still_answers);
    suite_add_tcase(suite, limits);
    TCase *range = tcase_create("the range of bare readings");
    tcase_add_test(range, the_range_of_no_number_of_one_and_of_some);
    tcase_add_test(range, ninety_three_numbers_hold_95_in_100);
    tcase_add_test(range, whole_numbers_fall_outside_no_more_often_than_said);
    suite_add_tcase(suite, range);
    TCase *sand = tcase_create("the number of bare sand");
    tcase_add_test(sand, each_bare_reading_has_its_kernel);
    tcase_add_test(sand, a_stray_reading_widens_nothing);
    tcase_add_test(sand, two_readings_of_one_far_number_are_sand);
    suite_add_tcase(suite, sand);
    TCase *offers = tcase_create("trade-off and remedies");
    tcase_add_test(offers, the_trade_off_holds_the_choice_of_every_count_of_bands);
    tcase_add_test(offers, what_would_help_comes_in_the_order_of_its_computed_gain);
    tcase_add_test(offers, what_cannot_be_changed_is_no_help);
    tcase_add_test(offers, more_bare_sweeps_give_what_they_promise);
    tcase_add_test(offers, more_bare_sweeps_raise_what_is_sure);
    suite_add_tcase(suite, offers);
    return suite;
}
