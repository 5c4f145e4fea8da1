/* The card: one page to carry on the beach. */
#ifndef DRAW_CARD_H
#define DRAW_CARD_H

#include "card_words.h"
#include "draw_page.h"

/* A5 upright, or the shape of a phone's screen. */
page_kind card_page(bool phone, const char *title, const char *description);

/* Lay the card out over the whole page, as large as it fits. */
void draw_card(struct page *page, const struct card *card);

#endif
