/* All that may sound in a zone: each candidate at each depth where it is heard, ready to be held
 * against readings. */
#ifndef BB_SOUNDINGS_H
#define BB_SOUNDINGS_H

#include "candidates.h"
#include "outlook.h"

enum {
    BB_DRAWS = 64, /* of the parameters, for the range of what follows from them */
    BB_DEPTHS = 11 /* 0 to 20 cm, where the depth is not known */
};
#define BB_DEPTH_STEP_M 0.02

/* One candidate of one time constant at one depth, and others of the same that no reading parts. */
typedef struct {
    size_t candidate;
    double weight;          /* of its group, where they sum to one */
    size_t first;           /* of its nodes */
    int count;
    double shift[BB_DRAWS]; /* its shared error in each draw of the parameters */
    double left;            /* sd of that error which is the piece's own and not drawn */
} bb_sounding;

typedef struct {
    bb_sounding *at;
    size_t count, room;
    bb_outlook_node *nodes;
    size_t node_count, node_room;
    bool heard[BB_CLASSES_MAX]; /* the group has something that can be heard */
} bb_soundings;

/* depth_m: NAN for 0 to 20 cm, all alike. A candidate too deep to be heard through the salt is not
 * heard as itself, and has no sounding there. */
bb_status bb_soundings_new(const bb_predictor *predictor, const bb_candidates *candidates, int zone,
                           double depth_m, bb_soundings *soundings);
bb_status bb_candidate_pieces(const bb_predictor *predictor, const bb_candidate *candidate,
                              bb_pieces *pieces);
void bb_soundings_free(bb_soundings *soundings);

#endif
