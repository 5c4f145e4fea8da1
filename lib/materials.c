/* The metals of reference/materials.csv, compiled in. */
#include "brineband.h"

#include <string.h>

#define ROW(name, MS_per_m, per_K, g_per_cm3, permeability, source)                                \
    {name, (MS_per_m)*1e6, per_K, (g_per_cm3)*1e3, permeability, source},
static const bb_material materials[] = {
#include "materials.inc"
};
#undef ROW

size_t bb_material_count(void)
{
    return sizeof materials / sizeof *materials;
}

const bb_material *bb_material_at(size_t index)
{
    return index < bb_material_count() ? &materials[index] : NULL;
}

const bb_material *bb_material_find(const char *name)
{
    for (size_t i = 0; i < bb_material_count(); i++)
        if (strcmp(materials[i].name, name) == 0)
            return &materials[i];
    return NULL;
}
