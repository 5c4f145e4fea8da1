/* What must hold of anything that was read or computed, whatever the bytes were. */
#include "hold.h"

#include "text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void hold(bool condition, const char *what)
{
    if (condition)
        return;
    (void)fprintf(stderr, "does not hold: %s\n", what);
    abort();
}

static bool plain(const char *text)
{
    return bb_text_accepted(text, strlen(text)) == strlen(text);
}

static bool plain_name(const char *name)
{
    return memchr(name, '\0', BB_NAME_BYTES) != NULL && plain(name);
}

static void hold_sentence(const bb_error *error)
{
    char text[8 * BB_TEXT_BYTES];
    int length = bb_error_text(error, text, sizeof text);
    hold(length > 0 && (size_t)length < sizeof text, "an error has words");
    hold(plain(text), "an error's words are plain text");
}

void hold_reading(bb_status status, const bb_error *error)
{
    hold(status == BB_OK || status == BB_INPUT, "bytes are read or refused, and memory is enough");
    hold(error->status == status, "the error has the status that was returned");
    if (status == BB_OK)
        return;
    hold(error->line >= 1 && error->column >= 1, "a refusal has its place");
    hold(error->found[0] != '\0' && error->accepted[0] != '\0', "a refusal says found, accepted");
    hold_sentence(error);
}

void hold_refusal(bb_status status, const bb_error *error)
{
    hold(status == BB_TOO_LITTLE || status == BB_NOT_CONVERGED || status == BB_RANK ||
             status == BB_RANGE,
         "a computation is refused for a cause of its own");
    hold(error->status == status, "the error has the status that was returned");
    hold_sentence(error);
}

/* ---------------------------------------------------------------- visits */

static bool between(double value, double low, double high)
{
    return value >= low && value <= high;
}

static bool none_or_between(double value, double low, double high)
{
    return isnan(value) || between(value, low, high);
}

static bool on_scale(const bb_machine *machine, int number)
{
    return number >= machine->scale_low && number <= machine->scale_high &&
           (number - machine->scale_low) % machine->scale_step == 0;
}

static void hold_bands(const bb_machine *machine, const bb_bands *bands)
{
    hold(bands->count >= 0 && bands->count <= BB_BANDS_MAX, "bands are not too many");
    for (int i = 0; i < bands->count; i++) {
        int low = bands->band[i].low, high = bands->band[i].high;
        hold(on_scale(machine, low) && on_scale(machine, high) && low <= high,
             "a band lies on the scale");
        hold(i == 0 || low - bands->band[i - 1].high >= 2 * machine->scale_step,
             "bands leave a number between them");
    }
}

static void hold_machine(const bb_machine *machine)
{
    int range = machine->scale_high - machine->scale_low;
    hold(range > 0 && machine->scale_step > 0 && range % machine->scale_step == 0 &&
             range / machine->scale_step < BB_NUMBERS_MAX,
         "a scale has two numbers or more, and not too many");
    hold(plain(machine->name) && plain(machine->settings), "the machine's words are plain");
    hold(between(machine->frequency_hz, 1e2, 1e6), "a frequency is 0.1 to 1000 kHz");
    hold(between(machine->coil_radius_m, 0.025, 0.75), "a coil is 5 to 150 cm wide");
    hold(machine->reject_bands >= 1 && machine->reject_bands <= BB_BANDS_MAX, "1 to 8 bands");
    hold_bands(machine, &machine->reject_now);
    if (machine->frequency_kind == BB_FREQUENCY_PAIR)
        hold(between(machine->lower_frequency_hz, 1e2, machine->frequency_hz) &&
                 machine->lower_frequency_hz < machine->frequency_hz,
             "a pair has a lower frequency");
}

static void hold_beach(const bb_beach *beach)
{
    hold(plain(beach->name) && plain(beach->date), "the beach's words are plain");
    hold(beach->low_water_min >= -1 && beach->low_water_min < 24 * 60 &&
             beach->turn_back_min >= -1 && beach->turn_back_min < 24 * 60,
         "times are of one day");
    hold(between(beach->swing_height_m, 0.005, 1), "a swing height is 0.5 to 100 cm");
    hold(between(beach->water_salinity, 0, 42) && between(beach->water_temperature_c, -2, 35) &&
             between(beach->sand_porosity, 0.1, 0.8) && between(beach->susceptibility, 0, 1),
         "water and sand lie in the ranges of their formulas");
}

static void hold_target(const bb_target *target)
{
    hold(plain_name(target->name) && target->name[0] != '\0' && plain_name(target->material) &&
             plain_name(target->core) && plain_name(target->group),
         "a target's words are plain");
    hold(target->shape >= BB_SHAPE_DISC && target->shape <= BB_SHAPE_OTHER, "a shape is known");
    hold(none_or_between(target->conductivity_S_per_m, 1e-6, 1e8) &&
             none_or_between(target->diameter_m, 0.0005, 1) &&
             none_or_between(target->thickness_m, 1e-6, 0.5) &&
             none_or_between(target->bore_m, 1e-4, 1) && none_or_between(target->mass_kg, 0, 50) &&
             none_or_between(target->plating_m, 0, 0.005) && between(target->years, 0, 5000),
         "a target's sizes lie in their ranges");
    if (!isnan(target->bore_m) && !isnan(target->diameter_m))
        hold(target->bore_m < target->diameter_m, "a bore is narrower than its ring");
}

static void hold_cell(const bb_visit *visit, const bb_cell *cell)
{
    hold(cell->zone >= BB_ZONE_AIR && cell->zone < (int)visit->zone_count &&
             cell->target >= BB_TARGET_SAND && cell->target < (int)visit->target_count &&
             cell->setting >= 0 && cell->setting < (int)visit->setting_count,
         "a cell's zone, target and setting are there");
    hold(between(cell->depth_m, 0, 2) && between(cell->height_m, 0, 1) &&
             none_or_between(cell->hour, 0, 24),
         "a cell's depth, height and hour lie in their ranges");
    hold(!cell->has_reading || on_scale(&visit->machine, cell->reading),
         "a reading is on the scale");
    hold(cell->has_reading || cell->heard != BB_HEARD_BLANK, "a cell says something");
    hold(cell->count >= 1 && cell->line >= 1 && cell->laying >= 0, "a cell was swept");
}

static void hold_bare(const bb_visit *visit, const bb_bare *bare)
{
    double sum = 0;
    for (size_t i = 0; i < BB_NUMBERS_MAX; i++)
        sum += bare->counts[i];
    hold(fabs(sum - bare->number_swept) <= 1e-9 * sum, "bare counts add up");
    hold(bare->number_swept <= bare->heard && bare->heard <= bare->swept,
         "what is heard was swept");
    hold(bare->last_low > bare->last_high || (on_scale(&visit->machine, bare->last_low) &&
                                              on_scale(&visit->machine, bare->last_high)),
         "the last numbers are on the scale");
}

void hold_visit(const bb_visit *visit)
{
    hold_machine(&visit->machine);
    hold_beach(&visit->beach);
    hold(visit->zone_count <= BB_ZONES_MAX && visit->target_count <= BB_TARGETS_MAX,
         "zones and targets are not too many");
    for (size_t i = 0; i < visit->zone_count; i++)
        hold(plain_name(visit->zones[i].name) && visit->zones[i].name[0] != '\0' &&
                 between(visit->zones[i].saturation, 0, 1) &&
                 between(visit->zones[i].dry_layer_m, 0, 1) &&
                 between(visit->zones[i].susceptibility, 0, 1),
             "a zone has a name and lies in its ranges");
    for (size_t i = 0; i < visit->target_count; i++)
        hold_target(&visit->targets[i]);
    double sweeps = 0;
    for (size_t i = 0; i < visit->cell_count; i++) {
        hold_cell(visit, &visit->cells[i]);
        sweeps += visit->cells[i].count;
    }
    hold(fabs(sweeps - visit->sweep_count) <= 1e-9 * sweeps, "cells add up to the sweeps");
    for (size_t i = 0; visit->bare != NULL && i < visit->zone_count; i++)
        hold_bare(visit, &visit->bare[i]);
}
