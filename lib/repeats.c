/* The chance of several readings of one piece. Their own errors are independent; the error they
 * share, the doubt of the parameters and of the piece, is integrated once over all of them and so
 * is not averaged away. */
#include "repeats.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_sort_int.h>

#include "cells.h"

#define REACH 4.0         /* standard deviations of the shared error */
#define COARSEST 0.8      /* step of it, in the same */
#define STEP_SHARE 0.8    /* of one sweep's own sd that a step may move the number */
#define NEVER_SD 8.0      /* beyond it a number has no chance */
#define NARROWEST 0.5     /* sd of a mean over steps, in steps */

double bb_with_outliers(const bb_machine *machine, double chance)
{
    return (1 - BB_OUTLIER_SHARE) * chance + BB_OUTLIER_SHARE / (double)bb_scale_count(machine);
}

void bb_repeats_set(const int *numbers, size_t count, bb_repeats *repeats)
{
    int sorted[BB_REPEATS_MAX];
    memcpy(sorted, numbers, count * sizeof *sorted);
    gsl_sort_int(sorted, 1, count);
    repeats->count = 0;
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || sorted[i] != sorted[i - 1]) {
            repeats->numbers[repeats->count] = sorted[i];
            repeats->counts[repeats->count++] = 0;
        }
        repeats->counts[repeats->count - 1]++;
    }
}

/* One number at one value of the shared error, which varies by so much about it. */
static double chance_at(const bb_machine *machine, const bb_outlook_node *nodes, int count,
                        double error, double variance, int number)
{
    const bool end = number <= machine->scale_low || number >= machine->scale_high;
    double chance = 0;
    for (int i = 0; i < count; i++) {
        const double mean = nodes[i].number + nodes[i].common * error;
        const double moved = nodes[i].common * nodes[i].common * variance;
        const double sd = sqrt(nodes[i].own + nodes[i].rest + moved);
        if (end || fabs(number - mean) < NEVER_SD * sd + machine->scale_step)
            chance += nodes[i].weight * bb_number_chance(machine, number, mean, sd);
    }
    return bb_with_outliers(machine, chance);
}

double bb_reading_chance(const bb_machine *machine, const bb_outlook_node *nodes, int count,
                         int reading)
{
    return chance_at(machine, nodes, count, 0, 1, reading);
}

/* The longest step that moves the number by less than one sweep does by itself: between such steps
 * nothing is lost (Trefethen and Weideman 2014, SIAM Review 56:385). */
static double step_of(const bb_outlook_node *nodes, int count)
{
    double step = COARSEST;
    for (int i = 0; i < count; i++) {
        const double own = sqrt(nodes[i].own + nodes[i].rest), moves = fabs(nodes[i].common);
        if (moves * step > STEP_SHARE * own)
            step = STEP_SHARE * own / moves;
    }
    return step;
}

void bb_repeats_chances_set(const bb_machine *machine, const bb_outlook_node *nodes, int count,
                            const bb_repeats *repeats, bb_repeats_chances *chances)
{
    const double fine = step_of(nodes, count), coarse = 2 * REACH / (BB_SHARED_STEPS - 1);
    const double step = fmax(fine, coarse);
    const int half = (int)fmin(ceil(REACH / step), BB_SHARED_STEPS / 2);
    chances->count = 2 * half + 1;
    chances->step = step;
    chances->first = -half * step;
    chances->within = fine < coarse ? step * step / 12 : 0;
    for (int i = 0; i < chances->count; i++) {
        chances->chance[i] = 1;
        for (size_t r = 0; r < repeats->count; r++)
            chances->chance[i] *= pow(chance_at(machine, nodes, count, chances->first + i * step,
                                                chances->within, repeats->numbers[r]),
                                      repeats->counts[r]);
    }
}

double bb_repeats_mean(const bb_repeats_chances *chances, double centre, double sd)
{
    const double step = chances->step;
    const double variance = fmax(sd * sd - chances->within, pow(NARROWEST * step, 2));
    const double from = (centre - REACH * sqrt(variance) - chances->first) / step;
    const double to = (centre + REACH * sqrt(variance) - chances->first) / step;
    const int last = chances->count - 1;
    double sum = 0, total = 0;
    for (int i = (int)fmin(fmax(floor(from), 0), last); i <= (int)fmin(fmax(ceil(to), 0), last);
         i++) {
        const double off = chances->first + i * step - centre;
        const double weight = exp(-0.5 * off * off / variance);
        sum += weight * chances->chance[i];
        total += weight;
    }
    return sum / total;
}
