/* What each key of beach.ini is for, and how its value is read. */
#include "beach_keys.h"

#include "number.h"
#include "zone.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SCALE_MAX = 1000000 };

static void *field_of(struct bb_beach_draft *draft, const struct bb_beach_key *key)
{
    char *base[BB_SECTIONS] = {
        [BB_SECTION_MACHINE] = (char *)&draft->machine,
        [BB_SECTION_BEACH] = (char *)&draft->beach,
        [BB_SECTION_ZONE] =
            (char *)&draft->zones[draft->zone_count == 0 ? 0 : draft->zone_count - 1],
    };
    return base[key->section] + key->offset;
}

static bb_status copy_words(char *words, const char *value)
{
    (void)snprintf(words, BB_TEXT_BYTES, "%s", value);
    return BB_OK;
}

static bb_status read_words(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                            const char *value, const bb_place *place)
{
    char found[BB_QUOTE_BYTES];
    if (strlen(value) >= BB_TEXT_BYTES)
        return bb_refuse(place, bb_quote(value, found), "at most %d bytes", BB_TEXT_BYTES - 1);
    return copy_words(field_of(draft, key), value);
}

static bb_status read_quantity(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                               const char *value, const bb_place *place)
{
    return bb_quantity_read(place, value, key->quantity, field_of(draft, key));
}

static bb_status read_scale(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                            const char *value, const bb_place *place)
{
    char found[BB_QUOTE_BYTES];
    long number;
    if (!bb_whole_read(value, &number) || labs(number) > SCALE_MAX)
        return bb_refuse(place, bb_quote(value, found), "a whole number from %d to %d", -SCALE_MAX,
                         SCALE_MAX);
    *(int *)field_of(draft, key) = (int)number;
    return BB_OK;
}

static bb_status read_frequency_pair(bb_machine *machine, const char *value, const bb_place *place)
{
    char first[BB_TEXT_BYTES];
    const char *comma = strchr(value, ',');
    size_t length = (size_t)(comma - value);
    while (length > 0 && value[length - 1] == ' ')
        length--;
    (void)snprintf(first, sizeof first, "%.*s", (int)length, value);
    const char *second = comma + 1 + strspn(comma + 1, " \t");
    double one, other;
    if (bb_quantity_read(place, first, BB_QUANTITY_FREQUENCY, &one) != BB_OK ||
        bb_quantity_read(place, second, BB_QUANTITY_FREQUENCY, &other) != BB_OK)
        return BB_INPUT;
    char found[BB_QUOTE_BYTES];
    if (!(one < other || other < one))
        return bb_refuse(place, bb_quote(value, found), "two different frequencies, as in 7, 19");
    if (other < one && second == comma + 1)
        return bb_refuse(place, bb_quote(value, found),
                         "kHz with a decimal point, as in 12.5, or a pair from the lower on, as in 7, 19");
    machine->frequency_kind = BB_FREQUENCY_PAIR;
    machine->frequency_hz = fmax(one, other);
    machine->lower_frequency_hz = fmin(one, other);
    machine->frequency_assumed = false;
    return BB_OK;
}

static bb_status read_frequency(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                                const char *value, const bb_place *place)
{
    (void)key;
    if (strcmp(value, "one") == 0 || strcmp(value, "several") == 0)
        return BB_OK;
    if (strchr(value, ',') != NULL)
        return read_frequency_pair(&draft->machine, value, place);
    double number;
    char found[BB_QUOTE_BYTES];
    if (!bb_number_read(value, &number))
        return bb_refuse(place, bb_quote(value, found),
                         "kHz as in 7, a pair as in 7, 19, or one or several when not known");
    draft->machine.frequency_kind = BB_FREQUENCY_ONE;
    draft->machine.frequency_assumed = false;
    return bb_quantity_read(place, value, BB_QUANTITY_FREQUENCY, &draft->machine.frequency_hz);
}

static bb_status read_coil(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                           const char *value, const bb_place *place)
{
    double diameter_m = 0;
    bb_status status = bb_quantity_read(place, value, key->quantity, &diameter_m);
    draft->machine.coil_radius_m = diameter_m / 2;
    draft->machine.coil_assumed = false;
    return status;
}

static bb_status read_band_count(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                                 const char *value, const bb_place *place)
{
    char found[BB_QUOTE_BYTES];
    long number;
    (void)key;
    if (!bb_whole_read(value, &number) || number < 1 || number > BB_BANDS_MAX)
        return bb_refuse(place, bb_quote(value, found), "a whole number from 1 to %d",
                         BB_BANDS_MAX);
    draft->machine.reject_bands = (int)number;
    draft->machine.reject_bands_assumed = false;
    return BB_OK;
}

static bb_status keep_reject_now(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                                 const char *value, const bb_place *place)
{
    (void)key;
    (void)place;
    return copy_words(draft->reject_now, value);
}

static bb_status keep_reject_below(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                                   const char *value, const bb_place *place)
{
    (void)key;
    (void)place;
    return copy_words(draft->reject_below, value);
}

static bb_status read_date(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                           const char *value, const bb_place *place)
{
    char found[BB_QUOTE_BYTES];
    (void)key;
    if (!bb_date_accepted(value))
        return bb_refuse(place, bb_quote(value, found), "a day written as 2026-05-09");
    (void)snprintf(draft->beach.date, sizeof draft->beach.date, "%s", value);
    return BB_OK;
}

static bb_status read_clock(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                            const char *value, const bb_place *place)
{
    char found[BB_QUOTE_BYTES];
    if (bb_clock_read(value, field_of(draft, key)))
        return BB_OK;
    return bb_refuse(place, bb_quote(value, found), "a time of day from 00:00 to 23:59");
}

/* Practical salinities: typical, from memory. */
static const struct {
    char name[12];
    double salinity;
} waters[] = {{"sea", BB_SEA_SALINITY}, {"brackish", 10}, {"fresh", 0.3}};

static bb_status read_water(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                            const char *value, const bb_place *place)
{
    size_t water = 0;
    (void)key;
    bb_names names = BB_NAMES(waters, sizeof waters / sizeof *waters);
    bb_status status = bb_choice_read(place, value, &names, &water);
    draft->typical_salinity = waters[water].salinity;
    return status;
}

static bb_status read_black_sand(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                                 const char *value, const bb_place *place)
{
    static const char words[][12] = {"no", "possible"};
    size_t word = 0;
    (void)key;
    bb_names names = BB_NAMES(words, sizeof words / sizeof *words);
    bb_status status = bb_choice_read(place, value, &names, &word);
    draft->beach.black_sand_possible = word == 1;
    return status;
}

static bb_status read_wetness(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                              const char *value, const bb_place *place)
{
    size_t wetness = 0;
    (void)key;
    bb_status status = bb_choice_read(place, value, &bb_wetness_names, &wetness);
    draft->typical_saturation = bb_wetnesses[wetness].saturation;
    draft->zones[draft->zone_count - 1].wetness_assumed = false;
    return status;
}

static bb_status read_saturation(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                                 const char *value, const bb_place *place)
{
    draft->zones[draft->zone_count - 1].wetness_assumed = false;
    return read_quantity(draft, key, value, place);
}

static bb_status read_zone_susceptibility(struct bb_beach_draft *draft,
                                          const struct bb_beach_key *key, const char *value,
                                          const bb_place *place)
{
    draft->zone_susceptible[draft->zone_count - 1] = true;
    return read_quantity(draft, key, value, place);
}

const struct bb_beach_key bb_beach_keys[BB_BEACH_KEYS] = {
    [BB_KEY_NAME] = {"name", BB_SECTION_MACHINE, read_words, offsetof(bb_machine, name), 0},
    [BB_KEY_SETTINGS] = {"settings", BB_SECTION_MACHINE, read_words, offsetof(bb_machine, settings),
                         0},
    [BB_KEY_SCALE_LOW] = {"scale_low", BB_SECTION_MACHINE, read_scale,
                          offsetof(bb_machine, scale_low), 0},
    [BB_KEY_SCALE_HIGH] = {"scale_high", BB_SECTION_MACHINE, read_scale,
                           offsetof(bb_machine, scale_high), 0},
    [BB_KEY_SCALE_STEP] = {"scale_step", BB_SECTION_MACHINE, read_scale,
                           offsetof(bb_machine, scale_step), 0},
    [BB_KEY_FREQUENCY] = {"frequency_khz", BB_SECTION_MACHINE, read_frequency, 0,
                          BB_QUANTITY_FREQUENCY},
    [BB_KEY_COIL] = {"coil_diameter_cm", BB_SECTION_MACHINE, read_coil, 0,
                     BB_QUANTITY_COIL_DIAMETER},
    [BB_KEY_REJECT_BANDS] = {"reject_bands", BB_SECTION_MACHINE, read_band_count, 0, 0},
    [BB_KEY_REJECT_NOW] = {"reject_now", BB_SECTION_MACHINE, keep_reject_now, 0, 0},
    [BB_KEY_REJECT_BELOW] = {"reject_below", BB_SECTION_MACHINE, keep_reject_below, 0, 0},
    [BB_KEY_PLACE_NAME] = {"name", BB_SECTION_BEACH, read_words, offsetof(bb_beach, name), 0},
    [BB_KEY_DATE] = {"date", BB_SECTION_BEACH, read_date, 0, 0},
    [BB_KEY_LOW_WATER] = {"low_water", BB_SECTION_BEACH, read_clock,
                          offsetof(bb_beach, low_water_min), 0},
    [BB_KEY_TURN_BACK] = {"turn_back", BB_SECTION_BEACH, read_clock,
                          offsetof(bb_beach, turn_back_min), 0},
    [BB_KEY_SWING_HEIGHT] = {"swing_height_cm", BB_SECTION_BEACH, read_quantity,
                             offsetof(bb_beach, swing_height_m), BB_QUANTITY_HEIGHT},
    [BB_KEY_WATER] = {"water", BB_SECTION_BEACH, read_water, 0, 0},
    [BB_KEY_SALINITY] = {"water_salinity", BB_SECTION_BEACH, read_quantity,
                         offsetof(bb_beach, water_salinity), BB_QUANTITY_SALINITY},
    [BB_KEY_TEMPERATURE] = {"water_temperature_c", BB_SECTION_BEACH, read_quantity,
                            offsetof(bb_beach, water_temperature_c), BB_QUANTITY_TEMPERATURE},
    [BB_KEY_POROSITY] = {"sand_porosity", BB_SECTION_BEACH, read_quantity,
                         offsetof(bb_beach, sand_porosity), BB_QUANTITY_POROSITY},
    [BB_KEY_SUSCEPTIBILITY] = {"susceptibility_si", BB_SECTION_BEACH, read_quantity,
                               offsetof(bb_beach, susceptibility), BB_QUANTITY_SUSCEPTIBILITY},
    [BB_KEY_BLACK_SAND] = {"black_sand", BB_SECTION_BEACH, read_black_sand, 0, 0},
    [BB_KEY_WETNESS] = {"wetness", BB_SECTION_ZONE, read_wetness, 0, 0},
    [BB_KEY_SATURATION] = {"saturation", BB_SECTION_ZONE, read_saturation,
                           offsetof(bb_zone, saturation), BB_QUANTITY_SATURATION},
    [BB_KEY_DRY_LAYER] = {"dry_layer_cm", BB_SECTION_ZONE, read_quantity,
                          offsetof(bb_zone, dry_layer_m), BB_QUANTITY_DRY_LAYER},
    [BB_KEY_ZONE_SUSCEPTIBILITY] = {"susceptibility_si", BB_SECTION_ZONE, read_zone_susceptibility,
                                    offsetof(bb_zone, susceptibility), BB_QUANTITY_SUSCEPTIBILITY},
};
