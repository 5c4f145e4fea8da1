/* brineband fit: learn a profile from a visit, write it, and say what was learned. */
#include "command.h"
#include "files.h"
#include "fit_words.h"
#include "learn.h"
#include "next.h"
#include "out.h"
#include "plot_fit.h"
#include "profile_file.h"
#include "swept.h"

#include <stdlib.h>

/* No profile: still say what the bare sand read and what to do. */
static void say_what_can_be_said(const bb_visit *visit)
{
    for (size_t zone = 0; zone < visit->zone_count; zone++)
        say_bare_sand(visit, zone);
    next_step next = next_after(visit, NULL);
    if (!next.ready)
        say_item(14, "next", "%s", next.text);
}

static outcome report(const struct arguments *arguments, const bb_visit *visit,
                      const struct lesson *learned, const bb_profile *prior, const char *path)
{
    struct fit_findings of = {
        .folder = arguments->words[0], .path = path, .visit = visit, .learned = learned};
    bb_status status = BB_OK;
    if (bb_profile_misses(learned->profile))
        status = bb_misses(learned->predictor, visit, MISSES_SHOWN, of.misses, &of.miss_count);
    if (status == BB_OK && arguments->json)
        say_json(fit_json(&of));
    else if (status == BB_OK)
        fit_say(&of, prior, option_count(arguments, "verbose") > 0);
    return status == BB_OK ? OUTCOME_DONE : fail(status, NULL);
}

/* path: of the profile, which is written already. */
static outcome draw(const char *picture, page_format format, const bb_visit *visit,
                    const bb_profile *profile, const char *path)
{
    struct page page;
    outcome result = plot_fit(format, visit, profile, &page);
    if (result == OUTCOME_DONE)
        result = page_write(&page, picture);
    if (result != OUTCOME_DONE)
        warn("%s is written all the same", path);
    return result;
}

static outcome keep(const struct arguments *arguments, const bb_visit *visit,
                    const struct lesson *learned, const bb_profile *prior, page_format format)
{
    char *path = path_join(arguments->words[0], "profile.json");
    const char *picture = option_text_or(arguments, "plot", NULL);
    if (option_count(arguments, "anonymous") > 0)
        bb_profile_anonymise(learned->profile);
    outcome result =
        profile_write(path, learned->profile, option_count(arguments, "with-place") > 0);
    if (result == OUTCOME_DONE && picture != NULL)
        result = draw(picture, format, visit, learned->profile, path);
    if (result == OUTCOME_DONE)
        result = report(arguments, visit, learned, prior, path);
    free(path);
    return result;
}

static outcome fit_visit(const struct arguments *arguments, const bb_visit *visit,
                         const bb_profile *prior, page_format format)
{
    bb_error error = {0};
    struct lesson learned = {0};
    bb_status status = learn(visit, prior, &learned, &error);
    outcome result;
    if (status == BB_OK) {
        result = keep(arguments, visit, &learned, prior, format);
    } else {
        if (!arguments->json)
            say_what_can_be_said(visit);
        result = fail(status, &error);
    }
    lesson_free(&learned);
    return result;
}

static outcome run_fit(const struct arguments *arguments)
{
    bb_visit visit = {0};
    bb_profile *prior = NULL;
    const char *prior_path = option_text(arguments, "prior", 0);
    const char *picture = option_text_or(arguments, "plot", NULL);
    page_format format = PAGE_PDF;
    outcome result = picture != NULL ? page_format_of("fit", picture, &format) : OUTCOME_DONE;
    if (result == OUTCOME_DONE)
        result = visit_read(arguments->words[0], &visit);
    if (result == OUTCOME_DONE && prior_path != NULL)
        result = profile_read(prior_path, &prior);
    if (result == OUTCOME_DONE)
        result = fit_visit(arguments, &visit, prior, format);
    bb_profile_free(prior);
    bb_visit_free(&visit);
    return result;
}

static const struct option options[] = {
    {.name = "prior",
     .value = "P.json",
     .kind = VALUE_TEXT,
     .help = "begin from an earlier profile, or a club's"},
    {.name = "with-place", .help = "write the beach's name into the profile"},
    {.name = "anonymous", .help = "without the machine's name, the date cut to its month"},
    {.name = "plot",
     .value = "F.pdf",
     .kind = VALUE_TEXT,
     .help = "draw the curve, departures and depths, as .pdf, .png or .svg"},
    {.name = "verbose", .help = "also the parameters and the evidence that the fit settled"},
    {0},
};

const struct command command_fit = {
    .name = "fit",
    .usage = "DIR [--prior P.json] [--with-place] [--anonymous] [--plot F.pdf] [--verbose] "
             "[--json]",
    .summary = "learn how this beach shifts the numbers; writes profile.json",
    .about =
        "Learns, from the sweeps in DIR, what number the wet sand shows, how much it wanders, and "
        "what each piece shows in air and at each depth here, every number with its doubt. What "
        "was not swept is taken from physics and said to be assumed.\n"
        "Writes DIR/profile.json, which reject, predict, check and judge read. It holds no place, "
        "no time of day and no remark. When the sweeps cannot support a profile it writes none, "
        "says what to sweep, and ends with status 4. Sweeps at the edge of what the salt drowns can "
        "keep a fit from settling: those it leaves out, and names.",
    .options = options,
    .words_least = 1,
    .words_most = 1,
    .run = run_fit,
};
