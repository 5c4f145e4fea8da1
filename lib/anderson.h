/* Anderson's acceleration of a fixed-point iteration x <- g(x): from the last few steps it foresees
 * where they lead, also where the plain iteration creeps or swings (Anderson 1965, J. ACM 12:547;
 * Walker and Ni 2011, SIAM J. Numer. Anal. 49:1715). */
#ifndef BB_ANDERSON_H
#define BB_ANDERSON_H

#include "brineband.h"

enum { BB_ANDERSON_DEPTH = 4 };

typedef struct {
    size_t count;
    int held;        /* differences held, to BB_ANDERSON_DEPTH */
    bool started;
    double *x, *step; /* the last point and g(x) - x */
    double *by_x[BB_ANDERSON_DEPTH], *by_step[BB_ANDERSON_DEPTH]; /* their differences, newest last */
    double *room;
} bb_anderson;

/* count: of coordinates, all in units of like size. BB_MEMORY. */
bb_status bb_anderson_new(bb_anderson *history, size_t count);
void bb_anderson_free(bb_anderson *history);

/* Forget the steps: the iteration goes on from elsewhere. */
void bb_anderson_forget(bb_anderson *history);

/* Replace next, which is g(x), by the point to go on from. */
void bb_anderson_step(bb_anderson *history, const double *x, double *next);

#endif
