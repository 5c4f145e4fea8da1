/* Lists: copies, and room for more. */
#include "copy.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

void *bb_copy(const void *from, size_t count, size_t size)
{
    void *copy = calloc(count + 1, size);
    if (copy != NULL && count > 0)
        memcpy(copy, from, count * size);
    return copy;
}

void *bb_grown(void *list, size_t needed, size_t *room, size_t size)
{
    enum { FIRST_ROOM = 16 };
    if (needed <= *room)
        return list;
    const size_t more = needed < FIRST_ROOM ? FIRST_ROOM : 2 * needed;
    void *larger = more <= SIZE_MAX / size ? realloc(list, more * size) : NULL;
    if (larger != NULL)
        *room = more;
    return larger;
}
