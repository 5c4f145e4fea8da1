/* Words for an invented round, on the screen and on paper. */
#ifndef PRACTISE_WORDS_H
#define PRACTISE_WORDS_H

#include "brineband.h"

/* The caller frees each. */
char *readings_words(const bb_round *round); /* "17 18 17" */
char *truth_words(const bb_round *round);    /* "foil (scrap), 4 cm deep" */
char *groups_words(const bb_judgement *any); /* all that can be met: "bare sand, foil, gold" */

#endif
