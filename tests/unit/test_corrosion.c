/* Loss of thickness against ISO 9224, worked values, and the rates of reference/. */
#include "compare.h"
#include "corrosion.h"

#include <check.h>
#include <math.h>
#include <stdio.h>

static const struct {
    const char *material, *column;
} metals[] = {
    {"steel", "carbon_steel"}, {"zinc", "zinc"}, {"copper", "copper"}, {"aluminium", "aluminium"}};

START_TEST(air_loss_follows_the_published_multipliers)
{
    reference *table = reference_open("reference/iso9224_multipliers.csv");
    for (size_t i = 0; i < reference_rows(table); i++)
        for (size_t m = 0; m < sizeof metals / sizeof *metals; m++)
            for (int exponent = 0; exponent < 2; exponent++) {
                char column[64];
                (void)snprintf(column, sizeof column, "%s_B%d_linear_after_20", metals[m].column,
                               exponent + 1);
                double got = bb_corrosion_air_loss_m(metals[m].material, 1.0, (bb_exponent)exponent,
                                                     reference_number(table, i, "years"));
                check_close("loss in air over the first year's", reference_text(table, i, "source"),
                            reference_number(table, i, column), got, relative(1e-6));
            }
    reference_close(table);
}
END_TEST

/* Upper edge of category C5, mean exponent. */
START_TEST(air_loss_agrees_with_worked_values)
{
    static const struct {
        const char *material;
        double first_um, years, loss_um;
    } cases[] = {
        {"steel", 200, 1, 200},    {"steel", 200, 5, 464.1},   {"steel", 200, 10, 666.9},
        {"steel", 200, 20, 958.2}, {"zinc", 8.4, 1, 8.40},     {"zinc", 8.4, 5, 31.08},
        {"zinc", 8.4, 10, 54.61},  {"zinc", 8.4, 20, 95.94},   {"copper", 5.6, 1, 5.60},
        {"copper", 5.6, 5, 16.38}, {"copper", 5.6, 10, 26.01}, {"copper", 5.6, 20, 41.30},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        check_close("loss in air, um", "computed: ISO 9224, upper C5", cases[i].loss_um,
                    1e6 * bb_corrosion_air_loss_m(cases[i].material, cases[i].first_um * 1e-6,
                                                  BB_EXPONENT_MEAN, cases[i].years),
                    relative(3.1e-4)); /* half a unit of the last digit given */
}
END_TEST

START_TEST(both_branches_meet_at_twenty_years)
{
    const double h = 1e-4;
    for (size_t m = 0; m < sizeof metals / sizeof *metals; m++) {
        double before = bb_corrosion_air_loss_m(metals[m].material, 1.0, BB_EXPONENT_MEAN, 20 - h);
        double at = bb_corrosion_air_loss_m(metals[m].material, 1.0, BB_EXPONENT_MEAN, 20);
        double after = bb_corrosion_air_loss_m(metals[m].material, 1.0, BB_EXPONENT_MEAN, 20 + h);
        check_close("slope at 20 years, after and before", "equal value and slope",
                    (at - before) / h, (after - at) / h, relative(1e-5));
    }
}
END_TEST

START_TEST(sand_loss_is_a_constant_rate)
{
    reference *table = reference_open("reference/corrosion_rates.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        double rate = reference_number(table, i, "um_per_year");
        ck_assert(reference_number(table, i, "low_um_per_year") <= rate);
        ck_assert(reference_number(table, i, "high_um_per_year") >= rate);
        check_close("loss in sand, um", "reference/corrosion_rates.csv", 12.5 * 1.5 * rate,
                    1e6 * bb_corrosion_loss_m(reference_text(table, i, "material"), 12.5, 1.5),
                    relative(1e-12));
    }
    reference_close(table);
    ck_assert(bb_corrosion_loss_m("unobtainium", 10, 1) == 0.0);
    ck_assert(bb_corrosion_loss_m("", 10, 1) == 0.0);
    ck_assert(bb_corrosion_air_loss_m("gold", 1.0, BB_EXPONENT_MEAN, 10) == 0.0);
}
END_TEST

/* Every metal that may be named has a rate. */
START_TEST(no_metal_is_forgotten)
{
    reference *rates = reference_open("reference/corrosion_rates.csv");
    reference *table = reference_open("reference/materials.csv");
    ck_assert_uint_eq(reference_rows(table), reference_rows(rates));
    for (size_t i = 0; i < reference_rows(table); i++)
        ck_assert_str_eq(reference_text(table, i, "material"),
                         reference_text(rates, i, "material"));
    reference_close(table);
    reference_close(rates);
}
END_TEST

Suite *suite_corrosion(void);
Suite *suite_corrosion(void)
{
    Suite *suite = suite_create("corrosion");
    TCase *tests = tcase_create("corrosion");
    tcase_add_test(tests, air_loss_follows_the_published_multipliers);
    tcase_add_test(tests, air_loss_agrees_with_worked_values);
    tcase_add_test(tests, both_branches_meet_at_twenty_years);
    tcase_add_test(tests, sand_loss_is_a_constant_rate);
    tcase_add_test(tests, no_metal_is_forgotten);
    suite_add_tcase(suite, tests);
    return suite;
}
