/* The choice of bands against trying every set. */
#include "brineband.h"
#include "cases.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SCALE_MAX = 40, ROWS_MAX = 8 };

/* ---------------------------------------------------------------- random cases */

static unsigned long long state;

static double uniform(void)
{
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return (double)(state >> 11) * 0x1p-53;
}

static int below(int n)
{
    return (int)(uniform() * n);
}

typedef struct {
    bb_band_problem problem;
    double sand[ROWS_MAX * SCALE_MAX], loss[ROWS_MAX * SCALE_MAX];
} random_case;

/* A row that sums to at most 1: a hump, noise, or few coarse steps that make ties. */
static void random_row(double *row, int numbers, int kind)
{
    double sum = 0.0, centre = uniform() * numbers, width = 0.5 + uniform() * numbers / 3.0;
    for (int n = 0; n < numbers; n++) {
        double x = (n - centre) / width;
        row[n] = kind == 0 ? exp(-x * x) : kind == 1 ? uniform() : below(4);
        sum += row[n];
    }
    if (kind == 2) {
        for (int n = 0; n < numbers; n++)
            row[n] = row[n] / 4.0 / numbers;
    } else {
        double share = below(2) ? 1.0 : uniform();
        for (int n = 0; n < numbers; n++)
            row[n] *= share / sum;
    }
}

static void random_problem(random_case *c, int numbers, int at_most)
{
    static const double quiets[] = {0.95, 0.9, 0.75, 0.5, 0.99, 1.0};
    static const double losses[] = {0.05, 0.1, 0.25, 0.5, 0.01, 0.0, 1.0};
    int zones = 1 + below(3), rows = below(5), kind = below(3);
    c->problem = (bb_band_problem){
        .numbers = (size_t)numbers,
        .zones = (size_t)zones,
        .losses = (size_t)rows,
        .sand = c->sand,
        .loss = c->loss,
        .at_most = at_most,
        .quiet = quiets[below(6)],
        .max_loss = losses[below(7)],
    };
    for (int z = 0; z < zones; z++)
        random_row(c->sand + z * numbers, numbers, kind);
    for (int l = 0; l < rows; l++)
        random_row(c->loss + l * numbers, numbers, below(4) ? kind : below(3));
}

/* ---------------------------------------------------------------- every set */

/* Visit every set of 0 to at_most bands in lexicographic order; fill scores. */
typedef struct {
    const bb_band_problem *problem;
    bb_band_choice *sets;
    size_t count, room;
} listing;

static void list_sets(listing *l, bb_band_choice *so_far, int from)
{
    if (l->count == l->room) {
        l->room = l->room ? 2 * l->room : 1024;
        l->sets = realloc(l->sets, l->room * sizeof *l->sets);
    }
    ck_assert_int_eq(bb_bands_score(l->problem, so_far), BB_OK);
    l->sets[l->count++] = *so_far;
    if (so_far->count == l->problem->at_most)
        return;
    int k = so_far->count++;
    for (int low = from; low < (int)l->problem->numbers; low++)
        for (int high = low; high < (int)l->problem->numbers; high++) {
            so_far->band[k].low = low;
            so_far->band[k].high = high;
            list_sets(l, so_far, high + 2);
        }
    so_far->count--;
}

static bool lexicographically_lower(const bb_band_choice *a, const bb_band_choice *b)
{
    for (int i = 0; i < a->count && i < b->count; i++) {
        if (a->band[i].low != b->band[i].low)
            return a->band[i].low < b->band[i].low;
        if (a->band[i].high != b->band[i].high)
            return a->band[i].high < b->band[i].high;
    }
    return a->count < b->count;
}

/* The rule, wish after wish, over a list. False when no set is within the limits. */
static bool best_of(const listing *l, double quiet, double max_loss, bb_band_choice *best)
{
    int numbers = BB_NUMBERS_MAX + 1;
    double silence = -1.0, loss = 2.0;
    bool found = false;
    for (int wish = 0; wish < 4; wish++)
        for (size_t i = 0; i < l->count; i++) {
            const bb_band_choice *s = &l->sets[i];
            if (s->worst_silence < quiet - 1e-12 || s->worst_loss > max_loss + 1e-12)
                continue;
            if (wish == 0 && s->numbers < numbers)
                numbers = s->numbers;
            if (s->numbers > numbers)
                continue;
            if (wish == 1 && s->mean_silence > silence)
                silence = s->mean_silence;
            if (wish > 1 && s->mean_silence < silence - 1e-9)
                continue;
            if (wish == 2 && s->worst_loss < loss)
                loss = s->worst_loss;
            if (wish < 3 || s->worst_loss > loss + 1e-9)
                continue;
            if (!found || s->count < best->count ||
                (s->count == best->count && lexicographically_lower(s, best)))
                *best = *s;
            found = true;
        }
    return found;
}

static void check_same(const bb_band_choice *wanted, const bb_band_choice *got, int at)
{
    ck_assert_msg(got->numbers == wanted->numbers, "case %d: wanted %d numbers, got %d", at,
                  wanted->numbers, got->numbers);
    ck_assert_msg(got->count == wanted->count, "case %d: wanted %d bands, got %d", at,
                  wanted->count, got->count);
    for (int i = 0; i < wanted->count; i++)
        ck_assert_msg(got->band[i].low == wanted->band[i].low &&
                          got->band[i].high == wanted->band[i].high,
                      "case %d band %d: wanted %d-%d, got %d-%d", at, i, wanted->band[i].low,
                      wanted->band[i].high, got->band[i].low, got->band[i].high);
    ck_assert_double_eq_tol(got->mean_silence, wanted->mean_silence, 1e-13);
    ck_assert_double_eq_tol(got->worst_loss, wanted->worst_loss, 1e-13);
}

static void check_case(const random_case *c, int at)
{
    bb_band_choice so_far = {0}, wanted = {0}, got = {0};
    listing l = {.problem = &c->problem};
    list_sets(&l, &so_far, 0);
    double quiet = c->problem.quiet, max_loss = c->problem.max_loss;
    bool possible = best_of(&l, quiet, max_loss, &wanted);
    ck_assert_int_eq(bb_bands_choose(&c->problem, &got), possible ? BB_OK : BB_TOO_LITTLE);
    if (possible)
        check_same(&wanted, &got, at);

    double silence = 0.0, loss = 2.0;
    for (size_t i = 0; i < l.count; i++) {
        if (l.sets[i].worst_loss <= max_loss + 1e-12)
            silence = fmax(silence, l.sets[i].worst_silence);
        if (l.sets[i].worst_silence >= quiet - 1e-12)
            loss = fmin(loss, l.sets[i].worst_loss);
    }
    ck_assert(best_of(&l, silence - 0.01, max_loss, &wanted));
    ck_assert_int_eq(bb_bands_gold_first(&c->problem, &got), BB_OK);
    check_same(&wanted, &got, at);
    possible = best_of(&l, quiet, loss + 0.001, &wanted);
    ck_assert_int_eq(bb_bands_quiet_first(&c->problem, &got), possible ? BB_OK : BB_TOO_LITTLE);
    if (possible)
        check_same(&wanted, &got, at);
    int most = below(c->problem.at_most > 0 ? (int)c->problem.numbers + 1 : 1);
    silence = 0.0;
    for (size_t i = 0; i < l.count; i++)
        if (l.sets[i].worst_loss <= max_loss + 1e-12 && l.sets[i].numbers <= most)
            silence = fmax(silence, l.sets[i].worst_silence);
    ck_assert(best_of(&l, silence - 1e-9, max_loss, &wanted));
    ck_assert_int_eq(bb_bands_of_numbers(&c->problem, most, &got), BB_OK);
    check_same(&wanted, &got, at);
    free(l.sets);
}

START_TEST(equal_to_every_set_tried)
{
    static const struct {
        int at_most, numbers, cases;
    } sizes[] = {{1, 16, 3000}, {2, 12, 4000}, {3, 10, 1000}, {4, 9, 300}, {0, 6, 50}};
    const size_t i = (size_t)_i;
    state = 20260509 + (unsigned)_i;
    for (int at = 0; at < CASES(sizes[i].cases, sizes[i].cases / 10 + 1); at++) {
        random_case c;
        random_problem(&c, 1 + below(sizes[i].numbers), sizes[i].at_most);
        check_case(&c, at);
    }
}
END_TEST

/* ---------------------------------------------------------------- properties */

enum { PROPERTY_CASES = 200 };

static void medium_case(random_case *c, int at)
{
    state = 77 + (unsigned)at;
    random_problem(c, 20 + below(21), 1 + below(4));
    c->problem.quiet = 0.5 + 0.45 * uniform();
    c->problem.max_loss = 0.2 + 0.7 * uniform();
}

static bb_status choose(const random_case *c, bb_band_choice *choice)
{
    *choice = (bb_band_choice){0};
    return bb_bands_choose(&c->problem, choice);
}

static void swap_rows(double *rows, size_t numbers, size_t a, size_t b)
{
    for (size_t n = 0; n < numbers; n++) {
        double kept = rows[a * numbers + n];
        rows[a * numbers + n] = rows[b * numbers + n];
        rows[b * numbers + n] = kept;
    }
}

START_TEST(the_order_of_rows_is_of_no_matter)
{
    for (int at = 0; at < PROPERTY_CASES; at++) {
        random_case c;
        bb_band_choice before, after;
        medium_case(&c, at);
        bb_status status = choose(&c, &before);
        swap_rows(c.sand, c.problem.numbers, 0, c.problem.zones - 1);
        if (c.problem.losses > 1)
            swap_rows(c.loss, c.problem.numbers, 0, c.problem.losses - 1);
        ck_assert_int_eq(choose(&c, &after), status);
        if (status == BB_OK)
            check_same(&before, &after, at);
    }
}
END_TEST

START_TEST(a_mirrored_scale_is_as_good)
{
    for (int at = 0; at < PROPERTY_CASES; at++) {
        random_case c, mirrored;
        bb_band_choice before, after;
        medium_case(&c, at);
        mirrored = c;
        mirrored.problem.sand = mirrored.sand;
        mirrored.problem.loss = mirrored.loss;
        size_t numbers = c.problem.numbers;
        for (size_t i = 0; i < numbers; i++) {
            for (size_t z = 0; z < c.problem.zones; z++)
                mirrored.sand[z * numbers + i] = c.sand[(z + 1) * numbers - 1 - i];
            for (size_t l = 0; l < c.problem.losses; l++)
                mirrored.loss[l * numbers + i] = c.loss[(l + 1) * numbers - 1 - i];
        }
        bb_status status = choose(&c, &before);
        ck_assert_int_eq(choose(&mirrored, &after), status);
        if (status != BB_OK)
            continue;
        ck_assert_int_eq(before.numbers, after.numbers);
        ck_assert_int_eq(before.count, after.count);
        ck_assert_double_eq_tol(before.mean_silence, after.mean_silence, 1e-9);
        ck_assert_double_eq_tol(before.worst_loss, after.worst_loss, 1e-9);
    }
}
END_TEST

START_TEST(a_row_without_loss_changes_nothing)
{
    for (int at = 0; at < PROPERTY_CASES; at++) {
        random_case c;
        bb_band_choice before, after;
        medium_case(&c, at);
        bb_status status = choose(&c, &before);
        memset(c.loss + c.problem.losses * c.problem.numbers, 0, c.problem.numbers * sizeof *c.loss);
        c.problem.losses++;
        ck_assert_int_eq(choose(&c, &after), status);
        if (status == BB_OK)
            check_same(&before, &after, at);
    }
}
END_TEST

START_TEST(more_bands_never_need_more_numbers)
{
    for (int at = 0; at < PROPERTY_CASES; at++) {
        random_case c;
        bb_band_choice choices[BB_BANDS_MAX + 1] = {{0}};
        medium_case(&c, at);
        c.problem.at_most = BB_BANDS_MAX;
        ck_assert_int_eq(bb_bands_frontier(&c.problem, choices), BB_OK);
        for (int b = 1; b <= BB_BANDS_MAX; b++) {
            double quiet = c.problem.quiet - 1e-12;
            ck_assert_int_le(choices[b].count, b);
            ck_assert(choices[b].worst_loss <= c.problem.max_loss + 1e-12);
            if (choices[b - 1].worst_silence >= quiet) {
                ck_assert(choices[b].worst_silence >= quiet);
                ck_assert_int_le(choices[b].numbers, choices[b - 1].numbers);
            } else {
                ck_assert(choices[b].worst_silence >= fmin(choices[b - 1].worst_silence, quiet) -
                                                          0.01);
            }
        }
    }
}
END_TEST

START_TEST(a_quieter_wish_never_needs_fewer_numbers)
{
    for (int at = 0; at < PROPERTY_CASES; at++) {
        random_case c;
        bb_band_choice loose, tight;
        medium_case(&c, at);
        bb_status status = choose(&c, &loose);
        c.problem.quiet += 0.02;
        bb_status tighter = choose(&c, &tight);
        if (tighter != BB_OK)
            continue;
        ck_assert_int_eq(status, BB_OK);
        ck_assert_int_le(loose.numbers, tight.numbers);
    }
}
END_TEST

/* ---------------------------------------------------------------- the ends of the range */

static const double five_numbers[] = {0.1, 0.3, 0.4, 0.1, 0.05};

static bb_band_problem small_problem(const double *sand, const double *loss)
{
    return (bb_band_problem){.numbers = 5,
                             .zones = 1,
                             .losses = loss != NULL,
                             .sand = sand,
                             .loss = loss,
                             .at_most = 2,
                             .quiet = 0.95,
                             .max_loss = 0.05};
}

START_TEST(a_quiet_beach_needs_no_band)
{
    static const double quiet_sand[5] = {0.01, 0.02, 0.01, 0.0, 0.01};
    bb_band_problem p = small_problem(quiet_sand, five_numbers);
    bb_band_choice choice = {.count = 3};
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_OK);
    ck_assert_int_eq(choice.count, 0);
    ck_assert_int_eq(choice.numbers, 0);
    ck_assert_double_eq_tol(choice.worst_silence, 0.95, 1e-12);
    ck_assert_double_eq(choice.worst_loss, 0.0);
}
END_TEST

START_TEST(no_zone_needs_no_band)
{
    bb_band_problem p = small_problem(NULL, five_numbers);
    p.zones = 0;
    bb_band_choice choice = {0};
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_OK);
    ck_assert_int_eq(choice.numbers, 0);
    ck_assert_double_eq(choice.worst_silence, 1.0);
    ck_assert_int_eq(bb_bands_gold_first(&p, &choice), BB_OK);
    ck_assert_int_eq(bb_bands_quiet_first(&p, &choice), BB_OK);
    ck_assert_int_eq(choice.numbers, 0);
}
END_TEST

START_TEST(gold_that_sounds_like_sand_leaves_no_set)
{
    bb_band_problem p = small_problem(five_numbers, five_numbers);
    bb_band_choice choice = {.count = 7};
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_TOO_LITTLE);
    ck_assert_int_eq(choice.count, 7); /* untouched */
    ck_assert_int_eq(bb_bands_gold_first(&p, &choice), BB_OK);
    ck_assert_double_eq_tol(choice.worst_loss, 0.05, 1e-12);
    ck_assert_int_eq(bb_bands_quiet_first(&p, &choice), BB_OK);
    ck_assert_double_eq_tol(choice.worst_loss, 0.9, 1e-12);
    ck_assert_int_eq(choice.numbers, 4);
}
END_TEST

START_TEST(a_limit_met_exactly_is_met)
{
    /* 0.1 + 0.3 + 0.4 + 0.1 misses 0.9 in binary. */
    static const double gold[5] = {0.1, 0.1, 0.1, 0.0, 0.7};
    bb_band_problem p = small_problem(five_numbers, gold);
    p.max_loss = 0.3;
    bb_band_choice choice = {0};
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_OK);
    ck_assert_int_eq(choice.count, 1);
    ck_assert_int_eq(choice.band[0].low, 0);
    ck_assert_int_eq(choice.band[0].high, 3);
}
END_TEST

START_TEST(what_is_no_problem_is_refused)
{
    static const double negative[5] = {-0.1, 0.3, 0.4, 0.1, 0.05}, over[5] = {1.0, 0.1, 0, 0, 0},
                        not_a_number[5] = {NAN, 0.3, 0.4, 0.1, 0.05};
    bb_band_choice choice = {.count = 7};
    bb_band_problem p = small_problem(negative, NULL);
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.sand = not_a_number;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.sand = over;
    ck_assert_int_eq(bb_bands_gold_first(&p, &choice), BB_RANGE);
    p = small_problem(five_numbers, over);
    ck_assert_int_eq(bb_bands_quiet_first(&p, &choice), BB_RANGE);
    p = small_problem(five_numbers, NULL);
    p.at_most = BB_BANDS_MAX + 1;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.at_most = -1;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.at_most = 1;
    p.patience = -1;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.patience = 0;
    p.max_loss = -0.1;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.max_loss = 0.05;
    p.quiet = 1.5;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.quiet = NAN;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.quiet = 0.9;
    p.numbers = 0;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.numbers = BB_NUMBERS_MAX + 1;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.numbers = 5;
    p.sand = NULL;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.sand = five_numbers;
    p.losses = 1;
    ck_assert_int_eq(bb_bands_choose(&p, &choice), BB_RANGE);
    p.losses = 0;
    ck_assert_int_eq(bb_bands_of_numbers(&p, -1, &choice), BB_RANGE);
    ck_assert_int_eq(choice.count, 7);
}
END_TEST

START_TEST(bands_that_touch_or_stray_are_not_scored)
{
    bb_band_problem p = small_problem(five_numbers, five_numbers);
    static const int bad[][4] = {{0, 1, 2, 3}, {3, 4, 0, 1}, {0, 1, 3, 5}, {2, 1, 4, 4}, {-1, 0, 2, 3}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        bb_band_choice choice = {.count = 2,
                                 .band = {{bad[i][0], bad[i][1]}, {bad[i][2], bad[i][3]}}};
        ck_assert_int_eq(bb_bands_score(&p, &choice), BB_RANGE);
    }
    bb_band_choice choice = {.count = -1};
    ck_assert_int_eq(bb_bands_score(&p, &choice), BB_RANGE);
    choice.count = BB_BANDS_MAX + 1;
    ck_assert_int_eq(bb_bands_score(&p, &choice), BB_RANGE);
    choice = (bb_band_choice){.count = 2, .band = {{0, 1}, {3, 4}}};
    ck_assert_int_eq(bb_bands_score(&p, &choice), BB_OK);
    ck_assert_int_eq(choice.numbers, 4);
    ck_assert_double_eq_tol(choice.worst_silence, 0.6, 1e-12);
    ck_assert_double_eq_tol(choice.worst_loss, 0.55, 1e-12);
}
END_TEST

/* ---------------------------------------------------------------- a search that is stopped */

static const double near_least = 0.001; /* how near quiet first comes to the least loss */

static int stopped_choice(bb_band_problem p, double patience)
{
    bb_band_choice whole = {.count = -1}, part = {.count = -1};
    bb_status sure = bb_bands_choose(&p, &whole);
    p.patience = patience;
    bb_status status = bb_bands_choose(&p, &part);
    if (status != BB_NOT_CONVERGED) {
        ck_assert_int_eq(status, sure);
        ck_assert_int_eq(part.numbers, whole.numbers);
        return 0;
    }
    if (part.count < 0)
        return 1;
    ck_assert_int_eq(sure, BB_OK);
    ck_assert(!part.proved && whole.proved);
    ck_assert_int_le(part.fewest, whole.numbers);
    ck_assert_int_ge(part.numbers, whole.numbers);
    ck_assert(part.worst_silence >= p.quiet - 1e-12 && part.worst_loss <= p.max_loss + 1e-12);
    return 1;
}

static int stopped_gold_first(bb_band_problem p, double patience)
{
    bb_band_choice whole = {.count = -1}, part = {.count = -1};
    ck_assert_int_eq(bb_bands_gold_first(&p, &whole), BB_OK);
    p.patience = patience;
    bb_status status = bb_bands_gold_first(&p, &part);
    ck_assert(status == BB_OK || status == BB_NOT_CONVERGED);
    ck_assert(part.worst_loss <= p.max_loss + 1e-12);
    ck_assert(part.most_silence >= whole.worst_silence);
    ck_assert(part.count > 0 || whole.count == 0); /* what was met is given */
    return status == BB_NOT_CONVERGED;
}

static int stopped_quiet_first(bb_band_problem p, double patience)
{
    bb_band_choice whole = {.count = -1}, part = {.count = -1};
    bb_status sure = bb_bands_quiet_first(&p, &whole);
    p.patience = patience;
    bb_status status = bb_bands_quiet_first(&p, &part);
    if (sure != BB_OK || part.count < 0)
        return 0;
    ck_assert(part.worst_silence >= p.quiet - 1e-12);
    ck_assert(part.least_loss <= whole.worst_loss);
    ck_assert(part.worst_loss >= whole.worst_loss - near_least);
    return status == BB_NOT_CONVERGED;
}

START_TEST(a_stopped_search_claims_no_more_than_it_proved)
{
    static const double patience[] = {1e-6, 1e-5, 1e-4};
    int stops[3] = {0};
    for (int at = 0; at < PROPERTY_CASES; at++) {
        random_case c;
        medium_case(&c, at);
        stops[0] += stopped_choice(c.problem, patience[at % 3]);
        stops[1] += stopped_gold_first(c.problem, patience[at % 3]);
        stops[2] += stopped_quiet_first(c.problem, patience[at % 3]);
    }
    for (int i = 0; i < 3; i++)
        ck_assert_int_gt(stops[i], PROPERTY_CASES / 20);
}
END_TEST

Suite *suite_bands(void);
Suite *suite_bands(void)
{
    Suite *suite = suite_create("bands");
    TCase *exact = tcase_create("against every set");
    tcase_set_timeout(exact, 120);
    tcase_add_loop_test(exact, equal_to_every_set_tried, 0, 5);
    suite_add_tcase(suite, exact);
    TCase *properties = tcase_create("properties");
    tcase_set_timeout(properties, 120);
    tcase_add_test(properties, the_order_of_rows_is_of_no_matter);
    tcase_add_test(properties, a_mirrored_scale_is_as_good);
    tcase_add_test(properties, a_row_without_loss_changes_nothing);
    tcase_add_test(properties, more_bands_never_need_more_numbers);
    tcase_add_test(properties, a_quieter_wish_never_needs_fewer_numbers);
    tcase_add_test(properties, a_stopped_search_claims_no_more_than_it_proved);
    suite_add_tcase(suite, properties);
    TCase *ends = tcase_create("ends");
    tcase_add_test(ends, a_quiet_beach_needs_no_band);
    tcase_add_test(ends, no_zone_needs_no_band);
    tcase_add_test(ends, gold_that_sounds_like_sand_leaves_no_set);
    tcase_add_test(ends, a_limit_met_exactly_is_met);
    tcase_add_test(ends, what_is_no_problem_is_refused);
    tcase_add_test(ends, bands_that_touch_or_stray_are_not_scored);
    suite_add_tcase(suite, ends);
    return suite;
}
