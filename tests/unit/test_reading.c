/* What the readers of a visit accept, what they make of it, and what they say of the rest.
 *
 * Folders under tests/data/valid and tests/data/invalid are cases; adding one needs no code. Each
 * holds any of beach.ini, kit.csv and sweeps.csv; a file that is not there is taken from
 * tests/data/base, unless NAME.absent stands in its place. `expected` is what was read, in a line
 * a thing, or the error in one line. */
#include "brineband.h"

#include "compare.h"
#include "quantity.h"

#include <check.h>
#include <dirent.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PATH_BYTES = 512, DUMP_BYTES = 1 << 16 };

/* ---- files */

typedef struct {
    char *bytes;
    size_t length;
} content;

/* bytes NULL when there is no such file. */
static content load(const char *path)
{
    content read = {NULL, 0};
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return read;
    ck_assert_int_eq(fseek(file, 0, SEEK_END), 0);
    long size = ftell(file);
    ck_assert_int_ge(size, 0);
    rewind(file);
    read.bytes = calloc((size_t)size + 1, 1);
    ck_assert_ptr_nonnull(read.bytes);
    read.length = fread(read.bytes, 1, (size_t)size, file);
    ck_assert_uint_eq(read.length, (size_t)size);
    (void)fclose(file);
    return read;
}

static content load_part(const char *folder, const char *name)
{
    char path[PATH_BYTES];
    content read;
    (void)snprintf(path, sizeof path, "%s/%s.absent", folder, name);
    read = load(path);
    free(read.bytes);
    if (read.bytes != NULL)
        return (content){NULL, 0};
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    read = load(path);
    if (read.bytes != NULL)
        return read;
    (void)snprintf(path, sizeof path, "tests/data/base/%s", name);
    return load(path);
}

/* ---- reading a whole visit */

static bb_status read_sweeps(content sweeps, size_t piece, bb_visit *visit, bb_error *error)
{
    bb_sweeps_reader *reader = NULL;
    bb_status status = bb_sweeps_begin(visit, "sweeps.csv", &reader, error);
    for (size_t at = 0; status == BB_OK && at < sweeps.length; at += piece) {
        size_t rest = sweeps.length - at;
        status = bb_sweeps_feed(reader, sweeps.bytes + at, rest < piece ? rest : piece);
    }
    if (status == BB_OK)
        status = bb_sweeps_end(reader);
    else
        ck_assert_int_eq(bb_sweeps_end(reader), status);
    bb_sweeps_free(reader);
    return status;
}

static bb_status read_visit(const char *folder, size_t piece, bb_visit *visit, bb_error *error)
{
    content beach = load_part(folder, "beach.ini"), kit = load_part(folder, "kit.csv"),
            sweeps = load_part(folder, "sweeps.csv");
    bb_status status = bb_beach_read(beach.bytes, beach.length, "beach.ini", visit, error);
    visit->without_kit = kit.bytes == NULL;
    if (status == BB_OK && kit.bytes != NULL)
        status = bb_kit_read(kit.bytes, kit.length, "kit.csv", visit, error);
    if (status == BB_OK && sweeps.bytes != NULL)
        status = read_sweeps(sweeps, piece, visit, error);
    free(beach.bytes);
    free(kit.bytes);
    free(sweeps.bytes);
    return status;
}

/* ---- what was read, in words */

typedef struct {
    char text[DUMP_BYTES];
    size_t length;
} dump;

static void say(dump *into, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int length =
        vsnprintf(into->text + into->length, sizeof into->text - into->length, format, arguments);
    va_end(arguments);
    ck_assert_int_ge(length, 0);
    into->length += (size_t)length;
    ck_assert_uint_lt(into->length, sizeof into->text);
}

static void say_bands(dump *into, const bb_bands *bands)
{
    for (int i = 0; i < bands->count; i++)
        say(into, "%s%d-%d", i == 0 ? " " : ",", bands->band[i].low, bands->band[i].high);
    say(into, "%s", bands->count == 0 ? " none" : "");
}

static const char *assumed(bool flag)
{
    return flag ? " (assumed)" : "";
}

static void say_machine(dump *into, const bb_machine *machine)
{
    static const char *const kinds[] = {"one", "pair", "unknown"};
    say(into, "machine [%s] [%s]\n", machine->name, machine->settings);
    say(into, "scale %d to %d by %d\n", machine->scale_low, machine->scale_high,
        machine->scale_step);
    say(into, "frequency %s %.10g Hz, lower %.10g Hz%s\n", kinds[machine->frequency_kind],
        machine->frequency_hz, machine->lower_frequency_hz, assumed(machine->frequency_assumed));
    say(into, "coil radius %.10g m%s\n", machine->coil_radius_m, assumed(machine->coil_assumed));
    say(into, "bands %d%s, now", machine->reject_bands, assumed(machine->reject_bands_assumed));
    say_bands(into, &machine->reject_now);
    if (machine->has_reject_below)
        say(into, ", below %d", machine->reject_below);
    say(into, "\n");
}

static void say_beach(dump *into, const bb_visit *visit)
{
    const bb_beach *beach = &visit->beach;
    say(into, "beach [%s] [%s] low water %d turn back %d\n", beach->name, beach->date,
        beach->low_water_min, beach->turn_back_min);
    say(into, "swing %.10g m%s\n", beach->swing_height_m, assumed(beach->swing_height_assumed));
    say(into, "water S %.10g, %.10g degC%s\n", beach->water_salinity, beach->water_temperature_c,
        assumed(beach->water_assumed));
    say(into, "porosity %.10g%s\n", beach->sand_porosity, assumed(beach->porosity_assumed));
    say(into, "susceptibility %.10g%s\n", beach->susceptibility,
        beach->black_sand_possible ? ", black sand possible" : "");
    for (size_t i = 0; i < visit->zone_count; i++)
        say(into, "zone [%s] saturation %.10g%s dry layer %.10g m susceptibility %.10g\n",
            visit->zones[i].name, visit->zones[i].saturation,
            assumed(visit->zones[i].wetness_assumed), visit->zones[i].dry_layer_m,
            visit->zones[i].susceptibility);
}

static void say_targets(dump *into, const bb_visit *visit)
{
    static const char *const shapes[] = {"disc", "ring", "sphere", "other"};
    for (size_t i = 0; i < visit->target_count; i++) {
        const bb_target *target = &visit->targets[i];
        say(into, "target [%s] line %ld %s [%s] %.10g S/m", target->name, target->line,
            shapes[target->shape], target->material, target->conductivity_S_per_m);
        say(into, " %.10g x %.10g bore %.10g m %.10g kg", target->diameter_m, target->thickness_m,
            target->bore_m, target->mass_kg);
        say(into, " core [%s] %.10g S/m plating %.10g m %.10g years %s [%s]\n", target->core,
            target->core_conductivity_S_per_m, target->plating_m, target->years,
            target->keep ? "keep" : "drop", target->group);
    }
}

static void say_sweeps(dump *into, const bb_visit *visit)
{
    static const char *const heard[] = {"", " no", " yes"};
    say(into, "sweeps %.10g\n", visit->sweep_count);
    for (size_t i = 1; i < visit->setting_count; i++) {
        say(into, "setting [%s]", visit->settings[i].name);
        if (visit->settings[i].has_bands)
            say_bands(into, &visit->settings[i].bands);
        say(into, "\n");
    }
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        say(into, "cell zone %d target %d depth %.10g height %.10g hour %.10g setting %d",
            cell->zone, cell->target, cell->depth_m, cell->height_m, cell->hour, cell->setting);
        say(into, " heard%s", heard[cell->heard + 1]);
        if (cell->has_reading)
            say(into, " reading %d", cell->reading);
        say(into, " count %.10g line %ld laying %d\n", cell->count, cell->line, cell->laying);
    }
}

static void say_bare(dump *into, const bb_visit *visit)
{
    const bb_machine *machine = &visit->machine;
    for (size_t i = 0; visit->bare != NULL && i < visit->zone_count; i++) {
        const bb_bare *bare = &visit->bare[i];
        say(into, "bare [%s] swept %.10g heard %.10g%s numbers %.10g:", visit->zones[i].name,
            bare->swept, bare->heard, bare->quiet_recorded ? " quiet recorded" : "",
            bare->number_swept);
        for (int n = 0; n < BB_NUMBERS_MAX; n++)
            if (bare->counts[n] > 0)
                say(into, " %dx%.10g", machine->scale_low + n * machine->scale_step,
                    bare->counts[n]);
        if (bare->last_low <= bare->last_high)
            say(into, " last %d-%d", bare->last_low, bare->last_high);
        if (bare->before_low <= bare->before_high)
            say(into, " before %d-%d", bare->before_low, bare->before_high);
        say(into, "\n");
    }
}

static void say_visit(dump *into, const bb_visit *visit)
{
    say_machine(into, &visit->machine);
    say_beach(into, visit);
    say_targets(into, visit);
    say_sweeps(into, visit);
    say_bare(into, visit);
}

/* ---- cases as data */

static const size_t pieces[] = {SIZE_MAX / 2, 1, 7};
enum { PIECES = sizeof pieces / sizeof *pieces };

typedef void (*case_check)(const char *folder, const char *expected);

static void run_case(const char *folder, case_check check)
{
    content expected = load_part(folder, "expected");
    if (expected.bytes == NULL)
        ck_abort_msg("%s has no file expected", folder);
    check(folder, expected.bytes);
    free(expected.bytes);
}

static size_t run_cases(const char *root, case_check check)
{
    struct dirent **entries;
    int count = scandir(root, &entries, NULL, alphasort);
    size_t run = 0;
    ck_assert_int_ge(count, 0);
    for (int i = 0; i < count; i++) {
        char folder[PATH_BYTES];
        (void)snprintf(folder, sizeof folder, "%s/%s", root, entries[i]->d_name);
        if (entries[i]->d_name[0] != '.') {
            run_case(folder, check);
            run++;
        }
        free(entries[i]);
    }
    free(entries);
    return run;
}

static void check_valid(const char *folder, const char *expected)
{
    static dump read;
    for (size_t i = 0; i < PIECES; i++) {
        bb_visit visit = {0};
        bb_error error = {0};
        char message[2 * PATH_BYTES];
        if (read_visit(folder, pieces[i], &visit, &error) != BB_OK) {
            bb_error_text(&error, message, sizeof message);
            ck_abort_msg("%s: %s", folder, message);
        }
        read.length = 0;
        say_visit(&read, &visit);
        if (strcmp(read.text, expected) != 0)
            ck_abort_msg("%s: read\n%swanted\n%s", folder, read.text, expected);
        bb_visit_free(&visit);
    }
}

static void check_invalid(const char *folder, const char *expected)
{
    for (size_t i = 0; i < PIECES; i++) {
        bb_visit visit = {0};
        bb_error error = {0};
        char message[2 * PATH_BYTES];
        if (read_visit(folder, pieces[i], &visit, &error) == BB_OK)
            ck_abort_msg("%s was accepted", folder);
        bb_error_text(&error, message, sizeof message);
        if (strncmp(message, expected, strlen(message)) != 0 ||
            strcmp(expected + strlen(message), "\n") != 0)
            ck_abort_msg("%s: said\n%s\nwanted\n%s", folder, message, expected);
        ck_assert_int_eq(error.status, BB_INPUT);
        ck_assert_ptr_null(visit.cells);
        ck_assert_ptr_null(visit.bare);
        ck_assert_ptr_null(visit.settings);
        bb_visit_free(&visit);
    }
}

START_TEST(valid_visits_are_read_in_pieces_of_any_size)
{
    ck_assert_uint_ge(run_cases("tests/data/valid", check_valid), 10);
}
END_TEST

START_TEST(invalid_visits_are_refused_with_the_place_and_what_is_accepted)
{
    ck_assert_uint_ge(run_cases("tests/data/invalid", check_invalid), 60);
}
END_TEST

/* ---- contracts */

static const char least_beach[] = "[machine]\nscale_low = 0\nscale_high = 80\n";
static const char least_kit[] = "target\nring\n";

static void begin_visit(bb_visit *visit)
{
    *visit = (bb_visit){0};
    ck_assert_int_eq(bb_beach_read(least_beach, strlen(least_beach), "beach.ini", visit, NULL),
                     BB_OK);
    ck_assert_int_eq(bb_kit_read(least_kit, strlen(least_kit), "kit.csv", visit, NULL), BB_OK);
}

static bb_status feed(bb_sweeps_reader *reader, const char *text)
{
    return bb_sweeps_feed(reader, text, strlen(text));
}

START_TEST(a_failed_reading_leaves_the_visit_as_it_was)
{
    bb_visit visit = {0};
    bb_error error = {0};
    ck_assert_int_eq(bb_beach_read("[zone wet]\n", 11, "beach.ini", &visit, &error), BB_INPUT);
    ck_assert_ptr_null(visit.zones);
    ck_assert_int_eq(visit.machine.scale_step, 0);
    begin_visit(&visit);
    const bb_target *targets = visit.targets;
    ck_assert_int_eq(bb_kit_read("target\n\"", 8, "kit.csv", &visit, NULL), BB_RANGE);
    ck_assert_ptr_eq(visit.targets, targets);
    bb_sweeps_reader *reader = NULL;
    ck_assert_int_eq(bb_sweeps_begin(&visit, "sweeps.csv", &reader, NULL), BB_OK);
    ck_assert_int_eq(feed(reader, "zone,target,depth_cm,reading\nwet,sand,,1\nwet,sand,,x\n"),
                     BB_INPUT);
    bb_sweeps_free(reader);
    ck_assert_uint_eq(visit.zone_count, 0);
    ck_assert_ptr_null(visit.zones);
    ck_assert_ptr_null(visit.cells);
    bb_visit_free(&visit);
}
END_TEST

START_TEST(an_error_is_returned_again_and_the_first_one_stays)
{
    bb_visit visit;
    bb_error error = {0};
    char message[PATH_BYTES];
    begin_visit(&visit);
    bb_sweeps_reader *reader = NULL;
    ck_assert_int_eq(bb_sweeps_begin(&visit, "sweeps.csv", &reader, &error), BB_OK);
    ck_assert_int_eq(feed(reader, "zone,target,depth_cm,reading\nwet,sand,,x\n"), BB_INPUT);
    ck_assert_int_eq(feed(reader, "wet,sand,,12\n"), BB_INPUT);
    ck_assert_int_eq(feed(reader, "wet,sand,,y\n"), BB_INPUT);
    ck_assert_int_eq(bb_sweeps_end(reader), BB_INPUT);
    ck_assert_int_eq(bb_sweeps_end(reader), BB_INPUT);
    bb_sweeps_free(reader);
    bb_error_text(&error, message, sizeof message);
    ck_assert_str_eq(message,
                     "sweeps.csv:2:4: found \"x\", accepted whole numbers of the scale, 0 to 80");
    bb_visit_free(&visit);
}
END_TEST

START_TEST(a_visit_takes_its_sweeps_once)
{
    bb_visit visit;
    bb_sweeps_reader *reader = NULL;
    begin_visit(&visit);
    ck_assert_int_eq(bb_sweeps_begin(&visit, "sweeps.csv", &reader, NULL), BB_OK);
    ck_assert_int_eq(feed(reader, "zone,target,depth_cm,reading\nwet,sand,,12\n"), BB_OK);
    ck_assert_int_eq(bb_sweeps_end(reader), BB_OK);
    ck_assert_int_eq(feed(reader, "wet,sand,,12\n"), BB_RANGE);
    ck_assert_int_eq(bb_sweeps_end(reader), BB_RANGE);
    bb_sweeps_free(reader);
    ck_assert_int_eq(bb_sweeps_begin(&visit, "sweeps.csv", &reader, NULL), BB_RANGE);
    bb_visit_free(&visit);
    ck_assert_int_eq(bb_sweeps_begin(&visit, "sweeps.csv", &reader, NULL), BB_RANGE);
}
END_TEST

START_TEST(nothing_may_be_freed)
{
    bb_visit visit = {0};
    bb_sweeps_free(NULL);
    bb_visit_free(NULL);
    bb_visit_free(&visit);
    bb_visit_free(&visit);
    ck_assert_uint_eq(visit.cell_count, 0);
}
END_TEST

START_TEST(a_text_needs_no_final_nul)
{
    char text[sizeof least_beach];
    memcpy(text, least_beach, sizeof text - 1);
    text[sizeof text - 1] = '9'; /* would make the scale end elsewhere */
    text[sizeof text - 2] = '1'; /* in place of the last line end */
    bb_visit visit = {0};
    ck_assert_int_eq(bb_beach_read(text, sizeof text - 1, "beach.ini", &visit, NULL), BB_OK);
    ck_assert_int_eq(visit.machine.scale_high, 801);
    bb_visit_free(&visit);
}
END_TEST

static void check_bands(const char *text, const bb_machine *machine, const char *wanted)
{
    static dump got;
    bb_bands bands = {.count = -1};
    bb_error error = {0};
    got.length = 0;
    if (bb_bands_read(text, machine, &bands, &error) == BB_OK) {
        say_bands(&got, &bands);
    } else {
        char message[PATH_BYTES];
        bb_error_text(&error, message, sizeof message);
        say(&got, "%s", message);
        ck_assert_int_eq(bands.count, -1);
    }
    ck_assert_str_eq(got.text, wanted);
}

START_TEST(bands_on_the_command_line_are_read_against_the_scale)
{
    static const bb_machine machine = {.scale_low = -10, .scale_high = 40, .scale_step = 1};
    static const bb_machine coarse = {.scale_low = 0, .scale_high = 40, .scale_step = 4};
    check_bands("none", &machine, " none");
    check_bands("12-15,33-34", &machine, " 12-15,33-34");
    check_bands(" 12-15 , 33-34 ", &machine, " 12-15,33-34");
    check_bands("-10--3,-1-1,40-40", &machine, " -10--3,-1-1,40-40");
    check_bands("0-4,12-12", &coarse, " 0-4,12-12");
    check_bands("0-1,3-4,6-7,9-10,12-13,15-16,18-19,21-22", &machine,
                " 0-1,3-4,6-7,9-10,12-13,15-16,18-19,21-22");
    check_bands("0-1,3-4,6-7,9-10,12-13,15-16,18-19,21-22,24-25", &machine,
                "found one band more, accepted at most 8 bands");
    check_bands("", &machine, "found nothing, accepted none, or bands such as 12-15,33-34, 40 or -9 to -4");
    check_bands("12, 14", &machine, " 12-12,14-14");
    check_bands("-3\xE2\x80\x93" "-1,40", &machine, " -3--1,40-40"); /* an en dash, as in print */
    check_bands("12-", &machine, "found \"12-\", accepted none, or bands such as 12-15,33-34, 40 or -9 to -4");
    check_bands("12-15,", &machine,
                "found \"12-15,\", accepted none, or bands such as 12-15,33-34, 40 or -9 to -4");
    check_bands("12-15;20-21", &machine,
                "found \"12-15;20-21\", accepted none, or bands such as 12-15,33-34, 40 or -9 to -4");
    check_bands("12-41", &machine,
                "found \"12-41\", accepted whole numbers of the scale, -10 to 40");
    check_bands("2-8", &coarse,
                "found \"2-8\", accepted whole numbers of the scale, 0 to 40 in steps of 4");
    check_bands("15-12", &machine,
                "found \"15-12\", accepted bands from a lower to a higher number");
    check_bands("0-4,8-12", &coarse,
                "found \"0-4,8-12\", accepted bands in rising order, a number or more between "
                "them");
    check_bands("20-21,12-13", &machine,
                "found \"20-21,12-13\", accepted bands in rising order, a number or more between "
                "them");
    ck_assert_int_eq(bb_bands_read("x", &machine, &(bb_bands){0}, NULL), BB_INPUT);
}
END_TEST

START_TEST(quantities_turn_into_si_to_the_last_bit)
{
    static const struct {
        const char *text;
        bb_quantity quantity;
        double value;
    } cases[] = {
        {"7", BB_QUANTITY_DEPTH, 0.07},
        {"2.5", BB_QUANTITY_DEPTH, 0.025},
        {"0", BB_QUANTITY_DEPTH, 0},
        {"-0", BB_QUANTITY_DEPTH, 0},
        {"200", BB_QUANTITY_DEPTH, 2},
        {"24.25", BB_QUANTITY_DIAMETER, 0.02425},
        {"8.5", BB_QUANTITY_MASS, 0.0085},
        {"25", BB_QUANTITY_PLATING, 25e-6},
        {"62.9", BB_QUANTITY_CONDUCTIVITY, 62.9e6},
        {"19", BB_QUANTITY_FREQUENCY, 19e3},
    };
    bb_place place = {NULL, "", 0, 0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = NAN;
        ck_assert_int_eq(bb_quantity_read(&place, cases[i].text, cases[i].quantity, &value), BB_OK);
        check_close("quantity in SI", "literal of the C language", cases[i].value, value,
                    absolute(0));
        ck_assert_msg(!signbit(value), "%s", cases[i].text);
    }
}
END_TEST

/* Rows in another order make the same cells; only the numbering of layings and the lines differ. */
START_TEST(the_order_of_rows_does_not_change_the_cells)
{
    enum { ROWS = 400 };
    static const int steps[] = {1, 7, 151};
    bb_visit visits[3];
    for (int turn = 0; turn < 3; turn++) {
        bb_sweeps_reader *reader = NULL;
        begin_visit(&visits[turn]);
        ck_assert_int_eq(bb_sweeps_begin(&visits[turn], "sweeps.csv", &reader, NULL), BB_OK);
        ck_assert_int_eq(feed(reader, "zone,target,depth_cm,reading,times\nwet,sand,,1,1\n"),
                         BB_OK);
        for (int i = 0; i < ROWS; i++) {
            char row[64];
            int k = i * steps[turn] % ROWS; /* each row once: no step shares a factor with ROWS */
            (void)snprintf(row, sizeof row, "wet,ring,%d,%d,%d\n", k % 5, k % 37, 1 + k % 3);
            ck_assert_int_eq(feed(reader, row), BB_OK);
        }
        ck_assert_int_eq(bb_sweeps_end(reader), BB_OK);
        bb_sweeps_free(reader);
    }
    for (int turn = 1; turn < 3; turn++) {
        ck_assert_uint_eq(visits[turn].cell_count, visits[0].cell_count);
        for (size_t i = 0; i < visits[0].cell_count; i++) {
            bb_cell one = visits[0].cells[i], other = visits[turn].cells[i];
            ck_assert_int_eq(one.target, other.target);
            ck_assert_int_eq(one.reading, other.reading);
            ck_assert(one.depth_m == other.depth_m && one.count == other.count);
        }
    }
    for (int turn = 0; turn < 3; turn++)
        bb_visit_free(&visits[turn]);
}
END_TEST

static const char *const said_again[] = {
    "wet,sand,,22,,,", "wet,ring,5,30,,,",   "wet,ring,5,30,,1,", "wet,ring,5,30,,3,",
    "wet,sand,,,,,no", "wet,sand,,21 22,,,", "damp,sand,,40,,,",  "wet,ring,5,30,12,,",
    "wet,sand,,23,,,", "wet,ring,10,31,,,",  "air,ring,5,33,,,",  "wet, ring ,5,30,,,",
    "wet,sand,,24,,,", "wet,ring,5,,,,yes",  "damp,sand,,,,2,no", "damp,ring,3,36,,,",
};

static const char *const said_times[] = {"",      "8:10",  "08:10", "8:12",
                                         "14:59", "00:00", " 8:10", "23:59"};

typedef struct {
    bool quoted, time_first;
} manner;

static void read_said_again(bb_visit *visit, manner how)
{
    enum { ROWS = 6000 };
    bb_sweeps_reader *reader = NULL;
    unsigned state = 1;
    begin_visit(visit);
    ck_assert_int_eq(bb_sweeps_begin(visit, "sweeps.csv", &reader, NULL), BB_OK);
    ck_assert_int_eq(
        feed(reader, how.time_first ? "time,zone,target,depth_cm,reading,height_cm,times,heard\n"
                                    : "zone,target,depth_cm,reading,height_cm,times,heard,time\n"),
        BB_OK);
    for (int i = 0; i < ROWS; i++) {
        char row[64];
        state = state * 1664525U + 1013904223U;
        const char *said = said_again[state >> 28], *time = said_times[state >> 25 & 7];
        const char *const quote = how.quoted ? "\"" : "";
        const int zone = (int)strcspn(said, ",");
        (void)snprintf(row, sizeof row, "%s%s%s%.*s%s%s%s%s\n", how.time_first ? time : "",
                       how.time_first ? "," : "", quote, zone, said, quote, said + zone,
                       how.time_first ? "" : ",", how.time_first ? "" : time);
        ck_assert_int_eq(feed(reader, row), BB_OK);
    }
    ck_assert_int_eq(bb_sweeps_end(reader), BB_OK);
    bb_sweeps_free(reader);
}

/* Quotes keep a line from being known again, so that each is read field by field. */
START_TEST(a_line_that_comes_again_says_what_it_said)
{
    static const manner manners[] = {{true, false}, {false, false}, {false, true}};
    static dump dumps[3];
    bb_visit visits[3];
    for (int i = 0; i < 3; i++) {
        read_said_again(&visits[i], manners[i]);
        dumps[i].length = 0;
        say_visit(&dumps[i], &visits[i]);
        ck_assert_str_eq(dumps[0].text, dumps[i].text);
        ck_assert_uint_eq(visits[0].cell_count, visits[i].cell_count);
        for (size_t k = 0; k < visits[0].cell_count; k++) {
            ck_assert_int_eq(visits[0].cells[k].laying, visits[i].cells[k].laying);
            ck_assert_int_eq(visits[0].cells[k].line, visits[i].cells[k].line);
        }
        ck_assert(visits[0].sweep_count == visits[i].sweep_count);
    }
    for (int i = 0; i < 3; i++)
        bb_visit_free(&visits[i]);
}
END_TEST

START_TEST(long_lines_that_come_again_are_read_each_time)
{
    enum { ROWS = 200 };
    bb_visit visit;
    bb_sweeps_reader *reader = NULL;
    begin_visit(&visit);
    ck_assert_int_eq(bb_sweeps_begin(&visit, "sweeps.csv", &reader, NULL), BB_OK);
    ck_assert_int_eq(feed(reader, "zone,target,depth_cm,reading,time,note\n"), BB_OK);
    for (int i = 0; i < ROWS; i++)
        ck_assert_int_eq(feed(reader, "wet,sand,,1,8:10,a note of more letters than a line that is "
                                      "to be known again may have\n"),
                         BB_OK);
    ck_assert_int_eq(bb_sweeps_end(reader), BB_OK);
    ck_assert_uint_eq(visit.cell_count, 1);
    ck_assert_double_eq(visit.cells[0].count, ROWS);
    bb_sweeps_free(reader);
    bb_visit_free(&visit);
}
END_TEST

/* Only its time is new, and wrong. */
START_TEST(a_line_known_but_for_its_time_is_refused_where_that_is_wrong)
{
    static const char *const wrong[] = {"24:00", "8:1", "8.10", "noon", "a time that is long"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        bb_visit visit;
        bb_error error = {0};
        char row[64];
        bb_sweeps_reader *reader = NULL;
        begin_visit(&visit);
        ck_assert_int_eq(bb_sweeps_begin(&visit, "sweeps.csv", &reader, &error), BB_OK);
        ck_assert_int_eq(feed(reader, "zone,target,time,depth_cm,reading\n"), BB_OK);
        for (int k = 0; k < 100; k++)
            ck_assert_int_eq(feed(reader, "wet,sand,8:10,,1\n"), BB_OK);
        (void)snprintf(row, sizeof row, "wet,sand,%s,,1\n", wrong[i]);
        ck_assert_int_eq(feed(reader, row), BB_INPUT);
        ck_assert_int_eq(error.line, 102);
        ck_assert_int_eq(error.column, 3);
        bb_sweeps_free(reader);
        bb_visit_free(&visit);
    }
}
END_TEST

START_TEST(a_line_known_again_keeps_the_place_of_what_follows)
{
    bb_visit visit;
    bb_error error = {0};
    bb_sweeps_reader *reader = NULL;
    begin_visit(&visit);
    ck_assert_int_eq(bb_sweeps_begin(&visit, "sweeps.csv", &reader, &error), BB_OK);
    ck_assert_int_eq(feed(reader, "zone,target,depth_cm,reading\nwet,sand,,1\nwet,sand,,1\r\n"
                                  "wet,sand,,1\nwet,sand,,81\n"),
                     BB_INPUT);
    ck_assert_int_eq(error.line, 5);
    ck_assert_int_eq(error.column, 4);
    bb_sweeps_free(reader);
    bb_visit_free(&visit);
}
END_TEST

Suite *suite_reading(void)
{
    Suite *suite = suite_create("reading");
    TCase *cases = tcase_create("cases");
    tcase_add_test(cases, valid_visits_are_read_in_pieces_of_any_size);
    tcase_add_test(cases, invalid_visits_are_refused_with_the_place_and_what_is_accepted);
    suite_add_tcase(suite, cases);
    TCase *contracts = tcase_create("contracts");
    tcase_add_test(contracts, a_failed_reading_leaves_the_visit_as_it_was);
    tcase_add_test(contracts, an_error_is_returned_again_and_the_first_one_stays);
    tcase_add_test(contracts, a_visit_takes_its_sweeps_once);
    tcase_add_test(contracts, nothing_may_be_freed);
    tcase_add_test(contracts, a_text_needs_no_final_nul);
    tcase_add_test(contracts, bands_on_the_command_line_are_read_against_the_scale);
    tcase_add_test(contracts, quantities_turn_into_si_to_the_last_bit);
    tcase_add_test(contracts, the_order_of_rows_does_not_change_the_cells);
    tcase_add_test(contracts, a_line_that_comes_again_says_what_it_said);
    tcase_add_test(contracts, long_lines_that_come_again_are_read_each_time);
    tcase_add_test(contracts, a_line_known_but_for_its_time_is_refused_where_that_is_wrong);
    tcase_add_test(contracts, a_line_known_again_keeps_the_place_of_what_follows);
    suite_add_tcase(suite, contracts);
    return suite;
}
