#include "outlook/quantiles.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "weather/vectors.h"

enum { ABREAST = 2 * VECTOR_WIDE }; /* hours sorted at once */

/* The lesser of each hour's two to `a`, the other to `b`. */
static inline void exchange(double *a, double *b)
{
    for (int k = 0; k < ABREAST; k += VECTOR_WIDE) {
        vector *one = (vector *)(void *)(a + k);
        vector *other = (vector *)(void *)(b + k);
        vector_mask keep = *one < *other;
        vector_mask first = (vector_mask)*one, second = (vector_mask)*other;

        *one = (vector)((keep & first) | (~keep & second));
        *other = (vector)((keep & second) | (~keep & first));
    }
}

/* Batcher's merge exchange (Knuth, "The Art of Computer Programming", volume
 * 3, second edition, 5.2.2, algorithm M): which values are compared does not
 * hang on them, so hours go abreast. */
CLONES
static void sort_abreast(double *values, int count)
{
    int top = 1;

    while (2 * top < count)
        top *= 2;
    for (int p = top; p > 0; p /= 2)
        for (int q = top, r = 0, d = p;; d = q - p, q /= 2, r = p) {
            for (int i = 0; i < count - d; i++)
                if ((i & p) == r)
                    exchange(values + i * ABREAST, values + (i + d) * ABREAST);
            if (q == p)
                break;
        }
}

/* As flow_quantile, of the sorted values of one of the hours. */
static double quantile_at(const double *sorted, int count, int hour,
                          double share)
{
    double place = share * (count - 1);
    int below = (int)floor(place);
    const double *value = sorted + below * ABREAST + hour;

    if (below >= count - 1)
        return sorted[(count - 1) * ABREAST + hour];
    return value[0] + (place - below) * (value[ABREAST] - value[0]);
}

void quantiles_of_hours(const double *values, size_t stride, int count,
                        int rows, double *low, double *middle, double *high)
{
    double *sorted = mem_alloc((size_t)count, ABREAST * sizeof *sorted);

    for (int row = 0; row < rows; row += ABREAST) {
        int hours = rows - row < ABREAST ? rows - row : ABREAST;

        for (int i = 0; i < count; i++)
            memcpy(sorted + i * ABREAST, values + (size_t)i * stride + row,
                   (size_t)hours * sizeof *sorted);
        sort_abreast(sorted, count);
        for (int k = 0; k < hours; k++) {
            low[row + k] = quantile_at(sorted, count, k, 0.1);
            high[row + k] = quantile_at(sorted, count, k, 0.9);
            if (middle)
                middle[row + k] = quantile_at(sorted, count, k, 0.5);
        }
    }
    free(sorted);
}
