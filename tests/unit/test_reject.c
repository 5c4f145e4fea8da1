/* The reject report: what it says when it cannot be sure. */
#include "brineband.h"

#include <check.h>

#include "small_visit.h"

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

Suite *suite_reject(void);
Suite *suite_reject(void)
{
    Suite *suite = suite_create("reject");
    TCase *limits = tcase_create("limits");
    tcase_add_test(limits, a_stopped_search_still_answers);
    suite_add_tcase(suite, limits);
    return suite;
}
