/* From a row of a kit to the body that answers: mean thickness, core, temperature, wear. */
#include "target.h"

#include "constants.h"
#include "corrosion.h"
#include "groups.h"

#include <math.h>
#include <string.h>

const char bb_shape_words[BB_SHAPES][8] = {
    [BB_SHAPE_DISC] = "disc",
    [BB_SHAPE_RING] = "ring",
    [BB_SHAPE_SPHERE] = "sphere",
    [BB_SHAPE_OTHER] = "other",
};

const char *bb_shape_text(bb_shape shape)
{
    return bb_shape_words[shape];
}

bb_target bb_target_unknown(void)
{
    return (bb_target){.shape = BB_SHAPE_OTHER,
                       .group = "unknown",
                       .conductivity_S_per_m = NAN,
                       .diameter_m = NAN,
                       .thickness_m = NAN,
                       .bore_m = NAN,
                       .mass_kg = NAN,
                       .core_conductivity_S_per_m = NAN,
                       .plating_m = NAN};
}

/* Thickness from mass is believed between these shares of the thickness over the rim. */
static const double THINNEST_MEAN = 0.5, THICKEST_MEAN = 1.1;
static const double WASTED = 0.01;  /* share of a size that always stays */
static const double WASTING = 0.03; /* share over which the last of a size or plating goes */

/* The metal that carries the current: the core of a layered piece, else the only one. */
typedef struct {
    const char *name; /* empty when only its conductivity is known */
    double conductivity_S_per_m, temperature_per_K, density_kg_per_m3, permeability;
} conductor;

static conductor metal_of(const bb_target *target)
{
    bool layered = target->core[0] != '\0' || !isnan(target->core_conductivity_S_per_m);
    const char *name = layered ? target->core : target->material;
    const bb_material *known = bb_material_find(name);
    conductor result = {.name = name,
                        .conductivity_S_per_m = layered ? target->core_conductivity_S_per_m
                                                        : target->conductivity_S_per_m,
                        .density_kg_per_m3 = NAN,
                        .permeability = 1.0};
    if (known != NULL) {
        result.temperature_per_K = known->temperature_per_K;
        result.density_kg_per_m3 = known->density_kg_per_m3;
        result.permeability = known->permeability;
        if (isnan(result.conductivity_S_per_m))
            result.conductivity_S_per_m = known->conductivity_S_per_m;
    }
    return result;
}

static bool layered(const bb_target *target)
{
    return target->plating_m > 0.0 &&
           (target->core[0] != '\0' || !isnan(target->core_conductivity_S_per_m));
}

/* A coin is thinner than over its rim, as its mass tells. NAN when nothing tells. */
static double mean_thickness(const bb_target *target, const conductor *metal)
{
    double outer = 0.5 * target->diameter_m;
    double bore = target->shape == BB_SHAPE_RING ? 0.5 * target->bore_m : 0.0;
    double mean =
        target->mass_kg / (metal->density_kg_per_m3 * BB_PI * (outer * outer - bore * bore));
    if (isnan(target->thickness_m) || isnan(mean))
        return isnan(mean) ? target->thickness_m : mean;
    double share = mean / target->thickness_m;
    bool believed =
        target->shape == BB_SHAPE_DISC && share >= THINNEST_MEAN && share <= THICKEST_MEAN;
    return believed ? mean : target->thickness_m;
}

/* x where it is well above zero, 0 well below, smooth over width: a corner would stop the fit. */
static double above_zero(double x, double width)
{
    return x > 30.0 * width ? x : width * log1p(exp(x / width));
}

/* What the plating does not take from each face of the metal below it. */
static double loss_m(const bb_target *target, const conductor *metal, double severity)
{
    if (!(target->years > 0.0))
        return 0.0;
    if (!layered(target))
        return bb_corrosion_loss_m(metal->name, target->years, severity);
    double skin = bb_corrosion_loss_m(target->material, target->years, severity);
    if (skin == 0.0)
        return 0.0;
    double bare = above_zero(skin - target->plating_m, WASTING * target->plating_m) / skin;
    return bb_corrosion_loss_m(metal->name, target->years * bare, severity);
}

static double worn(double size, double loss)
{
    return size * (WASTED + above_zero(1.0 - WASTED - loss / size, WASTING));
}

/* What the cladding takes of the thickness: as large a share of the mean as of the rim. Its edge is
 * usually bare or thin, and the radius is left alone. */
static double without_cladding(const bb_target *target, double mean)
{
    if (!layered(target))
        return mean;
    double share = isnan(target->thickness_m) ? 1.0 : mean / target->thickness_m;
    return fmax(mean - 2.0 * target->plating_m * share, WASTED * mean);
}

static void wear(const bb_target *target, const conductor *metal, double severity, bb_body *body)
{
    double loss = loss_m(target, metal, severity);
    if (target->shape != BB_SHAPE_SPHERE)
        body->thickness_m = worn(body->thickness_m, 2.0 * loss);
    if (target->shape == BB_SHAPE_RING) {
        double middle = 0.5 * (body->radius_m + body->bore_radius_m);
        double wall = worn(body->radius_m - body->bore_radius_m, 2.0 * loss);
        body->radius_m = middle + 0.5 * wall;
        body->bore_radius_m = middle - 0.5 * wall;
    } else {
        body->radius_m = worn(body->radius_m, loss);
    }
}

static bool has_body(const bb_target *target, const conductor *metal, double thickness)
{
    bool sized = target->diameter_m > 0.0 && metal->conductivity_S_per_m > 0.0;
    bool flat = thickness > 0.0 && metal->permeability <= BB_MAGNETIC;
    switch (target->shape) {
    case BB_SHAPE_SPHERE:
        return sized;
    case BB_SHAPE_DISC:
        return sized && flat;
    case BB_SHAPE_RING:
        return sized && flat && target->bore_m > 0.0;
    case BB_SHAPE_OTHER:
        break;
    }
    return false;
}

bb_status bb_target_body(const bb_target *target, double temperature_c, double severity,
                         bb_body *body, bb_target_kind *kind)
{
    if (!(temperature_c >= -2.0 && temperature_c <= 60.0) || !(severity >= 0.0))
        return BB_RANGE;
    conductor metal = metal_of(target);
    double thickness = target->shape == BB_SHAPE_SPHERE ? NAN : mean_thickness(target, &metal);
    if (!has_body(target, &metal, thickness)) {
        bool iron = metal.permeability > BB_MAGNETIC || strcmp(target->group, BB_GROUP_IRON) == 0;
        *kind = iron ? BB_KIND_IRON : BB_KIND_POLE;
        return BB_OK;
    }
    if (target->shape == BB_SHAPE_RING && target->bore_m >= target->diameter_m)
        return BB_RANGE;
    bool sphere = target->shape == BB_SHAPE_SPHERE;
    *body =
        (bb_body){.shape = target->shape,
                  .radius_m = 0.5 * target->diameter_m,
                  .thickness_m = sphere ? 0.0 : without_cladding(target, thickness),
                  .bore_radius_m = target->shape == BB_SHAPE_RING ? 0.5 * target->bore_m : 0.0,
                  .conductivity_S_per_m = metal.conductivity_S_per_m /
                                          (1.0 + metal.temperature_per_K * (temperature_c - 20.0)),
                  .permeability = sphere ? metal.permeability : 1.0};
    wear(target, &metal, severity, body);
    *kind = BB_KIND_BODY;
    return BB_OK;
}

bb_iron bb_target_iron(const bb_target *target, double frequency_hz)
{
    const double at_10_khz = -2.0, per_fold = 32.0, lowest = -60.0, highest = 60.0;
    if (target->shape != BB_SHAPE_DISC || !layered(target))
        return (bb_iron){-40.0, 30.0};
    double angle = at_10_khz + per_fold * log(frequency_hz / 1e4);
    return (bb_iron){fmin(fmax(angle, lowest), highest), 30.0};
}
