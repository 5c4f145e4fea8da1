/* Fits a visit held in memory, and says what the sand reads and what a ring reads under it. */
#include <brineband.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const char beach[] = "[machine]\nscale_low = 0\nscale_high = 80\nfrequency_khz = 7\n"
                            "coil_diameter_cm = 28\n[beach]\nwater = sea\n[zone wet]\nwetness = wet\n";
static const char kit[] = "target,shape,material,diameter_mm,thickness_mm,bore_mm,group\n"
                          "thin ring,ring,gold 14ct,18,2,16,small gold\n"
                          "coin,disc,copper,23,1.8,,coin\n";
static const char sweeps[] = "zone,target,depth_cm,reading\n"
                             "air,thin ring,10,34 35 34\n"
                             "air,coin,10,68 68 69\n"
                             "wet,sand,,19 20 18 19 19 21 20 18 19 20 19 17 19 20 19\n"
                             "wet,thin ring,5,33 34 34\n";

/* Each step that can fail tells where and why. */
static int explain(const bb_error *error) {
    char text[4 * BB_TEXT_BYTES];
    bb_error_text(error, text, sizeof text);
    fprintf(stderr, "%s\n", text);
    return 1;
}

static bb_status read_visit(bb_visit *visit, bb_error *error) {
    bb_status status = bb_beach_read(beach, strlen(beach), "beach", visit, error);
    if (status == BB_OK) status = bb_kit_read(kit, strlen(kit), "kit", visit, error);
    if (status == BB_OK)
        status = bb_sweeps_read(sweeps, strlen(sweeps), "sweeps", visit, error);
    return status;
}

static bb_status tell(const bb_predictor *predictor) {
    bb_prediction sand, ring;
    double sounding;
    bb_status status = bb_predict_sand(predictor, 0, &sand, &sounding);
    if (status == BB_OK) status = bb_predict(predictor, 0, 0, 0.05, NAN, &ring);
    if (status != BB_OK) return status;
    printf("wet sand: %d to %d\n", sand.low, sand.high);
    printf("thin ring, 5 cm under it: %d to %d\n", ring.low, ring.high);
    return BB_OK;
}

int main(void) {
    bb_visit visit = {0};
    bb_error error = {0};
    bb_profile *profile = NULL;
    bb_predictor *predictor = NULL;
    bb_status status = read_visit(&visit, &error);
    if (status == BB_OK) status = bb_fit(&visit, NULL, &profile, &error);
    if (status == BB_OK) status = bb_predictor_new(profile, &predictor, &error);
    if (status == BB_OK) status = tell(predictor);
    int code = status == BB_OK ? 0 : explain(&error);
    bb_predictor_free(predictor);
    bb_profile_free(profile);
    bb_visit_free(&visit);
    return code;
}
