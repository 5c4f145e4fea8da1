/* The sheet of a plan: where to go, what to sweep, and a box for every number read. */
#ifndef DRAW_SHEET_H
#define DRAW_SHEET_H

#include "draw_page.h"

struct sheet_row {
    char *what, *how; /* "wet: silver coin", "buried 8 cm, on a string" */
    int boxes;        /* sweeps */
};

struct sheet {
    const bb_machine *machine;
    const bb_beach *beach;
    char *times;            /* how long it takes */
    struct sheet_row *rows; /* in walking order */
    size_t count;
};

/* A4 upright. */
page_kind sheet_page(const char *title, const char *description);
void draw_sheet(struct page *page, const struct sheet *sheet);

#endif
