/* The ready-made targets of reference/catalogue.csv, compiled in. */
#include "brineband.h"

#include "groups.h"
#include "number.h"
#include "target.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

typedef struct {
    const char *name, *shape, *material;
    double diameter_mm, thickness_mm, bore_mm, mass_g;
    const char *core;
    double plating_um;
    const char *group;
    double sd_log;
} piece;

#define ROW(name, shape, material, diameter, thickness, bore, mass, core, plating, group, sd,      \
            source)                                                                                \
    {name, shape, material, diameter, thickness, bore, mass, core, plating, group, sd},
static const piece pieces[] = {
#include "catalogue.inc"
};
#undef ROW

size_t bb_catalogue_count(void)
{
    return sizeof pieces / sizeof *pieces;
}

static bb_shape shape_of(const char *word)
{
    bb_shape shape = BB_SHAPE_DISC;
    while (shape < BB_SHAPE_OTHER && strcmp(bb_shape_words[shape], word) != 0)
        shape++;
    return shape;
}

/* A material's name or its conductivity in MS/m. */
static double metal(const char *text, char name[BB_NAME_BYTES])
{
    double MS_per_m;
    if (bb_number_read(text, &MS_per_m))
        return MS_per_m * 1e6;
    const bb_material *known = bb_material_find(text);
    if (known == NULL)
        return NAN;
    (void)snprintf(name, BB_NAME_BYTES, "%s", known->name);
    return known->conductivity_S_per_m;
}

bb_status bb_catalogue_at(size_t index, bb_target *target, double *known_sd_log)
{
    if (index >= bb_catalogue_count())
        return BB_RANGE;
    const piece *from = &pieces[index];
    *target = (bb_target){.shape = shape_of(from->shape),
                          .diameter_m = from->diameter_mm * 1e-3,
                          .thickness_m = from->thickness_mm * 1e-3,
                          .bore_m = from->bore_mm * 1e-3,
                          .mass_kg = from->mass_g * 1e-3,
                          .plating_m = from->plating_um * 1e-6};
    target->conductivity_S_per_m = metal(from->material, target->material);
    target->core_conductivity_S_per_m = metal(from->core, target->core);
    (void)snprintf(target->name, sizeof target->name, "%s", from->name);
    (void)snprintf(target->group, sizeof target->group, "%s", from->group);
    const bb_group *group = bb_group_find(from->group);
    target->keep = group != NULL && group->keep;
    if (known_sd_log != NULL)
        *known_sd_log = from->sd_log;
    return BB_OK;
}
