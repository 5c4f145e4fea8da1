/* A body whose shape has been looked up once, ready to answer at any frequency. */
#ifndef BB_SHAPED_BODY_H
#define BB_SHAPED_BODY_H

#include "body_table.h"
#include "brineband.h"

enum { BB_SHAPED_PARTS = 6 };

/* A share of what a body of the tables answers. */
typedef struct {
    const bb_body_table *table;
    double weight;
    double moment;    /* alpha / (j omega) at low frequency, m^3 s */
    double log_scale; /* ln(mu0 sigma a^2), sigma in S/m, a in m */
    double features[BB_TABLE_FEATURES];
} bb_shaped_part;

/* A sphere has no parts: its closed form needs no look-up. */
typedef struct {
    bb_body body;
    int count;
    bb_shaped_part part[BB_SHAPED_PARTS];
} bb_shaped_body;

/* Whether sizes and metal make a body that can be computed. */
bool bb_is_body(const bb_body *body);

/* The body must be one by bb_is_body. */
bb_shaped_body bb_shaped_body_of(const bb_body *body);

/* Polarizability alpha (m^3) at omega > 0 rad/s, and its derivative by ln omega. */
void bb_shaped_body_answer(const bb_shaped_body *shaped, double omega, double complex *alpha,
                           double complex *slope);

#endif
