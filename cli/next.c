/* What a visit's files allow, and the one next thing to do, by counting what was swept. */
#include "next.h"

#include "out.h"
#include "swept.h"

#include <stdio.h>
#include <string.h>

/* ---------------------------------------------------------------- one rule each */

static bool needs_bare_sand(const bb_visit *visit, char *text, size_t size)
{
    for (size_t zone = 0; zone < visit->zone_count; zone++)
        if (visit->bare[zone].swept > 0)
            return false;
    (void)snprintf(text, size,
                   "Sweep bare sand in zone %s: %d pumps of the coil, a pace apart, away from any "
                   "metal. Write them into sweeps.csv as the row  %s,sand,,23 22 24 ...",
                   visit->zones[0].name, BB_BARE_LEAST, visit->zones[0].name);
    return true;
}

bool next_bare_sand(const bb_zone *zones, const bb_bare *all, size_t count, char *text, size_t size)
{
    for (size_t zone = 0; zone < count; zone++) {
        const bb_bare *bare = &all[zone];
        const int wanted = bare->swept > 0 ? bb_bare_wanted(bare) : 0;
        if (wanted == 0)
            continue;
        phrase more;
        (void)snprintf(text, size, "Pump bare sand in zone %s %s (%.0f so far)%s.",
                       zones[zone].name, counted(&more, wanted, "more time", "more times"),
                       bare->swept,
                       bare->swept < BB_BARE_LEAST
                           ? ""
                           : ": the last five still went beyond the numbers before them");
        return true;
    }
    return false;
}

static bool needs_more_bare_sand(const bb_visit *visit, char *text, size_t size)
{
    return next_bare_sand(visit->zones, visit->bare, visit->zone_count, text, size);
}

static bool needs_bare_numbers(const bb_visit *visit, char *text, size_t size)
{
    for (size_t zone = 0; zone < visit->zone_count; zone++) {
        const bb_bare *bare = &visit->bare[zone];
        if (bare->number_swept > 0 || !(bare->heard > 0))
            continue;
        (void)snprintf(text, size, "Pump bare sand in zone %s again and note each number that it shows.",
                       visit->zones[zone].name);
        return true;
    }
    return false;
}

static bool needs_air(const bb_visit *visit, char *text, size_t size)
{
    if (swept_in_air(visit) > 0)
        return false;
    (void)snprintf(text, size,
                   "At home, sweep each piece of the kit in air, 5 and 10 cm from the coil: rows "
                   "like  air,ring,5,31 31 32  (without them the machine's own scale is a guess, or "
                   "an earlier profile's).");
    return true;
}

static bool needs_kit(const bb_visit *visit, char *text, size_t size)
{
    if (!visit->without_kit || visit->target_count == 0)
        return false;
    (void)snprintf(text, size,
                   "Write kit.csv: without it nobody knows which pieces are gold. Its first line is "
                   "target,group and below it stands a line for each piece, like %s,small gold (or "
                   "gold, coin, foil, junk, iron).",
                   visit->targets[0].name);
    return true;
}

static bool needs_small_gold(const bb_visit *visit, char *text, size_t size)
{
    for (size_t i = 0; i < visit->target_count; i++)
        if (strcmp(visit->targets[i].group, BB_GROUP_SMALL_GOLD) == 0 && swept_on_sand(visit, (int)i) > 0)
            return false;
    (void)snprintf(text, size,
                   "Sweep a small-gold piece, the size of a stud, on the wet sand and a few cm "
                   "under it: only that proves what a setting costs in small gold.");
    return true;
}

next_step next_after(const bb_visit *visit, const bb_profile *profile)
{
    static bool (*const rules[])(const bb_visit *, char *, size_t) = {
        needs_bare_sand, needs_bare_numbers, needs_more_bare_sand,
        needs_air,       needs_kit,          needs_small_gold};
    const bool air_is_known = profile != NULL && profile->air_before > 0;
    next_step next = {.ready = false};
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++)
        if (!(rules[i] == needs_air && air_is_known) && rules[i](visit, next.text, sizeof next.text))
            return next;
    next.ready = true;
    return next;
}
