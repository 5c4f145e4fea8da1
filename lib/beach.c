/* What beach.ini may say, what it may leave out, and what is then assumed. */
#include "band_text.h"
#include "ini_text.h"
#include "number.h"
#include "quantity.h"
#include "zone.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum section { MACHINE, BEACH, ZONE, SECTIONS, NO_SECTION = SECTIONS };
static const char section_words[SECTIONS][BB_NAME_BYTES] = {"machine", "beach", "zone"};

enum { KEY_BYTES = 20, KEYS_MAX = 25, SCALE_MAX = 1000000 };

struct draft;
struct key {
    char name[KEY_BYTES];
    enum section section;
    bb_status (*read)(struct draft *draft, const struct key *key, const char *value,
                      const bb_place *place);
    size_t offset; /* of the field in the section's struct */
    bb_quantity quantity;
};

/* What is being read. Values that lean on others wait for the end. */
struct draft {
    bb_error *error;
    const char *path;
    bb_machine machine;
    bb_beach beach;
    bb_zone zones[BB_ZONES_MAX];
    bool zone_susceptible[BB_ZONES_MAX]; /* its susceptibility was given */
    size_t zone_count;
    enum section section;
    bb_place headings[SECTIONS]; /* of the latest of each kind, line 0 when none */
    bool seen[KEYS_MAX];         /* in this section, keys of a zone anew for each */
    bb_place places[KEYS_MAX];   /* of the values */
    char reject_now[BB_TEXT_BYTES], reject_below[BB_TEXT_BYTES];
    double typical_salinity, typical_saturation; /* of the word given, else NAN */
};

/* ---- values */

static void *field_of(struct draft *draft, const struct key *key)
{
    char *base[SECTIONS] = {
        [MACHINE] = (char *)&draft->machine,
        [BEACH] = (char *)&draft->beach,
        [ZONE] = (char *)&draft->zones[draft->zone_count == 0 ? 0 : draft->zone_count - 1],
    };
    return base[key->section] + key->offset;
}

static bb_status copy_words(char *words, const char *value)
{
    (void)snprintf(words, BB_TEXT_BYTES, "%s", value);
    return BB_OK;
}

static bb_status read_words(struct draft *draft, const struct key *key, const char *value,
                            const bb_place *place)
{
    char found[BB_QUOTE_BYTES];
    if (strlen(value) >= BB_TEXT_BYTES)
        return bb_refuse(place, bb_quote(value, found), "at most %d bytes", BB_TEXT_BYTES - 1);
    return copy_words(field_of(draft, key), value);
}

static bb_status read_quantity(struct draft *draft, const struct key *key, const char *value,
                               const bb_place *place)
{
    return bb_quantity_read(place, value, key->quantity, field_of(draft, key));
}

static bb_status read_scale(struct draft *draft, const struct key *key, const char *value,
                            const bb_place *place)
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
    machine->frequency_kind = BB_FREQUENCY_PAIR;
    machine->frequency_hz = fmax(one, other);
    machine->lower_frequency_hz = fmin(one, other);
    machine->frequency_assumed = false;
    return BB_OK;
}

static bb_status read_frequency(struct draft *draft, const struct key *key, const char *value,
                                const bb_place *place)
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

static bb_status read_coil(struct draft *draft, const struct key *key, const char *value,
                           const bb_place *place)
{
    double diameter_m = 0;
    bb_status status = bb_quantity_read(place, value, key->quantity, &diameter_m);
    draft->machine.coil_radius_m = diameter_m / 2;
    draft->machine.coil_assumed = false;
    return status;
}

static bb_status read_band_count(struct draft *draft, const struct key *key, const char *value,
                                 const bb_place *place)
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

static bb_status keep_reject_now(struct draft *draft, const struct key *key, const char *value,
                                 const bb_place *place)
{
    (void)key;
    (void)place;
    return copy_words(draft->reject_now, value);
}

static bb_status keep_reject_below(struct draft *draft, const struct key *key, const char *value,
                                   const bb_place *place)
{
    (void)key;
    (void)place;
    return copy_words(draft->reject_below, value);
}

static bb_status read_date(struct draft *draft, const struct key *key, const char *value,
                           const bb_place *place)
{
    char found[BB_QUOTE_BYTES];
    (void)key;
    if (!bb_date_accepted(value))
        return bb_refuse(place, bb_quote(value, found), "a day written as 2026-05-09");
    (void)snprintf(draft->beach.date, sizeof draft->beach.date, "%s", value);
    return BB_OK;
}

static bb_status read_clock(struct draft *draft, const struct key *key, const char *value,
                            const bb_place *place)
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
} waters[] = {{"sea", 35}, {"brackish", 10}, {"fresh", 0.3}};

static bb_status read_water(struct draft *draft, const struct key *key, const char *value,
                            const bb_place *place)
{
    size_t water = 0;
    (void)key;
    bb_names names = BB_NAMES(waters, sizeof waters / sizeof *waters);
    bb_status status = bb_choice_read(place, value, &names, &water);
    draft->typical_salinity = waters[water].salinity;
    return status;
}

static bb_status read_black_sand(struct draft *draft, const struct key *key, const char *value,
                                 const bb_place *place)
{
    static const char words[][12] = {"no", "possible"};
    size_t word = 0;
    (void)key;
    bb_names names = BB_NAMES(words, sizeof words / sizeof *words);
    bb_status status = bb_choice_read(place, value, &names, &word);
    draft->beach.black_sand_possible = word == 1;
    return status;
}

static bb_status read_wetness(struct draft *draft, const struct key *key, const char *value,
                              const bb_place *place)
{
    size_t wetness = 0;
    (void)key;
    bb_status status = bb_choice_read(place, value, &bb_wetness_names, &wetness);
    draft->typical_saturation = bb_wetnesses[wetness].saturation;
    draft->zones[draft->zone_count - 1].wetness_assumed = false;
    return status;
}

static bb_status read_saturation(struct draft *draft, const struct key *key, const char *value,
                                 const bb_place *place)
{
    draft->zones[draft->zone_count - 1].wetness_assumed = false;
    return read_quantity(draft, key, value, place);
}

static bb_status read_zone_susceptibility(struct draft *draft, const struct key *key,
                                          const char *value, const bb_place *place)
{
    draft->zone_susceptible[draft->zone_count - 1] = true;
    return read_quantity(draft, key, value, place);
}

/* ---- keys */

enum {
    NAME,
    SETTINGS,
    SCALE_LOW,
    SCALE_HIGH,
    SCALE_STEP,
    FREQUENCY,
    COIL,
    REJECT_BANDS,
    REJECT_NOW,
    REJECT_BELOW,
    PLACE_NAME,
    DATE,
    LOW_WATER,
    TURN_BACK,
    SWING_HEIGHT,
    WATER,
    SALINITY,
    TEMPERATURE,
    POROSITY,
    SUSCEPTIBILITY,
    BLACK_SAND,
    WETNESS,
    SATURATION,
    DRY_LAYER,
    ZONE_SUSCEPTIBILITY,
    KEYS
};
static const struct key keys[KEYS] = {
    [NAME] = {"name", MACHINE, read_words, offsetof(bb_machine, name), 0},
    [SETTINGS] = {"settings", MACHINE, read_words, offsetof(bb_machine, settings), 0},
    [SCALE_LOW] = {"scale_low", MACHINE, read_scale, offsetof(bb_machine, scale_low), 0},
    [SCALE_HIGH] = {"scale_high", MACHINE, read_scale, offsetof(bb_machine, scale_high), 0},
    [SCALE_STEP] = {"scale_step", MACHINE, read_scale, offsetof(bb_machine, scale_step), 0},
    [FREQUENCY] = {"frequency_khz", MACHINE, read_frequency, 0, BB_QUANTITY_FREQUENCY},
    [COIL] = {"coil_diameter_cm", MACHINE, read_coil, 0, BB_QUANTITY_COIL_DIAMETER},
    [REJECT_BANDS] = {"reject_bands", MACHINE, read_band_count, 0, 0},
    [REJECT_NOW] = {"reject_now", MACHINE, keep_reject_now, 0, 0},
    [REJECT_BELOW] = {"reject_below", MACHINE, keep_reject_below, 0, 0},
    [PLACE_NAME] = {"name", BEACH, read_words, offsetof(bb_beach, name), 0},
    [DATE] = {"date", BEACH, read_date, 0, 0},
    [LOW_WATER] = {"low_water", BEACH, read_clock, offsetof(bb_beach, low_water_min), 0},
    [TURN_BACK] = {"turn_back", BEACH, read_clock, offsetof(bb_beach, turn_back_min), 0},
    [SWING_HEIGHT] = {"swing_height_cm", BEACH, read_quantity, offsetof(bb_beach, swing_height_m),
                      BB_QUANTITY_HEIGHT},
    [WATER] = {"water", BEACH, read_water, 0, 0},
    [SALINITY] = {"water_salinity", BEACH, read_quantity, offsetof(bb_beach, water_salinity),
                  BB_QUANTITY_SALINITY},
    [TEMPERATURE] = {"water_temperature_c", BEACH, read_quantity,
                     offsetof(bb_beach, water_temperature_c), BB_QUANTITY_TEMPERATURE},
    [POROSITY] = {"sand_porosity", BEACH, read_quantity, offsetof(bb_beach, sand_porosity),
                  BB_QUANTITY_POROSITY},
    [SUSCEPTIBILITY] = {"susceptibility_si", BEACH, read_quantity,
                        offsetof(bb_beach, susceptibility), BB_QUANTITY_SUSCEPTIBILITY},
    [BLACK_SAND] = {"black_sand", BEACH, read_black_sand, 0, 0},
    [WETNESS] = {"wetness", ZONE, read_wetness, 0, 0},
    [SATURATION] = {"saturation", ZONE, read_saturation, offsetof(bb_zone, saturation),
                    BB_QUANTITY_SATURATION},
    [DRY_LAYER] = {"dry_layer_cm", ZONE, read_quantity, offsetof(bb_zone, dry_layer_m),
                   BB_QUANTITY_DRY_LAYER},
    [ZONE_SUSCEPTIBILITY] = {"susceptibility_si", ZONE, read_zone_susceptibility,
                             offsetof(bb_zone, susceptibility), BB_QUANTITY_SUSCEPTIBILITY},
};

static bb_names keys_of(enum section section)
{
    size_t first = 0, count = 0;
    while (keys[first].section != section)
        first++;
    while (first + count < KEYS && keys[first + count].section == section)
        count++;
    return BB_NAMES(keys + first, count);
}

static bb_status take_entry(void *context, const char *word, const char *value,
                            const bb_place *key_place, const bb_place *value_place)
{
    struct draft *draft = context;
    char found[BB_QUOTE_BYTES];
    if (draft->section == NO_SECTION)
        return bb_refuse(key_place, bb_quote(word, found), "a heading first, such as [machine]");
    bb_names names = keys_of(draft->section);
    long position = bb_name_find(&names, word);
    if (position < 0)
        return bb_refuse_name(key_place, word, "a key of this section", &names);
    const struct key *key = (const struct key *)bb_name_at(&names, (size_t)position);
    size_t index = (size_t)(key - keys);
    if (draft->places[index].line != 0)
        return bb_refuse(key_place, bb_quote(word, found), "each key once; it is also in line %ld",
                         draft->places[index].line);
    draft->places[index] = *value_place;
    if (*value == '\0')
        return BB_OK;
    draft->seen[index] = true;
    return key->read(draft, key, value, value_place);
}

/* ---- sections */

/* Both a word and a number for one thing: they must agree. */
static bb_status check_agreement(const struct draft *draft, size_t word, size_t number,
                                 double typical, double value)
{
    if (!draft->seen[word] || !draft->seen[number] || typical == value)
        return BB_OK;
    bb_place place = draft->places[number];
    char found[BB_QUOTE_BYTES];
    (void)snprintf(found, sizeof found, "%s %g", keys[number].name, value);
    return bb_refuse(&place, found, "%s alone, or %s alone: the word stands for %g",
                     keys[word].name, keys[number].name, typical);
}

static bb_status end_zone(struct draft *draft)
{
    if (draft->zone_count == 0)
        return BB_OK;
    bb_zone *zone = &draft->zones[draft->zone_count - 1];
    bb_status status =
        check_agreement(draft, WETNESS, SATURATION, draft->typical_saturation, zone->saturation);
    if (draft->seen[WETNESS])
        zone->saturation = draft->typical_saturation;
    for (size_t i = WETNESS; i < KEYS; i++) {
        draft->seen[i] = false;
        draft->places[i].line = 0;
    }
    return status;
}

static bb_status begin_zone(struct draft *draft, const char *text, const bb_place *place)
{
    char name[BB_NAME_BYTES], found[BB_QUOTE_BYTES];
    bb_status status = end_zone(draft);
    if (status == BB_OK)
        status = bb_zone_name_read(place, text, name);
    if (status != BB_OK)
        return status;
    bb_names zones = BB_NAMES(draft->zones, draft->zone_count);
    if (bb_name_find(&zones, name) >= 0)
        return bb_refuse(place, bb_quote(name, found), "each zone once");
    if (draft->zone_count == BB_ZONES_MAX)
        return bb_refuse(place, "a zone more", "at most %d zones", BB_ZONES_MAX);
    draft->zones[draft->zone_count++] = bb_zone_named(name, &draft->beach);
    draft->headings[ZONE] = *place;
    return BB_OK;
}

static bb_status take_heading(void *context, const char *words, const bb_place *place)
{
    struct draft *draft = context;
    char found[BB_QUOTE_BYTES];
    if (strncmp(words, "zone ", 5) == 0) {
        draft->section = ZONE;
        return begin_zone(draft, words + 5 + strspn(words + 5, " \t"), place);
    }
    if (strcmp(words, "zone") == 0)
        return bb_refuse(place, "[zone]", "[zone NAME], such as [zone wet]");
    bb_names names = BB_NAMES(section_words, SECTIONS);
    long section = bb_name_find(&names, words);
    if (section < 0)
        return bb_refuse_name(place, words, "[machine], [beach] or [zone NAME]", &names);
    if (draft->headings[section].line != 0)
        return bb_refuse(place, bb_quote(words, found), "each section once; it is also in line %ld",
                         draft->headings[section].line);
    draft->section = (enum section)section;
    draft->headings[section] = *place;
    return BB_OK;
}

/* ---- the end, when all has been seen */

static bb_status check_scale(const struct draft *draft)
{
    const bb_machine *machine = &draft->machine;
    char found[BB_QUOTE_BYTES];
    for (size_t key = SCALE_LOW; key <= SCALE_HIGH; key++) {
        bb_place place = draft->headings[MACHINE];
        if (place.line == 0)
            place = (bb_place){draft->error, draft->path, 1, 1};
        (void)snprintf(found, sizeof found, "no %s", keys[key].name);
        if (!draft->seen[key])
            return bb_refuse(&place, found,
                             "in [machine] the lowest and highest number it shows, as in "
                             "scale_low = 0 and scale_high = 99");
    }
    int range = machine->scale_high - machine->scale_low;
    bb_place high = draft->places[SCALE_HIGH], step = draft->places[SCALE_STEP];
    (void)snprintf(found, sizeof found, "%d", machine->scale_high);
    if (range <= 0)
        return bb_refuse(&high, found, "a number above scale_low, %d", machine->scale_low);
    if (machine->scale_step < 1 || range % machine->scale_step != 0) {
        (void)snprintf(found, sizeof found, "a step of %d", machine->scale_step);
        return bb_refuse(&step, found, "a whole number, 1 or more, that divides %d", range);
    }
    if (range / machine->scale_step >= BB_NUMBERS_MAX)
        return bb_refuse(&high, found, "at most %d numbers on the scale", BB_NUMBERS_MAX);
    return BB_OK;
}

static bb_status settle_rejects(struct draft *draft)
{
    bb_machine *machine = &draft->machine;
    bb_place now = draft->places[REJECT_NOW], below = draft->places[REJECT_BELOW];
    if (draft->seen[REJECT_NOW]) {
        bb_status status = bb_bands_read_at(&now, draft->reject_now, machine, &machine->reject_now);
        if (status != BB_OK)
            return status;
    }
    if (machine->reject_now.count > machine->reject_bands) {
        char found[BB_QUOTE_BYTES];
        if (!machine->reject_bands_assumed)
            return bb_refuse(&now, bb_quote(draft->reject_now, found),
                             "as many bands as reject_bands says, %d", machine->reject_bands);
        machine->reject_bands = machine->reject_now.count;
    }
    long number;
    if (!draft->seen[REJECT_BELOW] || strcmp(draft->reject_below, "none") == 0)
        return BB_OK;
    if (!bb_whole_read(draft->reject_below, &number) || !bb_scale_holds(machine, number))
        return bb_refuse_number(&below, draft->reject_below, machine);
    machine->has_reject_below = true;
    machine->reject_below = (int)number;
    return BB_OK;
}

static bb_status settle_beach(struct draft *draft)
{
    bb_beach *beach = &draft->beach;
    bb_status status =
        check_agreement(draft, WATER, SALINITY, draft->typical_salinity, beach->water_salinity);
    if (draft->seen[WATER])
        beach->water_salinity = draft->typical_salinity;
    beach->water_assumed =
        !(draft->seen[WATER] || draft->seen[SALINITY]) || !draft->seen[TEMPERATURE];
    beach->swing_height_assumed = !draft->seen[SWING_HEIGHT];
    beach->porosity_assumed = !draft->seen[POROSITY];
    bool all_known = draft->zone_count > 0;
    for (size_t i = 0; i < draft->zone_count; i++) {
        if (!draft->zone_susceptible[i])
            draft->zones[i].susceptibility = beach->susceptibility;
        all_known = all_known && draft->zone_susceptible[i];
    }
    if (draft->seen[SUSCEPTIBILITY] || all_known)
        beach->black_sand_possible = false;
    return status;
}

static bb_status settle(struct draft *draft)
{
    bb_status status = end_zone(draft);
    if (status == BB_OK)
        status = check_scale(draft);
    if (status == BB_OK)
        status = settle_rejects(draft);
    return status == BB_OK ? settle_beach(draft) : status;
}

/* What is assumed of a machine and a beach of which nothing is said. */
static struct draft blank_draft(const char *path, bb_error *error)
{
    return (struct draft){
        .error = error,
        .path = path,
        .section = NO_SECTION,
        .machine = {.scale_step = 1,
                    .frequency_kind = BB_FREQUENCY_UNKNOWN,
                    .frequency_hz = 10e3,
                    .coil_radius_m = 0.14,
                    .reject_bands = 1,
                    .frequency_assumed = true,
                    .coil_assumed = true,
                    .reject_bands_assumed = true},
        .beach = {.low_water_min = -1,
                  .turn_back_min = -1,
                  .swing_height_m = 0.05,
                  .water_salinity = waters[0].salinity,
                  .water_temperature_c = 15,
                  .sand_porosity = 0.40},
        .typical_salinity = NAN,
        .typical_saturation = NAN,
    };
}

bb_status bb_beach_read(const char *text, size_t length, const char *path, bb_visit *visit,
                        bb_error *error)
{
    struct draft draft = blank_draft(path, error);
    bb_ini_form form = {take_heading, take_entry, &draft};
    bb_status status = bb_ini_read(&form, text, length, path, error);
    if (status == BB_OK)
        status = settle(&draft);
    if (status != BB_OK)
        return status;
    bb_zone *zones = NULL;
    if (draft.zone_count > 0) {
        zones = malloc(draft.zone_count * sizeof *zones);
        if (zones == NULL)
            return bb_out_of_memory(error);
        memcpy(zones, draft.zones, draft.zone_count * sizeof *zones);
    }
    visit->machine = draft.machine;
    visit->beach = draft.beach;
    visit->zones = zones;
    visit->zone_count = draft.zone_count;
    return BB_OK;
}
