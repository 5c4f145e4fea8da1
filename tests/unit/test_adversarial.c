/* A few of each kind of misleading visit: none may end as a profile that is not what it says, and
 * every refusal says what to sweep. build/adversarial does the same thousands of times. */
#include "adversarial/adversary.h"
#include "adversarial/trial.h"
#include "cases.h"

#include <check.h>
#include <string.h>

enum { VISITS = CASES(4, 1) };

START_TEST(a_misleading_visit_is_fitted_right_or_refused)
{
    for (unsigned long seed = 0; seed < VISITS; seed++) {
        const trial made = trial_make((size_t)_i, seed);
        char text[4 * BB_TEXT_BYTES] = "";
        (void)bb_error_text(&made.error, text, sizeof text);
        ck_assert_msg(made.found.failure == PROOF_HOLDS, "%s, seed %lu: %s, %g %s",
                      adversaries[_i].name, seed, proof_words[made.found.failure],
                      made.found.figure, text);
    }
}
END_TEST

/* The proof has teeth: a profile moved, narrowed or spoilt must not hold. */
static void spoil_and_ask(void (*spoil)(bb_profile *), proof_failure expected)
{
    static scene drawn;
    bb_visit visit = {0};
    bb_profile *profile = NULL;
    proof found;
    scene_draw(&drawn, 0, 1);
    ck_assert_int_eq(scene_read(&drawn, &visit, NULL), BB_OK);
    ck_assert_int_eq(bb_fit(&visit, NULL, &profile, NULL), BB_OK);
    ck_assert_int_eq(prove_profile(&visit, NULL, profile, 1, &found), BB_OK);
    ck_assert_int_eq(found.failure, PROOF_HOLDS);
    spoil(profile);
    ck_assert_int_eq(prove_profile(&visit, NULL, profile, 1, &found), BB_OK);
    ck_assert_msg(found.failure == expected, "found %s", proof_words[found.failure]);
    bb_profile_free(profile);
    bb_visit_free(&visit);
}

static void move_estimate(bb_profile *profile)
{
    bb_parameter *last = &profile->parameters[profile->parameter_count - 1];
    last->estimate += 0.5 * last->sd;
}

static void narrow_errors(bb_profile *profile)
{
    for (size_t i = 0; i < profile->parameter_count * profile->parameter_count; i++)
        profile->covariance[i] *= 0.5;
    for (size_t i = 0; i < profile->parameter_count; i++)
        profile->parameters[i].sd *= 0.7071067811865476;
}

static void one_error_too_large(bb_profile *profile)
{
    profile->covariance[0] *= 1.5;
}

static void lose_rank(bb_profile *profile)
{
    profile->evidence.rank--;
}

static void steep(bb_profile *profile)
{
    profile->evidence.gradient = 0.01;
}

static void no_error(bb_profile *profile)
{
    profile->parameters[3].sd = 0;
}

static void louder(bb_profile *profile)
{
    profile->noise.reading.estimate += 2 * profile->noise.reading.sd;
}

START_TEST(a_profile_that_is_not_what_it_says_is_found_out)
{
    spoil_and_ask(move_estimate, PROOF_GRADIENT);
    spoil_and_ask(narrow_errors, PROOF_COVARIANCE);
    spoil_and_ask(one_error_too_large, PROOF_COVARIANCE);
    spoil_and_ask(lose_rank, PROOF_EVIDENCE);
    spoil_and_ask(steep, PROOF_EVIDENCE);
    spoil_and_ask(no_error, PROOF_NUMBERS);
    spoil_and_ask(louder, PROOF_GRADIENT);
}
END_TEST

Suite *suite_adversarial(void);
Suite *suite_adversarial(void)
{
    Suite *suite = suite_create("adversarial");
    TCase *group = tcase_create("adversarial");
    tcase_set_timeout(group, 300);
    tcase_add_loop_test(group, a_misleading_visit_is_fitted_right_or_refused, 0,
                        (int)adversary_count);
    tcase_add_test(group, a_profile_that_is_not_what_it_says_is_found_out);
    suite_add_tcase(suite, group);
    return suite;
}
