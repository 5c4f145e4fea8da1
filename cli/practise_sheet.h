/* The practice sheet of one zone: a lesson on paper. */
#ifndef PRACTISE_SHEET_H
#define PRACTISE_SHEET_H

#include "outcome.h"

/* Draw rounds of so many readings, and the kit's own numbers, to path (.pdf, .png or .svg). */
outcome practise_sheet_write(const char *path, const bb_profile *profile, int zone,
                             const bb_judge *judge, bb_practice *practice, size_t readings);

#endif
