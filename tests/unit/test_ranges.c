/* Ranges of numbers against every way of cutting a small scale, and the recheck against tables. */
#include "brineband.h"
#include "compare.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NUMBERS = 9, GROUPS = 3, AT_MOST = 4 };

/* A report of three groups on a scale of nine numbers: the sand and two pieces. */
typedef struct {
    double sand[NUMBERS], loss[2 * NUMBERS];
    bb_reject_zone zone;
    bb_reject_target targets[2];
    bb_reject reject;
} small_report;

static void report_of(small_report *report, double shows[GROUPS][NUMBERS])
{
    *report = (small_report){0};
    memcpy(report->sand, shows[0], sizeof report->sand);
    memcpy(report->loss, shows[1], 2 * sizeof shows[1]);
    for (int t = 0; t < 2; t++) {
        report->targets[t] = (bb_reject_target){.index = t, .audible = true};
        strcpy(report->targets[t].target.group, t == 0 ? "gold" : "foil");
    }
    report->reject = (bb_reject){.zones = &report->zone,
                                 .zone_count = 1,
                                 .targets = report->targets,
                                 .target_count = 2,
                                 .numbers = NUMBERS,
                                 .sand = report->sand,
                                 .loss = report->loss};
}

static const bb_machine machine = {
    .scale_low = 10, .scale_high = 10 + NUMBERS - 1, .scale_step = 1};

static double told(double shows[GROUPS][NUMBERS], int from, int to)
{
    double weight[GROUPS] = {0}, total = 0, sum = 0;
    for (int g = 0; g < GROUPS; g++)
        for (int n = from; n < to; n++) {
            weight[g] += shows[g][n];
            total += shows[g][n];
        }
    for (int g = 0; g < GROUPS; g++)
        sum += weight[g] > 0 ? weight[g] * log(weight[g] / total) : 0;
    return sum;
}

/* What the best of all ways to cut the scale into so many stretches tells. */
static double best_of_all(double shows[GROUPS][NUMBERS], int stretches)
{
    double best = -HUGE_VAL;
    for (unsigned cuts = 0; cuts < 1U << (NUMBERS - 1); cuts++) {
        double sum = 0;
        int from = 0, count = 0;
        for (int n = 1; n <= NUMBERS; n++)
            if (n == NUMBERS || (cuts >> (n - 1) & 1U)) {
                sum += told(shows, from, n);
                from = n;
                count++;
            }
        if (count == stretches && sum > best)
            best = sum;
    }
    return best;
}

static void check_small(double shows[GROUPS][NUMBERS])
{
    small_report report;
    report_of(&report, shows);
    bb_number_ranges *ranges;
    ck_assert_int_eq(bb_number_ranges_new(&report.reject, &machine, AT_MOST, &ranges), BB_OK);
    const double one = best_of_all(shows, 1), all = best_of_all(shows, NUMBERS);
    int fewest = 1;
    while (fewest < AT_MOST && best_of_all(shows, fewest) - one < 0.9 * (all - one))
        fewest++;
    ck_assert_uint_eq(ranges->count, (size_t)fewest);
    ck_assert_uint_eq(ranges->group_count, GROUPS);
    double sum = 0;
    for (size_t i = 0; i < ranges->count; i++) {
        double chances = 0, weight = 0;
        for (int n = 0; n < NUMBERS; n++)
            for (int g = 0; g < GROUPS; g++)
                if (machine.scale_low + n >= ranges->ranges[i].low &&
                    machine.scale_low + n <= ranges->ranges[i].high)
                    weight += shows[g][n];
        for (int g = 0; g < GROUPS; g++) {
            const double chance = ranges->ranges[i].chance[g];
            chances += chance;
            sum += chance > 0 ? weight * chance * log(chance) : 0;
        }
        check_close("chances of a range, sum", "definition", 1, chances, absolute(1e-12));
        ck_assert(i == 0 || ranges->ranges[i].low > ranges->ranges[i - 1].high);
    }
    check_close("what ranges tell, nats", "every cut tried", best_of_all(shows, fewest), sum,
                absolute(1e-9));
    bb_number_ranges_free(ranges);
}

START_TEST(they_tell_as_much_as_the_best_of_all_cuts)
{
    unsigned seed = 1;
    for (int trial = 0; trial < 40; trial++) {
        double shows[GROUPS][NUMBERS];
        for (int g = 0; g < GROUPS; g++)
            for (int n = 0; n < NUMBERS; n++) {
                seed =
                    seed * 1664525U + 1013904223U; /* Numerical Recipes' generator, from memory */
                shows[g][n] = (0.05 + (double)(seed >> 16) / 65536) / NUMBERS;
            }
        check_small(shows);
    }
}
END_TEST

START_TEST(groups_apart_get_a_range_each_without_the_empty_numbers_between)
{
    static double shows[GROUPS][NUMBERS] = {
        {0.5, 0.5}, {0, 0, 0, 0.5, 0.5}, {0, 0, 0, 0, 0, 0, 0, 0.5, 0.5}};
    small_report report;
    report_of(&report, shows);
    bb_number_ranges *ranges;
    ck_assert_int_eq(bb_number_ranges_new(&report.reject, &machine, AT_MOST, &ranges), BB_OK);
    ck_assert_uint_eq(ranges->count, 3);
    static const int ends[3][2] = {{10, 11}, {13, 14}, {17, 18}};
    for (int i = 0; i < 3; i++) {
        ck_assert_int_eq(ranges->ranges[i].low, ends[i][0]);
        ck_assert_int_eq(ranges->ranges[i].high, ends[i][1]);
        check_close("chance of the only group", "definition", 1, ranges->ranges[i].chance[i],
                    absolute(1e-12));
    }
    ck_assert_str_eq(ranges->groups[0], "bare sand");
    bb_number_ranges_free(ranges);
    ck_assert_int_eq(bb_number_ranges_new(&report.reject, &machine, 0, &ranges), BB_RANGE);
    ck_assert_int_eq(bb_number_ranges_new(&report.reject, &machine, NUMBERS + 1, &ranges),
                     BB_RANGE);
}
END_TEST

START_TEST(a_piece_too_deep_to_hear_is_no_likely_find)
{
    static double shows[GROUPS][NUMBERS] = {{0.5, 0.5}, {0}, {0, 0, 0, 0, 0, 0, 0, 0.5, 0.5}};
    small_report report;
    report_of(&report, shows);
    report.targets[0].audible = false;
    bb_number_ranges *ranges;
    ck_assert_int_eq(bb_number_ranges_new(&report.reject, &machine, AT_MOST, &ranges), BB_OK);
    ck_assert_uint_eq(ranges->group_count, 2);
    ck_assert_str_eq(ranges->groups[1], "foil");
    bb_number_ranges_free(ranges);
}
END_TEST

START_TEST(a_recheck_allows_what_chance_does)
{
    reference *table = reference_open("reference/recheck.csv");
    for (size_t row = 0; row < reference_rows(table); row++) {
        const bb_reject_score score = {.worst_silence = 1 - reference_number(table, row, "share")};
        check_close("sounds allowed in a recheck", reference_text(table, row, "source"),
                    reference_number(table, row, "most"),
                    bb_reject_recheck(&score, (int)reference_number(table, row, "sweeps")),
                    absolute(0));
    }
    reference_close(table);
}
END_TEST

Suite *suite_ranges(void);
Suite *suite_ranges(void)
{
    Suite *suite = suite_create("ranges");
    TCase *tests = tcase_create("ranges");
    tcase_add_test(tests, they_tell_as_much_as_the_best_of_all_cuts);
    tcase_add_test(tests, groups_apart_get_a_range_each_without_the_empty_numbers_between);
    tcase_add_test(tests, a_piece_too_deep_to_hear_is_no_likely_find);
    tcase_add_test(tests, a_recheck_allows_what_chance_does);
    suite_add_tcase(suite, tests);
    return suite;
}
