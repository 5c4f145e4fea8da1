/* Learning a visit's profile, with patience shown on a terminal. */
#include "learn.h"

#include <stdlib.h>

#include "patience.h"

bb_status learn(const bb_visit *visit, const bb_profile *prior, struct lesson *lesson,
                bb_error *error)
{
    lesson->left_out = calloc(visit->cell_count + 1, sizeof *lesson->left_out);
    if (lesson->left_out == NULL)
        return BB_MEMORY;
    patience_begin("fitting");
    bb_status status = bb_fit_leaving_out(visit, prior, lesson->left_out, &lesson->profile, error);
    patience_end();
    if (status == BB_OK)
        status = bb_predictor_new(lesson->profile, &lesson->predictor, error);
    if (status == BB_OK)
        status = bb_suspects(lesson->predictor, visit, SUSPECTS_MOST, lesson->suspects,
                             &lesson->suspect_count);
    if (status == BB_OK)
        status = bb_read_though_lost(lesson->predictor, visit, lesson->profile);
    if (status == BB_OK)
        lesson->profile->hard_to_believe = (double)lesson->suspect_count;
    return status;
}

void lesson_free(struct lesson *lesson)
{
    bb_predictor_free(lesson->predictor);
    bb_profile_free(lesson->profile);
    free(lesson->left_out);
}
