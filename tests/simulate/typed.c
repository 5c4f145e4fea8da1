/* The three files of a visit, from print to read. */
#include "typed.h"

#include <stdlib.h>

const char *const typed_file[TYPED_FILES] = {"beach.ini", "kit.csv", "sweeps.csv"};

bb_status typed_read(void (*print)(const void *what, size_t file, FILE *out), const void *what,
                     bb_visit *visit, bb_error *error)
{
    static bb_status (*const readers[])(const char *, size_t, const char *, bb_visit *,
                                        bb_error *) = {bb_beach_read, bb_kit_read, bb_sweeps_read};
    bb_status status = BB_OK;
    *visit = (bb_visit){0};
    for (size_t file = 0; file < TYPED_FILES && status == BB_OK; file++) {
        char *text = NULL;
        size_t length = 0;
        FILE *out = open_memstream(&text, &length);
        if (out == NULL)
            return BB_MEMORY;
        print(what, file, out);
        status = fclose(out) == 0 ? readers[file](text, length, typed_file[file], visit, error)
                                  : BB_MEMORY;
        free(text);
    }
    if (status != BB_OK)
        bb_visit_free(visit);
    return status;
}
