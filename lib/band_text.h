/* Bands of numbers written as text. */
#ifndef BB_BAND_TEXT_H
#define BB_BAND_TEXT_H

#include "place.h"

/* As bb_bands_read, with the place of the text. */
bb_status bb_bands_read_at(const bb_place *place, const char *text, const bb_machine *machine,
                           bb_bands *bands);

/* Must the text be meant as bands: digits, dashes, commas and spaces alone, or a band at its start? */
bool bb_bands_meant(const char *text);

/* Refuses a text that is no number of the scale. */
bb_status bb_refuse_quoted(const bb_place *place, const char *found, const bb_machine *machine);
bb_status bb_refuse_number(const bb_place *place, const char *text, const bb_machine *machine);

#endif
