/* Bands of numbers in words for people. */
#include "band_words.h"

#include <stdio.h>
#include <string.h>

const char *band_words(char *buffer, int low, int high)
{
    if (low == high)
        (void)snprintf(buffer, BAND_BYTES, "%d", low);
    else
        (void)snprintf(buffer, BAND_BYTES, "%d%s%d", low, low < 0 ? " to " : "-", high);
    return buffer;
}

const char *bands_words(char *buffer, const bb_bands *bands)
{
    size_t length = 0;
    char band[BAND_BYTES];
    (void)snprintf(buffer, BANDS_BYTES, "none");
    for (int i = 0; i < bands->count; i++)
        length += (size_t)snprintf(buffer + length, BANDS_BYTES - length, "%s%s", i > 0 ? ", " : "",
                                   band_words(band, bands->band[i].low, bands->band[i].high));
    return buffer;
}
