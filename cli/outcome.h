/* How a command ends: its exit status, and the sentence about it on standard error. */
#ifndef OUTCOME_H
#define OUTCOME_H

#include "brineband.h"

#include <stdarg.h>

typedef enum {
    OUTCOME_DONE = 0,
    OUTCOME_COMMAND_LINE = 2, /* wrong command line */
    OUTCOME_INPUT = 3,        /* a file says what is not accepted */
    OUTCOME_TOO_LITTLE = 4,   /* the data cannot support an answer */
    OUTCOME_SYSTEM = 5        /* file or memory */
} outcome;

/* Say what went wrong on standard error and return how the command ends. */
outcome fail(bb_status status, const bb_error *error);
outcome fail_command(const char *format, ...) __attribute__((format(printf, 1, 2)));
outcome fail_system(const char *path, const char *doing); /* the reason is errno's */

/* One sentence on standard error; the command goes on. */
void warn(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* calloc and realloc that end the program with OUTCOME_SYSTEM when memory runs out. */
void *need(size_t count, size_t size);
void *need_more(void *block, size_t count, size_t size);
char *need_text(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* A path as a shell takes it, in quotation marks where it needs them. */
char *need_word(const char *path);
char *need_text_of(const char *format, va_list arguments);
/* text, which it releases, with more words behind it. */
char *need_longer(char *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
