/* The groups of targets that the program knows by name. */
#ifndef BB_GROUPS_H
#define BB_GROUPS_H

#define BB_GROUP_SMALL_GOLD "small gold"
#define BB_GROUP_GOLD "gold"
#define BB_GROUP_SILVER "silver"
#define BB_GROUP_COIN "coin"
#define BB_GROUP_FOIL "foil"
#define BB_GROUP_JUNK "junk"
#define BB_GROUP_IRON "iron"
#define BB_GROUP_SAND "bare sand" /* where nothing lies */

#include <stdbool.h>

typedef struct {
    const char *name;
    bool keep; /* must its targets still sound, unless the kit says otherwise? */
} bb_group;

/* The group of that name, whatever its case and spaces; NULL for a word of the user's own. */
const bb_group *bb_group_find(const char *word);

#endif
