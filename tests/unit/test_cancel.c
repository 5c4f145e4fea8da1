/* What a salt-cancelling pair of frequencies keeps. */
#include "brineband.h"
#include "compare.h"
#include "constants.h"

#include <check.h>
#include <math.h>

static const double LOWER_HZ = 7e3, UPPER_HZ = 19e3;

/* A single mode of unit strength. */
static bb_complex mode(double omega_tau)
{
    const double below = 1 + omega_tau * omega_tau;
    return (bb_complex){omega_tau * omega_tau / below, omega_tau / below};
}

START_TEST(what_grows_with_frequency_is_cancelled)
{
    const bb_complex lower = {7, -14}, upper = {19, -38};
    const bb_complex kept = bb_cancelled(upper, lower, UPPER_HZ, LOWER_HZ);
    check_close("cancelled", "proportional to frequency", 0, kept.re, absolute(1e-14));
    check_close("cancelled", "proportional to frequency", 0, kept.im, absolute(1e-14));
}
END_TEST

START_TEST(a_thin_target_keeps_a_small_share)
{
    for (double tau = 1e-9; tau < 1e-8; tau *= 2) {
        const double lower = 2 * BB_PI * LOWER_HZ * tau, upper = 2 * BB_PI * UPPER_HZ * tau;
        check_close("share of a thin target kept", "(omega2 - omega1) tau", upper - lower,
                    bb_cancel_survival(mode(upper), mode(lower), UPPER_HZ, LOWER_HZ),
                    relative(1e-5));
    }
}
END_TEST

static double ground_survival(bb_ground ground, double radius, double height)
{
    bb_complex lower, upper;
    ck_assert_int_eq(bb_ground_response(&ground, 2 * BB_PI * LOWER_HZ, radius, height, &lower),
                     BB_OK);
    ck_assert_int_eq(bb_ground_response(&ground, 2 * BB_PI * UPPER_HZ, radius, height, &upper),
                     BB_OK);
    return bb_cancel_survival(upper, lower, UPPER_HZ, LOWER_HZ);
}

START_TEST(a_few_percent_of_the_salt_are_left)
{
    const bb_ground salt = {.sigma_S_per_m = 1.09};
    const double left = ground_survival(salt, 0.14, 0.05);
    ck_assert(left > 0.02 && left < 0.03);
    /* What is left is the term kappa^3 of the expansion: |1 - sqrt(f1 / f2)| of it. */
    const double kappa = 0.14 * sqrt(2 * BB_PI * UPPER_HZ * BB_MU0 * 1e-4);
    const double g = 0.226261942596; /* reference/ground_depth_response.csv at 0.357142857143 */
    check_close("share of weak salt kept", "low-frequency expansion",
                4 * kappa / (15 * g) * (1 - sqrt(LOWER_HZ / UPPER_HZ)),
                ground_survival((bb_ground){.sigma_S_per_m = 1e-4}, 0.14, 0.05), relative(2e-2));
}
END_TEST

START_TEST(magnetic_sand_is_amplified)
{
    check_close("share of black sand kept", "f2 / f1 - 1", UPPER_HZ / LOWER_HZ - 1,
                ground_survival((bb_ground){.susceptibility = 1e-3}, 0.14, 0.05), relative(1e-12));
    ck_assert(
        isnan(bb_cancel_survival((bb_complex){0, 0}, (bb_complex){0, 0}, UPPER_HZ, LOWER_HZ)));
}
END_TEST

Suite *suite_cancel(void)
{
    Suite *suite = suite_create("cancel");
    TCase *tests = tcase_create("cancel");
    tcase_add_test(tests, what_grows_with_frequency_is_cancelled);
    tcase_add_test(tests, a_thin_target_keeps_a_small_share);
    tcase_add_test(tests, a_few_percent_of_the_salt_are_left);
    tcase_add_test(tests, magnetic_sand_is_amplified);
    suite_add_tcase(suite, tests);
    return suite;
}
