/* brineband DIR: all that a visit's files allow now, and the one next thing to do. */
#include "command.h"
#include "files.h"
#include "learn.h"
#include "next.h"
#include "out.h"
#include "profile_file.h"
#include "reject_words.h"
#include "swept.h"

#include <stdlib.h>

/* What the files allow; the later ones are NULL where they do not. */
typedef struct {
    const char *folder;
    profile_state state;
    bb_visit visit;
    struct lesson learned;
    bb_error refusal; /* of a fit that was tried and gave none */
    bb_reject *reject;
} overview;

/* The profile on the disk while it is current, else one learned now and not written. */
static outcome find_profile(overview *of)
{
    if (of->state == PROFILE_CURRENT)
        return profile_read(of->folder, &of->learned.profile);
    bb_status status = learn(&of->visit, NULL, &of->learned, &of->refusal);
    return status == BB_MEMORY ? fail(status, &of->refusal) : OUTCOME_DONE;
}

static outcome find_setting(overview *of)
{
    bb_error error = {0};
    bb_reject_options options = bb_reject_defaults();
    bb_predictor *predictor = NULL;
    outcome result = find_profile(of);
    if (result != OUTCOME_DONE || of->learned.profile == NULL)
        return result;
    bb_status status = bb_predictor_new(of->learned.profile, &predictor, &error);
    if (status == BB_OK)
        status = bb_reject_new(predictor, &options, &of->reject, &error);
    bb_predictor_free(predictor);
    return status == BB_OK ? OUTCOME_DONE : fail(status, &error);
}

/* ---------------------------------------------------------------- words and JSON */

/* The next sweep, or the next command where no sweep is missing. */
static char *next_words(const overview *of)
{
    static const struct {
        const char *command, *purpose;
    } steps[] = {
        [PROFILE_NONE] = {"fit", "keeps what was learned in profile.json."},
        [PROFILE_STALE] = {"fit", "brings profile.json up to date."},
        [PROFILE_CURRENT] = {"reject", "shows what the setting costs."},
    };
    next_step next = next_after(&of->visit, of->learned.profile);
    if (!next.ready)
        return need_text("%s", next.text);
    if (of->learned.profile == NULL)
        return need_text("no fit: %s", of->refusal.accepted);
    char *folder = need_word(of->folder);
    char *text = need_text("'brineband %s %s' %s", steps[of->state].command, folder,
                           steps[of->state].purpose);
    free(folder);
    return text;
}

static void say_overview(const overview *of)
{
    const bb_visit *visit = &of->visit;
    phrase sweeps, targets, on_sand, in_air;
    if (of->reject != NULL) {
        say_setting(of->learned.profile, of->reject);
        say_gap();
    }
    say("%s: %s, %s in the kit.", *visit->beach.name ? visit->beach.name : of->folder,
        counted(&sweeps, visit->sweep_count, "sweep", "sweeps"),
        counted(&targets, (double)visit->target_count, "piece", "pieces"));
    for (size_t zone = 0; zone < visit->zone_count; zone++)
        say_bare_sand(visit, zone);
    say_item(14, "pieces", "%s on or under the sand, %s in air",
             counted(&on_sand, swept_on_sand(visit, BB_TARGET_ANY), "sweep", "sweeps"),
             counted(&in_air, swept_in_air(visit), "sweep", "sweeps"));
    char *next = next_words(of);
    say_item(14, "next", "%s", next);
    free(next);
}

static json_t *zones_json(const bb_visit *visit)
{
    json_t *zones = json_array();
    for (size_t zone = 0; zone < visit->zone_count; zone++)
        json_add(zones, json_pack("{s:s,s:o,s:o}", "zone", visit->zones[zone].name,
                                               "bare_sweeps", json_count(visit->bare[zone].swept),
                                               "sounded", json_count(visit->bare[zone].heard)));
    return zones;
}

static json_t *overview_json(const overview *of)
{
    static const char *const states[] = {
        [PROFILE_NONE] = "none", [PROFILE_STALE] = "stale", [PROFILE_CURRENT] = "current"};
    const bb_visit *visit = &of->visit;
    char *next = next_words(of);
    json_t *object = json_pack(
        "{s:s,s:s,s:o,s:I,s:o,s:o,s:o,s:o,s:o,s:s}", "folder", of->folder, "profile",
        states[of->state], "sweeps", json_count(visit->sweep_count), "targets",
        (json_int_t)visit->target_count, "zones", zones_json(visit), "sweeps_on_sand",
        json_count(swept_on_sand(visit, BB_TARGET_ANY)), "sweeps_in_air",
        json_count(swept_in_air(visit)), "verdict",
        of->reject != NULL ? json_string(verdict_name(of->reject->verdict)) : json_null(), "bands",
        of->reject != NULL ? bands_json(&of->reject->chosen.bands) : json_null(), "next", next);
    free(next);
    return object;
}

/* ---------------------------------------------------------------- running */

static outcome run_overview(const struct arguments *arguments)
{
    overview of = {.folder = arguments->words[0]};
    outcome result = visit_read(of.folder, &of.visit);
    if (result != OUTCOME_DONE)
        return result;
    of.state = profile_state_of(of.folder);
    result = find_setting(&of);
    if (result == OUTCOME_DONE && arguments->json)
        say_json(overview_json(&of));
    else if (result == OUTCOME_DONE)
        say_overview(&of);
    bb_reject_free(of.reject);
    lesson_free(&of.learned);
    bb_visit_free(&of.visit);
    return result;
}

const struct command command_overview = {
    .name = "DIR",
    .usage = "[--json]",
    .summary = "all that this visit's files allow now, and what to do next",
    .about = "Reads the folder's beach.ini, kit.csv and sweeps.csv and says which setting they "
             "allow already, what they hold, and the one next thing to do. Writes nothing.",
    .words_least = 1,
    .words_most = 1,
    .run = run_overview,
};
