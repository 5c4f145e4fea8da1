/* brineband body: how a disc, ring or sphere answers, by itself. */
#include "command.h"
#include "names.h"
#include "out.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MODES = 100, SHOWN = 4 };

typedef struct {
    bb_body body;
    const bb_material *material; /* NULL when the conductivity was given */
    double frequency_hz;
    bb_complex alpha, less; /* less: with nine tenths of the conductivity */
    bb_mode modes[MODES];
    size_t mode_count; /* 0 for a permeable body */
} findings;

/* ---------------------------------------------------------------- finding */

static const struct {
    bb_shape shape;
    bool thickness, bore;
} shapes[] = {
    {BB_SHAPE_DISC, true, false},
    {BB_SHAPE_RING, true, true},
    {BB_SHAPE_SPHERE, false, false},
};

static outcome read_size(const struct arguments *arguments, const char *shape, const char *name,
                         bool wanted, double *size)
{
    bool given = option_count(arguments, name) > 0;
    if (given != wanted)
        return fail_command(wanted ? "body: a %s needs --%s" : "body: a %s takes no --%s", shape,
                            name);
    *size = option_number_or(arguments, name, 0);
    return OUTCOME_DONE;
}

static outcome read_shape(const struct arguments *arguments, bb_body *body)
{
    const char *word = option_text_or(arguments, "shape", "");
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++) {
        if (strcmp(word, bb_shape_text(shapes[i].shape)) != 0)
            continue;
        body->shape = shapes[i].shape;
        outcome result = read_size(arguments, word, "diameter", true, &body->radius_m);
        if (result == OUTCOME_DONE)
            result = read_size(arguments, word, "thickness", shapes[i].thickness,
                               &body->thickness_m);
        if (result == OUTCOME_DONE)
            result = read_size(arguments, word, "bore", shapes[i].bore, &body->bore_radius_m);
        body->radius_m /= 2;
        body->bore_radius_m /= 2;
        if (result == OUTCOME_DONE && body->bore_radius_m >= body->radius_m)
            result = fail_command("body: the bore is as wide as the ring");
        return result;
    }
    return fail_command("body: --shape: found '%s', accepted disc, ring or sphere", word);
}

static outcome unknown_material(const char *word)
{
    name_list names = {0};
    for (size_t i = 0; i < bb_material_count(); i++)
        names_add(&names, bb_material_at(i)->name);
    const char *nearest = names_nearest(&names, word);
    outcome result = fail_command("body: --material: '%s' is not known; %s%s%s", word,
                                  nearest != NULL ? "did you mean '" : "accepted ",
                                  nearest != NULL ? nearest : "a metal of 'brineband body --help'",
                                  nearest != NULL ? "'?" : "");
    names_free(&names);
    return result;
}

static outcome read_metal(const struct arguments *arguments, findings *found)
{
    const char *word = option_text_or(arguments, "material", NULL);
    bool number = option_count(arguments, "conductivity") > 0;
    if ((word != NULL) == number)
        return fail_command("body: give --material or --conductivity, one of them");
    found->body.permeability = 1;
    found->body.conductivity_S_per_m = option_number_or(arguments, "conductivity", 0);
    if (word != NULL) {
        found->material = bb_material_find(word);
        if (found->material == NULL)
            return unknown_material(word);
        found->body.conductivity_S_per_m = found->material->conductivity_S_per_m;
        found->body.permeability = found->material->permeability;
    }
    found->body.permeability =
        option_number_or(arguments, "permeability", found->body.permeability);
    if (found->body.permeability != 1 && found->body.shape != BB_SHAPE_SPHERE)
        return fail_command("body: only a sphere is computed when magnetic (permeability %g); "
                            "--permeability 1 leaves it out",
                            found->body.permeability);
    return OUTCOME_DONE;
}

static outcome read_body(const struct arguments *arguments, findings *found)
{
    outcome result = read_shape(arguments, &found->body);
    if (result == OUTCOME_DONE)
        result = read_metal(arguments, found);
    if (result == OUTCOME_DONE && option_count(arguments, "frequency") == 0)
        result = fail_command("body: --frequency is missing");
    found->frequency_hz = option_number_or(arguments, "frequency", 0);
    return result;
}

static bb_status find(findings *found)
{
    const double omega = bb_angular_frequency(found->frequency_hz);
    bb_body poorer = found->body;
    poorer.conductivity_S_per_m *= 0.9;
    bb_status status = bb_body_polarizability(&found->body, omega, &found->alpha, NULL);
    if (status == BB_OK)
        status = bb_body_polarizability(&poorer, omega, &found->less, NULL);
    if (status == BB_OK && found->body.permeability == 1)
        status = bb_body_modes(&found->body, MODES, found->modes, &found->mode_count);
    return status;
}

/* ---------------------------------------------------------------- saying */

static void say_modes(const findings *found)
{
    struct table table;
    table_begin(&table, 2, (const char *const[]){"strength, mm3", "time constant, us"});
    for (size_t n = 0; n < found->mode_count && n < SHOWN; n++) {
        table_cell(&table, "%.4g", 1e9 * found->modes[n].strength_m3);
        table_cell(&table, "%.4g", 1e6 * found->modes[n].time_constant_s);
    }
    say("Its currents die away in many ways at once; the strongest (of %zu, --json has all):",
        found->mode_count);
    table_end(&table);
}

/* So that 4200 is not written as 4.2e+03. */
static double three_figures(double value)
{
    char text[32];
    (void)snprintf(text, sizeof text, "%.3g", value);
    return strtod(text, NULL);
}

static void say_findings(const findings *found)
{
    const double angle = bb_response_angle_deg(found->alpha),
                 strength_mm3 = 1e9 * bb_response_strength(found->alpha);
    say_answer("At %.4g kHz its response angle is %.1f degrees, its strength %.15g mm3.",
               found->frequency_hz / 1e3, angle, three_figures(strength_mm3));
    say("Response angle: how much it acts like a mirror (90) rather than a resistor (0) or a "
        "magnet (-90); the number on the machine rises with it. Strength: how much of the coil's "
        "field it sends back, as a volume.");
    say("It lies flat, the field through its face. With a tenth less conductivity its angle would "
        "be %.1f degrees: alloys differ by that much and more.",
        bb_response_angle_deg(found->less));
    say_gap();
    if (found->mode_count > 0)
        say_modes(found);
    else
        say("It is magnetic: it has no sum of decaying currents alone.");
    if (found->material != NULL) {
        say_gap();
        say("%s is taken to conduct %.3g MS/m at 20 degC. Source: %s.", found->material->name,
            found->material->conductivity_S_per_m / 1e6, found->material->source);
    }
}

static json_t *findings_json(const findings *found)
{
    json_t *poles = json_array();
    for (size_t n = 0; n < found->mode_count; n++)
        json_add(
            poles, json_pack("{s:f,s:f}", "strength_m3", found->modes[n].strength_m3,
                             "time_constant_us", 1e6 * found->modes[n].time_constant_s));
    return json_pack("{s:o,s:f,s:f,s:f,s:f}", "poles", poles, "X_m3", found->alpha.re, "R_m3",
                     found->alpha.im, "angle_deg", bb_response_angle_deg(found->alpha),
                     "strength_m3", bb_response_strength(found->alpha));
}

static outcome run_body(const struct arguments *arguments)
{
    findings found = {0};
    outcome result = read_body(arguments, &found);
    if (result != OUTCOME_DONE)
        return result;
    bb_status status = find(&found);
    if (status != BB_OK)
        return fail(status, NULL);
    if (arguments->json)
        say_json(findings_json(&found));
    else
        say_findings(&found);
    return OUTCOME_DONE;
}

static const struct option options[] = {
    {.name = "shape", .value = "SHAPE", .kind = VALUE_TEXT, .help = "disc, ring or sphere"},
    {.name = "diameter", .value = "MM", .kind = VALUE_MM, .low = 0.01, .high = 2000,
     .help = "outer"},
    {.name = "thickness", .value = "MM", .kind = VALUE_MM, .low = 0.0001, .high = 2000,
     .help = "of a disc, or along the axis of a ring"},
    {.name = "bore", .value = "MM", .kind = VALUE_MM, .low = 0.001, .high = 2000,
     .help = "inner diameter of a ring"},
    {.name = "permeability", .value = "MU", .kind = VALUE_NUMBER, .low = 0.9, .high = 100000,
     .help = "relative, of a sphere; the material's when not given"},
    {.name = "material", .value = "M", .kind = VALUE_TEXT,
     .help = "copper, silver, gold 18ct, cupronickel and others"},
    {.name = "conductivity", .value = "MS/m", .kind = VALUE_CONDUCTIVITY, .low = 1, .high = 1e9,
     .help = "with its unit, 9.3MS/m, instead of the material"},
    {.name = "frequency", .value = "KHZ", .kind = VALUE_KHZ, .low = 0.001, .high = 10000,
     .help = "of the machine"},
    {0},
};

const struct command command_body = {
    .name = "body",
    .usage = "--shape disc|ring|sphere --diameter MM [--thickness MM] [--bore MM] "
             "[--permeability MU] (--material M | --conductivity MS/m) --frequency KHZ",
    .summary = "how a piece of metal answers: poles, strength, angle",
    .about = "Works out how a disc, ring or sphere answers a coil by itself, without sand and "
             "without a machine. Needs no visit.\n"
             "A coin is thinner than over its rim: its mean thickness is 0.75 to 0.93 of that, "
             "worth 1 to 5 degrees. Discs and rings are of one metal that is not magnetic.",
    .options = options,
    .run = run_body,
};
