/* Computes lib/body_table_data.c from the spectral solver: `make tables`, about ten minutes.
 *
 * A shape on each Chebyshev node of ln(wall) and ln(thickness) is solved, and the logarithm of its
 * polarizability sampled on Chebyshev nodes of u. Those samples span few directions: the singular
 * vectors are the curves, their weights the features, smooth functions of the shape. */
#include "body_table.h"
#include "constants.h"
#include "spectral.h"

#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { UNKNOWNS = 400, MODES = 100, PIECES = 6, TERMS = 16, SAMPLES = 2 * PIECES * TERMS };
static const double LOWEST = 3e-3, HIGHEST = 1e3; /* of s T */
static const double CURVE_ERROR = 3e-7;           /* largest, of what the curves leave out */
static const double SMALLEST = 1e-7;              /* coefficient kept */

static double node(int index, int count)
{
    return -cos(BB_PI * (index + 0.5) / count);
}

static double axis_node(const bb_table_axis *axis, int index)
{
    return axis->low + 0.5 * (axis->high - axis->low) * (1.0 + node(index, axis->terms));
}

/* Values at Chebyshev nodes to coefficients, in place. */
static void to_coefficients(double *value, int count, int stride)
{
    double coefficient[BB_TABLE_TERMS];
    for (int n = 0; n < count; n++) {
        coefficient[n] = 0.0;
        for (int i = 0; i < count; i++)
            coefficient[n] += value[i * stride] * cos(n * acos(node(i, count)));
        coefficient[n] *= (n == 0 ? 1.0 : 2.0) / count;
    }
    for (int n = 0; n < count; n++)
        value[n * stride] = coefficient[n];
}

/* One shape: ln T into row[0], then the samples, re and im of each piece in turn. */
static void sample(double thickness, double bore, double *log_time, double *row)
{
    bb_section section = bb_section_of(thickness, bore, UNKNOWNS, MODES);
    bb_mode modes[MODES];
    size_t count = 0;
    if (bb_spectral_modes(&section, modes, &count) != BB_OK)
        exit(EXIT_FAILURE);
    double first = 0.0, second = 0.0;
    for (size_t n = 0; n < count; n++) {
        first += modes[n].strength_m3 * modes[n].time_constant_s;
        second += modes[n].strength_m3 * modes[n].time_constant_s * modes[n].time_constant_s;
    }
    *log_time = log(second / first);
    bb_table_axis piece = {.terms = TERMS};
    double width = log(HIGHEST / LOWEST) / PIECES;
    for (int p = 0; p < PIECES; p++)
        for (int i = 0; i < TERMS; i++) {
            piece.low = log(LOWEST) + p * width;
            piece.high = piece.low + width;
            double s = exp(axis_node(&piece, i) - *log_time);
            double complex sum = 0.0;
            for (size_t n = 0; n < count; n++)
                sum += modes[n].strength_m3 * modes[n].time_constant_s /
                       (1.0 + I * s * modes[n].time_constant_s);
            double complex log_alpha = clog(sum / first);
            row[(2 * p) * TERMS + i] = creal(log_alpha);
            row[(2 * p + 1) * TERMS + i] = cimag(log_alpha);
        }
}

typedef struct {
    const char *name;
    bb_table_axis wall, thickness;
    int shapes;
    double *log_time;    /* of each shape */
    gsl_matrix *samples; /* shapes x SAMPLES */
    double mean[SAMPLES];
    int curves;
    double (*feature)[BB_TABLE_FEATURES]; /* of each shape, then of each product of terms */
    double curve[BB_TABLE_FEATURES][SAMPLES];
} family;

static void compute(family *set)
{
    int done = 0;
    for (int i = 0; i < set->wall.terms; i++)
        for (int j = 0; j < set->thickness.terms; j++, done++) {
            double bore = set->wall.terms == 1 ? 0.0 : 1.0 - exp(axis_node(&set->wall, i));
            sample(exp(axis_node(&set->thickness, j)), bore, &set->log_time[done],
                   gsl_matrix_ptr(set->samples, (size_t)done, 0));
            if (done % 50 == 0)
                fprintf(stderr, "%s %d of %d\n", set->name, done, set->shapes);
        }
}

/* Take curves, strongest first, until what is left of every sample is below CURVE_ERROR. */
static void reduce(family *set)
{
    size_t shapes = (size_t)set->shapes, rows = shapes < SAMPLES ? SAMPLES : shapes;
    gsl_matrix *left = gsl_matrix_calloc(rows, SAMPLES),
               *right = gsl_matrix_alloc(SAMPLES, SAMPLES);
    gsl_vector *singular = gsl_vector_alloc(SAMPLES);
    for (int c = 0; c < SAMPLES; c++) {
        set->mean[c] = 0.0;
        for (size_t i = 0; i < shapes; i++)
            set->mean[c] += gsl_matrix_get(set->samples, i, (size_t)c) / (double)shapes;
        for (size_t i = 0; i < shapes; i++)
            gsl_matrix_set(left, i, (size_t)c,
                           gsl_matrix_get(set->samples, i, (size_t)c) - set->mean[c]);
    }
    gsl_matrix *rest = gsl_matrix_alloc(rows, SAMPLES);
    gsl_matrix_memcpy(rest, left);
    gsl_vector *room = gsl_vector_alloc(SAMPLES);
    gsl_linalg_SV_decomp(left, right, singular, room);
    for (size_t i = 0; i < shapes; i++)
        set->feature[i][0] = set->log_time[i];
    double worst = HUGE_VAL;
    for (set->curves = 0; worst > CURVE_ERROR && set->curves < BB_TABLE_FEATURES - 1;
         set->curves++) {
        size_t k = (size_t)set->curves;
        double *curve = set->curve[k + 1], peak = 0.0;
        for (size_t c = 0; c < SAMPLES; c++)
            peak = fmax(peak, fabs(gsl_matrix_get(right, c, k)));
        for (size_t c = 0; c < SAMPLES; c++)
            curve[c] = gsl_matrix_get(right, c, k) / peak;
        worst = 0.0;
        for (size_t i = 0; i < shapes; i++) {
            double weight = gsl_matrix_get(left, i, k) * gsl_vector_get(singular, k) * peak;
            set->feature[i][k + 1] = weight;
            for (size_t c = 0; c < SAMPLES; c++) {
                double *cell = gsl_matrix_ptr(rest, i, c);
                *cell -= weight * curve[c];
                worst = fmax(worst, fabs(*cell));
            }
        }
    }
    fprintf(stderr, "%s: %d curves leave %.1e\n", set->name, set->curves, worst);
    gsl_matrix_free(rest);
    gsl_vector_free(room);
    gsl_vector_free(singular);
    gsl_matrix_free(right);
    gsl_matrix_free(left);
}

static void print_int(double value, int *column)
{
    *column += printf("%ld,", lround(value / BB_TABLE_UNIT));
    if (*column > 90) {
        printf("\n");
        *column = 0;
    }
}

static void print_features(family *set)
{
    int walls = set->wall.terms, thicknesses = set->thickness.terms, column = 0;
    for (int f = 0; f <= set->curves; f++) {
        for (int i = 0; i < walls; i++)
            to_coefficients(&set->feature[i * thicknesses][f], thicknesses, BB_TABLE_FEATURES);
        for (int j = 0; j < thicknesses; j++)
            to_coefficients(&set->feature[j][f], walls, thicknesses * BB_TABLE_FEATURES);
    }
    int *reach = calloc((size_t)set->shapes, sizeof *reach), total = 0;
    for (int p = 0; p < set->shapes; p++) {
        for (int f = 0; f <= set->curves; f++)
            if (fabs(set->feature[p][f]) >= SMALLEST)
                reach[p] = f + 1;
        total += reach[p];
    }
    printf("static const unsigned char %s_reach[] = {\n", set->name);
    for (int p = 0; p < set->shapes; p++)
        printf("%d,%s", reach[p], p % 30 == 29 ? "\n" : "");
    printf("};\nstatic const int %s_coefficient[] = { /* %d */\n", set->name, total);
    for (int p = 0; p < set->shapes; p++)
        for (int f = 0; f < reach[p]; f++)
            print_int(set->feature[p][f], &column);
    printf("};\n");
    free(reach);
}

static void print_curves(family *set)
{
    int column = 0;
    printf("static const int %s_curve[] = {\n", set->name);
    for (int p = 0; p < PIECES; p++)
        for (int k = 0; k <= set->curves; k++)
            for (int part = 0; part < 2; part++) {
                double *value = (k == 0 ? set->mean : set->curve[k]) + (2 * p + part) * TERMS;
                to_coefficients(value, TERMS, 1);
                for (int n = 0; n < TERMS; n++)
                    print_int(value[n], &column);
            }
    printf("};\n");
}

static void print_table(const family *set)
{
    printf("const bb_body_table bb_%s_table = {\n    .wall = {%.17g, %.17g, %d},\n"
           "    .thickness = {%.17g, %.17g, %d},\n    .frequency = {%.17g, %.17g, %d},\n"
           "    .pieces = %d,\n    .features = %d,\n    .reach = %s_reach,\n"
           "    .coefficient = %s_coefficient,\n    .curve = %s_curve};\n",
           set->name, set->wall.low, set->wall.high, set->wall.terms, set->thickness.low,
           set->thickness.high, set->thickness.terms, log(LOWEST), log(HIGHEST), TERMS, PIECES,
           set->curves + 1, set->name, set->name, set->name);
}

int main(void)
{
    bb_table_axis thickness = {log(2e-5), log(4.0), 36};
    family families[] = {
        {.name = "disc", .wall = {0.0, 0.0, 1}, .thickness = thickness},
        {.name = "ring", .wall = {log(1e-3), log(0.95), 28}, .thickness = thickness}};
    printf("/* Computed by lib/generate/body_table.c; `make tables` computes it again. */\n"
           "#include \"body_table.h\"\n\n/* clang-format off */\n");
    for (size_t i = 0; i < sizeof families / sizeof *families; i++) {
        family *set = &families[i];
        set->shapes = set->wall.terms * set->thickness.terms;
        set->log_time = malloc((size_t)set->shapes * sizeof *set->log_time);
        set->samples = gsl_matrix_alloc((size_t)set->shapes, SAMPLES);
        set->feature = calloc((size_t)set->shapes, sizeof *set->feature);
        if (set->log_time == NULL || set->samples == NULL || set->feature == NULL)
            return EXIT_FAILURE;
        compute(set);
        reduce(set);
        print_features(set);
        print_curves(set);
        print_table(set);
        free(set->feature);
        gsl_matrix_free(set->samples);
        free(set->log_time);
    }
    return EXIT_SUCCESS;
}
