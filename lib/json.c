/* Parsing JSON within bounds, and finding in the text the place of a value that is refused. */
#include "json.h"

#include "place.h"
#include "text.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- walking the text */

typedef struct {
    const char *at, *end;
} cursor;

static bool one_of(char letter, const char *letters)
{
    return letter != '\0' && strchr(letters, letter) != NULL;
}

static void skip_space(cursor *text)
{
    while (text->at < text->end && one_of(*text->at, " \t\r\n"))
        text->at++;
}

static void skip_string(cursor *text)
{
    for (text->at++; text->at < text->end && *text->at != '"'; text->at++)
        if (*text->at == '\\' && text->at + 1 < text->end)
            text->at++;
    if (text->at < text->end)
        text->at++;
}

static void skip_value(cursor *text)
{
    int depth = 0;
    do {
        char first = *text->at;
        if (first == '"') {
            skip_string(text);
        } else if (depth == 0 && !one_of(first, "[{")) {
            while (text->at < text->end && !one_of(*text->at, " \t\r\n,]}"))
                text->at++;
        } else {
            depth += one_of(first, "[{") - one_of(first, "]}");
            text->at++;
        }
    } while (depth > 0 && text->at < text->end);
}

/* Past any key, to the value of the next member. */
static void skip_key(cursor *text, const json_t *container)
{
    if (json_is_object(container)) {
        skip_string(text);
        skip_space(text);
        text->at += text->at < text->end; /* the colon */
        skip_space(text);
    }
}

/* Members come in the order of the text; absent: as many as there are. */
static size_t member_index(const json_t *container, const bb_json_place *place)
{
    if (place->key == NULL)
        return place->index;
    size_t index = 0;
    void *member = json_object_iter((json_t *)container);
    while (member != NULL && strcmp(json_object_iter_key(member), place->key) != 0) {
        member = json_object_iter_next((json_t *)container, member);
        index++;
    }
    return index;
}

static const json_t *value_at(const bb_json_source *source, const bb_json_place *place)
{
    if (place == NULL)
        return source->root;
    const json_t *parent = value_at(source, place->parent);
    return place->key != NULL ? json_object_get(parent, place->key)
                              : json_array_get(parent, place->index);
}

/* Where a value (or its key) starts in the text; where there is none, the parent. */
static cursor locate(const bb_json_source *source, const bb_json_place *place, bool key)
{
    if (place == NULL) {
        cursor text = {source->text, source->text + source->length};
        skip_space(&text);
        return text;
    }
    cursor text = locate(source, place->parent, false);
    if (value_at(source, place) == NULL)
        return text;
    const json_t *container = value_at(source, place->parent);
    text.at++;
    skip_space(&text);
    for (size_t left = member_index(container, place); left > 0; left--) {
        skip_key(&text, container);
        skip_value(&text);
        skip_space(&text);
        text.at += text.at < text.end; /* the comma */
        skip_space(&text);
    }
    if (!key)
        skip_key(&text, container);
    return text;
}

/* ---------------------------------------------------------------- refusing */

/* Terminals obey control characters, so they are not repeated. */
static const char *quote(const char *words, char quoted[BB_QUOTE_BYTES])
{
    return bb_json_plain(words) ? bb_quote(words, quoted) : "text that is not plain";
}

static void describe(const json_t *value, char *text, size_t size)
{
    char quoted[BB_QUOTE_BYTES];
    switch (value == NULL ? JSON_NULL : json_typeof(value)) {
    case JSON_OBJECT: (void)snprintf(text, size, "an object"); break;
    case JSON_ARRAY: (void)snprintf(text, size, "a list of %zu", json_array_size(value)); break;
    case JSON_STRING:
        (void)snprintf(text, size, "%s", quote(json_string_value(value), quoted));
        break;
    case JSON_INTEGER:
    case JSON_REAL:
        (void)snprintf(text, size, "%.15g", json_number_value(value));
        break;
    case JSON_TRUE: (void)snprintf(text, size, "true"); break;
    case JSON_FALSE: (void)snprintf(text, size, "false"); break;
    default: (void)snprintf(text, size, "null"); break;
    }
}

static size_t name_place(const bb_json_place *place, char *text, size_t size)
{
    if (place == NULL)
        return 0;
    size_t used = name_place(place->parent, text, size);
    int more = place->key != NULL
                   ? snprintf(text + used, size - used, "%s%s", used > 0 ? "." : "", place->key)
                   : snprintf(text + used, size - used, "[%zu]", place->index);
    used += more > 0 ? (size_t)more : 0;
    return used < size ? used : size - 1;
}

static bb_status refuse_text(const bb_json_source *source, const char *at, const char *found,
                             const char *accepted)
{
    long line = 1, column = 1;
    for (const char *byte = source->text; byte < at; byte++) {
        column = *byte == '\n' ? 1 : column + 1;
        line += *byte == '\n';
    }
    return bb_error_at(source->error, BB_INPUT, source->path, line, column, found, accepted);
}

static bb_status refuse(const bb_json_source *source, const bb_json_place *place, bool key,
                        const char *found, const char *accepted)
{
    if (source->text != NULL)
        return refuse_text(source, locate(source, place, key).at, found, accepted);
    char name[BB_TEXT_BYTES] = "profile";
    (void)name_place(place, name, sizeof name);
    return bb_error_say(source->error, BB_RANGE, "%s: found %s, accepted %s", name, found,
                        accepted);
}

bb_status bb_json_refuse(const bb_json_source *source, const bb_json_place *place,
                         const char *found, const char *format, ...)
{
    char accepted[2 * BB_TEXT_BYTES], described[BB_TEXT_BYTES];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(accepted, sizeof accepted, format, arguments);
    va_end(arguments);
    const json_t *value = value_at(source, place);
    describe(value, described, sizeof described);
    if (value == NULL && place->key != NULL)
        (void)snprintf(described, sizeof described, "no \"%s\"", place->key);
    return refuse(source, place, false, found != NULL ? found : described, accepted);
}

bb_status bb_json_refuse_key(const bb_json_source *source, const bb_json_place *place,
                             const char *accepted)
{
    char quoted[BB_QUOTE_BYTES], found[BB_TEXT_BYTES];
    (void)snprintf(found, sizeof found, "the unknown key %s", quote(place->key, quoted));
    return refuse(source, place, true, found, accepted);
}

/* ---------------------------------------------------------------- opening */

static size_t longer(size_t length, const char *start, const char *end)
{
    const size_t other = (size_t)(end - start);
    return other > length ? other : length;
}

/* The parser spends up to 300 bytes on a two-byte "[]": bound what it is handed. longest: no word
 * there, nor string with its quotes, has more bytes. */
static const char *first_excess(const char *text, size_t length, size_t *longest)
{
    cursor left = {text, text + length};
    const char *word = text;
    int depth = 0, containers = 0;
    *longest = 0;
    while (left.at < left.end) {
        char next = *left.at;
        if (next == '"') {
            skip_string(&left);
            continue;
        }
        const bool opens = next == '[' || next == '{', closes = next == ']' || next == '}';
        containers += opens;
        depth += opens - closes;
        if (depth > BB_JSON_DEPTH_MAX || containers > BB_JSON_CONTAINERS_MAX)
            return left.at;
        if (opens || closes || next == ',' || next == ':') {
            *longest = longer(*longest, word, left.at);
            word = left.at + 1;
        }
        left.at++;
    }
    *longest = longer(*longest, word, left.end);
    return NULL;
}

/* What the parser says it stumbled over stands after "near", the whole of a short word. */
static bb_status refuse_syntax(const bb_json_source *source, const json_error_t *fault)
{
    static const struct {
        enum json_error_code code;
        const char *accepted;
    } rules[] = {
        {json_error_invalid_utf8, "UTF-8"},
        {json_error_premature_end_of_input, "the rest of it"},
        {json_error_end_of_input_expected, "nothing after the end"},
        {json_error_null_character, "words without the character NUL"},
        {json_error_null_byte_in_key, "a key without the character NUL"},
        {json_error_duplicate_key, "each key once"},
        {json_error_numeric_overflow, "a smaller number"},
    };
    static const char near[] = " near ";
    const char *accepted = "JSON", *word = strstr(fault->text, near);
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++)
        if (rules[i].code == json_error_code(fault))
            accepted = rules[i].accepted;
    const char *found = word != NULL ? word + strlen(near) : fault->text;
    size_t at = fault->position > 0 ? (size_t)fault->position : 0;
    size_t quoted = strlen(found) > 2 && *found == '\'' ? strlen(found) - 2 : 1;
    at = at < source->length ? at : source->length;
    at -= quoted <= at ? quoted : at;
    return refuse_text(source, source->text + at,
                       bb_json_plain(found) ? found : "text that is not plain", accepted);
}

/* When memory runs out while a word grows, the parser drops bytes of it without notice. Its room
 * for words never shrinks: where a first word as long as any comes whole, so do all. NULL unless
 * all went well. */
static json_t *parse(const bb_json_source *source, size_t longest)
{
    const size_t length = longest + source->length + 5;
    char *both = malloc(length);
    if (both == NULL)
        return NULL;
    memset(both, 'x', longest + 2);
    both[0] = '[';
    both[1] = both[2 + longest] = '"';
    both[3 + longest] = ',';
    memcpy(both + 4 + longest, source->text, source->length);
    both[length - 1] = ']';
    json_t *list = json_loadb(both, length, JSON_REJECT_DUPLICATES, NULL);
    json_t *root = json_array_get(list, 1);
    free(both);
    const bool whole = json_array_size(list) == 2 &&
                       json_string_length(json_array_get(list, 0)) == longest &&
                       (json_is_object(root) || json_is_array(root));
    root = whole ? json_incref(root) : NULL;
    json_decref(list);
    return root;
}

/* Why it went wrong: when memory runs out in it, the parser may blame the text. False unless two
 * more times it blames the same. */
static bool find_fault(const bb_json_source *source, json_error_t *fault)
{
    json_error_t other;
    json_t *first = json_loadb(source->text, source->length, JSON_REJECT_DUPLICATES, fault);
    json_t *second = json_loadb(source->text, source->length, JSON_REJECT_DUPLICATES, &other);
    const bool same = first == NULL && second == NULL &&
                      json_error_code(fault) != json_error_out_of_memory &&
                      fault->text[0] != '\0' && fault->position == other.position &&
                      strcmp(fault->text, other.text) == 0;
    json_decref(first);
    json_decref(second);
    return same;
}

bb_status bb_json_open(bb_json_source *source, const char *text, size_t length, const char *path,
                       bb_error *error)
{
    size_t mark = bb_text_mark(text, length);
    *source = (bb_json_source){path, text + mark, length - mark, NULL, error};
    if (length > BB_JSON_BYTES_MAX) {
        char found[BB_TEXT_BYTES];
        (void)snprintf(found, sizeof found, "%zu bytes", length);
        return refuse_text(source, source->text, found, "at most 8388608 bytes");
    }
    size_t longest;
    const char *excess = first_excess(source->text, source->length, &longest);
    if (excess != NULL)
        return refuse_text(source, excess, "one more list or object",
                           "at most 16 inside each other and 65536 in all");
    source->root = parse(source, longest);
    if (source->root != NULL)
        return BB_OK;
    json_error_t fault;
    return find_fault(source, &fault) ? refuse_syntax(source, &fault) : bb_out_of_memory(error);
}

void bb_json_close(bb_json_source *source)
{
    json_decref(source->root);
    source->root = NULL;
}

/* ---------------------------------------------------------------- plain values */

bool bb_json_plain(const char *words)
{
    return bb_text_accepted(words, strlen(words)) == strlen(words);
}

bool bb_json_is_number(const json_t *value, double low, double high)
{
    double number = json_number_value(value);
    return json_is_number(value) && number >= low && number <= high;
}

bool bb_json_is_whole(const json_t *value, double low, double high)
{
    return bb_json_is_number(value, low, high) &&
           json_number_value(value) == rint(json_number_value(value));
}

bb_status bb_json_number(const bb_json_source *source, const bb_json_place *place,
                         const json_t *value, double low, double high, double *number)
{
    if (!bb_json_is_number(value, low, high))
        return bb_json_refuse(source, place, NULL, "a number from %.15g to %.15g", low, high);
    *number = json_number_value(value);
    return BB_OK;
}

bb_status bb_json_list(const bb_json_source *source, const bb_json_place *place,
                       const json_t *value, size_t low, size_t high)
{
    if (json_is_array(value) && json_array_size(value) >= low && json_array_size(value) <= high)
        return BB_OK;
    return low == high ? bb_json_refuse(source, place, NULL, "a list of %zu", low)
                       : bb_json_refuse(source, place, NULL, "a list of %zu to %zu", low, high);
}
