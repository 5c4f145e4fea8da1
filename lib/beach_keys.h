/* The keys of beach.ini, and what is being read of one. */
#ifndef BB_BEACH_KEYS_H
#define BB_BEACH_KEYS_H

#include "quantity.h"

enum bb_section_kind {
    BB_SECTION_MACHINE,
    BB_SECTION_BEACH,
    BB_SECTION_ZONE,
    BB_SECTIONS,
    BB_NO_SECTION = BB_SECTIONS
};

/* In the order of their sections; a zone's come last. */
enum {
    BB_KEY_NAME,
    BB_KEY_SETTINGS,
    BB_KEY_SCALE_LOW,
    BB_KEY_SCALE_HIGH,
    BB_KEY_SCALE_STEP,
    BB_KEY_FREQUENCY,
    BB_KEY_COIL,
    BB_KEY_REJECT_BANDS,
    BB_KEY_REJECT_NOW,
    BB_KEY_REJECT_BELOW,
    BB_KEY_PLACE_NAME,
    BB_KEY_DATE,
    BB_KEY_LOW_WATER,
    BB_KEY_TURN_BACK,
    BB_KEY_SWING_HEIGHT,
    BB_KEY_WATER,
    BB_KEY_SALINITY,
    BB_KEY_TEMPERATURE,
    BB_KEY_POROSITY,
    BB_KEY_SUSCEPTIBILITY,
    BB_KEY_BLACK_SAND,
    BB_KEY_WETNESS,
    BB_KEY_SATURATION,
    BB_KEY_DRY_LAYER,
    BB_KEY_ZONE_SUSCEPTIBILITY,
    BB_BEACH_KEYS
};

struct bb_beach_draft;
struct bb_beach_key {
    char name[20];
    enum bb_section_kind section;
    bb_status (*read)(struct bb_beach_draft *draft, const struct bb_beach_key *key,
                      const char *value, const bb_place *place);
    size_t offset; /* of the field in the section's struct */
    bb_quantity quantity;
};

/* What is being read. Values that lean on others wait for the end. */
struct bb_beach_draft {
    bb_error *error;
    const char *path;
    bb_machine machine;
    bb_beach beach;
    bb_zone zones[BB_ZONES_MAX];
    bool zone_susceptible[BB_ZONES_MAX]; /* its susceptibility was given */
    size_t zone_count;
    enum bb_section_kind section;
    bb_place headings[BB_SECTIONS]; /* of the latest of each kind, line 0 when none */
    bool seen[BB_BEACH_KEYS];       /* in this section, keys of a zone anew for each */
    bb_place places[BB_BEACH_KEYS]; /* of the values */
    char reject_now[BB_TEXT_BYTES], reject_below[BB_TEXT_BYTES];
    double typical_salinity, typical_saturation; /* of the word given, else NAN */
};

extern const struct bb_beach_key bb_beach_keys[BB_BEACH_KEYS];

#define BB_SEA_SALINITY 35.0 /* practical; typical, from memory */

#endif
