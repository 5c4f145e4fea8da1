/* brineband card: one page to carry. */
#include "command.h"
#include "draw_card.h"
#include "files.h"
#include "out.h"
#include "pick.h"
#include "profile_file.h"
#include "reject_words.h"

#include <math.h>
#include <stdlib.h>
#include <unistd.h>

enum { RANGES_MOST = 7 };

/* ---------------------------------------------------------------- finding */

/* The times of the tide stand in the visit's folder alone: a profile carries none. */
static outcome find_times(const char *path, struct card *card)
{
    char *file = path_join(path, "beach.ini"), *text = NULL;
    size_t length;
    card->low_water_min = card->turn_back_min = -1;
    outcome result = OUTCOME_DONE;
    if (access(file, F_OK) == 0) /* else the path is a profile's own */
        result = file_read(file, &text, &length);
    if (text != NULL) {
        bb_visit visit = {0};
        bb_error error = {0};
        bb_status status = bb_beach_read(text, length, file, &visit, &error);
        result = status == BB_OK ? OUTCOME_DONE : fail(status, &error);
        if (status == BB_OK) {
            card->low_water_min = visit.beach.low_water_min;
            card->turn_back_min = visit.beach.turn_back_min;
        }
        bb_visit_free(&visit);
    }
    free(text);
    free(file);
    return result;
}

/* Everything that the card says, from a profile. */
typedef struct {
    bb_profile *profile;
    bb_predictor *predictor;
    bb_reject *reject;
    bb_number_ranges *ranges;
    bb_bands own;
    struct card card;
} findings;

/* What lies under which numbers in the zones of the card, as a judge has it. */
static bb_status find_ranges(findings *found, bb_error *error)
{
    const bb_judge_options options = {.depth_m = NAN};
    bb_judge *judges[BB_ZONES_MAX] = {0};
    bb_status status = BB_OK;
    size_t count = 0;
    for (size_t z = 0; z < found->reject->zone_count && status == BB_OK; z++)
        status = bb_judge_new(found->profile, found->reject->zones[z].zone, &options,
                              &judges[count++], error);
    if (status == BB_OK)
        status = bb_number_ranges_new((const bb_judge *const *)judges, count, RANGES_MOST,
                                      &found->ranges);
    for (size_t j = 0; j < count; j++)
        bb_judge_free(judges[j]);
    return status;
}

static bb_status find_report(findings *found, bool own, bb_error *error)
{
    bb_reject_options options = bb_reject_defaults();
    options.own = own ? &found->own : NULL;
    bb_status status = bb_predictor_new(found->profile, &found->predictor, error);
    if (status == BB_OK)
        status = bb_reject_new(found->predictor, &options, &found->reject, error);
    if (status == BB_OK)
        status = find_ranges(found, error);
    if (status != BB_OK)
        return status;
    struct card *card = &found->card;
    card->profile = found->profile;
    card->reject = found->reject;
    card->ranges = found->ranges;
    card->shown = own ? &found->reject->own : &found->reject->chosen;
    card->recheck_sweeps = RECHECK_SWEEPS;
    card->recheck_sounds = bb_reject_recheck(card->shown, RECHECK_SWEEPS);
    card_choose_rows(card);
    for (size_t i = 0; i < card->sand_count && status == BB_OK; i++) {
        bb_prediction sand;
        status = bb_predict_sand(found->predictor, found->reject->zones[card->sands[i]].zone, &sand,
                                 NULL);
        card->sand_low[i] = sand.low;
        card->sand_high[i] = sand.high;
    }
    return status;
}

static outcome find(const struct arguments *arguments, findings *found)
{
    const bool own = option_count(arguments, "bands") > 0;
    outcome result = profile_read(arguments->words[0], &found->profile);
    found->card.stale = profile_state_of(arguments->words[0]) == PROFILE_STALE;
    if (result == OUTCOME_DONE)
        result = find_times(arguments->words[0], &found->card);
    if (result == OUTCOME_DONE && own)
        result = pick_bands("card", &found->profile->machine, option_text(arguments, "bands", 0),
                            &found->own);
    if (result != OUTCOME_DONE)
        return result;
    bb_error error = {0};
    bb_status status = find_report(found, own, &error);
    return status == BB_OK ? OUTCOME_DONE : fail(status, &error);
}

static void forget(findings *found)
{
    bb_number_ranges_free(found->ranges);
    bb_reject_free(found->reject);
    bb_predictor_free(found->predictor);
    bb_profile_free(found->profile);
}

/* ---------------------------------------------------------------- drawing and saying */

static char *description_of(const struct card *card)
{
    char *machine = card_machine(card), *quiet = card_quiet(card), *price = card_price(card);
    char *text = need_text("%s. Quiet: %s Price: %s", machine, quiet, price);
    free(machine);
    free(quiet);
    free(price);
    return text;
}

static outcome draw(const struct card *card, page_format format, bool phone, const char *path)
{
    char *setting = card_setting(card), *description = description_of(card);
    char *title = need_text("Card for the beach: reject %s", setting);
    const page_kind kind = card_page(phone, title, description);
    struct page page;
    outcome result = page_begin(format, &kind, &page);
    if (result == OUTCOME_DONE) {
        draw_card(&page, card);
        result = page_write(&page, path);
    }
    free(setting);
    free(description);
    free(title);
    return result;
}

static json_t *card_json(const struct card *card, const char *path)
{
    return json_pack("{s:s,s:o,s:s}", "file", path, "bands", bands_json(&card->shown->bands),
                     "verdict", verdict_name(card->reject->verdict));
}

static void say_card(const struct card *card, bool phone, const char *path)
{
    char *setting = card_setting(card), *standing = card_standing(card);
    say_answer("%s is ready: reject %s.", path, setting);
    if (*standing != '\0')
        say("%s", standing);
    say("%s After a storm, with another setting or in another zone it is stale: its two-minute "
        "recheck tells.",
        phone ? "It fills a phone's screen." : "Print it as A5, black on white.");
    free(setting);
    free(standing);
}

static outcome run_card(const struct arguments *arguments)
{
    if (option_count(arguments, "output") == 0)
        return fail_command("card: -o FILE is missing: a file that ends with .pdf, .png or .svg");
    const char *path = option_text_or(arguments, "output", NULL);
    page_format format;
    outcome result = page_format_of("card", path, &format);
    if (result != OUTCOME_DONE)
        return result;
    const bool phone = option_count(arguments, "phone") > 0;
    findings found = {0};
    result = find(arguments, &found);
    if (result == OUTCOME_DONE)
        result = draw(&found.card, format, phone, path);
    if (result == OUTCOME_DONE && arguments->json)
        say_json(card_json(&found.card, path));
    else if (result == OUTCOME_DONE)
        say_card(&found.card, phone, path);
    forget(&found);
    return result;
}

static const struct option options[] = {
    {.name = "output",
     .letter = 'o',
     .value = "FILE",
     .kind = VALUE_TEXT,
     .help = "the picture to write; it ends with .pdf, .png or .svg"},
    {.name = "bands",
     .value = "LIST",
     .kind = VALUE_TEXT,
     .help = "your own setting, like 12-15,33-34, instead of the suggested one"},
    {.name = "phone", .kind = VALUE_NONE, .help = "the shape of a phone's screen, not of paper"},
    {0},
};

const struct command command_card = {
    .name = "card",
    .usage = "PROFILE -o FILE [--bands LIST] [--phone] [--json]",
    .summary = "one page to carry on the beach",
    .about = "Draws what to reject, how quiet the sand will be and at what price, what each number "
             "may be, when the card goes stale and how to recheck it, with the cautions.\n"
             "PROFILE is a profile.json or a visit's folder; from a folder the card also takes the "
             "tide and the turn-back time. Print it as A5.",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run_card,
};
