/* brineband history: the sand's number and the bands over a series of visits. */
#include "band_words.h"
#include "command.h"
#include "number_plot.h"
#include "out.h"
#include "plot_history.h"
#include "profile_file.h"
#include "reject_words.h"
#include "swept.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void visit_free(past_visit *of)
{
    free(of->zones);
    free(of->sand);
    free(of->bare);
    free(of->silent);
}

/* By date; those without one last, in the order they were given. */
static int by_date(const void *a, const void *b)
{
    const past_visit *one = a, *other = b;
    if (*one->date == '\0' || *other->date == '\0')
        return (*one->date == '\0') - (*other->date == '\0');
    return strcmp(one->date, other->date);
}

/* ---------------------------------------------------------------- words */

static void say_table(const past_visit *visits, size_t count)
{
    static const char *const titles[] = {"<visit", "<zone",      "sand reads", "nine in ten",
                                         "bare",   "<to reject", "<"};
    struct table table;
    table_begin(&table, 7, titles);
    for (size_t i = 0; i < count; i++)
        for (size_t z = 0; z < visits[i].zone_count; z++) {
            const past_visit *of = &visits[i];
            char bands[BANDS_BYTES];
            phrase number, doubt;
            table_cell(&table, "%s", past_visit_label(of));
            table_cell(&table, "%s", of->zones[z].name);
            if (of->silent[z]) {
                table_cell(&table, "nothing");
                table_cell(&table, "-");
            } else {
                table_cell(&table, "%s %s %s", rounded(&number, of->sand[z].mean, of->sand[z].sd),
                           plus_minus(), rounded(&doubt, of->sand[z].sd, of->sand[z].sd));
                table_cell(&table, "%d to %d", of->sand[z].low, of->sand[z].high);
            }
            if (isnan(of->bare[z]))
                table_cell(&table, "-");
            else
                table_cell(&table, "%.0f", of->bare[z]);
            table_cell(&table, "%s", z == 0 ? bands_words(bands, &of->bands) : "");
            table_cell(&table, "%s", z == 0 ? verdict_name(of->verdict) : "");
        }
    table_end(&table);
}

/* One picture a zone, by the zone's name, a row a visit that has it. */
static void say_pictures(const past_visit *visits, size_t count)
{
    number_row *rows = need(count, sizeof *rows);
    for (size_t i = 0; i < count; i++)
        for (size_t z = 0; z < visits[i].zone_count; z++) {
            const char *name = visits[i].zones[z].name;
            size_t shown = 0;
            if (!past_visit_first(visits, i, name))
                continue;
            for (size_t j = i; j < count; j++) {
                size_t at = past_visit_zone(&visits[j], name);
                if (at < visits[j].zone_count && !visits[j].silent[at])
                    rows[shown++] =
                        (number_row){past_visit_label(&visits[j]), visits[j].sand[at].p, NULL};
            }
            const bb_bands none = {0};
            if (shown == 0)
                continue;
            say_gap();
            say("What bare %s sand reads:", name);
            say_number_plot(&visits[0].machine, rows, shown, &none);
        }
    free(rows);
}

static void say_words(const past_visit *visits, size_t count)
{
    const past_visit *last = &visits[count - 1];
    char bands[BANDS_BYTES];
    phrase visits_words;
    say_answer("%s; the last says to reject %s (%s).",
               counted(&visits_words, (double)count, "visit", "visits"),
               bands_words(bands, &last->bands), verdict_name(last->verdict));
    say_gap();
    say_table(visits, count);
    say_pictures(visits, count);
}

/* ---------------------------------------------------------------- JSON */

static json_t *visit_json(const past_visit *of)
{
    json_t *zones = json_array();
    for (size_t z = 0; z < of->zone_count; z++)
        json_add(
            zones, json_pack("{s:s,s:f,s:f,s:i,s:i,s:o}", "zone", of->zones[z].name, "mean",
                             of->sand[z].mean, "sd", of->sand[z].sd, "low", of->sand[z].low, "high",
                             of->sand[z].high, "bare_sweeps",
                             isnan(of->bare[z]) ? json_null() : json_count(of->bare[z])));
    return json_pack("{s:s,s:o,s:o,s:o,s:s}", "file", of->path, "date",
                     *of->date == '\0' ? json_null() : json_string(of->date), "zones", zones,
                     "bands", bands_json(&of->bands), "verdict", verdict_name(of->verdict));
}

static json_t *history_json(const past_visit *visits, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++)
        json_add(list, visit_json(&visits[i]));
    return json_pack("{s:o}", "visits", list);
}

/* ---------------------------------------------------------------- running */

static bb_status look_up(const bb_profile *profile, past_visit *of, bb_error *error)
{
    const bb_reject_options options = bb_reject_defaults();
    bb_predictor *predictor = NULL;
    bb_reject *reject = NULL;
    bb_status status = bb_predictor_new(profile, &predictor, error);
    if (status == BB_OK)
        status = bb_reject_new(predictor, &options, &reject, error);
    for (size_t z = 0; z < profile->zone_count && status == BB_OK; z++) {
        of->zones[z] = profile->zones[z];
        of->bare[z] = profile->pooled_visits > 0 ? NAN : profile->bare[z].swept;
        of->silent[z] = profile->pooled_visits == 0 && is_silent(&profile->bare[z]);
        status = bb_predict_sand(predictor, (int)z, &of->sand[z], NULL);
    }
    if (status == BB_OK) {
        of->bands = reject->chosen.bands;
        of->verdict = reject->verdict;
    }
    bb_reject_free(reject);
    bb_predictor_free(predictor);
    return status;
}

static outcome read_visit(const char *path, past_visit *of)
{
    bb_profile *profile = NULL;
    bb_error error = {0};
    outcome result = profile_read(path, &profile);
    if (result != OUTCOME_DONE)
        return result;
    of->path = path;
    of->machine = profile->machine;
    of->zone_count = profile->zone_count;
    of->zones = need(profile->zone_count + 1, sizeof *of->zones);
    of->sand = need(profile->zone_count + 1, sizeof *of->sand);
    of->bare = need(profile->zone_count + 1, sizeof *of->bare);
    of->silent = need(profile->zone_count + 1, sizeof *of->silent);
    if (profile->pooled_visits == 0) /* a club's goes by its file, after the visits */
        memcpy(of->date, profile->beach.date, sizeof of->date);
    bb_status status = look_up(profile, of, &error);
    bb_profile_free(profile);
    return status == BB_OK ? OUTCOME_DONE : fail(status, &error);
}

static outcome same_scale(const past_visit *visits, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        const bb_machine *a = &visits[0].machine, *b = &visits[i].machine;
        if (a->scale_low != b->scale_low || a->scale_high != b->scale_high ||
            a->scale_step != b->scale_step) {
            bb_error error = {.status = BB_INPUT};
            (void)snprintf(error.accepted, sizeof error.accepted,
                           "%.100s and %.100s: their number scales differ, so their numbers cannot "
                           "be compared",
                           visits[0].path, visits[i].path);
            return fail(BB_INPUT, &error);
        }
    }
    return OUTCOME_DONE;
}

static outcome plot(const char *path, page_format format, const past_visit *visits, size_t count)
{
    struct page page;
    outcome result = plot_history(format, visits, count, &page);
    return result == OUTCOME_DONE ? page_write(&page, path) : result;
}

static outcome give(const struct arguments *arguments, const past_visit *visits, size_t count)
{
    const char *picture = option_text_or(arguments, "plot", NULL);
    page_format format = PAGE_PDF;
    outcome result = picture != NULL ? page_format_of("history", picture, &format) : OUTCOME_DONE;
    if (result == OUTCOME_DONE && picture != NULL)
        result = plot(picture, format, visits, count);
    if (result == OUTCOME_DONE && arguments->json)
        say_json(history_json(visits, count));
    else if (result == OUTCOME_DONE)
        say_words(visits, count);
    return result;
}

static outcome run_history(const struct arguments *arguments)
{
    const size_t count = arguments->word_count;
    past_visit *visits = need(count, sizeof *visits);
    outcome result = OUTCOME_DONE;
    for (size_t i = 0; i < count && result == OUTCOME_DONE; i++)
        result = read_visit(arguments->words[i], &visits[i]);
    if (result == OUTCOME_DONE)
        result = same_scale(visits, count);
    if (result == OUTCOME_DONE) {
        qsort(visits, count, sizeof *visits, by_date);
        result = give(arguments, visits, count);
    }
    for (size_t i = 0; i < count; i++)
        visit_free(&visits[i]);
    free(visits);
    return result;
}

static const struct option options[] = {
    {.name = "plot",
     .value = "F.pdf",
     .kind = VALUE_TEXT,
     .help = "draw the visits, as .pdf, .png or .svg"},
    {0},
};

const struct command command_history = {
    .name = "history",
    .usage = "P.json... [--plot F.pdf] [--json]",
    .summary = "the sand's number and the bands over visits",
    .about = "Shows, visit by visit, what the bare sand read, how far that spread, and which "
             "numbers were to be rejected, as a table and a picture. Visits stand by their dates. The last "
             "column is reject's verdict: ok; short, where no setting is both quiet and safe for gold; "
             "unproved, where the sweeps do not decide what it costs.",
    .options = options,
    .words_least = 1,
    .words_most = (size_t)-1,
    .run = run_history,
};
