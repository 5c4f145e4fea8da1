/* Bands of numbers in words for people. */
#ifndef BAND_WORDS_H
#define BAND_WORDS_H

#include "brineband.h"

enum { BAND_BYTES = 32, BANDS_BYTES = BB_BANDS_MAX * BAND_BYTES };

/* "12-15", "12", "-20 to -15"; the buffer, of BAND_BYTES, is returned. */
const char *band_words(char *buffer, int low, int high);
/* "12-15, 33-34", or "none"; the buffer, of BANDS_BYTES, is returned. */
const char *bands_words(char *buffer, const bb_bands *bands);

#endif
