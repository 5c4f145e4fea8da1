/* How the ground answers a coil held over it: conducting, layered and magnetic sand. */
#include "brineband.h"
#include "constants.h"

#include <complex.h>
#include <math.h>

/* Integral of J1(x)^2 F(x) dx = sum weight F(x), from lib/generate/ground_nodes.c. */
static const struct {
    double x, weight;
} nodes[] = {
#include "ground_nodes.inc"
};

/* The sand in units of the coil's radius. */
typedef struct {
    double permeability; /* relative, of sand and layer */
    double upper, lower; /* permeability * omega mu0 sigma a^2 of the layer and of the sand */
    double layer;        /* thickness / radius */
    double magnetic;     /* permeability^2 - 1, exact for a small susceptibility */
} scaled;

/* sqrt(x^2 + j q), q >= 0, without loss for either part. */
static double complex vertical(double x, double q)
{
    const double real = sqrt((sqrt(x * x * x * x + q * q) + x * x) / 2);
    return real + q / (2 * real) * I;
}

/* top / sum^2: all values are finite, so the care of a general complex division is not needed. */
static double complex over_square(double complex top, double complex sum)
{
    const double complex inverse = conj(sum) / (creal(sum) * creal(sum) + cimag(sum) * cimag(sum));
    return top * (inverse * inverse);
}

/* (mu x - u) / (mu x + u) for u = sqrt(x^2 + j q), without cancellation. */
static double complex from_air(const scaled *sand, double x, double q, double complex u)
{
    return over_square(sand->magnetic * x * x - q * I, sand->permeability * x + u);
}

/* The reflection coefficient seen from the coil. */
static double complex reflection(const scaled *sand, double x)
{
    const double complex u2 = vertical(x, sand->lower);
    if (sand->layer == 0)
        return from_air(sand, x, sand->lower, u2);
    const double complex u1 = vertical(x, sand->upper);
    const double complex top = from_air(sand, x, sand->upper, u1);
    const double complex bottom = over_square((sand->upper - sand->lower) * I, u1 + u2);
    const double complex seen = bottom * cexp(-2 * u1 * sand->layer);
    return (top + seen) / (1 + top * seen);
}

static bool between(double value, double low, double high)
{
    return value >= low && value <= high; /* false for NAN */
}

static bool accepted(const bb_ground *ground, double omega, double radius, double height)
{
    return between(ground->sigma_S_per_m, 0, 10) && between(ground->susceptibility, 0, 1) &&
           between(ground->layer_m, 0, 10) &&
           (ground->layer_m == 0 || between(ground->layer_sigma_S_per_m, 0, 10)) && omega > 0 &&
           omega <= 1e7 && radius > 0 && radius <= 10 && height > 0 && isfinite(height);
}

bb_status bb_ground_response(const bb_ground *ground, double omega_rad_per_s, double radius_m,
                             double height_m, bb_complex *response)
{
    if (!accepted(ground, omega_rad_per_s, radius_m, height_m))
        return BB_RANGE;
    const double mu = 1 + ground->susceptibility;
    const double scale = mu * omega_rad_per_s * BB_MU0 * radius_m * radius_m;
    const scaled sand = {
        .permeability = mu,
        .upper = scale * ground->layer_sigma_S_per_m,
        .lower = scale * ground->sigma_S_per_m,
        .layer = ground->layer_m / radius_m,
        .magnetic = ground->susceptibility * (2 + ground->susceptibility),
    };
    const double fall = 2 * height_m / radius_m;
    double complex sum = 0;
    for (size_t i = 0; i < sizeof nodes / sizeof *nodes && fall * nodes[i].x < 50; i++)
        sum += nodes[i].weight * exp(-fall * nodes[i].x) * reflection(&sand, nodes[i].x);
    *response = (bb_complex){0 - BB_PI * creal(sum), 0 - BB_PI * cimag(sum)};
    return BB_OK;
}
