/* Plots of a fit and of a check: every text to be read, with short names and long ones. */
#include "../../cli/plot_check.h"
#include "../../cli/plot_fit.h"
#include "simulate/simulate.h"
#include "text_boxes.h"

#include <check.h>
#include <stdio.h>

static bb_visit visit;
static bb_profile *profile;
static bb_predictor *predictor;

static void lengthen_names(void)
{
    for (size_t k = 0; k < visit.target_count; k++)
        (void)snprintf(visit.targets[k].name, BB_NAME_BYTES,
                       "%.2zu half a fine chain of one mm, clasp shut", k);
    for (size_t z = 0; z < visit.zone_count; z++)
        (void)snprintf(visit.zones[z].name, BB_NAME_BYTES, "%.2zu the bar beyond the groyne", z);
}

static void learn(bool long_names)
{
    static simulated_visit simulated;
    const simulation how = {FAMILY_INSIDE, VISIT_QUARTER, 7, 0};
    bb_error error = {0};
    ck_assert(visit_simulate(&how, &simulated));
    ck_assert_int_eq(simulated_visit_read(&simulated, &visit, &error), BB_OK);
    if (long_names)
        lengthen_names();
    ck_assert_int_eq(bb_fit(&visit, NULL, &profile, &error), BB_OK);
    ck_assert_int_eq(bb_predictor_new(profile, &predictor, &error), BB_OK);
}

static void forget(void)
{
    bb_predictor_free(predictor);
    bb_profile_free(profile);
    bb_visit_free(&visit);
}

static void check_readable(const struct page *page, const char *title)
{
    ck_assert_uint_gt(page->box_count, 40);
    check_none_cut(page, title);
    check_none_over_another(page, title);
}

static void check_fit_plot(const char *title)
{
    struct page page;
    ck_assert_int_eq(plot_fit(PAGE_SVG, &visit, profile, &page), OUTCOME_DONE);
    check_readable(&page, title);
    page_free(&page);
}

static void check_check_plot(const char *title)
{
    const bb_reject_options options = bb_reject_defaults();
    bb_reject *reject = NULL;
    struct check_plot plot = {.profile = profile};
    bb_check *check = NULL;
    struct page page;
    bb_error error = {0};
    ck_assert_int_eq(bb_reject_new(predictor, &options, &reject, &error), BB_OK);
    ck_assert_int_eq(bb_check_new(predictor, &visit, &reject->chosen.bands, 0.95, &check, &error),
                     BB_OK);
    ck_assert_int_eq(departures_find(predictor, profile, &visit, &plot.fresh), BB_OK);
    plot.reject = reject;
    plot.asked = &reject->chosen;
    plot.check = check;
    ck_assert_int_eq(plot_check(PAGE_PDF, &plot, &page), OUTCOME_DONE);
    check_readable(&page, title);
    page_free(&page);
    departures_free(&plot.fresh);
    bb_check_free(check);
    bb_reject_free(reject);
}

static void check_plots(bool long_names)
{
    learn(long_names);
    check_fit_plot(long_names ? "fit, long names" : "fit");
    check_check_plot(long_names ? "check, long names" : "check");
    forget();
}

START_TEST(no_text_of_a_plot_is_cut_or_covered)
{
    check_plots(false);
    check_plots(true);
}
END_TEST

Suite *suite_plots(void);
Suite *suite_plots(void)
{
    Suite *suite = suite_create("plots");
    TCase *tests = tcase_create("plots");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, no_text_of_a_plot_is_cut_or_covered);
    suite_add_tcase(suite, tests);
    return suite;
}
