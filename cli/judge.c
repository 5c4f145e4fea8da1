/* brineband judge: what lies under a number, how likely, and whether to dig. */
#include "cautions.h"
#include "command.h"
#include "odds_words.h"
#include "out.h"
#include "pick.h"
#include "profile_file.h"
#include "reject_words.h"
#include "swept.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LEAST_SHOWN 0.005 /* of a class's probability */
#define LEAST_OF_PAIR 0.2 /* of what two groups have together: with less it is the other; judgement */
#define PAIR_SHOWN 0.05   /* probability of small gold or foil worth a word */

typedef struct {
    const bb_profile *profile;
    int zone;
    int readings[BB_REPEATS_MAX]; /* NUMBER first */
    size_t reading_count;
    bool iron_sound, only_kit;
    double depth_m;
    bb_judgement found;
} question;

/* ---------------------------------------------------------------- words */

static double probability_of(const bb_judgement *found, const char *group)
{
    for (size_t c = 0; c < found->class_count; c++)
        if (strcmp(found->classes[c].group, group) == 0)
            return found->classes[c].odds.probability;
    return 0;
}

/* The likeliest by name; small gold and foil are named together where it may well be either. */
static const char *likeliest(const bb_judgement *found, bb_odds *odds)
{
    const double together = found->small_gold_or_foil.probability;
    const double least = fmin(probability_of(found, BB_GROUP_SMALL_GOLD),
                              probability_of(found, BB_GROUP_FOIL));
    *odds = found->classes[0].odds;
    if (!(together > odds->probability && least > LEAST_OF_PAIR * together))
        return found->classes[0].group;
    *odds = found->small_gold_or_foil;
    return "small gold or foil";
}

static bool is_sand(const bb_judgement *found)
{
    const bb_class *likeliest = &found->classes[0];
    return found->advice == BB_ADVICE_WORTH_A_DIG && likeliest->odds.probability > 0.5 &&
           strcmp(likeliest->group, BB_GROUP_SAND) == 0;
}

/* What the odds come down to. */
static void say_advice(const question *of)
{
    phrase sure, keep;
    bb_odds odds;
    const bb_judgement *found = &of->found;
    const char *name = likeliest(found, &odds);
    const char *zone = of->profile->zones[of->zone].name;
    odds_words(&sure, odds);
    odds_words(&keep, found->keep);
    if (found->strange)
        say_answer("%d in %s sand: a strange number, hardly anything this profile knows shows it here. "
                   "The odds mean little; dig, and look what it was.", of->readings[0], zone);
    else if (is_sand(found))
        say_answer("%d in %s sand: most likely the sand itself, %s; something to keep, %s. Worth a "
                   "dig only where it repeats, to the number, from two sides.", of->readings[0], zone,
                   sure.text, keep.text);
    else if (found->advice == BB_ADVICE_LIKELY_NOT)
        say_answer("%d in %s sand: likely not. Every reading is iron: %s.", of->readings[0], zone,
                   sure.text);
    else
        say_answer("%d in %s sand: %s. Likeliest %s, %s; something to keep, %s.", of->readings[0],
                   zone, bb_advice_text(found->advice), name, sure.text, keep.text);
}

static void say_classes(const bb_judgement *found)
{
    static const char *const titles[] = {"<group", "likely", "range"};
    struct table table;
    table_begin(&table, 3, titles);
    for (size_t c = 0; c < found->class_count; c++) {
        const bb_class *class = &found->classes[c];
        char likely[16];
        phrase range;
        if (class->odds.high < LEAST_SHOWN)
            continue;
        table_cell(&table, "%s", class->group);
        table_cell(&table, "%s", share_words(likely, class->odds.probability));
        table_cell(&table, "%s", odds_range(&range, class->odds));
    }
    table_end(&table);
}

/* What the odds cannot say, and what would tell more. */
static void say_remarks(const question *of)
{
    const bb_judgement *found = &of->found;
    phrase words;
    if (found->several)
        say("The readings hardly belong to one thing: sweep again, slowly; two things may lie "
            "together.");
    if (!isnan(found->small_gold_or_foil.probability) &&
        found->small_gold_or_foil.probability >= PAIR_SHOWN)
        say("Small gold or foil: %s together. No number parts the two.",
            odds_words(&words, found->small_gold_or_foil));
    if (of->iron_sound)
        say("The iron sound counts four to one for what holds iron, a coin with an iron core too "
            "(judgement, no source), and decides nothing: a coin beside iron sounds mixed.");
    for (size_t c = 0; c < found->class_count; c++)
        if (found->classes[c].base_rate == 0)
            say("Not among them: %s. Too deep to hear through the salt.", found->classes[c].group);
    say("%s", found->rates_learned
                  ? "The odds start from what was dug in this zone before."
                  : "The odds start with every group as likely, bare sand too.");
    const bb_bare *bare = &of->profile->bare[of->zone];
    phrase sweeps;
    if (!found->rates_learned && is_silent(bare))
        say("None of %s sounded here: sand is less likely than the table has it.",
            counted(&sweeps, bare->swept, "bare sweep", "bare sweeps"));
    if (of->reading_count == 1)
        say("Next: turn a quarter, sweep again, and add --repeat NUMBER. A piece repeats; sand "
            "wanders.");
    if (found->ordnance)
        say_caution("Ordnance");
}

/* ---------------------------------------------------------------- JSON */

static json_t *class_json(const bb_class *class)
{
    return json_pack("{s:s,s:f,s:f,s:f,s:f,s:b}", "group", class->group, "probability",
                     class->odds.probability, "low", class->odds.low, "high", class->odds.high,
                     "base_rate", class->base_rate, "keep", class->keep);
}

static json_t *judgement_json(const question *of)
{
    const bb_judgement *found = &of->found;
    json_t *classes = json_array(), *repeats = json_array();
    for (size_t c = 0; c < found->class_count; c++)
        json_add(classes, class_json(&found->classes[c]));
    for (size_t i = 1; i < of->reading_count; i++)
        json_add(repeats, json_integer(of->readings[i]));
    return json_pack("{s:i,s:s,s:o,s:o,s:b,s:o,s:o,s:o,s:s,s:b,s:b,s:b,s:s}", "number",
                     of->readings[0], "zone", of->profile->zones[of->zone].name, "repeats", repeats,
                     "depth_cm", json_number_or_null(of->depth_m * 100), "iron_sound",
                     of->iron_sound, "classes", classes, "keep", odds_json(found->keep),
                     "small_gold_or_foil", odds_json(found->small_gold_or_foil), "advice",
                     bb_advice_text(found->advice), "strange", found->strange, "several",
                     found->several, "ordnance_caution", found->ordnance, "base_rates",
                     found->rates_learned ? "finds" : "even");
}

/* ---------------------------------------------------------------- asking */

static outcome ask_reading(const bb_machine *machine, const char *label, double number,
                           question *of)
{
    const int reading = (int)number;
    if (!bb_scale_holds(machine, reading))
        return fail_command("judge: %s: found '%d', accepted %d to %d in steps of %d, the scale of "
                            "the profile's machine", label, reading, machine->scale_low,
                            machine->scale_high, machine->scale_step);
    if (of->reading_count == BB_REPEATS_MAX)
        return fail_command("judge: at most %d readings of one target", BB_REPEATS_MAX);
    of->readings[of->reading_count++] = reading;
    return OUTCOME_DONE;
}

static outcome ask_readings(const struct arguments *arguments, question *of)
{
    static const struct option whole = {.kind = VALUE_WHOLE};
    const bb_machine *machine = &of->profile->machine;
    double number;
    outcome result = value_read("judge", "NUMBER", &whole, arguments->words[1], &number);
    if (result == OUTCOME_DONE)
        result = ask_reading(machine, "NUMBER", number, of);
    for (size_t i = 0; i < option_count(arguments, "repeat") && result == OUTCOME_DONE; i++)
        result = ask_reading(machine, "--repeat", option_number(arguments, "repeat", i), of);
    return result;
}

static outcome ask_zone(const struct arguments *arguments, question *of)
{
    const char *zone = option_text(arguments, "zone", 0);
    if (zone == NULL && of->profile->zone_count != 1)
        return pick_zone_missing("judge", of->profile);
    return pick_zone("judge", of->profile, zone != NULL ? zone : of->profile->zones[0].name, false,
                     &of->zone);
}

static outcome judge(question *of)
{
    const bb_judge_options options = {.only_kit = of->only_kit, .depth_m = of->depth_m};
    bb_error error = {0};
    bb_judge *made = NULL;
    bb_status status = bb_judge_new(of->profile, of->zone, &options, &made, &error);
    if (status == BB_OK)
        status = bb_judge_readings(made, of->readings, of->reading_count, of->iron_sound,
                                   &of->found);
    bb_judge_free(made);
    return status == BB_OK ? OUTCOME_DONE : fail(status, &error);
}

static outcome run_judge(const struct arguments *arguments)
{
    bb_profile *profile = NULL;
    outcome result = profile_read(arguments->words[0], &profile);
    if (result != OUTCOME_DONE)
        return result;
    question of = {.profile = profile,
                   .iron_sound = option_count(arguments, "iron-sound") > 0,
                   .only_kit = option_count(arguments, "only-kit") > 0,
                   .depth_m = option_number_or(arguments, "depth", NAN)};
    result = ask_zone(arguments, &of);
    if (result == OUTCOME_DONE)
        result = ask_readings(arguments, &of);
    if (result == OUTCOME_DONE)
        result = judge(&of);
    if (result == OUTCOME_DONE && arguments->json) {
        say_json(judgement_json(&of));
    } else if (result == OUTCOME_DONE) {
        say_advice(&of);
        say_classes(&of.found);
        say_remarks(&of);
    }
    bb_profile_free(profile);
    return result;
}

static const struct option options[] = {
    {.name = "zone", .value = "Z", .kind = VALUE_TEXT,
     .help = "where it sounded; may be left out when there is one zone"},
    {.name = "repeat", .value = "N", .kind = VALUE_WHOLE, .repeats = true,
     .help = "another reading of it, best across the first; repeat for more"},
    {.name = "iron-sound", .help = "the machine said iron as well"},
    {.name = "depth", .value = "CM", .kind = VALUE_CM, .low = 0, .high = 200,
     .help = "how deep it lies, when that is known (0 to 20 cm, all alike)"},
    {.name = "only-kit", .help = "only the kit's pieces, none of the catalogue"},
    {0},
};

const struct command command_judge = {
    .name = "judge",
    .usage = "PROFILE NUMBER --zone Z [--repeat N]... [--iron-sound] [--json]",
    .summary = "what lies under a number: odds, dig or not",
    .about =
        "Gives the odds that a number is small gold, gold, silver, a coin, foil, junk, iron or the "
        "bare sand, from what each shows in this zone and from how often each is met: alike, until "
        "digs has counted your finds. The candidates are the kit and the catalogue, worn plated and "
        "clad coins with them; what lies too deep to hear through the salt is not one.\n"
        "The range is what the odds become within the doubt of the fit. Several readings of one "
        "piece share its depth and that doubt, so three tell more than one but not three times as "
        "much.\n"
        "A number never says what an object is. The advice is dig (more likely than not something "
        "to keep), worth a dig, or likely not: that only where two readings or more, from two "
        "directions, are each iron beyond doubt (95 % at the low end). A worn plated coin and a "
        "coin beside iron sound like iron too.",
    .options = options,
    .words_least = 2,
    .words_most = 2,
    .run = run_judge,
};
