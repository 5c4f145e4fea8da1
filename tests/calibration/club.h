/* Whether a club's profile makes up for a short visit. */
#ifndef CLUB_H
#define CLUB_H

#include <stdbool.h>

/* Many clubs of four full visits to one beach, and a fifth visit: full, short alone, short with the
 * club. False only where the program itself is at fault. */
bool clubs_run(int clubs, unsigned long first_seed);

#endif
