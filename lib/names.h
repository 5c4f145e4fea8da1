/* Words and names: when two are the same, which is nearest, where one stands in a list. */
#ifndef BB_NAMES_H
#define BB_NAMES_H

#include "place.h"

/* A list of names, each at the start of an element name_bytes long. */
typedef struct {
    const char *first;
    size_t count, name_bytes;
} bb_names;

/* A list of names from an array whose elements begin with a char array. */
#define BB_NAMES(array, count) ((bb_names){(const char *)(array), (count), sizeof *(array)})

const char *bb_name_at(const bb_names *names, size_t position);

/* Equal but for capitals (ASCII letters). */
bool bb_same_word(const char *one, const char *other);

/* Position of the word in the list, or -1. */
long bb_name_find(const bb_names *names, const char *word);

/* Refuses a word: what is accepted, and the nearest name of the list, or else the whole list. */
bb_status bb_refuse_name(const bb_place *place, const char *word, const char *accepted,
                         const bb_names *names);

/* Position of a word of a closed list, capitals aside; refuses another. */
bb_status bb_choice_read(const bb_place *place, const char *word, const bb_names *choices,
                         size_t *position);

/* A name as the user may give it: 1 to BB_NAME_BYTES - 1 bytes on one line, no '#' first. */
bb_status bb_name_read(const bb_place *place, const char *text, const char *what,
                       char name[BB_NAME_BYTES]);

/* Where names stand, for lists that are searched once a row. Zeroed, it is empty. */
enum { BB_INDEX_SLOTS = 4096, BB_INDEX_MAX = 1024 };
typedef struct {
    unsigned short slots[BB_INDEX_SLOTS]; /* position + 1, 0 where free */
} bb_name_index;

long bb_name_index_find(const bb_name_index *index, const bb_names *names, const char *word);
void bb_name_index_add(bb_name_index *index, const bb_names *names, size_t position);

#endif
