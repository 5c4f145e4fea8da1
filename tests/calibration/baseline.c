/* Offset-per-zone calibration with normal residuals, by moments. */
#include "baseline.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

/* Weighted count, mean and spread of what is added. */
typedef struct {
    double count, sum, square;
} moments;

static void add(moments *m, double value, double count)
{
    m->count += count;
    m->sum += count * value;
    m->square += count * value * value;
}

static double mean_of(const moments *m)
{
    return m->count > 0 ? m->sum / m->count : NAN;
}

/* Sd of one new value about the estimated mean, never below half a step: rounding hides less. */
static double new_value_sd(const moments *m, double step)
{
    if (m->count < 2)
        return NAN;
    double mean = mean_of(m);
    double variance = fmax(m->square - m->count * mean * mean, 0) / (m->count - 1);
    return sqrt(fmax(variance, step * step / 4) * (1 + 1 / m->count));
}

static bool counts(const bb_cell *cell)
{
    return cell->setting == 0 && cell->has_reading;
}

static void fit_air(const bb_visit *visit, offsets *fitted)
{
    moments piece[BB_TARGETS_MAX] = {{0}}, about = {0};
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (counts(cell) && cell->zone == BB_ZONE_AIR)
            add(&piece[cell->target], cell->reading, cell->count);
    }
    for (size_t k = 0; k < visit->target_count; k++)
        fitted->air[k] = mean_of(&piece[k]);
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (counts(cell) && cell->zone == BB_ZONE_AIR)
            add(&about, cell->reading - fitted->air[cell->target], cell->count);
    }
    fitted->air_sd = new_value_sd(&about, visit->machine.scale_step);
}

void baseline_fit(const bb_visit *visit, offsets *fitted)
{
    moments zone[BB_ZONES_MAX] = {{0}}, sand[BB_ZONES_MAX] = {{0}}, all = {0};
    const double step = visit->machine.scale_step;
    memset(fitted, 0, sizeof *fitted);
    fit_air(visit, fitted);
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (!counts(cell) || cell->zone == BB_ZONE_AIR)
            continue;
        if (cell->target == BB_TARGET_SAND) {
            add(&sand[cell->zone], cell->reading, cell->count);
        } else if (!isnan(fitted->air[cell->target])) {
            add(&zone[cell->zone], cell->reading - fitted->air[cell->target], cell->count);
            add(&all, cell->reading - fitted->air[cell->target], cell->count);
        }
    }
    for (size_t z = 0; z < visit->zone_count; z++) {
        const moments *from = zone[z].count >= 2 ? &zone[z] : &all;
        fitted->offset[z] = mean_of(from);
        fitted->offset_sd[z] = new_value_sd(from, step);
        fitted->sand[z] = mean_of(&sand[z]);
        fitted->sand_sd[z] = new_value_sd(&sand[z], step);
    }
}

static void flat(size_t count, double *chances)
{
    for (size_t i = 0; i < count; i++)
        chances[i] = 1 / (double)count;
}

void baseline_chances(const offsets *fitted, const bb_machine *machine, int zone, int target,
                      double *chances)
{
    const size_t count =
        (size_t)((machine->scale_high - machine->scale_low) / machine->scale_step) + 1;
    double mean, sd;
    if (target == BB_TARGET_SAND) {
        mean = fitted->sand[zone];
        sd = fitted->sand_sd[zone];
    } else {
        mean = fitted->air[target] + (zone == BB_ZONE_AIR ? 0 : fitted->offset[zone]);
        sd = zone == BB_ZONE_AIR ? fitted->air_sd : fitted->offset_sd[zone];
    }
    if (isnan(mean) || isnan(sd)) {
        flat(count, chances);
        return;
    }
    double below = 0;
    for (size_t i = 0; i < count; i++) {
        double edge = machine->scale_low + ((double)i + 0.5) * machine->scale_step;
        double at = i + 1 == count ? 1 : gsl_cdf_gaussian_P(edge - mean, sd);
        chances[i] = at - below;
        below = at;
    }
}
