/* Sweeps gathered into readings by place, and what weighs each of them in the fit. */
#include "cells.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_math.h>
#include <gsl/gsl_sf_erf.h>

#include "jitter.h"

#define HUBER_SD 2.5
#define TURNOVER_NEAR 3.2 /* the outermost node of the jitter */
#define TURNOVER_FAR 7.0
#define UNDECIDED 0.1     /* of a trust: what swings by more keeps a fit from settling */
#define DRIFT_SPAN_HOURS 0.5

static bool teaches(const bb_cell *cell)
{
    return cell->setting == 0 && cell->has_reading;
}

double bb_drift_hour(const bb_visit *visit)
{
    double first = INFINITY, last = -INFINITY;
    for (size_t i = 0; i < visit->cell_count; i++) {
        const bb_cell *cell = &visit->cells[i];
        if (!teaches(cell) || cell->zone == BB_ZONE_AIR || isnan(cell->hour))
            continue;
        first = fmin(first, cell->hour);
        last = fmax(last, cell->hour);
    }
    return last - first > DRIFT_SPAN_HOURS ? 0.5 * (first + last) : NAN;
}

static int sign(double difference)
{
    return (difference > 0) - (difference < 0);
}

/* Order by laying (zone, target, depth, height). */
static int by_laying(const bb_cell *a, const bb_cell *b)
{
    int order = a->zone != b->zone ? a->zone - b->zone : a->target - b->target;
    order = order != 0 ? order : sign(a->depth_m - b->depth_m);
    return order != 0 ? order : sign(a->height_m - b->height_m);
}

bool bb_same_laying(const bb_cell *a, const bb_cell *b)
{
    return by_laying(a, b) == 0;
}

/* A cell and the hour for which the fit takes it: NAN where all hours are one, in air and without
 * drift. Over sand those of a quarter of an hour are one, within which the salt drifts by 2 % (its
 * prior's sd times a quarter over root 12). */
typedef struct {
    const bb_cell *cell;
    double hour;
} timed_cell;

static timed_cell timed(const bb_cell *cell, double drift_hour)
{
    const bool drifts = cell->zone != BB_ZONE_AIR && !isnan(drift_hour);
    return (timed_cell){cell, drifts ? (floor(cell->hour * 4) + 0.5) / 4 : NAN};
}

/* Those without one first. */
static int by_hour(double a, double b)
{
    return isnan(a) || isnan(b) ? !isnan(a) - !isnan(b) : sign(a - b);
}

/* Order by laying, hour and number. */
static int by_reading(const void *one, const void *other)
{
    const timed_cell *a = one, *b = other;
    int order = by_laying(a->cell, b->cell);
    order = order != 0 ? order : by_hour(a->hour, b->hour);
    order = order != 0 ? order : a->cell->reading - b->cell->reading;
    return order != 0 ? order : (a->cell > b->cell) - (a->cell < b->cell);
}

static int side_of(const bb_machine *machine, int number)
{
    return (number >= machine->scale_high) - (number <= machine->scale_low);
}

static void add_reading(bb_cells *cells, const bb_visit *visit, const timed_cell *at,
                        bool same_laying, bool new_place)
{
    const bb_cell *cell = at->cell;
    if (new_place)
        cells->places[cells->place_count++] =
            (bb_site){.point = {cell->zone, cell->target, cell->depth_m, cell->height_m, at->hour},
                      .same = same_laying && cell->target == BB_TARGET_SAND,
                      .first = cells->reading_count};
    bb_site *place = &cells->places[cells->place_count - 1];
    place->count++;
    place->sweeps += cell->count;
    const int side = side_of(&visit->machine, cell->reading);
    const size_t here = cells->place_count - 1;
    const bb_row *last = cells->row_count > 0 ? &cells->rows[cells->row_count - 1] : NULL;
    if (last == NULL || last->place != here || last->side != side)
        cells->rows[cells->row_count++] = (bb_row){.place = here, .side = side};
    cells->readings[cells->reading_count++] =
        (bb_reading){.number = cell->reading,
                     .count = cell->count,
                     .trust = 1,
                     .row = cells->row_count - 1,
                     .source = (size_t)(cell - visit->cells)};
}

/* A laying's places follow each other. */
static void share_layings(bb_cells *cells, const bb_visit *visit)
{
    for (size_t first = 0, next; first < cells->place_count; first = next) {
        const bb_cell *at = &visit->cells[cells->readings[cells->places[first].first].source];
        double sweeps = 0;
        for (next = first; next < cells->place_count; next++) {
            const bb_site *place = &cells->places[next];
            if (!bb_same_laying(at, &visit->cells[cells->readings[place->first].source]))
                break;
            sweeps += place->sweeps;
        }
        for (size_t i = first; i < next; i++)
            cells->places[i].laying = sweeps;
    }
}

bb_status bb_cells_new(const bb_visit *visit, bb_cells *cells)
{
    const size_t room = visit->cell_count + 1;
    timed_cell *sorted = calloc(room, sizeof *sorted);
    const double drift_hour = bb_drift_hour(visit);
    *cells = (bb_cells){.readings = calloc(room, sizeof *cells->readings),
                        .places = calloc(room, sizeof *cells->places),
                        .rows = calloc(room, sizeof *cells->rows)};
    if (!sorted || !cells->readings || !cells->places || !cells->rows) {
        free(sorted);
        bb_cells_free(cells);
        return BB_MEMORY;
    }
    size_t count = 0;
    for (size_t i = 0; i < visit->cell_count; i++)
        if (teaches(&visit->cells[i]))
            sorted[count++] = timed(&visit->cells[i], drift_hour);
    qsort(sorted, count, sizeof *sorted, by_reading);
    for (size_t i = 0; i < count; i++) {
        const bool same_laying = i > 0 && bb_same_laying(sorted[i - 1].cell, sorted[i].cell);
        add_reading(cells, visit, &sorted[i], same_laying,
                    !same_laying || by_hour(sorted[i - 1].hour, sorted[i].hour) != 0);
    }
    share_layings(cells, visit);
    free(sorted);
    return BB_OK;
}

double bb_cells_worth(const bb_site *place)
{
    return BB_LAYING_WORTH / (BB_LAYING_WORTH + place->laying);
}

size_t bb_cells_next(const bb_cells *cells, size_t place)
{
    do
        place++;
    while (place < cells->place_count && cells->places[place].same);
    return place;
}

void bb_cells_free(bb_cells *cells)
{
    free(cells->readings);
    free(cells->places);
    free(cells->rows);
    *cells = (bb_cells){0};
}

/* Where the jitter may turn the sum of target and sand over, the number jumps across the scale: such
 * a reading tells of the jitter alone and does not teach the parameters. */
static double turnover_trust(const bb_signal *signal)
{
    const double beyond = (-bb_turnover(signal) - TURNOVER_NEAR) / (TURNOVER_FAR - TURNOVER_NEAR);
    const double inside = fmin(fmax(beyond, 0), 1);
    return inside * inside * (3 - 2 * inside);
}

size_t bb_cells_lost(const bb_cells *cells)
{
    size_t lost = 0;
    for (size_t i = 0; i < cells->place_count; i++)
        lost += turnover_trust(&cells->places[i].signal) < 0.5 ? cells->places[i].count : 0;
    return lost;
}

void bb_cells_note_trust(bb_cells *cells, bool first)
{
    for (size_t i = 0; i < cells->place_count; i++) {
        bb_site *place = &cells->places[i];
        const double trust = turnover_trust(&place->signal);
        place->least_trust = first ? trust : fmin(place->least_trust, trust);
        place->most_trust = first ? trust : fmax(place->most_trust, trust);
    }
}

bool bb_cells_undecided(const bb_cells *cells, bool *undecided)
{
    bool any = false;
    for (size_t i = 0; i < cells->place_count; i++) {
        const bb_site *place = &cells->places[i];
        const bool swung = place->most_trust - place->least_trust > UNDECIDED;
        any = any || swung;
        for (size_t j = place->first; undecided != NULL && j < place->first + place->count; j++)
            undecided[cells->readings[j].source] = swung;
    }
    return any;
}

/* Of one reading, from the error of depth that its laying shares. */
static double depth_variance(const bb_site *place, const bb_expected *expected)
{
    return bb_cells_worth(place) * place->laying * expected->depth_sd * expected->depth_sd;
}

bb_status bb_cells_weigh(bb_cells *cells, const bb_state *state)
{
    const double step = state->model->machine.scale_step;
    bb_expected expected = {0};
    for (size_t r = 0; r < cells->row_count; r++)
        cells->rows[r].many = cells->rows[r].mean = 0;
    for (size_t i = 0; i < cells->place_count; i++) {
        bb_site *place = &cells->places[i];
        bb_status status = BB_OK;
        if (place->same) {
            place->signal = place[-1].signal;
        } else {
            status = bb_signal_at(state, &place->point, NULL, &place->signal);
            if (status == BB_OK)
                status = bb_expect(state, &place->point, &expected, NULL);
        }
        if (status != BB_OK)
            return status;
        place->variance =
            bb_reading_variance(&expected, step) + depth_variance(place, &expected);
        const double trust = turnover_trust(&place->signal), sd = sqrt(place->variance);
        const double worth = bb_cells_worth(place);
        for (size_t j = place->first; j < place->first + place->count; j++) {
            bb_reading *reading = &cells->readings[j];
            bb_row *row = &cells->rows[reading->row];
            double distance = fabs(reading->number - expected.mean) / sd;
            reading->trust = trust * (distance > HUBER_SD ? HUBER_SD / distance : 1);
            double weight = worth * reading->count * reading->trust;
            row->many += weight;
            row->mean += row->many > 0 ? weight / row->many * (reading->number - row->mean) : 0;
        }
    }
    return BB_OK;
}

double bb_row_residual(const bb_machine *machine, const bb_cells *cells, const bb_row *row,
                       double expectation, double *slope)
{
    const double sd = sqrt(cells->places[row->place].variance), root_many = sqrt(row->many);
    *slope = root_many / sd;
    if (row->side == 0 || row->many == 0)
        return *slope * (expectation - row->mean);
    /* At an end: minus twice the log chance of "at least this" is the squared residual. */
    const double z = (row->side * (expectation - row->mean) + 0.5 * machine->scale_step) / sd;
    const double root = sqrt(fmax(2 * M_LN2 - 2 * gsl_sf_log_erfc(-z * M_SQRT1_2), 0));
    *slope = root > 0 ? root_many * gsl_sf_hazard(-z) / (root * sd) : 0;
    return -row->side * root_many * root;
}

bb_status bb_cells_ready(bb_cells *cells, const bb_state *state)
{
    const bb_machine *machine = &state->model->machine;
    const double rounding = (double)machine->scale_step * machine->scale_step / 12;
    bb_expected expected = {0};
    for (size_t i = 0; i < cells->place_count; i++)
        cells->places[i].information = 0;
    for (size_t r = 0; r < cells->row_count; r++) {
        const bb_row *row = &cells->rows[r];
        bb_site *place = &cells->places[row->place];
        const bool begins = r == 0 || cells->rows[r - 1].place != row->place;
        if (begins && place->same) {
            place->signal = place[-1].signal;
            place->gradient = place[-1].gradient;
            place->beside = place[-1].beside;
        } else if (begins) {
            bb_status status = bb_signal_at(state, &place->point, NULL, &place->signal);
            if (status == BB_OK)
                status = bb_expect(state, &place->point, &expected, &place->gradient);
            if (status != BB_OK)
                return status;
            place->beside = rounding + depth_variance(place, &expected);
        }
        double slope;
        (void)bb_row_residual(machine, cells, row, expected.mean, &slope);
        place->information += slope * slope * place->variance;
    }
    return BB_OK;
}

bb_replicates bb_cells_replicates(const bb_cells *cells, size_t place, double step,
                                  const bb_expected *expected)
{
    const bb_site *at = &cells->places[place];
    const bb_reading *readings = cells->readings + at->first;
    bb_replicates all = {.count = at->sweeps,
                         .expected = expected->mean,
                         .variance = bb_reading_variance(expected, step),
                         .shared = at->laying / at->sweeps * bb_laying_variance(expected, step)};
    for (size_t j = 0; j < at->count; j++)
        all.mean += readings[j].count * readings[j].number / at->sweeps;
    for (size_t j = 0; j < at->count; j++)
        all.squares += readings[j].count * pow(readings[j].number - all.mean, 2);
    return all;
}
