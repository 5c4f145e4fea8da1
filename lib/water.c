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
static const double STANDARD_S_PER_M = 4.2914;  /* C(35, 15 degC, 0): Culkin and Smith 1980 */
static const double T68_PER_T90 = 1.00024;      /* Saunders 1990 */
static const double SALINITY_ERROR = 0.002;     /* of PSS-78: Le Menn, Ocean Science 7 (2011) 651 */
static const double LEAST_PRACTICAL = 2;        /* below it the dilute scale */

typedef struct {
    double value, slope; /* salinity, and by x */
} salinity_at;

static salinity_at practical(double x, double f)
{
    salinity_at s = {0, 0};
    for (int i = TERMS - 1; i >= 0; i--) {
        s.slope = s.slope * x + s.value;
        s.value = s.value * x + A[i] + f * B[i];
    }
    return s;
}

/* PSS-78 with the two terms of Hill, Dauphinee and Woods (1986), which bring it to 0 in pure
 * water. */
static salinity_at dilute(double x, double f)
{
    const double p = 400 * x * x, r = 10 * x;
    const double first = 1 + 1.5 * p + p * p;
    const double second = 1 + r + r * r + r * r * r;
    salinity_at s = practical(x, f);
    s.value -= A[0] / first + B[0] * f / second;
    s.slope += A[0] * (1.5 + 2 * p) * 800 * x / (first * first) +
               B[0] * f * (1 + 2 * r + 3 * r * r) * 10 / (second * second);
    return s;
}

typedef salinity_at scale(double x, double f);

/* The x at which a scale reads the wanted salinity: Newton inside a bracket on which both scales
 * rise. The dilute scale dips below 0 under its lower end. */
static double solve(scale *of, double f, double wanted)
{
    double low = 0.004, high = 1.2;
    double x = 0.17 * sqrt(wanted) + 0.005;
    for (int round = 0; round < 100; round++) {
        const salinity_at s = of(x, f);
        *(s.value > wanted ? &high : &low) = x;
        double next = x - (s.value - wanted) / s.slope;
        if (!(next >= low && next <= high))
            next = (low + high) / 2;
        const double step = fabs(next - x);
        x = next;
        if (step <= 1e-9) /* what is left is its square */
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
    scale *of = practical;
    double wanted = salinity;
    if (salinity < LEAST_PRACTICAL) { /* scaled, so that both agree where they meet */
        wanted *= dilute(solve(practical, f, LEAST_PRACTICAL), f).value / LEAST_PRACTICAL;
        of = dilute;
    }
    const double x = solve(of, f, wanted);
    const double rise = C[0] + t * (C[1] + t * (C[2] + t * (C[3] + t * C[4])));
    *sigma_S_per_m = STANDARD_S_PER_M * rise * x * x;
    if (relative_error != NULL)
        *relative_error = fmin(1, SALINITY_ERROR * 2 / (x * of(x, f).slope));
    return BB_OK;
}
