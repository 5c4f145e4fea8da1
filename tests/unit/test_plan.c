/* The next sweeps: optimal designs of small cases, and the rules that a plan keeps. */
#include "brineband.h"
#include "compare.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- designs */

enum { LEVELS = 5, TERMS_MOST = 4 };
static const double levels[LEVELS] = {-1, -0.5, 0, 0.5, 1};

static size_t terms_of(const char *model)
{
    size_t terms = 1;
    for (; *model != '\0'; model++)
        terms += *model == '+';
    return terms;
}

/* det X'X by elimination. */
static double information(const int *times, const double *gradient, size_t p)
{
    double m[TERMS_MOST][TERMS_MOST] = {{0}}, det = 1;
    for (size_t c = 0; c < LEVELS; c++)
        for (size_t i = 0; i < p; i++)
            for (size_t j = 0; j < p; j++)
                m[i][j] += times[c] * gradient[c * p + i] * gradient[c * p + j];
    for (size_t k = 0; k < p; k++) {
        det *= m[k][k];
        for (size_t i = k + 1; i < p; i++)
            for (size_t j = p; j-- > k;)
                m[i][j] -= m[i][k] / m[k][k] * m[k][j];
    }
    return det;
}

/* "-1.0 -1.0 0.0 1.0 | ...": is the design one of these? */
static bool is_listed(const char *optimal, const int *times)
{
    for (const char *at = optimal; *at != '\0'; at += strspn(at, " |")) {
        int listed[LEVELS] = {0};
        while (*at != '\0' && *at != '|') {
            char *end;
            const double level = strtod(at, &end);
            listed[(int)(2 * level) + 2]++;
            at = end + strspn(end, " ");
        }
        if (memcmp(listed, times, sizeof listed) == 0)
            return true;
    }
    return false;
}

START_TEST(small_designs_are_the_best_there_are)
{
    reference *table = reference_open("reference/d_optimal_exact.csv");
    for (size_t row = 0; row < reference_rows(table); row++) {
        const size_t p = terms_of(reference_text(table, row, "model"));
        double gradient[LEVELS * TERMS_MOST], covariance[TERMS_MOST * TERMS_MOST] = {0};
        double variance[LEVELS], before, after;
        int times[LEVELS];
        for (size_t c = 0; c < LEVELS; c++) {
            variance[c] = 1;
            for (size_t i = 0; i < p; i++)
                gradient[c * p + i] = pow(levels[c], (double)i);
        }
        for (size_t i = 0; i < p; i++)
            covariance[i * p + i] = 1e6; /* next to nothing known beforehand */
        const bb_design_problem problem = {.parameters = p,
                                           .covariance = covariance,
                                           .candidates = LEVELS,
                                           .gradient = gradient,
                                           .variance = variance,
                                           .runs = (size_t)reference_number(table, row, "n_runs")};
        ck_assert_int_eq(bb_design_choose(&problem, times, &before, &after), BB_OK);
        check_close("det X'X of an exact design", "exhaustive: reference/d_optimal_exact.csv",
                    reference_number(table, row, "det_XtX"), information(times, gradient, p),
                    relative(1e-12));
        ck_assert_msg(is_listed(reference_text(table, row, "optimal_runs"), times),
                      "%s, %s runs: another design", reference_text(table, row, "model"),
                      reference_text(table, row, "n_runs"));
        check_close("log det of the covariance after", "-ln det X'X, a wide prior",
                    -log(reference_number(table, row, "det_XtX")), after, absolute(1e-4));
    }
    reference_close(table);
}
END_TEST

/* ---------------------------------------------------------------- plans */

static const char beach[] = "[machine]\nscale_low = 0\nscale_high = 80\nfrequency_khz = 7\n"
                            "coil_diameter_cm = 28\n[beach]\nswing_height_cm = 5\nwater = sea\n"
                            "turn_back = 15:00\n[zone wet]\n[zone damp]\n";
static const char kit[] = "target,shape,material,diameter_mm,group\n"
                          "stud,sphere,gold 14ct,4,small gold\n"
                          "bead,sphere,gold 9ct,8,gold\n"
                          "ball,sphere,sterling silver,16,coin\n"
                          "scrap,sphere,aluminium,5,foil\n";

static void read_visit(const char *rows, bb_visit *visit)
{
    bb_error error = {0};
    *visit = (bb_visit){0};
    ck_assert_int_eq(bb_beach_read(beach, strlen(beach), "beach.ini", visit, &error), BB_OK);
    ck_assert_int_eq(bb_kit_read(kit, strlen(kit), "kit.csv", visit, &error), BB_OK);
    ck_assert_int_eq(bb_sweeps_read(rows, strlen(rows), "sweeps.csv", visit, &error), BB_OK);
}

static bb_plan *plan_of(const char *rows, int sweeps, double minutes)
{
    bb_visit visit;
    bb_plan *plan = NULL;
    const bb_plan_options options = {.sweeps = sweeps, .minutes = minutes};
    read_visit(rows, &visit);
    ck_assert_int_eq(bb_plan_new(&visit, NULL, &options, &plan, NULL), BB_OK);
    bb_visit_free(&visit);
    return plan;
}

static const char nothing[] = "zone,target,depth_cm,reading\n";

/* Bare pumps planned in a zone. */
static int pumps_in(const bb_plan *plan, int zone)
{
    int pumps = 0;
    for (size_t i = 0; i < plan->stop_count; i++)
        if (plan->stops[i].zone == zone && plan->stops[i].target == BB_TARGET_SAND)
            pumps += plan->stops[i].sweeps;
    return pumps;
}

START_TEST(home_comes_first_then_each_zone_once_with_its_bare_sand_first)
{
    bb_plan *plan = plan_of(nothing, 60, NAN);
    int last = BB_ZONE_AIR;
    bool home = false;
    for (size_t i = 0; i < plan->stop_count; i++) {
        const bb_plan_stop *stop = &plan->stops[i];
        ck_assert_int_ge(stop->zone, last);
        if (stop->zone != last)
            ck_assert_int_eq(stop->target, BB_TARGET_SAND);
        home |= stop->zone == BB_ZONE_AIR;
        last = stop->zone;
    }
    ck_assert(home);
    ck_assert_int_eq(last, 1);
    ck_assert_double_lt(plan->doubt_after, plan->doubt_before);
    bb_plan_free(plan);
}
END_TEST

START_TEST(bare_sand_is_pumped_15_times_and_on_to_25_until_settled)
{
    static const struct {
        const char *rows;
        int wet;
    } cases[] = {
        {"zone,target,depth_cm,reading\n", 15},
        {"zone,target,depth_cm,reading\nwet,sand,,23 22 24 23 22\n", 10},
        {"zone,target,depth_cm,reading\n"
         "wet,sand,,23 22 24 23 22 23 24 23 22 23 23 22 24 23 22\n", 0},
        {"zone,target,depth_cm,reading\n"
         "wet,sand,,23 22 24 23 22 23 24 23 22 23 23 22 24 23 26\n", 10},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        bb_plan *plan = plan_of(cases[i].rows, 60, NAN);
        ck_assert_int_eq(pumps_in(plan, 0), cases[i].wet);
        ck_assert_int_eq(pumps_in(plan, 1), 15);
        bb_plan_free(plan);
    }
}
END_TEST

START_TEST(two_minutes_a_quarter_and_an_hour_fit_their_time)
{
    static const double minutes[] = {2, 15, 60};
    double doubt = INFINITY;
    for (size_t i = 0; i < 3; i++) {
        bb_plan *plan = plan_of(nothing, 0, minutes[i]);
        ck_assert_double_le(plan->minutes_sand, minutes[i]);
        ck_assert_double_ge(plan->minutes_sand, 0.5 * minutes[i]); /* and use it */
        ck_assert_int_eq(pumps_in(plan, 0), 15);
        double sand = 0;
        for (size_t k = 0; k < plan->stop_count; k++) {
            sand += plan->stops[k].zone == BB_ZONE_AIR ? 0 : plan->stops[k].minutes;
            if (i == 0)
                ck_assert(plan->stops[k].zone == BB_ZONE_AIR ||
                          plan->stops[k].target == BB_TARGET_SAND);
        }
        check_close("minutes on the sand", "the sum over its stops", sand, plan->minutes_sand,
                    absolute(1e-9));
        ck_assert_double_le(plan->doubt_after, doubt);
        doubt = plan->doubt_after;
        bb_plan_free(plan);
    }
}
END_TEST

START_TEST(raising_the_coil_comes_before_digging_a_hole)
{
    bb_plan *plan = plan_of(nothing, 0, 15);
    int raised = 0, buried = 0;
    for (size_t i = 0; i < plan->stop_count; i++) {
        const bb_plan_stop *stop = &plan->stops[i];
        raised += stop->zone != BB_ZONE_AIR && stop->depth_m == 0 && stop->height_m > 0.05 + 1e-9;
        buried += stop->zone != BB_ZONE_AIR && stop->target >= 0 && stop->depth_m > 0;
    }
    ck_assert_int_gt(raised, 3);
    ck_assert_int_eq(buried, 0);
    bb_plan_free(plan);
}
END_TEST

START_TEST(plans_out_of_range_are_refused)
{
    bb_visit visit;
    bb_plan *plan = NULL;
    const bb_plan_options wrong[] = {{-1, NAN}, {401, NAN}, {10, 0}, {10, -1}};
    read_visit(nothing, &visit);
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        ck_assert_int_eq(bb_plan_new(&visit, NULL, &wrong[i], &plan, NULL), BB_RANGE);
    ck_assert_ptr_null(plan);
    bb_plan_free(NULL);
    bb_visit_free(&visit);
}
END_TEST

Suite *suite_plan(void);
Suite *suite_plan(void)
{
    Suite *suite = suite_create("plan");
    TCase *cases = tcase_create("plan");
    tcase_set_timeout(cases, 60);
    tcase_add_test(cases, small_designs_are_the_best_there_are);
    tcase_add_test(cases, home_comes_first_then_each_zone_once_with_its_bare_sand_first);
    tcase_add_test(cases, bare_sand_is_pumped_15_times_and_on_to_25_until_settled);
    tcase_add_test(cases, two_minutes_a_quarter_and_an_hour_fit_their_time);
    tcase_add_test(cases, raising_the_coil_comes_before_digging_a_hole);
    tcase_add_test(cases, plans_out_of_range_are_refused);
    suite_add_tcase(suite, cases);
    return suite;
}
