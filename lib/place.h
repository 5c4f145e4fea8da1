/* A place in a file that is being read, and refusing what stands there. */
#ifndef BB_PLACE_H
#define BB_PLACE_H

#include "status.h"

typedef struct {
    bb_error *error; /* may be NULL */
    const char *path;
    long line; /* 0: not in a file, as an option of the command line */
    long column;
} bb_place;

enum { BB_QUOTE_BYTES = 64 };

/* Records "found ..., accepted ..." at the place and returns BB_INPUT. */
bb_status bb_refuse(const bb_place *place, const char *found, const char *accepted, ...)
    BB_PRINTF(3, 4);

/* The text between quotes, cut to the room there is, or the word nothing. Returns quoted. */
const char *bb_quote(const char *text, char quoted[BB_QUOTE_BYTES]);
const char *bb_quote_part(const char *text, size_t length, char quoted[BB_QUOTE_BYTES]);

#endif
