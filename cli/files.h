/* The files of a visit: reading them whole or in pieces, and writing one so that the old or the
 * new is there, never half. Each function says on standard error what failed. */
#ifndef FILES_H
#define FILES_H

#include "outcome.h"

#include <stddef.h>

/* The whole file, NUL-terminated; the caller frees it. */
outcome file_read(const char *path, char **text, size_t *length);

/* Replace or make path: a temporary file beside it, flushed to the disk, then renamed. */
outcome file_write(const char *path, const char *text, size_t length);

/* Make path, which must not be there yet. */
outcome file_make(const char *path, const char *text);

/* FOLDER/NAME; the caller frees it. */
char *path_join(const char *folder, const char *name);

/* A visit's folder: beach.ini, kit.csv where there is one, sweeps.csv. The visit must be zeroed;
 * it is empty again on failure. */
outcome visit_read(const char *folder, bb_visit *visit);

/* Sweeps into a visit whose beach and kit were read, in pieces of constant size; a progress line
 * on a terminal when it takes longer than a second. A folder stands for its sweeps.csv. */
outcome sweeps_read(const char *path, bb_visit *visit);

#endif
