/* The practice sheet of one zone: rounds to guess at, and the kit's own numbers to sweep. */
#include "practise_sheet.h"

#include "draw_lesson.h"
#include "practise_words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define AIR_GAP_M 0.10 /* as the page says */

enum { ROUNDS = 8, PIECES_MOST = 12, NEAR_STEPS = 2 };

static outcome add_rounds(const bb_judge *judge, bb_practice *practice, size_t readings,
                          struct lesson *lesson)
{
    bb_judgement any;
    lesson->rounds = need(ROUNDS, sizeof *lesson->rounds);
    for (; lesson->round_count < ROUNDS; lesson->round_count++) {
        bb_round round;
        struct lesson_round *row = &lesson->rounds[lesson->round_count];
        bb_status status = bb_practice_draw(practice, readings, &round);
        if (status == BB_OK && lesson->things == NULL) {
            status = bb_judge_readings(judge, round.readings, readings, false, &any);
            lesson->things = status == BB_OK ? groups_words(&any) : NULL;
        }
        if (status != BB_OK)
            return fail(status, NULL);
        char *truth = truth_words(&round);
        row->shown = readings_words(&round);
        row->answer = need_text("%s: %s", truth, round.keep ? "dig" : "leave it");
        free(truth);
    }
    return OUTCOME_DONE;
}

static char *range_words(const bb_prediction *prediction)
{
    if (prediction->over_sand && prediction->masked)
        return need_text("too weak to hear");
    return prediction->low == prediction->high
               ? need_text("%d", prediction->low)
               : need_text("%d to %d", prediction->low, prediction->high);
}

static outcome add_pieces(const bb_profile *profile, const bb_predictor *predictor, int zone,
                          struct lesson *lesson)
{
    const size_t count = profile->target_count < PIECES_MOST ? profile->target_count : PIECES_MOST;
    lesson->pieces = need(count + 1, sizeof *lesson->pieces);
    for (size_t k = 0; k < count; k++) {
        bb_prediction air, sand;
        bb_status status =
            bb_predict(predictor, (int)k, BB_ZONE_AIR, AIR_GAP_M, NAN, &air);
        if (status == BB_OK)
            status = bb_predict(predictor, (int)k, zone, 0, NAN, &sand);
        if (status != BB_OK)
            return fail(status, NULL);
        char *in_air = range_words(&air), *on_sand = range_words(&sand);
        lesson->pieces[lesson->piece_count++] = (struct lesson_piece){
            need_text("%s", profile->targets[k].name),
            need_text("in air %s, on the sand %s", in_air, on_sand)};
        free(in_air);
        free(on_sand);
    }
    return OUTCOME_DONE;
}

static outcome add_sand(const bb_predictor *predictor, int zone, struct lesson *lesson)
{
    bb_prediction sand;
    bb_status status = bb_predict_sand(predictor, zone, &sand, NULL);
    if (status != BB_OK)
        return fail(status, NULL);
    lesson->sand = range_words(&sand);
    return OUTCOME_DONE;
}

static void free_lesson(struct lesson *lesson)
{
    for (size_t i = 0; i < lesson->round_count; i++) {
        free(lesson->rounds[i].shown);
        free(lesson->rounds[i].answer);
    }
    for (size_t i = 0; i < lesson->piece_count; i++) {
        free(lesson->pieces[i].piece);
        free(lesson->pieces[i].answer);
    }
    free(lesson->rounds);
    free(lesson->pieces);
    free(lesson->things);
    free(lesson->sand);
}

static outcome draw(page_format format, const struct lesson *lesson, const char *path)
{
    const page_kind kind = lesson_page("Guess, sweep, see",
                                       "Readings to guess at and pieces to sweep, with answers "
                                       "upside down at the foot.");
    struct page page;
    outcome result = page_begin(format, &kind, &page);
    if (result != OUTCOME_DONE)
        return result;
    draw_lesson(&page, lesson);
    return page_write(&page, path);
}

outcome practise_sheet_write(const char *path, const bb_profile *profile, int zone,
                             const bb_judge *judge, bb_practice *practice, size_t readings)
{
    page_format format;
    outcome result = page_format_of("practise", path, &format);
    if (result != OUTCOME_DONE)
        return result;
    struct lesson lesson = {.zone = profile->zones[zone].name,
                            .near = NEAR_STEPS * profile->machine.scale_step};
    bb_predictor *predictor = NULL;
    bb_error error = {0};
    bb_status status = bb_predictor_new(profile, &predictor, &error);
    result = status == BB_OK ? add_sand(predictor, zone, &lesson) : fail(status, &error);
    if (result == OUTCOME_DONE)
        result = add_rounds(judge, practice, readings, &lesson);
    if (result == OUTCOME_DONE)
        result = add_pieces(profile, predictor, zone, &lesson);
    if (result == OUTCOME_DONE)
        result = draw(format, &lesson, path);
    bb_predictor_free(predictor);
    free_lesson(&lesson);
    return result;
}
