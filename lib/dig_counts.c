/* What digs add up to: calls to score, finds of each group, finds by the hour. */
#include "names.h"
#include "status.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

BB_CALLS_GSL;

static bb_status call_zone(const bb_judge *judge, const bb_digs *digs, int zone, double *chance)
{
    for (size_t i = 0; i < digs->count; i++) {
        const bb_dig *dig = &digs->digs[i];
        if (dig->zone != zone || dig->reading_count == 0)
            continue;
        bb_status status = bb_judge_keep(judge, dig->readings, dig->reading_count, &chance[i]);
        if (status != BB_OK)
            return status;
    }
    return BB_OK;
}

static bool dug_in(const bb_digs *digs, int zone)
{
    for (size_t i = 0; i < digs->count; i++)
        if (digs->digs[i].zone == zone && digs->digs[i].reading_count > 0)
            return true;
    return false;
}

bb_status bb_digs_calls(const bb_profile *profile, const bb_digs *digs, double *chance,
                        bb_error *error)
{
    const bb_judge_options options = {.only_kit = false, .depth_m = NAN};
    bb_status status = BB_OK;
    for (size_t i = 0; i < digs->count; i++)
        chance[i] = NAN;
    for (int zone = 0; zone < (int)profile->zone_count && status == BB_OK; zone++) {
        bb_judge *judge = NULL;
        if (!dug_in(digs, zone))
            continue;
        status = bb_judge_new(profile, zone, &options, &judge, error);
        if (status == BB_OK)
            status = call_zone(judge, digs, zone, chance);
        bb_judge_free(judge);
    }
    return status;
}

bb_status bb_digs_count(const bb_profile *profile, const bb_digs *digs, bb_finds **out,
                        size_t *count)
{
    bb_finds *finds = calloc(BB_CLASSES_MAX, sizeof *finds);
    if (finds == NULL)
        return BB_MEMORY;
    *count = 0;
    for (size_t i = 0; i < digs->count; i++) {
        const bb_dig *dig = &digs->digs[i];
        if (dig->reading_count == 0 || dig->zone >= (int)profile->zone_count)
            continue;
        const bb_names known = BB_NAMES(finds, *count);
        const long at = bb_name_find(&known, dig->found);
        bb_finds *of = &finds[at >= 0 ? (size_t)at : (*count)++];
        memcpy(of->group, dig->found, sizeof of->group);
        of->dug[dig->zone]++;
    }
    *out = finds;
    return BB_OK;
}

bb_spot_rate bb_digs_rate(const bb_digs *digs, int spot)
{
    bb_spot_rate rate = {.per_hour = NAN, .low = NAN, .high = NAN};
    for (size_t i = 0; i < digs->count; i++) {
        const bb_dig *dig = &digs->digs[i];
        if (dig->spot != spot)
            continue;
        rate.holes += dig->reading_count > 0;
        rate.kept += dig->keep;
        rate.hours += dig->minutes / 60;
    }
    if (rate.hours > 0) {
        const double kept = (double)rate.kept;
        rate.per_hour = kept / rate.hours;
        rate.low = kept > 0 ? gsl_cdf_chisq_Pinv(BB_TAIL_95, 2 * kept) / 2 / rate.hours : 0;
        rate.high = gsl_cdf_chisq_Qinv(BB_TAIL_95, 2 * kept + 2) / 2 / rate.hours;
    }
    return rate;
}
