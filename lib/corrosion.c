/* Loss of thickness: a constant rate in salt sand, the power law of ISO 9224 in air. */
#include "corrosion.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#define METRES_PER_UM 1e-6

typedef struct {
    const char *material;
    double um_per_year;
    const char *air;
} rate;

#define ROW(material, um_per_year, low, high, air, source) {material, um_per_year, air},
static const rate rates[] = {
#include "corrosion_rates.inc"
};
#undef ROW

/* ISO 9224:2012 table 2, mean exponent B1 and upper exponent B2. */
static const struct {
    const char *metal;
    double b[2];
} exponents[] = {
    {"carbon steel", {0.523, 0.575}},
    {"zinc", {0.813, 0.873}},
    {"copper", {0.667, 0.726}},
    {"aluminium", {0.728, 0.807}},
};

static const rate *rate_of(const char *material)
{
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++)
        if (strcmp(rates[i].material, material) == 0)
            return &rates[i];
    return NULL;
}

double bb_corrosion_loss_m(const char *material, double years, double severity)
{
    const rate *found = rate_of(material);
    return found == NULL ? 0.0 : severity * found->um_per_year * METRES_PER_UM * years;
}

static double multiplier(double b, double years)
{
    const double settled = 20.0; /* years */
    return years <= settled ? pow(years, b)
                            : pow(settled, b) * (1.0 + b * (years - settled) / settled);
}

double bb_corrosion_air_loss_m(const char *material, double first_year_m, bb_exponent exponent,
                               double years)
{
    const rate *found = rate_of(material);
    for (size_t i = 0; found != NULL && i < sizeof exponents / sizeof *exponents; i++)
        if (strcmp(exponents[i].metal, found->air) == 0)
            return first_year_m * multiplier(exponents[i].b[exponent], years);
    return 0.0;
}
