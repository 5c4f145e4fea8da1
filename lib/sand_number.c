/* The distribution of the number that bare sand shows when it sounds. */
#include "sand_number.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>

#include "predictor.h"
#include "repeats.h"

enum { MODEL_PARTS = 5, KERNEL_FREEDOM = 5, ANGLE_NODES = 241 };
enum { STRAYS_FROM = 5, STRAYS_HELD = 50 }; /* numbers read; readings that the outlier share is worth */

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

/* ---------------------------------------------------------------- kernels */

/* A Student t about a reading: tail[d] is its chance beyond d + 1/2 numbers above it. */
typedef struct {
    size_t count;
    double tail[BB_NUMBERS_MAX];
} kernel;

static void kernel_set(kernel *k, size_t count, double width)
{
    k->count = count;
    for (size_t d = 0; d < count; d++)
        k->tail[d] = gsl_cdf_tdist_Q(((double)d + 0.5) / width, KERNEL_FREEDOM);
}

static double chance_above(const kernel *k, size_t from, size_t n)
{
    return n + 1 == k->count ? 0 : n >= from ? k->tail[n - from] : 1 - k->tail[from - n - 1];
}

static double kernel_at(const kernel *k, size_t from, size_t n)
{
    return (n == 0 ? 1 : chance_above(k, from, n - 1)) - chance_above(k, from, n);
}

/* ---------------------------------------------------------------- what was read */

/* Count and sd of the numbers read, in scale steps. */
static void moments(const double *counts, size_t count, double *read, double *sd)
{
    double sum = 0, square = 0;
    *read = 0;
    for (size_t n = 0; n < count; n++) {
        *read += counts[n];
        sum += counts[n] * (double)n;
        square += counts[n] * (double)n * (double)n;
    }
    *sd = *read > 1 ? sqrt(fmax(square - sum * sum / *read, 0) / (*read - 1)) : 0;
}

/* The number below which a share of the readings lies, each spread over its own number. */
static double quantile(const double *counts, size_t count, double read, double share)
{
    double below = 0;
    for (size_t n = 0; n < count; n++) {
        if (counts[n] > 0 && below + counts[n] >= share * read)
            return (double)n - 0.5 + (share * read - below) / counts[n];
        below += counts[n];
    }
    return (double)count - 1;
}

static double kernel_width(size_t count, double read, double sd)
{
    return fmax(0.5 * fmax(1, (double)(count - 1) / 100), 0.85 * sd * pow(fmax(read, 1), -0.2));
}

/* Take out the strays: single readings that an outlier anywhere on the scale explains better than
 * the model and all the other readings do. Their spread is judged by its middle half, which a stray
 * cannot stretch (Silverman 1986, Density Estimation, section 3.4.2; from memory). Returns how many
 * there were. */
static double take_strays(double *counts, size_t count, const double *model)
{
    double read, sd, strays = 0;
    kernel k;
    bool stray[BB_NUMBERS_MAX] = {false};
    moments(counts, count, &read, &sd);
    if (read < STRAYS_FROM)
        return 0;
    const double middle =
        quantile(counts, count, read, 0.75) - quantile(counts, count, read, 0.25);
    kernel_set(&k, count, kernel_width(count, read, fmin(sd, middle / 1.349)));
    for (size_t n = 0; n < count; n++) {
        double expected = model == NULL ? 0 : MODEL_PARTS * model[n];
        if (counts[n] <= 0 || counts[n] > 1)
            continue;
        for (size_t from = 0; from < count; from++)
            if (counts[from] > 0 && from != n)
                expected += counts[from] * kernel_at(&k, from, n);
        expected /= read - 1 + (model == NULL ? 0 : MODEL_PARTS);
        stray[n] = BB_OUTLIER_SHARE / (double)count > (1 - BB_OUTLIER_SHARE) * expected;
    }
    for (size_t n = 0; n < count; n++)
        if (stray[n]) {
            strays += counts[n];
            counts[n] = 0;
        }
    return strays;
}

bb_status bb_sand_mix(const bb_bare *bare, const bb_machine *machine, const double *model,
                      double *p)
{
    const size_t count = bb_scale_count(machine);
    double counts[BB_NUMBERS_MAX], read, sd;
    kernel k;
    memcpy(counts, bare->counts, count * sizeof *counts);
    const double strays = take_strays(counts, count, model);
    moments(counts, count, &read, &sd);
    const double parts = read + (model == NULL ? 0 : MODEL_PARTS);
    if (parts == 0)
        return BB_TOO_LITTLE;
    kernel_set(&k, count, kernel_width(count, read, sd));
    for (size_t n = 0; n < count; n++)
        p[n] = model == NULL ? 0 : MODEL_PARTS * model[n] / parts;
    for (size_t from = 0; from < count; from++)
        for (size_t n = 0; n < count && counts[from] > 0; n++)
            p[n] += counts[from] * kernel_at(&k, from, n) / parts;
    if (strays == 0)
        return BB_OK;
    const double outliers =
        (strays + STRAYS_HELD * BB_OUTLIER_SHARE) / (read + strays + STRAYS_HELD);
    for (size_t n = 0; n < count; n++)
        p[n] = (1 - outliers) * p[n] + outliers / (double)count;
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
