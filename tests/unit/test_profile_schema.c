/* reference/profile.schema.json says of every field what the reader's tables say. */
#include "profile_fields.h"

#include <check.h>
#include <string.h>

static json_t *schema;

/* What a schema says under a keyword, itself or through the definition it refers to. */
static const json_t *said(const json_t *node, const char *keyword)
{
    const json_t *value = json_object_get(node, keyword);
    const char *reference = json_string_value(json_object_get(node, "$ref"));
    if (value != NULL || reference == NULL)
        return value;
    return said(json_object_get(json_object_get(schema, "$defs"), strrchr(reference, '/') + 1),
                keyword);
}

static bool has_type(const json_t *node, const char *type)
{
    const json_t *types = said(node, "type"), *choices = said(node, "oneOf");
    const char *only = json_string_value(types);
    for (size_t i = 0; i < json_array_size(types); i++)
        if (strcmp(json_string_value(json_array_get(types, i)), type) == 0)
            return true;
    for (size_t i = 0; i < json_array_size(choices); i++)
        if (has_type(json_array_get(choices, i), type))
            return true;
    return only != NULL && strcmp(only, type) == 0;
}

static void check_bounds(const bb_field *field, const json_t *node)
{
    double low = field->low, high = field->high;
    const json_t *choices = said(node, "oneOf"); /* the first is the number */
    const json_t *number = choices != NULL ? json_array_get(choices, 0) : node;
    const json_t *least = said(number, "minimum"), *most = said(number, "maximum");
    if (field->kind == BB_FIELD_QUANTITY)
        bb_quantity_range(field->quantity, &low, &high);
    ck_assert_msg(json_is_number(least) && json_number_value(least) == low, "%s: minimum %g",
                  field->key, low);
    ck_assert_msg(json_is_number(most) && json_number_value(most) == high, "%s: maximum %g",
                  field->key, high);
}

static void check_choice(const bb_field *field, const json_t *node)
{
    const json_t *names = said(node, "enum");
    size_t count = 0;
    for (; field->names[count] != NULL; count++)
        ck_assert_str_eq(field->names[count], json_string_value(json_array_get(names, count)));
    ck_assert_uint_eq(json_array_size(names), count);
}

static void check_field(const bb_field *field, const json_t *node)
{
    static const char *const types[] = {
        [BB_FIELD_NUMBER] = "number", [BB_FIELD_QUANTITY] = "number", [BB_FIELD_WHOLE] = "integer",
        [BB_FIELD_COUNT] = "integer", [BB_FIELD_FLAG] = "boolean",    [BB_FIELD_WORDS] = "string",
    };
    if (field->kind == BB_FIELD_CHOICE) {
        check_choice(field, node);
        return;
    }
    ck_assert_msg(has_type(node, types[field->kind]), "%s: type %s", field->key,
                  types[field->kind]);
    ck_assert_msg(has_type(node, "null") == (field->presence == BB_NULLABLE), "%s: null or not",
                  field->key);
    if (field->kind == BB_FIELD_WORDS && said(node, "pattern") == NULL)
        ck_assert_msg(json_number_value(said(node, "maxLength")) == field->high,
                      "%s: maxLength %g", field->key, field->high);
    else if (field->kind != BB_FIELD_WORDS && field->kind != BB_FIELD_FLAG)
        check_bounds(field, node);
}

static bool is_required(const json_t *object, const char *key)
{
    const json_t *required = said(object, "required");
    for (size_t i = 0; i < json_array_size(required); i++)
        if (strcmp(json_string_value(json_array_get(required, i)), key) == 0)
            return true;
    return false;
}

/* The object of the schema at a path of keywords. */
static const json_t *object_at(const char *const *path)
{
    const json_t *node = schema;
    for (; *path != NULL; path++)
        node = json_object_get(node, *path);
    return node;
}

static const struct {
    const bb_fields *fields;
    const char *path[4];
} parts[] = {
    {&bb_machine_fields, {"properties", "machine"}},
    {&bb_beach_fields, {"properties", "beach"}},
    {&bb_zone_fields, {"properties", "zones", "items"}},
    {&bb_knot_fields, {"properties", "scale_knots", "items"}},
    {&bb_target_fields, {"properties", "targets", "items"}},
    {&bb_parameter_fields, {"$defs", "parameter"}},
    {&bb_noise_fields, {"properties", "noise"}},
    {&bb_bare_fields, {"properties", "sand", "items"}},
    {&bb_data_fields, {"properties", "data"}},
    {&bb_evidence_fields, {"properties", "diagnostics"}},
    {&bb_profile_fields, {NULL}},
};

START_TEST(the_schema_agrees_with_every_table)
{
    schema = json_load_file("reference/profile.schema.json", JSON_REJECT_DUPLICATES, NULL);
    ck_assert_ptr_nonnull(schema);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        const json_t *object = object_at(parts[i].path);
        const json_t *properties = said(object, "properties");
        const bb_fields *fields = parts[i].fields;
        ck_assert_uint_eq(json_object_size(properties), fields->count);
        ck_assert(json_is_false(said(object, "additionalProperties")));
        for (size_t k = 0; k < fields->count; k++) {
            const bb_field *field = &fields->field[k];
            const json_t *node = json_object_get(properties, field->key);
            ck_assert_msg(node != NULL, "the schema has no %s", field->key);
            ck_assert_msg(is_required(object, field->key) == (field->presence != BB_OPTIONAL),
                          "%s: required or not", field->key);
            if (field->kind != BB_FIELD_OTHER && said(node, "const") == NULL)
                check_field(field, node);
        }
    }
    json_decref(schema);
}
END_TEST

Suite *suite_profile_schema(void)
{
    Suite *suite = suite_create("profile schema");
    TCase *group = tcase_create("profile schema");
    tcase_add_test(group, the_schema_agrees_with_every_table);
    suite_add_tcase(suite, group);
    return suite;
}
