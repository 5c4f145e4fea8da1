/* brineband practise: invented readings, dig or leave, the truth, and how the learner fares. */
#include "command.h"
#include "odds_words.h"
#include "out.h"
#include "pick.h"
#include "practise_sheet.h"
#include "practise_words.h"
#include "profile_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define ROUNDS 10
#define READINGS 3

enum { ANSWER_BYTES = 64 };

typedef enum { ANSWER_DIG, ANSWER_LEAVE, ANSWER_QUIT, ANSWER_UNKNOWN } answer;

static const struct {
    const char *word;
    answer means;
} answers[] = {
    {"dig", ANSWER_DIG}, {"leave", ANSWER_LEAVE}, {"quit", ANSWER_QUIT},
    {"yes", ANSWER_DIG}, {"no", ANSWER_LEAVE},
};

typedef struct {
    const bb_profile *profile;
    int zone;
    size_t rounds, readings;
    unsigned long seed;
    bb_judge *judge;
    bb_practice *practice;
    bb_practice_score learner, adviser; /* adviser: judge's own "dig" */
    json_t *played;                     /* NULL unless one JSON object was asked for */
} lesson;

/* ---------------------------------------------------------------- asking */

/* One line of standard input without its end; false when there is none. A longer line is cut. */
static bool read_line(char line[ANSWER_BYTES])
{
    size_t length = 0;
    int byte;
    while ((byte = getchar()) != EOF && byte != '\n')
        if (length + 1 < ANSWER_BYTES)
            line[length++] = (char)byte;
    while (length > 0 && strchr(" \t\r", line[length - 1]) != NULL)
        length--;
    line[length] = '\0';
    return byte != EOF || length > 0;
}

/* A word or its beginning. */
static answer answer_of(const char *line)
{
    const size_t length = strlen(line);
    for (size_t i = 0; i < sizeof answers / sizeof *answers && length > 0; i++)
        if (strncmp(line, answers[i].word, length) == 0)
            return answers[i].means;
    return ANSWER_UNKNOWN;
}

static answer ask(const lesson *of)
{
    char line[ANSWER_BYTES];
    answer found = ANSWER_UNKNOWN;
    while (found == ANSWER_UNKNOWN) {
        if (of->played == NULL) {
            printf("dig, leave or quit? ");
            (void)fflush(stdout);
        }
        const bool any = read_line(line);
        if (of->played == NULL && isatty(STDIN_FILENO) == 0)
            (void)putchar('\n'); /* as the return key would */
        if (!any)
            return ANSWER_QUIT;
        found = answer_of(line);
        if (found == ANSWER_UNKNOWN)
            warn("practise: found '%s', accepted dig, leave or quit", line);
    }
    return found;
}

/* ---------------------------------------------------------------- words */

static int right(const bb_practice_score *score)
{
    return score->dug_keep + score->left_other;
}

static int played(const bb_practice_score *score)
{
    return right(score) + score->left_keep + score->dug_other;
}

static void say_round(const lesson *of, const bb_round *round)
{
    char *shown = readings_words(round);
    printf("%s%d of %zu. %s sand reads: %s\n", played(&of->learner) > 0 ? "\n" : "",
           played(&of->learner) + 1, of->rounds, of->profile->zones[of->zone].name, shown);
    free(shown);
}

static void say_truth(const lesson *of, const bb_round *round, bool dug, const bb_judgement *odds)
{
    char *truth = truth_words(round);
    phrase keep;
    say("%s It was %s. Something to keep: %s; judge says %s. %d of %d right.",
        dug == round->keep ? "Right." : round->keep ? "Missed." : "A hole for nothing.", truth,
        odds_words(&keep, odds->keep), bb_advice_text(odds->advice), right(&of->learner),
        played(&of->learner));
    free(truth);
}

static void say_end(const lesson *of)
{
    const bb_practice_score *mine = &of->learner, *its = &of->adviser;
    phrase rounds, holes, its_holes;
    if (played(mine) == 0) {
        say("No round was played.");
        return;
    }
    say_gap();
    say_answer("%s: %d right. You dug %d of %d things to keep, in %s; digging wherever judge says "
               "dig finds %d, in %s.", counted(&rounds, played(mine), "round", "rounds"),
               right(mine), mine->dug_keep, mine->dug_keep + mine->left_keep,
               counted(&holes, mine->dug_keep + mine->dug_other, "hole", "holes"), its->dug_keep,
               counted(&its_holes, its->dug_keep + its->dug_other, "hole", "holes"));
    say("Invented from this profile, so as right as it is: a real hole teaches more. --seed %lu "
        "gives the same rounds again.", of->seed);
}

/* ---------------------------------------------------------------- JSON */

static json_t *score_json(const bb_practice_score *score)
{
    return json_pack("{s:i,s:i,s:i,s:i}", "dug_keep", score->dug_keep, "left_keep",
                     score->left_keep, "dug_other", score->dug_other, "left_other",
                     score->left_other);
}

static json_t *round_json(const bb_round *round, bool dug, const bb_judgement *odds)
{
    json_t *readings = json_array();
    for (size_t i = 0; i < round->reading_count; i++)
        json_add(readings, json_integer(round->readings[i]));
    return json_pack("{s:o,s:b,s:s,s:s,s:o,s:b,s:o,s:s}", "readings", readings, "dug", (int)dug,
                     "group", round->group, "target", round->target, "depth_cm",
                     json_number_or_null(100 * round->depth_m), "keep", (int)round->keep, "odds",
                     odds_json(odds->keep), "advice", bb_advice_text(odds->advice));
}

static json_t *lesson_json(lesson *of)
{
    return json_pack("{s:s,s:I,s:O,s:o,s:o}", "zone", of->profile->zones[of->zone].name, "seed",
                     (json_int_t)of->seed, "rounds", of->played, "score",
                     score_json(&of->learner), "advised", score_json(&of->adviser));
}

/* ---------------------------------------------------------------- playing */

static outcome play_round(lesson *of, bool *quit)
{
    bb_round round;
    bb_judgement odds;
    bb_status status = bb_practice_draw(of->practice, of->readings, &round);
    if (status == BB_OK)
        status = bb_judge_readings(of->judge, round.readings, of->readings, false, &odds);
    if (status != BB_OK)
        return fail(status, NULL);
    if (of->played == NULL)
        say_round(of, &round);
    const answer said = ask(of);
    *quit = said == ANSWER_QUIT;
    if (*quit)
        return OUTCOME_DONE;
    bb_practice_count(&round, said == ANSWER_DIG, &of->learner);
    bb_practice_count(&round, odds.advice == BB_ADVICE_DIG, &of->adviser);
    if (of->played != NULL)
        json_add(of->played, round_json(&round, said == ANSWER_DIG, &odds));
    else
        say_truth(of, &round, said == ANSWER_DIG, &odds);
    return OUTCOME_DONE;
}

static outcome play(lesson *of)
{
    bool quit = false;
    outcome result = OUTCOME_DONE;
    for (size_t i = 0; i < of->rounds && !quit && result == OUTCOME_DONE; i++)
        result = play_round(of, &quit);
    if (result == OUTCOME_DONE && of->played != NULL)
        say_json(lesson_json(of));
    else if (result == OUTCOME_DONE)
        say_end(of);
    return result;
}

static outcome give(const struct arguments *arguments, lesson *of)
{
    const char *sheet = option_text(arguments, "sheet", 0);
    if (sheet == NULL) {
        of->played = arguments->json ? json_array() : NULL;
        if (arguments->json && of->played == NULL)
            return fail(BB_MEMORY, NULL);
        outcome result = play(of);
        json_decref(of->played);
        return result;
    }
    outcome result =
        practise_sheet_write(sheet, of->profile, of->zone, of->judge, of->practice, of->readings);
    if (result == OUTCOME_DONE && arguments->json)
        say_json(json_pack("{s:s,s:I}", "file", sheet, "seed", (json_int_t)of->seed));
    else if (result == OUTCOME_DONE)
        say_answer("%s is ready: a lesson on one page, its answers upside down at the foot.",
                   sheet);
    return result;
}

static outcome begin(const struct arguments *arguments, lesson *of)
{
    const bb_judge_options options = {.only_kit = option_count(arguments, "only-kit") > 0,
                                      .depth_m = NAN};
    const char *zone = option_text(arguments, "zone", 0);
    bb_error error = {0};
    outcome result = pick_zone("practise", of->profile,
                               zone != NULL ? zone : of->profile->zones[0].name, false, &of->zone);
    if (result != OUTCOME_DONE)
        return result;
    bb_status status = bb_judge_new(of->profile, of->zone, &options, &of->judge, &error);
    if (status == BB_OK)
        status = bb_practice_new(of->judge, of->seed, &of->practice);
    return status == BB_OK ? OUTCOME_DONE : fail(status, &error);
}

static outcome run_practise(const struct arguments *arguments)
{
    bb_profile *profile = NULL;
    outcome result = profile_read(arguments->words[0], &profile);
    if (result != OUTCOME_DONE)
        return result;
    lesson of = {.profile = profile,
                 .rounds = (size_t)option_number_or(arguments, "rounds", ROUNDS),
                 .readings = (size_t)option_number_or(arguments, "readings", READINGS),
                 .seed = (unsigned long)option_number_or(arguments, "seed",
                                                         (double)(time(NULL) % 1000000))};
    result = begin(arguments, &of);
    if (result == OUTCOME_DONE)
        result = give(arguments, &of);
    bb_practice_free(of.practice);
    bb_judge_free(of.judge);
    bb_profile_free(profile);
    return result;
}

static const struct option options[] = {
    {.name = "zone", .value = "Z", .kind = VALUE_TEXT, .help = "on this zone's sand (the first)"},
    {.name = "rounds", .value = "N", .kind = VALUE_WHOLE, .low = 1, .high = 10000,
     .help = "so many things to call (10)"},
    {.name = "readings", .value = "N", .kind = VALUE_WHOLE, .low = 1, .high = BB_REPEATS_MAX,
     .help = "so many sweeps over each (3)"},
    {.name = "seed", .value = "N", .kind = VALUE_WHOLE, .low = 0, .high = 999999999,
     .help = "the same seed gives the same rounds (another each time)"},
    {.name = "only-kit", .help = "only the kit's pieces, none of the catalogue"},
    {.name = "sheet", .value = "F.pdf", .kind = VALUE_TEXT,
     .help = "a lesson on paper instead, as .pdf, .png or .svg"},
    {0},
};

const struct command command_practise = {
    .name = "practise",
    .usage = "PROFILE [--zone Z] [--rounds N] [--seed N] [--sheet F.pdf] [--json]",
    .summary = "invented readings from this beach to learn on",
    .about =
        "Shows what the machine might read over one thing on this beach and asks: dig, leave or "
        "quit (d, l or q; one answer a line, so that a file of answers will do too). Then it says "
        "what it was, how likely something to keep was by those readings, and how you fare.\n"
        "Things are met as often as judge takes them to be: every group alike, or as digs has "
        "counted. Pieces, depths and readings come from the profile's own distributions, its "
        "doubt included, so the odds are right for these rounds, and for the beach as far as the "
        "profile is.\n"
        "Right is to dig what is worth keeping and to leave the rest. Nobody is right every time: "
        "small gold and foil share their numbers. Beside your score stands that of digging "
        "wherever judge says dig.",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run_practise,
};
