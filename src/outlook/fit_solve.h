/* The linear system of a fit. Inside outlook/ only. */
#ifndef OUTLOOK_FIT_SOLVE_H
#define OUTLOOK_FIT_SOLVE_H

enum { FIT_SYSTEM_MAX = 16 };

/* Symmetric and positive definite. */
struct fit_system {
    int size;
    double matrix[FIT_SYSTEM_MAX][FIT_SYSTEM_MAX];
    double right[FIT_SYSTEM_MAX];
};

/* Solves it with the diagonal made 1 + damping times as large. */
void fit_solve(const struct fit_system *system, double damping, double *out);
/* The diagonal of the inverse. */
void fit_variances(const struct fit_system *system, double *out);

#endif
