/* The exact search over sets of ranges: branch on single numbers in or out, bounded by the mixes
 * of sets that prices allow (branch and price; Barnhart and others 1998). */
#include "band_search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double SHARE_LEAST = 1e-7; /* of a mix, to count as undecided */
static const double FIRST_STEP = 256.0; /* of the gap between bound and best known */
static const double EASY_GROWTH = 4.0, HARD_GROWTH = 1.4;
static const double EASY = 100.0; /* pricings of an easy level */
static const double WHOLE_DOUBT = 1e-6; /* of a bound on a whole number */
static const double WORK_LIMIT = 1e6;  /* items priced: under a tenth of a second */

double bb_patience_of(double asked)
{
    return asked > 0 ? asked : 1;
}

bb_status bb_band_search_new(bb_band_rows *rows, int at_most, double patience,
                             bb_band_search *search)
{
    *search = (bb_band_search){.rows = rows, .work_limit = WORK_LIMIT * patience};
    bb_status status = bb_band_path_new(rows->numbers, &search->path);
    if (status != BB_OK)
        return status;
    search->path.at_most = at_most;
    search->trail = calloc(rows->numbers, sizeof *search->trail);
    search->programmes = calloc(rows->numbers + 1, sizeof(bb_band_programme *));
    if (search->trail == NULL || search->programmes == NULL) {
        bb_band_search_free(search);
        return BB_MEMORY;
    }
    return BB_OK;
}

void bb_band_search_free(bb_band_search *search)
{
    for (size_t i = 0; i < search->programme_count; i++)
        free(search->programmes[i]); /* NOLINT(clang-analyzer-core.NullDereference): counted */
    free(search->programmes);
    free(search->trail);
    bb_band_path_free(&search->path);
    *search = (bb_band_search){0};
}

static bb_band_programme *programme_at(bb_band_search *search, size_t depth)
{
    if (depth < search->programme_count)
        return search->programmes[depth];
    bb_band_programme *made = malloc(sizeof *made);
    if (made != NULL)
        search->programmes[search->programme_count++] = made;
    return made;
}

static void force(bb_band_search *search, size_t n, int state)
{
    search->path.forced[n] = (signed char)state;
    search->trail[search->trail_length++] = n;
}

static void release(bb_band_search *search, size_t length)
{
    while (search->trail_length > length)
        search->path.forced[search->trail[--search->trail_length]] = 0;
}

/* What a number weighs in the priced rows, whatever its signs. */
static double impact(const bb_band_rows *rows, const bb_band_programme *p, size_t n)
{
    double sum = 0.0;
    for (size_t i = 1; i < p->side; i++) {
        const int64_t *prefix = bb_band_row(rows, p->active[i]);
        sum += fabs(p->dual[i] * rows->unit[p->active[i]] * (double)(prefix[n + 1] - prefix[n]));
    }
    return sum;
}

/* The number whose share of the mix is most undecided, weighed by its impact: taking it in or out
 * then changes the bounds of both branches. numbers when none is undecided. */
static size_t most_undecided(bb_band_search *search, const bb_band_programme *p, double *share)
{
    bb_band_path *path = &search->path;
    double *step = path->flip; /* free for use until the next flips */
    size_t numbers = path->numbers, chosen = numbers;
    memset(step, 0, numbers * sizeof *step);
    for (size_t i = 0; i < p->side; i++) {
        if (p->basis[i].kind != BB_COLUMN_SET || p->amount[i] < SHARE_LEAST)
            continue;
        const bb_band_set *set = &p->basis[i].set;
        for (int b = 0; b < set->count; b++) {
            step[set->low[b]] += p->amount[i];
            if ((size_t)set->high[b] + 1 < numbers)
                step[set->high[b] + 1] -= p->amount[i];
        }
    }
    double sum = 0.0, most = 0.0;
    for (size_t i = 0; i < path->items; i++) {
        const size_t n = path->first[i];
        sum += step[n];
        double undecided = fmin(sum, 1.0 - sum);
        if (undecided < SHARE_LEAST || path->forced[n] != 0)
            continue;
        double weight = undecided * (impact(search->rows, p, n) + SHARE_LEAST);
        if (weight > most) {
            most = weight;
            chosen = n;
            *share = sum;
        }
    }
    return chosen;
}

/* Force every number whose other state no set within the level can have. The free number whose
 * other state is the least costly, or numbers when none is free. */
static size_t settle(bb_band_search *search, const bb_band_set *set, double least, double allowed)
{
    bb_band_path *path = &search->path;
    size_t numbers = path->numbers, chosen = numbers;
    bb_band_path_flips(path, set);
    search->work += (double)path->items;
    int range = 0;
    for (size_t i = 0; i < path->items; i++) {
        const size_t n = path->first[i];
        while (range < set->count && (size_t)set->high[range] < n)
            range++;
        bool member = range < set->count && (size_t)set->low[range] <= n;
        if (path->forced[n] != 0)
            continue;
        if (path->flip[n] - least > allowed)
            force(search, n, member ? 1 : -1);
        else if (chosen == numbers || path->flip[n] < path->flip[chosen])
            chosen = n;
    }
    return chosen;
}

/* Search the branch that the forced numbers describe; depth's programme is its start. */
static bb_status branch(bb_band_search *search, size_t depth, bb_band_visitor *visitor, bool *ended)
{
    bb_band_programme *p = search->programmes[depth];
    bb_band_path *path = &search->path;
    size_t mark = search->trail_length;
    double bound = 0.0, share = 0.0;
    bb_band_path_divide(path);
    for (size_t i = 0; i < p->side; i++)
        p->basis[i].stale = p->basis[i].kind == BB_COLUMN_SET &&
                            !bb_band_path_obeyed(path, &p->basis[i].set);
    bb_band_priced priced =
        bb_band_price(p, search->rows, path, visitor, &bound, &search->work);
    *ended = priced == BB_ENDED;
    if (priced != BB_PRICED)
        return BB_OK;
    if (search->work > search->work_limit)
        return BB_NOT_CONVERGED;
    size_t n = most_undecided(search, p, &share);
    bb_band_set set;
    bb_band_path_set(path, &set);
    double allowed = (visitor->level - bound) + 1e-9 * (1.0 + fabs(visitor->level));
    size_t other = settle(search, &set, path->out[path->at_most + 1], allowed);
    int first = share >= 0.5 ? 1 : -1;
    if (n == path->numbers || path->forced[n] != 0) {
        n = other;
        first = 1;
        for (int i = 0; n < path->numbers && i < set.count; i++)
            if ((size_t)set.low[i] <= n && n <= (size_t)set.high[i])
                first = -1; /* what the cheapest set does not do */
    }
    bb_status status = BB_OK;
    if (n < path->numbers) {
        bb_band_programme *child = programme_at(search, depth + 1);
        status = child == NULL ? BB_MEMORY : BB_OK;
        for (int side = 0; side < 2 && status == BB_OK && !*ended; side++) {
            size_t before = search->trail_length;
            *search->programmes[depth + 1] = *p;
            force(search, n, side == 0 ? first : -first);
            status = branch(search, depth + 1, visitor, ended);
            release(search, before);
        }
    }
    release(search, mark);
    return status;
}

/* Price the whole scale, with nothing forced; bound HUGE_VAL: no set is within the limits. */
static bb_status solve_root(bb_band_search *search, const bb_band_goal *goal,
                            bb_band_visitor *visitor, double *bound, bool *ended)
{
    if (programme_at(search, 0) == NULL)
        return BB_MEMORY;
    bb_band_programme_begin(&search->root, search->rows, goal);
    bb_band_path_divide(&search->path);
    bb_band_priced priced = bb_band_price(&search->root, search->rows, &search->path, visitor,
                                          bound, &search->work);
    *ended = priced == BB_ENDED;
    if (priced == BB_CUT)
        *bound = HUGE_VAL;
    return BB_OK;
}

/* Levels are tried from the bound upwards, in growing steps, until a set is met: a search from far
 * above the bound would lose itself in sets that are within the limits, yet far from best. */
static bb_status climb(bb_band_search *search, const bb_band_goal *goal, bb_band_visitor *visitor)
{
    double bound = 0.0;
    bool ended = false, last = false;
    bb_status status = solve_root(search, goal, visitor, &bound, &ended);
    double step = fmax(visitor->level - bound, 0.0) / FIRST_STEP;
    visitor->ceiling = visitor->level;
    search->proved = fmin(bound, visitor->level);
    while (status == BB_OK && !ended && bound < HUGE_VAL && !last) {
        double level = fmin(bound + step, visitor->ceiling);
        visitor->level = level;
        double before = search->work;
        *search->programmes[0] = search->root;
        status = branch(search, 0, visitor, &ended);
        if (status == BB_OK)
            search->proved = visitor->level;
        last = level == visitor->ceiling || visitor->level < level;
        bool easy = search->work - before < EASY * (double)search->rows->numbers;
        step *= easy ? EASY_GROWTH : HARD_GROWTH;
    }
    return status;
}

/* ---------------------------------------------------------------- make a goal smallest */

typedef struct {
    const bb_band_rows *rows;
    const bb_band_goal *goal;
    bb_band_set *best;
} improvement;

static bool within_apart_from(const bb_band_rows *rows, const bb_band_goal *goal,
                              const bb_band_set *set)
{
    for (size_t r = 0; r < rows->rows; r++)
        if ((r < goal->first || r >= goal->last) && bb_band_sum(rows, r, set) > rows->limit[r])
            return false;
    return true;
}

static double wanted(const bb_band_rows *rows, const bb_band_goal *goal, const bb_band_set *best)
{
    return rows->unit[goal->first] * (double)(bb_band_value(rows, goal, best) - goal->step);
}

static bool meet_better(bb_band_visitor *visitor, const bb_band_set *set)
{
    const improvement *own = visitor->own;
    if (!within_apart_from(own->rows, own->goal, set) ||
        (own->best->count >= 0 && bb_band_value(own->rows, own->goal, set) >=
                                      bb_band_value(own->rows, own->goal, own->best)))
        return false;
    *own->best = *set;
    visitor->ceiling = wanted(own->rows, own->goal, set);
    visitor->level = fmin(visitor->level, visitor->ceiling);
    return false;
}

bb_status bb_band_minimise(bb_band_search *search, const bb_band_goal *goal, bb_band_set *best)
{
    improvement own = {.rows = search->rows, .goal = goal, .best = best};
    bb_band_visitor visitor = {
        .meet = meet_better, .own = &own, .level = wanted(search->rows, goal, best)};
    bb_status status = climb(search, goal, &visitor);
    if (status == BB_OK)
        bb_band_demand(search->rows, goal, bb_band_value(search->rows, goal, best));
    return status;
}

bb_status bb_band_fewest(bb_band_search *search, const bb_band_goal *count,
                         const bb_band_goal *guide, bb_band_set *best)
{
    improvement own = {.rows = search->rows, .goal = count, .best = best};
    bb_band_visitor visitor = {
        .meet = meet_better, .own = &own, .level = (double)search->rows->numbers};
    double bound = 0.0;
    bool ended = false;
    best->count = -1;
    bb_status status = solve_root(search, count, &visitor, &bound, &ended);
    int64_t most = (int64_t)visitor.level, step = 0, low = most + 1;
    if (bound <= visitor.level)
        low = (int64_t)fmax(ceil(bound - WHOLE_DOUBT), 0.0);
    while (status == BB_OK && low <= most) {
        int64_t tried = step == 1 && best->count < 0 ? most : low + step; /* is there any at all? */
        tried = tried < most ? tried : most;
        size_t met = 0;
        bb_band_demand(search->rows, count, tried);
        status = bb_band_find(search, guide, best, &met);
        if (met > 0)
            most = bb_band_value(search->rows, count, best) - 1;
        else if (status == BB_OK)
            low = tried + 1;
        step = met > 0 ? 0 : 2 * step + 1;
    }
    search->proved = (double)low;
    if (status == BB_OK && best->count < 0)
        return BB_TOO_LITTLE;
    bb_band_demand(search->rows, count, most + 1);
    return status;
}

/* ---------------------------------------------------------------- sets within the limits */

typedef struct {
    const bb_band_rows *rows;
    bb_band_set *sets;
    size_t capacity;
} collection;

static bool same(const bb_band_set *a, const bb_band_set *b)
{
    bool equal = a->count == b->count;
    for (int i = 0; equal && i < a->count; i++)
        equal = a->low[i] == b->low[i] && a->high[i] == b->high[i];
    return equal;
}

static bool meet_new(bb_band_visitor *visitor, const bb_band_set *set)
{
    const collection *own = visitor->own;
    if (!bb_band_within(own->rows, set))
        return false;
    for (size_t i = 0; i < visitor->met; i++)
        if (same(&own->sets[i], set))
            return false;
    own->sets[visitor->met++] = *set;
    return visitor->met == own->capacity;
}

static double level_of(const bb_band_rows *rows, const bb_band_goal *goal)
{
    return rows->unit[goal->first] *
           (double)(rows->limit[goal->first] - rows->base[goal->first]);
}

bb_status bb_band_collect(bb_band_search *search, const bb_band_goal *goal, size_t capacity,
                          bb_band_set *sets, size_t *count)
{
    collection own = {search->rows, sets, capacity};
    bb_band_visitor visitor = {
        .meet = meet_new, .own = &own, .level = level_of(search->rows, goal)};
    bool ended = false;
    if (programme_at(search, 0) == NULL)
        return BB_MEMORY;
    bb_band_programme_begin(search->programmes[0], search->rows, goal);
    bb_status status = branch(search, 0, &visitor, &ended);
    *count = visitor.met;
    return status;
}

bb_status bb_band_find(bb_band_search *search, const bb_band_goal *guide, bb_band_set *set,
                       size_t *met)
{
    collection own = {search->rows, set, 1};
    bb_band_visitor visitor = {
        .meet = meet_new, .own = &own, .level = level_of(search->rows, guide)};
    bb_status status = climb(search, guide, &visitor);
    *met = visitor.met;
    return status;
}

static bool holds(const bb_band_set *set, int n)
{
    for (int i = 0; i < set->count; i++)
        if (set->low[i] <= n && n <= set->high[i])
            return true;
    return false;
}

bb_status bb_band_lowest(bb_band_search *search, const bb_band_goal *goal, bb_band_set *best)
{
    bool open = false;
    bb_status status = BB_OK;
    for (size_t n = 0; n < search->rows->numbers && status == BB_OK; n++) {
        bool lower = !open; /* ranges begin early and end early */
        size_t met = 1;
        force(search, n, lower ? 1 : -1);
        if (holds(best, (int)n) != lower)
            status = bb_band_collect(search, goal, 1, best, &met);
        open = (met > 0) == lower;
        search->path.forced[n] = open ? 1 : -1;
    }
    release(search, 0);
    return status;
}
