/* A profile on the disk, also under the name of its visit's folder. */
#ifndef PROFILE_FILE_H
#define PROFILE_FILE_H

#include "outcome.h"

#include <stdbool.h>

/* A profile.json, or the one in a visit's folder; warns when that folder's own files are newer. */
outcome profile_read(const char *path, bb_profile **profile);

outcome profile_write(const char *path, const bb_profile *profile, bool with_place);

#endif
