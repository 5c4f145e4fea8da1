/* brineband new: a visit's folder to fill in, and a sheet on how to sweep. */
#include "cautions.h"
#include "command.h"
#include "files.h"
#include "out.h"
#include "sweeping.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char beach_text[] =
    "; One visit: one beach, one machine setting, one tide. Only the number scale is\n"
    "; required. What stays blank is assumed, and the answers say so.\n"
    "\n"
    "[machine]\n"
    "scale_low = 0         ; CHANGE: the lowest number your machine can show\n"
    "scale_high = 80       ; CHANGE: the highest\n"
    "scale_step = 1\n"
    "name =                ; any words\n"
    "settings =            ; any words; other settings are another calibration\n"
    "frequency_khz =       ; 7   or a salt-cancelling pair: 7, 19   or: one, several\n"
    "coil_diameter_cm =    ; 28\n"
    "reject_bands =        ; how many separate ranges it can reject: 2\n"
    "reject_now =          ; what is dialled in today: 31-34, or none\n"
    "reject_below =        ; a low-end reject in force, or none\n"
    "\n"
    "[beach]\n"
    "name =                ; stays here; a profile to pass on does not carry it\n"
    "date =                ; 2026-05-09\n"
    "low_water =           ; 14:10, from a tide table\n"
    "turn_back =           ; 15:00, when you leave whatever happens\n"
    "swing_height_cm =     ; how high the coil swings over the sand: 5\n"
    "water =               ; sea, brackish or fresh\n"
    "water_temperature_c =\n"
    "\n"
    "[zone wet]            ; one heading for each strip of sand you work\n"
    "wetness = wet         ; dry, damp or wet (shiny; water fills your footprint)\n"
    "\n"
    "[zone damp]\n"
    "wetness = damp\n";

static const char sweeps_text[] =
    "# One row for one place and one piece; several numbers with spaces between are\n"
    "# several sweeps. Lines that start with # are remarks: write your own below.\n"
    "# Bare wet sand, one number a pump, a pace apart:    wet,sand,,23 22 24 23\n"
    "# The same, 20 pumps of which none was heard:        wet,sand,,,,20,no\n"
    "# A piece in air, 10 cm from the coil:               air,gold stud 4 mm,10,27 28 27\n"
    "# The piece flat on the sand, then 5 cm deep:        wet,gold stud 4 mm,0,26 27\n"
    "#                                                    wet,gold stud 4 mm,5,25 26\n"
    "# On the sand with the coil raised to a 10 cm mark:  wet,gold stud 4 mm,0,26 25,10\n"
    "# 3 sweeps with silence or the sand's number alone:  wet,gold stud 4 mm,10,,,3,no\n"
    "zone,target,depth_cm,reading,height_cm,times,heard,setting,note\n";

/* ---------------------------------------------------------------- kit.csv */

/* A small kit that many people have, or can borrow, in the catalogue's names. */
static const char *const ready[] = {"gold stud 4 mm", "thin gold ring",   "gold band",
                                    "silver band",    "foil scrap 15 mm", "can tab ring"};

static bool is_ready(const char *name)
{
    for (size_t i = 0; i < sizeof ready / sizeof *ready; i++)
        if (strcmp(ready[i], name) == 0)
            return true;
    return false;
}

static void put_size(FILE *file, double size, double scale)
{
    if (isfinite(size))
        (void)fprintf(file, ",%.4g", size * scale);
    else
        (void)fputc(',', file);
}

static void put_row(FILE *file, const bb_target *target, bool live)
{
    (void)fprintf(file, "%s%s,%s", live ? "" : "#", target->name,
                  bb_shape_text(target->shape));
    if (*target->material != '\0')
        (void)fprintf(file, ",%s", target->material);
    else
        put_size(file, target->conductivity_S_per_m, 1e-6);
    put_size(file, target->diameter_m, 1e3);
    put_size(file, target->thickness_m, 1e3);
    put_size(file, target->bore_m, 1e3);
    put_size(file, target->mass_kg, 1e3);
    (void)fprintf(file, ",%s", target->core);
    put_size(file, target->plating_m > 0 ? target->plating_m : NAN, 1e6);
    put_size(file, target->years > 0 ? target->years : NAN, 1);
    (void)fprintf(file, ",%s,%s\n", target->keep ? "yes" : "no", target->group);
}

static void put_catalogue(FILE *file, bool live)
{
    for (size_t i = 0; i < bb_catalogue_count(); i++) {
        bb_target target;
        if (bb_catalogue_at(i, &target, NULL) == BB_OK && is_ready(target.name) == live)
            put_row(file, &target, live);
    }
}

static void put_kit(FILE *file)
{
    (void)fputs(
        "# Your test pieces, one a row. Only the name is required; sizes and metal let the\n"
        "# program know a piece that you swept too little. keep: must it still sound?\n"
        "target,shape,material,diameter_mm,thickness_mm,bore_mm,mass_g,core,plating_um,"
        "years,keep,group\n",
        file);
    put_catalogue(file, true);
    (void)fputs("# More common pieces: take the # away before the ones you have.\n", file);
    put_catalogue(file, false);
}

static void put_sheet(FILE *file)
{
    (void)fputs("HOW TO SWEEP\n\n", file);
    for (int i = 0; sweeping[i] != NULL; i++) {
        (void)fprintf(file, "%2d. ", i + 1);
        put_wrapped(file, 4, 4, sweeping[i]);
    }
    (void)fputs("\nMIND\n\n", file);
    for (const caution *row = cautions; row->heading != NULL; row++) {
        int width = fprintf(file, "%s: ", row->heading);
        put_wrapped(file, (size_t)width, 4, row->sentence);
    }
}

/* What put writes, as text that the caller frees. */
static char *text_of(void (*put)(FILE *))
{
    char *text = NULL;
    size_t length;
    FILE *file = open_memstream(&text, &length);
    if (file == NULL)
        exit((int)fail(BB_MEMORY, NULL));
    put(file);
    if (fclose(file) != 0)
        exit((int)fail(BB_MEMORY, NULL));
    return text;
}

/* ---------------------------------------------------------------- running */

enum { FILES = 4 };
static const char *const names[FILES] = {"beach.ini", "kit.csv", "sweeps.csv", "sheet.txt"};

/* Nothing of the user's is ever overwritten: one file in the way stops them all. */
static outcome make_files(const char *folder, const char *const texts[FILES])
{
    outcome result = OUTCOME_DONE;
    for (size_t i = 0; i < FILES && result == OUTCOME_DONE; i++) {
        char *path = path_join(folder, names[i]);
        if (access(path, F_OK) == 0) {
            warn("%s is there already; nothing was written", path);
            result = OUTCOME_SYSTEM;
        }
        free(path);
    }
    for (size_t i = 0; i < FILES && result == OUTCOME_DONE; i++) {
        char *path = path_join(folder, names[i]);
        result = file_make(path, texts[i]);
        free(path);
    }
    return result;
}

static void say_made(const char *folder)
{
    say_answer("%s is ready to fill in.", folder);
    say_item(14, names[0], "the machine's number scale first; the rest is optional");
    say_item(14, names[1], "your test pieces; common ones are there, their sizes filled in");
    say_item(14, names[2], "the numbers you read, as you read them");
    say_item(14, names[3], "how to sweep, in ten lines");
    say_gap();
    say_cautions();
    say_gap();
    char *word = need_word(folder);
    say("Next: edit %s/beach.ini, then 'brineband %s'.", folder, word);
    free(word);
}

static json_t *made_json(const char *folder)
{
    json_t *files = json_array();
    for (size_t i = 0; i < FILES; i++)
        json_add(files, json_string(names[i]));
    return json_pack("{s:s,s:o}", "folder", folder, "files", files);
}

static outcome run_new(const struct arguments *arguments)
{
    const char *folder = arguments->words[0];
    if (mkdir(folder, 0777) != 0 && errno != EEXIST)
        return fail_system(folder, "make");
    char *kit = text_of(put_kit), *sheet = text_of(put_sheet);
    outcome result =
        make_files(folder, (const char *const[FILES]){beach_text, kit, sweeps_text, sheet});
    free(kit);
    free(sheet);
    if (result != OUTCOME_DONE)
        return result;
    if (arguments->json)
        say_json(made_json(folder));
    else
        say_made(folder);
    return OUTCOME_DONE;
}

const struct command command_new = {
    .name = "new",
    .usage = "DIR [--json]",
    .summary = "a visit's folder to fill in, and how to sweep",
    .about = "Makes DIR with beach.ini (machine, beach and zones), kit.csv (your test pieces), "
             "sweeps.csv (what you read) and sheet.txt (how to sweep). Files that are there "
             "already are never overwritten.",
    .words_least = 1,
    .words_most = 1,
    .run = run_new,
};
