/* brineband DIR: all that a visit's files allow now, and the one next thing to do. */
#include "command.h"
#include "files.h"
#include "next.h"
#include "out.h"
#include "swept.h"

#include <stdio.h>
#include <string.h>

static void say_overview(const char *folder, const bb_visit *visit)
{
    phrase sweeps, targets;
    say_answer("%s: %s, %s in the kit.", *visit->beach.name ? visit->beach.name : folder,
               counted(&sweeps, visit->sweep_count, "sweep", "sweeps"),
               counted(&targets, (double)visit->target_count, "piece", "pieces"));
    for (size_t zone = 0; zone < visit->zone_count; zone++)
        say_bare_sand(visit, zone);
    phrase on_sand, in_air;
    say_item(14, "pieces", "%s on or under the sand, %s in air",
             counted(&on_sand, swept_on_sand(visit, BB_TARGET_ANY), "sweep", "sweeps"),
             counted(&in_air, swept_in_air(visit), "sweep", "sweeps"));
    next_step next = next_after(visit, folder);
    say_item(14, "next", "%s", next.text);
}

static json_t *overview_json(const char *folder, const bb_visit *visit)
{
    json_t *zones = json_array();
    for (size_t zone = 0; zone < visit->zone_count; zone++)
        json_array_append_new(zones, json_pack("{s:s,s:o,s:o}", "zone", visit->zones[zone].name,
                                               "bare_sweeps", json_count(visit->bare[zone].swept),
                                               "sounded", json_count(visit->bare[zone].heard)));
    next_step next = next_after(visit, folder);
    return json_pack("{s:s,s:o,s:I,s:o,s:o,s:o,s:s}", "folder", folder, "sweeps",
                     json_count(visit->sweep_count), "targets", (json_int_t)visit->target_count,
                     "zones", zones, "sweeps_on_sand",
                     json_count(swept_on_sand(visit, BB_TARGET_ANY)), "sweeps_in_air",
                     json_count(swept_in_air(visit)), "next", next.text);
}

static outcome run_overview(const struct arguments *arguments)
{
    const char *folder = arguments->words[0];
    bb_visit visit = {0};
    outcome result = visit_read(folder, &visit);
    if (result != OUTCOME_DONE)
        return result;
    if (arguments->json)
        say_json(overview_json(folder, &visit));
    else
        say_overview(folder, &visit);
    bb_visit_free(&visit);
    return OUTCOME_DONE;
}

const struct command command_overview = {
    .name = "DIR",
    .usage = "[--json]",
    .summary = "all that this visit's files allow now, and what to do next",
    .about = "Reads the folder's beach.ini, kit.csv and sweeps.csv and says what they hold, what "
             "they allow already, and the one next thing to do.",
    .words_least = 1,
    .words_most = 1,
    .run = run_overview,
};
