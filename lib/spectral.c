/* Eddy currents in a disc or ring: polynomials, whose inductance is one integral.
 *
 * Lengths are in units of the outer radius. The current density is sum c_im f_i(r) g_m(z), with f_i
 * polynomials orthonormal under r dr (for a disc Zernike's r P_i(2r^2 - 1), for a ring those that
 * start with 1 and r) and g_m even Legendre polynomials. With F_i the Hankel transform of order 1,
 * the inductance is
 *   L = 1/2 int_0^inf F_i(k) F_j(k) Z_mn(k) dk,
 *   Z_mn = (2/k)(delta_mn - sqrt((4m+1)(4n+1)) I_{M+1/2}(kh) K_{N+1/2}(kh)),
 * h the half thickness, M and N the larger and smaller of 2m and 2n (Gradshteyn and Ryzhik 6.541).
 * The eigenvalues of L are the time constants; the uniform field r/2 lies in the basis, so that the
 * sum of strength times time constant is exact.
 *
 * F_i F_j swings as fast as cos 2k, and for a ring also as cos k(1 - bore). Where many swings have
 * passed, a smooth window hands over to the mean of the product: first to (F_i F_j + C_i C_j)/2,
 * where C_i is the transform with Y_1 for J_1, then, for a ring, to the sum of such means over what
 * comes from its outer and its inner edge. The mean takes few nodes however far the integral must
 * run, which a thin foil needs. */
#include "spectral.h"

#include "bessel.h"
#include "constants.h"

#include <complex.h>
#include <gsl/gsl_eigen.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_sf_bessel.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum { PANEL_NODES = 12, SMOOTH_DEGREE = 30 };

/* F and C, and what of each comes from the outer and from the inner edge of a ring. */
enum { F, C, OUTER_F, OUTER_C, INNER_F, INNER_C, CHANNELS };

typedef struct {
    bb_section section;
    size_t radial, axial, size;  /* size = radial * axial */
    size_t steps;                /* of Lanczos, the most modes */
    size_t points;               /* Gauss nodes over a ring's wall, 0 for a disc */
    size_t degrees;              /* of what the slow part of a ring's integrand holds */
    double *x, *r, *weight;      /* the nodes on -1..1, their radii, weights with r dr */
    double *f;                   /* f[i * points + q], ring only */
    double *transform[CHANNELS]; /* each an array over i */
    double *plane_wave[4];       /* of each node: e^{i kappa x} by j_l, re and im, then by y_l */
    double *legendre;            /* legendre[l * points + q], ring only */
    double *bessel;              /* room for an array of Bessel functions */
    double *axial_pair;          /* Z_mn */
    double *inductance;
} workspace;

/* ---- the transforms of the radial functions at one wave number */

static void disc_transform(workspace *w, double k, bool mean)
{
    if (mean) {
        bb_bessel_even_upward(k, gsl_sf_bessel_J0(k), gsl_sf_bessel_J1(k), w->radial,
                              w->transform[F]);
        bb_bessel_even_upward(k, gsl_sf_bessel_Y0(k), gsl_sf_bessel_Y1(k), w->radial,
                              w->transform[C]);
    } else {
        bb_bessel_even(k, w->radial, w->transform[F]);
    }
    for (size_t i = 0; i < w->radial; i++) {
        double norm = 2.0 * sqrt((double)i + 1.0) / k * (i % 2 ? -1.0 : 1.0);
        w->transform[F][i] *= norm;
        w->transform[C][i] *= norm;
    }
}

/* sum (2l+1) i^l b_l P_l(x_q), the plane wave when b_l = j_l, cut to the degree of what it is
 * multiplied with: so the ring's transform is exact for any kappa. */
static void legendre_sum(const workspace *w, const double *b, double *re, double *im)
{
    memset(re, 0, w->points * sizeof *re);
    memset(im, 0, w->points * sizeof *im);
    for (size_t l = 0; l < w->degrees; l++) {
        double term = (2.0 * (double)l + 1.0) * b[l] * ((l / 2) % 2 ? -1.0 : 1.0);
        const double *p = w->legendre + l * w->points;
        double *part = l % 2 ? im : re;
        for (size_t q = 0; q < w->points; q++)
            part[q] += term * p[q];
    }
}

static void plane_waves(workspace *w, double kappa, bool edges)
{
    double s = sin(kappa) / kappa, c = cos(kappa) / kappa;
    if (edges)
        bb_bessel_spherical_upward(kappa, s, s / kappa - c, w->degrees, w->bessel);
    else
        bb_bessel_spherical(kappa, w->degrees, w->bessel);
    legendre_sum(w, w->bessel, w->plane_wave[0], w->plane_wave[1]);
    if (edges) {
        bb_bessel_spherical_upward(kappa, -c, -c / kappa - s, w->degrees, w->bessel);
        legendre_sum(w, w->bessel, w->plane_wave[2], w->plane_wave[3]);
    }
}

static void add_to(workspace *w, int channel, size_t q, double complex value)
{
    double re = creal(value) * w->weight[q], im = cimag(value) * w->weight[q];
    for (size_t i = 0; i < w->radial; i++) {
        w->transform[channel][i] += re * w->f[i * w->points + q];
        w->transform[channel + 1][i] += im * w->f[i * w->points + q];
    }
}

/* How F_i is had: by quadrature of J_1, of J_1 + i Y_1, with the swings along the wall in closed
 * form, or so that the edges of the wall part. */
typedef enum { PLAIN, WITH_C, PLANE_WAVES, EDGES } manner;

static void ring_transform(workspace *w, double k, manner how)
{
    for (int channel = 0; channel < CHANNELS; channel++)
        memset(w->transform[channel], 0, w->radial * sizeof(double));
    if (how >= PLANE_WAVES)
        plane_waves(w, 0.5 * k * (1.0 - w->section.bore), how == EDGES);
    for (size_t q = 0; q < w->points; q++) {
        double kr = k * w->r[q];
        double complex value = gsl_sf_bessel_J1(kr);
        if (how >= WITH_C)
            value += I * gsl_sf_bessel_Y1(kr);
        if (how < PLANE_WAVES) {
            add_to(w, F, q, value);
            continue;
        }
        value *= cos(kr) - I * sin(kr);
        double complex wave = w->plane_wave[0][q] + I * w->plane_wave[1][q];
        add_to(w, F, q, value * wave);
        if (how == EDGES) {
            double complex turned = I * w->plane_wave[2][q] - w->plane_wave[3][q];
            add_to(w, OUTER_F, q, 0.5 * value * (wave + turned));
            add_to(w, INNER_F, q, 0.5 * value * (wave - turned));
        }
    }
}

/* ---- the axial factor */

static void axial_pairs(workspace *w, double k)
{
    double x = 0.5 * k * w->section.thickness;
    size_t orders = 2 * w->axial;
    double *up = w->bessel, *down = up + orders, *both = down + orders;
    bb_bessel_modified(x, orders, up, down, both);
    double *pair = w->axial_pair;
    for (size_t m = 0; m < w->axial; m++) {
        double climb = 1.0; /* I_{2m} / I_{2n}, n falling */
        for (size_t n = m; n-- > 0;) {
            climb *= up[2 * n] * up[2 * n + 1];
            pair[n] = -2.0 / k * sqrt((4.0 * (double)m + 1.0) * (4.0 * (double)n + 1.0)) *
                      both[2 * n] * climb;
        }
        pair[m] = 2.0 / k * x * both[2 * m] * (down[2 * m] + up[2 * m]);
        pair += m + 1;
    }
}

/* ---- the integral */

/* 0 at t = 0, 1 at t = 1, with all derivatives 0 at both. */
static double smooth_step(double t)
{
    return t <= 0.0 ? 0.0 : t >= 1.0 ? 1.0 : 1.0 / (1.0 + exp(1.0 / t - 1.0 / (1.0 - t)));
}

/* Add one node. The inductance is kept as [radial pair][axial pair] until all are in. */
static void add_node(workspace *w, double k, double dk, const double share[CHANNELS])
{
    axial_pairs(w, k);
    size_t axial_count = w->axial * (w->axial + 1) / 2;
    double *sum = w->inductance;
    for (size_t i = 0; i < w->radial; i++)
        for (size_t j = 0; j <= i; j++) {
            double pair = 0.0;
            for (int channel = 0; channel < CHANNELS; channel++)
                if (share[channel] > 0.0)
                    pair += share[channel] * w->transform[channel][i] * w->transform[channel][j];
            pair *= 0.5 * dk;
            for (size_t p = 0; p < axial_count; p++)
                sum[p] += pair * w->axial_pair[p];
            sum += axial_count;
        }
}

/* Wave numbers between which the windows hand over. */
typedef struct {
    double begin, end;             /* from the product to its mean over cos 2k */
    double edges_begin, edges_end; /* and to that over cos k(1 - bore) */
} windows;

static windows windows_of(const workspace *w)
{
    if (w->points == 0) {
        double begin = 20.0 + 3.0 * (double)w->radial;
        return (windows){begin, 2.0 * begin, HUGE_VAL, HUGE_VAL};
    }
    double begin = fmin(40.0 / w->section.bore, 200.0);
    double edges = fmax(2.0 * begin, 2.4 * (double)w->degrees / (1.0 - w->section.bore));
    return (windows){begin, 2.0 * begin, edges, 2.0 * edges};
}

static void evaluate(workspace *w, const windows *window, double k, double dk)
{
    double mean = smooth_step((k - window->begin) / (window->end - window->begin));
    double apart =
        k < window->edges_begin
            ? 0.0
            : smooth_step((k - window->edges_begin) / (window->edges_end - window->edges_begin));
    double edge = 0.5 * apart;
    double share[CHANNELS] = {1.0 - 0.5 * mean - edge, 0.5 * mean - edge, edge, edge, edge, edge};
    if (w->points == 0)
        disc_transform(w, k, mean > 0.0);
    else
        ring_transform(w, k,
                       apart > 0.0   ? EDGES
                       : mean == 1.0 ? PLANE_WAVES
                       : mean > 0.0  ? WITH_C
                                     : PLAIN);
    add_node(w, k, dk, share);
}

static void integrate(workspace *w, const gsl_integration_glfixed_table *gauss)
{
    const windows window = windows_of(w);
    double wall = 1.0 - w->section.bore, thickness = w->section.thickness;
    double last = 1e4 / fmin(wall, thickness);
    double low = 0.0;
    while (low < last) {
        double swing = low < window.end                          ? 2.5
                       : w->points > 0 && low < window.edges_end ? 2.5 / wall
                                                                 : low;
        double high = low + fmin(swing, 0.5 / thickness + 0.5 * low);
        if (low < window.end && high > window.end)
            high = window.end;
        for (size_t q = 0; q < PANEL_NODES; q++) {
            double k, dk;
            gsl_integration_glfixed_point(low, high, q, &k, &dk, gauss);
            evaluate(w, &window, k, dk);
        }
        low = high;
    }
}

/* ---- set-up */

/* Polynomials orthonormal over the ring's nodes under r dr: 1, r, ... (Stieltjes). */
static void ring_functions(workspace *w)
{
    size_t points = w->points;
    double norm = 0.0;
    for (size_t q = 0; q < points; q++)
        norm += w->weight[q];
    for (size_t q = 0; q < points; q++)
        w->f[q] = 1.0 / sqrt(norm);
    for (size_t i = 1; i < w->radial; i++) {
        double *here = w->f + i * points;
        const double *before = here - points;
        for (size_t q = 0; q < points; q++)
            here[q] = w->x[q] * before[q];
        for (size_t pass = 0; pass < 2; pass++)
            for (size_t j = 0; j < i; j++) {
                const double *other = w->f + j * points;
                double overlap = 0.0;
                for (size_t q = 0; q < points; q++)
                    overlap += w->weight[q] * here[q] * other[q];
                for (size_t q = 0; q < points; q++)
                    here[q] -= overlap * other[q];
            }
        norm = 0.0;
        for (size_t q = 0; q < points; q++)
            norm += w->weight[q] * here[q] * here[q];
        for (size_t q = 0; q < points; q++)
            here[q] /= sqrt(norm);
    }
}

static void ring_nodes(workspace *w, const gsl_integration_glfixed_table *gauss)
{
    double bore = w->section.bore;
    for (size_t q = 0; q < w->points; q++) {
        double weight;
        gsl_integration_glfixed_point(-1.0, 1.0, q, &w->x[q], &weight, gauss);
        w->r[q] = 0.5 * (1.0 + bore) + 0.5 * (1.0 - bore) * w->x[q];
        w->weight[q] = 0.5 * (1.0 - bore) * weight * w->r[q];
        double below = 0.0, here = 1.0;
        for (size_t l = 0; l < w->degrees; l++) {
            w->legendre[l * w->points + q] = here;
            double above =
                ((2.0 * (double)l + 1.0) * w->x[q] * here - (double)l * below) / ((double)l + 1.0);
            below = here;
            here = above;
        }
    }
    ring_functions(w);
}

/* b_i = int r/2 f_i r dr: the uniform field in the basis (only i = 0 for a disc, 0 and 1 for a
 * ring); the axial factor sqrt thickness goes to m = 0. */
static void uniform_field(const workspace *w, double *b)
{
    memset(b, 0, w->size * sizeof *b);
    double axial = sqrt(w->section.thickness);
    if (w->points == 0) {
        b[0] = 0.25 * axial;
        return;
    }
    for (size_t i = 0; i < 2; i++)
        for (size_t q = 0; q < w->points; q++)
            b[i * w->axial] += 0.5 * axial * w->weight[q] * w->r[q] * w->f[i * w->points + q];
}

static double dot(const double *x, const double *y, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += x[i] * y[i];
    return sum;
}

/* The pairs of the integral as one full symmetric matrix. */
static void unfold(const workspace *w, double *matrix)
{
    const double *sum = w->inductance;
    for (size_t i = 0; i < w->radial; i++)
        for (size_t j = 0; j <= i; j++)
            for (size_t m = 0; m < w->axial; m++)
                for (size_t n = 0; n <= m; n++, sum++) {
                    size_t im = i * w->axial + m, jn = j * w->axial + n;
                    size_t in = i * w->axial + n, jm = j * w->axial + m;
                    matrix[im * w->size + jn] = matrix[jn * w->size + im] = *sum;
                    matrix[in * w->size + jm] = matrix[jm * w->size + in] = *sum;
                }
}

/* Lanczos from the field b, every vector held against all before it. The first moments of the
 * response that the steps can carry are exact. Returns the steps made, at most w->steps. */
static size_t tridiagonal(const workspace *w, const double *matrix, double *vectors,
                          double *diagonal, double *beside)
{
    size_t size = w->size;
    for (size_t step = 0; step < w->steps; step++) {
        const double *here = vectors + step * size;
        double *next = vectors + (step + 1) * size;
        for (size_t i = 0; i < size; i++)
            next[i] = dot(matrix + i * size, here, size);
        diagonal[step] = dot(next, here, size);
        for (size_t pass = 0; pass < 2; pass++)
            for (size_t j = 0; j <= step; j++) {
                double overlap = dot(next, vectors + j * size, size);
                for (size_t i = 0; i < size; i++)
                    next[i] -= overlap * vectors[j * size + i];
            }
        beside[step] = sqrt(dot(next, next, size));
        if (beside[step] < 1e-15 * diagonal[0])
            return step + 1;
        for (size_t i = 0; i < size; i++)
            next[i] /= beside[step];
    }
    return w->steps;
}

/* Eigenvalues of the tridiagonal matrix are the time constants; the first components of its
 * eigenvectors, with field2 = b.b, make the strengths. */
static bb_status modes_of(const double *diagonal, const double *beside, size_t steps, double field2,
                          bb_mode *modes)
{
    gsl_matrix *matrix = gsl_matrix_calloc(steps, steps);
    gsl_matrix *vectors = gsl_matrix_alloc(steps, steps);
    gsl_vector *values = gsl_vector_alloc(steps);
    gsl_eigen_symmv_workspace *room = gsl_eigen_symmv_alloc(steps);
    bb_status status = BB_MEMORY;
    if (matrix && vectors && values && room) {
        for (size_t i = 0; i < steps; i++) {
            gsl_matrix_set(matrix, i, i, diagonal[i]);
            if (i > 0)
                gsl_matrix_set(matrix, i, i - 1, beside[i - 1]);
        }
        status = gsl_eigen_symmv(matrix, values, vectors, room) == 0 ? BB_OK : BB_NOT_CONVERGED;
        for (size_t n = 0; n < steps; n++) {
            double overlap = gsl_matrix_get(vectors, 0, n), tau = gsl_vector_get(values, n);
            modes[n].time_constant_s = tau;
            modes[n].strength_m3 = 2.0 * BB_PI * field2 * overlap * overlap / tau;
        }
    }
    gsl_eigen_symmv_free(room);
    gsl_vector_free(values);
    gsl_matrix_free(vectors);
    gsl_matrix_free(matrix);
    return status;
}

static bb_status solve(const workspace *w, bb_mode *modes, size_t *count)
{
    double *block = malloc((w->size * (w->size + w->steps + 1) + 2 * w->steps) * sizeof *block);
    if (block == NULL)
        return BB_MEMORY;
    double *matrix = block, *vectors = matrix + w->size * w->size;
    double *diagonal = vectors + w->size * (w->steps + 1), *beside = diagonal + w->steps;
    unfold(w, matrix);
    uniform_field(w, vectors);
    double field2 = dot(vectors, vectors, w->size);
    for (size_t i = 0; i < w->size; i++)
        vectors[i] /= sqrt(field2);
    *count = tridiagonal(w, matrix, vectors, diagonal, beside);
    bb_status status = modes_of(diagonal, beside, *count, field2, modes);
    free(block);
    return status;
}

static bb_status prepare(workspace *w, double **block)
{
    size_t points = w->points, orders = 2 * w->axial;
    size_t bessel = points > 3 * orders ? points : 3 * orders;
    size_t radial_pairs = w->radial * (w->radial + 1) / 2;
    size_t axial_count = w->axial * (w->axial + 1) / 2;
    struct {
        double **array;
        size_t count;
    } parts[] = {{&w->x, points},
                 {&w->r, points},
                 {&w->weight, points},
                 {&w->f, w->radial * points},
                 {&w->legendre, w->degrees * points},
                 {&w->bessel, bessel},
                 {&w->axial_pair, axial_count},
                 {&w->inductance, radial_pairs * axial_count}};
    size_t total = CHANNELS * w->radial + 4 * points;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        total += parts[i].count;
    double *next = *block = calloc(total, sizeof **block);
    if (next == NULL)
        return BB_MEMORY;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++, next += parts[i - 1].count)
        *parts[i].array = next;
    for (int channel = 0; channel < CHANNELS; channel++, next += w->radial)
        w->transform[channel] = next;
    for (int i = 0; i < 4; i++, next += points)
        w->plane_wave[i] = next;
    return BB_OK;
}

bb_section bb_section_of(double thickness, double bore, int unknowns, size_t modes)
{
    /* Polynomials of degree n resolve 1/n^2 of their interval at its ends. */
    double even = sqrt(2.0 * unknowns) * pow((1.0 - bore) / thickness, 0.25);
    int radial = (int)fmin(fmax(round(even), 8.0), 90.0);
    int axial = (int)fmin(fmax((double)unknowns / radial, 3.0), 60.0);
    return (bb_section){thickness, bore, radial, axial, modes};
}

bb_status bb_spectral_modes(const bb_section *section, bb_mode *modes, size_t *count)
{
    workspace w = {.section = *section,
                   .radial = (size_t)section->radial,
                   .axial = (size_t)section->axial,
                   .size = (size_t)(section->radial * section->axial)};
    w.steps = w.size < section->modes ? w.size : section->modes;
    if (section->bore > 0.0) {
        double swings = fmin(40.0 / section->bore, 200.0) * (1.0 - section->bore);
        w.degrees = w.radial + SMOOTH_DEGREE;
        size_t needed = w.degrees + (size_t)(0.7 * swings);
        w.points = needed <= 64 ? 64 : needed <= 128 ? 128 : 256; /* GSL holds these to 16 digits */
    }
    double *block = NULL;
    gsl_integration_glfixed_table *panel = gsl_integration_glfixed_table_alloc(PANEL_NODES);
    gsl_integration_glfixed_table *wall =
        w.points > 0 ? gsl_integration_glfixed_table_alloc(w.points) : NULL;
    bb_status status = prepare(&w, &block);
    if (panel == NULL || (w.points > 0 && wall == NULL))
        status = BB_MEMORY;
    if (status == BB_OK) {
        if (wall != NULL)
            ring_nodes(&w, wall);
        integrate(&w, panel);
        status = solve(&w, modes, count);
    }
    if (wall != NULL)
        gsl_integration_glfixed_table_free(wall);
    if (panel != NULL)
        gsl_integration_glfixed_table_free(panel);
    free(block);
    return status;
}
