/* From a row of a kit to the body that answers. */
#ifndef BB_TARGET_H
#define BB_TARGET_H

#include "brineband.h"

/* What files and options call the forms, in the order of bb_shape. */
enum { BB_SHAPES = BB_SHAPE_OTHER + 1 };
extern const char bb_shape_words[BB_SHAPES][8];

/* Relative permeability above which a disc or ring is magnetic and has no computed body; stainless
 * steel stays below. */
#define BB_MAGNETIC 1.1

typedef enum {
    BB_KIND_BODY, /* computed: *body is set */
    BB_KIND_POLE, /* no shape or no size that makes a body */
    BB_KIND_IRON  /* magnetic, without a computed body */
} bb_target_kind;

/* A target of a group that nobody named, of no known shape, metal or size. */
bb_target bb_target_unknown(void);

/* The body that a target is at temperature_c (-2 to 60 degC) after its years in salt sand at a
 * corrosion severity (0 up, 1 as in reference/corrosion_rates.csv). What wastes away keeps a
 * hundredth of its thickness. BB_RANGE outside, or for sizes that contradict each other. */
bb_status bb_target_body(const bb_target *target, double temperature_c, double severity,
                         bb_body *body, bb_target_kind *kind);

/* What is assumed of iron without a computed body, lying flat, at a frequency in Hz. */
typedef struct {
    double angle_deg, angle_sd_deg;
} bb_iron;

/* A plated steel coin is fitted to open finite-element spectra of two, face on (25 um of nickel and
 * of copper over steel of permeability 200); edge on they lie up to three of its standard
 * deviations lower. Other iron: -40 degrees, give or take 30, common practice, no source. */
bb_iron bb_target_iron(const bb_target *target, double frequency_hz);

#endif
