/* Lines that were read before, and the number that stands for what each said. */
#ifndef BB_KNOWN_LINES_H
#define BB_KNOWN_LINES_H

#include <stdbool.h>
#include <stddef.h>

typedef struct bb_known_lines bb_known_lines;

/* NULL when there is no memory. */
bb_known_lines *bb_known_lines_new(void);
void bb_known_lines_free(bb_known_lines *lines);

/* A line may be forgotten for another; long ones are never kept. */
void bb_known_lines_keep(bb_known_lines *lines, const char *line, size_t length, size_t meaning);
bool bb_known_lines_find(const bb_known_lines *lines, const char *line, size_t length,
                         size_t *meaning);

#endif
