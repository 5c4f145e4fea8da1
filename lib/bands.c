/* Which numbers to reject: the fewest that quiet every zone and keep every wanted target. */
#include "band_search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Chances become whole numbers of 1e-15, so that sums are exact in any order; 1,000 numbers
 * round by less than 5e-13, half the slack of a limit. */
static const double WHOLE = 1e15;
static const int64_t SLACK = 1000;     /* 1e-12 */
static const int64_t TIE = 1000000;    /* 1e-9 */
static const int64_t SETTLED = 100000; /* 1e-10: no smaller gain in silence or loss is sought */
static const double NEAR_BEST = 0.01, NEAR_LEAST = 0.001;
static const double SUM_MAX = 1.0 + 1e-9;

enum { LISTED = 4 };

/* Rows of the search: one a zone (minus the chance silenced), one a loss, the count of numbers,
 * and minus the chance silenced over all zones. */
typedef struct {
    const bb_band_problem *problem;
    bb_band_rows rows;
    bb_band_search search;
    bb_band_goal zones, losses, count, mean;
    int fewest;                       /* no set within the limits has fewer numbers */
    double most_silence, least_loss;  /* nor is any quieter, nor loses less */
} finder;

static bool is_chance(double x)
{
    return x >= 0.0 && x <= 1.0;
}

static bool rows_valid(const double *rows, size_t count, size_t numbers)
{
    for (size_t r = 0; r < count; r++) {
        double sum = 0.0;
        for (size_t n = 0; n < numbers; n++) {
            double p = rows[r * numbers + n];
            if (!is_chance(p))
                return false;
            sum += p;
        }
        if (sum > SUM_MAX)
            return false;
    }
    return true;
}

static bool problem_valid(const bb_band_problem *p)
{
    return p->numbers >= 1 && p->numbers <= BB_NUMBERS_MAX && p->at_most >= 0 &&
           p->at_most <= BB_BANDS_MAX && p->patience >= 0.0 && is_chance(p->quiet) && is_chance(p->max_loss) &&
           (p->zones == 0 || p->sand != NULL) && (p->losses == 0 || p->loss != NULL) &&
           rows_valid(p->sand, p->zones, p->numbers) && rows_valid(p->loss, p->losses, p->numbers);
}

static int64_t whole(double chance)
{
    return (int64_t)llround(chance * WHOLE);
}

static void fill_row(bb_band_rows *rows, size_t row, const double *chances, int64_t sign)
{
    int64_t *prefix = rows->prefix + row * (rows->numbers + 1);
    for (size_t n = 0; n < rows->numbers; n++)
        prefix[n + 1] = prefix[n] + sign * whole(chances[n]);
    rows->unit[row] = 1.0 / WHOLE;
}

static void fill_count_and_mean(const bb_band_problem *p, bb_band_rows *rows)
{
    size_t count = p->zones + p->losses;
    int64_t *counts = rows->prefix + count * (rows->numbers + 1), *means = counts + rows->numbers + 1;
    for (size_t n = 0; n <= rows->numbers; n++) {
        counts[n] = (int64_t)n;
        for (size_t z = 0; z < p->zones; z++)
            means[n] += bb_band_row(rows, z)[n];
    }
    rows->unit[count] = 1.0;
    rows->unit[count + 1] = 1.0 / WHOLE;
}

static void set_limits(finder *f, double quiet, double max_loss)
{
    const bb_band_problem *p = f->problem;
    size_t count = p->zones + p->losses;
    for (size_t z = 0; z < p->zones; z++) {
        f->rows.base[z] = (int64_t)WHOLE + bb_band_row(&f->rows, z)[p->numbers];
        f->rows.limit[z] = f->rows.base[z] - whole(quiet) + SLACK;
    }
    for (size_t r = p->zones; r < count; r++)
        f->rows.limit[r] = whole(max_loss) + SLACK;
    f->rows.limit[count] = (int64_t)p->numbers;
    f->rows.limit[count + 1] = INT64_MAX;
}

static bb_status finder_new(const bb_band_problem *p, finder *f)
{
    if (!problem_valid(p))
        return BB_RANGE;
    size_t count = p->zones + p->losses;
    *f = (finder){
        .problem = p,
        .zones = {0, p->zones, -1.0, SETTLED},
        .losses = {p->zones, count, 0.0, SETTLED},
        .count = {count, count + 1, 0.0, 1},
        .mean = {count + 1, count + 2, -(double)p->zones, SETTLED},
        .most_silence = 1.0,
    };
    bb_status status = bb_band_rows_new(p->numbers, count + 2, &f->rows);
    if (status != BB_OK)
        return status;
    for (size_t z = 0; z < p->zones; z++)
        fill_row(&f->rows, z, p->sand + z * p->numbers, -1);
    for (size_t l = 0; l < p->losses; l++)
        fill_row(&f->rows, p->zones + l, p->loss + l * p->numbers, 1);
    fill_count_and_mean(p, &f->rows);
    set_limits(f, p->quiet, p->max_loss);
    status = bb_band_search_new(&f->rows, p->at_most, bb_patience_of(p->patience),
                                &f->search);
    if (status != BB_OK)
        bb_band_rows_free(&f->rows);
    return status;
}

static void finder_free(finder *f)
{
    bb_band_search_free(&f->search);
    bb_band_rows_free(&f->rows);
}

/* ---------------------------------------------------------------- the rule */

static int64_t worst_loss(const finder *f, const bb_band_set *set)
{
    return f->problem->losses > 0 ? bb_band_value(&f->rows, &f->losses, set) : 0;
}

static int compare_ranges(const bb_band_set *a, const bb_band_set *b)
{
    for (int i = 0; i < a->count && i < b->count; i++) {
        int difference = a->low[i] != b->low[i] ? a->low[i] - b->low[i] : a->high[i] - b->high[i];
        if (difference != 0)
            return difference;
    }
    return a->count - b->count;
}

/* Of sets that tie in number and silence: the smallest worst loss, to TIE; of these the fewest
 * ranges; of these the lexicographically lowest. */
static bb_band_set pick(const finder *f, const bb_band_set *sets, size_t count)
{
    int64_t least = INT64_MAX;
    const bb_band_set *best = NULL;
    for (size_t i = 0; i < count; i++) {
        int64_t loss = worst_loss(f, &sets[i]);
        least = loss < least ? loss : least;
    }
    for (size_t i = 0; i < count; i++) {
        if (worst_loss(f, &sets[i]) > least + TIE)
            continue;
        if (best == NULL || sets[i].count < best->count ||
            (sets[i].count == best->count && compare_ranges(&sets[i], best) < 0))
            best = &sets[i];
    }
    return *best; /* NOLINT(clang-analyzer-core.NullDereference): there is one set at least */
}

/* The same over too many tied sets to list, one wish after the other. */
static bb_status pick_unlisted(finder *f, bb_band_set *best)
{
    bb_status status = BB_OK;
    if (f->problem->losses > 0) {
        int64_t limit = f->rows.limit[f->losses.first], least;
        status = bb_band_minimise(&f->search, &f->losses, best);
        if (status != BB_OK)
            return status;
        least = worst_loss(f, best) + TIE;
        bb_band_demand(&f->rows, &f->losses, least < limit ? least : limit);
    }
    size_t met = 1;
    while (status == BB_OK && met > 0 && best->count > 1) {
        f->search.path.at_most = best->count - 1;
        status = bb_band_find(&f->search, &f->mean, best, &met);
    }
    f->search.path.at_most = best->count;
    return status == BB_OK ? bb_band_lowest(&f->search, &f->mean, best) : status;
}

/* The rule under the limits as they are. */
static bb_status choose(finder *f, bb_band_set *best)
{
    bb_band_set sets[LISTED];
    size_t met = 0;
    bb_status status = bb_band_fewest(&f->search, &f->count, &f->zones, best);
    f->fewest = (int)f->search.proved;
    if (status == BB_OK && f->problem->zones > 0)
        status = bb_band_minimise(&f->search, &f->mean, best);
    if (status != BB_OK)
        return status;
    f->rows.limit[f->mean.first] += TIE * (int64_t)f->problem->zones;
    status = bb_band_collect(&f->search, &f->mean, LISTED, sets, &met);
    if (status != BB_OK)
        return status;
    if (met == LISTED)
        return pick_unlisted(f, best);
    if (met > 0) /* rounding may hide the one that is known */
        *best = pick(f, sets, met);
    return BB_OK;
}

/* ---------------------------------------------------------------- scores */

static double rejected(const bb_band_choice *c, const double *chances)
{
    double sum = 0.0;
    for (int i = 0; i < c->count; i++)
        for (int n = c->band[i].low; n <= c->band[i].high; n++)
            sum += chances[n];
    return sum;
}

static void score(const bb_band_problem *p, bb_band_choice *c)
{
    c->numbers = 0;
    c->worst_silence = 1.0;
    c->mean_silence = p->zones > 0 ? 0.0 : 1.0;
    c->worst_loss = 0.0;
    for (int i = 0; i < c->count; i++)
        c->numbers += c->band[i].high - c->band[i].low + 1;
    for (size_t z = 0; z < p->zones; z++) {
        double silence = 1.0 + rejected(c, p->sand + z * p->numbers);
        for (size_t n = 0; n < p->numbers; n++)
            silence -= p->sand[z * p->numbers + n];
        silence = fmin(fmax(silence, 0.0), 1.0);
        c->worst_silence = fmin(c->worst_silence, silence);
        c->mean_silence += silence / (double)p->zones;
    }
    for (size_t l = 0; l < p->losses; l++)
        c->worst_loss = fmax(c->worst_loss, rejected(c, p->loss + l * p->numbers));
}

bb_status bb_bands_score(const bb_band_problem *problem, bb_band_choice *choice)
{
    if (!problem_valid(problem) || choice->count < 0 || choice->count > BB_BANDS_MAX)
        return BB_RANGE;
    for (int i = 0; i < choice->count; i++)
        if (choice->band[i].low < (i > 0 ? choice->band[i - 1].high + 2 : 0) ||
            choice->band[i].high < choice->band[i].low ||
            choice->band[i].high >= (int)problem->numbers)
            return BB_RANGE;
    score(problem, choice);
    return BB_OK;
}

static void deliver(const finder *f, const bb_band_set *set, bb_status status,
                    bb_band_choice *choice)
{
    *choice = (bb_band_choice){.count = set->count,
                               .proved = status == BB_OK,
                               .fewest = f->fewest,
                               .most_silence = f->most_silence,
                               .least_loss = f->least_loss};
    for (int i = 0; i < set->count; i++) {
        choice->band[i].low = set->low[i];
        choice->band[i].high = set->high[i];
    }
    score(f->problem, choice);
    choice->fewest = choice->proved ? choice->numbers : choice->fewest;
}

/* ---------------------------------------------------------------- the choices */

static bb_status finish(finder *f, bb_status status, const bb_band_set *best,
                        bb_band_choice *choice)
{
    if (status == BB_OK || (status == BB_NOT_CONVERGED && best->count >= 0))
        deliver(f, best, status, choice);
    finder_free(f);
    return status;
}

bb_status bb_bands_choose(const bb_band_problem *problem, bb_band_choice *choice)
{
    finder f;
    bb_band_set best = {.count = -1};
    bb_status status = finder_new(problem, &f);
    if (status != BB_OK)
        return status;
    return finish(&f, choose(&f, &best), &best, choice);
}

/* The rule once more, under limits taken from a first search that may have run out of work. */
static bb_status choose_again(finder *f, bb_status first, bb_band_set *best)
{
    if (first != BB_OK && first != BB_NOT_CONVERGED)
        return first;
    f->search.work = 0.0;
    bb_band_set again = {.count = -1};
    bb_status status = choose(f, &again);
    if (again.count >= 0)
        *best = again;
    return status == BB_OK ? first : status;
}

/* How far the best silence may stay unknown: finer steps where the choice depends on them. */
static const int64_t KNOWN_TO[] = {1000000000000, 10000000000, 100000000, SETTLED};
enum { KNOWN_STEPS = sizeof KNOWN_TO / sizeof *KNOWN_TO };

/* The limits that a goal is sought within; the goal's own is free. */
typedef struct {
    double quiet, max_loss;
    int64_t numbers;
} bounds;

static void set_bounds(finder *f, const bounds *within)
{
    set_limits(f, within->quiet, within->max_loss);
    f->rows.limit[f->count.first] = within->numbers;
}

/* The best that a goal reaches within the bounds, from a set within them; then the rule among the
 * sets that come within near of it. The best is sought only as closely as the choice depends on it:
 * a set chosen under the wish of what is known to be reached, that also meets the wish of what may
 * be, is the choice under any wish between. proved: no set within the bounds is better. */
static bb_status near_best(finder *f, bb_band_goal *goal, const bounds *within, double near,
                           bb_band_set *reached, double *proved, bb_band_set *best)
{
    const int64_t room = whole(near), floor = (int64_t)(goal->floor * WHOLE);
    bb_status status = BB_OK;
    bool settled = false;
    f->search.work_limit *= 0.5; /* one half for the best, one for the choice */
    for (int i = 0; i < KNOWN_STEPS && !settled && status == BB_OK; i++) {
        if (KNOWN_TO[i] > room && KNOWN_TO[i] > SETTLED)
            continue;
        set_bounds(f, within);
        bb_band_demand(&f->rows, goal, bb_band_value(&f->rows, goal, reached));
        goal->step = KNOWN_TO[i];
        status = bb_band_minimise(&f->search, goal, reached);
        *proved = f->search.proved;
        const int64_t value = bb_band_value(&f->rows, goal, reached);
        set_bounds(f, within);
        bb_band_demand(&f->rows, goal, value + room + SLACK);
        if (!bb_band_within(&f->rows, best)) /* should the search run out of work */
            *best = *reached;
        status = choose_again(f, status, best);
        const int64_t least = value - KNOWN_TO[i] > floor ? value - KNOWN_TO[i] : floor;
        settled = bb_band_value(&f->rows, goal, best) <= least + room;
    }
    return status;
}

/* The quietest worst zone within the losses and at most so many numbers. */
static bb_status quietest(const bb_band_problem *problem, int64_t numbers, double near,
                          bb_band_choice *choice)
{
    finder f;
    bb_band_set silent = {0}, best = {0};
    double proved = -1.0;
    bb_status status = finder_new(problem, &f);
    if (status != BB_OK)
        return status;
    if (problem->zones == 0)
        return finish(&f, choose_again(&f, status, &best), &best, choice);
    const bounds within = {0.0, problem->max_loss, numbers};
    status = near_best(&f, &f.zones, &within, near, &silent, &proved, &best);
    f.most_silence = fmin(-proved, 1.0);
    return finish(&f, status, &best, choice);
}

bb_status bb_bands_gold_first(const bb_band_problem *problem, bb_band_choice *choice)
{
    return quietest(problem, (int64_t)problem->numbers, NEAR_BEST, choice);
}

bb_status bb_bands_quiet_first(const bb_band_problem *problem, bb_band_choice *choice)
{
    finder f;
    bb_band_set kept = {.count = problem->at_most > 0, .high[0] = (int)problem->numbers - 1};
    bb_band_set best = kept;
    double proved = 0.0;
    bb_status status = finder_new(problem, &f);
    if (status != BB_OK)
        return status;
    if (problem->losses == 0)
        return finish(&f, choose_again(&f, status, &best), &best, choice);
    const bounds within = {problem->quiet, 1.0, (int64_t)problem->numbers};
    set_bounds(&f, &within);
    if (!bb_band_within(&f.rows, &kept)) /* even the whole scale */
        return finish(&f, BB_TOO_LITTLE, &best, choice);
    status = near_best(&f, &f.losses, &within, NEAR_LEAST, &kept, &proved, &best);
    f.least_loss = fmax(proved, 0.0);
    return finish(&f, status, &best, choice);
}

bb_status bb_bands_frontier(const bb_band_problem *problem, bb_band_choice *choices)
{
    bb_status worst = BB_OK;
    for (int bands = 0; bands <= problem->at_most && bands <= BB_BANDS_MAX; bands++) {
        bb_band_problem fewer = *problem;
        fewer.at_most = bands;
        bb_status status = bb_bands_choose(&fewer, &choices[bands]);
        if (status == BB_TOO_LITTLE)
            status = bb_bands_gold_first(&fewer, &choices[bands]);
        if (status == BB_NOT_CONVERGED)
            worst = status;
        else if (status != BB_OK)
            return status;
    }
    return worst;
}

bb_status bb_bands_of_numbers(const bb_band_problem *problem, int numbers, bb_band_choice *choice)
{
    if (numbers < 0)
        return BB_RANGE;
    return quietest(problem, numbers, 1e-9, choice);
}
