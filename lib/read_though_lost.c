/* What a visit read over targets that its profile calls lost to the salt. */
#include "predictor.h"
#include "profile_fields.h"

#include <math.h>
#include <stdlib.h>

/* counts: zeroed; of the numbers read over a target in a zone. Returns how many different ones. */
static size_t count_numbers(const bb_visit *visit, int target, int zone, double *counts)
{
    const bb_machine *machine = &visit->machine;
    size_t different = 0;
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (cell->target != target || cell->zone != zone || cell->setting != 0 || !cell->has_reading)
            continue;
        double *count = &counts[bb_scale_index(machine, cell->reading)];
        different += *count == 0;
        *count += cell->count;
    }
    return different;
}

static bb_status add(const bb_visit *visit, int target, int zone, bb_profile *profile)
{
    double counts[BB_NUMBERS_MAX] = {0};
    const size_t before = profile->read_though_lost_count;
    const size_t more = count_numbers(visit, target, zone, counts);
    if (before + more > BB_TARGET_NUMBERS_MAX) /* no profile holds so many */
        return BB_OK;
    bb_target_number *all =
        realloc(profile->read_though_lost, (before + more + 1) * sizeof *all);
    if (all == NULL)
        return BB_MEMORY;
    profile->read_though_lost = all;
    profile->read_though_lost_count += more;
    all += before;
    for (size_t n = 0; n < bb_scale_count(&visit->machine); n++)
        if (counts[n] > 0)
            *all++ = (bb_target_number){target, zone, bb_scale_number(&visit->machine, n), counts[n]};
    return BB_OK;
}

bb_status bb_read_though_lost(const bb_predictor *predictor, const bb_visit *visit,
                              bb_profile *profile)
{
    bb_status status = BB_OK;
    profile->read_though_lost_count = 0;
    for (int target = 0; target < (int)visit->target_count; target++)
        for (int zone = 0; zone < (int)visit->zone_count && status == BB_OK; zone++) {
            bool lost = false;
            status = bb_predict_masked(predictor, target, zone, 0, NAN, &lost);
            if (status == BB_OK && lost)
                status = add(visit, target, zone, profile);
        }
    return status;
}
