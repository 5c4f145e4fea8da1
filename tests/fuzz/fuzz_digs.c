/* Any bytes as digs.csv, beside a profile of the usual beach. */
#include "hold.h"
#include "usual.h"

#include <math.h>
#include <stdlib.h>

static void hold_dig(const bb_profile *profile, const bb_digs *digs, const bb_dig *dig)
{
    hold(dig->zone >= 0 && dig->zone < (int)profile->zone_count, "a dig's zone is there");
    hold(dig->spot >= -1 && dig->spot < (int)digs->spot_count, "a dig's spot is there");
    hold(dig->reading_count <= BB_REPEATS_MAX, "readings are not too many");
    for (size_t i = 0; i < dig->reading_count; i++)
        hold(dig->readings[i] >= profile->machine.scale_low &&
                 dig->readings[i] <= profile->machine.scale_high,
             "a reading is on the scale");
    hold((dig->reading_count > 0) == (dig->found[0] != '\0'), "what is found was read");
    hold((isnan(dig->depth_m) || (dig->depth_m >= 0 && dig->depth_m <= 2)) && dig->minutes >= 0 &&
             dig->minutes <= 6000,
         "depth and minutes lie in their ranges");
}

static void hold_finds(const bb_profile *profile, const bb_digs *digs)
{
    bb_finds *finds = NULL;
    size_t count = 0, holes = 0;
    double dug = 0;
    hold(bb_digs_count(profile, digs, &finds, &count) == BB_OK, "finds are counted");
    for (size_t i = 0; i < digs->count; i++)
        holes += digs->digs[i].reading_count > 0;
    for (size_t i = 0; i < count; i++)
        for (size_t z = 0; z < profile->zone_count; z++)
            dug += finds[i].dug[z];
    hold(dug == (double)holes, "every hole is counted once");
    free(finds);
}

int LLVMFuzzerTestOneInput(const unsigned char *bytes, size_t length)
{
    static bb_profile *profile; /* made once */
    bb_digs digs = {0};
    bb_error error = {0};
    if (profile == NULL)
        profile = usual_profile();
    bb_status status =
        bb_digs_read((const char *)bytes, length, "digs.csv", profile, &digs, &error);
    hold_reading(status, &error);
    hold(status == BB_OK || (digs.digs == NULL && digs.spots == NULL),
         "a refusal leaves the digs alone");
    for (size_t i = 0; i < digs.count; i++)
        hold_dig(profile, &digs, &digs.digs[i]);
    if (status == BB_OK)
        hold_finds(profile, &digs);
    bb_digs_free(&digs);
    return 0;
}
