/* Prints the fixed quadrature of lib/ground.c: nodes x and weights w with
 * sum w F(x) = integral of J1(x)^2 F(x) dx for every F that is smooth in ln x.
 *
 * Each decade carries the Legendre nodes of ln x; F is interpolated there, and J1^2 times the
 * interpolation is integrated on a mesh fine enough for J1. So the nodes need not follow the waves
 * of J1, and the weights are computed once, when the library is built. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <gsl/gsl_integration.h>
#include <gsl/gsl_sf_bessel.h>

enum { FIRST_DECADE = -7, LAST_DECADE = 3, NODES = 18, MESH_NODES = 20 };

/* Lagrange polynomials of the nodes at s, all at once. */
static void lagrange(const double *node, double s, double *value)
{
    for (int i = 0; i < NODES; i++) {
        value[i] = 1;
        for (int k = 0; k < NODES; k++)
            if (k != i)
                value[i] *= (s - node[k]) / (node[i] - node[k]);
    }
}

static void print_decade(int decade, const double *node, const gsl_integration_glfixed_table *mesh)
{
    const double low = pow(10, decade), high = pow(10, decade + 1);
    const double centre = (log(low) + log(high)) / 2, half = (log(high) - log(low)) / 2;
    const int pieces = 8 + (int)((high - low) / 2); /* at most 2 wide: J1^2 turns in pi */
    double weight[NODES] = {0};
    for (int piece = 0; piece < pieces; piece++)
        for (size_t k = 0; k < MESH_NODES; k++) {
            const double left = low + (high - low) * piece / pieces;
            const double right = low + (high - low) * (piece + 1) / pieces;
            double x, dx, value[NODES];
            gsl_integration_glfixed_point(left, right, k, &x, &dx, mesh);
            lagrange(node, (log(x) - centre) / half, value);
            for (int i = 0; i < NODES; i++)
                weight[i] += dx * pow(gsl_sf_bessel_J1(x), 2) * value[i];
        }
    for (int i = 0; i < NODES; i++)
        printf("{%.17g, %.17g},\n", exp(centre + half * node[i]), weight[i]);
}

int main(void)
{
    gsl_integration_glfixed_table *legendre = gsl_integration_glfixed_table_alloc(NODES);
    gsl_integration_glfixed_table *mesh = gsl_integration_glfixed_table_alloc(MESH_NODES);
    if (legendre == NULL || mesh == NULL)
        return EXIT_FAILURE;
    double node[NODES], unused;
    for (size_t i = 0; i < NODES; i++)
        gsl_integration_glfixed_point(-1, 1, i, &node[i], &unused, legendre);

    /* Below the first decade J1 is x/2, and one Gauss point of x^2 carries what is left. */
    const double least = pow(10, FIRST_DECADE);
    printf("{%.17g, %.17g},\n", 0.75 * least, pow(least, 3) / 12);
    for (int decade = FIRST_DECADE; decade <= LAST_DECADE; decade++)
        print_decade(decade, node, mesh);
    gsl_integration_glfixed_table_free(mesh);
    gsl_integration_glfixed_table_free(legendre);
    return EXIT_SUCCESS;
}
