/* Numbers, dates and times of day as they are accepted in files, whatever the locale. */
#ifndef BB_NUMBER_H
#define BB_NUMBER_H

#include <stdbool.h>

/* The whole text as a finite decimal number: sign, digits, point, exponent; nothing else. Rounded
 * correctly up to 15 digits with a power of ten up to 22, to one unit in the last place beyond. */
bool bb_number_read(const char *text, double *value);

/* A whole number of at most nine digits at the text's start; *end is what follows it. */
bool bb_whole_start(const char *text, const char **end, long *value);

/* The whole text as a whole number of at most nine digits. */
bool bb_whole_read(const char *text, long *value);

/* HH:MM, 00:00 to 23:59 (or H:MM), as minutes after midnight. */
bool bb_clock_read(const char *text, int *minutes);

/* Is the text a day of the Gregorian calendar, YYYY-MM-DD, from 1900 on? */
bool bb_date_accepted(const char *text);

#endif
