#include "tree/season_curves.h"

#include "weather/closed_forms.h"
#include "weather/vectors.h"

CLONES
void curve_logistic(double *values, int count)
{
    for (int i = 0; i < count; i++)
        values[i] = 1 / (1 + closed_exp(-values[i]));
}

CLONES
void curve_normal_below(double *values, int count)
{
    const double per_sqrt2 = 0.70710678118654752;

    for (int i = 0; i < count; i++) {
        double x = values[i] * per_sqrt2, above = x < 0 ? -x : x;
        double t = 1 / (1 + 0.3275911 * above);
        double sum = t * 1.061405429 - 1.453152027;

        sum = sum * t + 1.421413741;
        sum = sum * t - 0.284496736;
        sum = (sum * t + 0.254829592) * t * closed_exp(-above * above);
        values[i] = 0.5 * (x < 0 ? sum : 2 - sum);
    }
}
