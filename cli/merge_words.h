/* What merge says of a club's visits: their agreement as a table and a forest plot. */
#ifndef MERGE_WORDS_H
#define MERGE_WORDS_H

#include "brineband.h"
#include "out.h"

typedef struct {
    const char *const *paths;
    bb_merge_fate *fates;
    size_t count;
    bb_merge *merge;
    bb_profile *club;
    const bb_merge_quantity *quantities;
    size_t quantity_count;
    const char *output;
} merging;

void merge_say(const merging *of, bool verbose);

/* What the club should measure next; the caller frees it. */
char *merge_next(const merging *of);

/* A quantity's kind as JSON names it, and whether its figures are logarithms. */
const char *merge_kind_key(bb_merge_kind kind);
bool merge_kind_is_logarithm(bb_merge_kind kind);

#endif
