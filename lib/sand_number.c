/* The distribution of the number that bare sand shows when it sounds. */
#include "sand_number.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>

#include "predictor.h"

enum { MODEL_PARTS = 5, KERNEL_FREEDOM = 5, ANGLE_NODES = 241 };

#define ANGLE_REACH 6.0 /* t = sinh(u) for u from -6 to 6: out to 200 spreads */

void bb_sand_model(const bb_machine *machine, double centre_deg, double spread_deg, double freedom,
                   double (*number)(double angle_deg, const void *context), const void *context,
                   double sd, double *p)
{
    const size_t count = bb_scale_count(machine);
    const double step = 2 * ANGLE_REACH / (ANGLE_NODES - 1);
    double total = 0;
    memset(p, 0, count * sizeof *p);
    for (int i = 0; i < ANGLE_NODES; i++) {
        double u = -ANGLE_REACH + i * step, t = sinh(u);
        double weight = gsl_ran_tdist_pdf(t, freedom) * cosh(u);
        double angle = fmin(fmax(centre_deg + spread_deg * t, -90), 90);
        bb_normal_add(machine, number(angle, context), sd, weight, p);
        total += weight;
    }
    for (size_t n = 0; n < count; n++)
        p[n] /= total;
}

/* Mean and sd of the numbers read, in scale steps from the lowest. */
static void moments(const bb_bare *bare, size_t count, double *read, double *sd)
{
    double sum = 0, square = 0;
    *read = 0;
    for (size_t n = 0; n < count; n++) {
        *read += bare->counts[n];
        sum += bare->counts[n] * (double)n;
        square += bare->counts[n] * (double)n * (double)n;
    }
    *sd = *read > 1 ? sqrt(fmax(square - sum * sum / *read, 0) / (*read - 1)) : 0;
}

bb_status bb_sand_mix(const bb_bare *bare, const bb_machine *machine, const double *model,
                      double *p)
{
    const size_t count = bb_scale_count(machine);
    double read, sd;
    moments(bare, count, &read, &sd);
    const double parts = read + (model == NULL ? 0 : MODEL_PARTS);
    if (parts == 0)
        return BB_TOO_LITTLE;
    const double narrowest = 0.5 * fmax(1, (double)(count - 1) / 100);
    const double width = fmax(narrowest, 0.85 * sd * pow(fmax(read, 1), -0.2));
    for (size_t n = 0; n < count; n++)
        p[n] = model == NULL ? 0 : MODEL_PARTS * model[n] / parts;
    for (size_t from = 0; from < count; from++) {
        if (bare->counts[from] == 0)
            continue;
        double below = 0;
        for (size_t n = 0; n < count; n++) {
            double above = n + 1 == count ? 1
                                          : gsl_cdf_tdist_P(((double)n + 0.5 - (double)from) / width,
                                                            KERNEL_FREEDOM);
            p[n] += bare->counts[from] * (above - below) / parts;
            below = above;
        }
    }
    return BB_OK;
}

double bb_sand_worth(const bb_bare *bare, bool modelled)
{
    return bare->number_swept + (modelled ? MODEL_PARTS : 0);
}

double bb_sounding_share(const bb_bare *bare)
{
    return bare->quiet_recorded ? (bare->heard + 0.5) / (bare->swept + 1) : 1;
}
