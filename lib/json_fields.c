/* Writing and reading structures by their table of fields. */
#include "json_fields.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

_Static_assert(sizeof(bb_shape) == sizeof(int) && sizeof(bb_frequency_kind) == sizeof(int),
               "a choice is kept in an int");

/* ---------------------------------------------------------------- writing */

static json_t *from_choice(const bb_field *field, const char *at)
{
    int index, known = 0;
    memcpy(&index, at, sizeof index);
    while (known < index && field->names[known] != NULL)
        known++;
    return known == index && field->names[index] != NULL ? json_string(field->names[index])
                                                         : json_null();
}

static json_t *from_field(const bb_field *field, const char *at)
{
    switch (field->kind) {
    case BB_FIELD_NUMBER:
        return bb_json_from_number(*(const double *)(const void *)at);
    case BB_FIELD_QUANTITY:
        return bb_json_from_number(
            bb_quantity_from_si(field->quantity, *(const double *)(const void *)at));
    case BB_FIELD_WHOLE: return json_integer(*(const int *)(const void *)at);
    case BB_FIELD_COUNT: return json_integer((json_int_t)*(const size_t *)(const void *)at);
    case BB_FIELD_FLAG: return json_boolean(*(const bool *)at);
    case BB_FIELD_CHOICE: return from_choice(field, at);
    default: return *at == '\0' ? json_null() : json_string_nocheck(at); /* the reader checks */
    }
}

json_t *bb_fields_write(const bb_fields *fields, const void *from)
{
    json_t *object = json_object();
    for (size_t i = 0; object != NULL && i < fields->count; i++) {
        const bb_field *field = &fields->field[i];
        if (field->kind == BB_FIELD_OTHER)
            continue;
        json_t *value = from_field(field, (const char *)from + field->offset);
        if (field->presence == BB_OPTIONAL && json_is_null(value))
            continue;
        object = bb_json_with(object, field->key, value);
    }
    return object;
}

json_t *bb_records_write(const bb_fields *fields, const void *items, size_t count, size_t size)
{
    json_t *list = json_array();
    for (size_t i = 0; list != NULL && i < count; i++)
        list = bb_json_append(list, bb_fields_write(fields, (const char *)items + i * size));
    return list;
}

/* ---------------------------------------------------------------- reading */

static void bounds_of(const bb_field *field, double *low, double *high)
{
    *low = field->low;
    *high = field->high;
    if (field->kind == BB_FIELD_QUANTITY)
        bb_quantity_range(field->quantity, low, high);
}

static bool take_number(const bb_field *field, const json_t *value, char *at)
{
    double low, high, *number = (double *)(void *)at;
    bounds_of(field, &low, &high);
    const bool none = json_typeof(value) == JSON_NULL;
    if (!none && !bb_json_is_number(value, low, high))
        return false;
    *number = none ? NAN : json_number_value(value);
    if (field->kind == BB_FIELD_QUANTITY)
        *number = bb_quantity_to_si(field->quantity, *number);
    return true;
}

static bool take_whole(const bb_field *field, const json_t *value, char *at)
{
    if (!bb_json_is_whole(value, field->low, field->high))
        return false;
    if (field->kind == BB_FIELD_WHOLE)
        *(int *)(void *)at = (int)json_number_value(value);
    else
        *(size_t *)(void *)at = (size_t)json_number_value(value);
    return true;
}

static bool take_flag(const bb_field *field, const json_t *value, char *at)
{
    (void)field;
    const json_type type = json_typeof(value);
    *(bool *)at = type == JSON_TRUE;
    return type == JSON_TRUE || type == JSON_FALSE;
}

static bool take_words(const bb_field *field, const json_t *value, char *at)
{
    const bool none = json_typeof(value) == JSON_NULL;
    const char *words = none ? "" : json_string_value(value);
    size_t length = words == NULL ? 0 : strlen(words);
    if (words == NULL || (double)length > field->high || !bb_json_plain(words) ||
        (!none && length == 0))
        return false;
    memcpy(at, words, length + 1);
    return true;
}

static bool take_choice(const bb_field *field, const json_t *value, char *at)
{
    const char *word = json_string_value(value);
    for (int i = 0; word != NULL && field->names[i] != NULL; i++)
        if (strcmp(field->names[i], word) == 0) {
            memcpy(at, &i, sizeof i);
            return true;
        }
    return false;
}

/* value NULL: the key is missing. */
static bool take(const bb_field *field, const json_t *value, char *at)
{
    static bool (*const takers[])(const bb_field *, const json_t *, char *) = {
        [BB_FIELD_NUMBER] = take_number, [BB_FIELD_QUANTITY] = take_number,
        [BB_FIELD_WHOLE] = take_whole,   [BB_FIELD_COUNT] = take_whole,
        [BB_FIELD_FLAG] = take_flag,     [BB_FIELD_WORDS] = take_words,
        [BB_FIELD_CHOICE] = take_choice,
    };
    if (value == NULL && field->presence == BB_OPTIONAL)
        value = json_null();
    else if (value == NULL ||
             (json_typeof(value) == JSON_NULL && field->presence != BB_NULLABLE))
        return false;
    return takers[field->kind](field, value, at);
}

/* "disc, ring or other"; room for size bytes. */
static void join(const char *const *names, size_t count, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < count && used < size; i++) {
        const char *before = i == 0 ? "" : i + 1 == count ? " or " : ", ";
        used += (size_t)snprintf(text + used, size - used, "%s%s", before, names[i]);
    }
}

static bb_status refuse_field(const bb_json_source *source, const bb_json_place *place,
                              const bb_field *field)
{
    char accepted[BB_TEXT_BYTES] = "";
    double low, high;
    size_t names = 0;
    bounds_of(field, &low, &high);
    switch (field->kind) {
    case BB_FIELD_NUMBER:
    case BB_FIELD_QUANTITY:
        (void)snprintf(accepted, sizeof accepted, "a number from %.15g to %.15g", low, high);
        break;
    case BB_FIELD_WHOLE:
    case BB_FIELD_COUNT:
        (void)snprintf(accepted, sizeof accepted,
                       low < high ? "a whole number from %.15g to %.15g" : "%.15g", low, high);
        break;
    case BB_FIELD_WORDS:
        (void)snprintf(accepted, sizeof accepted, "1 to %.0f bytes of plain text", high);
        break;
    case BB_FIELD_CHOICE:
        while (field->names[names] != NULL)
            names++;
        join(field->names, names, accepted, sizeof accepted);
        break;
    default: (void)snprintf(accepted, sizeof accepted, "true or false"); break;
    }
    return bb_json_refuse(source, place, NULL, "%s%s", accepted,
                          field->presence == BB_NULLABLE ? ", or null" : "");
}

static const bb_field *find_field(const bb_fields *fields, const char *key)
{
    for (size_t i = 0; i < fields->count; i++)
        if (strcmp(fields->field[i].key, key) == 0)
            return &fields->field[i];
    return NULL;
}

static bb_status refuse_unknown(const bb_json_source *source, const bb_json_place *place,
                                const bb_fields *fields)
{
    enum { KEYS_MAX = 32 };
    char table[KEYS_MAX][BB_NAME_BYTES] = {""}, accepted[2 * BB_TEXT_BYTES];
    const char *keys[KEYS_MAX];
    size_t count = fields->count < KEYS_MAX ? fields->count : KEYS_MAX;
    for (size_t i = 0; i < count; i++) {
        keys[i] = fields->field[i].key;
        (void)snprintf(table[i], sizeof table[i], "%s", keys[i]);
    }
    const char *nearest = bb_nearest_name(place->key, table[0], count, sizeof table[0]);
    join(nearest != NULL ? &nearest : keys, nearest != NULL ? 1 : count, accepted,
         sizeof accepted);
    return bb_json_refuse_key(source, place, accepted);
}

bb_status bb_fields_read(const bb_json_source *source, const bb_json_place *place,
                         const json_t *value, const bb_fields *fields, void *into)
{
    if (!json_is_object(value))
        return bb_json_refuse(source, place, NULL, "an object");
    for (void *member = json_object_iter((json_t *)value); member != NULL;
         member = json_object_iter_next((json_t *)value, member)) {
        bb_json_place here = {place, json_object_iter_key(member), 0};
        if (find_field(fields, here.key) == NULL)
            return refuse_unknown(source, &here, fields);
    }
    for (size_t i = 0; i < fields->count; i++) {
        const bb_field *field = &fields->field[i];
        bb_json_place here = {place, field->key, 0};
        const json_t *member = json_object_get(value, field->key);
        if (field->kind != BB_FIELD_OTHER && !take(field, member, (char *)into + field->offset))
            return refuse_field(source, &here, field);
    }
    return BB_OK;
}

bb_status bb_records_read(const bb_json_source *source, const bb_json_place *place,
                          const json_t *value, const bb_fields *fields, void *items, size_t size)
{
    bb_status status = BB_OK;
    for (size_t i = 0; status == BB_OK && i < json_array_size(value); i++) {
        bb_json_place here = {place, NULL, i};
        status = bb_fields_read(source, &here, json_array_get(value, i), fields,
                                (char *)items + i * size);
    }
    return status;
}
