/* How to sweep, in ten lines. */
#ifndef SWEEPING_H
#define SWEEPING_H

extern const char *const sweeping[]; /* ends with NULL */

#endif
