/* The reject setting in words and JSON, for every command that gives one. */
#ifndef REJECT_WORDS_H
#define REJECT_WORDS_H

#include "brineband.h"

#include <jansson.h>

/* Bare sweeps with the setting dialled in that tell whether it still holds: judgement, no source. */
enum { RECHECK_SWEEPS = 20 };
#define LEAST_LOSS 0.0005 /* a loss not worth a word */

/* Of a club's profile: how the sand's number moves between visits, without a full stop; the caller
 * frees it. */
char *between_visits(const bb_profile *profile, const bb_reject *reject);

/* The setting, how quiet it is, and what it rests on: the first lines of any answer. */
void say_setting(const bb_profile *profile, const bb_reject *reject);

/* What a two-minute visit says by its readings alone, one column a zone. */
void say_bare_range(const bb_profile *profile, const bb_reject *reject);

/* What the pieces cost that can be heard, which it releases, after those of which the setting silences all
 * that was read, if there are any; the caller frees it. */
char *after_silenced(const bb_profile *profile, const bb_reject *reject, const bb_reject_score *score,
                     char *of_heard);

/* What the losses of an unproved choice are known by: "these sweeps". */
const char *losses_rest_on(bb_proof proof);

/* "stud in wet sand read 24-27, 4 of 7 sweeps silent" of kept pieces that were read where the fit says
 * that the salt hides them at any depth, or NULL; the caller frees it. */
char *yet_read(const bb_profile *profile, const bb_reject *reject, const bb_reject_score *score);

/* "none of 15 sweeps sounded" of a zone where bare sand never did, else NULL: its numbers are only
 * the model's. The caller frees it. */
char *never_sounded(const bb_profile *profile, int zone);

/* "wet sand was never swept bare", of BB_PROOF_NO_BARE; the caller frees it. */
char *never_bare(const bb_profile *profile, const bb_reject *reject);

/* "2 readings behind it are hard to believe; 'brineband fit' names them", or NULL; the caller frees
 * it. */
char *hard_to_believe(const bb_profile *profile);

/* No setting to hunt by. */
bool is_hardly_quiet(const bb_reject_score *score);

/* What would help where the verdict is short, each with its computed gain. */
void say_remedies(const bb_profile *profile, const bb_remedy *remedies, size_t count);
json_t *remedies_json(const bb_profile *profile, const bb_remedy *remedies, size_t count);

/* Words for a silence or a loss: "97 %". */
const char *share_words(char buffer[16], double share);

/* What a row loses: by the model, or of what was read over a piece that the model calls lost; NAN where
 * neither says. */
double silenced_share(const bb_reject *reject, const bb_reject_score *score, size_t row);

json_t *bands_json(const bb_bands *bands);
const char *verdict_name(bb_verdict verdict);

/* Is there a kept piece that no setting lets be heard? */
bool any_unheard(const bb_reject *reject);

/* The worst loss among rows that bind: its row, or NULL when none is audible. */
const bb_reject_target *hardest_hit(const bb_reject *reject, const bb_reject_score *score,
                                    double *lost);

#endif
