/* Ranges of numbers against every way of cutting a small scale, and the recheck against tables. */
#include "compare.h"
#include "judge.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NUMBERS = 9, GROUPS = 3, AT_MOST = 4 };

/* A judge of three groups on a scale of nine numbers. */
static bb_model model = {
    .machine = {.scale_low = 10, .scale_high = 10 + NUMBERS - 1, .scale_step = 1}};
static bb_predictor predictor = {.model = &model};

static void judge_of(bb_judge *judge, double shows[GROUPS][NUMBERS])
{
    static const char *const names[GROUPS] = {"gold", "foil", "bare sand"};
    memset(judge, 0, sizeof *judge);
    judge->predictor = &predictor;
    judge->numbers = NUMBERS;
    judge->classes = GROUPS;
    judge->chance = shows[0];
    for (int g = 0; g < GROUPS; g++) {
        judge->rates.mean[g] = 1.0 / GROUPS;
        strcpy(judge->candidates.groups[g].name, names[g]);
    }
}

static bb_status ranges_of(double shows[GROUPS][NUMBERS], size_t at_most, bb_number_ranges **ranges)
{
    static bb_judge judge;
    const bb_judge *const judges[] = {&judge};
    judge_of(&judge, shows);
    return bb_number_ranges_new(judges, 1, at_most, ranges);
}

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
    bb_number_ranges *ranges;
    ck_assert_int_eq(ranges_of(shows, AT_MOST, &ranges), BB_OK);
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
                if (model.machine.scale_low + n >= ranges->ranges[i].low &&
                    model.machine.scale_low + n <= ranges->ranges[i].high)
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
    bb_number_ranges *ranges;
    ck_assert_int_eq(ranges_of(shows, AT_MOST, &ranges), BB_OK);
    ck_assert_uint_eq(ranges->count, 3);
    static const int ends[3][2] = {{10, 11}, {13, 14}, {17, 18}};
    for (int i = 0; i < 3; i++) {
        ck_assert_int_eq(ranges->ranges[i].low, ends[i][0]);
        ck_assert_int_eq(ranges->ranges[i].high, ends[i][1]);
        check_close("chance of the only group", "definition", 1, ranges->ranges[i].chance[i],
                    absolute(1e-12));
    }
    ck_assert_str_eq(ranges->groups[GROUPS - 1], "bare sand");
    bb_number_ranges_free(ranges);
    ck_assert_int_eq(ranges_of(shows, 0, &ranges), BB_RANGE);
    ck_assert_int_eq(ranges_of(shows, NUMBERS + 1, &ranges), BB_RANGE);
}
END_TEST

START_TEST(a_group_met_more_often_and_in_more_zones_weighs_more)
{
    static double shows[GROUPS][NUMBERS] = {{1}, {1}, {0, 0, 0, 0, 0, 0, 0, 0, 1}};
    static bb_judge near_sea, above;
    const bb_judge *const judges[] = {&near_sea, &above};
    bb_number_ranges *ranges;
    judge_of(&near_sea, shows);
    judge_of(&above, shows);
    near_sea.rates.mean[0] = 0.5;
    near_sea.rates.mean[1] = 0.1;
    near_sea.rates.mean[2] = 0.4;
    ck_assert_int_eq(bb_number_ranges_new(judges, 2, AT_MOST, &ranges), BB_OK);
    check_close("chance over two zones", "sum of rates", (0.5 + 1.0 / 3) / (0.6 + 2.0 / 3),
                ranges->ranges[0].chance[0], absolute(1e-12));
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
    tcase_add_test(tests, a_group_met_more_often_and_in_more_zones_weighs_more);
    tcase_add_test(tests, a_recheck_allows_what_chance_does);
    suite_add_tcase(suite, tests);
    return suite;
}
