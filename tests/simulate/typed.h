/* A visit as the searcher types it, three files, given to the library to read. */
#ifndef TYPED_H
#define TYPED_H

#include <stdio.h>

#include "brineband.h"

enum { TYPED_FILES = 3 };
extern const char *const typed_file[TYPED_FILES]; /* beach.ini, kit.csv, sweeps.csv */

/* Prints each file of what is typed and has it read; on an error visit holds nothing. */
bb_status typed_read(void (*print)(const void *what, size_t file, FILE *out), const void *what,
                     bb_visit *visit, bb_error *error);

#endif
