/* The cautions that the program shows, in one place. */
#ifndef CAUTIONS_H
#define CAUTIONS_H

#include <stddef.h>

/* Each a short heading and its sentence; ends with a row without a heading. */
typedef struct {
    const char *heading, *sentence;
} caution;
extern const caution cautions[];

void say_cautions(void);
void say_caution(const char *heading); /* the one under this heading */

#endif
