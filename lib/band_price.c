/* The best prices of rows, by column generation: a small linear program mixes sets of ranges, its
 * duals price the rows, and the cheapest set at these prices enters the mix until none is cheaper.
 * (Gilmore and Gomory 1961; the revised simplex method.) Any prices >= 0 give a true bound, so
 * rounding here costs speed, never the answer. */
#include "band_search.h"

#include <float.h>
#include <math.h>
#include <string.h>

enum { STEPS_MAX = 600, ADDED_AT_ONCE = 4 };
static const double TOLERANCE = 1e-10;
/* Cost of breaking a row by one unit, against a goal of 1 to 1,000. */
static const double FORBIDDING = 1e7;
/* Of a step of the programme, for each entry of its inverse, in items priced; measured. */
static const double ENTRY_WORK = 0.05;

static bool in_goal(const bb_band_goal *goal, size_t row)
{
    return row >= goal->first && row < goal->last;
}

static double entry(const bb_band_programme *p, const bb_band_rows *rows, const bb_band_column *c,
                    size_t i)
{
    switch (c->kind) {
    case BB_COLUMN_SET:
        return i == 0 ? 1.0
                      : rows->unit[p->active[i]] *
                            (double)bb_band_sum(rows, p->active[i], &c->set);
    case BB_COLUMN_SLACK: return i == c->row ? 1.0 : 0.0;
    case BB_COLUMN_BREACH: return i == c->row ? -1.0 : 0.0;
    case BB_COLUMN_VALUE: break;
    }
    return i > 0 && in_goal(p->goal, p->active[i]) ? -1.0 : 0.0;
}

static double cost(const bb_band_column *c)
{
    if (c->kind == BB_COLUMN_BREACH || c->stale)
        return FORBIDDING;
    return c->kind == BB_COLUMN_VALUE ? 1.0 : 0.0;
}

static double right_side(const bb_band_programme *p, const bb_band_rows *rows, size_t row)
{
    return in_goal(p->goal, row) ? rows->unit[row] * (double)rows->base[row] + p->goal->floor
                                 : rows->unit[row] * (double)rows->limit[row];
}

static void find_amounts(bb_band_programme *p)
{
    for (size_t i = 0; i < p->side; i++) {
        p->amount[i] = 0.0;
        for (size_t j = 0; j < p->side; j++)
            p->amount[i] += p->inverse[i][j] * p->rhs[j];
    }
}

static void find_duals(bb_band_programme *p)
{
    memset(p->dual, 0, sizeof p->dual);
    for (size_t i = 0; i < p->side; i++) {
        double c = cost(&p->basis[i]);
        if (c != 0.0)
            for (size_t j = 0; j < p->side; j++)
                p->dual[j] += c * p->inverse[i][j];
    }
}

/* Sum of row r over the mix. */
static double mixed(const bb_band_programme *p, const bb_band_rows *rows, size_t r)
{
    double sum = 0.0;
    for (size_t i = 0; i < p->side; i++)
        if (p->basis[i].kind == BB_COLUMN_SET)
            sum += p->amount[i] * (double)bb_band_sum(rows, r, &p->basis[i].set);
    return sum * rows->unit[r];
}

static double mixed_value(const bb_band_programme *p)
{
    for (size_t i = 0; i < p->side; i++)
        if (p->basis[i].kind == BB_COLUMN_VALUE)
            return p->amount[i];
    return 0.0;
}

/* Take one more row of the search into the programme. Its own slack or breach becomes basic. */
static void add_row(bb_band_programme *p, const bb_band_rows *rows, size_t r)
{
    size_t n = p->side;
    p->active[n] = r;
    p->rhs[n] = right_side(p, rows, r);
    double value = in_goal(p->goal, r) ? mixed_value(p) : 0.0;
    bool broken = mixed(p, rows, r) - value > p->rhs[n];
    double sign = broken ? -1.0 : 1.0;
    p->basis[n] = (bb_band_column){.kind = broken ? BB_COLUMN_BREACH : BB_COLUMN_SLACK, .row = n};
    for (size_t j = 0; j <= n; j++)
        p->inverse[n][j] = p->inverse[j][n] = 0.0;
    for (size_t i = 0; i < n; i++) {
        double a = entry(p, rows, &p->basis[i], n);
        if (a != 0.0)
            for (size_t j = 0; j < n; j++)
                p->inverse[n][j] -= sign * a * p->inverse[i][j];
    }
    p->inverse[n][n] = sign;
    p->side++;
}

static bool is_active(const bb_band_programme *p, size_t r)
{
    for (size_t i = 1; i < p->side; i++)
        if (p->active[i] == r)
            return true;
    return false;
}

/* Take rows the mix breaks into the programme, the worst first. */
static bool add_broken(bb_band_programme *p, const bb_band_rows *rows)
{
    bool added = false;
    double value = mixed_value(p);
    for (int round = 0; round < ADDED_AT_ONCE && p->side < BB_BAND_SIDE; round++) {
        size_t worst = rows->rows;
        double most = TOLERANCE;
        for (size_t r = 0; r < rows->rows; r++) {
            bool goal = in_goal(p->goal, r);
            if (!goal && rows->limit[r] == INT64_MAX)
                continue;
            double broken = mixed(p, rows, r) - right_side(p, rows, r) - (goal ? value : 0.0);
            if (broken > most && !is_active(p, r)) {
                worst = r;
                most = broken;
            }
        }
        if (worst == rows->rows)
            break;
        add_row(p, rows, worst);
        added = true;
    }
    if (added)
        find_amounts(p);
    return added;
}

/* Bring a column in. False when nothing limits it. */
static bool enter(bb_band_programme *p, const bb_band_rows *rows, const bb_band_column *c)
{
    double direction[BB_BAND_SIDE] = {0}, least = HUGE_VAL;
    size_t leave = p->side;
    for (size_t j = 0; j < p->side; j++) {
        double a = entry(p, rows, c, j);
        if (a != 0.0)
            for (size_t i = 0; i < p->side; i++)
                direction[i] += p->inverse[i][j] * a;
    }
    for (size_t i = 0; i < p->side; i++) {
        if (direction[i] <= 1e-11)
            continue;
        double ratio = fmax(p->amount[i], 0.0) / direction[i];
        if (ratio < least - 1e-13 || (ratio <= least + 1e-13 && direction[i] > direction[leave])) {
            least = fmin(ratio, least);
            leave = i;
        }
    }
    if (leave == p->side)
        return false;
    for (size_t j = 0; j < p->side; j++)
        p->inverse[leave][j] /= direction[leave];
    for (size_t i = 0; i < p->side; i++)
        if (i != leave && direction[i] != 0.0)
            for (size_t j = 0; j < p->side; j++)
                p->inverse[i][j] -= direction[i] * p->inverse[leave][j];
    p->basis[leave] = *c;
    find_amounts(p);
    return true;
}

/* The cheapest column that is not a set, when one would improve the mix. */
static bool cheap_column(const bb_band_programme *p, bb_band_column *c)
{
    double most = -TOLERANCE, prices = 0.0;
    bool found = false;
    for (size_t i = 1; i < p->side; i++) {
        double u = -p->dual[i];
        if (in_goal(p->goal, p->active[i]))
            prices += u;
        if (u < most) {
            most = u;
            *c = (bb_band_column){.kind = BB_COLUMN_SLACK, .row = i};
            found = true;
        }
        if (FORBIDDING - u < most) {
            most = FORBIDDING - u;
            *c = (bb_band_column){.kind = BB_COLUMN_BREACH, .row = i};
            found = true;
        }
    }
    if (1.0 - prices < most) {
        *c = (bb_band_column){.kind = BB_COLUMN_VALUE};
        found = true;
    }
    return found;
}

/* Price the items by the duals. What a set must pay, and how far rounding may mislead. */
static void price_items(const bb_band_programme *p, const bb_band_rows *rows, bb_band_path *path,
                          double *due, double *doubt, double *goal_prices)
{
    const size_t *first = path->first;
    memset(path->price, 0, path->items * sizeof *path->price);
    *due = *doubt = *goal_prices = 0.0;
    for (size_t i = 1; i < p->side; i++) {
        double u = fmax(-p->dual[i], 0.0);
        if (u == 0.0)
            continue;
        const int64_t *prefix = bb_band_row(rows, p->active[i]);
        double price = u * rows->unit[p->active[i]];
        for (size_t n = 0; n < path->items; n++)
            path->price[n] += price * (double)(prefix[first[n + 1]] - prefix[first[n]]);
        *due += u * p->rhs[i];
        *doubt += price * fabs((double)prefix[rows->numbers]) + u * fabs(p->rhs[i]);
        if (in_goal(p->goal, p->active[i]))
            *goal_prices += u;
    }
    *doubt *= 64.0 * DBL_EPSILON * (double)p->side;
}

void bb_band_programme_begin(bb_band_programme *p, const bb_band_rows *rows,
                             const bb_band_goal *goal)
{
    p->goal = goal;
    p->side = 1;
    p->basis[0] = (bb_band_column){.kind = BB_COLUMN_SET};
    p->inverse[0][0] = p->rhs[0] = p->amount[0] = 1.0;
    if (goal->last == goal->first + 1)
        add_row(p, rows, goal->first);
    (void)add_broken(p, rows);
    find_amounts(p);
}

bb_band_priced bb_band_price(bb_band_programme *p, const bb_band_rows *rows, bb_band_path *path,
                             bb_band_visitor *visitor, double *bound, double *work)
{
    *bound = -HUGE_VAL;
    for (int step = 0; step < STEPS_MAX; step++) {
        bb_band_column c = {.kind = BB_COLUMN_SET};
        find_duals(p);
        *work += ENTRY_WORK * (double)(p->side * p->side);
        if (cheap_column(p, &c)) {
            if (!enter(p, rows, &c))
                break;
            continue;
        }
        double due, doubt, goal_prices;
        price_items(p, rows, path, &due, &doubt, &goal_prices);
        double least = bb_band_path_least(path);
        *work += (double)path->items;
        if (least == HUGE_VAL)
            return BB_CUT;
        *bound = p->goal->floor + (least - due) / fmax(goal_prices, 1.0);
        if (*bound - doubt > visitor->level)
            return BB_CUT;
        bb_band_path_set(path, &c.set);
        if (visitor->meet(visitor, &c.set))
            return BB_ENDED;
        if (least - p->dual[0] < -TOLERANCE * (1.0 + fabs(p->dual[0]))) {
            if (!enter(p, rows, &c))
                break;
        } else if (!add_broken(p, rows)) {
            break;
        }
    }
    return BB_PRICED;
}
