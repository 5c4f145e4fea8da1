/* How well water conducts: the practical salinity scale solved for conductivity. */
#include "brineband.h"

#include <math.h>

/* PSS-78: salinity as two polynomials in x = sqrt(Rt), Rt the conductivity relative to water of
 * salinity 35 at the same temperature, and that water's own rise with t68.
 * UNESCO Technical Papers in Marine Science 44 (1983). */
enum { TERMS = 6 };
static const double A[TERMS] = {0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081};
static const double B[TERMS] = {0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144};
static const double C[] = {0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9};
static const double K = 0.0162;
static const double STANDARD_S_PER_M = 4.2914; /* C(35, 15 degC, 0): Culkin and Smith 1980 */
static const double T68_PER_T90 = 1.00024;     /* Saunders 1990 */
static const double SALINITY_ERROR = 0.002;    /* of PSS-78: Le Menn, Ocean Science 7 (2011) 651 */
static const double LEAST_PRACTICAL = 2;       /* below it the dilute scale */

/* A salinity scale at one temperature: a polynomial in x, less the two terms of Hill, Dauphinee
 * and Woods (1986) that bring it to 0 in pure water, where it is dilute. */
typedef struct {
    double coefficient[TERMS];
    bool dilute;
    double first, second; /* of the two terms, in pure water */
} salinity_scale;

typedef struct {
    double value, slope; /* salinity, and by x */
} salinity_at;

static salinity_scale scale_at(double f, bool dilute)
{
    salinity_scale made = {.dilute = dilute, .first = A[0], .second = B[0] * f};
    for (int i = 0; i < TERMS; i++)
        made.coefficient[i] = A[i] + f * B[i];
    return made;
}

static salinity_at read_scale(const salinity_scale *scale, double x)
{
    salinity_at s = {0, 0};
    for (int i = TERMS - 1; i >= 0; i--) {
        s.slope = s.slope * x + s.value;
        s.value = s.value * x + scale->coefficient[i];
    }
    if (scale->dilute) {
        const double p = 400 * x * x, r = 10 * x;
        const double first = 1 + 1.5 * p + p * p;
        const double second = 1 + r + r * r + r * r * r;
        s.value -= scale->first / first + scale->second / second;
        s.slope += scale->first * (1.5 + 2 * p) * 800 * x / (first * first) +
                   scale->second * (1 + 2 * r + 3 * r * r) * 10 / (second * second);
    }
    return s;
}

/* The x at which a scale reads the wanted salinity: Newton inside a bracket on which both scales
 * rise. The dilute scale dips below 0 under its lower end. */
static double solve(const salinity_scale *scale, double wanted)
{
    const double root = sqrt(wanted);
    double low = 0.004, high = 1.2;
    double x = 0.0064 + root * (0.187 - 0.0032 * root); /* within 0.01, near 15 degC */
    for (int round = 0; round < 100; round++) {
        const salinity_at s = read_scale(scale, x);
        *(s.value > wanted ? &high : &low) = x;
        double next = x - (s.value - wanted) / s.slope;
        if (!(next >= low && next <= high))
            next = (low + high) / 2;
        const double step = fabs(next - x);
        x = next;
        if (step <= 1e-8) /* what is left is of the order of its square */
            break;
    }
    return x;
}

bb_status bb_water_conductivity(double salinity, double temperature_c, double *sigma_S_per_m,
                                double *relative_error)
{
    if (!(salinity >= 0 && salinity <= 42 && temperature_c >= -2 && temperature_c <= 35))
        return BB_RANGE;
    const double t = T68_PER_T90 * temperature_c;
    const double f = (t - 15) / (1 + K * (t - 15));
    const salinity_scale practical = scale_at(f, false), dilute = scale_at(f, true);
    const salinity_scale *used = &practical;
    double wanted = salinity;
    if (salinity < LEAST_PRACTICAL) { /* scaled, so that both agree where they meet */
        const double meeting = solve(&practical, LEAST_PRACTICAL);
        wanted *= read_scale(&dilute, meeting).value / LEAST_PRACTICAL;
        used = &dilute;
    }
    const double x = solve(used, wanted);
    const double rise = C[0] + t * (C[1] + t * (C[2] + t * (C[3] + t * C[4])));
    *sigma_S_per_m = STANDARD_S_PER_M * rise * x * x;
    if (relative_error != NULL)
        *relative_error = fmin(1, SALINITY_ERROR * 2 / (x * read_scale(used, x).slope));
    return BB_OK;
}
