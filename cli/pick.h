/* Zones, targets and bands that a command line names, found in a profile. Each says on standard
 * error what is wrong, with the nearest known name, and ends as a wrong command line. */
#ifndef PICK_H
#define PICK_H

#include "outcome.h"

/* air_too: "air" is accepted, and gives BB_ZONE_AIR. */
outcome pick_zone(const char *command, const bb_profile *profile, const char *name, bool air_too,
                  int *zone);

/* No zone was named where one is needed: says which there are. */
outcome pick_zone_missing(const char *command, const bb_profile *profile);

/* "sand" gives BB_TARGET_SAND. *target -2 where the kit has no such name but the catalogue does;
 * then *other is that row and *sd_log its spread. */
enum { PICKED_FROM_CATALOGUE = -2 };
outcome pick_target(const char *command, const bb_profile *profile, const char *name, int *target,
                    bb_target *other, double *sd_log);

outcome pick_bands(const char *command, const bb_machine *machine, const char *text,
                   bb_bands *bands);

#endif
