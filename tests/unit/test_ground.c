/* The ground's response: check values, and the symmetries that the integral has. */
#include "brineband.h"
#include "compare.h"
#include "constants.h"

#include <check.h>
#include <math.h>

static bb_complex answer(bb_ground ground, double omega, double radius, double height)
{
    bb_complex response;
    ck_assert_int_eq(bb_ground_response(&ground, omega, radius, height, &response), BB_OK);
    return response;
}

static void check_both(const char *source, double re, double im, bb_complex got, double limit)
{
    check_close("ground in-phase", source, re, got.re, relative(limit));
    check_close("ground quadrature", source, im, got.im, relative(limit));
}

START_TEST(responses_agree_with_check_values)
{
    reference *table = reference_open("reference/ground_response.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        const bb_ground ground = {
            .sigma_S_per_m = reference_number(table, i, "sigma_S_per_m"),
            .susceptibility = reference_number(table, i, "susceptibility_si"),
            .layer_m = reference_number(table, i, "layer_m"),
            .layer_sigma_S_per_m = reference_number(table, i, "layer_sigma_S_per_m"),
        };
        const bb_complex got =
            answer(ground, 2 * BB_PI * reference_number(table, i, "frequency_Hz"),
                   reference_number(table, i, "radius_m"), reference_number(table, i, "height_m"));
        check_both(reference_text(table, i, "source"), -reference_number(table, i, "re_D"),
                   -reference_number(table, i, "im_D"), got,
                   reference_number(table, i, "relative_limit"));
    }
    reference_close(table);
}
END_TEST

/* sigma at which a loop of radius 1 m has the wanted |kappa|. */
static const double FAST = 1e7;
static double sigma_of(double kappa)
{
    return kappa * kappa / (FAST * BB_MU0);
}

START_TEST(responses_agree_over_the_whole_stated_range)
{
    reference *table = reference_open("reference/ground_integrals.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        const bb_ground ground = {
            .sigma_S_per_m = sigma_of(reference_number(table, i, "kappa")),
            .susceptibility = reference_number(table, i, "susceptibility"),
            .layer_m = reference_number(table, i, "layer_radii"),
            .layer_sigma_S_per_m = sigma_of(reference_number(table, i, "kappa_layer")),
        };
        check_both(reference_text(table, i, "source"), reference_number(table, i, "re_P"),
                   reference_number(table, i, "im_P"),
                   answer(ground, FAST, 1, reference_number(table, i, "eta")), 1e-7);
    }
    reference_close(table);
}
END_TEST

START_TEST(a_weak_conductor_answers_by_its_depth)
{
    reference *table = reference_open("reference/ground_depth_response.csv");
    const double kappa = 1e-5;
    for (size_t i = 0; i < reference_rows(table); i++) {
        const double height = fmax(reference_number(table, i, "eta"), 1e-9);
        const bb_complex got =
            answer((bb_ground){.sigma_S_per_m = sigma_of(kappa)}, FAST, 1, height);
        const double third =
            BB_PI / 15 * pow(kappa, 3) / sqrt(2); /* the next term of the expansion */
        check_close("share from below a depth", reference_text(table, i, "source"),
                    reference_number(table, i, "g"), (got.im + third) / (BB_PI / 4 * kappa * kappa),
                    relative(2e-8));
        if (height <= 1) /* the terms left out grow with height */
            check_close("in-phase of a weak conductor", "low-frequency expansion", third, got.re,
                        relative(2e-4));
    }
    reference_close(table);
}
END_TEST

START_TEST(only_sigma_f_and_relative_height_count)
{
    const bb_complex wanted = answer((bb_ground){.sigma_S_per_m = 5}, 2 * BB_PI * 4e3, 0.14, 0.05);
    const bb_complex slower =
        answer((bb_ground){.sigma_S_per_m = 0.5}, 2 * BB_PI * 4e4, 0.14, 0.05);
    const bb_complex larger = answer((bb_ground){.sigma_S_per_m = 5}, 2 * BB_PI * 1e3, 0.28, 0.10);
    check_both("same sigma f", wanted.re, wanted.im, slower, 1e-14);
    check_both("twice the size at f / 4", wanted.re, wanted.im, larger, 1e-14);
}
END_TEST

START_TEST(dry_sand_is_only_height)
{
    for (double dry = 0.001; dry < 1; dry *= 3) {
        const bb_complex layered =
            answer((bb_ground){.sigma_S_per_m = 1, .layer_m = dry}, 9e4, 0.14, 0.05);
        const bb_complex higher = answer((bb_ground){.sigma_S_per_m = 1}, 9e4, 0.14, 0.05 + dry);
        check_both("dry layer as height", higher.re, higher.im, layered, 1e-13);
    }
}
END_TEST

START_TEST(layers_join_smoothly)
{
    const bb_ground whole = {.sigma_S_per_m = 1.2, .susceptibility = 2e-3};
    const bb_complex sand = answer(whole, 9e4, 0.14, 0.05);
    bb_ground layered = whole;
    layered.layer_m = 0.07;
    layered.layer_sigma_S_per_m = whole.sigma_S_per_m;
    check_both("layer like the sand", sand.re, sand.im, answer(layered, 9e4, 0.14, 0.05), 1e-14);
    layered.layer_m = 1e-12;
    layered.layer_sigma_S_per_m = 0.1;
    check_both("layer that vanishes", sand.re, sand.im, answer(layered, 9e4, 0.14, 0.05), 1e-10);
    layered.layer_m = 0;
    layered.layer_sigma_S_per_m = NAN; /* not read */
    check_both("no layer", sand.re, sand.im, answer(layered, 9e4, 0.14, 0.05), 0);

    const bb_complex half = answer((bb_ground){.sigma_S_per_m = 8}, 1e7, 0.3, 0.05);
    const bb_ground deep = {.sigma_S_per_m = 1, .layer_m = 10, .layer_sigma_S_per_m = 8};
    check_both("layer without end", half.re, half.im, answer(deep, 1e7, 0.3, 0.05), 0);
}
END_TEST

START_TEST(response_rises_with_conductivity)
{
    double last = 0, last_loss = 0;
    for (double sigma = 1e-9; sigma <= 10; sigma *= 1.3) {
        const bb_complex got =
            answer((bb_ground){.sigma_S_per_m = sigma}, 2 * BB_PI * 2e4, 0.14, 0.05);
        ck_assert_double_gt(bb_response_strength(got), last);
        ck_assert_double_gt(got.im, last_loss);
        ck_assert_double_gt(got.re, 0);
        last = bb_response_strength(got);
        last_loss = got.im;
    }
}
END_TEST

/* A slope by a short step agrees with one by a long step: there is no seam in the nodes. */
START_TEST(response_has_no_seams)
{
    for (double height = 0.003; height < 3; height *= 1.07) {
        double slope[2];
        for (int i = 0; i < 2; i++) {
            const double step = i == 0 ? 1e-3 : 1e-5;
            const bb_ground sand = {.sigma_S_per_m = 1};
            slope[i] = (answer(sand, 9e4, 0.14, height * (1 + step)).im -
                        answer(sand, 9e4, 0.14, height * (1 - step)).im) /
                       (2 * step);
        }
        check_close("slope with height", "long against short step", slope[0], slope[1],
                    relative(1e-5));
    }
}
END_TEST

START_TEST(nothing_in_the_sand_answers_nothing)
{
    const bb_ground sands[] = {{0}, {.layer_m = 0.1}};
    for (size_t i = 0; i < sizeof sands / sizeof *sands; i++) {
        const bb_complex got = answer(sands[i], 9e4, 0.14, 0.05);
        ck_assert(got.re == 0 && got.im == 0 && !signbit(got.re) && !signbit(got.im));
    }
}
END_TEST

START_TEST(far_away_is_still_a_number)
{
    const bb_complex far = answer((bb_ground){.sigma_S_per_m = 1}, 9e4, 0.14, 20 * 0.14);
    /* g(eta) -> 1 / (8 eta): notes on the low-frequency expansion */
    const double first = BB_PI / 4 * 9e4 * BB_MU0 * 0.14 * 0.14 / (8 * 20);
    ck_assert(far.im > 0 && far.im < first);
    const bb_complex farthest = answer((bb_ground){.sigma_S_per_m = 1}, 9e4, 0.14, 1e300);
    ck_assert(farthest.re == 0 && farthest.im == 0);
}
END_TEST

START_TEST(black_sand_turns_the_angle)
{
    const double omega = 2 * BB_PI * 15e3;
    const bb_complex clean = answer((bb_ground){.sigma_S_per_m = 1}, omega, 0.14, 0.05);
    const bb_complex black =
        answer((bb_ground){.sigma_S_per_m = 1, .susceptibility = 1e-3}, omega, 0.14, 0.05);
    check_close("angle of salt, degrees", "from the in-phase and quadrature rows", 2.15,
                bb_response_angle_deg(clean), absolute(0.005));
    ck_assert_double_lt(bb_response_angle_deg(black), -30);
    check_close("strength", "Pythagoras", 5, bb_response_strength((bb_complex){3, -4}),
                absolute(0));
}
END_TEST

START_TEST(values_out_of_range_are_refused)
{
    const double wrong[] = {NAN, INFINITY, -INFINITY, -1e-9};
    const bb_ground good = {1, 1e-3, 0.1, 0.5};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        bb_complex kept = {7, 8};
        bb_ground sand[4] = {good, good, good, good};
        sand[0].sigma_S_per_m = sand[1].susceptibility = sand[2].layer_m = wrong[i];
        sand[3].layer_sigma_S_per_m = wrong[i];
        for (int k = 0; k < 4; k++)
            ck_assert_int_eq(bb_ground_response(&sand[k], 9e4, 0.14, 0.05, &kept), BB_RANGE);
        ck_assert_int_eq(bb_ground_response(&good, wrong[i], 0.14, 0.05, &kept), BB_RANGE);
        ck_assert_int_eq(bb_ground_response(&good, 9e4, wrong[i], 0.05, &kept), BB_RANGE);
        ck_assert_int_eq(bb_ground_response(&good, 9e4, 0.14, wrong[i], &kept), BB_RANGE);
        ck_assert(kept.re == 7 && kept.im == 8);
    }
    bb_complex kept;
    ck_assert_int_eq(bb_ground_response(&good, 0, 0.14, 0.05, &kept), BB_RANGE);
    ck_assert_int_eq(bb_ground_response(&good, 9e4, 0, 0.05, &kept), BB_RANGE);
    ck_assert_int_eq(bb_ground_response(&good, 9e4, 0.14, 0, &kept), BB_RANGE);
}
END_TEST

Suite *suite_ground(void)
{
    Suite *suite = suite_create("ground");
    TCase *tests = tcase_create("ground");
    tcase_add_test(tests, responses_agree_with_check_values);
    tcase_add_test(tests, responses_agree_over_the_whole_stated_range);
    tcase_add_test(tests, a_weak_conductor_answers_by_its_depth);
    tcase_add_test(tests, only_sigma_f_and_relative_height_count);
    tcase_add_test(tests, dry_sand_is_only_height);
    tcase_add_test(tests, layers_join_smoothly);
    tcase_add_test(tests, response_rises_with_conductivity);
    tcase_add_test(tests, response_has_no_seams);
    tcase_add_test(tests, nothing_in_the_sand_answers_nothing);
    tcase_add_test(tests, far_away_is_still_a_number);
    tcase_add_test(tests, black_sand_turns_the_angle);
    tcase_add_test(tests, values_out_of_range_are_refused);
    suite_add_tcase(suite, tests);
    return suite;
}
