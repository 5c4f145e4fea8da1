/* What must hold of anything that was read or computed, whatever the bytes were. */
#ifndef HOLD_H
#define HOLD_H

#include "brineband.h"

/* The entry that libFuzzer calls. */
int LLVMFuzzerTestOneInput(const unsigned char *bytes, size_t length);

/* Ends the process, naming what does not hold, so that the fuzzer keeps the input. */
void hold(bool condition, const char *what);

/* A refusal has its place, says what was found and accepted, and holds nothing that a terminal
 * obeys; success left the error alone. */
void hold_reading(bb_status status, const bb_error *error);

/* A refusal to compute says why, in words that a terminal does not obey. */
void hold_refusal(bb_status status, const bb_error *error);

/* Every quantity of the visit lies in the range that the readers state. */
void hold_visit(const bb_visit *visit);

#endif
