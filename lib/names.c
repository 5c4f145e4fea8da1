/* Names: which are the same, which is the nearest to a misspelt one, where one stands in a list. */
#include "names.h"

#include "text.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

enum { LETTERS_MAX = BB_NAME_BYTES };

const char *bb_name_at(const bb_names *names, size_t position)
{
    return names->first + position * names->name_bytes;
}

static unsigned lower(unsigned letter)
{
    return letter >= 'A' && letter <= 'Z' ? letter + ('a' - 'A') : letter;
}

bool bb_same_word(const char *one, const char *other)
{
    while (*one != '\0' && lower((unsigned char)*one) == lower((unsigned char)*other)) {
        one++;
        other++;
    }
    return *one == *other;
}

long bb_name_find(const bb_names *names, const char *word)
{
    for (size_t i = 0; i < names->count; i++)
        if (strcmp(bb_name_at(names, i), word) == 0)
            return (long)i;
    return -1;
}

static size_t spell(const char *word, unsigned letters[LETTERS_MAX])
{
    size_t count = 0;
    while (*word != '\0' && count < LETTERS_MAX)
        letters[count++] = lower(bb_text_next(&word));
    return count;
}

static size_t smaller(size_t one, size_t other)
{
    return one < other ? one : other;
}

/* Insertions, deletions, replacements and swaps of neighbours (optimal string alignment). */
static size_t edit_distance(const unsigned *one, size_t ones, const unsigned *other, size_t others)
{
    size_t rows[3][LETTERS_MAX + 1];
    for (size_t j = 0; j <= others; j++)
        rows[0][j] = j;
    for (size_t i = 1; i <= ones; i++) {
        size_t *now = rows[i % 3], *last = rows[(i + 2) % 3], *before = rows[(i + 1) % 3];
        now[0] = i;
        for (size_t j = 1; j <= others; j++) {
            now[j] = last[j - 1] + (one[i - 1] != other[j - 1]);
            now[j] = smaller(now[j], smaller(last[j], now[j - 1]) + 1);
            if (i > 1 && j > 1 && one[i - 1] == other[j - 2] && one[i - 2] == other[j - 1])
                now[j] = smaller(now[j], before[j - 2] + 1);
        }
    }
    return rows[ones % 3][others];
}

const char *bb_nearest_name(const char *word, const char *names, size_t count, size_t name_bytes)
{
    unsigned letters[LETTERS_MAX], others[LETTERS_MAX];
    size_t length = spell(word, letters);
    const char *nearest = NULL;
    size_t least = SIZE_MAX;
    for (size_t i = 0; i < count; i++) {
        const char *name = names + i * name_bytes;
        size_t other = spell(name, others);
        size_t distance = edit_distance(letters, length, others, other);
        if (distance < least && 3 * distance <= (length > other ? length : other)) {
            least = distance;
            nearest = name;
        }
    }
    return nearest;
}

/* As many of the names as there is room for, after "one of". */
static void list_names(const bb_names *names, char *text, size_t size)
{
    static const char more[] = ", ...";
    size_t used = 0;
    for (size_t i = 0; i < names->count; i++) {
        const char *name = bb_name_at(names, i);
        size_t room = size - used - sizeof more;
        int length = snprintf(text + used, room, "%s%s", i == 0 ? "" : ", ", name);
        if (length < 0 || (size_t)length >= room) {
            (void)snprintf(text + used, sizeof more, "%s", more);
            return;
        }
        used += (size_t)length;
    }
}

bb_status bb_refuse_name(const bb_place *place, const char *word, const char *accepted,
                         const bb_names *names)
{
    char found[BB_QUOTE_BYTES], quoted[BB_QUOTE_BYTES], list[BB_TEXT_BYTES];
    const char *nearest = bb_nearest_name(word, names->first, names->count, names->name_bytes);
    if (nearest != NULL && *word != '\0')
        return bb_refuse(place, bb_quote(word, found), "%s; the nearest is %s", accepted,
                         bb_quote(nearest, quoted));
    list_names(names, list, sizeof list);
    return bb_refuse(place, bb_quote(word, found), "%s: %s", accepted, list);
}

bb_status bb_choice_read(const bb_place *place, const char *word, const bb_names *choices,
                         size_t *position)
{
    for (size_t i = 0; i < choices->count; i++) {
        if (bb_same_word(word, bb_name_at(choices, i))) {
            *position = i;
            return BB_OK;
        }
    }
    return bb_refuse_name(place, word, "one of these words", choices);
}

bb_status bb_name_read(const bb_place *place, const char *text, const char *what,
                       char name[BB_NAME_BYTES])
{
    char found[BB_QUOTE_BYTES];
    size_t length = strlen(text);
    if (length == 0 || length >= BB_NAME_BYTES || text[0] == '#' || strchr(text, '\n') != NULL)
        return bb_refuse(place, bb_quote(text, found),
                         "%s of 1 to %d bytes on one line, not starting with #", what,
                         BB_NAME_BYTES - 1);
    memcpy(name, text, length + 1);
    return BB_OK;
}

/* FNV-1a, 32 bits: its published offset and prime. */
static size_t first_slot(const char *word)
{
    uint32_t hash = 2166136261U;
    for (; *word != '\0'; word++)
        hash = (hash ^ (unsigned char)*word) * 16777619U;
    return (hash ^ hash >> 16) % BB_INDEX_SLOTS;
}

long bb_name_index_find(const bb_name_index *index, const bb_names *names, const char *word)
{
    size_t slot = first_slot(word);
    for (; index->slots[slot] != 0; slot = (slot + 1) % BB_INDEX_SLOTS) {
        size_t position = index->slots[slot] - 1U;
        if (strcmp(bb_name_at(names, position), word) == 0)
            return (long)position;
    }
    return -1;
}

void bb_name_index_add(bb_name_index *index, const bb_names *names, size_t position)
{
    size_t slot = first_slot(bb_name_at(names, position));
    while (index->slots[slot] != 0)
        slot = (slot + 1) % BB_INDEX_SLOTS;
    index->slots[slot] = (unsigned short)(position + 1);
}
