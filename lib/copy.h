/* Lists: copies, and room for more. */
#ifndef BB_COPY_H
#define BB_COPY_H

#include <stddef.h>

/* count items and room for one more, so that an empty list is not NULL either; NULL without memory. */
void *bb_copy(const void *from, size_t count, size_t size);

/* The list with room for needed items (at least 1): the same, or a larger one in its place. *room:
 * items that it has room for. NULL without memory, the list then as it was. */
void *bb_grown(void *list, size_t needed, size_t *room, size_t size);

#endif
