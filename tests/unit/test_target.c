/* From a row of a kit to its body: mass, cladding, temperature, wear, and what has no body. */
#include "brineband.h"
#include "compare.h"
#include "constants.h"
#include "corrosion.h"
#include "target.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static bb_target piece(bb_shape shape, const char *material, double diameter_m, double thickness_m)
{
    bb_target target = bb_target_unknown();
    target.shape = shape;
    target.diameter_m = diameter_m;
    target.thickness_m = thickness_m;
    (void)snprintf(target.material, sizeof target.material, "%s", material);
    return target;
}

static bb_body body_after(const bb_target *target, double temperature_c, double severity)
{
    bb_body body;
    bb_target_kind kind;
    ck_assert_int_eq(bb_target_body(target, temperature_c, severity, &body, &kind), BB_OK);
    ck_assert_int_eq(kind, BB_KIND_BODY);
    return body;
}

static bb_target_kind kind_of(const bb_target *target)
{
    bb_body body;
    bb_target_kind kind;
    ck_assert_int_eq(bb_target_body(target, 20.0, 1.0, &body, &kind), BB_OK);
    return kind;
}

START_TEST(coins_answer_by_their_mass_and_core)
{
    static const double kilohertz[] = {5, 10, 15};
    reference *table = reference_open("reference/coins.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        bb_target coin = piece(BB_SHAPE_DISC, reference_text(table, i, "material"),
                               reference_number(table, i, "diameter_mm") * 1e-3,
                               reference_number(table, i, "thickness_mm") * 1e-3);
        coin.mass_kg = reference_number(table, i, "mass_g") * 1e-3;
        bool clad = !reference_empty(table, i, "core");
        if (clad) {
            (void)snprintf(coin.core, sizeof coin.core, "%s", reference_text(table, i, "core"));
            coin.plating_m = reference_number(table, i, "plating_um") * 1e-6;
        }
        bb_body body = body_after(&coin, 20.0, 1.0);
        const char *source = "computed from mass; published sizes";
        double share = clad ? 2.0 / 3.0 : 1.0;
        check_close("coin, mean thickness, mm", source,
                    reference_number(table, i, "mean_thickness_mm") * share, body.thickness_m * 1e3,
                    absolute(0.004));
        for (size_t f = 0; f < sizeof kilohertz / sizeof *kilohertz; f++) {
            char column[32];
            (void)snprintf(column, sizeof column, "angle_%.0fkHz_deg", kilohertz[f]);
            bb_complex alpha;
            ck_assert_int_eq(
                bb_body_polarizability(&body, 2e3 * BB_PI * kilohertz[f], &alpha, NULL), BB_OK);
            check_close(clad ? "clad coin as its core, degrees" : "coin, angle, degrees",
                        "computed: an independent solver", reference_number(table, i, column),
                        atan2(alpha.re, alpha.im) * 180.0 / BB_PI, absolute(clad ? 0.4 : 0.1));
        }
    }
    reference_close(table);
}
END_TEST

START_TEST(a_mass_that_cannot_be_is_not_believed)
{
    bb_target coin = piece(BB_SHAPE_DISC, "bronze", 0.02, 0.0015);
    coin.mass_kg = 0.1;
    ck_assert_double_eq(body_after(&coin, 20.0, 1.0).thickness_m, 0.0015);
    coin.mass_kg = 0.0005;
    ck_assert_double_eq(body_after(&coin, 20.0, 1.0).thickness_m, 0.0015);
    coin.thickness_m = NAN; /* mass alone gives a thickness */
    coin.mass_kg = 0.004;
    check_close("thickness from mass alone, mm", "mass / (density area)",
                4.0 / (8.90e-3 * BB_PI * 100.0), body_after(&coin, 20.0, 1.0).thickness_m * 1e3,
                relative(1e-12));
}
END_TEST

START_TEST(warm_metal_conducts_less)
{
    bb_target coin = piece(BB_SHAPE_DISC, "copper", 0.02, 0.0015);
    check_close("copper at 30 degC over 20", "IEC 60028, 0.393 %/K", 1.0 / 1.0393,
                body_after(&coin, 30.0, 1.0).conductivity_S_per_m / 58e6, relative(1e-12));
    coin.material[0] = '\0';
    coin.conductivity_S_per_m = 9.3e6; /* a bare number has no coefficient */
    ck_assert_double_eq(body_after(&coin, 30.0, 1.0).conductivity_S_per_m, 9.3e6);
}
END_TEST

START_TEST(wear_takes_both_faces_and_leaves_something)
{
    bb_target ring = piece(BB_SHAPE_RING, "brass", 0.02, 0.003);
    ring.bore_m = 0.017;
    ring.years = 10.0;
    double loss = bb_corrosion_loss_m("brass", 10.0, 0.5);
    ck_assert(loss > 1e-4);
    bb_body worn = body_after(&ring, 20.0, 0.5);
    check_close("worn ring, m", "size less the loss of each face", 0.003 - 2.0 * loss,
                worn.thickness_m, relative(1e-9));
    check_close("worn ring, m", "size less the loss of each face", 0.010 - loss, worn.radius_m,
                relative(1e-9));
    check_close("worn ring, m", "size less the loss of each face", 0.0085 + loss,
                worn.bore_radius_m, relative(1e-9));
    ring.years = 1e4;
    worn = body_after(&ring, 20.0, 10.0);
    ck_assert(worn.thickness_m > 0.0 && worn.radius_m > worn.bore_radius_m);
    bb_complex alpha;
    ck_assert_int_eq(bb_body_polarizability(&worn, 1e5, &alpha, NULL), BB_OK);
    ck_assert(isfinite(alpha.re) && isfinite(alpha.im));
    bb_target gold = piece(BB_SHAPE_DISC, "gold 18ct", 0.004, 0.001);
    gold.years = 1000.0;
    ck_assert_double_eq(body_after(&gold, 20.0, 3.0).thickness_m, 0.001);
}
END_TEST

START_TEST(plating_shields_its_core_until_it_is_gone)
{
    bb_target cent = piece(BB_SHAPE_DISC, "copper", 0.019, 0.0015);
    (void)snprintf(cent.core, sizeof cent.core, "zinc");
    cent.plating_m = 10e-6;
    bb_body new_coin = body_after(&cent, 20.0, 1.0);
    ck_assert_double_eq_tol(new_coin.thickness_m, 0.0015 - 20e-6, 1e-15);
    double gone = 10e-6 / bb_corrosion_loss_m("copper", 1.0, 1.0); /* years */
    cent.years = 0.8 * gone;
    ck_assert_double_eq_tol(body_after(&cent, 20.0, 1.0).thickness_m, new_coin.thickness_m, 1e-9);
    cent.years = gone + 4.0;
    check_close("core left bare, m", "size less the core's own loss",
                new_coin.thickness_m - 2.0 * bb_corrosion_loss_m("zinc", 4.0, 1.0),
                body_after(&cent, 20.0, 1.0).thickness_m, relative(1e-9));
}
END_TEST

START_TEST(what_has_no_body_says_so)
{
    bb_target coin = piece(BB_SHAPE_DISC, "copper", 0.02, 0.0016);
    (void)snprintf(coin.core, sizeof coin.core, "steel");
    coin.plating_m = 25e-6;
    ck_assert_int_eq(kind_of(&coin), BB_KIND_IRON);
    bb_target nail = piece(BB_SHAPE_OTHER, "steel", NAN, NAN);
    ck_assert_int_eq(kind_of(&nail), BB_KIND_IRON);
    bb_target washer = piece(BB_SHAPE_RING, "iron", 0.016, 0.0016);
    washer.bore_m = 0.008;
    ck_assert_int_eq(kind_of(&washer), BB_KIND_IRON);
    bb_target hoop = piece(BB_SHAPE_RING, "brass", 0.016, 0.0016);
    ck_assert_int_eq(kind_of(&hoop), BB_KIND_POLE); /* its bore is not known */
    hoop.bore_m = 0.008;
    ck_assert_int_eq(kind_of(&hoop), BB_KIND_BODY);
    hoop.diameter_m = NAN;
    ck_assert_int_eq(kind_of(&hoop), BB_KIND_POLE);
    bb_target named = piece(BB_SHAPE_OTHER, "", NAN, NAN);
    ck_assert_int_eq(kind_of(&named), BB_KIND_POLE);
    (void)snprintf(named.group, sizeof named.group, "iron");
    ck_assert_int_eq(kind_of(&named), BB_KIND_IRON);
    bb_target unsized = piece(BB_SHAPE_DISC, "copper", NAN, 0.001);
    ck_assert_int_eq(kind_of(&unsized), BB_KIND_POLE);
    unsized.diameter_m = 0.02;
    unsized.thickness_m = NAN;
    ck_assert_int_eq(kind_of(&unsized), BB_KIND_POLE);
    bb_target bare = piece(BB_SHAPE_DISC, "", 0.02, 0.001);
    ck_assert_int_eq(kind_of(&bare), BB_KIND_POLE);
    bb_target ball = piece(BB_SHAPE_SPHERE, "steel", 0.01, NAN);
    ck_assert_double_eq(body_after(&ball, 20.0, 1.0).permeability, 200.0);
    bb_target stainless = piece(BB_SHAPE_DISC, "stainless steel", 0.02, 0.001);
    ck_assert_double_eq(body_after(&stainless, 20.0, 1.0).permeability, 1.0);
    bb_body body;
    bb_target_kind kind;
    ck_assert_int_eq(bb_target_body(&coin, -40.0, 1.0, &body, &kind), BB_RANGE);
    ck_assert_int_eq(bb_target_body(&coin, 60.1, 1.0, &body, &kind), BB_RANGE);
    ck_assert_int_eq(bb_target_body(&coin, 20.0, -1.0, &body, &kind), BB_RANGE);
    ck_assert_int_eq(bb_target_body(&coin, 20.0, NAN, &body, &kind), BB_RANGE);
    washer = piece(BB_SHAPE_RING, "brass", 0.016, 0.0016);
    washer.bore_m = 0.016;
    ck_assert_int_eq(bb_target_body(&washer, 20.0, 1.0, &body, &kind), BB_RANGE);
}
END_TEST

/* Steel under a thin skin, both ways on: the wide angle that is used must cover the open spectra.
 */
START_TEST(iron_angles_cover_the_open_spectra)
{
    bb_target coin = piece(BB_SHAPE_DISC, "copper", 0.02, 0.0016);
    (void)snprintf(coin.core, sizeof coin.core, "steel");
    coin.plating_m = 25e-6;
    reference *table = reference_open("reference/open_spectra.csv");
    for (size_t i = 0; i < reference_rows(table); i++) {
        if (strstr(reference_text(table, i, "object"), "plated_steel") == NULL)
            continue;
        bool face_on = strcmp(reference_text(table, i, "field_direction"), "face-on") == 0;
        bb_iron iron = bb_target_iron(&coin, reference_number(table, i, "frequency_Hz"));
        check_close(face_on ? "plated steel, face on, sds" : "plated steel, edge on, sds",
                    "derived from open finite elements", 0.0,
                    (reference_number(table, i, "angle_deg") - iron.angle_deg) / iron.angle_sd_deg,
                    absolute(face_on ? 1.0 : 3.0));
    }
    reference_close(table);
    bb_target nail = piece(BB_SHAPE_OTHER, "steel", NAN, NAN);
    ck_assert_double_eq(bb_target_iron(&nail, 1e4).angle_deg, -40.0);
    ck_assert(bb_target_iron(&coin, 1e2).angle_deg >= -90.0);
    ck_assert(bb_target_iron(&coin, 1e6).angle_deg <= 90.0);
}
END_TEST

/* Every ready-made target is a body, a pole or iron, and each name is met once. */
START_TEST(the_catalogue_is_sound)
{
    ck_assert_uint_ge(bb_catalogue_count(), 30);
    for (size_t i = 0; i < bb_catalogue_count(); i++) {
        bb_target target, other;
        double sd;
        ck_assert_int_eq(bb_catalogue_at(i, &target, &sd), BB_OK);
        ck_assert(sd > 0.0 && sd <= 1.0);
        ck_assert(target.name[0] != '\0' && target.group[0] != '\0');
        bb_target_kind kind = kind_of(&target);
        bool steel = strcmp(target.material, "steel") == 0 || strcmp(target.core, "steel") == 0;
        ck_assert_msg(kind == (steel ? BB_KIND_IRON : BB_KIND_BODY), "%s", target.name);
        if (kind == BB_KIND_BODY) {
            bb_body body = body_after(&target, 12.0, 1.0);
            bb_complex alpha;
            ck_assert_int_eq(bb_body_polarizability(&body, 6e4, &alpha, NULL), BB_OK);
            ck_assert(alpha.im > 0.0);
        }
        for (size_t j = 0; j < i; j++) {
            ck_assert_int_eq(bb_catalogue_at(j, &other, NULL), BB_OK);
            ck_assert_str_ne(target.name, other.name);
        }
    }
    bb_target target;
    ck_assert_int_eq(bb_catalogue_at(bb_catalogue_count(), &target, NULL), BB_RANGE);
}
END_TEST

START_TEST(materials_are_found_by_name)
{
    ck_assert_double_eq(bb_material_find("copper")->conductivity_S_per_m, 58e6);
    ck_assert_ptr_null(bb_material_find("unobtainium"));
    ck_assert_ptr_null(bb_material_at(bb_material_count()));
    for (size_t i = 0; i < bb_material_count(); i++) {
        const bb_material *metal = bb_material_at(i);
        ck_assert_ptr_eq(metal, bb_material_find(metal->name));
        ck_assert(metal->conductivity_S_per_m > 1e6 && metal->conductivity_S_per_m < 65e6);
        ck_assert(metal->density_kg_per_m3 > 2000 && metal->density_kg_per_m3 < 22000);
        ck_assert(metal->permeability >= 1.0 && metal->source[0] != '\0');
    }
}
END_TEST

Suite *suite_target(void);
Suite *suite_target(void)
{
    Suite *suite = suite_create("target");
    TCase *tests = tcase_create("target");
    tcase_add_test(tests, coins_answer_by_their_mass_and_core);
    tcase_add_test(tests, a_mass_that_cannot_be_is_not_believed);
    tcase_add_test(tests, warm_metal_conducts_less);
    tcase_add_test(tests, wear_takes_both_faces_and_leaves_something);
    tcase_add_test(tests, plating_shields_its_core_until_it_is_gone);
    tcase_add_test(tests, what_has_no_body_says_so);
    tcase_add_test(tests, iron_angles_cover_the_open_spectra);
    tcase_add_test(tests, the_catalogue_is_sound);
    tcase_add_test(tests, materials_are_found_by_name);
    suite_add_tcase(suite, tests);
    return suite;
}
