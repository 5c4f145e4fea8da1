/* How wet a zone is, by word or by name. */
#include "zone.h"

#include <stdio.h>

/* Share of the pores that hold water: typical, from memory. */
const bb_wetness bb_wetnesses[] = {{"dry", 0.1}, {"damp", 0.5}, {"wet", 1.0}};
const bb_names bb_wetness_names = {bb_wetnesses[0].name, sizeof bb_wetnesses / sizeof *bb_wetnesses,
                                   sizeof *bb_wetnesses};

bb_zone bb_zone_named(const char *name, const bb_beach *beach)
{
    bb_zone zone = {
        .saturation = 1.0, .susceptibility = beach->susceptibility, .wetness_assumed = true};
    (void)snprintf(zone.name, sizeof zone.name, "%s", name);
    long wetness = bb_name_find(&bb_wetness_names, name);
    if (wetness >= 0) {
        zone.saturation = bb_wetnesses[wetness].saturation;
        zone.wetness_assumed = false;
    }
    return zone;
}

bb_status bb_zone_name_read(const bb_place *place, const char *text, char name[BB_NAME_BYTES])
{
    char found[BB_QUOTE_BYTES];
    if (bb_same_word(text, "air"))
        return bb_refuse(place, bb_quote(text, found),
                         "another name for a zone: air is the bench, away from the sand");
    return bb_name_read(place, text, "a name for a zone", name);
}
