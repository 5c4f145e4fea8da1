/* What may lie under a number: the pieces of the kit and of the catalogue, by group. */
#ifndef BB_CANDIDATES_H
#define BB_CANDIDATES_H

#include "brineband.h"

typedef struct {
    bb_target target;
    int known;     /* its index in the kit, -1 for a piece of the catalogue */
    double sd_log; /* of a catalogue piece's time constant, NAN for the usual one */
    double share;  /* of its group */
    bool ferrous;
    size_t group;
} bb_candidate;

typedef struct {
    char name[BB_NAME_BYTES];
    bool keep; /* some piece of it is worth keeping */
} bb_candidate_group;

typedef struct {
    bb_candidate *at;
    size_t count;
    bb_candidate_group groups[BB_CLASSES_MAX]; /* the last is bare sand, which has no candidates */
    size_t group_count;
} bb_candidates;

/* The kit's name hides the catalogue's. A layered coin of the catalogue comes worn as well, for half
 * of its share. BB_MEMORY. */
bb_status bb_candidates_new(const bb_profile *profile, bool only_kit, bb_candidates *candidates);
void bb_candidates_free(bb_candidates *candidates);

/* Index of a group, or group_count. */
size_t bb_candidate_group_find(const bb_candidates *candidates, const char *name);

#endif
