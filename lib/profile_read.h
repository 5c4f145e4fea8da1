/* A profile out of a parsed tree, trusted in nothing. */
#ifndef BB_PROFILE_READ_H
#define BB_PROFILE_READ_H

#include "json.h"

bb_status bb_profile_from_tree(const bb_json_source *source, bb_profile **profile);

#endif
