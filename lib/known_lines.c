/* Lines that were read before: each has one slot, which the latest line that belongs there takes, so
 * that memory and the cost of a line stay the same whatever the lines are. A file of few lines needs
 * none. */
#include "known_lines.h"

#include <stdlib.h>
#include <string.h>

enum { SLOT_BITS = 14, FEW_LINES = 64 };

typedef struct {
    uint32_t like;        /* its meaning when it was first kept */
    unsigned char length; /* 0: free */
    char line[BB_KNOWN_LINE_BYTES];
} slot;

struct bb_known_lines {
    size_t kinds;
    size_t offered;     /* to FEW_LINES */
    slot *slots;        /* NULL before, and without memory: then nothing is kept */
    uint32_t *meanings; /* kinds of each slot; 0 where unknown, else the meaning + 1 */
};

/* Multiply and shift, with the 64-bit golden ratio, eight bytes at a time: the last eight may have
 * been among those before. */
static size_t slot_of(const char *line, size_t length)
{
    uint64_t hash = length, word = 0;
    const size_t whole = length > sizeof word ? length - sizeof word : 0;
    for (size_t at = 0; at < whole; at += sizeof word) {
        memcpy(&word, line + at, sizeof word);
        hash = (hash ^ word) * 0x9e3779b97f4a7c15U;
        hash ^= hash >> 32;
    }
    if (length >= sizeof word)
        memcpy(&word, line + length - sizeof word, sizeof word);
    else
        memcpy(&word, line, length);
    return (size_t)((hash ^ word) * 0x9e3779b97f4a7c15U >> (64 - SLOT_BITS));
}

bb_known_lines *bb_known_lines_new(size_t kinds)
{
    bb_known_lines *made = calloc(1, sizeof *made);
    if (made != NULL)
        made->kinds = kinds;
    return made;
}

static void forget_all(bb_known_lines *lines)
{
    free(lines->slots);
    free(lines->meanings);
    lines->slots = NULL;
    lines->meanings = NULL;
}

void bb_known_lines_free(bb_known_lines *lines)
{
    if (lines != NULL)
        forget_all(lines);
    free(lines);
}

static void make_room(bb_known_lines *lines)
{
    const size_t slots = (size_t)1 << SLOT_BITS;
    lines->slots = calloc(slots, sizeof *lines->slots);
    lines->meanings = calloc(slots * lines->kinds, sizeof *lines->meanings);
    if (lines->slots == NULL || lines->meanings == NULL)
        forget_all(lines);
}

static bool holds(const slot *at, const char *line, size_t length)
{
    return at->length == length && memcmp(at->line, line, length) == 0;
}

void bb_known_lines_keep(bb_known_lines *lines, const char *line, size_t length, size_t kind,
                         uint32_t meaning)
{
    if (length == 0 || length > BB_KNOWN_LINE_BYTES || meaning == UINT32_MAX)
        return;
    if (lines->offered < FEW_LINES && ++lines->offered == FEW_LINES)
        make_room(lines);
    if (lines->slots == NULL)
        return;
    const size_t index = slot_of(line, length);
    slot *at = &lines->slots[index];
    uint32_t *meanings = &lines->meanings[index * lines->kinds];
    if (!holds(at, line, length)) {
        memset(meanings, 0, lines->kinds * sizeof *meanings);
        at->like = meaning;
        at->length = (unsigned char)length;
        memcpy(at->line, line, length);
    }
    meanings[kind] = meaning + 1;
}

bool bb_known_lines_find(const bb_known_lines *lines, const char *line, size_t length, size_t kind,
                         uint32_t *meaning, uint32_t *like)
{
    if (lines->slots == NULL || length == 0 || length > BB_KNOWN_LINE_BYTES)
        return false;
    const size_t index = slot_of(line, length);
    const uint32_t found = lines->meanings[index * lines->kinds + kind];
    const slot *at = &lines->slots[index];
    if (found == 0 || !holds(at, line, length))
        return false;
    *meaning = found - 1;
    *like = at->like;
    return true;
}
