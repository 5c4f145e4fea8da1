/* Bessel functions of many orders at once: a table of them costs one recurrence, run in the
 * direction in which rounding fades (Miller, in Abramowitz and Stegun 1964, 9.12, from memory). */
#include "bessel.h"

#include <math.h>
#include <string.h>

void bb_bessel_even(double k, size_t count, double *value)
{
    size_t top = 2 * count + 2;
    size_t start = (top > (size_t)k ? top : (size_t)k) + 30 + (size_t)(6.0 * cbrt(k + 1.0));
    start += start % 2;
    double above = 0.0, here = 1e-300, sum = 0.0;
    for (size_t n = start; n >= 1; n--) {
        double below = 2.0 * (double)n / k * here - above;
        above = here;
        here = below;
        if (n % 2 == 1) {
            sum += n == 1 ? here : 2.0 * here;
            if (n >= 3 && n - 1 <= 2 * count)
                value[(n - 1) / 2 - 1] = here;
        }
        if (fabs(here) > 1e250) {
            above *= 1e-250;
            here *= 1e-250;
            sum *= 1e-250;
            for (size_t i = 0; i < count; i++)
                value[i] = 2 * (i + 1) >= n - 1 ? value[i] * 1e-250 : 0.0;
        }
    }
    for (size_t i = 0; i < count; i++)
        value[i] /= sum;
}

void bb_bessel_even_upward(double k, double order0, double order1, size_t count, double *value)
{
    double below = order0, here = order1;
    for (size_t n = 1; n < 2 * count; n++) {
        double above = 2.0 * (double)n / k * here - below;
        below = here;
        here = above;
        if (n % 2 == 1)
            value[(n + 1) / 2 - 1] = here;
    }
}

void bb_bessel_spherical(double x, size_t count, double *value)
{
    size_t start = (count > (size_t)x ? count : (size_t)x) + 30 + (size_t)(6.0 * cbrt(x + 1.0));
    double above = 0.0, here = 1e-300;
    memset(value, 0, count * sizeof *value);
    for (size_t n = start; n >= 1; n--) {
        if (n < count)
            value[n] = here;
        double below = (2.0 * (double)n + 1.0) / x * here - above;
        above = here;
        here = below;
        if (fabs(here) > 1e250) {
            above *= 1e-250;
            here *= 1e-250;
            for (size_t i = n < count ? n : count; i < count; i++)
                value[i] *= 1e-250;
        }
    }
    value[0] = here;
    double scale = fabs(here) > fabs(above) ? sin(x) / x / here : (sin(x) / x - cos(x)) / x / above;
    for (size_t n = 0; n < count; n++)
        value[n] *= scale;
}

void bb_bessel_spherical_upward(double x, double order0, double order1, size_t count, double *value)
{
    value[0] = order0;
    value[1] = order1;
    for (size_t n = 2; n < count; n++)
        value[n] = (2.0 * (double)n - 1.0) / x * value[n - 1] - value[n - 2];
}

void bb_bessel_modified(double x, size_t count, double *up, double *down, double *both)
{
    double ratio = 0.0;
    for (size_t n = count + 20 + (size_t)fmin(2.0 * x, 200.0); n-- > 0;) {
        ratio = x / (2.0 * (double)n + 3.0 + x * ratio);
        if (n < count)
            up[n] = ratio;
    }
    down[0] = 1.0;
    both[0] = -expm1(-2.0 * x) / (2.0 * x);
    for (size_t n = 1; n < count; n++) {
        down[n] = 1.0 / ((2.0 * (double)n - 1.0) / x + down[n - 1]);
        both[n] = both[n - 1] * up[n - 1] / down[n];
    }
}
