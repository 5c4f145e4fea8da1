/* What a profile rests on that was not learned on the beach, in plain words. */
#include "assumed.h"

#include "names.h"
#include "out.h"
#include "outcome.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- what was left out of beach.ini
 */

static void add_inputs(const bb_profile *profile, name_list *list)
{
    const bb_machine *machine = &profile->machine;
    const bb_beach *beach = &profile->beach;
    char text[BB_TEXT_BYTES];
    if (machine->frequency_assumed) {
        (void)snprintf(text, sizeof text, "frequency %.3g kHz", machine->frequency_hz / 1e3);
        names_add(list, text);
    }
    if (machine->coil_assumed) {
        (void)snprintf(text, sizeof text, "coil of %.3g cm", machine->coil_radius_m * 200);
        names_add(list, text);
    }
    if (beach->swing_height_assumed) {
        (void)snprintf(text, sizeof text, "swing height %.2g cm", beach->swing_height_m * 100);
        names_add(list, text);
    }
    if (beach->water_assumed) {
        (void)snprintf(text, sizeof text, "water of salinity %.3g at %.3g %sC",
                       beach->water_salinity, beach->water_temperature_c,
                       out_utf8() ? "\u00b0" : "");
        names_add(list, text);
    }
    if (beach->porosity_assumed) {
        (void)snprintf(text, sizeof text, "%.0f %% pores in the sand", beach->sand_porosity * 100);
        names_add(list, text);
    }
    for (size_t zone = 0; zone < profile->zone_count; zone++)
        if (profile->zones[zone].wetness_assumed) {
            (void)snprintf(text, sizeof text, "wetness of zone %s", profile->zones[zone].name);
            names_add(list, text);
        }
}

/* ---------------------------------------------------------------- what the sweeps did not tell */

/* The parameter prefix.name or prefix.name.suffix exists and is not learned. */
static bool unlearned(const bb_profile *profile, const char *prefix, const char *name,
                      const char *suffix)
{
    char wanted[BB_PARAMETER_BYTES];
    (void)snprintf(wanted, sizeof wanted, "%s.%s%s%s", prefix, name, suffix != NULL ? "." : "",
                   suffix != NULL ? suffix : "");
    for (size_t i = 0; i < profile->parameter_count; i++)
        if (strcmp(profile->parameters[i].name, wanted) == 0)
            return !bb_parameter_learned(&profile->parameters[i]);
    return false;
}

static void add_zones(const bb_profile *profile, name_list *list)
{
    char text[BB_TEXT_BYTES];
    bool level = !unlearned(profile, "salt", "log_level", NULL);
    for (size_t zone = 0; zone < profile->zone_count; zone++) {
        const char *name = profile->zones[zone].name;
        if (!(profile->bare[zone].number_swept > 0) &&
            unlearned(profile, "zone", name, "angle_deg")) {
            (void)snprintf(text, sizeof text, "the number of the sand in zone %s", name);
            names_add(list, text);
        }
        if (!level && unlearned(profile, "zone", name, "log_salt")) {
            (void)snprintf(text, sizeof text, "the pull of the salt in zone %s", name);
            names_add(list, text);
        }
    }
}

/* All pieces known by their size and metal alone, as one entry. */
static void add_targets(const bb_profile *profile, name_list *list)
{
    char text[BB_TEXT_BYTES];
    size_t at = 0;
    for (size_t target = 0; target < profile->target_count && at < sizeof text; target++) {
        const char *name = profile->targets[target].name;
        if (unlearned(profile, "target", name, "log_time") ||
            unlearned(profile, "target", name, "angle_deg"))
            at += (size_t)snprintf(text + at, sizeof text - at, "%s%s",
                                   at == 0 ? "the own number of " : ", ", name);
    }
    if (at > 0)
        names_add(list, text);
}

static name_list all_assumed(const bb_profile *profile)
{
    name_list list = {0};
    add_inputs(profile, &list);
    add_zones(profile, &list);
    add_targets(profile, &list);
    if (unlearned(profile, "corrosion", "log", NULL))
        names_add(&list, "how fast metal corrodes here");
    return list;
}

void say_assumed(const bb_profile *profile, bool from_earlier)
{
    name_list list = all_assumed(profile);
    char *text = need_text("%s", from_earlier
                                     ? "From the earlier profile or assumed, not learned today: "
                                     : "Assumed, not learned here: ");
    for (size_t i = 0; i < list.count; i++)
        text = need_longer(text, "%s%s", i > 0 ? "; " : "", list.name[i]);
    if (list.count > 0)
        say("%s.", text);
    free(text);
    names_free(&list);
}

json_t *assumed_json(const bb_profile *profile)
{
    name_list list = all_assumed(profile);
    json_t *array = json_array();
    for (size_t i = 0; i < list.count; i++)
        json_add(array, json_string(list.name[i]));
    names_free(&list);
    return array;
}
