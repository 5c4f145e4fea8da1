/* How far fitted parameters lie from the truth, in their own standard errors. */
#ifndef RECOVERY_H
#define RECOVERY_H

#include "simulate/simulate.h"

enum {
    RECOVER_RESIDUAL, /* ln A of a zone */
    RECOVER_ANGLE,
    RECOVER_JITTER,   /* ln J */
    RECOVER_WANDER,   /* ln w */
    RECOVER_READING,  /* ln s0 */
    RECOVER_TIME,     /* lambda */
    RECOVER_STRENGTH, /* beta */
    RECOVER_COUNT
};
extern const char *const recovery_name[RECOVER_COUNT];

typedef struct {
    double count[RECOVER_COUNT], sum[RECOVER_COUNT], square[RECOVER_COUNT];
    double within[RECOVER_COUNT];  /* of them, inside their 90 % interval */
    double learned[RECOVER_COUNT]; /* sum of sd / prior sd */
} recoveries;

void recovery_add(recoveries *sums, const truth *t, const bb_profile *profile);

#endif
