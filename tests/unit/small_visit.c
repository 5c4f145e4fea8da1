/* A small visit whose pieces are spheres, so that it is fitted in milliseconds. */
#include "small_visit.h"

#include <check.h>
#include <string.h>

static const char beach[] = "[machine]\nscale_low = 0\nscale_high = 80\nfrequency_khz = 7\n"
                            "coil_diameter_cm = 28\n[beach]\nswing_height_cm = 5\nwater = sea\n"
                            "water_temperature_c = 12\n[zone wet]\n[zone damp]\n";
static const char kit[] = "target,shape,material,diameter_mm,group\n"
                          "stud,sphere,gold 14ct,4,small gold\n"
                          "bead,sphere,gold 9ct,8,gold\n"
                          "ball,sphere,sterling silver,16,coin\n"
                          "scrap,sphere,aluminium,5,foil\n"
                          "bolt,other,iron,,iron\n";
static const char sweeps[] =
    "zone,target,depth_cm,reading\n"
    "air,stud,5,14 14 15\nair,bead,10,38 38 39\nair,ball,10,67 68 67\nair,scrap,5,30 30 31\n"
    "air,bolt,5,4 4 3\n"
    "wet,sand,,23 22 24 23 23 24 22 21 22 23 24 24 23 22 23 23 22 23 24 23\n"
    "damp,sand,,22 23 23 22 24 23 22 23 22 23\n"
    "wet,bead,0,38 37 38\nwet,ball,5,66 67\nwet,ball,10,66 65\nwet,bolt,5,4 3 4\n";

bb_profile *profile_of(const char *beach_ini, const char *kit_csv, const char *sweeps_csv)
{
    bb_visit visit = {0};
    bb_profile *profile = NULL;
    bb_error error = {0};
    ck_assert_int_eq(bb_beach_read(beach_ini, strlen(beach_ini), "beach.ini", &visit, &error),
                     BB_OK);
    ck_assert_int_eq(bb_kit_read(kit_csv, strlen(kit_csv), "kit.csv", &visit, &error), BB_OK);
    ck_assert_int_eq(bb_sweeps_read(sweeps_csv, strlen(sweeps_csv), "sweeps.csv", &visit, &error),
                     BB_OK);
    ck_assert_int_eq(bb_fit(&visit, NULL, &profile, &error), BB_OK);
    bb_visit_free(&visit);
    return profile;
}

bb_profile *small_profile(void)
{
    return profile_of(beach, kit, sweeps);
}
