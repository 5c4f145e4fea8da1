/* A first lesson on one page: guess, sweep, see. */
#ifndef DRAW_LESSON_H
#define DRAW_LESSON_H

#include "draw_page.h"

/* A reading to guess at, and what it was. */
struct lesson_round {
    char *shown;  /* "17 18 17" */
    char *answer; /* "foil, 4 cm deep: leave it" */
};

/* A piece of the learner's own to sweep, and the numbers to expect. */
struct lesson_piece {
    char *piece;  /* "stud" */
    char *answer; /* "in air 27, on the sand 24" */
};

struct lesson {
    const char *zone; /* where all this is */
    char *things;     /* that may be met: "bare sand, stud, foil" */
    char *sand;       /* what bare sand reads there: "15-19" */
    int near;         /* a guess this many numbers off is still right */
    struct lesson_round *rounds;
    size_t round_count;
    struct lesson_piece *pieces;
    size_t piece_count;
};

/* A4 upright. The answers stand upside down below a line to fold back. */
page_kind lesson_page(const char *title, const char *description);
void draw_lesson(struct page *page, const struct lesson *lesson);

#endif
