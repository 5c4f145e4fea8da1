/* Whether the numbers of bare sand went up or down with the hour: a straight line by least squares
 * through every sweep, and Student's t of its slope. */
#include "brineband.h"

#include <math.h>

#include <gsl/gsl_cdf.h>

enum { FEWEST = 4 }; /* sweeps, for a line and two beside it */

static bool tells(const bb_cell *cell, size_t zone)
{
    return cell->zone == (int)zone && cell->target == BB_TARGET_SAND && cell->setting == 0 &&
           cell->has_reading && !isnan(cell->hour);
}

bb_bare_trend bb_bare_trend_of(const bb_visit *visit, size_t zone)
{
    double sweeps = 0, hour = 0, number = 0, first = INFINITY, last = -INFINITY;
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (!tells(cell, zone))
            continue;
        sweeps += cell->count;
        hour += cell->count / sweeps * (cell->hour - hour);
        number += cell->count / sweeps * (cell->reading - number);
        first = fmin(first, cell->hour);
        last = fmax(last, cell->hour);
    }
    double hours = 0, numbers = 0, both = 0;
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (!tells(cell, zone))
            continue;
        hours += cell->count * (cell->hour - hour) * (cell->hour - hour);
        numbers += cell->count * (cell->reading - number) * (cell->reading - number);
        both += cell->count * (cell->hour - hour) * (cell->reading - number);
    }
    bb_bare_trend trend = {.sweeps = sweeps, .hours = NAN, .change = NAN, .p_value = NAN};
    if (sweeps < FEWEST || !(hours > 0))
        return trend;
    trend.hours = last - first;
    trend.change = both / hours * trend.hours;
    const double left = fmax(numbers - both * both / hours, 0);
    const double t = left > 0 ? fabs(both) / sqrt(hours * left / (sweeps - 2))
                     : both != 0 ? INFINITY
                                 : 0;
    trend.p_value = isinf(t) ? 0 : 2 * gsl_cdf_tdist_Q(t, sweeps - 2);
    return trend;
}
