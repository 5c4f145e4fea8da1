/* An invented profile that has something in every field. */
#ifndef SAMPLE_PROFILE_H
#define SAMPLE_PROFILE_H

#include "brineband.h"

/* Its arrays are static: not to be freed. */
bb_profile sample_profile(void);

#endif
