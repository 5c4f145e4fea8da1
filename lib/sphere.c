/* Wait's sphere (Geophysics 16, 1951), written so that nothing cancels at either end.
 *
 * With z = j omega mu0 mu sigma a^2, k = sqrt z and e = i2(k)/i0(k) (modified spherical Bessel),
 *   alpha = 2 pi a^3 (2(1 - mu) + (1 + 2 mu) e) / (2 + mu - (mu - 1) e),
 * and e runs from z/15 at low frequency to 1 - 3/k at high. */
#include "sphere.h"

#include "constants.h"

/* e and z de/dz by the continued fraction of k coth k: exact as z goes to 0. */
static void ratio_small(double complex z, double complex *e, double complex *slope)
{
    double complex tail = 0.0;
    for (int odd = 35; odd >= 5; odd -= 2)
        tail = z / ((double)odd + tail);
    *e = tail / (3.0 + tail);
    *slope = -1.5 * *e + z * (1.0 - *e) * (1.0 - *e) / 6.0;
}

/* The same by k coth k itself, for |z| above 4. */
static void ratio_large(double complex z, double complex *e, double complex *slope)
{
    double complex k = csqrt(z);
    double complex fade = creal(k) < 20.0 ? cexp(-2.0 * k) : 0.0;
    double complex k_coth_k = k * (1.0 + fade) / (1.0 - fade);
    double complex inverse_sinh2 = 4.0 * fade / ((1.0 - fade) * (1.0 - fade));
    *e = 1.0 - 3.0 * (k_coth_k - 1.0) / z;
    *slope = 1.5 * (k_coth_k - 2.0 + z * inverse_sinh2) / z;
}

void bb_sphere_polarizability(const bb_body *sphere, double omega_rad_per_s, double complex *alpha,
                              double complex *slope)
{
    double a = sphere->radius_m, mu = sphere->permeability;
    double scale = 2.0 * BB_PI * a * a * a;
    double complex z = I * omega_rad_per_s * BB_MU0 * mu * sphere->conductivity_S_per_m * a * a;
    double complex e, e_slope;
    (cabs(z) < 4.0 ? ratio_small : ratio_large)(z, &e, &e_slope);
    double complex below = 2.0 + mu - (mu - 1.0) * e;
    *alpha = scale * (2.0 * (1.0 - mu) + (1.0 + 2.0 * mu) * e) / below;
    *slope = scale * 9.0 * mu * e_slope / (below * below);
}

bb_mode bb_sphere_mode(const bb_body *sphere, size_t n)
{
    double a = sphere->radius_m, n2 = (double)n * (double)n;
    return (bb_mode){.strength_m3 = 12.0 * a * a * a / (BB_PI * n2),
                     .time_constant_s =
                         BB_MU0 * sphere->conductivity_S_per_m * a * a / (BB_PI * BB_PI * n2)};
}
