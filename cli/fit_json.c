/* What fit found, as JSON. */
#include "fit_words.h"

#include "assumed.h"
#include "names.h"
#include "next.h"
#include "out.h"
#include "suspect_words.h"

#include <math.h>

static json_t *sand_json(const struct fit_findings *of)
{
    json_t *zones = json_array();
    for (size_t zone = 0; zone < of->learned->profile->zone_count; zone++) {
        const bb_bare *bare = &of->learned->profile->bare[zone];
        bb_prediction sand;
        double sounding;
        json_t *row =
            json_pack("{s:s,s:o,s:o}", "zone", of->learned->profile->zones[zone].name,
                      "bare_sweeps", json_count(bare->swept), "sounded", json_count(bare->heard));
        if (bb_predict_sand(of->learned->predictor, (int)zone, &sand, &sounding) == BB_OK)
            json_join(row, json_pack("{s:f,s:f,s:f,s:i,s:i}", "sounding_share", sounding, "mean",
                                     sand.mean, "sd", sand.sd, "low", sand.low, "high", sand.high));
        const bb_bare_trend trend = bb_bare_trend_of(of->visit, zone);
        json_join(row, json_pack("{s:o,s:o,s:o}", "change", json_number_or_null(trend.change),
                                 "change_hours", json_number_or_null(trend.hours), "change_p",
                                 json_number_or_null(trend.p_value)));
        json_add(zones, row);
    }
    return zones;
}

static void append_target(json_t *targets, const struct fit_findings *of, int target, int zone,
                          double depth_m)
{
    bb_prediction at;
    double offset = NAN, error = NAN;
    if (bb_predict(of->learned->predictor, target, zone, depth_m, NAN, &at) != BB_OK)
        return;
    if (zone != BB_ZONE_AIR)
        (void)bb_predict_offset(of->learned->predictor, target, zone, depth_m, &offset, &error);
    json_add(targets,
             json_pack("{s:s,s:s,s:f,s:f,s:f,s:i,s:i,s:o,s:o,s:o}", "target",
                       of->learned->profile->targets[target].name, "zone",
                       zone_or_air(of->learned->profile->zones, zone), "depth_cm", depth_m * 100,
                       "mean", at.mean, "sd", at.sd, "low", at.low, "high", at.high, "masked",
                       at.over_sand ? json_boolean(at.masked) : json_null(), "offset_from_air",
                       json_number_or_null(offset), "offset_se", json_number_or_null(error)));
}

static json_t *targets_json(const struct fit_findings *of)
{
    json_t *targets = json_array();
    for (size_t target = 0; target < of->learned->profile->target_count; target++) {
        append_target(targets, of, (int)target, BB_ZONE_AIR, fit_air_gap_m);
        for (size_t zone = 0; zone < of->learned->profile->zone_count; zone++)
            for (size_t i = 0; i < FIT_DEPTHS; i++)
                append_target(targets, of, (int)target, (int)zone, fit_depths_m[i]);
    }
    return targets;
}

static json_t *parameter_json(const bb_parameter *row)
{
    return json_pack("{s:s,s:f,s:f,s:f,s:f,s:b}", "name", row->name, "estimate", row->estimate,
                     "sd", row->sd, "prior_mean", row->prior_mean, "prior_sd", row->prior_sd,
                     "learned", (int)bb_parameter_learned(row));
}

static json_t *parameters_json(const bb_profile *profile)
{
    json_t *parameters = json_array();
    for (size_t i = 0; i < profile->parameter_count; i++)
        json_add(parameters, parameter_json(&profile->parameters[i]));
    json_add(parameters, parameter_json(&profile->noise.reading));
    json_add(parameters, parameter_json(&profile->noise.wander));
    for (size_t zone = 0; zone < profile->zone_count; zone++)
        json_add(parameters, parameter_json(&profile->noise.jitter[zone]));
    return parameters;
}

static json_t *evidence_json(const bb_evidence *evidence)
{
    return json_pack("{s:b,s:i,s:i,s:f,s:I,s:f,s:f,s:f,s:o,s:o,s:o,s:f,s:f}", "converged",
                     (int)evidence->converged, "rounds", evidence->rounds, "iterations",
                     evidence->iterations, "gradient", evidence->gradient, "rank",
                     (json_int_t)evidence->rank, "condition", evidence->condition, "chi2",
                     evidence->chi2, "restart_distance", evidence->restart_distance,
                     "pure_error_sd", json_number_or_null(evidence->pure_error_sd), "lack_of_fit_f",
                     json_number_or_null(evidence->lack_of_fit_f), "lack_of_fit_p",
                     json_number_or_null(evidence->lack_of_fit_p), "lack_of_fit_df",
                     evidence->lack_of_fit_df, "pure_error_df", evidence->pure_error_df);
}

static json_t *misses_json(const struct fit_findings *of)
{
    json_t *misses = json_array();
    for (size_t i = 0; i < of->miss_count; i++) {
        const bb_miss *miss = &of->misses[i];
        json_add(misses,
                 json_pack("{s:I,s:f,s:f}", "line", (json_int_t)of->visit->cells[miss->cell].line,
                           "read", miss->read, "expected", miss->expected));
    }
    return misses;
}

/* The rows whose sweeps were left out. */
static json_t *left_out_json(const struct fit_findings *of)
{
    json_t *rows = json_array();
    for (const bb_cell *row = NULL; (row = fit_next_left_out(of, row)) != NULL;)
        json_add(rows, json_integer(row->line));
    return rows;
}

json_t *fit_json(const struct fit_findings *of)
{
    next_step next = next_after(of->visit, of->learned->profile);
    return json_pack("{s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:s}", "profile", of->path, "sweeps",
                     json_count(of->visit->sweep_count), "zones", sand_json(of), "targets",
                     targets_json(of), "assumed", assumed_json(of->learned->profile), "suspects",
                     suspects_json(of->visit, of->learned->suspects, of->learned->suspect_count),
                     "misses", misses_json(of), "left_out", left_out_json(of), "parameters",
                     parameters_json(of->learned->profile), "evidence",
                     evidence_json(&of->learned->profile->evidence), "next",
                     next.ready ? "choose bands: brineband reject" : next.text);
}
