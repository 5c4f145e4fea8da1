/* Lists of names, and the nearest one to a word that is none of them. */
#include "names.h"

#include "outcome.h"

#include <stdio.h>
#include <stdlib.h>

void names_add(name_list *list, const char *name)
{
    list->name = need_more(list->name, list->count + 1, sizeof *list->name);
    (void)snprintf(list->name[list->count++], sizeof *list->name, "%s", name);
}

const char *names_nearest(const name_list *list, const char *word)
{
    if (list->count == 0)
        return NULL;
    return bb_nearest_name(word, list->name[0], list->count, sizeof *list->name);
}

void names_free(name_list *list)
{
    free(list->name);
    *list = (name_list){0};
}

const char *zone_or_air(const bb_zone *zones, int zone)
{
    return zone == BB_ZONE_AIR ? "air" : zones[zone].name;
}

const char *target_or_sand(const bb_target *targets, int target)
{
    return target == BB_TARGET_SAND ? "sand" : targets[target].name;
}
