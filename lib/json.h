/* JSON from strangers: bounded before it is parsed, and every refusal at its place in the text. */
#ifndef BB_JSON_H
#define BB_JSON_H

#include <jansson.h>

#include "status.h"

/* A parsed text; or, with text NULL, a tree that is about to be written and is checked as a reader
 * would check it: then refusals name the value instead of its line. */
typedef struct {
    const char *path;
    const char *text; /* after any byte order mark */
    size_t length;
    json_t *root;
    bb_error *error;
} bb_json_source;

/* Where a value stands: under a key of its parent or, when key is NULL, at an index of it.
 * The root is the place NULL. */
typedef struct bb_json_place {
    const struct bb_json_place *parent;
    const char *key;
    size_t index;
} bb_json_place;

enum {
    BB_JSON_BYTES_MAX = 8 << 20,
    BB_JSON_DEPTH_MAX = 16,
    BB_JSON_CONTAINERS_MAX = 1 << 16 /* objects and lists */
};

/* Parse UTF-8 within these bounds, without duplicate keys. BB_INPUT, BB_MEMORY. Afterwards bb_json_close, also after a failure. */
bb_status bb_json_open(bb_json_source *source, const char *text, size_t length, const char *path,
                       bb_error *error);
void bb_json_close(bb_json_source *source);

/* Refuse the value at a place (its parent, where the place holds none): BB_INPUT, or BB_RANGE for a
 * tree without text. found NULL: what stands there is described. */
bb_status bb_json_refuse(const bb_json_source *source, const bb_json_place *place,
                         const char *found, const char *format, ...) BB_PRINTF(4, 5);

/* Refuse a key, not its value. */
bb_status bb_json_refuse_key(const bb_json_source *source, const bb_json_place *place,
                             const char *accepted);

/* Whether a value (NULL: none) is a number, or a whole one (7.0 is), from low to high. */
bool bb_json_is_number(const json_t *value, double low, double high);
bool bb_json_is_whole(const json_t *value, double low, double high);
/* Whether words hold no control character: those reach terminals. */
bool bb_json_plain(const char *words);

/* The value, when it is a finite number from low to high. value may be NULL. */
bb_status bb_json_number(const bb_json_source *source, const bb_json_place *place,
                         const json_t *value, double low, double high, double *number);
/* The value, when it is a list of low to high members. value may be NULL. */
bb_status bb_json_list(const bb_json_source *source, const bb_json_place *place,
                       const json_t *value, size_t low, size_t high);

/* A tree as text with a final newline, malloc'd; NULL when memory ran out. What fits on a line and
 * every list of plain values is one line; numbers have the fewest digits that read back exactly. */
char *bb_json_text(const json_t *root);

/* An object or a list with one more member; NULL, and all released, when any of them is NULL or
 * memory ran out. */
json_t *bb_json_with(json_t *object, const char *key, json_t *value);
json_t *bb_json_append(json_t *list, json_t *value);

/* A number for a tree: null when it is not finite. NULL when memory ran out. */
json_t *bb_json_from_number(double number);

#endif
