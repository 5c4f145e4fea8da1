/* Setting the caller's error record: the first error wins. */
#ifndef BB_STATUS_H
#define BB_STATUS_H

#include "brineband.h"

#define BB_PRINTF(text, rest) __attribute__((format(printf, text, rest)))

/* An error at a place in a file. found and accepted are copied, cut to their room. */
bb_status bb_error_at(bb_error *error, bb_status status, const char *path, long line, long column,
                      const char *found, const char *accepted);

/* An error that is not about a place: one whole sentence. */
bb_status bb_error_say(bb_error *error, bb_status status, const char *format, ...) BB_PRINTF(3, 4);

/* Says that memory ran out; returns BB_MEMORY. */
bb_status bb_out_of_memory(bb_error *error);

/* GSL aborts the program on an error unless it is told not to, which is done as the library is
 * loaded. A file that calls GSL and nothing of this one names it, so that a static link takes the
 * telling along. */
extern const char bb_gsl_is_quiet;
#define BB_CALLS_GSL __attribute__((used)) static const char *const bb_gsl_anchor = &bb_gsl_is_quiet

#endif
