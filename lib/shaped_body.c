/* From a body's sizes to the entries of the tables that make it up. */
#include "shaped_body.h"

#include "constants.h"
#include "sphere.h"

#include <math.h>

/* int int r^3 dr dz times pi/2: what alpha / (j omega mu0 sigma) is at low frequency. */
static double first_moment(const bb_body *body, double bore)
{
    double a2 = body->radius_m * body->radius_m, b2 = bore * bore;
    return BB_PI / 8.0 * body->thickness_m * (a2 - b2) * (a2 + b2);
}

/* A shape on the table's axes. */
static void add_entry(bb_shaped_body *shaped, const bb_body_table *table, const bb_body *body,
                      double bore, double weight)
{
    double a = body->radius_m, scale = BB_MU0 * body->conductivity_S_per_m;
    bb_shaped_part *part = &shaped->part[shaped->count++];
    part->table = table;
    part->weight = weight;
    part->moment = scale * first_moment(body, bore);
    part->log_scale = log(scale * a * a);
    bb_body_table_shape(table, log(1.0 - bore / a), log(body->thickness_m / a), part->features);
}

/* A hole below the table's goes over into the disc: what it changes goes as its fourth power. */
static void add_any_bore(bb_shaped_body *shaped, const bb_body *body, double weight)
{
    double a = body->radius_m, bore = body->shape == BB_SHAPE_RING ? body->bore_radius_m : 0.0;
    double smallest = a * (1.0 - exp(bb_ring_table.wall.high));
    double share = bore >= smallest ? 1.0 : pow(bore / smallest, 4.0);
    if (share < 1.0)
        add_entry(shaped, &bb_disc_table, body, 0.0, weight * (1.0 - share));
    if (share > 0.0)
        add_entry(shaped, &bb_ring_table, body, fmax(bore, smallest), weight * share);
}

/* Longer than the table reaches: c t + d + e / t, its ends with the long cylinder between. */
static void add_long(bb_shaped_body *shaped, const bb_body *body, double longest)
{
    static const double share[] = {1.0, 0.75, 0.5};
    double t = body->thickness_m / longest, grows = t - 1.0, fades = 1.0 / t - 1.0;
    double weight[] = {1.0 + 8.0 * grows + 3.0 * fades, -12.0 * grows - 6.0 * fades,
                       4.0 * grows + 3.0 * fades};
    for (size_t i = 0; i < 3; i++) {
        bb_body other = *body;
        other.thickness_m = share[i] * longest;
        add_any_bore(shaped, &other, weight[i]);
    }
}

/* Sections thinner than the table's answer as its thinnest at the same conductance. */
static void add_any_section(bb_shaped_body *shaped, bb_body body)
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
    if (body.thickness_m <= longest)
        add_any_bore(shaped, &body, 1.0);
    else
        add_long(shaped, &body, longest);
}

bb_shaped_body bb_shaped_body_of(const bb_body *body)
{
    bb_shaped_body shaped = {.body = *body};
    if (body->shape != BB_SHAPE_SPHERE)
        add_any_section(&shaped, *body);
    return shaped;
}

void bb_shaped_body_answer(const bb_shaped_body *shaped, double omega, double complex *alpha,
                           double complex *slope)
{
    if (shaped->count == 0) {
        bb_sphere_polarizability(&shaped->body, omega, alpha, slope);
        return;
    }
    const double log_omega = log(omega);
    *alpha = *slope = 0;
    for (int i = 0; i < shaped->count; i++) {
        const bb_shaped_part *part = &shaped->part[i];
        double complex log_alpha, log_slope;
        bb_body_table_at(part->table, part->features, log_omega + part->log_scale, &log_alpha,
                         &log_slope);
        double complex one = part->weight * I * omega * part->moment * cexp(log_alpha);
        *alpha += one;
        *slope += one * (1.0 + log_slope);
    }
}
