/* Writes a spoilt visit as it would be typed, and has the library read it. */
#include "adversary.h"

#include <math.h>

#include "simulate/typed.h"

static void print_beach(const scene *s, FILE *out)
{
    (void)fprintf(out, "[machine]\nscale_low = %d\nscale_high = %d\nscale_step = %d\n", s->low,
                  s->high, s->step);
    if (s->frequencies == 2)
        (void)fprintf(out, "frequency_khz = %g, %g\n", s->khz[0], s->khz[1]);
    else if (s->frequencies == 1)
        (void)fprintf(out, "frequency_khz = %g\n", s->khz[0]);
    (void)fprintf(out, "coil_diameter_cm = %g\n[beach]\nswing_height_cm = %g\n", s->coil_cm,
                  s->swing_cm);
    (void)fprintf(out, "water_salinity = %g\nwater_temperature_c = %g\nsand_porosity = %g\n",
                  s->salinity, s->temperature_c, s->porosity);
    if (!isnan(s->susceptibility))
        (void)fprintf(out, "susceptibility_si = %g\n", s->susceptibility);
    if (s->black_sand)
        (void)fprintf(out, "black_sand = possible\n");
    for (size_t z = 0; z < s->zone_count; z++)
        (void)fprintf(out, "[zone z%zu]\nsaturation = %g\ndry_layer_cm = %g\n", z,
                      s->zone[z].saturation, s->zone[z].dry_layer_cm);
}

static void print_number(double value, FILE *out)
{
    if (!isnan(value))
        (void)fprintf(out, "%g", value);
    (void)fputc(',', out);
}

static void print_kit(const scene *s, FILE *out)
{
    (void)fprintf(out, "target,shape,group,material,diameter_mm,years,keep\n");
    for (size_t k = 0; k < s->target_count; k++) {
        const scene_target *target = &s->target[k];
        (void)fprintf(out, "t%zu,%s,%s,", k, target->shape, target->group);
        if (target->material != NULL)
            (void)fprintf(out, "%s,", target->material);
        else
            print_number(target->conductivity_MS_per_m, out);
        print_number(target->diameter_mm, out);
        (void)fprintf(out, "%g,\n", target->years);
    }
}

static void print_sweeps(const scene *s, FILE *out)
{
    (void)fprintf(out, "zone,target,depth_cm,height_cm,time,times,reading\n");
    for (size_t i = 0; i < s->row_count; i++) {
        const scene_row *row = &s->row[i];
        if (row->zone == BB_ZONE_AIR)
            (void)fprintf(out, "air,");
        else
            (void)fprintf(out, "z%d,", row->zone);
        if (row->target == BB_TARGET_SAND)
            (void)fprintf(out, "sand,");
        else
            (void)fprintf(out, "t%d,", row->target);
        print_number(row->depth_cm, out);
        print_number(row->height_cm, out);
        if (!isnan(row->hour))
            (void)fprintf(out, "%02d:%02d", (int)row->hour, (int)(60 * fmod(row->hour, 1)));
        (void)fprintf(out, ",%d,%d\n", row->times, row->reading);
    }
}

void scene_print(const void *drawn, size_t file, FILE *out)
{
    static void (*const printers[TYPED_FILES])(const scene *, FILE *) = {print_beach, print_kit,
                                                                         print_sweeps};
    printers[file](drawn, out);
}

bb_status scene_read(const scene *drawn, bb_visit *visit, bb_error *error)
{
    return typed_read(scene_print, drawn, visit, error);
}
