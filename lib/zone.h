/* What a zone is taken to be when its name is all that is known. */
#ifndef BB_ZONE_H
#define BB_ZONE_H

#include "names.h"

typedef struct {
    char name[8];
    double saturation;
} bb_wetness;

extern const bb_wetness bb_wetnesses[];
extern const bb_names bb_wetness_names;

bb_zone bb_zone_named(const char *name, const bb_beach *beach);

/* A name for a zone that is not reserved for the bench. */
bb_status bb_zone_name_read(const bb_place *place, const char *text, char name[BB_NAME_BYTES]);

/* Where a table by target and zone, air first, has its entry. */
static inline size_t bb_sweeps_index(size_t zone_count, size_t target, int zone)
{
    return target * (zone_count + 1) + (size_t)(zone - BB_ZONE_AIR);
}

#endif
