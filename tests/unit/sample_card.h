/* Cards of invented beaches: what each thing shows is a normal curve, so that the drawing can be
 * tested without a fit. */
#ifndef SAMPLE_CARD_H
#define SAMPLE_CARD_H

#include "../../cli/draw_card.h"

typedef struct {
    const char *name; /* and its group, after a bar: "stud|small gold" */
    double mean, sd;
} sample_piece;

typedef struct {
    const char *title;
    int low, high, step;
    bb_bands bands, now;
    size_t zone_count;
    double sand_mean, sand_sd;
    const sample_piece *pieces; /* ends with a row without a name */
    bb_verdict verdict;
    bb_proof proof;
    bool own; /* the bands are the user's */
    bool dated;
    const char *words; /* the machine's name and settings */
} sample;

extern const sample samples[];
extern const size_t sample_count;

/* The card of a sample, and what it rests on. */
struct made_card {
    struct card card;
    bb_profile *profile;
    bb_reject *reject;
    bb_number_ranges *ranges;
};
void sample_make(const sample *from, struct made_card *made);
void sample_free(struct made_card *made);

#endif
