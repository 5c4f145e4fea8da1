/* How an ini file becomes headings and entries: the one place that knows inih.
 *
 * Lines are handed to the parser one by one from here, so that the line and byte of all it finds
 * are known. Headings are taken here, since the parser tells nothing of a section without keys. */
#include "ini_text.h"

#include "text.h"

#include <ini.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

struct reading {
    const bb_ini_form *form;
    const char *path;
    bb_error *error;
    bb_status status;
    const char *rest; /* of the text */
    size_t rest_length;
    long number;           /* of the line */
    const char *line;      /* not NUL-terminated */
    size_t length, indent; /* of the line */
    bool expected;         /* this line holds an entry that has not come yet */
};

static bb_place place_at(const struct reading *reading, size_t byte)
{
    return (bb_place){reading->error, reading->path, reading->number, (long)byte + 1};
}

static bool blank(char character)
{
    return character == ' ' || character == '\t';
}

static size_t skip_blanks(const struct reading *reading, size_t at)
{
    while (at < reading->length && blank(reading->line[at]))
        at++;
    return at;
}

/* Where a remark starts that follows other text, or the line's length. */
static size_t remark_after(const struct reading *reading, size_t at)
{
    for (at++; at < reading->length; at++)
        if (reading->line[at] == ';' && blank(reading->line[at - 1]))
            return at;
    return reading->length;
}

static void next_line(struct reading *reading)
{
    const char *end = memchr(reading->rest, '\n', reading->rest_length);
    size_t length = end == NULL ? reading->rest_length : (size_t)(end - reading->rest);
    size_t taken = end == NULL ? length : length + 1;
    reading->line = reading->rest;
    reading->rest += taken;
    reading->rest_length -= taken;
    reading->number++;
    if (length > 0 && reading->line[length - 1] == '\r')
        length--;
    reading->length = length;
    reading->indent = skip_blanks(reading, 0);
}

static bb_status check_bytes(const struct reading *reading)
{
    size_t accepted = bb_text_accepted(reading->line, reading->length);
    if (accepted == reading->length)
        return BB_OK;
    char found[BB_QUOTE_BYTES];
    (void)snprintf(found, sizeof found, "the byte 0x%02x",
                   (unsigned)(unsigned char)reading->line[accepted]);
    bb_place place = place_at(reading, accepted);
    return bb_refuse(&place, found, "text in UTF-8 without control characters");
}

static bb_status take_heading(const struct reading *reading)
{
    const char *line = reading->line;
    bb_place place = place_at(reading, reading->indent);
    size_t end = reading->indent + 1;
    while (end < reading->length && line[end] != ']')
        end++;
    if (end == reading->length)
        return bb_refuse(&place, "a heading that does not end", "a ] at its end");
    size_t after = skip_blanks(reading, end + 1);
    if (after < reading->length && line[after] != ';' && line[after] != '#') {
        place = place_at(reading, after);
        return bb_refuse(&place, "words after a heading", "nothing, or ; and a remark");
    }
    size_t start = skip_blanks(reading, reading->indent + 1);
    while (end > start && blank(line[end - 1]))
        end--;
    char name[BB_TEXT_BYTES];
    if (end < start || end - start >= sizeof name)
        return bb_refuse(&place, "a long or empty heading", "[machine], [beach] or [zone NAME]");
    memcpy(name, line + start, end - start);
    name[end - start] = '\0';
    return reading->form->heading(reading->form->context, name, &place);
}

static bb_status refuse_missing_value(const struct reading *reading)
{
    char found[BB_QUOTE_BYTES];
    bb_place place = place_at(reading, reading->indent);
    return bb_refuse(
        &place,
        bb_quote_part(reading->line + reading->indent, reading->length - reading->indent, found),
        "key = value, a [heading] or ; and a remark");
}

/* One line for the parser: an entry, or nothing in place of all else. */
static bb_status hand_over(struct reading *reading, char *buffer, size_t size)
{
    buffer[0] = '\0';
    bb_status status = check_bytes(reading);
    if (status != BB_OK || reading->indent == reading->length ||
        strchr(";#", reading->line[reading->indent]) != NULL)
        return status;
    if (reading->line[reading->indent] == '[')
        return take_heading(reading);
    size_t length = remark_after(reading, reading->indent) - reading->indent;
    if (length >= size) {
        bb_place place = place_at(reading, reading->indent + size - 1);
        return bb_refuse(&place, "a long line", "at most %zu bytes in a line", size - 1);
    }
    memcpy(buffer, reading->line + reading->indent, length);
    buffer[length] = '\0';
    reading->expected = true;
    return BB_OK;
}

static char *read_line(char *buffer, int size, void *context)
{
    struct reading *reading = context;
    if (reading->status == BB_OK && reading->expected)
        reading->status = refuse_missing_value(reading);
    if (reading->status != BB_OK || reading->rest_length == 0)
        return NULL;
    next_line(reading);
    reading->status = hand_over(reading, buffer, (size_t)size);
    return reading->status == BB_OK ? buffer : NULL;
}

static int take_entry(void *context, const char *section, const char *key, const char *value)
{
    struct reading *reading = context;
    (void)section;
    reading->expected = false;
    size_t at = reading->indent + strlen(key);
    while (at < reading->length && reading->line[at] != '=' && reading->line[at] != ':')
        at++;
    bb_place key_place = place_at(reading, reading->indent);
    bb_place value_place = place_at(reading, skip_blanks(reading, at + 1));
    reading->status =
        reading->form->entry(reading->form->context, key, value, &key_place, &value_place);
    return reading->status == BB_OK;
}

bb_status bb_ini_read(const bb_ini_form *form, const char *text, size_t length, const char *path,
                      bb_error *error)
{
    enum { INI_NO_MEMORY = -2 };
    size_t mark = bb_text_mark(text, length);
    struct reading reading = {.form = form,
                              .path = path,
                              .error = error,
                              .rest = text + mark,
                              .rest_length = length - mark};
    int result = ini_parse_stream(read_line, &reading, take_entry, &reading);
    if (reading.status == BB_OK && result == INI_NO_MEMORY)
        return bb_out_of_memory(error);
    return reading.status;
}
