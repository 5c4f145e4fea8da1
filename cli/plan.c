/* brineband plan: the next sweeps, in walking order, as words and as a file to fill in. */
#include "cautions.h"
#include "command.h"
#include "draw_sheet.h"
#include "files.h"
#include "names.h"
#include "out.h"
#include "patience.h"
#include "profile_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { CLOCK_BYTES = 8, HOUR_MIN = 60, DAY_MIN = 24 * HOUR_MIN };

typedef struct {
    const bb_visit *visit;
    const bb_plan *plan;
    int start_min; /* after midnight, -1 when not given */
    bool from_profile;
} answer;

static const char *clock_words(char buffer[CLOCK_BYTES], int minutes)
{
    (void)snprintf(buffer, CLOCK_BYTES, "%02d:%02d", minutes / HOUR_MIN % 24, minutes % HOUR_MIN);
    return buffer;
}

static bool lifted(const answer *of, const bb_plan_stop *stop)
{
    return stop->zone != BB_ZONE_AIR && stop->height_m > of->visit->beach.swing_height_m + 1e-6;
}

/* ---------------------------------------------------------------- words */

static char *how_words(const answer *of, const bb_plan_stop *stop)
{
    if (stop->zone == BB_ZONE_AIR)
        return need_text("%.0f cm from the coil", stop->depth_m * 100);
    if (stop->target == BB_TARGET_SAND)
        return need_text("pumped, a pace apart");
    if (stop->depth_m > 0)
        return need_text("buried %.0f cm, on a string", stop->depth_m * 100);
    return lifted(of, stop) ? need_text("on the sand, coil at %.0f cm", stop->height_m * 100)
                            : need_text("on the sand");
}

static const char *where_words(const answer *of, const bb_plan_stop *stop)
{
    return stop->zone == BB_ZONE_AIR ? "at home" : zone_or_air(of->visit->zones, stop->zone);
}

static void say_stops(const answer *of)
{
    static const char *const titles[] = {"<zone", "<piece", "sweeps", "<how"};
    struct table table;
    table_begin(&table, 4, titles);
    for (size_t i = 0; i < of->plan->stop_count; i++) {
        const bb_plan_stop *stop = &of->plan->stops[i];
        char *how = how_words(of, stop);
        table_cell(&table, "%s", where_words(of, stop));
        table_cell(&table, "%s", target_or_sand(of->visit->targets, stop->target));
        table_cell(&table, "%d", stop->sweeps);
        table_cell(&table, "%s", how);
        free(how);
    }
    table_end(&table);
}

static char *times_words(const answer *of)
{
    const bb_plan *plan = of->plan;
    const int turn_back = of->visit->beach.turn_back_min;
    const int sand_min = (int)ceil(plan->minutes_sand);
    char at[CLOCK_BYTES], until[CLOCK_BYTES];
    phrase home, sand;
    char *text = need_text("%s", "About ");
    if (plan->minutes_home > 0)
        text = need_longer(text, "%s at home%s",
                           counted(&home, ceil(plan->minutes_home), "minute", "minutes"),
                           sand_min > 0 ? " and " : ".");
    if (sand_min > 0 || plan->minutes_home <= 0)
        text = need_longer(text, "%s on the sand.", counted(&sand, sand_min, "minute", "minutes"));
    if (of->start_min >= 0)
        return need_longer(text, " From %s to %s.", clock_words(at, of->start_min),
                           clock_words(until, of->start_min + sand_min));
    if (turn_back >= 0 && sand_min > 0)
        return need_longer(text, " Turn back at %s: begin on the sand by %s.",
                           clock_words(until, turn_back),
                           clock_words(at, (turn_back - sand_min + DAY_MIN) % DAY_MIN));
    return text;
}

static void say_times(const answer *of)
{
    char *times = times_words(of);
    say("%s", times);
    free(times);
    if (of->plan->cut)
        say("The time does not hold all that would help; what tells least was left out.");
}

static void say_doubt(const answer *of)
{
    const bb_plan *plan = of->plan;
    if (plan->doubt_after > 0)
        say("The numbers that decide are known to %s%.1f now, to %s%.1f after%s.", plus_minus(),
            plan->doubt_before, plus_minus(), plan->doubt_after,
            of->from_profile ? "" : " (by physics; fit what you have for a sharper plan)");
}

static bool pumps_sand(const bb_plan *plan)
{
    size_t i = 0;
    while (i < plan->stop_count && plan->stops[i].target != BB_TARGET_SAND)
        i++;
    return i < plan->stop_count;
}

/* Cautions come last, where the screen stops: a plan sends its reader to the water's edge. */
static void say_plan(const answer *of)
{
    phrase sweeps;
    if (of->plan->stop_count == 0) {
        say_answer("Nothing more to sweep would help much: 'brineband reject' has what it needs.");
        return;
    }
    say_answer("Next, %s:", counted(&sweeps, of->plan->sweeps, "sweep", "sweeps"));
    say_stops(of);
    say_gap();
    say_times(of);
    say_doubt(of);
    if (pumps_sand(of->plan))
        say("Bare sand: 15 pumps; 10 more unless the last five stayed within what was seen "
            "before.");
    say_gap();
    say_cautions();
}

/* ---------------------------------------------------------------- JSON */

static json_t *plan_json(const answer *of)
{
    json_t *stops = json_array();
    for (size_t i = 0; i < of->plan->stop_count; i++) {
        const bb_plan_stop *stop = &of->plan->stops[i];
        const bool sand = stop->target == BB_TARGET_SAND, air = stop->zone == BB_ZONE_AIR;
        json_add(stops, json_pack("{s:s,s:s,s:o,s:o,s:i,s:f}", "zone",
                                  zone_or_air(of->visit->zones, stop->zone), "target",
                                  target_or_sand(of->visit->targets, stop->target), "depth_cm",
                                  sand ? json_null() : json_real(stop->depth_m * 100), "height_cm",
                                  air ? json_null() : json_real(stop->height_m * 100), "sweeps",
                                  stop->sweeps, "minutes", stop->minutes));
    }
    return json_pack("{s:o,s:i,s:f,s:f,s:f,s:f,s:b}", "stops", stops, "sweeps", of->plan->sweeps,
                     "minutes_at_home", of->plan->minutes_home, "minutes_on_sand",
                     of->plan->minutes_sand, "doubt_before", of->plan->doubt_before, "doubt_after",
                     of->plan->doubt_after, "cut", (int)of->plan->cut);
}

/* ---------------------------------------------------------------- the file to fill in */

/* One row a stop; the numbers go into the field reading, with spaces between. */
static char *plan_csv(const answer *of)
{
    char *text =
        need_text("# Type the numbers read into the field reading, spaces between them. A row "
                  "without\n# numbers: take it out, or put # before it.\n"
                  "zone,target,depth_cm,height_cm,reading\n");
    for (size_t i = 0; i < of->plan->stop_count; i++) {
        const bb_plan_stop *stop = &of->plan->stops[i];
        text = need_longer(text, "# %d sweeps\n%s,%s,", stop->sweeps,
                           zone_or_air(of->visit->zones, stop->zone),
                           target_or_sand(of->visit->targets, stop->target));
        if (stop->target != BB_TARGET_SAND)
            text = need_longer(text, "%g", stop->depth_m * 100);
        text = need_longer(text, ",");
        if (lifted(of, stop))
            text = need_longer(text, "%g", stop->height_m * 100);
        text = need_longer(text, ",\n");
    }
    return text;
}

static outcome write_csv(const char *path, const answer *of)
{
    char *text = plan_csv(of);
    outcome result = file_make(path, text);
    free(text);
    return result;
}

/* ---------------------------------------------------------------- the sheet to write on */

static void set_rows(const answer *of, struct sheet *sheet)
{
    sheet->rows = need(of->plan->stop_count, sizeof *sheet->rows);
    for (size_t i = 0; i < of->plan->stop_count; i++) {
        const bb_plan_stop *stop = &of->plan->stops[i];
        sheet->rows[sheet->count++] =
            (struct sheet_row){need_text("%s: %s", where_words(of, stop),
                                         target_or_sand(of->visit->targets, stop->target)),
                               how_words(of, stop), stop->sweeps};
    }
}

static void free_rows(struct sheet *sheet)
{
    for (size_t i = 0; i < sheet->count; i++) {
        free(sheet->rows[i].what);
        free(sheet->rows[i].how);
    }
    free(sheet->rows);
    free(sheet->times);
}

static outcome write_sheet(const char *path, page_format format, const answer *of)
{
    phrase sweeps;
    struct sheet sheet = {
        .machine = &of->visit->machine, .beach = &of->visit->beach, .times = times_words(of)};
    char *description = need_text("Boxes for %s in walking order, and how to sweep.",
                                  counted(&sweeps, of->plan->sweeps, "sweep", "sweeps"));
    const page_kind kind = sheet_page("Sheet to write readings on", description);
    struct page page;
    set_rows(of, &sheet);
    outcome result = page_begin(format, &kind, &page);
    if (result == OUTCOME_DONE) {
        draw_sheet(&page, &sheet);
        result = page_write(&page, path);
    }
    free_rows(&sheet);
    free(description);
    return result;
}

/* ---------------------------------------------------------------- running */

static outcome read_start(const struct arguments *arguments, int *start_min)
{
    int hour, minute, used = 0;
    const char *text = option_text_or(arguments, "start", NULL);
    *start_min = -1;
    if (text == NULL)
        return OUTCOME_DONE;
    /* NOLINTNEXTLINE(cert-err34-c): two digits always fit */
    if (sscanf(text, "%2d:%2d%n", &hour, &minute, &used) != 2 || text[used] != '\0' || hour < 0 ||
        hour > 23 || minute < 0 || minute > 59)
        return fail_command("plan: --start takes a time of day, like 13:20, not '%s'", text);
    *start_min = hour * HOUR_MIN + minute;
    return OUTCOME_DONE;
}

static outcome past_turn_back(int turn_back)
{
    char at[CLOCK_BYTES];
    bb_error error = {.status = BB_TOO_LITTLE};
    (void)snprintf(error.accepted, sizeof error.accepted,
                   "no time left: turn back is at %s. Stay off the sand, and plan the next tide",
                   clock_words(at, turn_back));
    return fail(BB_TOO_LITTLE, &error);
}

/* The limit of minutes: what was asked, and never past the turn-back time. */
static outcome find_minutes(const struct arguments *arguments, const bb_visit *visit, int start_min,
                            double *minutes)
{
    *minutes = option_number_or(arguments, "minutes", NAN);
    if (start_min < 0 || visit->beach.turn_back_min < 0)
        return OUTCOME_DONE;
    const double left = visit->beach.turn_back_min - start_min;
    if (left <= 0)
        return past_turn_back(visit->beach.turn_back_min);
    *minutes = isnan(*minutes) ? left : fmin(*minutes, left);
    return OUTCOME_DONE;
}

static outcome give(const struct arguments *arguments, const answer *of)
{
    const char *csv = option_text_or(arguments, "csv", NULL);
    const char *sheet = option_text_or(arguments, "sheet", NULL);
    page_format format = PAGE_PDF;
    outcome result = sheet == NULL ? OUTCOME_DONE : page_format_of("plan", sheet, &format);
    if (result == OUTCOME_DONE && csv != NULL)
        result = write_csv(csv, of);
    if (result == OUTCOME_DONE && sheet != NULL)
        result = write_sheet(sheet, format, of);
    if (result != OUTCOME_DONE)
        return result;
    if (arguments->json)
        say_json(plan_json(of));
    else
        say_plan(of);
    return OUTCOME_DONE;
}

static outcome plan_visit(const struct arguments *arguments, const bb_visit *visit,
                          const bb_profile *profile)
{
    answer of = {.visit = visit, .from_profile = profile != NULL};
    bb_plan_options options = {.sweeps = (int)option_number_or(arguments, "count", 0)};
    bb_plan *plan = NULL;
    bb_error error = {0};
    outcome result = read_start(arguments, &of.start_min);
    if (result == OUTCOME_DONE)
        result = find_minutes(arguments, visit, of.start_min, &options.minutes);
    if (result != OUTCOME_DONE)
        return result;
    patience_begin("planning");
    bb_status status = bb_plan_new(visit, profile, &options, &plan, &error);
    patience_end();
    if (status != BB_OK)
        return fail(status, &error);
    of.plan = plan;
    result = give(arguments, &of);
    bb_plan_free(plan);
    return result;
}

static outcome run_plan(const struct arguments *arguments)
{
    bb_visit visit = {0};
    bb_profile *profile = NULL;
    struct stat found;
    outcome result = visit_read(arguments->words[0], &visit);
    char *path = path_join(arguments->words[0], "profile.json");
    if (result == OUTCOME_DONE && stat(path, &found) == 0)
        result = profile_read(arguments->words[0], &profile);
    free(path);
    if (result == OUTCOME_DONE)
        result = plan_visit(arguments, &visit, profile);
    bb_profile_free(profile);
    bb_visit_free(&visit);
    return result;
}

static const struct option options[] = {
    {.name = "count",
     .value = "N",
     .kind = VALUE_WHOLE,
     .low = 1,
     .high = 400,
     .help = "so many sweeps in all, at home too (24, those at home beside them)"},
    {.name = "minutes",
     .value = "M",
     .kind = VALUE_NUMBER,
     .low = 1,
     .high = 600,
     .help = "as many as fit into so many minutes on the sand"},
    {.name = "start",
     .value = "HH:MM",
     .kind = VALUE_TEXT,
     .help = "begin on the sand then; never past the turn-back time"},
    {.name = "csv",
     .value = "F.csv",
     .kind = VALUE_TEXT,
     .help = "write the rows to fill in; a sweeps.csv once the numbers are typed"},
    {.name = "sheet",
     .value = "F.pdf",
     .kind = VALUE_TEXT,
     .help = "draw a page to write the numbers on, as .pdf, .png or .svg"},
    {0},
};

const struct command command_plan = {
    .name = "plan",
    .usage = "DIR [--count N] [--minutes M] [--start HH:MM] [--csv F.csv] [--sheet F.pdf] [--json]",
    .summary = "the most telling sweeps to make next",
    .about =
        "Lists the sweeps that most reduce the doubt in the numbers that decide what to reject: "
        "from "
        "physics alone before anything was swept, from the profile afterwards. What needs no beach "
        "comes first; then each zone in turn, bare sand before pieces, so that nobody walks to and "
        "fro. Depth comes from raising the coil where that tells as much as a hole.\n"
        "The figure after \"known to\" is the expected doubt: two times in three the number "
        "expected is off by less. It is one mean over the sand of each zone and each piece to keep "
        "at 2, 5 and 10 cm, where small gold and what reads near the sand count most, and speaks of "
        "the middle of many sweeps; single ones scatter more. The figure for after the plan is a "
        "forecast: it comes true if sweeps scatter as expected.\n"
        "--minutes 2, 15 and 60 give the three visits: the sand alone, the band with its price, "
        "and "
        "everything. Paces are rules of thumb: 4 seconds a sweep, half a minute to lay a piece.",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run_plan,
};
