/* What a sweep over a piece may show, with the errors that all its sweeps share kept apart from
 * those of each sweep. */
#ifndef BB_OUTLOOK_H
#define BB_OUTLOOK_H

#include "predictor.h"

/* A piece with one value of its time parameter. */
typedef struct {
    const bb_model_target *kind;
    bb_answer answer;
    double time;
    bool swept;                  /* its parameters are the profile's, and in its covariance */
    double time_sd, strength_sd; /* doubt of its own parameters where it was not swept */
} bb_subject;

/* A swept target is one piece. One that was never swept is a kind of piece, spread over the values
 * that its time parameter may take. Not to be copied. */
enum { BB_PIECES_MAX = 9 };
typedef struct {
    bb_model_target kind;
    int count, middle; /* middle: the most likely one */
    struct {
        bb_subject subject;
        double weight; /* they sum to one */
    } at[BB_PIECES_MAX];
} bb_pieces;

bb_status bb_pieces_known(const bb_predictor *predictor, int target, bb_pieces *pieces);
bb_status bb_pieces_other(const bb_predictor *predictor, const bb_target *target, double sd_log,
                          bb_pieces *pieces);

/* One value of the sand's jitter. A sweep there shows a normal number: variance own for each sweep
 * anew, common numbers for each standard deviation of an error that all sweeps share, rest for what
 * of the doubt does not go with it. */
typedef struct {
    double weight, number, own, common, rest;
} bb_outlook_node;

enum { BB_OUTLOOK_NODES = 81 };
typedef struct {
    int count;
    bb_outlook_node node[BB_OUTLOOK_NODES];
    bb_gradient common; /* the shared error in standard deviations, by the parameters */
    bool over_sand, masked;
    double signal_to_ground;
} bb_outlook;

/* A place as bb_predict takes it; BB_RANGE outside. */
bb_status bb_outlook_place(const bb_predictor *predictor, int target, int zone, double depth_m,
                           double height_m, bb_point *point);

/* Both of a target of the profile. BB_RANGE. */
bb_status bb_outlook_known(const bb_predictor *predictor, int target, int zone, double depth_m,
                           double height_m, bb_point *point, bb_pieces *pieces);

bb_status bb_outlook_at(const bb_predictor *predictor, const bb_point *point,
                        const bb_subject *subject, bb_outlook *outlook);

double bb_outlook_node_sd(const bb_outlook_node *node);

/* The chance that a sweep shows a number as high or higher, or as low or lower, whichever is less.
 */
double bb_outlook_tail(const bb_outlook *outlook, const bb_machine *machine, int number);

/* Whether the piece can be heard there, without the nodes. */
bb_status bb_outlook_detect(const bb_predictor *predictor, const bb_point *point,
                            const bb_subject *subject, bb_outlook *outlook);

/* The chance of each number over pieces at a point. */
bb_status bb_predict_pieces(const bb_predictor *predictor, const bb_point *point,
                            const bb_pieces *pieces, bb_prediction *prediction);

#endif
