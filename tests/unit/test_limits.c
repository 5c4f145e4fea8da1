/* The limits of a profile: the table of brineband-profile(5) says what the code accepts. */
#include "json.h"
#include "profile_fields.h"

#include <check.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define PAGE "cli/man/brineband-profile.5"
enum { TABLE_BYTES = 1 << 14 };

/* One row as the page has it: a minus sign is written \-. */
static void add_row(char *table, double low, double high, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
static void add_row(char *table, double low, double high, const char *format, ...)
{
    char name[64], row[128];
    va_list words;
    va_start(words, format);
    (void)vsnprintf(name, sizeof name, format, words);
    va_end(words);
    (void)snprintf(row, sizeof row, "%-43s %9.10g %10.10g\n", name, low, high);
    size_t length = strlen(table);
    for (const char *at = row; *at != '\0'; at++) {
        ck_assert_uint_lt(length + 3, TABLE_BYTES);
        if (*at == '-')
            table[length++] = '\\';
        table[length++] = *at;
    }
    table[length] = '\0';
}

/* Figures without a bound of their own and flags have no row. */
static void add_fields(char *table, const char *part, const bb_fields *fields)
{
    for (size_t i = 0; i < fields->count; i++) {
        const bb_field *field = &fields->field[i];
        double low = field->low, high = field->high;
        if (field->kind == BB_FIELD_QUANTITY)
            bb_quantity_range(field->quantity, &low, &high);
        else if (field->kind == BB_FIELD_FLAG || field->kind == BB_FIELD_CHOICE ||
                 field->kind == BB_FIELD_OTHER || high >= 1e300)
            continue;
        add_row(table, low, high, "%s.%s%s", part, field->key,
                field->kind == BB_FIELD_WORDS ? ", bytes" : "");
    }
}

static void write_table(char *table)
{
    static const struct {
        const char *part;
        const bb_fields *fields;
    } parts[] = {
        {"machine", &bb_machine_fields},      {"beach", &bb_beach_fields},
        {"zones", &bb_zone_fields},           {"scale_knots", &bb_knot_fields},
        {"targets", &bb_target_fields},       {"parameters", &bb_parameter_fields},
        {"noise.*", &bb_logarithm_fields},    {"sand", &bb_bare_fields},
        {"data", &bb_data_fields},            {"finds", &bb_finds_fields},
        {"diagnostics", &bb_evidence_fields},
    };
    add_row(table, 1, BB_JSON_BYTES_MAX, "file, bytes");
    add_row(table, 1, BB_JSON_DEPTH_MAX, "file, depth of objects and lists");
    add_row(table, 1, BB_JSON_CONTAINERS_MAX, "file, objects and lists");
    add_row(table, 2, BB_NUMBERS_MAX, "machine, numbers of the scale");
    add_row(table, 0, BB_BANDS_MAX, "machine.reject_now, bands");
    add_row(table, 0, BB_ZONES_MAX, "zones, entries");
    add_row(table, 0, BB_TARGETS_MAX, "targets, entries");
    add_row(table, 0, BB_PROFILE_PARAMETERS_MAX, "parameters, entries");
    add_row(table, 0, BB_CLASSES_MAX, "finds, entries");
    add_row(table, -BB_ESTIMATE_MAX, BB_ESTIMATE_MAX, "parameters.estimate but the scale's ends");
    add_row(table, 0, BB_SWEEPS_MAX, "data.target_sweeps, each");
    add_row(table, 0, BB_SWEEPS_MAX, "data.air_before");
    add_row(table, 0, BB_SWEEPS_MAX, "data.left_out");
    add_row(table, 0, BB_SWEEPS_MAX, "data.hard_to_believe");
    add_row(table, 1, BB_TARGET_NUMBERS_MAX, "data.read_though_lost, entries");
    add_row(table, 1, BB_POOLED_MAX, "data.pooled_visits");
    add_row(table, 0, BB_DUG_MAX, "finds.dug, each");
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        add_fields(table, parts[i].part, parts[i].fields);
}

START_TEST(the_manual_states_the_limits_that_hold)
{
    static char table[TABLE_BYTES], page[1 << 16];
    FILE *file = fopen(PAGE, "rb");
    ck_assert_msg(file != NULL, "%s cannot be opened (run from the top of the tree)", PAGE);
    page[fread(page, 1, sizeof page - 1, file)] = '\0';
    (void)fclose(file);
    write_table(table);
    const char *start = strstr(page, ".SH LIMITS\n");
    ck_assert_ptr_nonnull(start);
    start = strstr(start, ".nf\n");
    ck_assert_ptr_nonnull(start);
    start += strlen(".nf\n");
    (void)strcat(table, ".fi\n");
    for (const char *row = table; *row != '\0'; row += strcspn(row, "\n") + 1) {
        const size_t length = strcspn(row, "\n") + 1;
        ck_assert_msg(strncmp(start, row, length) == 0, "%s, LIMITS: wanted %.*s", PAGE,
                      (int)length - 1, row);
        start += length;
    }
}
END_TEST

Suite *suite_limits(void)
{
    Suite *suite = suite_create("limits");
    TCase *cases = tcase_create("profile");
    tcase_add_test(cases, the_manual_states_the_limits_that_hold);
    suite_add_tcase(suite, cases);
    return suite;
}
