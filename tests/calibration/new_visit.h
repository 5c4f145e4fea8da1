/* Whether a new visit lies where its club says. */
#ifndef NEW_VISIT_H
#define NEW_VISIT_H

#include <stdbool.h>

/* So many clubs of each size and doubt; prints a table. */
bool new_visits_run(int clubs, unsigned long seed);

#endif
