/* What fit found, in words and as JSON. */
#ifndef FIT_WORDS_H
#define FIT_WORDS_H

#include "learn.h"

#include <jansson.h>

enum { MISSES_SHOWN = 3, FIT_DEPTHS = 3 };

extern const double fit_depths_m[FIT_DEPTHS]; /* at which pieces are foretold */
extern const double fit_air_gap_m;

struct fit_findings {
    const char *folder, *path;
    const bb_visit *visit;
    const struct lesson *learned;
    bb_miss misses[MISSES_SHOWN]; /* none where the profile holds all that was read */
    size_t miss_count;
};

/* prior: NULL for none. verbose: the parameters and the evidence too. */
void fit_say(const struct fit_findings *of, const bb_profile *prior, bool verbose);

json_t *fit_json(const struct fit_findings *of);

/* A cell of the next row that was left out, NULL after the last; begin with NULL. */
const bb_cell *fit_next_left_out(const struct fit_findings *of, const bb_cell *cell);

#endif
