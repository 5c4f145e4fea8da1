/* An ini file as a run of headings and entries, each with its place. */
#ifndef BB_INI_TEXT_H
#define BB_INI_TEXT_H

#include "place.h"

typedef struct {
    /* name: the words between the brackets. */
    bb_status (*heading)(void *context, const char *name, const bb_place *place);
    /* key_place and value_place: line, and byte in it. An entry above all headings comes too. */
    bb_status (*entry)(void *context, const char *key, const char *value, const bb_place *key_place,
                       const bb_place *value_place);
    void *context;
} bb_ini_form;

bb_status bb_ini_read(const bb_ini_form *form, const char *text, size_t length, const char *path,
                      bb_error *error);

#endif
