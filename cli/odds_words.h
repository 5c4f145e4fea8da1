/* Odds with their range, in words and in JSON. */
#ifndef ODDS_WORDS_H
#define ODDS_WORDS_H

#include "out.h"

#include "brineband.h"

/* "41-66 %"; the buffer is returned. */
const char *odds_range(phrase *buffer, bb_odds odds);
/* "54 % (41-66 %)" */
const char *odds_words(phrase *buffer, bb_odds odds);

json_t *odds_json(bb_odds odds); /* null for NAN */

#endif
