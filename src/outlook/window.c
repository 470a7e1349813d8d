#include "outlook/window.h"

#include <math.h>

enum { LULL_H = 2 };

static const double SHARE_OF_PEAK = 0.1;

double window_floor_l_h(enum gathering gathering)
{
    return gathering == GATHERING_VACUUM ? 0.04 : 0.02;
}

static int row_of_peak(const double *flow_l_h, int from, int to)
{
    int peak = from;

    for (int row = from + 1; row < to; row++)
        if (flow_l_h[row] > flow_l_h[peak])
            peak = row;
    return peak;
}

/* One past the last running row of the stretch that starts at `first`. */
static int end_of_stretch(const double *flow_l_h, int first, int to,
                          double least)
{
    int end = first + 1;

    for (int row = end; row < to && row - end <= LULL_H; row++)
        if (flow_l_h[row] >= least)
            end = row + 1;
    return end;
}

bool window_find(const double *flow_l_h, int from, int to, double floor_l_h,
                 struct window *out)
{
    double most = 0, least;

    if (from >= to)
        return false;
    least = fmax(floor_l_h,
                 SHARE_OF_PEAK * flow_l_h[row_of_peak(flow_l_h, from, to)]);
    for (int row = from, end; row < to; row = end) {
        double sum = 0;

        end = row + 1;
        if (flow_l_h[row] < least)
            continue;
        end = end_of_stretch(flow_l_h, row, to, least);
        for (int i = row; i < end; i++)
            sum += flow_l_h[i];
        if (sum > most) {
            most = sum;
            out->first = row;
            out->end = end;
            out->peak = row_of_peak(flow_l_h, row, end);
        }
    }
    return most > 0;
}
