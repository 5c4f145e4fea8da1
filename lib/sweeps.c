/* What sweeps.csv says of each sweep, and what a visit keeps of it. */
#include "band_text.h"
#include "bare.h"
#include "copy.h"
#include "names.h"
#include "number.h"
#include "quantity.h"
#include "sweep_cells.h"
#include "table.h"
#include "target.h"
#include "zone.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ZONE, TARGET, DEPTH, READING, HEIGHT, TIMES, HEARD, SETTING, TIME, NOTE, COLUMNS };
static const bb_column columns[COLUMNS] = {
    [ZONE] = {"zone", true},       [TARGET] = {"target", true},     [DEPTH] = {"depth_cm", true},
    [READING] = {"reading", true}, [HEIGHT] = {"height_cm", false}, [TIMES] = {"times", false},
    [HEARD] = {"heard", false},    [SETTING] = {"setting", false},  [TIME] = {"time", false},
    [NOTE] = {"note", false},
};

/* Numbers parted by commas fall into the fields behind: a height above all marks, and all alike. */
enum { HIGHEST_MARK_CM = 15, ALIKE_STEPS = 5 };

enum { SETTINGS_MAX = 512, TIMES_MAX = 1000000 };
enum { MINUTES_IN_TENTH = 6, TENTHS = 241 }; /* of an hour, midnight twice */

struct bb_sweeps_reader {
    bb_visit *visit;
    bb_error *error;
    bool ended;
    bb_table_form form;
    bb_table *table;

    bb_zone zones[BB_ZONES_MAX];
    size_t zone_count;
    bool zones_open; /* beach.ini named none: those of the sweeps are taken */
    bb_target *targets; /* the visit's, or without a kit those of the sweeps: room for all */
    size_t target_count;
    bb_setting settings[SETTINGS_MAX];
    size_t setting_count;
    bb_name_index zone_index, target_index, setting_index;

    bb_sweep_cells cells;
    bb_bare bare[BB_ZONES_MAX];
    bb_bare_tail tails[BB_ZONES_MAX];
    bb_cell last; /* where the latest sweep was made */
    size_t latest; /* which cell it is */
    double sweep_count;
};

static bb_names zone_names(const bb_sweeps_reader *reader)
{
    return BB_NAMES(reader->zones, reader->zone_count);
}

static bb_names target_names(const bb_sweeps_reader *reader)
{
    return BB_NAMES(reader->targets, reader->target_count);
}

static bb_names setting_names(const bb_sweeps_reader *reader)
{
    return BB_NAMES(reader->settings, reader->setting_count);
}

/* ---- zone and target */

/* Refuses a word that is neither in the list nor the one name that needs no list. */
static bb_status refuse_unlisted(const bb_place *place, const char *word, const char *accepted,
                                 const char *always, const bb_names *names)
{
    char list[BB_TARGETS_MAX + 1][BB_NAME_BYTES];
    size_t count = 0;
    for (; count < names->count; count++)
        memcpy(list[count], bb_name_at(names, count), BB_NAME_BYTES);
    memcpy(list[count], always, strlen(always) + 1);
    bb_names all = BB_NAMES(list, count + 1);
    return bb_refuse_name(place, word, accepted, &all);
}

/* A name of a zone or a target that no list announced: another than those before, and not one too many. */
static bb_status expect_new(const bb_place *place, const char *name, const char *what,
                            const bb_names *before, size_t most)
{
    char found[BB_QUOTE_BYTES];
    for (size_t i = 0; i < before->count; i++)
        if (bb_same_word(name, bb_name_at(before, i)))
            return bb_refuse(place, bb_quote(name, found), "the %s's name as before: %s", what,
                             bb_name_at(before, i));
    if (before->count == most)
        return bb_refuse(place, bb_quote(name, found), "at most %zu %ss", most, what);
    return BB_OK;
}

static bb_status add_zone(bb_sweeps_reader *reader, const bb_place *place, const char *word)
{
    char name[BB_NAME_BYTES];
    bb_names names = zone_names(reader);
    bb_status status = bb_zone_name_read(place, word, name);
    if (status == BB_OK)
        status = expect_new(place, name, "zone", &names, BB_ZONES_MAX);
    if (status != BB_OK)
        return status;
    size_t index = reader->zone_count++;
    reader->zones[index] = bb_zone_named(name, &reader->visit->beach);
    bb_bare_begin(&reader->bare[index]);
    names = zone_names(reader);
    bb_name_index_add(&reader->zone_index, &names, index);
    return BB_OK;
}

static bb_status read_zone(bb_sweeps_reader *reader, bb_cell *sweep)
{
    const char *word = bb_table_text(reader->table, ZONE);
    if (strcmp(word, "air") == 0) {
        sweep->zone = BB_ZONE_AIR;
        return BB_OK;
    }
    bb_names names = zone_names(reader);
    long index = bb_name_index_find(&reader->zone_index, &names, word);
    if (index < 0) {
        bb_place place = bb_table_place(reader->table, ZONE);
        if (!reader->zones_open)
            return refuse_unlisted(&place, word, "a zone of beach.ini, or air", "air", &names);
        bb_status status = add_zone(reader, &place, word);
        if (status != BB_OK)
            return status;
        index = (long)reader->zone_count - 1;
    }
    sweep->zone = (int)index;
    return BB_OK;
}

static bb_status refuse_target(bb_sweeps_reader *reader, const char *word)
{
    char found[BB_QUOTE_BYTES], name[BB_QUOTE_BYTES];
    bb_place place = bb_table_place(reader->table, TARGET);
    bb_names names = target_names(reader);
    if (names.count == 0 && *word != '\0' && bb_nearest_name(word, "sand", 1, 0) == NULL)
        return bb_refuse(&place, bb_quote(word, found),
                         "sand, or a target of kit.csv, which has none yet: its first line is "
                         "target, below it belongs a line %s",
                         bb_quote(word, name));
    return refuse_unlisted(&place, word, "a target of kit.csv, or sand", "sand", &names);
}

/* Without a kit a name is taken as it comes, unless it is bare sand misspelt. */
static bb_status add_target(bb_sweeps_reader *reader, const char *word)
{
    bb_target target = bb_target_unknown();
    bb_names names = target_names(reader);
    bb_place place = bb_table_place(reader->table, TARGET);
    if (*word == '\0' || bb_same_word(word, "sand") || bb_nearest_name(word, "sand", 1, 0) != NULL)
        return refuse_target(reader, word);
    bb_status status = bb_name_read(&place, word, "a name for a target", target.name);
    if (status == BB_OK)
        status = expect_new(&place, word, "target", &names, BB_TARGETS_MAX);
    if (status != BB_OK)
        return status;
    target.line = bb_table_line(reader->table);
    reader->targets[reader->target_count] = target;
    names = BB_NAMES(reader->targets, reader->target_count + 1);
    bb_name_index_add(&reader->target_index, &names, reader->target_count++);
    return BB_OK;
}

static bb_status read_target(bb_sweeps_reader *reader, bb_cell *sweep)
{
    const char *word = bb_table_text(reader->table, TARGET);
    sweep->target = BB_TARGET_SAND;
    if (strcmp(word, "sand") == 0) {
        bb_place place = bb_table_place(reader->table, TARGET);
        return sweep->zone != BB_ZONE_AIR
                   ? BB_OK
                   : bb_refuse(&place, "sand in air", "sand in a zone, or a target in air");
    }
    bb_names names = target_names(reader);
    long index = bb_name_index_find(&reader->target_index, &names, word);
    if (index < 0) {
        if (!reader->visit->without_kit)
            return refuse_target(reader, word);
        bb_status status = add_target(reader, word);
        if (status != BB_OK)
            return status;
        index = (long)reader->target_count - 1;
    }
    sweep->target = (int)index;
    return BB_OK;
}

/* ---- where the coil and the target were */

/* A field that must be empty, or 0. */
static bb_status expect_none(const bb_sweeps_reader *reader, size_t column, const char *accepted)
{
    double number;
    char found[BB_QUOTE_BYTES];
    const char *text = bb_table_text(reader->table, column);
    if (*text == '\0' || (bb_number_read(text, &number) && number == 0))
        return BB_OK;
    bb_place place = bb_table_place(reader->table, column);
    return bb_refuse(&place, bb_quote(text, found), "%s", accepted);
}

static bb_status read_depth(bb_sweeps_reader *reader, bb_cell *sweep)
{
    if (sweep->target == BB_TARGET_SAND)
        return expect_none(reader, DEPTH, "nothing: bare sand has no depth");
    bb_place place = bb_table_place(reader->table, DEPTH);
    return bb_quantity_read(&place, bb_table_text(reader->table, DEPTH),
                            sweep->zone == BB_ZONE_AIR ? BB_QUANTITY_GAP : BB_QUANTITY_DEPTH,
                            &sweep->depth_m);
}

static bb_status read_height(bb_sweeps_reader *reader, bb_cell *sweep)
{
    if (sweep->zone == BB_ZONE_AIR)
        return expect_none(reader, HEIGHT,
                           "nothing: in air depth_cm is the gap from coil to target");
    const char *text = bb_table_text(reader->table, HEIGHT);
    bb_place place = bb_table_place(reader->table, HEIGHT);
    sweep->height_m = reader->visit->beach.swing_height_m;
    return *text == '\0' ? BB_OK
                         : bb_quantity_read(&place, text, BB_QUANTITY_HEIGHT, &sweep->height_m);
}

/* ---- how often, when, under which setting, and whether it sounded */

static bb_status read_times(bb_sweeps_reader *reader, bb_cell *sweep)
{
    const char *text = bb_table_text(reader->table, TIMES);
    char found[BB_QUOTE_BYTES];
    long times = 1;
    if (*text != '\0' && (!bb_whole_read(text, &times) || times < 1 || times > TIMES_MAX)) {
        bb_place place = bb_table_place(reader->table, TIMES);
        return bb_refuse(&place, bb_quote(text, found), "a whole number from 1 to %d", TIMES_MAX);
    }
    sweep->count = (double)times;
    return BB_OK;
}

/* Which tenth of an hour it is, from 1, or 0 where nothing is said. */
static bool tenth_of(const char *text, size_t *tenth)
{
    int minutes = 0;
    *tenth = 0;
    if (*text == '\0')
        return true;
    if (!bb_clock_read(text, &minutes))
        return false;
    *tenth = 1 + (size_t)(minutes + MINUTES_IN_TENTH / 2) / MINUTES_IN_TENTH;
    return true;
}

static bb_status read_time(bb_sweeps_reader *reader, bb_cell *sweep)
{
    const char *text = bb_table_text(reader->table, TIME);
    char found[BB_QUOTE_BYTES];
    size_t tenth;
    if (!tenth_of(text, &tenth)) {
        bb_place place = bb_table_place(reader->table, TIME);
        return bb_refuse(&place, bb_quote(text, found), "a time of day from 00:00 to 23:59");
    }
    sweep->hour = tenth == 0 ? NAN : (double)(tenth - 1) / 10;
    return BB_OK;
}

static bb_status add_setting(bb_sweeps_reader *reader, const char *text)
{
    bb_place place = bb_table_place(reader->table, SETTING);
    if (reader->setting_count == SETTINGS_MAX)
        return bb_refuse(&place, "a setting more", "at most %d settings", SETTINGS_MAX - 1);
    bb_setting setting = {0};
    bb_status status = bb_name_read(&place, text, "words for a setting", setting.name);
    if (status == BB_OK && bb_bands_meant(text)) {
        status = bb_bands_read_at(&place, text, &reader->visit->machine, &setting.bands);
        setting.has_bands = true;
    }
    if (status != BB_OK)
        return status;
    size_t index = reader->setting_count++;
    reader->settings[index] = setting;
    bb_names names = setting_names(reader);
    bb_name_index_add(&reader->setting_index, &names, index);
    return BB_OK;
}

static bb_status read_setting(bb_sweeps_reader *reader, bb_cell *sweep)
{
    const char *text = bb_table_text(reader->table, SETTING);
    sweep->setting = 0;
    if (*text == '\0' || strcmp(text, "none") == 0)
        return BB_OK;
    bb_names names = setting_names(reader);
    long index = bb_name_index_find(&reader->setting_index, &names, text);
    if (index < 0) {
        bb_status status = add_setting(reader, text);
        if (status != BB_OK)
            return status;
        index = (long)reader->setting_count - 1;
    }
    sweep->setting = (int)index;
    return BB_OK;
}

static bb_status read_heard(bb_sweeps_reader *reader, bb_cell *sweep)
{
    static const char words[][BB_COLUMN_BYTES] = {[BB_HEARD_NO] = "no", [BB_HEARD_YES] = "yes"};
    const char *text = bb_table_text(reader->table, HEARD);
    sweep->heard = BB_HEARD_BLANK;
    if (*text == '\0')
        return BB_OK;
    size_t word = 0;
    bb_place place = bb_table_place(reader->table, HEARD);
    bb_names names = BB_NAMES(words, 2);
    bb_status status = bb_choice_read(&place, text, &names, &word);
    sweep->heard = (bb_heard)word;
    return status;
}

/* ---- numbers */

/* A laying lasts while the target stays where it is and the coil at its height. */
static void number_laying(bb_sweeps_reader *reader, bb_cell *sweep)
{
    const bb_cell *last = &reader->last;
    bool same = sweep->zone == last->zone && sweep->target == last->target &&
                sweep->depth_m == last->depth_m && sweep->height_m == last->height_m;
    sweep->laying = reader->sweep_count == 0          ? 0
                    : same || last->laying == INT_MAX ? last->laying
                                                      : last->laying + 1;
    reader->last = *sweep;
}

static void count_sweep(bb_sweeps_reader *reader, const bb_cell *sweep)
{
    reader->sweep_count += sweep->count;
    if (sweep->target == BB_TARGET_SAND && sweep->setting == 0)
        bb_bare_add(&reader->bare[sweep->zone], &reader->tails[sweep->zone],
                    &reader->visit->machine, sweep);
}

static bb_status add_sweep(bb_sweeps_reader *reader, const bb_cell *sweep)
{
    count_sweep(reader, sweep);
    if (bb_sweep_cells_add(&reader->cells, sweep, &reader->latest) != BB_OK)
        return bb_out_of_memory(reader->error);
    return BB_OK;
}

static bb_status add_unread(bb_sweeps_reader *reader, const bb_cell *sweep)
{
    bb_place place = bb_table_place(reader->table, READING);
    if (sweep->heard == BB_HEARD_BLANK)
        return bb_refuse(&place, "nothing",
                         "the number shown, or nothing where heard says yes or no");
    return add_sweep(reader, sweep);
}

/* Of a row of many numbers, the one that is none of the scale. */
static bb_status refuse_reading(bb_sweeps_reader *reader, const char *text, const char *wrong,
                                size_t count)
{
    char quoted[BB_QUOTE_BYTES], found[BB_TEXT_BYTES];
    const bb_place place = bb_table_place(reader->table, READING);
    const size_t length = strcspn(wrong, " \t");
    bb_quote_part(wrong, length, quoted);
    if (wrong == text && wrong[length] == '\0')
        return bb_refuse_quoted(&place, quoted, &reader->visit->machine);
    (void)snprintf(found, sizeof found, "%s, number %zu of the field", quoted, count);
    return bb_refuse_quoted(&place, found, &reader->visit->machine);
}

static bool alike(const bb_sweeps_reader *reader, size_t column, int reading, long *number)
{
    const long apart = ALIKE_STEPS * (long)reader->visit->machine.scale_step;
    return bb_whole_read(bb_table_text(reader->table, column), number) &&
           labs(*number - reading) <= apart;
}

static bb_status refuse_commas(bb_sweeps_reader *reader, int reading)
{
    long height, times;
    if (!alike(reader, HEIGHT, reading, &height) || !alike(reader, TIMES, reading, &times) ||
        height <= HIGHEST_MARK_CM)
        return BB_OK;
    char found[BB_TEXT_BYTES];
    const bb_place place = bb_table_place(reader->table, HEIGHT);
    (void)snprintf(found, sizeof found, "a coil %ld cm up swung %ld times", height, times);
    return bb_refuse(&place, found, "several numbers in one field, with spaces: %d %ld %ld", reading,
                     height, times);
}

static bb_status read_readings(bb_sweeps_reader *reader, bb_cell *sweep)
{
    const char *text = bb_table_text(reader->table, READING);
    char found[BB_QUOTE_BYTES];
    if (*text == '\0')
        return add_unread(reader, sweep);
    bb_place place = bb_table_place(reader->table, READING);
    if (sweep->heard == BB_HEARD_NO)
        return bb_refuse(&place, bb_quote(text, found), "nothing where heard says no");
    sweep->has_reading = true;
    size_t count = 0;
    for (const char *at = text; *at != '\0'; at += strspn(at, " \t")) {
        const char *const begin = at;
        long number;
        count++;
        if (!bb_whole_start(at, &at, &number) || (*at != '\0' && *at != ' ' && *at != '\t') ||
            !bb_scale_holds(&reader->visit->machine, number))
            return refuse_reading(reader, text, begin, count);
        sweep->reading = (int)number;
        bb_status status = add_sweep(reader, sweep);
        if (status != BB_OK)
            return status;
    }
    return count == 1 ? refuse_commas(reader, sweep->reading) : BB_OK;
}

/* A row of one sweep, which is the cell at index once more; the one like it may have another hour.
 */
static void take_again(void *context, uint32_t index, uint32_t like, long line)
{
    bb_sweeps_reader *reader = context;
    bb_cell sweep = reader->cells.cells[like];
    sweep.line = line;
    sweep.count = 1;
    number_laying(reader, &sweep);
    count_sweep(reader, &sweep);
    reader->cells.counts[index] += 1;
}

static bb_status take_row(void *context, bb_table *table)
{
    static bb_status (*const steps[])(bb_sweeps_reader *, bb_cell *) = {
        read_zone,  read_target, read_depth,   read_height,
        read_times, read_time,   read_setting, read_heard,
    };
    bb_sweeps_reader *reader = context;
    bb_cell sweep = {.line = bb_table_line(table)};
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        bb_status status = steps[i](reader, &sweep);
        if (status != BB_OK)
            return status;
    }
    number_laying(reader, &sweep);
    const double before = reader->sweep_count;
    bb_status status = read_readings(reader, &sweep);
    if (status == BB_OK && reader->sweep_count == before + 1)
        bb_table_keep(table, (uint32_t)reader->latest);
    return status;
}

/* ---- the reader */

static void start_names(bb_sweeps_reader *reader)
{
    const bb_visit *visit = reader->visit;
    reader->setting_count = 1;
    reader->zones_open = visit->zone_count == 0;
    reader->zone_count = visit->zone_count;
    bb_names zones = zone_names(reader), targets = target_names(reader);
    for (size_t i = 0; i < visit->zone_count; i++) {
        reader->zones[i] = visit->zones[i];
        bb_name_index_add(&reader->zone_index, &zones, i);
        bb_bare_begin(&reader->bare[i]);
    }
    for (size_t i = 0; i < visit->target_count; i++)
        bb_name_index_add(&reader->target_index, &targets, i);
}

bb_status bb_sweeps_begin(bb_visit *visit, const char *path, bb_sweeps_reader **reader,
                          bb_error *error)
{
    if (visit->cell_count > 0 || visit->zone_count > BB_ZONES_MAX ||
        visit->target_count > BB_TARGETS_MAX || visit->machine.scale_step < 1 ||
        (visit->without_kit && visit->target_count > 0))
        return bb_error_say(error, BB_RANGE,
                            "sweeps are read once into a visit whose beach has been read");
    bb_sweeps_reader *made = calloc(1, sizeof *made);
    if (made == NULL)
        return bb_out_of_memory(error);
    made->visit = visit;
    made->error = error;
    made->targets = visit->targets;
    made->target_count = visit->target_count;
    if (visit->without_kit)
        made->targets = calloc(BB_TARGETS_MAX, sizeof *made->targets);
    if (visit->without_kit && made->targets == NULL) {
        free(made);
        return bb_out_of_memory(error);
    }
    made->form = (bb_table_form){.columns = columns,
                                 .column_count = COLUMNS,
                                 .take_row = take_row,
                                 .context = made,
                                 .take_again = take_again,
                                 .apart = TIME,
                                 .kinds = 1 + TENTHS,
                                 .kind_of = tenth_of};
    bb_status status = bb_table_open(&made->form, path, error, &made->table);
    if (status != BB_OK) {
        bb_sweeps_free(made);
        return status;
    }
    start_names(made);
    *reader = made;
    return BB_OK;
}

bb_status bb_sweeps_feed(bb_sweeps_reader *reader, const char *bytes, size_t length)
{
    if (reader->ended)
        return BB_RANGE;
    return bb_table_feed(reader->table, bytes, length);
}

static bb_status hand_over(bb_sweeps_reader *reader)
{
    bb_visit *visit = reader->visit;
    size_t zones = reader->zone_count;
    bb_zone *zone_list = bb_copy(reader->zones, zones, sizeof *zone_list);
    bb_bare *bare = bb_copy(reader->bare, zones, sizeof *bare);
    bb_setting *settings = bb_copy(reader->settings, reader->setting_count, sizeof *settings);
    if (settings == NULL || zone_list == NULL || bare == NULL) {
        free(zone_list);
        free(bare);
        free(settings);
        return bb_out_of_memory(reader->error);
    }
    free(visit->zones);
    free(visit->bare);
    free(visit->settings);
    visit->zones = zone_list;
    visit->zone_count = zones;
    visit->bare = bare;
    visit->settings = settings;
    visit->setting_count = reader->setting_count;
    visit->targets = reader->targets;
    visit->target_count = reader->target_count;
    visit->cell_count = reader->cells.count;
    visit->cells = bb_sweep_cells_take(&reader->cells);
    visit->sweep_count = reader->sweep_count;
    return BB_OK;
}

bb_status bb_sweeps_end(bb_sweeps_reader *reader)
{
    if (reader->ended)
        return BB_RANGE;
    bb_status status = bb_table_close(reader->table);
    if (status != BB_OK)
        return status;
    for (size_t i = 0; i < reader->zone_count; i++)
        bb_bare_end(&reader->bare[i], &reader->tails[i]);
    status = hand_over(reader);
    reader->ended = status == BB_OK;
    return status;
}

void bb_sweeps_free(bb_sweeps_reader *reader)
{
    if (reader == NULL)
        return;
    bb_table_free(reader->table);
    bb_sweep_cells_free(&reader->cells);
    if (reader->targets != reader->visit->targets)
        free(reader->targets);
    free(reader);
}

bb_status bb_sweeps_read(const char *text, size_t length, const char *path, bb_visit *visit,
                         bb_error *error)
{
    bb_sweeps_reader *reader = NULL;
    bb_status status = bb_sweeps_begin(visit, path, &reader, error);
    if (reader == NULL)
        return status;
    status = bb_sweeps_feed(reader, text, length);
    if (status == BB_OK)
        status = bb_sweeps_end(reader);
    bb_sweeps_free(reader);
    return status;
}
