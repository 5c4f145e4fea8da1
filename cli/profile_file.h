/* A profile on the disk, also under the name of its visit's folder. */
#ifndef PROFILE_FILE_H
#define PROFILE_FILE_H

#include "outcome.h"

#include <stdbool.h>

/* A profile.json, or the one in a visit's folder; warns when that folder's own files are newer. */
outcome profile_read(const char *path, bb_profile **profile);

/* Whether a visit's folder holds a profile, and one that its files have not outrun. */
typedef enum { PROFILE_NONE, PROFILE_STALE, PROFILE_CURRENT } profile_state;
profile_state profile_state_of(const char *folder);

outcome profile_write(const char *path, const bb_profile *profile, bool with_place);

#endif
