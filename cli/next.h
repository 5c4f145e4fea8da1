/* What a visit's files allow, and the one next thing to do, by counting what was swept. */
#ifndef NEXT_H
#define NEXT_H

#include "brineband.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    bool ready; /* nothing is missing: choose bands */
    char text[512];
} next_step;

/* Whether a zone's bare sand is to be pumped more often, and how often. */
bool next_bare_sand(const bb_zone *zones, const bb_bare *all, size_t count, char *text, size_t size);

/* profile: what was learned of it, or NULL. */
next_step next_after(const bb_visit *visit, const bb_profile *profile);

#endif
