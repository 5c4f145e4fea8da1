/* Times the ground integral and the water conversion, a line each: name, tab, microseconds a call,
 * tab, the first value, which physics_peer.py checks against its own. */
#include "brineband.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { CALLS = 200, ROUNDS = 100 }; /* short rounds, so that the least is undisturbed */

static double now_us(void)
{
    struct timespec now;
    (void)timespec_get(&now, TIME_UTC);
    return 1e6 * (double)now.tv_sec + 1e-3 * (double)now.tv_nsec;
}

/* The i-th conductivity or salinity of a sweep: no two calls are alike. */
static double step(int i)
{
    return 1 + 3.0 * i / CALLS;
}

static double half_space(int i)
{
    const bb_ground sand = {.sigma_S_per_m = step(i)};
    bb_complex response;
    if (bb_ground_response(&sand, bb_angular_frequency(15e3), 0.14, 0.05, &response) != BB_OK)
        exit(EXIT_FAILURE);
    return response.im;
}

static double two_layers(int i)
{
    const bb_ground sand = {step(i), 1e-3, 0.1, 0.05};
    bb_complex response;
    if (bb_ground_response(&sand, bb_angular_frequency(15e3), 0.14, 0.05, &response) != BB_OK)
        exit(EXIT_FAILURE);
    return response.im;
}

static double water(int i)
{
    double sigma;
    if (bb_water_conductivity(10 * step(i), 15, &sigma, NULL) != BB_OK)
        exit(EXIT_FAILURE);
    return sigma;
}

/* The least time of a call over some rounds. */
static void measure(const char *name, double (*call)(int))
{
    double least = 1e300;
    for (int round = 0; round < ROUNDS; round++) {
        const double start = now_us();
        for (int i = 0; i < CALLS; i++)
            (void)call(i);
        const double taken = (now_us() - start) / CALLS;
        least = taken < least ? taken : least;
    }
    printf("%s\t%.4f\t%.12g\n", name, least, call(0));
}

int main(void)
{
    measure("ground, half space", half_space);
    measure("ground, two layers, magnetic", two_layers);
    measure("water conductivity", water);
    return EXIT_SUCCESS;
}
