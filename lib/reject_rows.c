/* What a choice of bands lies between: the numbers of the sand of each zone, and of each target in it. */
#include "brineband.h"

#include <math.h>
#include <string.h>

#include "outlook.h"
#include "reject.h"
#include "sand_number.h"
#include "zone.h"

/* ---------------------------------------------------------------- zones */

/* Whether bare sweeps say what to silence, or that nothing need be: sand that a few sweeps never
 * heard has no numbers but those of physics. */
static bool says(const bb_bare *bare, double quiet)
{
    return bare->swept > 0 && (bare->heard > 0 || 1 - bb_sounding_share(bare) >= quiet);
}

static bb_status set_zones(const bb_predictor *predictor, const bb_reject_options *options,
                           bb_reject *reject)
{
    const size_t all = predictor->model->zone_count;
    bool any_says = false; /* a club has swept every zone on some day */
    for (size_t z = 0; z < all && predictor->pooled_visits == 0; z++)
        any_says = any_says || says(&predictor->bare[z], options->quiet);
    for (size_t i = 0; i < (options->zones == NULL ? all : options->zone_count); i++) {
        const int zone = options->zones == NULL ? (int)i : options->zones[i];
        const bb_bare *bare = &predictor->bare[zone];
        if (options->zones == NULL && any_says && !says(bare, options->quiet))
            continue;
        bb_prediction sand;
        double share = 1;
        bb_status status = bb_predict_sand(predictor, zone, &sand, &share);
        if (status != BB_OK)
            return status;
        double *row = reject->sand + reject->zone_count * reject->numbers;
        for (size_t n = 0; n < reject->numbers; n++)
            row[n] = share * sand.p[n];
        bb_reject_zone *made = &reject->zones[reject->zone_count++];
        *made = (bb_reject_zone){.zone = zone, .bare_sweeps = bare->swept, .sounding_share = share,
                                 .middle_low = NAN, .middle_high = NAN,
                                 .read = bb_bare_range_of(bare, &predictor->model->machine)};
        if (predictor->pooled_visits > 0)
            status = bb_predict_sand_middle(predictor, zone, &made->middle_low,
                                            &made->middle_high);
        if (status != BB_OK)
            return status;
    }
    return BB_OK;
}

/* ---------------------------------------------------------------- targets */

/* Average the numbers a target shows over the depths where it can be heard, and find the depth from
 * which it cannot. */
static bb_status set_target(const bb_predictor *predictor, double to_depth_m,
                            const bb_pieces *pieces, bb_reject_target *target, double *row,
                            size_t numbers)
{
    const int last = (int)lround(BB_REJECT_DEEPEST_M / BB_REJECT_STEP_M);
    const int kept = (int)lround(to_depth_m / BB_REJECT_STEP_M);
    int audible = 0, masked_from = last + 1;
    memset(row, 0, numbers * sizeof *row);
    for (int d = 0; d <= last; d++) {
        bb_point point;
        bb_outlook outlook;
        bb_prediction prediction;
        bb_status status =
            bb_outlook_place(predictor, target->index < 0 ? BB_TARGET_SAND : target->index,
                             target->zone, d * BB_REJECT_STEP_M, NAN, &point);
        if (status == BB_OK)
            status = bb_outlook_detect(predictor, &point, &pieces->at[pieces->middle].subject,
                                       &outlook);
        if (status != BB_OK)
            return status;
        if (outlook.masked) {
            masked_from = masked_from > d ? d : masked_from;
            if (d > kept)
                break; /* the signal only falls with depth */
            continue;
        }
        masked_from = last + 1;
        if (d > kept)
            continue;
        status = bb_predict_pieces(predictor, &point, pieces, &prediction);
        if (status != BB_OK)
            return status;
        audible++;
        for (size_t n = 0; n < numbers; n++)
            row[n] += prediction.p[n];
    }
    for (size_t n = 0; n < numbers && audible > 0; n++)
        row[n] /= audible;
    target->audible = audible > 0;
    target->masked_from_m = masked_from <= last ? masked_from * BB_REJECT_STEP_M : NAN;
    return BB_OK;
}

/* What was read over a target that is not audible: its numbers in the place of those expected. */
static void set_read(const bb_predictor *predictor, bb_reject_target *target, double *row,
                     size_t numbers)
{
    for (size_t i = 0; i < predictor->read_though_lost_count; i++) {
        const bb_target_number *read = &predictor->read_though_lost[i];
        if (read->target != target->index || read->zone != target->zone || !(read->sweeps > 0))
            continue;
        if (target->read == 0 || read->number < target->read_low)
            target->read_low = read->number;
        if (target->read == 0 || read->number > target->read_high)
            target->read_high = read->number;
        target->read += read->sweeps;
        row[bb_scale_index(&predictor->model->machine, read->number)] += read->sweeps;
    }
    for (size_t n = 0; n < numbers && target->read > 0; n++)
        row[n] /= target->read;
}

static bool in_kit(const bb_predictor *predictor, const char *name)
{
    for (size_t k = 0; k < predictor->model->target_count; k++)
        if (strcmp(predictor->targets[k].name, name) == 0)
            return true;
    return false;
}

static bb_status add_rows(const bb_predictor *predictor, const bb_reject_options *options,
                          const bb_target *target, int index, double sd_log, bb_reject *reject)
{
    bb_pieces pieces;
    bb_status status = index >= 0 ? bb_pieces_known(predictor, index, &pieces)
                                  : bb_pieces_other(predictor, target, sd_log, &pieces);
    for (size_t z = 0; z < reject->zone_count && status == BB_OK; z++) {
        bb_reject_target *row = &reject->targets[reject->target_count];
        const int zone = reject->zones[z].zone;
        *row = (bb_reject_target){
            .target = *target,
            .index = index,
            .zone = zone,
            .swept = index >= 0 ? predictor->target_sweeps[bb_sweeps_index(
                                      predictor->model->zone_count, (size_t)index, zone)]
                                : 0};
        status = set_target(predictor, options->to_depth_m, &pieces, row,
                            reject->loss + reject->target_count * reject->numbers,
                            reject->numbers);
        if (status == BB_OK && !row->audible)
            set_read(predictor, row, reject->loss + reject->target_count * reject->numbers,
                     reject->numbers);
        row->binds = row->audible && (index >= 0 ? target->keep : options->with_catalogue);
        reject->target_count++;
    }
    return status;
}

static bb_status set_kit(const bb_predictor *predictor, const bb_reject_options *options,
                         bb_reject *reject)
{
    bb_status status = BB_OK;
    for (size_t k = 0; k < predictor->model->target_count && status == BB_OK; k++)
        status = add_rows(predictor, options, &predictor->targets[k], (int)k, NAN, reject);
    return status;
}

/* The small gold of the catalogue that the kit lacks. */
static bb_status set_catalogue(const bb_predictor *predictor, const bb_reject_options *options,
                               bb_reject *reject)
{
    bb_status status = BB_OK;
    for (size_t c = 0; c < bb_catalogue_count() && status == BB_OK; c++) {
        bb_target target;
        double sd_log;
        status = bb_catalogue_at(c, &target, &sd_log);
        if (status == BB_OK && strcmp(target.group, BB_GROUP_SMALL_GOLD) == 0 &&
            !in_kit(predictor, target.name))
            status = add_rows(predictor, options, &target, -1, sd_log, reject);
    }
    return status;
}

bb_status bb_reject_rows(const bb_predictor *predictor, const bb_reject_options *options,
                         bool catalogue, bb_reject *reject)
{
    bb_status status = set_zones(predictor, options, reject);
    if (status == BB_OK)
        status = set_kit(predictor, options, reject);
    if (status == BB_OK && catalogue)
        status = set_catalogue(predictor, options, reject);
    return status;
}
