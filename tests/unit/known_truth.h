/* The library's model set to a truth that the simulator drew. */
#ifndef KNOWN_TRUTH_H
#define KNOWN_TRUTH_H

#include "model.h"
#include "simulate/simulate.h"

/* The truth's parameters in the order of a model of the same visit; theta: room for its count.
 * Not for the departing family, whose truth is no set of parameters. */
void known_theta(const truth *t, const bb_model *model, double *theta);
bb_noise_level known_noise(const truth *t);

/* A model of what the searcher typed. Free with bb_model_free. */
bb_model *known_model(const truth *t);

/* A profile that knows the truth: its parameters without doubt, no bare sand counted. Free with
 * bb_profile_free. */
bb_profile *known_profile(const truth *t);

#endif
