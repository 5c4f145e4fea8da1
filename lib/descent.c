/* Damped steps by two models of the curvature, of which each step takes the one that foretold the last
 * better. */
#include "descent.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "factor.h"

#define DAMPING_FIRST 1e-3
#define DAMPING_LEAST 1e-9
#define DAMPING_MOST 1e9
#define LITTLE_GAINED 1e-4 /* of the foretold gain: a step that brings less is not taken */
#define ROUNDING 1e-12     /* of the half sum: gains below it cannot be seen */

/* One point and what is known there. */
typedef struct {
    double *x, *gradient, *curvature;
    double half_sum;
} place;

typedef struct {
    const bb_descent *of;
    size_t n;
    place here, there;
    double *beyond;  /* secant estimate of the curvature that J'J leaves out, both triangles */
    double *factor, *step, *turned, *unseen;
    bool bent;       /* whether beyond is used */
    double damping;
    double *room;
} descent;

static bool make_room(descent *d)
{
    const size_t n = d->n;
    double *next = d->room = calloc(4 * n * n + 7 * n + 1, sizeof *d->room);
    if (next == NULL)
        return false;
    double **squares[] = {&d->here.curvature, &d->there.curvature, &d->beyond, &d->factor};
    double **lines[] = {&d->here.x,        &d->there.x, &d->here.gradient, &d->there.gradient,
                        &d->step, &d->turned, &d->unseen};
    for (size_t i = 0; i < sizeof squares / sizeof *squares; i++, next += n * n)
        *squares[i] = next;
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++, next += n)
        *lines[i] = next;
    return true;
}

static bb_status look(const descent *d, place *at)
{
    bb_status status =
        d->of->evaluate(at->x, &at->half_sum, at->gradient, at->curvature, d->of->context);
    return status == BB_OK && !isfinite(at->half_sum) ? BB_NOT_CONVERGED : status;
}

static double product(const double *a, const double *b, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

/* curvature v, from the lower triangle */
static void turn(const double *curvature, const double *v, double *turned, size_t n)
{
    for (size_t i = 0; i < n; i++)
        turned[i] = 0;
    for (size_t i = 0; i < n; i++) {
        const double *row = curvature + i * n;
        for (size_t j = 0; j < i; j++) {
            turned[i] += row[j] * v[j];
            turned[j] += row[j] * v[i];
        }
        turned[i] += row[i] * v[i];
    }
}

/* The damped step by one model; false when its curvature is not positive. */
static bool set_step(descent *d, bool bent)
{
    const size_t n = d->n;
    memcpy(d->factor, d->here.curvature, n * n * sizeof *d->factor);
    for (size_t i = 0; bent && i < n * n; i++)
        d->factor[i] += d->beyond[i];
    for (size_t i = 0; i < n; i++)
        d->factor[i * n + i] += d->damping;
    if (!bb_factor(d->factor, n))
        return false;
    for (size_t i = 0; i < n; i++)
        d->step[i] = -d->here.gradient[i];
    bb_factor_solve(d->factor, n, d->step);
    return true;
}

/* What each model foretells of the half sum after the step. */
static void foretell(descent *d, double *plain, double *bent)
{
    const double slope = product(d->here.gradient, d->step, d->n);
    turn(d->here.curvature, d->step, d->turned, d->n);
    *plain = slope + 0.5 * product(d->step, d->turned, d->n);
    turn(d->beyond, d->step, d->turned, d->n);
    *bent = *plain + 0.5 * product(d->step, d->turned, d->n);
}

/* The secant: over the step the gradient changed by more than J'J says. */
static void learn(descent *d)
{
    const size_t n = d->n;
    double *unseen = d->unseen, *changed = d->here.gradient;
    turn(d->there.curvature, d->step, d->turned, n);
    for (size_t i = 0; i < n; i++) {
        changed[i] = d->there.gradient[i] - d->here.gradient[i];
        unseen[i] = changed[i] - d->turned[i];
    }
    const double along = product(changed, d->step, n);
    if (!(along > 0))
        return;
    turn(d->beyond, d->step, d->turned, n);
    const double told = product(d->step, d->turned, n);
    const double size =
        told != 0 ? fmin(1, fabs(product(d->step, unseen, n) / told)) : 1; /* it may have shrunk */
    for (size_t i = 0; i < n; i++)
        unseen[i] -= size * d->turned[i];
    const double share = product(unseen, d->step, n) / along;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            d->beyond[i * n + j] =
                size * d->beyond[i * n + j] +
                (unseen[i] * changed[j] + changed[i] * unseen[j] - share * changed[i] * changed[j]) /
                    along;
}

/* One step tried. gained: of what was foretold, below LITTLE_GAINED when it was not taken. */
static bb_status try_step(descent *d, double *foretold, double *gained)
{
    double plain, bent;
    while (!set_step(d, d->bent)) {
        d->bent = false;
        d->damping = fmax(4 * d->damping, DAMPING_FIRST);
        if (!(d->damping < DAMPING_MOST))
            return BB_NOT_CONVERGED;
    }
    foretell(d, &plain, &bent);
    *foretold = -(d->bent ? bent : plain);
    for (size_t i = 0; i < d->n; i++)
        d->there.x[i] = d->here.x[i] + d->step[i];
    bb_status status = look(d, &d->there);
    if (status == BB_MEMORY)
        return status;
    const double change = d->there.half_sum - d->here.half_sum;
    *gained = status == BB_OK ? -change / *foretold : -1;
    if (status == BB_OK)
        d->bent = fabs(change - bent) < fabs(change - plain);
    if (*gained < LITTLE_GAINED)
        return BB_OK;
    learn(d);
    const place before = d->here;
    d->here = d->there;
    d->there = before;
    return BB_OK;
}

static bb_status walk(descent *d, int *iterations)
{
    bool refused = false;
    for (*iterations = 0; *iterations < d->of->max_iterations; ++*iterations) {
        double foretold, gained;
        bb_status status = try_step(d, &foretold, &gained);
        if (status != BB_OK)
            return status;
        const bool undamped = d->damping < DAMPING_FIRST;
        if (foretold <= ROUNDING * d->here.half_sum ||
            (undamped && foretold < d->of->tolerance && gained >= LITTLE_GAINED))
            return BB_OK;
        if (gained > 0.75)
            d->damping = fmax(d->damping / (refused ? 2 : 8), DAMPING_LEAST);
        else if (gained < 0.25)
            d->damping = gained < 0 ? fmax(8 * d->damping, DAMPING_FIRST) : 4 * d->damping;
        refused = gained < LITTLE_GAINED;
        if (d->damping > DAMPING_MOST)
            return BB_NOT_CONVERGED;
    }
    return BB_NOT_CONVERGED;
}

bb_status bb_descend(const bb_descent *descent_of, double *x, double *half_sum, int *iterations)
{
    descent d = {.of = descent_of, .n = descent_of->count, .damping = DAMPING_FIRST / 8};
    if (!make_room(&d))
        return BB_MEMORY;
    memcpy(d.here.x, x, d.n * sizeof *x);
    bb_status status = look(&d, &d.here);
    *iterations = 0;
    if (status == BB_OK)
        status = walk(&d, iterations);
    memcpy(x, d.here.x, d.n * sizeof *x);
    *half_sum = d.here.half_sum;
    free(d.room);
    return status;
}
