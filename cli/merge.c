/* brineband merge: a club's profiles pooled into one to start from. */
#include "command.h"
#include "merge_words.h"
#include "patience.h"
#include "profile_file.h"

#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- JSON */

static json_t *entries_json(const merging *of, const bb_merge_quantity *row)
{
    json_t *list = json_array();
    for (size_t i = 0; i < row->pooled.count; i++)
        json_add(
            list, json_pack("{s:s,s:f,s:f,s:f,s:o}", "file", of->paths[row->entries[i].visit],
                            "estimate", row->entries[i].estimate, "sd", row->entries[i].sd,
                            "weight", row->entries[i].weight, "shift",
                            json_number_or_null(row->entries[i].shift)));
    return list;
}

static json_t *quantities_json(const merging *of)
{
    json_t *list = json_array();
    for (size_t i = 0; i < of->quantity_count; i++) {
        const bb_merge_quantity *row = &of->quantities[i];
        const bb_pooled *pooled = &row->pooled;
        json_add(
            list,
            json_pack("{s:s,s:s,s:b,s:i,s:f,s:f,s:f,s:o,s:o,s:o,s:o,s:f,s:f,s:o,s:f,s:o,s:o}",
                      "quantity", merge_kind_key(row->kind), "name", row->name, "logarithm",
                      (int)merge_kind_is_logarithm(row->kind), "visits", (int)pooled->count, "mean",
                      pooled->mean, "se", pooled->se, "se_knapp_hartung", pooled->se_knapp_hartung,
                      "mean_low", json_number_or_null(pooled->mean_low), "mean_high",
                      json_number_or_null(pooled->mean_high), "next_low",
                      json_number_or_null(pooled->new_low), "next_high",
                      json_number_or_null(pooled->new_high), "tau2", pooled->tau2, "q", pooled->q,
                      "q_p", json_number_or_null(pooled->q_p), "i2", pooled->i2,
                      "typical_variance", json_number_or_null(pooled->typical_variance),
                      "by_visit", entries_json(of, row)));
    }
    return list;
}

static json_t *merge_json(const merging *of)
{
    static const char *const names[] = {[BB_MERGE_COUNTED] = "counted",
                                        [BB_MERGE_TWICE] = "twice",
                                        [BB_MERGE_POOLED] = "pooled already",
                                        [BB_MERGE_FROM_PRIOR] = "from a prior"};
    json_t *files = json_array();
    for (size_t i = 0; i < of->count; i++)
        json_add(files, json_pack("{s:s,s:s}", "file", of->paths[i], "counted",
                                               names[of->fates[i]]));
    char *next = merge_next(of);
    json_t *object = json_pack("{s:s,s:i,s:o,s:o,s:s}", "profile", of->output, "visits",
                               of->club->pooled_visits, "files", files, "quantities",
                               quantities_json(of), "next", next);
    free(next);
    return object;
}

/* ---------------------------------------------------------------- running */

/* One profile in memory at a time. */
static outcome add_all(merging *of)
{
    outcome result = OUTCOME_DONE;
    for (size_t i = 0; i < of->count && result == OUTCOME_DONE; i++) {
        bb_profile *profile = NULL;
        bb_error error = {0};
        result = profile_read(of->paths[i], &profile);
        if (result != OUTCOME_DONE)
            break;
        bb_status status =
            bb_merge_add(of->merge, profile, of->paths[i], &of->fates[i], &error);
        bb_profile_free(profile);
        if (status != BB_OK)
            result = fail(status, &error);
    }
    return result;
}

static outcome give(const struct arguments *arguments, merging *of)
{
    bb_error error = {0};
    patience_begin("pooling");
    bb_status status = bb_merge_end(of->merge, &of->club, &of->quantities, &of->quantity_count,
                                    &error);
    patience_end();
    if (status != BB_OK)
        return fail(status, &error);
    if (option_count(arguments, "anonymous") > 0)
        bb_profile_anonymise(of->club);
    outcome result = profile_write(of->output, of->club, option_count(arguments, "with-place") > 0);
    if (result == OUTCOME_DONE && arguments->json)
        say_json(merge_json(of));
    else if (result == OUTCOME_DONE)
        merge_say(of, option_count(arguments, "verbose") > 0);
    bb_profile_free(of->club);
    return result;
}

static outcome read_method(const struct arguments *arguments, bb_merge_options *options)
{
    const char *method = option_text_or(arguments, "method", "pm");
    options->any_machine = option_count(arguments, "any-machine") > 0;
    options->method = strcmp(method, "dl") == 0 ? BB_POOL_DERSIMONIAN_LAIRD : BB_POOL_PAULE_MANDEL;
    return strcmp(method, "dl") == 0 || strcmp(method, "pm") == 0
               ? OUTCOME_DONE
               : fail_command("merge: --method: found \"%s\", accepted pm or dl", method);
}

static outcome run_merge(const struct arguments *arguments)
{
    bb_merge_options options = {0};
    bb_error error = {0};
    merging of = {.paths = arguments->words,
                  .count = arguments->word_count,
                  .output = option_text(arguments, "output", 0)};
    if (of.output == NULL)
        return fail_command("merge: say where to write the club's profile: -o CLUB.json");
    outcome result = read_method(arguments, &options);
    if (result != OUTCOME_DONE)
        return result;
    of.fates = need(of.count, sizeof *of.fates);
    bb_status status = bb_merge_begin(&options, &of.merge, &error);
    result = status == BB_OK ? add_all(&of) : fail(status, &error);
    if (result == OUTCOME_DONE)
        result = give(arguments, &of);
    bb_merge_free(of.merge);
    free(of.fates);
    return result;
}

static const struct option options[] = {
    {.name = "output", .letter = 'o', .value = "CLUB.json", .kind = VALUE_TEXT,
     .help = "where to write the club's profile"},
    {.name = "method", .value = "M", .kind = VALUE_TEXT,
     .help = "spread between visits: pm (Paule-Mandel) or dl (DerSimonian-Laird)"},
    {.name = "any-machine",
     .help = "pool only what is the beach's, over different machines"},
    {.name = "anonymous", .help = "without the machine's name, the date cut to its month"},
    {.name = "with-place", .help = "write the beach's name, where all profiles agree on it"},
    {.name = "verbose", .help = "also each piece's own quantities, and the statistics of how visits agree"},
    {0},
};

const struct command command_merge = {
    .name = "merge",
    .usage = "P.json... -o CLUB.json [--any-machine] [--anonymous] [--json]",
    .summary = "pool a club's profiles into one to start from",
    .about =
        "Pools visits made with one machine and setting. Each quantity is taken as differing from "
        "visit to visit. A visit fitted with --prior is left out, for what it began from would count "
        "twice: fit it without, into a copy, and merge that. The same visit "
        "is counted once, known by its sweeps. A profile of another machine or setting, or a "
        "piece that goes by a name taken by another one, stops the merge and is named.\n"
        "The club's profile holds no place, no time of day and no remark. A newcomer with the same "
        "machine uses it with predict, reject and card, or as --prior of fit.",
    .options = options,
    .words_least = 1,
    .words_most = (size_t)-1,
    .run = run_merge,
};
