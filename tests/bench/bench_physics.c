/* Times the ground integral, the water conversion and bodies, a line each: name, tab, microseconds a call,
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

static double answer_of(bb_body body)
{
    bb_complex alpha;
    if (bb_body_polarizability(&body, bb_angular_frequency(10e3), &alpha, NULL) != BB_OK)
        exit(EXIT_FAILURE);
    return alpha.im;
}

static double disc(int i)
{
    return answer_of((bb_body){BB_SHAPE_DISC, 11.625e-3, 2.33e-3, 0, 9.3e6 * step(i), 1});
}

static double ring(int i)
{
    return answer_of((bb_body){BB_SHAPE_RING, 10e-3, 3e-3, 8.5e-3, 7e6 * step(i), 1});
}

static double sphere(int i)
{
    return answer_of((bb_body){BB_SHAPE_SPHERE, 10e-3, 0, 0, 10e6 * step(i), 100});
}

static double modes(int i)
{
    const bb_body body = {BB_SHAPE_DISC, 11.625e-3, 2.33e-3, 0, 9.3e6 * step(i), 1};
    bb_mode strongest;
    size_t count;
    if (bb_body_modes(&body, 1, &strongest, &count) != BB_OK)
        exit(EXIT_FAILURE);
    return strongest.time_constant_s;
}

/* The least time of a call over some rounds. */
static void measure(const char *name, double (*call)(int), int rounds)
{
    double least = 1e300;
    for (int round = 0; round < rounds; round++) {
        const double start = now_us();
        const int calls = rounds == ROUNDS ? CALLS : 1;
        for (int i = 0; i < calls; i++)
            (void)call(i);
        const double taken = (now_us() - start) / calls;
        least = taken < least ? taken : least;
    }
    printf("%s\t%.4f\t%.12g\n", name, least, call(0));
}

int main(void)
{
    measure("ground, half space", half_space, ROUNDS);
    measure("ground, two layers, magnetic", two_layers, ROUNDS);
    measure("water conductivity", water, ROUNDS);
    measure("disc, from the table", disc, ROUNDS);
    measure("ring, from the table", ring, ROUNDS);
    measure("sphere, magnetic", sphere, ROUNDS);
    measure("disc, all modes solved", modes, 20);
    return EXIT_SUCCESS;
}
