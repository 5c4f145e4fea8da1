/* What beach.ini may say, what it may leave out, and what is then assumed. */
#include "band_text.h"
#include "beach_keys.h"
#include "ini_text.h"
#include "number.h"
#include "zone.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char section_words[BB_SECTIONS][BB_NAME_BYTES] = {"machine", "beach", "zone"};

/* ---- keys */

static bb_names keys_of(enum bb_section_kind section)
{
    size_t first = 0, count = 0;
    while (bb_beach_keys[first].section != section)
        first++;
    while (first + count < BB_BEACH_KEYS && bb_beach_keys[first + count].section == section)
        count++;
    return BB_NAMES(bb_beach_keys + first, count);
}

static bb_status take_entry(void *context, const char *word, const char *value,
                            const bb_place *key_place, const bb_place *value_place)
{
    struct bb_beach_draft *draft = context;
    char found[BB_QUOTE_BYTES];
    if (draft->section == BB_NO_SECTION)
        return bb_refuse(key_place, bb_quote(word, found), "a heading first, such as [machine]");
    bb_names names = keys_of(draft->section);
    long position = bb_name_find(&names, word);
    if (position < 0)
        return bb_refuse_name(key_place, word, "a key of this section", &names);
    const struct bb_beach_key *key =
        (const struct bb_beach_key *)bb_name_at(&names, (size_t)position);
    size_t index = (size_t)(key - bb_beach_keys);
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
static bb_status check_agreement(const struct bb_beach_draft *draft, size_t word, size_t number,
                                 double typical, double value)
{
    if (!draft->seen[word] || !draft->seen[number] || typical == value)
        return BB_OK;
    bb_place place = draft->places[number];
    char found[BB_QUOTE_BYTES];
    (void)snprintf(found, sizeof found, "%s %g", bb_beach_keys[number].name, value);
    return bb_refuse(&place, found, "%s alone, or %s alone: the word stands for %g",
                     bb_beach_keys[word].name, bb_beach_keys[number].name, typical);
}

static bb_status end_zone(struct bb_beach_draft *draft)
{
    if (draft->zone_count == 0)
        return BB_OK;
    bb_zone *zone = &draft->zones[draft->zone_count - 1];
    bb_status status = check_agreement(draft, BB_KEY_WETNESS, BB_KEY_SATURATION,
                                       draft->typical_saturation, zone->saturation);
    if (draft->seen[BB_KEY_WETNESS])
        zone->saturation = draft->typical_saturation;
    for (size_t i = BB_KEY_WETNESS; i < BB_BEACH_KEYS; i++) {
        draft->seen[i] = false;
        draft->places[i].line = 0;
    }
    return status;
}

static bb_status begin_zone(struct bb_beach_draft *draft, const char *text, const bb_place *place)
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
    draft->headings[BB_SECTION_ZONE] = *place;
    return BB_OK;
}

static bb_status take_heading(void *context, const char *words, const bb_place *place)
{
    struct bb_beach_draft *draft = context;
    char found[BB_QUOTE_BYTES];
    if (strncmp(words, "zone ", 5) == 0) {
        draft->section = BB_SECTION_ZONE;
        return begin_zone(draft, words + 5 + strspn(words + 5, " \t"), place);
    }
    if (strcmp(words, "zone") == 0)
        return bb_refuse(place, "[zone]", "[zone NAME], such as [zone wet]");
    bb_names names = BB_NAMES(section_words, BB_SECTIONS);
    long section = bb_name_find(&names, words);
    if (section < 0)
        return bb_refuse_name(place, words, "[machine], [beach] or [zone NAME]", &names);
    if (draft->headings[section].line != 0)
        return bb_refuse(place, bb_quote(words, found), "each section once; it is also in line %ld",
                         draft->headings[section].line);
    draft->section = (enum bb_section_kind)section;
    draft->headings[section] = *place;
    return BB_OK;
}

/* ---- the end, when all has been seen */

static bb_status check_scale(const struct bb_beach_draft *draft)
{
    const bb_machine *machine = &draft->machine;
    char found[BB_QUOTE_BYTES];
    for (size_t key = BB_KEY_SCALE_LOW; key <= BB_KEY_SCALE_HIGH; key++) {
        bb_place place = draft->headings[BB_SECTION_MACHINE];
        if (place.line == 0)
            place = (bb_place){draft->error, draft->path, 1, 1};
        (void)snprintf(found, sizeof found, "no %s", bb_beach_keys[key].name);
        if (!draft->seen[key])
            return bb_refuse(&place, found,
                             "in [machine] the lowest and highest number it shows, as in "
                             "scale_low = 0 and scale_high = 99");
    }
    int range = machine->scale_high - machine->scale_low;
    bb_place high = draft->places[BB_KEY_SCALE_HIGH], step = draft->places[BB_KEY_SCALE_STEP];
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

static bb_status settle_rejects(struct bb_beach_draft *draft)
{
    bb_machine *machine = &draft->machine;
    bb_place now = draft->places[BB_KEY_REJECT_NOW], below = draft->places[BB_KEY_REJECT_BELOW];
    if (draft->seen[BB_KEY_REJECT_NOW]) {
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
    if (!draft->seen[BB_KEY_REJECT_BELOW] || strcmp(draft->reject_below, "none") == 0)
        return BB_OK;
    if (!bb_whole_read(draft->reject_below, &number) || !bb_scale_holds(machine, number))
        return bb_refuse_number(&below, draft->reject_below, machine);
    machine->has_reject_below = true;
    machine->reject_below = (int)number;
    return BB_OK;
}

static bb_status settle_beach(struct bb_beach_draft *draft)
{
    bb_beach *beach = &draft->beach;
    bb_status status = check_agreement(draft, BB_KEY_WATER, BB_KEY_SALINITY,
                                       draft->typical_salinity, beach->water_salinity);
    if (draft->seen[BB_KEY_WATER])
        beach->water_salinity = draft->typical_salinity;
    beach->water_assumed = !(draft->seen[BB_KEY_WATER] || draft->seen[BB_KEY_SALINITY]) ||
                           !draft->seen[BB_KEY_TEMPERATURE];
    beach->swing_height_assumed = !draft->seen[BB_KEY_SWING_HEIGHT];
    beach->porosity_assumed = !draft->seen[BB_KEY_POROSITY];
    bool all_known = draft->zone_count > 0;
    for (size_t i = 0; i < draft->zone_count; i++) {
        if (!draft->zone_susceptible[i])
            draft->zones[i].susceptibility = beach->susceptibility;
        all_known = all_known && draft->zone_susceptible[i];
    }
    if (draft->seen[BB_KEY_SUSCEPTIBILITY] || all_known)
        beach->black_sand_possible = false;
    return status;
}

static bb_status settle(struct bb_beach_draft *draft)
{
    bb_status status = end_zone(draft);
    if (status == BB_OK)
        status = check_scale(draft);
    if (status == BB_OK)
        status = settle_rejects(draft);
    return status == BB_OK ? settle_beach(draft) : status;
}

/* What is assumed of a machine and a beach of which nothing is said. */
static struct bb_beach_draft blank_draft(const char *path, bb_error *error)
{
    return (struct bb_beach_draft){
        .error = error,
        .path = path,
        .section = BB_NO_SECTION,
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
                  .water_salinity = BB_SEA_SALINITY,
                  .water_temperature_c = 15,
                  .sand_porosity = 0.40},
        .typical_salinity = NAN,
        .typical_saturation = NAN,
    };
}

bb_status bb_beach_read(const char *text, size_t length, const char *path, bb_visit *visit,
                        bb_error *error)
{
    struct bb_beach_draft draft = blank_draft(path, error);
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
