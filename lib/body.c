/* The polarizability and the modes of a disc, ring or sphere. */
#include "brineband.h"

#include "constants.h"
#include "shaped_body.h"
#include "spectral.h"
#include "sphere.h"

#include <math.h>
#include <stdlib.h>

enum { UNKNOWNS = 200, MODES = 100 }; /* of the modes that are solved for */

bool bb_is_body(const bb_body *body)
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

bb_status bb_body_polarizability(const bb_body *body, double omega_rad_per_s, bb_complex *alpha_m3,
                                 bb_complex *slope_m3)
{
    if (!bb_is_body(body) || !(omega_rad_per_s > 0.0) || isinf(omega_rad_per_s))
        return BB_RANGE;
    bb_shaped_body shaped = bb_shaped_body_of(body);
    double complex alpha, slope;
    bb_shaped_body_answer(&shaped, omega_rad_per_s, &alpha, &slope);
    *alpha_m3 = (bb_complex){creal(alpha), cimag(alpha)};
    if (slope_m3 != NULL)
        *slope_m3 = (bb_complex){creal(slope), cimag(slope)};
    return BB_OK;
}

bb_status bb_body_modes(const bb_body *body, size_t capacity, bb_mode *modes, size_t *count)
{
    if (!bb_is_body(body) || body->permeability != 1.0)
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
