/* The sweeps that teach, as the fit weighs them: readings by place, and the rows they make. */
#ifndef BB_CELLS_H
#define BB_CELLS_H

#include "lack_of_fit.h"
#include "model.h"

/* One number read at one place so many times. */
typedef struct {
    double number;
    double count;  /* sweeps */
    double trust;  /* Huber's weight, 1 for a sweep that is believed */
    size_t row;    /* index of the residual it goes into */
    size_t source; /* index of the visit's cell */
} bb_reading;

/* All that was read at one zone, target, depth, height (and with drift, quarter of an hour). */
typedef struct {
    bb_point point;
    size_t first, count; /* its readings */
    double sweeps;
    bool same;       /* bare sand as the place before, at another hour: the same is expected */
    double laying;   /* sweeps of the same zone, target, depth and height at any hour: they share an
                        error of depth and what the model misses there */
    double variance; /* of one reading about the expectation, with rounding and depth error */
    bb_signal signal;
    /* for the noise terms: */
    bb_gradient gradient; /* of its expectation */
    double information;   /* of its readings on the expectation, times the variance of one */
    double beside;        /* variance that is not the noise terms': rounding and depth error */
    double least_trust, most_trust; /* noted where a fit swings, as far as the salt has a say */
} bb_site;

/* One residual: the trusted mean of a place's readings, or its readings at one end of the scale,
 * which only say "at most" (side -1) or "at least" (side 1). */
typedef struct {
    size_t place;
    int side;
    double many; /* trusted sweeps */
    double mean; /* of their numbers */
} bb_row;

typedef struct {
    bb_reading *readings;
    size_t reading_count;
    bb_site *places;
    size_t place_count;
    bb_row *rows;
    size_t row_count;
} bb_cells;

/* The cells of a visit that teach (nothing rejected, a number shown), by place. BB_MEMORY. */
bb_status bb_cells_new(const bb_visit *visit, bb_cells *cells);
void bb_cells_free(bb_cells *cells);

/* Of one sweep at a place: less than a sweep where its laying has many. */
double bb_cells_worth(const bb_site *place);

/* The first place after this one of which something else is expected, or place_count. */
size_t bb_cells_next(const bb_cells *cells, size_t place);

/* What was read at a place beside what is expected there, by numbers a step apart. The readings share
 * the errors of their laying, which tell nothing of their spread. */
bb_replicates bb_cells_replicates(const bb_cells *cells, size_t place, double step,
                                  const bb_expected *expected);

/* Were both swept in one zone, over one target, at one depth and height? */
bool bb_same_laying(const bb_cell *a, const bb_cell *b);

/* Hours between the first and last timed sweep over sand: NAN, or the hour half way when they are
 * more than half an hour apart, about which the salt level drifts. */
double bb_drift_hour(const bb_visit *visit);

/* Set every place's signal and variance, every reading's trust and every row's weight. */
bb_status bb_cells_weigh(bb_cells *cells, const bb_state *state);

/* Readings that teach nothing, for the sand may have drowned their piece. */
size_t bb_cells_lost(const bb_cells *cells);

/* Note how far each place is trusted now not to be lost to the salt: begin with the first note. */
void bb_cells_note_trust(bb_cells *cells, bool first);

/* Whether the trust of any place was noted to swing, and flags, one a cell of the visit, of the
 * readings there, unless NULL. */
bool bb_cells_undecided(const bb_cells *cells, bool *undecided);

/* Set every place's signal and what the noise terms need of it. */
bb_status bb_cells_ready(bb_cells *cells, const bb_state *state);

/* A row's residual at an expectation, and its slope by it. */
double bb_row_residual(const bb_machine *machine, const bb_cells *cells, const bb_row *row,
                       double expectation, double *slope);

/* Chance of one whole number from a node: the normal of mean and sd over the number's interval,
 * open at the ends of the scale. */
double bb_number_chance(const bb_machine *machine, int number, double mean, double sd);

/* The same of all numbers from low to high. */
double bb_band_chance(const bb_machine *machine, int low, int high, double mean, double sd);

#endif
