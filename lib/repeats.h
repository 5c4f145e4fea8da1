/* Several readings of one piece. */
#ifndef BB_REPEATS_H
#define BB_REPEATS_H

#include "outlook.h"

/* numbers[i] was read counts[i] times. */
typedef struct {
    int numbers[BB_REPEATS_MAX];
    int counts[BB_REPEATS_MAX];
    size_t count;
} bb_repeats;

/* count: 1 to BB_REPEATS_MAX numbers, some of which may be the same. */
void bb_repeats_set(const int *numbers, size_t count, bb_repeats *repeats);

/* The chance of all of them from one piece, at equal steps of the error that they share. */
enum { BB_SHARED_STEPS = 129 };
typedef struct {
    int count;
    double first, step; /* in standard deviations of the shared error */
    double within;      /* variance within a step, where steps are too coarse to leave it out */
    double chance[BB_SHARED_STEPS];
} bb_repeats_chances;

void bb_repeats_chances_set(const bb_machine *machine, const bb_outlook_node *nodes, int count,
                            const bb_repeats *repeats, bb_repeats_chances *chances);

/* Their mean over a shared error that is normal about centre with this sd. */
double bb_repeats_mean(const bb_repeats_chances *chances, double centre, double sd);

/* The chance of one reading over the whole shared error, without steps. */
double bb_reading_chance(const bb_machine *machine, const bb_outlook_node *nodes, int count,
                         int reading);

/* Any reading may be an outlier, spread over the scale. */
#define BB_OUTLIER_SHARE 0.01
double bb_with_outliers(const bb_machine *machine, double chance);

#endif
