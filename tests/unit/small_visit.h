/* A small visit whose pieces are spheres, so that it is fitted in milliseconds. */
#ifndef SMALL_VISIT_H
#define SMALL_VISIT_H

#include "brineband.h"

/* Zones wet and damp; a stud, a bead, a ball, a scrap of foil and a bolt. The caller frees the profile. */
bb_profile *small_profile(void);

/* The same of a visit by the texts of its files, each of which must be good. */
bb_profile *profile_of(const char *beach_ini, const char *kit_csv, const char *sweeps_csv);

#endif
