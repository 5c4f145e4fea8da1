/* Reading the sections of a profile, each into its part of the structure. */
#ifndef BB_PROFILE_READ_PARTS_H
#define BB_PROFILE_READ_PARTS_H

#include "json.h"

/* A section at its place. Each relies on those before it in this list. */
#define SECTION(name)                                                                              \
    bb_status name(const bb_json_source *source, const bb_json_place *place, const json_t *value,  \
                   bb_profile *profile)
SECTION(bb_read_machine);
SECTION(bb_read_beach);
SECTION(bb_read_zones);
SECTION(bb_read_targets);
SECTION(bb_read_parameters);
SECTION(bb_read_covariance);
SECTION(bb_read_noise);
SECTION(bb_read_sand);
SECTION(bb_read_data);
SECTION(bb_read_diagnostics);
SECTION(bb_read_finds);
#undef SECTION

/* A number of the machine's scale, and [low, high] of two such numbers. */
bb_status bb_read_scale_number(const bb_json_source *source, const bb_json_place *place,
                               const json_t *value, const bb_machine *machine, int *number);
bb_status bb_read_range(const bb_json_source *source, const bb_json_place *place,
                        const json_t *value, const bb_machine *machine, int *low, int *high);

/* Room for a list of at most high records; NULL with the status that says why. */
void *bb_records_room(const bb_json_source *source, const bb_json_place *place,
                      const json_t *value, size_t high, size_t size, bb_status *status);

/* Names stand first in their records, under this key, and differ; none is the reserved one (NULL: none is). */
bb_status bb_names_check(const bb_json_source *source, const bb_json_place *place,
                         const char *key, const void *items, size_t count, size_t size,
                         const char *reserved);

#endif
