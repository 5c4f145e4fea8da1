/* What text is: UTF-8, its characters and where they may be cut. */
#include "text.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/* Unicode 15, table 3-7: the second byte's range after each first byte. */
static const struct {
    unsigned char first_low, first_high, second_low, second_high;
    size_t size;
} forms[] = {
    {0xc2, 0xc2, 0xa0, 0xbf, 2}, /* below U+00A0 stand control characters */
    {0xc3, 0xdf, 0x80, 0xbf, 2}, {0xe0, 0xe0, 0xa0, 0xbf, 3}, {0xe1, 0xec, 0x80, 0xbf, 3},
    {0xed, 0xed, 0x80, 0x9f, 3}, {0xee, 0xef, 0x80, 0xbf, 3}, {0xf0, 0xf0, 0x90, 0xbf, 4},
    {0xf1, 0xf3, 0x80, 0xbf, 4}, {0xf4, 0xf4, 0x80, 0x8f, 4},
};

static bool plain(unsigned char byte)
{
    return (byte >= 0x20 && byte < 0x7f) || byte == '\t';
}

/* Eight bytes, all plain: none beyond ASCII, below the space, or the delete character (bit tricks for
 * a byte below n and a byte that is zero: Anderson, from memory). A tab counts as not plain here. */
static bool eight_plain(const unsigned char *bytes)
{
    const uint64_t ones = UINT64_MAX / 255, tops = ones * 0x80;
    uint64_t word;
    memcpy(&word, bytes, sizeof word);
    const uint64_t deleted = word ^ ones * 0x7f;
    return ((word | (word - ones * 0x20) | (deleted - ones)) & tops) == 0;
}

/* Size of the well-formed character at bytes beyond ASCII, 0 when there is none. */
static size_t wide(const unsigned char *bytes, size_t length)
{
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        if (bytes[0] < forms[i].first_low || bytes[0] > forms[i].first_high)
            continue;
        if (length < forms[i].size || bytes[1] < forms[i].second_low ||
            bytes[1] > forms[i].second_high)
            return 0;
        for (size_t k = 2; k < forms[i].size; k++)
            if ((bytes[k] & 0xc0) != 0x80)
                return 0;
        return forms[i].size;
    }
    return 0;
}

size_t bb_text_accepted(const char *bytes, size_t length)
{
    const unsigned char *at = (const unsigned char *)bytes;
    size_t accepted = 0;
    while (accepted < length) {
        if (length - accepted >= 8 && eight_plain(at + accepted)) {
            accepted += 8;
            continue;
        }
        size_t size = plain(at[accepted]) ? 1 : wide(at + accepted, length - accepted);
        if (size == 0)
            break;
        accepted += size;
    }
    return accepted;
}

size_t bb_text_cut(const char *text, size_t most)
{
    while (most > 0 && ((unsigned char)text[most] & 0xc0) == 0x80)
        most--;
    return most;
}

unsigned bb_text_next(const char **text)
{
    const unsigned char *at = (const unsigned char *)*text;
    size_t size = at[0] < 0x80 ? 1 : wide(at, strlen(*text));
    unsigned character = size <= 1 ? at[0] : at[0] & (0x7fU >> size);
    for (size_t k = 1; k < size; k++)
        character = character << 6 | (at[k] & 0x3fU);
    *text += size == 0 ? 1 : size;
    return character;
}

size_t bb_text_mark(const char *bytes, size_t length)
{
    static const char mark[] = "\xef\xbb\xbf";
    return length >= 3 && memcmp(bytes, mark, 3) == 0 ? 3 : 0;
}
