/* Whether a profile is what it says it is: an optimum, with full rank, finite errors and chances that
 * sum to one, found out again from the visit alone. */
#ifndef PROOF_H
#define PROOF_H

#include "brineband.h"

typedef enum {
    PROOF_HOLDS,
    PROOF_EVIDENCE,   /* what the profile says of itself is not what a fit may say */
    PROOF_NUMBERS,    /* an estimate or a standard error is no usable number */
    PROOF_COVARIANCE, /* not positive definite, or not that of the problem */
    PROOF_GRADIENT,   /* a Newton step leads away */
    PROOF_LOWER,      /* a better point lies within the standard errors */
    PROOF_NOISE,      /* the noise has not settled */
    PROOF_CHANCES,    /* a prediction is no distribution */
    PROOF_FILE,       /* written, it cannot be read back */
    PROOF_SILENT,     /* a refusal that does not say what to sweep */
    PROOF_COUNT
} proof_failure;
extern const char *const proof_words[PROOF_COUNT];

typedef struct {
    proof_failure failure;
    double figure;  /* how far out, in the failure's own measure */
    double newton;  /* longest Newton step, in standard errors */
    double sd_low, sd_high; /* least and largest ratio of standard errors found again to told */
    double noise;   /* the noise terms' next step, in standard errors */
} proof;

/* earlier: the profile that the fit began from, or NULL. */
bb_status prove_profile(const bb_visit *visit, const bb_profile *earlier, const bb_profile *profile,
                        unsigned long seed, proof *found);

/* Whether a refusal names something to sweep. */
bool refusal_teaches(bb_status status, const bb_error *error);

#endif
