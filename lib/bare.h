/* Counting the sweeps of bare sand, in the order they were made. */
#ifndef BB_BARE_H
#define BB_BARE_H

#include "brineband.h"

enum { BB_BARE_TAIL = 5 };

/* The latest numbers, which are compared with all before them. */
typedef struct {
    int numbers[BB_BARE_TAIL];
    int held, oldest;
} bb_bare_tail;

void bb_bare_begin(bb_bare *bare);

/* sweep: one cell's worth, with nothing rejected. */
void bb_bare_add(bb_bare *bare, bb_bare_tail *tail, const bb_machine *machine,
                 const bb_cell *sweep);

/* Settles the range of the last numbers. */
void bb_bare_end(bb_bare *bare, const bb_bare_tail *tail);

#endif
