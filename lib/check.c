/* What fresh sweeps say of a setting: how much sand still sounds, which targets fell silent. */
#include "brineband.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "digest.h"
#include "holds.h"
#include "predictor.h"
#include "sand_number.h"
#include "status.h"

#define MOSTLY 0.5 /* share of bare sweeps of sand that sounds; judgement */

bb_status bb_visit_like(const bb_profile *profile, bb_visit *visit, bb_error *error)
{
    memset(visit, 0, sizeof *visit);
    visit->machine = profile->machine;
    visit->beach = profile->beach;
    visit->zones = calloc(profile->zone_count + 1, sizeof *visit->zones);
    visit->targets = calloc(profile->target_count + 1, sizeof *visit->targets);
    if (visit->zones == NULL || visit->targets == NULL) {
        bb_visit_free(visit);
        return bb_out_of_memory(error);
    }
    visit->zone_count = profile->zone_count;
    visit->target_count = profile->target_count;
    for (size_t z = 0; z < profile->zone_count; z++)
        visit->zones[z] = profile->zones[z];
    for (size_t k = 0; k < profile->target_count; k++)
        visit->targets[k] = profile->targets[k];
    return BB_OK;
}

static bool sounded(const bb_cell *cell, const bb_bands *bands)
{
    return cell->heard != BB_HEARD_BLANK ? cell->heard == BB_HEARD_YES
                                         : cell->has_reading && !bb_bands_hold(bands, cell->reading);
}

/* Sweeps with nothing rejected, and those under the very bands asked about, speak of these. */
static size_t setting_of(const bb_visit *fresh, const bb_cell *cell, const bb_check *check)
{
    const bb_setting *setting = &fresh->settings[cell->setting];
    if (cell->setting == 0 ||
        (setting->has_bands && bb_bands_same(&setting->bands, &check->settings[0].bands)))
        return 0;
    size_t index = 1;
    while (strcmp(check->settings[index].name, setting->name) != 0)
        index++;
    return index;
}

static bb_status make_room(const bb_visit *fresh, const bb_bands *bands, bb_check *check)
{
    check->settings = calloc(fresh->setting_count + 1, sizeof *check->settings);
    if (check->settings == NULL)
        return BB_MEMORY;
    check->settings[0].has_bands = true;
    check->settings[0].bands = *bands;
    check->setting_count = 1;
    for (size_t s = 1; s < fresh->setting_count; s++) {
        const bb_setting *setting = &fresh->settings[s];
        if (setting->has_bands && bb_bands_same(&setting->bands, bands))
            continue;
        bb_check_setting *made = &check->settings[check->setting_count++];
        memcpy(made->name, setting->name, sizeof made->name);
        made->has_bands = setting->has_bands;
        made->bands = setting->bands;
    }
    for (size_t s = 0; s < check->setting_count; s++) {
        bb_check_setting *setting = &check->settings[s];
        setting->zones = calloc(fresh->zone_count + 1, sizeof *setting->zones);
        setting->targets = calloc(fresh->target_count + 1, sizeof *setting->targets);
        if (setting->zones == NULL || setting->targets == NULL)
            return BB_MEMORY;
        setting->zone_count = fresh->zone_count;
        setting->target_count = fresh->target_count;
        for (size_t z = 0; z < fresh->zone_count; z++)
            setting->zones[z].zone = (int)z;
        for (size_t k = 0; k < fresh->target_count; k++)
            setting->targets[k].target = (int)k;
    }
    return BB_OK;
}

static void count_cells(const bb_visit *fresh, bb_check *check)
{
    for (size_t i = 0; i < fresh->cell_count; i++) {
        const bb_cell *cell = &fresh->cells[i];
        bb_check_setting *setting = &check->settings[setting_of(fresh, cell, check)];
        const bool sound = sounded(cell, &setting->bands);
        if (cell->target == BB_TARGET_SAND) {
            bb_check_zone *zone = &setting->zones[cell->zone];
            zone->bare_sweeps += cell->count;
            zone->sounded += sound ? cell->count : 0;
        } else if (cell->zone != BB_ZONE_AIR) { /* a setting costs what it silences over sand */
            bb_check_target *target = &setting->targets[cell->target];
            target->swept += cell->count;
            target->silenced += sound ? 0 : cell->count;
        }
    }
}

/* Whether sweeps that name no setting read as made with these bands: sand that sounds fell silent, and no
 * number inside the bands was read anywhere. What came through the bands says nothing of the rest. */
static bool seem_dialled_in(const bb_predictor *predictor, const bb_visit *fresh,
                            const bb_bands *bands)
{
    double silent = 0;
    for (size_t i = 0; i < fresh->cell_count; i++) {
        const bb_cell *cell = &fresh->cells[i];
        if (cell->setting != 0 || cell->zone == BB_ZONE_AIR)
            continue;
        if (cell->has_reading && bb_bands_hold(bands, cell->reading))
            return false;
        if (cell->target == BB_TARGET_SAND && cell->heard == BB_HEARD_NO &&
            bb_sounding_share(&predictor->bare[cell->zone]) > MOSTLY)
            silent += cell->count;
    }
    return silent > 0;
}

/* Further sweeps, sounding as seldom as until now (none when none did), that bring the upper limit
 * down to the share; INFINITY when a million would not. */
static double sweeps_to_prove(double counted, double trials, double share)
{
    enum { STEPS = 200, SWEEPS_MOST = 1000000 };
    const double often = counted / trials;
    double more = 0, step = fmax(1, ceil(bb_binomial_trials(share, BB_TAIL_95) / STEPS));
    for (int doubled = 0; bb_binomial_upper(counted + often * more, trials + more, BB_TAIL_95) > share;
         doubled++) {
        step *= doubled > STEPS ? 2 : 1;
        more += step;
        if (more > SWEEPS_MOST)
            return INFINITY;
    }
    while (more > 0 && step >= 1) {
        const double less = more - step;
        if (less >= 0 && bb_binomial_upper(counted + often * less, trials + less, BB_TAIL_95) <= share)
            more = less;
        else
            step = floor(step / 2);
    }
    return more;
}

static void judge_zone(bb_check_zone *zone, double quiet)
{
    const double n = zone->bare_sweeps, share = 1 - quiet;
    zone->sounded_high = 1;
    if (n == 0)
        return;
    zone->sounded_low = bb_binomial_lower(zone->sounded, n, BB_TAIL_95);
    zone->sounded_high = bb_binomial_upper(zone->sounded, n, BB_TAIL_95);
    zone->sweeps_to_prove =
        zone->sounded_high <= share ? 0 : sweeps_to_prove(zone->sounded, n, share);
    zone->verdict = zone->sounded_high <= share       ? BB_CHECK_HOLDS
                    : zone->sounded_low > share       ? BB_CHECK_NOISY
                    : zone->sounded / n <= share      ? BB_CHECK_LIKELY
                                                      : BB_CHECK_TOO_FEW;
}

static void set_limits(bb_check *check, double quiet)
{
    for (size_t s = 0; s < check->setting_count; s++) {
        bb_check_setting *setting = &check->settings[s];
        for (size_t z = 0; z < setting->zone_count; z++)
            judge_zone(&setting->zones[z], quiet);
        for (size_t k = 0; k < setting->target_count; k++) {
            bb_check_target *target = &setting->targets[k];
            target->silenced_high = 1;
            if (target->swept == 0)
                continue;
            target->silenced_low = bb_binomial_lower(target->silenced, target->swept, BB_TAIL_95);
            target->silenced_high = bb_binomial_upper(target->silenced, target->swept, BB_TAIL_95);
        }
    }
}

bb_status bb_check_new(const bb_predictor *predictor, const bb_visit *fresh,
                       const bb_bands *bands, double quiet, bb_check **out, bb_error *error)
{
    if (!(quiet >= 0 && quiet < 1) || fresh->zone_count != predictor->model->zone_count ||
        fresh->target_count != predictor->model->target_count)
        return bb_error_say(error, BB_RANGE,
                            "the sweeps must name the profile's zones and targets");
    bb_check *check = calloc(1, sizeof *check);
    char digest[BB_DIGEST_BYTES];
    bb_status status = check == NULL ? BB_MEMORY : make_room(fresh, bands, check);
    if (status == BB_OK) {
        count_cells(fresh, check);
        set_limits(check, quiet);
        status = bb_digest(fresh, digest);
    }
    if (status == BB_OK) {
        check->learned_from = strcmp(digest, predictor->digest) == 0;
        check->dialled_in = seem_dialled_in(predictor, fresh, bands);
        status = bb_holds_test(predictor, fresh, check);
    }
    if (status != BB_OK) {
        bb_check_free(check);
        return bb_error_say(error, status, "%s", bb_status_text(status));
    }
    *out = check;
    return BB_OK;
}

void bb_check_free(bb_check *check)
{
    if (check == NULL)
        return;
    for (size_t s = 0; check->settings != NULL && s < check->setting_count; s++) {
        free(check->settings[s].zones);
        free(check->settings[s].targets);
    }
    free(check->settings);
    free(check);
}
