/* SHA-256 against published digests, and what a visit's digest does and does not notice. */
#include "digest.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---------------------------------------------------------------- SHA-256 */

#define NIST "NIST, examples of FIPS 180-4"
#define COREUTILS "sha256sum of GNU coreutils 9.1"

/* A message repeated. The lengths from 55 on stand around the end of a block and its padding. */
static const struct {
    const char *message;
    size_t times;
    const char *hex, *source;
} vectors[] = {
    {"abc", 1, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", NIST},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 1,
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1", NIST},
    {"a", 1000000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
     "FIPS 180-2, appendix B.3"},
    {"x", 0, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", COREUTILS},
    {"x", 55, "d5e285683cd4efc02d021a5c62014694958901005d6f71e89e0989fac77e4072", COREUTILS},
    {"x", 56, "04c26261370ee7541549d16dee320c723e3fd14671e66a099afe0a377c16888e", COREUTILS},
    {"x", 63, "75220b47218278e656f2013bb8f0c455a25eaf01e86c64924e9d48d89776d6f2", COREUTILS},
    {"x", 64, "7ce100971f64e7001e8fe5a51973ecdfe1ced42befe7ee8d5fd6219506b5393c", COREUTILS},
    {"x", 65, "9537c5fdf120482f7d58d25e9ed583f52c02b4e304ea814db1633ad565aed7e9", COREUTILS},
    {"x", 120, "13f05a0b594787f5ecd315edc96141bd3243203d1b7d4f0836f37308b276ba98", COREUTILS},
    {"x", 128, "24da1b81d0b16df6428eee73c69fcb2a93c76bc6df706f0c6670fe6bfe800464", COREUTILS},
};

START_TEST(sha256_gives_the_published_digests)
{
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        char hex[BB_DIGEST_BYTES];
        bb_sha256 hash;
        bb_sha256_begin(&hash);
        for (size_t n = 0; n < vectors[i].times; n++)
            bb_sha256_feed(&hash, vectors[i].message, strlen(vectors[i].message));
        bb_sha256_end(&hash, hex);
        ck_assert_msg(strcmp(hex, vectors[i].hex) == 0, "%zu times \"%.8s\" (%s): wanted %s,"
                      " got %s", vectors[i].times, vectors[i].message, vectors[i].source,
                      vectors[i].hex, hex);
    }
}
END_TEST

START_TEST(sha256_does_not_care_how_the_bytes_are_cut)
{
    const char *text = vectors[1].message;
    for (size_t cut = 0; cut <= strlen(text); cut++) {
        char hex[BB_DIGEST_BYTES];
        bb_sha256 hash;
        bb_sha256_begin(&hash);
        bb_sha256_feed(&hash, text, cut);
        bb_sha256_feed(&hash, text + cut, strlen(text) - cut);
        bb_sha256_end(&hash, hex);
        ck_assert_str_eq(hex, vectors[1].hex);
    }
}
END_TEST

/* ---------------------------------------------------------------- the digest of a visit */

static const char beach[] = "[machine]\nscale_low = 0\nscale_high = 80\n"
                            "[zone wet]\nsaturation = 1\n[zone damp]\nsaturation = 0.5\n";
static const char kit[] = "target\nring\nfoil\n";
static const char sweeps[] = "zone,target,depth_cm,reading,heard,setting,time\n"
                             "air,ring,5,40,,,14:00\n"
                             "wet,ring,5,38,,,14:06\n"
                             "wet,ring,10,35,,,14:12\n"
                             "wet,ring,5,38,,,14:06\n"
                             "damp,foil,2,38,,,14:30\n"
                             "wet,sand,,2,,,14:36\n"
                             "wet,sand,,,no,,14:36\n"
                             "wet,sand,,3,,1-2,14:42\n";

/* Digest of a visit with one thing of its files replaced by another. */
static void digest_with(const char *file, const char *new_file, const char *old, const char *new,
                        char hex[BB_DIGEST_BYTES])
{
    const char *files[] = {beach, kit, sweeps};
    char texts[3][1024], message[1024] = "";
    for (int i = 0; i < 3; i++) {
        const char *from = files[i] == file && new_file != NULL ? new_file : files[i];
        const char *at = files[i] == file && old != NULL ? strstr(from, old) : NULL;
        ck_assert(files[i] != file || old == NULL || at != NULL);
        if (at == NULL)
            (void)snprintf(texts[i], sizeof texts[i], "%s", from);
        else
            (void)snprintf(texts[i], sizeof texts[i], "%.*s%s%s", (int)(at - from), from, new,
                           at + strlen(old));
    }
    bb_visit visit = {0};
    bb_error error = {0};
    bb_status status = bb_beach_read(texts[0], strlen(texts[0]), "beach.ini", &visit, &error);
    if (status == BB_OK)
        status = bb_kit_read(texts[1], strlen(texts[1]), "kit.csv", &visit, &error);
    if (status == BB_OK)
        status = bb_sweeps_read(texts[2], strlen(texts[2]), "sweeps.csv", &visit, &error);
    bb_error_text(&error, message, sizeof message);
    ck_assert_msg(status == BB_OK, "%s", message);
    ck_assert_int_eq(bb_digest(&visit, hex), BB_OK);
    bb_visit_free(&visit);
}

static const struct {
    const char *what, *file, *new_file, *old, *new;
} same[] = {
    {"rows in another order", sweeps,
     "zone,target,depth_cm,reading,heard,setting,time\n"
     "wet,sand,,3,,1-2,14:42\nwet,ring,5,38,,,14:06\nwet,ring,5,38,,,14:06\n"
     "wet,sand,,,no,,14:36\nair,ring,5,40,,,14:00\ndamp,foil,2,38,,,14:30\n"
     "wet,ring,10,35,,,14:12\nwet,sand,,2,,,14:36\n", NULL, NULL},
    {"targets in another order", kit, "target\nfoil\nring\n", NULL, NULL},
    {"one more target that was not swept", kit, "target\nfoil\ncoin\nring\n", NULL, NULL},
    {"zones in another order", beach,
     "[machine]\nscale_low = 0\nscale_high = 80\n"
     "[zone damp]\nsaturation = 0.5\n[zone wet]\nsaturation = 1\n", NULL, NULL},
    {"a remark above a row", sweeps, NULL, "wet,ring,5,38", "# remark\nwet,ring,5,38"},
    {"another machine's name", beach, NULL, "[machine]", "[machine]\nname = blue"},
    {"all an hour later", sweeps,
     "zone,target,depth_cm,reading,heard,setting,time\n"
     "air,ring,5,40,,,15:00\nwet,ring,5,38,,,15:06\nwet,ring,10,35,,,15:12\n"
     "wet,ring,5,38,,,15:06\ndamp,foil,2,38,,,15:30\nwet,sand,,2,,,15:36\n"
     "wet,sand,,,no,,15:36\nwet,sand,,3,,1-2,15:42\n", NULL, NULL},
};

START_TEST(what_does_not_matter_leaves_the_digest)
{
    char plain[BB_DIGEST_BYTES], changed[BB_DIGEST_BYTES];
    digest_with(NULL, NULL, NULL, NULL, plain);
    ck_assert_uint_eq(strlen(plain), 64);
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        digest_with(same[i].file, same[i].new_file, same[i].old, same[i].new, changed);
        ck_assert_msg(strcmp(plain, changed) == 0, "%s changed the digest", same[i].what);
    }
}
END_TEST

static const struct {
    const char *what, *file, *old, *new;
} other[] = {
    {"a reading", sweeps, "10,35", "10,36"},
    {"a sweep more", sweeps, "damp,foil", "wet,ring,5,38,,,14:06\ndamp,foil"},
    {"a depth", sweeps, "wet,ring,10", "wet,ring,11"},
    {"a zone", sweeps, "wet,ring,10", "damp,ring,10"},
    {"a target", sweeps, "wet,ring,10", "wet,foil,10"},
    {"silence instead of a number", sweeps, "10,35,", "10,,no"},
    {"a setting", sweeps, "1-2", "1-3"},
    {"the time between sweeps", sweeps, "14:30", "15:30"},
    {"the wetness of a zone", beach, "0.5", "0.6"},
    {"a dry layer", beach, "saturation = 0.5", "saturation = 0.5\ndry_layer_cm = 2"},
    {"the scale", beach, "80", "81"},

};

START_TEST(what_was_measured_makes_the_digest)
{
    enum { COUNT = sizeof other / sizeof *other };
    char digests[COUNT + 1][BB_DIGEST_BYTES];
    digest_with(NULL, NULL, NULL, NULL, digests[COUNT]);
    for (size_t i = 0; i < COUNT; i++) {
        digest_with(other[i].file, NULL, other[i].old, other[i].new, digests[i]);
        for (size_t k = 0; k < i; k++)
            ck_assert_msg(strcmp(digests[i], digests[k]) != 0, "%s: the same as %s", other[i].what,
                          other[k].what);
        ck_assert_msg(strcmp(digests[i], digests[COUNT]) != 0, "%s leaves the digest",
                      other[i].what);
    }
}
END_TEST

Suite *suite_digest(void)
{
    Suite *suite = suite_create("digest");
    TCase *group = tcase_create("digest");
    tcase_add_test(group, sha256_gives_the_published_digests);
    tcase_add_test(group, sha256_does_not_care_how_the_bytes_are_cut);
    tcase_add_test(group, what_does_not_matter_leaves_the_digest);
    tcase_add_test(group, what_was_measured_makes_the_digest);
    suite_add_tcase(suite, group);
    return suite;
}
