/* Structures as JSON objects: one table of fields serves the writer and the checking reader. */
#ifndef BB_JSON_FIELDS_H
#define BB_JSON_FIELDS_H

#include "json.h"
#include "quantity.h"

typedef enum {
    BB_FIELD_NUMBER,   /* double; NAN where there is none */
    BB_FIELD_QUANTITY, /* likewise: SI here, in the file in the unit and range of a quantity */
    BB_FIELD_WHOLE,    /* int */
    BB_FIELD_COUNT,    /* size_t */
    BB_FIELD_FLAG,     /* bool */
    BB_FIELD_WORDS,    /* char[high + 1]; "" where there is none */
    BB_FIELD_CHOICE,   /* an enumeration, by name */
    BB_FIELD_OTHER     /* known here, written and read by the caller */
} bb_field_kind;

typedef enum {
    BB_REQUIRED,
    BB_NULLABLE, /* null where there is none */
    BB_OPTIONAL  /* left out where there is none */
} bb_presence;

typedef struct {
    const char *key;
    bb_field_kind kind;
    bb_presence presence;
    size_t offset;
    double low, high; /* accepted; of words the bytes */
    bb_quantity quantity;
    const char *const *names; /* of a choice, ended by NULL */
} bb_field;

/* A table of fields with its length. */
typedef struct {
    const bb_field *field;
    size_t count;
} bb_fields;

/* An object with these fields in this order (BB_FIELD_OTHER left out). A number that JSON cannot
 * hold is null; words are not checked. NULL when memory ran out. */
json_t *bb_fields_write(const bb_fields *fields, const void *from);

/* Read an object, refusing unknown and missing keys and values that are not accepted. */
bb_status bb_fields_read(const bb_json_source *source, const bb_json_place *place,
                         const json_t *value, const bb_fields *fields, void *into);

/* Read every member of a list into items, which has the room, size bytes apart. */
bb_status bb_records_read(const bb_json_source *source, const bb_json_place *place,
                          const json_t *value, const bb_fields *fields, void *items, size_t size);

/* A list of count such objects, size bytes apart. */
json_t *bb_records_write(const bb_fields *fields, const void *items, size_t count, size_t size);

#endif
