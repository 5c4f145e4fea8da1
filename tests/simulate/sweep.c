/* What one sweep shows: the target's response and the sand's, mixed, turned into a number. */
#include "simulate.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_math.h>
#include <gsl/gsl_randist.h>

#define DEG (180 / M_PI)
#define TAIL_FREEDOM 4.0

/* An angle modulo 180 degrees, -90 to 90: a signal of either sign is the same thing. */
static double fold(double angle_deg)
{
    return angle_deg - 180 * floor((angle_deg + 90) / 180);
}

static double angle_of(double complex response)
{
    return atan(creal(response) / cimag(response)) * DEG;
}

static double complex at_angle(double angle_deg)
{
    return sin(angle_deg / DEG) + I * cos(angle_deg / DEG);
}

static double target_over_sand(const truth *t, const truth_place *place, double complex target,
                               gsl_rng *random)
{
    const double psi = truth_angle_deg(t, place), turn = gsl_ran_gaussian(random, t->wander_deg);
    const double residual = truth_residual(t, place);
    const double sand = residual + truth_jitter(t, place) * gsl_ran_ugaussian(random);
    if (t->turning)
        return angle_of(target + sand * at_angle(psi + turn));
    const double complex total = target + sand * at_angle(psi);
    return fold(angle_of(total) + turn * residual / cabs(total));
}

static double noise(const truth *t, gsl_rng *random)
{
    if (t->heavy_tails) /* of variance TAIL_FREEDOM / (TAIL_FREEDOM - 2), brought back to one */
        return t->reading * gsl_ran_tdist(random, TAIL_FREEDOM) *
               sqrt((TAIL_FREEDOM - 2) / TAIL_FREEDOM);
    return gsl_ran_gaussian(random, t->reading);
}

int truth_number(const truth *t, const truth_place *noted, double error_m, gsl_rng *random)
{
    const bb_machine *machine = &t->machine;
    truth_place place = *noted;
    double angle_deg;
    if (place.zone != BB_ZONE_AIR)
        place.height_m = fmax(place.height_m + gsl_ran_gaussian(random, t->height_sd_m), 0.01);
    const double complex target = truth_response(t, &place, error_m);
    if (place.zone == BB_ZONE_AIR)
        angle_deg = angle_of(target);
    else if (place.target == BB_TARGET_SAND)
        angle_deg = fold(truth_angle_deg(t, &place) + gsl_ran_gaussian(random, t->wander_deg));
    else
        angle_deg = target_over_sand(t, &place, target, random);
    const double shown = scale_number(&t->scale, angle_deg) + noise(t, random);
    const double steps = round((shown - machine->scale_low) / machine->scale_step);
    const double last = (double)scale_count(machine) - 1;
    return machine->scale_low + machine->scale_step * (int)fmin(fmax(steps, 0), last);
}

void truth_chances(const truth *t, const truth_place *place, int draws, gsl_rng *random,
                   truth_distribution *out)
{
    const bb_machine *machine = &t->machine;
    double sum = 0, square = 0;
    memset(out, 0, sizeof *out);
    out->count = scale_count(machine);
    for (int i = 0; i < draws; i++) {
        int number = truth_number(t, place, 0, random);
        out->chances[(number - machine->scale_low) / machine->scale_step] += 1;
        sum += number;
        square += (double)number * number;
    }
    out->mean = sum / draws;
    out->sd = sqrt(fmax(square / draws - out->mean * out->mean, 0));
    for (size_t i = 0; i < out->count; i++)
        out->chances[i] =
            (1 - t->outliers) * out->chances[i] / draws + t->outliers / (double)out->count;
}
