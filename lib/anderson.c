/* Anderson's acceleration: the next point is the one at which, by the last differences of points
 * and steps, the step would be shortest. */
#include "anderson.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A difference that the newer ones explain but for this share of it says nothing new. */
#define NOTHING_NEW 1e-3

enum { ARRAYS = 2 + 2 * BB_ANDERSON_DEPTH + BB_ANDERSON_DEPTH };

bb_status bb_anderson_new(bb_anderson *history, size_t count)
{
    *history = (bb_anderson){.count = count, .room = calloc(ARRAYS * count + 1, sizeof(double))};
    if (history->room == NULL)
        return BB_MEMORY;
    double *next = history->room + BB_ANDERSON_DEPTH * count;
    history->x = next;
    history->step = next + count;
    for (int i = 0; i < BB_ANDERSON_DEPTH; i++) {
        history->by_x[i] = next + (2 + (size_t)i) * count;
        history->by_step[i] = next + (2 + BB_ANDERSON_DEPTH + (size_t)i) * count;
    }
    return BB_OK;
}

void bb_anderson_free(bb_anderson *history)
{
    free(history->room);
    *history = (bb_anderson){0};
}

void bb_anderson_forget(bb_anderson *history)
{
    history->held = 0;
    history->started = false;
}

static double product(const double *a, const double *b, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += a[i] * b[i];
    return sum;
}

static void remember(bb_anderson *history, const double *x, const double *step)
{
    const size_t bytes = history->count * sizeof *x;
    if (history->started) {
        if (history->held == BB_ANDERSON_DEPTH) {
            double *oldest_x = history->by_x[0], *oldest_step = history->by_step[0];
            for (int i = 1; i < BB_ANDERSON_DEPTH; i++) {
                history->by_x[i - 1] = history->by_x[i];
                history->by_step[i - 1] = history->by_step[i];
            }
            history->by_x[BB_ANDERSON_DEPTH - 1] = oldest_x;
            history->by_step[BB_ANDERSON_DEPTH - 1] = oldest_step;
            history->held--;
        }
        for (size_t i = 0; i < history->count; i++) {
            history->by_x[history->held][i] = x[i] - history->x[i];
            history->by_step[history->held][i] = step[i] - history->step[i];
        }
        history->held++;
    }
    memcpy(history->x, x, bytes);
    memcpy(history->step, step, bytes);
    history->started = true;
}

/* Least squares by Gram and Schmidt, newest difference first: step = sum of weight_i by_step_i. */
static void weigh(const bb_anderson *history, double weight[BB_ANDERSON_DEPTH])
{
    const size_t n = history->count;
    double *square[BB_ANDERSON_DEPTH], triangle[BB_ANDERSON_DEPTH][BB_ANDERSON_DEPTH] = {{0}},
                                       along[BB_ANDERSON_DEPTH];
    int kept[BB_ANDERSON_DEPTH], count = 0;
    for (int i = history->held - 1; i >= 0; i--) {
        double *column = history->room + (size_t)count * n;
        const double before = product(history->by_step[i], history->by_step[i], n);
        memcpy(column, history->by_step[i], n * sizeof *column);
        for (int k = 0; k < count; k++) {
            triangle[k][count] = product(square[k], column, n);
            for (size_t j = 0; j < n; j++)
                column[j] -= triangle[k][count] * square[k][j];
        }
        const double length = sqrt(product(column, column, n));
        if (!(length > NOTHING_NEW * sqrt(before)))
            continue;
        for (size_t j = 0; j < n; j++)
            column[j] /= length;
        triangle[count][count] = length;
        square[count] = column;
        kept[count++] = i;
    }
    memset(weight, 0, BB_ANDERSON_DEPTH * sizeof *weight);
    for (int k = 0; k < count; k++)
        along[k] = product(square[k], history->step, n);
    for (int k = count - 1; k >= 0; k--) {
        for (int later = k + 1; later < count; later++)
            along[k] -= triangle[k][later] * along[later];
        along[k] /= triangle[k][k];
        weight[kept[k]] = along[k];
    }
}

void bb_anderson_step(bb_anderson *history, const double *x, double *next)
{
    double weight[BB_ANDERSON_DEPTH];
    for (size_t i = 0; i < history->count; i++)
        next[i] -= x[i];
    remember(history, x, next);
    weigh(history, weight);
    for (size_t i = 0; i < history->count; i++) {
        next[i] += x[i];
        for (int k = 0; k < history->held; k++)
            next[i] -= weight[k] * (history->by_x[k][i] + history->by_step[k][i]);
    }
}
