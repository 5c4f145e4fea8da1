/* What an error about a place in a file says. */
#include "place.h"

#include "text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

bb_status bb_refuse(const bb_place *place, const char *found, const char *accepted, ...)
{
    char words[2 * BB_TEXT_BYTES];
    va_list arguments;
    va_start(arguments, accepted);
    (void)vsnprintf(words, sizeof words, accepted, arguments);
    va_end(arguments);
    if (place->line == 0)
        return bb_error_say(place->error, BB_INPUT, "found %s, accepted %s", found, words);
    return bb_error_at(place->error, BB_INPUT, place->path, place->line, place->column, found,
                       words);
}

const char *bb_quote_part(const char *text, size_t length, char quoted[BB_QUOTE_BYTES])
{
    static const char cut[] = "...";
    size_t room = BB_QUOTE_BYTES - sizeof cut - 2;
    size_t kept = length <= room ? length : bb_text_cut(text, room);
    if (length == 0)
        return "nothing";
    (void)snprintf(quoted, BB_QUOTE_BYTES, "\"%.*s%s\"", (int)kept, text, kept < length ? cut : "");
    for (char *at = quoted; *at != '\0'; at++)
        if (*at == '\n' || *at == '\t')
            *at = ' ';
    return quoted;
}

const char *bb_quote(const char *text, char quoted[BB_QUOTE_BYTES])
{
    return bb_quote_part(text, strlen(text), quoted);
}
