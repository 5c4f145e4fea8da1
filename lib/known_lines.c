/* Lines that were read before: each has one slot, which the latest line that belongs there takes, so
 * that memory and the cost of a line stay the same whatever the lines are. A file of few lines needs
 * none. */
#include "known_lines.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { SLOT_BITS = 17, LINE_BYTES = 55, FEW_LINES = 64 };

typedef struct {
    size_t meaning;
    unsigned char length; /* 0: free */
    char line[LINE_BYTES];
} slot;

struct bb_known_lines {
    size_t offered; /* to FEW_LINES */
    slot *slots;    /* NULL before, and without memory: then nothing is kept */
};

/* Multiply and shift, with the 64-bit golden ratio, eight bytes at a time. */
static size_t slot_of(const char *line, size_t length)
{
    uint64_t hash = length, word;
    for (; length >= sizeof word; line += sizeof word, length -= sizeof word) {
        memcpy(&word, line, sizeof word);
        hash = (hash ^ word) * 0x9e3779b97f4a7c15U;
        hash ^= hash >> 32;
    }
    word = 0;
    for (size_t i = 0; i < length; i++)
        word = word << 8 | (unsigned char)line[i];
    return (size_t)((hash ^ word) * 0x9e3779b97f4a7c15U >> (64 - SLOT_BITS));
}

bb_known_lines *bb_known_lines_new(void)
{
    return calloc(1, sizeof(bb_known_lines));
}

void bb_known_lines_free(bb_known_lines *lines)
{
    if (lines != NULL)
        free(lines->slots);
    free(lines);
}

void bb_known_lines_keep(bb_known_lines *lines, const char *line, size_t length, size_t meaning)
{
    if (length == 0 || length > LINE_BYTES)
        return;
    if (lines->offered < FEW_LINES && ++lines->offered == FEW_LINES)
        lines->slots = calloc(1 << SLOT_BITS, sizeof *lines->slots);
    if (lines->slots == NULL)
        return;
    slot *at = &lines->slots[slot_of(line, length)];
    at->meaning = meaning;
    at->length = (unsigned char)length;
    memcpy(at->line, line, length);
}

bool bb_known_lines_find(const bb_known_lines *lines, const char *line, size_t length,
                         size_t *meaning)
{
    if (lines->slots == NULL || length == 0 || length > LINE_BYTES)
        return false;
    const slot *at = &lines->slots[slot_of(line, length)];
    if (at->length != length || memcmp(at->line, line, length) != 0)
        return false;
    *meaning = at->meaning;
    return true;
}
