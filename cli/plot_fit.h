/* A fit in pictures: the machine's curve, what was read off what was expected, and every piece's
 * number against depth. */
#ifndef PLOT_FIT_H
#define PLOT_FIT_H

#include "draw_page.h"

/* Draw it; page_write writes it. */
outcome plot_fit(page_format format, const bb_visit *visit, const bb_profile *profile,
                 struct page *drawn);

#endif
