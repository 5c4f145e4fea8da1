/* Lists of names, the nearest one to a word that is none of them, and the names of zones. */
#ifndef NAMES_H
#define NAMES_H

#include "brineband.h"

typedef struct {
    char (*name)[BB_TEXT_BYTES];
    size_t count;
} name_list;

void names_add(name_list *list, const char *name);
const char *names_nearest(const name_list *list, const char *word); /* NULL when none is near */
void names_free(name_list *list);

/* What a zone is called, BB_ZONE_AIR too. */
const char *zone_or_air(const bb_zone *zones, int zone);

/* What a target is called, BB_TARGET_SAND too. */
const char *target_or_sand(const bb_target *targets, int target);

#endif
