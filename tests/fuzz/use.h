/* A profile put to every use it has. */
#ifndef USE_H
#define USE_H

#include "brineband.h"

/* Writing and reading leave its text as it is; the caller frees that. */
char *use_written(const bb_profile *profile);

/* Predict every target near and far; choose bands; judge a number; merge it with itself. */
void use_profile(const bb_profile *profile);

#endif
