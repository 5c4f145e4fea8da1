/* Discs, rings and spheres against independent solutions, exact sums and open spectra. */
#include "bessel.h"
#include "body_table.h"
#include "brineband.h"
#include "cases.h"
#include "compare.h"
#include "constants.h"
#include "spectral.h"

#include <check.h>
#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define DEGREES (180.0 / BB_PI)

static bb_shape shape_of(const char *name)
{
    static const char *const names[] = {
        [BB_SHAPE_DISC] = "disc", [BB_SHAPE_RING] = "ring", [BB_SHAPE_SPHERE] = "sphere"};
    for (bb_shape shape = BB_SHAPE_DISC; shape <= BB_SHAPE_SPHERE; shape++)
        if (strcmp(names[shape], name) == 0)
            return shape;
    return BB_SHAPE_OTHER;
}

static double millimetres(const reference *table, size_t row, const char *column)
{
    return reference_empty(table, row, column) ? 0.0 : reference_number(table, row, column) * 1e-3;
}

/* The body of a row whose sizes are named as in kit.csv. */
static bb_body body_of(const reference *table, size_t row, double sigma_S_per_m)
{
    return (bb_body){.shape = shape_of(reference_text(table, row, "shape")),
                     .radius_m = 0.5 * millimetres(table, row, "diameter_mm"),
                     .thickness_m = millimetres(table, row, "thickness_mm"),
                     .bore_radius_m = 0.5 * millimetres(table, row, "bore_mm"),
                     .conductivity_S_per_m = sigma_S_per_m,
                     .permeability = 1.0};
}

static double complex answer_to(const bb_body *body, double frequency_hz)
{
    bb_complex alpha;
    ck_assert_int_eq(bb_body_polarizability(body, 2.0 * BB_PI * frequency_hz, &alpha, NULL), BB_OK);
    return alpha.re + I * alpha.im;
}

static double angle_deg(double complex alpha)
{
    return atan2(creal(alpha), cimag(alpha)) * DEGREES;
}

START_TEST(spheres_agree_with_the_closed_form)
{
    reference *table = reference_open("reference/sphere_response.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        bb_body sphere = {.shape = BB_SHAPE_SPHERE,
                          .radius_m = reference_number(table, i, "radius_m"),
                          .conductivity_S_per_m = reference_number(table, i, "sigma_S_per_m"),
                          .permeability = reference_number(table, i, "permeability")};
        double complex alpha = answer_to(&sphere, reference_number(table, i, "frequency_Hz"));
        const char *source = reference_text(table, i, "source");
        check_close("sphere, in phase, m^3", source, -reference_number(table, i, "re_alpha_m3"),
                    creal(alpha), relative(3e-12));
        check_close("sphere, quadrature, m^3", source, -reference_number(table, i, "im_alpha_m3"),
                    cimag(alpha), relative(3e-12));
    }
    reference_close(table);
}
END_TEST

static bb_body unit_sphere(double permeability)
{
    /* mu0 sigma a^2 = 1 s, so that frequency is s itself */
    return (bb_body){.shape = BB_SHAPE_SPHERE,
                     .radius_m = 1.0,
                     .conductivity_S_per_m = 1.0 / BB_MU0,
                     .permeability = permeability};
}

/* At low frequency the sums over modes of r tau and r tau^2 rule, at high the skin depth. */
START_TEST(a_sphere_keeps_its_digits_at_both_ends)
{
    const char *source = "limits of the closed form";
    bb_body sphere = unit_sphere(1.0);
    for (int exponent = -8; exponent <= -4; exponent++) {
        double s = pow(10.0, exponent);
        bb_complex alpha, slope;
        ck_assert_int_eq(bb_body_polarizability(&sphere, s, &alpha, &slope), BB_OK);
        check_close("sphere, low frequency", source, 2.0 * BB_PI / 15.0 * s, alpha.im,
                    relative(1e-7));
        check_close("sphere, low frequency", source, 4.0 * BB_PI / 315.0 * s * s, alpha.re,
                    relative(1e-7));
        check_close("sphere, low frequency", source, 2.0 * alpha.re, slope.re, relative(1e-7));
    }
    for (int exponent = 6; exponent <= 8; exponent++) {
        double s = pow(10.0, exponent), fall = 3.0 / sqrt(2.0 * s);
        bb_complex alpha;
        ck_assert_int_eq(bb_body_polarizability(&sphere, s, &alpha, NULL), BB_OK);
        check_close("sphere, high frequency", source, 2.0 * BB_PI * (1.0 - fall), alpha.re,
                    relative(1e-12));
        check_close("sphere, high frequency", source, 2.0 * BB_PI * (fall - 3.0 / s), alpha.im,
                    relative(1e-12));
    }
}
END_TEST

START_TEST(a_permeable_sphere_starts_as_a_magnet)
{
    for (double mu = 1.5; mu < 2000.0; mu *= 10.0) {
        bb_body sphere = unit_sphere(mu);
        bb_complex alpha;
        ck_assert_int_eq(bb_body_polarizability(&sphere, 1e-8, &alpha, NULL), BB_OK);
        check_close("magnetized sphere", "limits of the closed form",
                    -4.0 * BB_PI * (mu - 1.0) / (mu + 2.0), alpha.re, relative(1e-12));
    }
}
END_TEST

static size_t modes_of(const bb_body *body, bb_mode modes[100])
{
    size_t count = 0;
    ck_assert_int_eq(bb_body_modes(body, 100, modes, &count), BB_OK);
    ck_assert_uint_le(count, 100);
    return count;
}

/* The mode nearest in time constant. */
static bb_mode mode_near(const bb_mode *modes, size_t count, double tau_s)
{
    bb_mode best = modes[0];
    for (size_t n = 1; n < count; n++)
        if (fabs(log(modes[n].time_constant_s / tau_s)) < fabs(log(best.time_constant_s / tau_s)))
            best = modes[n];
    return best;
}

START_TEST(modes_agree_with_an_independent_solver)
{
    reference *table = reference_open("reference/body_modes.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        bb_body body = body_of(table, i, reference_number(table, i, "conductivity_MS_per_m") * 1e6);
        bb_mode modes[100];
        double tau = reference_number(table, i, "tau_s");
        bb_mode got = mode_near(modes, modes_of(&body, modes), tau);
        const char *source = reference_text(table, i, "source");
        double stated = fmax(reference_number(table, i, "tau_relative_error"),
                             reference_number(table, i, "strength_relative_error"));
        tolerance limit = relative(stated > 1e-7 ? 1e-5 : 2e-7);
        check_close("mode, time constant, s", source, tau, got.time_constant_s, limit);
        check_close("mode, strength, m^3", source, reference_number(table, i, "strength_m3"),
                    got.strength_m3, limit);
    }
    reference_close(table);
}
END_TEST

START_TEST(first_modes_of_discs_agree)
{
    reference *table = reference_open("reference/disc_first_mode.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        double t = reference_number(table, i, "t_over_a");
        bb_body disc = {BB_SHAPE_DISC, 1.0, t, 0.0, 1.0 / BB_MU0, 1.0};
        bb_mode modes[100];
        ck_assert_uint_ge(modes_of(&disc, modes), 1);
        const char *source = reference_text(table, i, "source");
        check_close("disc, first time constant / t", source,
                    reference_number(table, i, "tau_over_mu0_sigma_a_t"),
                    modes[0].time_constant_s / t, absolute(1e-8));
        check_close("disc, first strength / a^3", source,
                    reference_number(table, i, "strength_over_a3"), modes[0].strength_m3,
                    relative(5e-8));
    }
    reference_close(table);
}
END_TEST

START_TEST(a_foil_tends_to_the_infinitely_thin_disc)
{
    const double t = 1e-7;
    bb_body disc = {BB_SHAPE_DISC, 1.0, t, 0.0, 1.0 / BB_MU0, 1.0};
    bb_mode modes[100];
    size_t count = modes_of(&disc, modes);
    reference *table = reference_open("reference/thin_disc_modes.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        const char *source = reference_text(table, i, "source");
        double tau = reference_number(table, i, "tau_over_mu0_sigma_a_t");
        bb_mode got = mode_near(modes, count, tau * t);
        check_close("thin disc, time constant / t", source, tau, got.time_constant_s / t,
                    relative(1e-5));
        check_close("thin disc, strength / a^3", source,
                    reference_number(table, i, "strength_over_a3"), got.strength_m3,
                    relative(1e-5));
    }
    reference_close(table);
    double sum = 0.0;
    for (size_t n = 0; n < count; n++)
        sum += modes[n].strength_m3;
    check_close("thin disc, sum of strengths", "8 a^3 / 3, perfect disc", 8.0 / 3.0, sum,
                relative(1e-3));
}
END_TEST

/* Shapes that cover the tables and lie on none of their nodes: additive recurrence in three
 * dimensions (multiples of powers of the plastic number). */
typedef struct {
    double wall, thickness, s; /* over radius; s = omega mu0 sigma a^2 mean time constant */
} sample;

static sample sample_at(int index)
{
    double share[3] = {0.8191725134, 0.6710436067, 0.5497004779};
    for (int d = 0; d < 3; d++) {
        double at = 0.5 + index * share[d];
        share[d] = at - floor(at);
    }
    return (sample){.wall = exp(log(1e-3) + share[0] * log(0.95 / 1e-3)),
                    .thickness = exp(log(2e-5) + share[1] * log(4.0 / 2e-5)),
                    .s = exp(log(1e-3) + share[2] * log(1e6))};
}

static bb_body shape_at(const sample *at, bb_shape shape)
{
    double bore = shape == BB_SHAPE_RING ? 1.0 - at->wall : 0.0;
    return (bb_body){shape, 1.0, at->thickness, bore, 1.0 / BB_MU0, 1.0};
}

START_TEST(the_first_moment_of_the_modes_is_exact)
{
    for (int i = 0; i < 12; i++) {
        sample at = sample_at(i);
        bb_body body = shape_at(&at, i % 2 ? BB_SHAPE_RING : BB_SHAPE_DISC);
        bb_mode modes[100];
        size_t count = modes_of(&body, modes);
        double moment = 0.0;
        for (size_t n = 0; n < count; n++) {
            ck_assert(modes[n].strength_m3 >= 0.0 && modes[n].time_constant_s > 0.0);
            moment += modes[n].strength_m3 * modes[n].time_constant_s;
        }
        double bore4 = pow(body.bore_radius_m, 4.0);
        check_close("first moment of the modes", "mu0 sigma (pi/2) int int r^3 dr dz",
                    BB_PI / 8.0 * body.thickness_m * (1.0 - bore4), moment, relative(1e-9));
    }
}
END_TEST

/* What is tabulated against the solver with twice the unknowns that the table was made with. */
START_TEST(the_table_holds_what_the_solver_finds)
{
    enum { SAMPLES = CASES(16, 2), MODES = 100 };
    for (int i = 0; i < 2 * SAMPLES; i++) {
        sample at = sample_at(i + 100);
        bb_body body = shape_at(&at, i % 2 ? BB_SHAPE_RING : BB_SHAPE_DISC);
        bb_section section = bb_section_of(body.thickness_m, body.bore_radius_m, 600, MODES);
        bb_mode modes[MODES];
        size_t count = 0;
        ck_assert_int_eq(bb_spectral_modes(&section, modes, &count), BB_OK);
        double first = 0.0, second = 0.0;
        for (size_t n = 0; n < count; n++) {
            first += modes[n].strength_m3 * modes[n].time_constant_s;
            second += modes[n].strength_m3 * modes[n].time_constant_s * modes[n].time_constant_s;
        }
        double omega = at.s * first / second;
        double complex wanted = 0.0;
        for (size_t n = 0; n < count; n++) {
            double complex turns = I * omega * modes[n].time_constant_s;
            wanted += modes[n].strength_m3 * turns / (1.0 + turns);
        }
        double complex got = answer_to(&body, omega / (2.0 * BB_PI));
        const char *source = "computed: lib/spectral.c, 600 functions";
        check_close("table, angle, degrees", source, angle_deg(wanted), angle_deg(got),
                    absolute(1e-3));
        check_close("table, strength, a^3", source, cabs(wanted), cabs(got), relative(1e-5));
    }
}
END_TEST

START_TEST(responses_agree_with_independent_solvers)
{
    reference *table = reference_open("reference/body_response.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        bb_body body = body_of(table, i, reference_number(table, i, "conductivity_MS_per_m") * 1e6);
        double complex alpha = answer_to(&body, reference_number(table, i, "frequency_kHz") * 1e3);
        const char *source = reference_text(table, i, "source");
        check_close("body, angle, degrees", source, reference_number(table, i, "angle_deg"),
                    angle_deg(alpha), absolute(1e-3));
        if (!reference_empty(table, i, "strength_m3"))
            check_close("body, strength, m^3", source, reference_number(table, i, "strength_m3"),
                        cabs(alpha), relative(1e-5));
    }
    reference_close(table);
}
END_TEST

START_TEST(the_slope_is_the_derivative)
{
    for (int i = 0; i < 60; i++) {
        sample at = sample_at(i);
        bb_body body = shape_at(&at, (bb_shape)(i % 3)); /* disc, ring, sphere */
        if (body.shape == BB_SHAPE_SPHERE)
            body.permeability = 1.0 + 1e3 * at.wall;
        bb_complex alpha, slope;
        ck_assert_int_eq(bb_body_polarizability(&body, at.s, &alpha, &slope), BB_OK);
        const double step = 1e-4;
        double complex change = answer_to(&body, at.s * exp(step) / (2.0 * BB_PI)) -
                                answer_to(&body, at.s * exp(-step) / (2.0 * BB_PI));
        change /= 2.0 * step;
        double size = hypot(alpha.re, alpha.im);
        check_close("slope over strength", "central difference", creal(change) / size,
                    slope.re / size, absolute(2e-6));
        check_close("slope over strength", "central difference", cimag(change) / size,
                    slope.im / size, absolute(2e-6));
    }
}
END_TEST

/* tau goes as sigma a^2 and strength as a^3, whatever the shape. */
START_TEST(size_and_metal_only_scale)
{
    for (int i = 0; i < 30; i++) {
        sample at = sample_at(i);
        bb_body body = shape_at(&at, (bb_shape)(i % 3));
        bb_body other = body;
        other.radius_m *= 0.01;
        other.thickness_m *= 0.01;
        other.bore_radius_m *= 0.01;
        other.conductivity_S_per_m *= 20.0;
        double complex one = answer_to(&body, at.s), two = answer_to(&other, at.s * 1e4 / 20.0);
        check_close("scaling with size and metal", "similarity", cabs(one), cabs(two) * 1e6,
                    relative(1e-12));
        check_close("scaling with size and metal", "similarity", angle_deg(one), angle_deg(two),
                    absolute(1e-9));
    }
}
END_TEST

/* Beyond the tables: thin foil, thin wall, small hole, long rod, and high frequency. */
START_TEST(beyond_the_tables_the_answer_stays_near)
{
    static const struct {
        const char *quantity;
        double wall, thickness, s, angle_limit, strength_limit;
    } cases[] = {
        {"foil thinner than the table", 1.0, 5e-6, 1e5, 3e-3, 3e-5},
        {"wall thinner than the table", 3e-4, 0.3, 3e3, 0.1, 2e-3},
        {"hole smaller than the table", 0.97, 0.2, 60.0, 1e-3, 1e-5},
        {"hole smaller than the table", 0.99, 0.05, 300.0, 1e-3, 1e-5},
        {"rod longer than the table", 1.0, 12.0, 20.0, 0.1, 1e-2},
        {"rod longer than the table", 1.0, 40.0, 200.0, 0.1, 1e-2},
        {"tube longer than the table", 0.2, 12.0, 20.0, 0.1, 1e-2},
        {"frequency above the table", 1.0, 0.5, 5e4, 0.02, 1e-3},
        {"frequency above the table", 0.3, 0.5, 5e4, 0.02, 1e-3},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        bb_shape shape = cases[i].wall < 1.0 ? BB_SHAPE_RING : BB_SHAPE_DISC;
        sample at = {cases[i].wall, cases[i].thickness, 0.0};
        bb_body body = shape_at(&at, shape);
        bb_section section = bb_section_of(body.thickness_m, body.bore_radius_m, 900, 100);
        bb_mode modes[100];
        size_t count = 0;
        ck_assert_int_eq(bb_spectral_modes(&section, modes, &count), BB_OK);
        double complex wanted = 0.0;
        for (size_t n = 0; n < count; n++) {
            double complex turns = I * cases[i].s * modes[n].time_constant_s;
            wanted += modes[n].strength_m3 * turns / (1.0 + turns);
        }
        double complex got = answer_to(&body, cases[i].s / (2.0 * BB_PI));
        check_close(cases[i].quantity, "lib/spectral.c, angle, degrees", angle_deg(wanted),
                    angle_deg(got), absolute(cases[i].angle_limit));
        check_close(cases[i].quantity, "lib/spectral.c, strength, a^3", cabs(wanted), cabs(got),
                    relative(cases[i].strength_limit));
    }
}
END_TEST

/* The foil of 20 um whose angle at 10 kHz is wanted. */
static bb_body foil_of_angle(double wanted_deg)
{
    bb_body foil = {BB_SHAPE_DISC, 0.0, 20e-6, 0.0, 37.7e6, 1.0};
    double low = 1e-3, high = 3.0;
    for (int i = 0; i < 60; i++) {
        foil.radius_m = 0.5 * (low + high);
        if (angle_deg(answer_to(&foil, 1e4)) < wanted_deg)
            low = foil.radius_m;
        else
            high = foil.radius_m;
    }
    return foil;
}

START_TEST(foil_and_small_gold_cannot_be_parted_by_angle)
{
    static const double kilohertz[] = {3, 5, 10, 15, 20, 40};
    reference *table = reference_open("reference/foil_and_gold.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        const char *source = reference_text(table, i, "source");
        bb_body gold = body_of(table, i, reference_number(table, i, "conductivity_MS_per_m") * 1e6);
        bb_body foil = foil_of_angle(angle_deg(answer_to(&gold, 1e4)));
        bool stud = strncmp(reference_text(table, i, "gold"), "stud 4x1", 8) == 0 &&
                    gold.conductivity_S_per_m <= 7e6;
        for (size_t f = 0; f < sizeof kilohertz / sizeof *kilohertz; f++) {
            char column[64];
            (void)snprintf(column, sizeof column, "angle_%.0fkHz_deg", kilohertz[f]);
            double angle = angle_deg(answer_to(&gold, kilohertz[f] * 1e3));
            check_close("gold, angle, degrees", source, reference_number(table, i, column), angle,
                        absolute(0.0051));
            double between = angle_deg(answer_to(&foil, kilohertz[f] * 1e3)) - angle;
            (void)snprintf(column, sizeof column, "foil_less_gold_%.0fkHz_deg", kilohertz[f]);
            check_close("foil less gold, degrees", source, reference_number(table, i, column),
                        between, absolute(0.0101)); /* given and matched to 0.005 each */
            if (stud)
                check_close("foil less a 4 mm stud, degrees", "equal within 0.1", 0.0, between,
                            absolute(0.1));
        }
        check_close("foil like gold, diameter, mm", source,
                    reference_number(table, i, "foil_diameter_mm"), 2e3 * foil.radius_m,
                    relative(8e-3)); /* matched to 0.3 %, given to 0.1 mm */
        double ratio = cabs(answer_to(&foil, 1e4)) / cabs(answer_to(&gold, 1e4));
        check_close("foil over gold, strength", source,
                    reference_number(table, i, "foil_strength_ratio"), ratio,
                    relative(0.025)); /* strength goes as the fourth power of that */
    }
    reference_close(table);
}
END_TEST

/* Finite elements lose the skin depth at high frequency, and a pendant carries a loop of wire that
 * a bare disc has not: see reference/model.md. */
START_TEST(open_spectra_agree)
{
    reference *table = reference_open("reference/open_spectra.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        if (strcmp(reference_text(table, i, "shape"), "other") == 0)
            continue;
        bb_body body = body_of(table, i, reference_number(table, i, "sigma_S_per_m"));
        body.permeability = reference_number(table, i, "permeability");
        double complex alpha = answer_to(&body, reference_number(table, i, "frequency_Hz"));
        const char *object = reference_text(table, i, "object");
        bool pendant = strncmp(object, "pendant", 7) == 0;
        check_close(pendant ? "open pendant, angle, degrees" : "open spectrum, angle, degrees",
                    object, reference_number(table, i, "angle_deg"), angle_deg(alpha),
                    absolute(pendant ? 2.0 : 0.1));
        check_close(pendant ? "open pendant, strength" : "open spectrum, strength", object,
                    reference_number(table, i, "strength_m3"), cabs(alpha),
                    relative(pendant ? 0.15 : 2e-3));
    }
    reference_close(table);
}
END_TEST

START_TEST(what_is_no_body_is_refused)
{
    static const bb_body bad[] = {
        {BB_SHAPE_OTHER, 0.01, 0.002, 0.0, 1e7, 1.0},
        {BB_SHAPE_DISC, 0.0, 0.002, 0.0, 1e7, 1.0},
        {BB_SHAPE_DISC, -0.01, 0.002, 0.0, 1e7, 1.0},
        {BB_SHAPE_DISC, 0.01, 0.0, 0.0, 1e7, 1.0},
        {BB_SHAPE_DISC, 0.01, 0.002, 0.0, 0.0, 1.0},
        {BB_SHAPE_DISC, 0.01, 0.002, 0.0, 1e7, 100.0},
        {BB_SHAPE_RING, 0.01, 0.002, 0.01, 1e7, 1.0},
        {BB_SHAPE_RING, 0.01, 0.002, -0.001, 1e7, 1.0},
        {BB_SHAPE_DISC, INFINITY, 0.002, 0.0, 1e7, 1.0},
        {BB_SHAPE_DISC, NAN, 0.002, 0.0, 1e7, 1.0},
        {BB_SHAPE_DISC, 0.01, NAN, 0.0, 1e7, 1.0},
        {BB_SHAPE_SPHERE, 0.01, 0.0, 0.0, 1e7, -1.0},
        {BB_SHAPE_SPHERE, 0.01, 0.0, 0.0, NAN, 1.0},
        {BB_SHAPE_SPHERE, 0.01, 0.0, 0.0, INFINITY, 1.0},
        {BB_SHAPE_SPHERE, 0.01, 0.0, 0.0, 1e7, INFINITY},
        {BB_SHAPE_DISC, 0.01, INFINITY, 0.0, 1e7, 1.0},
        {BB_SHAPE_RING, 0.01, 0.0, 0.005, 1e7, 1.0},
    };
    bb_complex alpha;
    bb_mode mode;
    size_t count;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        ck_assert_int_eq(bb_body_polarizability(&bad[i], 1e5, &alpha, NULL), BB_RANGE);
        ck_assert_int_eq(bb_body_modes(&bad[i], 1, &mode, &count), BB_RANGE);
    }
    bb_body good = {BB_SHAPE_DISC, 0.01, 0.002, 0.0, 1e7, 1.0};
    ck_assert_int_eq(bb_body_polarizability(&good, 0.0, &alpha, NULL), BB_RANGE);
    ck_assert_int_eq(bb_body_polarizability(&good, NAN, &alpha, NULL), BB_RANGE);
    ck_assert_int_eq(bb_body_polarizability(&good, INFINITY, &alpha, NULL), BB_RANGE);
    bb_body magnet = unit_sphere(100.0);
    ck_assert_int_eq(bb_body_modes(&magnet, 1, &mode, &count), BB_RANGE);
}
END_TEST

START_TEST(only_as_many_modes_are_given_as_there_is_room_for)
{
    const bb_body sphere = unit_sphere(1.0);
    bb_mode all[200], first[3] = {{0}};
    size_t count = 0;
    ck_assert_int_eq(bb_body_modes(&sphere, sizeof all / sizeof *all, all, &count), BB_OK);
    ck_assert_uint_lt(count, sizeof all / sizeof *all);
    ck_assert_int_eq(bb_body_modes(&sphere, 2, first, &count), BB_OK);
    ck_assert(memcmp(first, all, 2 * sizeof *first) == 0);
    ck_assert(first[2].strength_m3 == 0 && first[2].time_constant_s == 0);
}
END_TEST

/* From the first, sin x / x, to those too small for a double's exponent. */
START_TEST(spherical_bessel_functions_of_high_order_are_as_small_as_they_should)
{
    enum { ORDERS = 120 };
    double value[ORDERS];
    const double x = 0.01;
    bb_bessel_spherical(x, ORDERS, value);
    double leading = 1;
    for (int n = 0; n < ORDERS; n++) {
        const double next = 1 - x * x / (2 * (2 * n + 3));
        check_close("spherical Bessel function", "x^n/(2n+1)!! (1 - x^2/(4n+6)), DLMF 10.53.1",
                    leading * next, value[n], leading > 1e-290 ? relative(1e-9) : absolute(1e-290));
        leading *= x / (2 * n + 3);
    }
}
END_TEST

Suite *suite_body(void);
Suite *suite_body(void)
{
    Suite *suite = suite_create("body");
    TCase *tests = tcase_create("body");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, spheres_agree_with_the_closed_form);
    tcase_add_test(tests, a_sphere_keeps_its_digits_at_both_ends);
    tcase_add_test(tests, a_permeable_sphere_starts_as_a_magnet);
    tcase_add_test(tests, modes_agree_with_an_independent_solver);
    tcase_add_test(tests, first_modes_of_discs_agree);
    tcase_add_test(tests, a_foil_tends_to_the_infinitely_thin_disc);
    tcase_add_test(tests, the_first_moment_of_the_modes_is_exact);
    tcase_add_test(tests, the_table_holds_what_the_solver_finds);
    tcase_add_test(tests, responses_agree_with_independent_solvers);
    tcase_add_test(tests, the_slope_is_the_derivative);
    tcase_add_test(tests, size_and_metal_only_scale);
    tcase_add_test(tests, beyond_the_tables_the_answer_stays_near);
    tcase_add_test(tests, foil_and_small_gold_cannot_be_parted_by_angle);
    tcase_add_test(tests, open_spectra_agree);
    tcase_add_test(tests, what_is_no_body_is_refused);
    tcase_add_test(tests, only_as_many_modes_are_given_as_there_is_room_for);
    tcase_add_test(tests, spherical_bessel_functions_of_high_order_are_as_small_as_they_should);
    suite_add_tcase(suite, tests);
    return suite;
}
