/* A visit that any bytes stand for, as the three files a user would type. */
#ifndef DRAW_H
#define DRAW_H

#include <stddef.h>

typedef struct {
    char beach[1 << 11], kit[1 << 12], sweeps[1 << 14];
} drawn_visit;

void draw_visit(const unsigned char *bytes, size_t length, drawn_visit *visit);

#endif
