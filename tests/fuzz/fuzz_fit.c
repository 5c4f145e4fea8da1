/* The whole way from arbitrary, well-formed visits: written as text, read, fitted, used. */
#include "draw.h"
#include "hold.h"
#include "use.h"

#include <stdlib.h>
#include <string.h>

static void read_visit(const drawn_visit *drawn, bb_visit *visit)
{
    bb_error error = {0};
    hold(bb_beach_read(drawn->beach, strlen(drawn->beach), "beach.ini", visit, &error) == BB_OK,
         "a well-formed beach is read");
    hold(bb_kit_read(drawn->kit, strlen(drawn->kit), "kit.csv", visit, &error) == BB_OK,
         "a well-formed kit is read");
    hold(bb_sweeps_read(drawn->sweeps, strlen(drawn->sweeps), "sweeps.csv", visit, &error) == BB_OK,
         "well-formed sweeps are read");
    hold_visit(visit);
}

static void hold_suspects(const bb_profile *profile, const bb_visit *visit)
{
    enum { MOST = 8 };
    bb_suspect suspects[MOST];
    size_t count = 0;
    bb_predictor *predictor = NULL;
    hold(bb_predictor_new(profile, &predictor, NULL) == BB_OK, "a fitted profile predicts");
    hold(bb_suspects(predictor, visit, MOST, suspects, &count) == BB_OK, "suspects are found");
    bb_predictor_free(predictor);
    for (size_t i = 0; i < count && i < MOST; i++)
        hold(suspects[i].cell < visit->cell_count && suspects[i].low <= suspects[i].high,
             "a suspect is a sweep outside its range");
}

int LLVMFuzzerTestOneInput(const unsigned char *bytes, size_t length)
{
    static drawn_visit drawn;
    bb_visit visit = {0};
    bb_profile *profile = NULL;
    bb_error error = {0};
    draw_visit(bytes, length, &drawn);
    read_visit(&drawn, &visit);
    bb_status status = bb_fit(&visit, NULL, &profile, &error);
    if (status == BB_OK) {
        hold_suspects(profile, &visit);
        free(use_written(profile));
        use_profile(profile);
    } else {
        hold_refusal(status, &error);
        hold(profile == NULL, "a refusal makes no profile");
    }
    bb_profile_free(profile);
    bb_visit_free(&visit);
    return 0;
}
