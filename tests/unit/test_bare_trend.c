/* Bare sand with the hour against SciPy's line through the same sweeps. */
#include "brineband.h"
#include "compare.h"

#include <check.h>
#include <math.h>

#define CELL(h, n, c)                                                                              \
    {.zone = 1, .target = BB_TARGET_SAND, .hour = (h), .has_reading = true, .reading = (n), .count = (c)}

START_TEST(a_trend_is_the_line_through_all_sweeps)
{
    bb_cell cells[] = {CELL(10.1, 31, 1), CELL(10.1, 32, 1), CELL(10.1, 33, 1), CELL(10.5, 30, 1),
                       CELL(10.5, 31, 1), CELL(11.0, 29, 1), CELL(11.0, 30, 2), CELL(11.0, 31, 1),
                       CELL(11.7, 28, 1), CELL(11.7, 29, 1), CELL(11.7, 30, 1), CELL(NAN, 99, 9),
                       CELL(12.9, 99, 9), CELL(12.9, 99, 9)};
    const size_t count = sizeof cells / sizeof *cells;
    bb_visit visit = {.cells = cells, .cell_count = count};
    cells[count - 2].setting = 1;  /* something rejected */
    cells[count - 1].zone = 0;     /* another zone */
    const bb_bare_trend trend = bb_bare_trend_of(&visit, 1);
    ck_assert_double_eq(trend.sweeps, 12);
    check_close("hours of a trend", "as swept", 1.6, trend.hours, relative(1e-12));
    check_close("change over them, numbers", "SciPy 1.10.1, linregress", -2.8535031847133783, trend.change,
                relative(1e-10));
    check_close("its p value", "SciPy 1.10.1, linregress", 0.001672589077869814, trend.p_value, relative(1e-9));
}
END_TEST

START_TEST(too_few_sweeps_or_one_time_tell_no_trend)
{
    bb_cell cells[] = {CELL(10, 30, 2), CELL(11, 31, 1), CELL(12, 30, 1)};
    bb_visit visit = {.cells = cells, .cell_count = 2};
    ck_assert(isnan(bb_bare_trend_of(&visit, 1).p_value));
    visit.cell_count = 3;
    ck_assert(!isnan(bb_bare_trend_of(&visit, 1).p_value));
    cells[1].hour = cells[2].hour = 10;
    ck_assert(isnan(bb_bare_trend_of(&visit, 1).p_value));
    ck_assert(isnan(bb_bare_trend_of(&visit, 0).change));
}
END_TEST

START_TEST(numbers_that_never_change_have_no_trend_and_a_perfect_one_has)
{
    bb_cell cells[] = {CELL(10, 30, 3), CELL(11, 30, 3)};
    const bb_visit visit = {.cells = cells, .cell_count = 2};
    ck_assert_double_eq(bb_bare_trend_of(&visit, 1).p_value, 1);
    cells[1].reading = 31;
    const bb_bare_trend trend = bb_bare_trend_of(&visit, 1);
    ck_assert_double_eq(trend.p_value, 0);
    ck_assert_double_eq(trend.change, 1);
}
END_TEST

Suite *suite_bare_trend(void);
Suite *suite_bare_trend(void)
{
    Suite *suite = suite_create("bare trend");
    TCase *tests = tcase_create("bare trend");
    tcase_add_test(tests, a_trend_is_the_line_through_all_sweeps);
    tcase_add_test(tests, too_few_sweeps_or_one_time_tell_no_trend);
    tcase_add_test(tests, numbers_that_never_change_have_no_trend_and_a_perfect_one_has);
    suite_add_tcase(suite, tests);
    return suite;
}
