/* Writes a simulated visit as the searcher would have typed it. */
#include "simulate.h"

#include <math.h>

#include "kits.h"
#include "typed.h"

static void print_remark(const simulated_visit *visit, const char *comment, FILE *out)
{
    const simulation *of = &visit->truth.of;
    (void)fprintf(
        out,
        "%s Invented: no such beach, no such machine. Made by tests/simulate, family %s,\n"
        "%s visit %s, seed %lu.\n",
        comment, family_name[of->family], comment, visit_name[of->kind], of->seed);
}

static void print_beach(const simulated_visit *visit, FILE *out)
{
    const truth *t = &visit->truth;
    const bb_machine *machine = &t->machine;
    const bb_beach *beach = &t->beach;
    print_remark(visit, ";", out);
    (void)fprintf(out, "[machine]\nname = %s\nsettings = %s\n", machine->name, machine->settings);
    (void)fprintf(out, "scale_low = %d\nscale_high = %d\nscale_step = %d\n", machine->scale_low,
                  machine->scale_high, machine->scale_step);
    if (machine->frequency_kind == BB_FREQUENCY_PAIR && !visit->truth.of.untold)
        (void)fprintf(out, "frequency_khz = %g, %g\n", machine->lower_frequency_hz / 1e3,
                      machine->frequency_hz / 1e3);
    else if (!visit->truth.of.untold)
        (void)fprintf(out, "frequency_khz = %g\n", machine->frequency_hz / 1e3);
    (void)fprintf(out, "coil_diameter_cm = %g\nreject_bands = %d\n\n", 200 * machine->coil_radius_m,
                  machine->reject_bands);
    (void)fprintf(out, "[beach]\nname = %s\ndate = %s\n", beach->name, beach->date);
    (void)fprintf(out, "low_water = %02d:%02d\nturn_back = %02d:%02d\n", beach->low_water_min / 60,
                  beach->low_water_min % 60, beach->turn_back_min / 60, beach->turn_back_min % 60);
    (void)fprintf(out, "swing_height_cm = %g\n", 100 * beach->swing_height_m);
    (void)fprintf(out, "water_salinity = %g\nwater_temperature_c = %g\nsand_porosity = %g\n",
                  beach->water_salinity, beach->water_temperature_c, beach->sand_porosity);
    for (size_t z = 0; z < t->zone_count; z++)
        (void)fprintf(out, "\n[zone %s]\nwetness = %s\n", t->zone[z].told.name,
                      t->zone[z].told.name);
}

static void print_size(double mm, FILE *out)
{
    if (mm > 0)
        (void)fprintf(out, "%g", mm);
    (void)fputc(',', out);
}

static void print_kit(const simulated_visit *visit, FILE *out)
{
    const kit_rows *kit = kit_of(visit->truth.of.kind);
    print_remark(visit, "#", out);
    (void)fprintf(out, "target,shape,material,diameter_mm,thickness_mm,bore_mm,years,keep,group\n");
    for (size_t k = 0; k < kit->count; k++) {
        const kit_row *row = &kit->row[k];
        (void)fprintf(out, "%s,%s,%s,", row->name, row->shape, row->material);
        print_size(row->diameter_mm, out);
        print_size(row->thickness_mm, out);
        print_size(row->bore_mm, out);
        (void)fprintf(out, "%g,%s,%s\n", row->years, row->keep ? "yes" : "no", row->group);
    }
}

/* Sweeps of one laying in the same minute, heard or not, share a row. */
static bool same_row(const truth_sweep *a, const truth_sweep *b)
{
    return a->laying == b->laying && a->heard == b->heard &&
           (isnan(a->place.hour) || floor(a->place.hour * 60) == floor(b->place.hour * 60));
}

static void print_row(const truth *t, const truth_sweep *first, size_t count, FILE *out)
{
    const truth_place *place = &first->place;
    const bool air = place->zone == BB_ZONE_AIR, sand = place->target == BB_TARGET_SAND;
    (void)fprintf(out, "%s,%s,", air ? "air" : t->zone[place->zone].told.name,
                  sand ? "sand" : t->target[place->target].told.name);
    if (!sand)
        (void)fprintf(out, "%g", 100 * place->depth_m);
    (void)fputc(',', out);
    if (!air && place->height_m != t->beach.swing_height_m)
        (void)fprintf(out, "%g", 100 * place->height_m);
    (void)fputc(',', out);
    for (size_t i = 0; i < count && first->heard; i++)
        (void)fprintf(out, "%s%d", i == 0 ? "" : " ", first[i].reading);
    (void)fputc(',', out);
    if (!first->heard)
        (void)fprintf(out, "%zu", count);
    (void)fprintf(out, ",%s,", first->heard ? "" : "no");
    if (!isnan(place->hour)) {
        int minute = (int)floor(place->hour * 60);
        (void)fprintf(out, "%02d:%02d", minute / 60, minute % 60);
    }
    (void)fputc('\n', out);
}

static void print_sweeps(const simulated_visit *visit, FILE *out)
{
    enum { IN_A_ROW = 5 };
    print_remark(visit, "#", out);
    (void)fprintf(out, "zone,target,depth_cm,height_cm,reading,times,heard,time\n");
    for (size_t i = 0; i < visit->count;) {
        const truth_sweep *first = &visit->sweep[i];
        size_t count = 1;
        while (i + count < visit->count && same_row(first, first + count) &&
               (count < IN_A_ROW || !first->heard))
            count++;
        print_row(&visit->truth, first, count, out);
        i += count;
    }
}

void visit_print(const void *visit, size_t file, FILE *out)
{
    static void (*const printers[TYPED_FILES])(const simulated_visit *, FILE *) = {
        print_beach, print_kit, print_sweeps};
    printers[file](visit, out);
}

bb_status simulated_visit_read(const simulated_visit *simulated, bb_visit *visit, bb_error *error)
{
    return typed_read(visit_print, simulated, visit, error);
}
