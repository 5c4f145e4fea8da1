/* The groups of targets that the program knows by name. */
#ifndef BB_GROUPS_H
#define BB_GROUPS_H

#include "brineband.h"

typedef struct {
    const char *name;
    bool keep; /* must its targets still sound, unless the kit says otherwise? */
} bb_group;

/* The group of that name, whatever its case and spaces; NULL for a word of the user's own. */
const bb_group *bb_group_find(const char *word);

/* The group whose name a word nearly is, or NULL. */
const bb_group *bb_group_near(const char *word);

#endif
