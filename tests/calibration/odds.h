/* Whether judge's odds come true as often as they say. */
#ifndef ODDS_H
#define ODDS_H

#include <stdbool.h>

/* So many finds invented from one fitted visit, called by one reading and by three: how often something
 * worth keeping came in each tenth of the odds. False where a tenth lies outside its limits, or three
 * readings are no better than one. */
bool odds_run(int finds, unsigned long seed);

#endif
