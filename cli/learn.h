/* Learning a visit's profile, with patience shown on a terminal. */
#ifndef LEARN_H
#define LEARN_H

#include "brineband.h"

enum { SUSPECTS_MOST = 64 };

struct lesson {
    bb_profile *profile;
    bb_predictor *predictor;
    bool *left_out;                     /* flags of the visit's cells that had to be left out */
    bb_suspect suspects[SUSPECTS_MOST]; /* whose number the profile carries */
    size_t suspect_count;
};

/* lesson: zeroed; free it whatever the outcome. */
bb_status learn(const bb_visit *visit, const bb_profile *prior, struct lesson *lesson,
                bb_error *error);
void lesson_free(struct lesson *lesson);

#endif
