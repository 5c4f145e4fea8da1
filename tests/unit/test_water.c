/* Conductivity of water and of sand that holds it. */
#include "brineband.h"
#include "compare.h"

#include <check.h>
#include <math.h>
#include <string.h>

static double water(double salinity, double temperature_c)
{
    double sigma;
    ck_assert_int_eq(bb_water_conductivity(salinity, temperature_c, &sigma, NULL), BB_OK);
    return sigma;
}

START_TEST(sea_water_agrees_with_the_standard_toolbox)
{
    reference *table = reference_open("reference/seawater_conductivity.csv");
    for (size_t i = 0; i < reference_rows(table); i++)
        check_close("sea water, S/m", reference_text(table, i, "source"),
                    reference_number(table, i, "sigma_S_per_m"),
                    water(reference_number(table, i, "salinity"),
                          reference_number(table, i, "temperature_its90_degC")),
                    absolute(reference_number(table, i, "limit_S_per_m")));
    reference_close(table);
}
END_TEST

START_TEST(sea_water_agrees_with_the_published_scale)
{
    reference *table = reference_open("reference/practical_salinity.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        const double ratio = reference_empty(table, i, "ratio")
                                 ? reference_number(table, i, "ratio_at_temperature") *
                                       reference_number(table, i, "rise")
                                 : reference_number(table, i, "ratio");
        check_close("sea water over 4.2914 S/m", reference_text(table, i, "source"), ratio,
                    water(reference_number(table, i, "salinity"),
                          reference_number(table, i, "temperature_ipts68_degC") / 1.00024) /
                        4.2914,
                    absolute(reference_number(table, i, "limit")));
    }
    reference_close(table);
}
END_TEST

START_TEST(the_two_scales_meet_at_two)
{
    for (double t = -2; t <= 35; t += 0.5)
        check_close("sea water at salinity 2", "just below against at 2", water(2, t),
                    water(2 - 1e-12, t), relative(1e-11));
}
END_TEST

START_TEST(water_conducts_more_with_salt_and_warmth)
{
    for (double t = -2; t <= 35; t += 1) {
        double last = 0;
        for (double salinity = 0; salinity <= 42; salinity += salinity < 0.2 ? 0.002 : 0.1) {
            const double sigma = water(salinity, t);
            ck_assert_double_gt(sigma, last);
            if (t > -2)
                ck_assert_double_gt(sigma, water(salinity, t - 1));
            last = sigma;
        }
    }
    ck_assert_double_lt(water(0, 15), 5e-4); /* rain, not a conductor */
}
END_TEST

START_TEST(the_error_of_the_scale_is_stated)
{
    double sigma, error;
    ck_assert_int_eq(bb_water_conductivity(35, 15, &sigma, &error), BB_OK);
    /* 0.002 in salinity: Ocean Science 7 (2011) 651. Between 35 and 36 conductivity rises by
     * 2.548 % (gsw 3.6.16); its logarithm at 35 is steeper by about half a per cent of that. */
    check_close("stated relative error", "0.002 at 2.548 % a unit", 0.002 * 0.02548, error,
                relative(5e-3));
    ck_assert_int_eq(bb_water_conductivity(0, 15, &sigma, &error), BB_OK);
    ck_assert_double_eq(error, 1);
}
END_TEST

START_TEST(water_out_of_range_is_refused)
{
    const double wrong[][2] = {{-1e-9, 15}, {42.001, 15}, {35, -2.001},   {35, 35.001},
                               {NAN, 15},   {35, NAN},    {INFINITY, 15}, {35, -INFINITY}};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        double sigma = 7, error = 8;
        ck_assert_int_eq(bb_water_conductivity(wrong[i][0], wrong[i][1], &sigma, &error), BB_RANGE);
        ck_assert(sigma == 7 && error == 8);
    }
    water(42, -2);
    water(42, 35);
}
END_TEST

START_TEST(formation_factors_agree_or_are_refused)
{
    reference *table = reference_open("reference/sand_formation_factor.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        double sigma = NAN;
        const bool refused = strcmp(reference_text(table, i, "refused"), "yes") == 0;
        ck_assert_int_eq(bb_archie_conductivity(1, reference_number(table, i, "porosity"), 1,
                                                reference_number(table, i, "cementation"), 2,
                                                &sigma),
                         refused ? BB_RANGE : BB_OK);
        if (!refused)
            check_close("formation factor", reference_text(table, i, "source"),
                        reference_number(table, i, "formation_factor"), 1 / sigma,
                        absolute(reference_number(table, i, "limit")));
    }
    reference_close(table);
}
END_TEST

START_TEST(sand_agrees_with_worked_examples)
{
    reference *table = reference_open("reference/sand_conductivity.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        const double porosity = reference_number(table, i, "porosity");
        const double saturation = reference_number(table, i, "saturation");
        const double m = reference_number(table, i, "cementation");
        const double n = reference_number(table, i, "saturation_exponent");
        const double limit = reference_number(table, i, "limit_S_per_m");
        double sigma, plain;
        ck_assert_int_eq(bb_archie_conductivity(water(35, 15), porosity, saturation, m, n, &sigma),
                         BB_OK);
        check_close("wet sand, S/m", reference_text(table, i, "source"),
                    reference_number(table, i, "sigma_S_per_m"), sigma, absolute(limit));
        ck_assert_int_eq(bb_sand_conductivity(water(35, 15), porosity, saturation, &plain), BB_OK);
        if (m == 1.5 && n == 2)
            ck_assert_double_eq(plain, sigma);
    }
    reference_close(table);
}
END_TEST

START_TEST(sand_never_conducts_above_the_bound)
{
    double last = 0, sigma;
    for (double porosity = 0.01; porosity < 1; porosity += 0.01) {
        ck_assert_int_eq(bb_sand_conductivity(4, porosity, 1, &sigma), BB_OK);
        ck_assert_double_le(sigma, 4 * 2 * porosity / (3 - porosity) * (1 + 1e-15));
        ck_assert_double_gt(sigma, last);
        last = sigma;
    }
    ck_assert_int_eq(bb_sand_conductivity(4, 0.4, 0, &sigma), BB_OK);
    ck_assert_double_eq(sigma, 0);
}
END_TEST

START_TEST(the_spread_of_sand_follows_its_grains_and_packing)
{
    double middle, grains, packing;
    ck_assert_int_eq(bb_archie_conductivity(4, 0.4, 1, 1.5, 2, &middle), BB_OK);
    ck_assert_int_eq(bb_archie_conductivity(4, 0.4, 1, 1.6, 2, &grains), BB_OK);
    ck_assert_int_eq(bb_archie_conductivity(4, 0.403, 1, 1.5, 2, &packing), BB_OK);
    check_close("relative sd of sand", "steps of Archie's law",
                hypot(log(grains / middle), 10 * log(packing / middle)), bb_sand_relative_sd(0.4),
                relative(5e-3));
}
END_TEST

START_TEST(sand_out_of_range_is_refused)
{
    const double wrong[][3] = {{-1, 0.4, 1},   {4, 0, 1},         {4, 1, 1},   {4, 0.4, -0.01},
                               {4, 0.4, 1.01}, {NAN, 0.4, 1},     {4, NAN, 1}, {4, 0.4, NAN},
                               {4, -0.4, 1},   {INFINITY, 0.4, 1}};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        double sigma = 7;
        ck_assert_int_eq(bb_sand_conductivity(wrong[i][0], wrong[i][1], wrong[i][2], &sigma),
                         BB_RANGE);
        ck_assert_double_eq(sigma, 7);
    }
    const double exponents[][2] = {{0.9, 2},   {5.1, 2},   {NAN, 2},
                                   {1.5, 0.9}, {1.5, 5.1}, {1.5, NAN}};
    for (size_t i = 0; i < sizeof exponents / sizeof *exponents; i++) {
        double sigma = 7;
        ck_assert_int_eq(
            bb_archie_conductivity(4, 0.4, 1, exponents[i][0], exponents[i][1], &sigma), BB_RANGE);
        ck_assert_double_eq(sigma, 7);
    }
}
END_TEST

Suite *suite_water(void)
{
    Suite *suite = suite_create("water");
    TCase *tests = tcase_create("water");
    tcase_add_test(tests, sea_water_agrees_with_the_standard_toolbox);
    tcase_add_test(tests, sea_water_agrees_with_the_published_scale);
    tcase_add_test(tests, the_two_scales_meet_at_two);
    tcase_add_test(tests, water_conducts_more_with_salt_and_warmth);
    tcase_add_test(tests, the_error_of_the_scale_is_stated);
    tcase_add_test(tests, water_out_of_range_is_refused);
    tcase_add_test(tests, formation_factors_agree_or_are_refused);
    tcase_add_test(tests, sand_agrees_with_worked_examples);
    tcase_add_test(tests, sand_never_conducts_above_the_bound);
    tcase_add_test(tests, the_spread_of_sand_follows_its_grains_and_packing);
    tcase_add_test(tests, sand_out_of_range_is_refused);
    suite_add_tcase(suite, tests);
    return suite;
}
