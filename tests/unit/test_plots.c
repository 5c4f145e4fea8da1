/* Plots of a fit, a check and a history: every text to be read, with short names and long ones. */
#include "../../cli/plot_check.h"
#include "../../cli/plot_fit.h"
#include "../../cli/plot_history.h"
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
    const simulation how = {.family = FAMILY_INSIDE, .kind = VISIT_QUARTER, .seed = 7};
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

/* The visit, many times over, now and then without its date and its first zone. */
static void check_history_plot(const char *title)
{
    enum { VISITS = 40 };
    static past_visit visits[VISITS];
    bb_prediction sand[BB_ZONES_MAX];
    double bare[BB_ZONES_MAX] = {0};
    struct page page;
    for (size_t z = 0; z < profile->zone_count; z++)
        ck_assert_int_eq(bb_predict_sand(predictor, (int)z, &sand[z], NULL), BB_OK);
    for (size_t i = 0; i < VISITS; i++) {
        const size_t from = i % 3 == 1 ? 1 : 0;
        visits[i] = (past_visit){.path = "a/long/way/to/the/folder/of/this/profile.json",
                                 .machine = profile->machine,
                                 .zone_count = profile->zone_count - from,
                                 .zones = profile->zones + from,
                                 .sand = sand + from,
                                 .bare = bare,
                                 .bands = {2, {{3, 5}, {17, 21}}}};
        if (i % 7 != 0)
            (void)snprintf(visits[i].date, sizeof visits[i].date, "2026-05-%.2zu", i % 30 + 1);
    }
    ck_assert_int_eq(plot_history(PAGE_SVG, visits, VISITS, &page), OUTCOME_DONE);
    check_readable(&page, title);
    page_free(&page);
}

static void check_plots(bool long_names)
{
    learn(long_names);
    check_fit_plot(long_names ? "fit, long names" : "fit");
    check_check_plot(long_names ? "check, long names" : "check");
    check_history_plot(long_names ? "history, long names" : "history");
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
