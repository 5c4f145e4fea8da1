/* Text as it is accepted in files: UTF-8 without control characters. */
#ifndef BB_TEXT_H
#define BB_TEXT_H

#include <stddef.h>

/* Bytes before the first that is not accepted in a line (length when all are): UTF-8 of the
 * Unicode standard, no control character but the tab. */
size_t bb_text_accepted(const char *bytes, size_t length);

/* The largest size at most `most` that cuts no character of the text in two. */
size_t bb_text_cut(const char *text, size_t most);

/* The next character of a text, whose place moves on. Not UTF-8: the byte itself. */
unsigned bb_text_next(const char **text);

/* Bytes of a UTF-8 byte order mark at the start, 3 or 0. */
size_t bb_text_mark(const char *bytes, size_t length);

#endif
