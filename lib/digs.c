/* What a csv of digs says: what was found under which readings, and the time it took. */
#include "band_text.h"
#include "candidates.h"
#include "copy.h"
#include "groups.h"
#include "names.h"
#include "number.h"
#include "quantity.h"
#include "table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MINUTES_MAX 6000.0
enum { SPOTS_MAX = 1000 };

enum { ZONE, READING, FOUND, DEPTH, WHERE, TIME, MINUTES, LATITUDE, LONGITUDE, NOTE, COLUMNS };
static const bb_column columns[COLUMNS] = {
    [ZONE] = {"zone", true},       [READING] = {"reading", true},  [FOUND] = {"found", true},
    [DEPTH] = {"depth_cm", false}, [WHERE] = {"where", false},     [TIME] = {"time", false},
    [MINUTES] = {"minutes", false}, [LATITUDE] = {"lat", false},   [LONGITUDE] = {"lon", false},
    [NOTE] = {"note", false},
};

typedef struct {
    const bb_profile *profile;
    bb_candidates candidates; /* none before the first find */
    bb_error *error;
    bb_digs read;
    size_t room, spot_room;
} reader;

/* ---------------------------------------------------------------- one row */

static bb_status read_zone(reader *of, const bb_table *table, bb_dig *dig)
{
    const bb_names zones = BB_NAMES(of->profile->zones, of->profile->zone_count);
    const char *word = bb_table_text(table, ZONE);
    const long index = bb_name_find(&zones, word);
    const bb_place place = bb_table_place(table, ZONE);
    dig->zone = (int)index;
    return index >= 0 ? BB_OK : bb_refuse_name(&place, word, "a zone of the profile", &zones);
}

static bb_status read_readings(reader *of, const bb_table *table, bb_dig *dig)
{
    const bb_machine *machine = &of->profile->machine;
    const char *text = bb_table_text(table, READING);
    const bb_place place = bb_table_place(table, READING);
    for (const char *at = text; *at != '\0'; at += strspn(at, " \t")) {
        long number;
        if (!bb_whole_start(at, &at, &number) || (*at != '\0' && *at != ' ' && *at != '\t') ||
            !bb_scale_holds(machine, number))
            return bb_refuse_number(&place, text, machine);
        if (dig->reading_count == BB_REPEATS_MAX)
            return bb_refuse(&place, "a reading more", "at most %d of one target", BB_REPEATS_MAX);
        dig->readings[dig->reading_count++] = (int)number;
    }
    return BB_OK;
}

static bb_status refuse_find(const reader *of, const bb_place *place, const char *word)
{
    const bb_candidates *known = &of->candidates;
    const size_t count = known->group_count + known->count;
    char(*list)[BB_NAME_BYTES] = calloc(count, sizeof *list);
    if (list == NULL)
        return bb_out_of_memory(place->error);
    for (size_t i = 0; i < count; i++)
        memcpy(list[i],
               i < known->group_count ? known->groups[i].name
                                      : known->at[i - known->group_count].target.name,
               BB_NAME_BYTES);
    const char *nearest = bb_nearest_name(word, list[0], count, sizeof *list);
    char found[BB_QUOTE_BYTES], groups[BB_TEXT_BYTES] = "";
    size_t length = 0;
    for (size_t g = 0; g + 1 < known->group_count && length < sizeof groups; g++)
        length += (size_t)snprintf(groups + length, sizeof groups - length, "%s, ",
                                   known->groups[g].name);
    const bb_names names = {list[0], count, sizeof *list};
    bb_status status =
        nearest != NULL
            ? bb_refuse_name(place, word, "a group, a piece, or nothing", &names)
            : bb_refuse(place, bb_quote(word, found),
                        "%snothing, or a piece of the kit or the catalogue", groups);
    free(list);
    return status;
}

/* The group of what was found. */
static bb_status read_found(reader *of, const bb_table *table, bb_dig *dig)
{
    static const char *const empty[] = {"nothing", "sand", BB_GROUP_SAND};
    const bb_candidates *known = &of->candidates;
    const char *word = bb_table_text(table, FOUND);
    if (*word == '\0')
        return BB_OK;
    if (known->at == NULL && bb_candidates_new(of->profile, false, &of->candidates) != BB_OK)
        return bb_out_of_memory(of->error);
    size_t group = bb_candidate_group_find(known, word);
    for (size_t i = 0; i < sizeof empty / sizeof *empty; i++)
        if (bb_same_word(word, empty[i]))
            group = known->group_count - 1;
    for (size_t i = 0; i < known->count && group == known->group_count; i++)
        if (bb_same_word(word, known->at[i].target.name))
            group = known->at[i].group;
    const bb_place place = bb_table_place(table, FOUND);
    if (group == known->group_count)
        return refuse_find(of, &place, word);
    memcpy(dig->found, known->groups[group].name, sizeof dig->found);
    dig->keep = known->groups[group].keep;
    return BB_OK;
}

static bb_status read_depth(reader *of, const bb_table *table, bb_dig *dig)
{
    (void)of;
    const char *text = bb_table_text(table, DEPTH);
    const bb_place place = bb_table_place(table, DEPTH);
    return *text == '\0' ? BB_OK
                         : bb_quantity_read(&place, text, BB_QUANTITY_DEPTH, &dig->depth_m);
}

static bb_status read_spot(reader *of, const bb_table *table, bb_dig *dig)
{
    bb_digs *digs = &of->read;
    const bb_names spots = BB_NAMES(digs->spots, digs->spot_count);
    const char *text = bb_table_text(table, WHERE);
    if (*text == '\0')
        return BB_OK;
    const bb_place place = bb_table_place(table, WHERE);
    dig->spot = (int)bb_name_find(&spots, text);
    if (dig->spot >= 0)
        return BB_OK;
    if (digs->spot_count == SPOTS_MAX)
        return bb_refuse(&place, "one spot more", "at most %d different spots", SPOTS_MAX);
    void *more = bb_grown(digs->spots, digs->spot_count + 1, &of->spot_room, sizeof *digs->spots);
    if (more == NULL)
        return bb_out_of_memory(of->error);
    digs->spots = more;
    dig->spot = (int)digs->spot_count;
    bb_status status =
        bb_name_read(&place, text, "a few words for the spot", digs->spots[digs->spot_count]);
    digs->spot_count += status == BB_OK;
    return status;
}

/* What is checked and then forgotten. */
static bb_status check_private(reader *of, const bb_table *table, bb_dig *dig)
{
    static const struct {
        int column;
        double limit;
        const char *accepted;
    } places[] = {{LATITUDE, 90, "degrees from -90 to 90, with a decimal point"},
                  {LONGITUDE, 180, "degrees from -180 to 180, with a decimal point"}};
    (void)of;
    (void)dig;
    char found[BB_QUOTE_BYTES];
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        const char *text = bb_table_text(table, (size_t)places[i].column);
        const bb_place place = bb_table_place(table, (size_t)places[i].column);
        double degrees;
        if (*text != '\0' && (!bb_number_read(text, &degrees) || fabs(degrees) > places[i].limit))
            return bb_refuse(&place, bb_quote(text, found), "%s", places[i].accepted);
    }
    const char *text = bb_table_text(table, TIME);
    const bb_place place = bb_table_place(table, TIME);
    int minutes;
    return *text == '\0' || bb_clock_read(text, &minutes)
               ? BB_OK
               : bb_refuse(&place, bb_quote(text, found), "a time of day, 00:00 to 23:59");
}

static bb_status read_minutes(reader *of, const bb_table *table, bb_dig *dig)
{
    (void)of;
    const char *text = bb_table_text(table, MINUTES);
    const bb_place place = bb_table_place(table, MINUTES);
    char found[BB_QUOTE_BYTES];
    if (*text == '\0' || (bb_number_read(text, &dig->minutes) && dig->minutes >= 0 &&
                          dig->minutes <= MINUTES_MAX))
        return BB_OK;
    return bb_refuse(&place, bb_quote(text, found), "minutes from 0 to %g", MINUTES_MAX);
}

/* A hole has a reading and a find; a row with neither is time spent. */
static bb_status check_whole(reader *of, const bb_table *table, bb_dig *dig)
{
    (void)of;
    const bool read = dig->reading_count > 0, found = dig->found[0] != '\0';
    const bool nothing = !read && !found;
    if ((read && found) || (nothing && *bb_table_text(table, MINUTES) != '\0'))
        return BB_OK;
    const bb_place place = bb_table_place(table, read ? FOUND : READING);
    return bb_refuse(&place, "nothing",
                     nothing ? "the number dug, or minutes where no hole was made"
                     : read  ? "what was found, or the word nothing for an empty hole"
                             : "the number that was dug");
}

static bb_status take_row(void *context, bb_table *table)
{
    static bb_status (*const steps[])(reader *, const bb_table *, bb_dig *) = {
        read_zone, read_readings, read_found,    read_depth,
        read_spot, read_minutes,  check_private, check_whole,
    };
    reader *of = context;
    bb_dig dig = {.spot = -1, .depth_m = NAN};
    bb_status status = BB_OK;
    for (size_t i = 0; i < sizeof steps / sizeof *steps && status == BB_OK; i++)
        status = steps[i](of, table, &dig);
    if (status != BB_OK)
        return status;
    bb_dig *digs = bb_grown(of->read.digs, of->read.count + 1, &of->room, sizeof dig);
    if (digs == NULL)
        return bb_out_of_memory(of->error);
    of->read.digs = digs;
    of->read.digs[of->read.count++] = dig;
    return BB_OK;
}

/* ---------------------------------------------------------------- a whole file */

static bb_status begin(reader *of, const bb_digs *digs)
{
    of->read = (bb_digs){bb_copy(digs->digs, digs->count, sizeof *digs->digs), digs->count,
                         bb_copy(digs->spots, digs->spot_count, sizeof *digs->spots),
                         digs->spot_count};
    of->room = digs->count + 1;
    of->spot_room = digs->spot_count + 1;
    return of->read.digs != NULL && of->read.spots != NULL ? BB_OK : BB_MEMORY;
}

bb_status bb_digs_read(const char *text, size_t length, const char *path,
                       const bb_profile *profile, bb_digs *digs, bb_error *error)
{
    reader of = {.profile = profile, .error = error};
    const bb_table_form form = {
        .columns = columns, .column_count = COLUMNS, .take_row = take_row, .context = &of};
    bb_table *table = NULL;
    bb_status status = begin(&of, digs);
    if (status != BB_OK)
        (void)bb_error_say(error, status, "%s", bb_status_text(status));
    else
        status = bb_table_open(&form, path, error, &table);
    if (status == BB_OK)
        status = bb_table_feed(table, text, length);
    if (status == BB_OK)
        status = bb_table_close(table);
    bb_table_free(table);
    bb_candidates_free(&of.candidates);
    bb_digs *dropped = status == BB_OK ? digs : &of.read;
    bb_digs_free(dropped);
    if (status == BB_OK)
        *digs = of.read;
    return status;
}

void bb_digs_free(bb_digs *digs)
{
    if (digs == NULL)
        return;
    free(digs->digs);
    free(digs->spots);
    *digs = (bb_digs){0};
}
