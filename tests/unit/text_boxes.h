/* Whether the texts of a page can all be read. Each fails the running test, with the title given.
 */
#ifndef TEXT_BOXES_H
#define TEXT_BOXES_H

#include "../../cli/draw_page.h"

/* Every text lies within the page, with a small margin. */
void check_none_cut(const struct page *page, const char *title);

/* No text's ink touches another's. */
void check_none_over_another(const struct page *page, const char *title);

#endif
