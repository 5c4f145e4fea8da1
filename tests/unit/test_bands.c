/* The choice of bands against trying every set. */
#include "brineband.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SCALE_MAX = 16, ROWS_MAX = 8 };

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
    ck_assert_msg(got->numbers == wanted->numbers, "case %d (%g %g) silence %g loss %g: wanted %d numbers, got %d", at,
                  got->worst_silence, got->worst_loss, wanted->worst_silence, wanted->worst_loss,
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
    possible = best_of(&l, quiet, loss + 1e-9, &wanted);
    ck_assert_int_eq(bb_bands_quiet_first(&c->problem, &got), possible ? BB_OK : BB_TOO_LITTLE);
    if (possible)
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
    for (int at = 0; at < sizes[i].cases; at++) {
        random_case c;
        random_problem(&c, 1 + below(sizes[i].numbers), sizes[i].at_most);
        check_case(&c, at);
    }
}
END_TEST

Suite *suite_bands(void);
Suite *suite_bands(void)
{
    Suite *suite = suite_create("bands");
    TCase *tests = tcase_create("exact");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, equal_to_every_set_tried, 0, 5);
    suite_add_tcase(suite, tests);
    return suite;
}
