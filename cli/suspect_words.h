/* Sweeps that a profile finds hard to believe, in words and as JSON. */
#ifndef SUSPECT_WORDS_H
#define SUSPECT_WORDS_H

#include "brineband.h"

#include <jansson.h>

/* A sentence for each of the first shown of them, and how many more there are. */
void say_suspects(const bb_visit *visit, const bb_suspect *suspects, size_t count, size_t shown);

json_t *suspects_json(const bb_visit *visit, const bb_suspect *suspects, size_t count);

#endif
