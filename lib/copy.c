/* Copies of lists. */
#include "copy.h"

#include <stdlib.h>
#include <string.h>

void *bb_copy(const void *from, size_t count, size_t size)
{
    void *copy = calloc(count + 1, size);
    if (copy != NULL && count > 0)
        memcpy(copy, from, count * size);
    return copy;
}
