/* Lines that were read before, and the number that stands for what each said. A line may be of
 * several kinds, told from each other by something that is not kept with it, and has then a number
 * for each. */
#ifndef BB_KNOWN_LINES_H
#define BB_KNOWN_LINES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { BB_KNOWN_LINE_BYTES = 59 }; /* of a line that is kept, at most */

typedef struct bb_known_lines bb_known_lines;

/* kinds: of one line. NULL when there is no memory. */
bb_known_lines *bb_known_lines_new(size_t kinds);
void bb_known_lines_free(bb_known_lines *lines);

/* A line may be forgotten for another; long ones are never kept. */
void bb_known_lines_keep(bb_known_lines *lines, const char *line, size_t length, size_t kind,
                         uint32_t meaning);

/* like: of the kind that the line was when it was first kept. */
bool bb_known_lines_find(const bb_known_lines *lines, const char *line, size_t length, size_t kind,
                         uint32_t *meaning, uint32_t *like);

#endif
