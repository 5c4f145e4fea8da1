/* Copies of lists. */
#ifndef BB_COPY_H
#define BB_COPY_H

#include <stddef.h>

/* count items and room for one more, so that an empty list is not NULL either; NULL without memory. */
void *bb_copy(const void *from, size_t count, size_t size);

#endif
