/* What a profile rests on that was not learned on the beach, in plain words. */
#ifndef ASSUMED_H
#define ASSUMED_H

#include "brineband.h"

#include <jansson.h>
#include <stdbool.h>

void say_assumed(const bb_profile *profile); /* nothing when nothing was */
json_t *assumed_json(const bb_profile *profile);

#endif
