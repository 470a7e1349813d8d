#include "outlook/fit_solve.h"

#include <math.h>

/* Cholesky's lower triangle of the damped matrix. */
static void decompose(const struct fit_system *system, double damping,
                      double lower[FIT_SYSTEM_MAX][FIT_SYSTEM_MAX])
{
    for (int i = 0; i < system->size; i++)
        for (int j = 0; j <= i; j++) {
            double sum = system->matrix[i][j] * (i == j ? 1 + damping : 1);

            for (int k = 0; k < j; k++)
                sum -= lower[i][k] * lower[j][k];
            lower[i][j] = i == j ? sqrt(sum) : sum / lower[j][j];
        }
}

static void substitute(int size, double lower[FIT_SYSTEM_MAX][FIT_SYSTEM_MAX],
                       const double *right, double *out)
{
    for (int i = 0; i < size; i++) {
        out[i] = right[i];
        for (int k = 0; k < i; k++)
            out[i] -= lower[i][k] * out[k];
        out[i] /= lower[i][i];
    }
    for (int i = size - 1; i >= 0; i--) {
        for (int k = i + 1; k < size; k++)
            out[i] -= lower[k][i] * out[k];
        out[i] /= lower[i][i];
    }
}

void fit_solve(const struct fit_system *system, double damping, double *out)
{
    double lower[FIT_SYSTEM_MAX][FIT_SYSTEM_MAX];

    decompose(system, damping, lower);
    substitute(system->size, lower, system->right, out);
}

void fit_variances(const struct fit_system *system, double *out)
{
    double lower[FIT_SYSTEM_MAX][FIT_SYSTEM_MAX];

    decompose(system, 0, lower);
    for (int i = 0; i < system->size; i++) {
        double one[FIT_SYSTEM_MAX] = {0}, column[FIT_SYSTEM_MAX];

        one[i] = 1;
        substitute(system->size, lower, one, column);
        out[i] = column[i];
    }
}
