/* What a profile rests on that was not learned on the beach, in plain words. */
#ifndef ASSUMED_H
#define ASSUMED_H

#include "brineband.h"

#include <jansson.h>
#include <stdbool.h>

/* Nothing when nothing was; after a fit from an earlier profile it may have come from there. */
void say_assumed(const bb_profile *profile, bool from_earlier);
json_t *assumed_json(const bb_profile *profile);

#endif
