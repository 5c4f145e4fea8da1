/* Building JSON, and laying it out for people and machines at once: a record a line, and
 * every number so that it is read again as it was. */
#include "json.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_BYTES = 190 }; /* of a record, kept on one line up to here */

typedef struct {
    char *bytes;
    size_t used, room;
    size_t line_end; /* what goes on one line is given up beyond it */
    bool failed; /* memory ran out */
} buffer;

static int append(const char *bytes, size_t count, void *data)
{
    buffer *out = data;
    if (!out->failed && out->used + count + 1 > out->room) {
        size_t room = 2 * (out->used + count + 1);
        char *grown = realloc(out->bytes, room);
        out->failed = grown == NULL;
        if (grown != NULL) {
            out->bytes = grown;
            out->room = room;
        }
    }
    if (out->failed)
        return -1;
    memcpy(out->bytes + out->used, bytes, count);
    out->used += count;
    out->bytes[out->used] = '\0';
    return 0;
}

static void append_text(buffer *out, const char *text)
{
    (void)append(text, strlen(text), out);
}

/* Whether 15 digits tell a number from all others. Mostly a whole number below 2^53 and a power of
 * ten that a double holds: their quotient is what those digits read as (Clinger 1990). */
static bool has_few_digits(double number)
{
    static const double ten_to[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                    1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                    1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    const double size = fabs(number);
    if (size >= 1e-7 && size < 1e14) {
        int power = 0;
        while (size * ten_to[power] < 1e14)
            power++;
        return rint(size * ten_to[power]) / ten_to[power] == size;
    }
    char text[40];
    (void)snprintf(text, sizeof text, "%.15g", number);
    return strtod(text, NULL) == number;
}

static void append_real(buffer *out, double number)
{
    char text[40]; /* 17 digits tell all numbers apart */
    (void)snprintf(text, sizeof text, "%.*g", has_few_digits(number) ? 15 : 17, number);
    size_t mark = strspn(text, "+-0123456789e");
    if (text[mark] != '\0')
        text[mark] = '.'; /* whatever the locale writes there */
    else if (number == 0 && signbit(number))
        (void)snprintf(text, sizeof text, "-0.0"); /* "-0" would be a whole number: 0 */
    append_text(out, text);
}

static void append_plain(buffer *out, const json_t *value)
{
    if (json_typeof(value) == JSON_REAL)
        append_real(out, json_real_value(value));
    else if (json_dump_callback(value, append, out, JSON_ENCODE_ANY) != 0)
        out->failed = true;
}

static void append_key(buffer *out, const char *key)
{
    json_t *text = json_string(key);
    if (text == NULL)
        out->failed = true;
    else
        append_plain(out, text);
    json_decref(text);
    append_text(out, ": ");
}

static void append_value(buffer *out, const json_t *value, int depth, bool flat);

static void append_gap(buffer *out, int depth, bool flat, bool first)
{
    if (!first)
        append_text(out, flat ? ", " : ",");
    if (!flat) {
        append_text(out, "\n");
        for (int i = 0; i < depth; i++)
            append_text(out, "  ");
    }
}

static void append_members(buffer *out, const json_t *value, int depth, bool flat)
{
    const bool object = json_typeof(value) == JSON_OBJECT;
    size_t count = 0;
    append_text(out, object ? "{" : "[");
    if (object) {
        for (void *member = json_object_iter((json_t *)value); member != NULL;
             member = json_object_iter_next((json_t *)value, member)) {
            append_gap(out, depth + 1, flat, count++ == 0);
            append_key(out, json_object_iter_key(member));
            append_value(out, json_object_iter_value(member), depth + 1, flat);
        }
    } else {
        for (; count < json_array_size(value); count++) {
            append_gap(out, depth + 1, flat, count == 0);
            append_value(out, json_array_get(value, count), depth + 1, flat);
        }
    }
    if (count > 0 && !flat)
        append_gap(out, depth, flat, true);
    append_text(out, object ? "}" : "]");
}

static bool has_members(const json_t *value)
{
    const json_type type = json_typeof(value);
    return type == JSON_ARRAY || type == JSON_OBJECT;
}

static bool is_list_of_plain(const json_t *value)
{
    for (size_t i = 0; i < json_array_size(value); i++)
        if (has_members(json_array_get(value, i)))
            return false;
    return json_typeof(value) == JSON_ARRAY;
}

static void append_value(buffer *out, const json_t *value, int depth, bool flat)
{
    const size_t start = out->used;
    if (flat && start > out->line_end)
        return;
    if (!has_members(value)) {
        append_plain(out, value);
        return;
    }
    if (!flat)
        out->line_end = is_list_of_plain(value) ? SIZE_MAX : start + LINE_BYTES;
    append_members(out, value, depth, true);
    if (!flat && out->used > out->line_end) {
        out->used = start;
        append_members(out, value, depth, false);
    }
}

char *bb_json_text(const json_t *root)
{
    buffer out = {0};
    append_members(&out, root, 0, false);
    append_text(&out, "\n");
    if (!out.failed)
        return out.bytes;
    free(out.bytes);
    return NULL;
}

json_t *bb_json_from_number(double number)
{
    if (!isfinite(number))
        return json_null();
    bool whole = number == rint(number) && fabs(number) < 1e15 && !(number == 0 && signbit(number));
    return whole ? json_integer((json_int_t)number) : json_real(number);
}

json_t *bb_json_with(json_t *object, const char *key, json_t *value)
{
    if (json_object_set_new(object, key, value) == 0)
        return object;
    json_decref(object);
    return NULL;
}

json_t *bb_json_append(json_t *list, json_t *value)
{
    if (json_array_append_new(list, value) == 0)
        return list;
    json_decref(list);
    return NULL;
}
