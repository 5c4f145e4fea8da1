/* A small visit whose pieces are spheres, so that it is fitted in milliseconds. */
#ifndef SMALL_VISIT_H
#define SMALL_VISIT_H

#include "brineband.h"

/* Zones wet and damp; a stud, a bead, a ball and a bolt of steel. The caller frees the profile. */
bb_profile *small_profile(void);

#endif
