/* The polarizability and the modes of a disc, ring or sphere. */
#include "brineband.h"

#include "body_table.h"
#include "constants.h"
#include "spectral.h"
#include "sphere.h"

#include <math.h>
#include <stdlib.h>

enum { UNKNOWNS = 200, MODES = 100 }; /* of the modes that are solved for */

static bool is_body(const bb_body *body)
{
    if (!(body->radius_m > 0.0 && body->conductivity_S_per_m > 0.0 && body->permeability > 0.0) ||
        isinf(body->radius_m) || isinf(body->conductivity_S_per_m) || isinf(body->permeability))
        return false;
    if (body->shape == BB_SHAPE_SPHERE)
        return true;
    bool flat = body->thickness_m > 0.0 && !isinf(body->thickness_m) && body->permeability == 1.0;
    if (body->shape == BB_SHAPE_RING)
        return flat && body->bore_radius_m >= 0.0 && body->bore_radius_m < body->radius_m;
    return flat && body->shape == BB_SHAPE_DISC;
}

static int stronger_first(const void *one, const void *other)
{
    double a = ((const bb_mode *)one)->strength_m3, b = ((const bb_mode *)other)->strength_m3;
    return (a < b) - (a > b);
}

static bb_status section_modes(const bb_body *body, bb_mode *modes, size_t *count)
{
    double a = body->radius_m, bore = body->shape == BB_SHAPE_RING ? body->bore_radius_m : 0.0;
    bb_section section = bb_section_of(body->thickness_m / a, bore / a, UNKNOWNS, MODES);
    bb_status status = bb_spectral_modes(&section, modes, count);
    for (size_t n = 0; status == BB_OK && n < *count; n++) {
        modes[n].strength_m3 *= a * a * a;
        modes[n].time_constant_s *= BB_MU0 * body->conductivity_S_per_m * a * a;
    }
    return status;
}

/* int int r^3 dr dz times pi/2: what alpha / (j omega mu0 sigma) is at low frequency. */
static double first_moment(const bb_body *body, double bore)
{
    double a2 = body->radius_m * body->radius_m, b2 = bore * bore;
    return BB_PI / 8.0 * body->thickness_m * (a2 - b2) * (a2 + b2);
}

typedef struct {
    double complex alpha, slope;
} answer;

/* A shape on the table's axes. */
static answer read_table(const bb_body_table *table, const bb_body *body, double bore, double omega)
{
    double a = body->radius_m, scale = omega * BB_MU0 * body->conductivity_S_per_m;
    double complex log_alpha, slope;
    bb_body_table_at(table, log(1.0 - bore / a), log(body->thickness_m / a), log(scale * a * a),
                     &log_alpha, &slope);
    double complex alpha = I * scale * first_moment(body, bore) * cexp(log_alpha);
    return (answer){alpha, alpha * (1.0 + slope)};
}

static answer mix(answer one, answer other, double share)
{
    return (answer){one.alpha + share * (other.alpha - one.alpha),
                    one.slope + share * (other.slope - one.slope)};
}

/* A hole below the table's goes over into the disc: what it changes goes as its fourth power. */
static answer of_any_bore(const bb_body *body, double omega)
{
    double a = body->radius_m, bore = body->shape == BB_SHAPE_RING ? body->bore_radius_m : 0.0;
    double smallest = a * (1.0 - exp(bb_ring_table.wall.high));
    if (bore >= smallest)
        return read_table(&bb_ring_table, body, bore, omega);
    answer disc = read_table(&bb_disc_table, body, 0.0, omega);
    return bore == 0.0 ? disc
                       : mix(disc, read_table(&bb_ring_table, body, smallest, omega),
                             pow(bore / smallest, 4.0));
}

/* Longer than the table reaches: c t + d + e / t, its ends with the long cylinder between. */
static answer of_long(const bb_body *body, double longest, double omega)
{
    static const double share[] = {1.0, 0.75, 0.5};
    double t = body->thickness_m / longest, grows = t - 1.0, fades = 1.0 / t - 1.0;
    double weight[] = {1.0 + 8.0 * grows + 3.0 * fades, -12.0 * grows - 6.0 * fades,
                       4.0 * grows + 3.0 * fades};
    answer sum = {0.0, 0.0};
    for (size_t i = 0; i < 3; i++) {
        bb_body other = *body;
        other.thickness_m = share[i] * longest;
        answer at = of_any_bore(&other, omega);
        sum.alpha += weight[i] * at.alpha;
        sum.slope += weight[i] * at.slope;
    }
    return sum;
}

/* Sections thinner than the table's answer as its thinnest at the same conductance. */
static answer of_any_section(bb_body body, double omega)
{
    double a = body.radius_m, thinnest = a * exp(bb_disc_table.thickness.low);
    double longest = a * exp(bb_disc_table.thickness.high);
    double wall = a - body.bore_radius_m, narrowest = a * exp(bb_ring_table.wall.low);
    if (body.shape == BB_SHAPE_RING && wall < narrowest) {
        body.conductivity_S_per_m *= wall / narrowest;
        body.bore_radius_m = a - narrowest;
    }
    if (body.thickness_m < thinnest) {
        body.conductivity_S_per_m *= body.thickness_m / thinnest;
        body.thickness_m = thinnest;
    }
    return body.thickness_m <= longest ? of_any_bore(&body, omega) : of_long(&body, longest, omega);
}

bb_status bb_body_polarizability(const bb_body *body, double omega_rad_per_s, bb_complex *alpha_m3,
                                 bb_complex *slope_m3)
{
    if (!is_body(body) || !(omega_rad_per_s > 0.0) || isinf(omega_rad_per_s))
        return BB_RANGE;
    answer found;
    if (body->shape == BB_SHAPE_SPHERE)
        bb_sphere_polarizability(body, omega_rad_per_s, &found.alpha, &found.slope);
    else
        found = of_any_section(*body, omega_rad_per_s);
    *alpha_m3 = (bb_complex){creal(found.alpha), cimag(found.alpha)};
    if (slope_m3 != NULL)
        *slope_m3 = (bb_complex){creal(found.slope), cimag(found.slope)};
    return BB_OK;
}

bb_status bb_body_modes(const bb_body *body, size_t capacity, bb_mode *modes, size_t *count)
{
    if (!is_body(body) || body->permeability != 1.0)
        return BB_RANGE;
    bb_mode *all = malloc(MODES * sizeof *all);
    if (all == NULL)
        return BB_MEMORY;
    bb_status status = BB_OK;
    *count = MODES;
    if (body->shape == BB_SHAPE_SPHERE)
        for (size_t n = 0; n < MODES; n++)
            all[n] = bb_sphere_mode(body, n + 1);
    else
        status = section_modes(body, all, count);
    if (status == BB_OK) {
        qsort(all, *count, sizeof *all, stronger_first);
        for (size_t n = 0; n < *count && n < capacity; n++)
            modes[n] = all[n];
    }
    free(all);
    return status;
}
