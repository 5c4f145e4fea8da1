/* What kit.csv says of each target. */
#include "constants.h"
#include "groups.h"
#include "names.h"
#include "number.h"
#include "quantity.h"
#include "table.h"
#include "target.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    TARGET,
    SHAPE,
    MATERIAL,
    DIAMETER,
    THICKNESS,
    BORE,
    MASS,
    CORE,
    PLATING,
    YEARS,
    KEEP,
    GROUP,
    COLUMNS
};
static const bb_column columns[COLUMNS] = {
    [TARGET] = {"target", true},
    [SHAPE] = {"shape", false},
    [MATERIAL] = {"material", false},
    [DIAMETER] = {"diameter_mm", false},
    [THICKNESS] = {"thickness_mm", false},
    [BORE] = {"bore_mm", false},
    [MASS] = {"mass_g", false},
    [CORE] = {"core", false},
    [PLATING] = {"plating_um", false},
    [YEARS] = {"years", false},
    [KEEP] = {"keep", false},
    [GROUP] = {"group", false},
};

struct kit {
    bb_target *targets; /* room for BB_TARGETS_MAX */
    size_t count;
};

static bb_status read_target_name(const bb_table *table, const struct kit *kit, bb_target *target)
{
    bb_place place = bb_table_place(table, TARGET);
    const char *text = bb_table_text(table, TARGET);
    char found[BB_QUOTE_BYTES];
    if (bb_same_word(text, "sand"))
        return bb_refuse(&place, bb_quote(text, found),
                         "another name for a target: sand is the bare sand");
    bb_names names = BB_NAMES(kit->targets, kit->count);
    long same = bb_name_find(&names, text);
    if (same >= 0)
        return bb_refuse(&place, bb_quote(text, found), "each target once; it is also in line %ld",
                         kit->targets[same].line);
    if (kit->count == BB_TARGETS_MAX)
        return bb_refuse(&place, "a target more", "at most %d targets", BB_TARGETS_MAX);
    target->line = bb_table_line(table);
    return bb_name_read(&place, text, "a name for a target", target->name);
}

static bb_status read_shape(const bb_table *table, bb_target *target)
{
    const char *text = bb_table_text(table, SHAPE);
    size_t shape = BB_SHAPE_OTHER;
    bb_place place = bb_table_place(table, SHAPE);
    bb_names names = BB_NAMES(bb_shape_words, BB_SHAPES);
    bb_status status = *text == '\0' ? BB_OK : bb_choice_read(&place, text, &names, &shape);
    target->shape = (bb_shape)shape;
    return status;
}

/* A material's name, which gives its conductivity. */
static bb_status read_metal(const bb_table *table, size_t column, const char *accepted,
                            char name[BB_NAME_BYTES], double *conductivity_S_per_m)
{
    const char *text = bb_table_text(table, column);
    if (*text == '\0')
        return BB_OK;
    const bb_material *material = bb_material_find(text);
    if (material != NULL) {
        (void)snprintf(name, BB_NAME_BYTES, "%s", material->name);
        *conductivity_S_per_m = material->conductivity_S_per_m;
        return BB_OK;
    }
    size_t count = bb_material_count();
    char(*list)[BB_NAME_BYTES] = malloc(count * sizeof *list);
    bb_place place = bb_table_place(table, column);
    if (list == NULL)
        return bb_out_of_memory(place.error);
    for (size_t i = 0; i < count; i++)
        (void)snprintf(list[i], sizeof list[i], "%s", bb_material_at(i)->name);
    bb_names names = BB_NAMES(list, count);
    bb_status status = bb_refuse_name(&place, text, accepted, &names);
    free(list);
    return status;
}

static bb_status read_materials(const bb_table *table, bb_target *target)
{
    double number;
    bb_status status;
    bb_place place = bb_table_place(table, MATERIAL);
    const char *text = bb_table_text(table, MATERIAL);
    if (bb_number_read(text, &number))
        status =
            bb_quantity_read(&place, text, BB_QUANTITY_CONDUCTIVITY, &target->conductivity_S_per_m);
    else
        status = read_metal(table, MATERIAL, "a known material or a number in MS/m",
                            target->material, &target->conductivity_S_per_m);
    if (status != BB_OK)
        return status;
    return read_metal(table, CORE, "a known material", target->core,
                      &target->core_conductivity_S_per_m);
}

static bb_status read_sizes(const bb_table *table, bb_target *target)
{
    const struct {
        int column;
        bb_quantity quantity;
        double *value;
    } sizes[] = {
        {DIAMETER, BB_QUANTITY_DIAMETER, &target->diameter_m},
        {THICKNESS, BB_QUANTITY_THICKNESS, &target->thickness_m},
        {BORE, BB_QUANTITY_BORE, &target->bore_m},
        {MASS, BB_QUANTITY_MASS, &target->mass_kg},
        {PLATING, BB_QUANTITY_PLATING, &target->plating_m},
        {YEARS, BB_QUANTITY_YEARS, &target->years},
    };
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        size_t column = (size_t)sizes[i].column;
        const char *text = bb_table_text(table, column);
        bb_place place = bb_table_place(table, column);
        bb_status status = *text == '\0'
                               ? BB_OK
                               : bb_quantity_read(&place, text, sizes[i].quantity, sizes[i].value);
        if (status != BB_OK)
            return status;
    }
    return BB_OK;
}

static bb_status read_group(const bb_table *table, bb_target *target)
{
    bb_place place = bb_table_place(table, GROUP);
    const char *text = bb_table_text(table, GROUP);
    char found[BB_QUOTE_BYTES];
    if (*text == '\0')
        return BB_OK;
    if (bb_same_word(text, "sand") || bb_same_word(text, BB_GROUP_SAND))
        return bb_refuse(&place, bb_quote(text, found), "another group: sand is the bare sand");
    const bb_group *known = bb_group_find(text), *near = bb_group_near(text);
    if (known == NULL && near != NULL)
        return bb_refuse(&place, bb_quote(text, found), "%s, or a word of your own less like it",
                         near->name);
    if (known != NULL)
        target->keep = known->keep;
    return bb_name_read(&place, known != NULL ? known->name : text, "a name for a group",
                        target->group);
}

static bb_status read_keep(const bb_table *table, bb_target *target)
{
    static const char answers[][BB_COLUMN_BYTES] = {"no", "yes"};
    bb_place place = bb_table_place(table, KEEP);
    bb_names names = BB_NAMES(answers, 2);
    size_t answer = target->keep;
    const char *text = bb_table_text(table, KEEP);
    bb_status status = *text == '\0' ? BB_OK : bb_choice_read(&place, text, &names, &answer);
    target->keep = answer == 1;
    return status;
}

/* Sizes that no such body has. Comparisons with a size not given (NAN) are false. */
static bb_status check_body(const bb_table *table, bb_target *target)
{
    const struct {
        bool wrong;
        size_t column;
        const char *accepted;
    } rules[] = {
        {target->shape != BB_SHAPE_RING && !isnan(target->bore_m), BORE, "a bore for a ring alone"},
        {target->shape == BB_SHAPE_SPHERE && !isnan(target->thickness_m), THICKNESS,
         "no thickness for a sphere"},
        {target->bore_m >= target->diameter_m, BORE, "a bore smaller than the diameter"},
        {!isnan(target->plating_m) && target->core[0] == '\0', PLATING,
         "a plating only where core says what lies under it"},
        {target->shape != BB_SHAPE_SPHERE && 2 * target->plating_m >= target->thickness_m, PLATING,
         "a plating (on both faces) thinner than half the thickness"},
        {2 * target->plating_m >= target->diameter_m, PLATING,
         "a plating thinner than half the diameter"},
        {4 * target->plating_m >= target->diameter_m - target->bore_m, PLATING,
         "a plating thinner than half the wall of the ring"},
    };
    char found[BB_QUOTE_BYTES];
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++) {
        bb_place place = bb_table_place(table, rules[i].column);
        if (rules[i].wrong)
            return bb_refuse(&place, bb_quote(bb_table_text(table, rules[i].column), found), "%s",
                             rules[i].accepted);
    }
    return BB_OK;
}

/* A mass and a thickness that cannot both be right. A coin's mean thickness is 0.75 to 0.93 of
 * that over its rim (coins.csv); a hole, wear or a layer of another metal move it further. */
static bb_status check_mass(const bb_table *table, bb_target *target)
{
    static const double least = 0.3, most = 1.5;
    const bb_material *material = bb_material_find(target->material);
    if (target->shape != BB_SHAPE_DISC || material == NULL)
        return BB_OK;
    double full_kg = material->density_kg_per_m3 * BB_PI / 4 * target->diameter_m *
                     target->diameter_m * target->thickness_m;
    if (!(target->mass_kg < least * full_kg || target->mass_kg > most * full_kg))
        return BB_OK;
    char found[BB_QUOTE_BYTES];
    bb_place place = bb_table_place(table, MASS);
    return bb_refuse(&place, bb_quote(bb_table_text(table, MASS), found),
                     "a mass that fits the sizes, from %.2g to %.2g g", least * full_kg * 1000,
                     most * full_kg * 1000);
}

static bb_status take_row(void *context, bb_table *table)
{
    static bb_status (*const steps[])(const bb_table *, bb_target *) = {
        read_shape, read_materials, read_sizes, read_group, read_keep, check_body, check_mass,
    };
    struct kit *kit = context;
    bb_target target = bb_target_unknown();
    bb_status status = read_target_name(table, kit, &target);
    for (size_t i = 0; status == BB_OK && i < sizeof steps / sizeof *steps; i++)
        status = steps[i](table, &target);
    if (status == BB_OK)
        kit->targets[kit->count++] = target;
    return status;
}

static bb_status read_rows(const bb_table_form *form, const char *text, size_t length,
                           const char *path, bb_error *error)
{
    bb_table *table = NULL;
    bb_status status = bb_table_open(form, path, error, &table);
    if (status == BB_OK)
        status = bb_table_feed(table, text, length);
    if (status == BB_OK)
        status = bb_table_close(table);
    bb_table_free(table);
    return status;
}

bb_status bb_kit_read(const char *text, size_t length, const char *path, bb_visit *visit,
                      bb_error *error)
{
    if (visit->target_count > 0)
        return bb_error_say(error, BB_RANGE, "a kit is read once into a visit");
    struct kit kit = {calloc(BB_TARGETS_MAX, sizeof *kit.targets), 0};
    if (kit.targets == NULL)
        return bb_out_of_memory(error);
    bb_table_form form = {
        .columns = columns, .column_count = COLUMNS, .take_row = take_row, .context = &kit};
    bb_status status = read_rows(&form, text, length, path, error);
    if (status != BB_OK || kit.count == 0) {
        free(kit.targets);
        return status;
    }
    bb_target *fitting = realloc(kit.targets, kit.count * sizeof *fitting);
    visit->targets = fitting != NULL ? fitting : kit.targets;
    visit->target_count = kit.count;
    return BB_OK;
}
