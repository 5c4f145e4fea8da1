/* What a profile must say of machine, beach, zones and kit. */
#include "profile_read_parts.h"

#include "number.h"
#include "place.h"
#include "profile_fields.h"
#include "target.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bb_status bb_read_scale_number(const bb_json_source *source, const bb_json_place *place,
                                   const json_t *value, const bb_machine *machine, int *number)
{
    if (bb_json_is_whole(value, machine->scale_low, machine->scale_high) &&
        bb_scale_holds(machine, (int)json_number_value(value))) {
        *number = (int)json_number_value(value);
        return BB_OK;
    }
    return bb_json_refuse(source, place, NULL, "a number of the scale: %d to %d in steps of %d",
                          machine->scale_low, machine->scale_high, machine->scale_step);
}

bb_status bb_read_range(const bb_json_source *source, const bb_json_place *place,
                            const json_t *value, const bb_machine *machine, int *low, int *high)
{
    bb_json_place first = {place, NULL, 0}, second = {place, NULL, 1};
    bb_status status = bb_json_list(source, place, value, 2, 2);
    if (status == BB_OK)
        status = bb_read_scale_number(source, &first, json_array_get(value, 0), machine, low);
    if (status == BB_OK)
        status = bb_read_scale_number(source, &second, json_array_get(value, 1), machine, high);
    if (status == BB_OK && *low > *high)
        status = bb_json_refuse(source, &second, NULL, "a number from %d", *low);
    return status;
}

static bb_status read_bands(const bb_json_source *source, const bb_json_place *place,
                            const json_t *value, const bb_machine *machine, bb_bands *bands)
{
    bb_status status = bb_json_list(source, place, value, 0, BB_BANDS_MAX);
    *bands = (bb_bands){0};
    for (size_t i = 0; status == BB_OK && i < json_array_size(value); i++) {
        bb_json_place here = {place, NULL, i};
        int *low = &bands->band[i].low, *high = &bands->band[i].high;
        status = bb_read_range(source, &here, json_array_get(value, i), machine, low, high);
        if (status == BB_OK && i > 0 && *low - bands->band[i - 1].high < 2 * machine->scale_step)
            status = bb_json_refuse(source, &here, NULL,
                                    "a range above the one before it, with a number between them");
        bands->count++;
    }
    return status;
}

static bb_status check_scale(const bb_json_source *source, const bb_json_place *place,
                             const bb_machine *machine)
{
    bb_json_place high = {place, "scale_high", 0};
    int range = machine->scale_high - machine->scale_low;
    if (range > 0 && range % machine->scale_step == 0 &&
        range / machine->scale_step < BB_NUMBERS_MAX)
        return BB_OK;
    return bb_json_refuse(source, &high, NULL, "a number 1 to %d steps of %d above %d",
                          BB_NUMBERS_MAX - 1, machine->scale_step, machine->scale_low);
}

static bb_status check_frequency(const bb_json_source *source, const bb_json_place *place,
                                 bb_machine *machine)
{
    bb_json_place lower = {place, "lower_frequency_khz", 0};
    bool pair = machine->frequency_kind == BB_FREQUENCY_PAIR;
    if (pair && !(machine->lower_frequency_hz < machine->frequency_hz))
        return bb_json_refuse(source, &lower, NULL, "the lower frequency of a pair");
    if (!pair && !isnan(machine->lower_frequency_hz))
        return bb_json_refuse(source, &lower, NULL, "null, for this is not a pair");
    if (!pair)
        machine->lower_frequency_hz = 0;
    return BB_OK;
}

bb_status bb_read_machine(const bb_json_source *source, const bb_json_place *place,
                              const json_t *value, bb_profile *profile)
{
    bb_machine *machine = &profile->machine;
    bb_json_place now = {place, "reject_now", 0}, below = {place, "reject_below", 0};
    const json_t *reject_below = json_object_get(value, below.key);
    bb_status status = bb_fields_read(source, place, value, &bb_machine_fields, machine);
    machine->coil_radius_m /= 2; /* written as a diameter */
    if (status == BB_OK)
        status = check_scale(source, place, machine);
    if (status == BB_OK)
        status = check_frequency(source, place, machine);
    if (status == BB_OK)
        status = read_bands(source, &now, json_object_get(value, now.key), machine,
                            &machine->reject_now);
    if (status != BB_OK || json_is_null(reject_below))
        return status;
    machine->has_reject_below = true;
    return bb_read_scale_number(source, &below, reject_below, machine, &machine->reject_below);
}

/* A day, or of an anonymous profile its month. */
static bool date_or_month(const char *text)
{
    char day[BB_NAME_BYTES + 4];
    (void)snprintf(day, sizeof day, "%s-01", text);
    return bb_date_accepted(text) || bb_date_accepted(day);
}

bb_status bb_read_beach(const bb_json_source *source, const bb_json_place *place,
                            const json_t *value, bb_profile *profile)
{
    bb_json_place date = {place, "date", 0};
    bb_status status = bb_fields_read(source, place, value, &bb_beach_fields, &profile->beach);
    profile->beach.low_water_min = -1;
    profile->beach.turn_back_min = -1;
    if (status == BB_OK && profile->beach.date[0] != '\0' && !date_or_month(profile->beach.date))
        status = bb_json_refuse(source, &date, NULL, "a day as YYYY-MM-DD, or null");
    return status;
}

bb_status bb_names_check(const bb_json_source *source, const bb_json_place *place,
                             const char *key, const void *items, size_t count, size_t size,
                         const char *reserved)
{
    for (size_t i = 0; i < count; i++) {
        const char *name = (const char *)items + i * size;
        bb_json_place record = {place, NULL, i}, here = {&record, key, 0};
        if (reserved != NULL && strcmp(name, reserved) == 0)
            return bb_json_refuse(source, &here, NULL, "another name: this one is taken");
        for (size_t k = 0; k < i; k++)
            if (strcmp(name, (const char *)items + k * size) == 0)
                return bb_json_refuse(source, &here, NULL, "a name that was not used before");
    }
    return BB_OK;
}

void *bb_records_room(const bb_json_source *source, const bb_json_place *place,
                       const json_t *value, size_t high, size_t size, bb_status *status)
{
    *status = bb_json_list(source, place, value, 0, high);
    if (*status != BB_OK)
        return NULL;
    void *items = calloc(json_array_size(value) + 1, size);
    if (items == NULL)
        *status = bb_out_of_memory(source->error);
    return items;
}

bb_status bb_read_zones(const bb_json_source *source, const bb_json_place *place,
                            const json_t *value, bb_profile *profile)
{
    bb_status status;
    size_t size = sizeof *profile->zones;
    profile->zones = bb_records_room(source, place, value, BB_ZONES_MAX, size, &status);
    if (status != BB_OK)
        return status;
    profile->zone_count = json_array_size(value);
    status = bb_records_read(source, place, value, &bb_zone_fields, profile->zones, size);
    if (status != BB_OK)
        return status;
    return bb_names_check(source, place, "name", profile->zones, profile->zone_count, size, "air");
}

static bb_status check_target(const bb_json_source *source, const bb_json_place *place,
                              const bb_target *target)
{
    bb_body body;
    bb_target_kind kind;
    bb_json_place material = {place, "material", 0}, core = {place, "core", 0};
    if (bb_target_body(target, 20, 1, &body, &kind) != BB_OK)
        return bb_json_refuse(source, place, "sizes that make no body",
                              "a bore below the diameter");
    if (target->material[0] != '\0' && bb_material_find(target->material) == NULL)
        return bb_json_refuse(source, &material, NULL, "a known material, or null");
    if (target->core[0] != '\0' && bb_material_find(target->core) == NULL)
        return bb_json_refuse(source, &core, NULL, "a known material, or null");
    return BB_OK;
}

bb_status bb_read_targets(const bb_json_source *source, const bb_json_place *place,
                              const json_t *value, bb_profile *profile)
{
    bb_status status;
    size_t size = sizeof *profile->targets;
    profile->targets = bb_records_room(source, place, value, BB_TARGETS_MAX, size, &status);
    if (status != BB_OK)
        return status;
    profile->target_count = json_array_size(value);
    status = bb_records_read(source, place, value, &bb_target_fields, profile->targets, size);
    for (size_t i = 0; status == BB_OK && i < profile->target_count; i++) {
        bb_json_place here = {place, NULL, i};
        status = check_target(source, &here, &profile->targets[i]);
    }
    if (status != BB_OK)
        return status;
    return bb_names_check(source, place, "name", profile->targets, profile->target_count, size, "sand");
}
