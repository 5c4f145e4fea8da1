/* Zones, targets and bands that a command line names, found in a profile. */
#include "pick.h"

#include <stdlib.h>
#include <string.h>

#include "names.h"

/* "wet, damp and 3 more". */
static char *listed(const name_list *names)
{
    enum { LISTED = 8 };
    const size_t shown = names->count <= LISTED ? names->count : LISTED;
    char *text = need_text("%s", names->count > 0 ? "" : "none");
    for (size_t i = 0; i < shown; i++)
        text = need_longer(text, "%s%s", i > 0 ? ", " : "", names->name[i]);
    return shown < names->count ? need_longer(text, " and %zu more", names->count - shown) : text;
}

static outcome unknown(const char *command, const char *kind, const char *word, name_list *names)
{
    const char *nearest = names_nearest(names, word);
    char *known = listed(names);
    outcome result =
        nearest != NULL
            ? fail_command("%s: no %s '%s' here; did you mean '%s'?", command, kind, word, nearest)
            : fail_command("%s: no %s '%s' here; it knows %s", command, kind, word, known);
    free(known);
    names_free(names);
    return result;
}

outcome pick_zone(const char *command, const bb_profile *profile, const char *name, bool air_too,
                  int *zone)
{
    name_list names = {0};
    *zone = BB_ZONE_AIR;
    if (air_too && strcmp(name, "air") == 0)
        return OUTCOME_DONE;
    for (size_t z = 0; z < profile->zone_count; z++) {
        *zone = (int)z;
        if (strcmp(profile->zones[z].name, name) == 0) {
            names_free(&names);
            return OUTCOME_DONE;
        }
        names_add(&names, profile->zones[z].name);
    }
    if (air_too)
        names_add(&names, "air");
    return unknown(command, "zone", name, &names);
}

outcome pick_zone_missing(const char *command, const bb_profile *profile)
{
    name_list names = {0};
    for (size_t z = 0; z < profile->zone_count; z++)
        names_add(&names, profile->zones[z].name);
    char *known = listed(&names);
    outcome result =
        fail_command("%s: --zone is missing: the sand of each zone has a number of its "
                     "own; zones here: %s",
                     command, known);
    free(known);
    names_free(&names);
    return result;
}

outcome pick_target(const char *command, const bb_profile *profile, const char *name, int *target,
                    bb_target *other, double *sd_log)
{
    name_list names = {0};
    *target = BB_TARGET_SAND;
    bool found = strcmp(name, "sand") == 0;
    for (size_t k = 0; k < profile->target_count && !found; k++) {
        found = strcmp(profile->targets[k].name, name) == 0;
        *target = (int)k;
        names_add(&names, profile->targets[k].name);
    }
    for (size_t c = 0; c < bb_catalogue_count() && !found; c++) {
        if (bb_catalogue_at(c, other, sd_log) != BB_OK)
            continue;
        found = strcmp(other->name, name) == 0;
        *target = PICKED_FROM_CATALOGUE;
        names_add(&names, other->name);
    }
    names_add(&names, "sand");
    if (!found)
        return unknown(command, "target", name, &names);
    names_free(&names);
    return OUTCOME_DONE;
}

outcome pick_bands(const char *command, const bb_machine *machine, const char *text,
                   bb_bands *bands)
{
    bb_error error = {0};
    bb_status status = bb_bands_read(text, machine, bands, &error);
    if (status == BB_OK)
        return OUTCOME_DONE;
    char words[sizeof error.found + sizeof error.accepted];
    (void)bb_error_text(&error, words, sizeof words);
    return fail_command("%s: --bands %s: %s", command, text, words);
}
