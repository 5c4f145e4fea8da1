/* brineband sand: how water and wet sand conduct, and how the ground answers the coil. */
#include "command.h"
#include "out.h"

#include <math.h>
#include <stdio.h>

typedef struct {
    bool from_water;
    double water_S_per_m, water_relative_error, sand_S_per_m, sand_relative_sd;
    double frequency_hz, height_m;
    bb_complex response, raised; /* at the height, and at twice the height */
} findings;

/* ---------------------------------------------------------------- finding */

static outcome check_choice(const struct arguments *arguments)
{
    static const char *const of_water[] = {"salinity", "temperature", "porosity", "saturation"};
    static const char *const of_coil[] = {"frequency", "coil-diameter", "height"};
    const bool given = option_count(arguments, "conductivity") > 0;
    for (size_t i = 0; i < sizeof of_water / sizeof *of_water; i++) {
        if (given && option_count(arguments, of_water[i]) > 0)
            return fail_command("sand: --conductivity is the sand's own; --%s cannot go with it",
                                of_water[i]);
        if (!given && i < 2 && option_count(arguments, of_water[i]) == 0)
            return fail_command("sand: --%s is missing (or give the sand's own --conductivity)",
                                of_water[i]);
    }
    for (size_t i = 0; i < sizeof of_coil / sizeof *of_coil; i++)
        if (option_count(arguments, of_coil[i]) == 0)
            return fail_command("sand: --%s is missing", of_coil[i]);
    return OUTCOME_DONE;
}

static bb_status find_sand(const struct arguments *arguments, findings *found)
{
    found->from_water = option_count(arguments, "conductivity") == 0;
    found->water_S_per_m = found->water_relative_error = found->sand_relative_sd = NAN;
    found->sand_S_per_m = option_number(arguments, "conductivity", 0);
    if (!found->from_water)
        return BB_OK;
    const double porosity = option_number_or(arguments, "porosity", 0.40);
    bb_status status = bb_water_conductivity(option_number(arguments, "salinity", 0),
                                             option_number(arguments, "temperature", 0),
                                             &found->water_S_per_m, &found->water_relative_error);
    if (status == BB_OK)
        status = bb_sand_conductivity(found->water_S_per_m, porosity,
                                      option_number_or(arguments, "saturation", 1),
                                      &found->sand_S_per_m);
    found->sand_relative_sd = bb_sand_relative_sd(porosity);
    return status;
}

static bb_status find(const struct arguments *arguments, findings *found)
{
    bb_status status = find_sand(arguments, found);
    const bb_ground ground = {
        .sigma_S_per_m = found->sand_S_per_m,
        .susceptibility = option_number_or(arguments, "susceptibility", 0),
        .layer_m = option_number_or(arguments, "dry-layer", 0),
    };
    found->frequency_hz = option_number(arguments, "frequency", 0);
    found->height_m = option_number(arguments, "height", 0);
    const double omega = bb_angular_frequency(found->frequency_hz);
    const double radius_m = option_number(arguments, "coil-diameter", 0) / 2;
    if (status == BB_OK)
        status = bb_ground_response(&ground, omega, radius_m, found->height_m, &found->response);
    if (status == BB_OK)
        status = bb_ground_response(&ground, omega, radius_m, 2 * found->height_m, &found->raised);
    return status;
}

/* ---------------------------------------------------------------- saying */

/* What a response angle up to the limit means. */
static const struct {
    double below_deg;
    const char *words;
} manners[] = {
    {-70, "almost purely as a magnetic material, like iron filings"},
    {-5, "partly as a magnetic material, partly as a resistor"},
    {7, "almost purely as a resistor"},
    {25, "mostly as a resistor, a little as a mirror"},
    {65, "half as a resistor, half as a mirror"},
    {INFINITY, "mostly as a mirror"},
};

static const char *manner_of(bb_complex response)
{
    size_t i = 0;
    while (bb_response_angle_deg(response) >= manners[i].below_deg)
        i++;
    return manners[i].words;
}

static const char *conductivity(phrase *buffer, double S_per_m)
{
    if (S_per_m >= 0.01 || S_per_m == 0)
        (void)snprintf(buffer->text, sizeof buffer->text, "%.3g S/m", S_per_m);
    else
        (void)snprintf(buffer->text, sizeof buffer->text, "%.3g mS/m", 1e3 * S_per_m);
    return buffer->text;
}

static void say_answer_of(bb_complex response, const char *start, double height_m)
{
    phrase degrees;
    say("%s%.3g cm it answers %s: response angle %s, strength %.3g millionths.", start,
        height_m * 100, manner_of(response),
        counted(&degrees, rint(bb_response_angle_deg(response)) + 0.0, "degree", "degrees"),
        1e6 * bb_response_strength(response));
}

static void say_findings(const findings *found)
{
    phrase water, sand, doubt;
    conductivity(&sand, found->sand_S_per_m);
    if (found->from_water)
        say_answer("This sand conducts %s, %.2g %% of the %s of its water.", sand.text,
                   100 * found->sand_S_per_m / found->water_S_per_m,
                   conductivity(&water, found->water_S_per_m));
    else
        say_answer("This sand conducts %s.", sand.text);
    if (bb_response_strength(found->response) == 0) {
        say("Nothing in it conducts or is magnetic, so it answers nothing.");
        return;
    }
    char start[64];
    (void)snprintf(start, sizeof start, "At %.4g kHz and ", found->frequency_hz / 1e3);
    say_answer_of(found->response, start, found->height_m);
    say_answer_of(found->raised, "Raised to ", 2 * found->height_m);
    say_gap();
    say("Response angle: how much it acts like a mirror (90) rather than a resistor (0) or "
        "magnetic material (-90). Strength: roughly the share of what a sheet of metal in its "
        "place would send back.");
    if (found->from_water)
        say("How sure: the water to %s %% if its salinity and temperature are right; the sand to "
            "about %.0f %%, for grains and packing differ from beach to beach.",
            rounded(&doubt, 100 * found->water_relative_error, 100 * found->water_relative_error),
            100 * found->sand_relative_sd);
    say("Next: --dry-layer and --saturation show what the ebb changes, --susceptibility what black "
        "sand does.");
}

static json_t *findings_json(const findings *found)
{
    return json_pack("{s:o,s:f,s:o,s:o,s:{s:f,s:f,s:f,s:f}}", "water_S_per_m",
                     json_number_or_null(found->water_S_per_m), "sand_S_per_m",
                     found->sand_S_per_m, "water_relative_error",
                     json_number_or_null(found->water_relative_error), "sand_relative_sd",
                     json_number_or_null(found->sand_relative_sd), "ground", "X",
                     found->response.re, "R", found->response.im, "angle_deg",
                     bb_response_angle_deg(found->response), "strength",
                     bb_response_strength(found->response));
}

static outcome run_sand(const struct arguments *arguments)
{
    outcome result = check_choice(arguments);
    if (result != OUTCOME_DONE)
        return result;
    findings found;
    bb_status status = find(arguments, &found);
    if (status != BB_OK)
        return fail(status, NULL);
    if (arguments->json)
        say_json(findings_json(&found));
    else
        say_findings(&found);
    return OUTCOME_DONE;
}

static const struct option options[] = {
    {.name = "salinity", .value = "S", .kind = VALUE_NUMBER, .low = 0, .high = 42,
     .help = "practical salinity of the water, 0 to 42: open sea 35"},
    {.name = "temperature", .value = "C", .kind = VALUE_CELSIUS, .low = -2, .high = 35,
     .help = "of the water in the sand, degrees Celsius"},
    {.name = "porosity", .value = "SHARE", .kind = VALUE_SHARE, .low = 0.01, .high = 0.99,
     .help = "share of the sand that is pores; 0.40 when not given"},
    {.name = "saturation", .value = "SHARE", .kind = VALUE_SHARE, .low = 0, .high = 1,
     .help = "share of the pores that holds water; 1 when not given"},
    {.name = "conductivity", .value = "S/m", .kind = VALUE_CONDUCTIVITY, .low = 0, .high = 10,
     .help = "the sand's own, with its unit: 1.1S/m, instead of the four above"},
    {.name = "susceptibility", .value = "SI", .kind = VALUE_NUMBER, .low = 0, .high = 1,
     .help = "of black sand, by volume: 0.001 matters, 0.03 is much; 0 when not given"},
    {.name = "frequency", .value = "KHZ", .kind = VALUE_KHZ, .low = 0.1, .high = 1000,
     .help = "of the machine"},
    {.name = "coil-diameter", .value = "CM", .kind = VALUE_CM, .low = 1, .high = 300,
     .help = "of the coil"},
    {.name = "height", .value = "CM", .kind = VALUE_CM, .low = 0.1, .high = 300,
     .help = "of the coil over the sand"},
    {.name = "dry-layer", .value = "CM", .kind = VALUE_CM, .low = 0, .high = 1000,
     .help = "of dry sand that lies on top; 0 when not given"},
    {0},
};

const struct command command_sand = {
    .name = "sand",
    .usage = "(--salinity S --temperature C [--porosity SHARE] [--saturation SHARE] | "
             "--conductivity S/m) --frequency KHZ --coil-diameter CM --height CM [--dry-layer CM] "
             "[--susceptibility SI]",
    .summary = "how water and wet sand conduct and answer the coil",
    .about = "Works out how well the water and the wet sand conduct, and how the ground answers a "
             "coil held over it. Needs no visit.\n"
             "Wet salt sand is a weak resistor: its response angle is a few degrees, and rises "
             "with frequency, height and salt. Black (magnetic) sand turns the angle below zero.",
    .options = options,
    .run = run_sand,
};
