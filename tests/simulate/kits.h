/* The invented kits and machines that visits are made with. */
#ifndef KITS_H
#define KITS_H

#include "simulate.h"

/* A row of kit.csv as a searcher would type it; empty or 0 where nothing is typed. */
typedef struct {
    const char *name, *shape, *material;
    double diameter_mm, thickness_mm, bore_mm, years;
    bool keep;
    const char *group;
    bool laid; /* on the sand in a quarter-hour visit */
} kit_row;

typedef struct {
    size_t count;
    const kit_row *row;
} kit_rows;

const kit_rows *kit_of(visit_kind kind);

/* Number scales of different lengths, ends and steps; those of step 1 and a usual length first. */
typedef struct {
    int low, high, step;
} number_scale;
enum { SCALES = 6, USUAL_SCALES = 3 };
extern const number_scale number_scales[SCALES];

#endif
