/* Coverage by the randomised PIT, squared error over the noise floor, logarithmic score. */
#include "score.h"

#include <math.h>

const double score_level[LEVELS] = {0.5, 0.8, 0.9};

/* Czado, Gneiting and Held 2009, Biometrics 65:1254: a whole number's PIT is uniform between the
 * cumulative chances below it and at it. Share of that stretch inside the central interval. */
static double inside(double below, double at, double level)
{
    double low = fmax(below, 0.5 * (1 - level)), high = fmin(at, 0.5 * (1 + level));
    return at > below ? fmax(high - low, 0) / (at - below) : 0;
}

static double expected_log(const truth_distribution *true_numbers, const double *chances)
{
    double sum = 0;
    for (size_t i = 0; i < true_numbers->count; i++)
        sum += true_numbers->chances[i] *
               log((1 - FLAT_SHARE) * chances[i] + FLAT_SHARE / (double)true_numbers->count);
    return sum;
}

void score_add(scores *sums, const truth_distribution *true_numbers,
               const bb_prediction *prediction, const double *baseline, double step)
{
    double cumulative = 0;
    for (size_t i = 0; i < true_numbers->count; i++) {
        double below = cumulative;
        cumulative += prediction->p[i];
        for (int level = 0; level < LEVELS; level++)
            sums->covered[level] +=
                true_numbers->chances[i] * inside(below, cumulative, score_level[level]);
    }
    const double off = prediction->mean - true_numbers->mean;
    sums->points += 1;
    sums->square += (true_numbers->sd * true_numbers->sd + off * off) / (step * step);
    sums->floor += true_numbers->sd * true_numbers->sd / (step * step);
    sums->log_score += expected_log(true_numbers, prediction->p);
    sums->baseline_log_score += expected_log(true_numbers, baseline);
}

void score_merge(scores *into, const scores *from)
{
    into->points += from->points;
    for (int level = 0; level < LEVELS; level++)
        into->covered[level] += from->covered[level];
    into->square += from->square;
    into->floor += from->floor;
    into->log_score += from->log_score;
    into->baseline_log_score += from->baseline_log_score;
}
