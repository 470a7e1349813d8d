#include "source/shape.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"

enum { WARMEST_SOLAR_H = 15, COLDEST_SOLAR_H = 6, MAX_EXTREMES = 2 };

/* Nearer than a display would tell: no knot of its own. */
static const double slack_k = 0.05;

/* Hours of the clock between two times of day, the short way. */
static double clock_distance(double a_h, double b_h)
{
    double apart = fabs(fmod(a_h - b_h, 24.0));

    return apart > 12 ? 24 - apart : apart;
}

/* The whole hour inside the step that is nearest to the solar time wanted;
 * *distance tells how near. */
static int find_hour(const struct shape_instant *from, int step_h,
                     double longitude_deg, double wanted_solar_h,
                     double *distance)
{
    int best = 1;

    *distance = 24;
    for (int hour = 1; hour < step_h; hour++) {
        double utc_h = (double)((from->time + (utc_s)hour * SECONDS_PER_HOUR) %
                                SECONDS_PER_DAY) /
                       SECONDS_PER_HOUR;
        double apart =
            clock_distance(utc_h + longitude_deg / 15, wanted_solar_h);

        if (apart < *distance) {
            *distance = apart;
            best = hour;
        }
    }
    return best;
}

struct knots {
    double *x, *y; /* hours since the first instant */
    int count;
};

static void add_knot(struct knots *knots, double x, double y)
{
    knots->x[knots->count] = x;
    knots->y[knots->count++] = y;
}

/* Adds the extremes inside the step, in the order of their hours. */
static void add_extremes(struct knots *knots, const struct shape_instant *from,
                         const struct shape_instant *to, double longitude_deg)
{
    int step_h = (int)((to->time - from->time) / SECONDS_PER_HOUR);
    bool warm = from->max > fmax(from->value, to->value) + slack_k;
    bool cold = from->min < fmin(from->value, to->value) - slack_k;
    double start = knots->x[knots->count - 1], warm_off, cold_off;
    int warm_h =
        find_hour(from, step_h, longitude_deg, WARMEST_SOLAR_H, &warm_off);
    int cold_h =
        find_hour(from, step_h, longitude_deg, COLDEST_SOLAR_H, &cold_off);

    /* Both drawn to the same hour: the worse placed goes to the far end. */
    if (warm && cold && warm_h == cold_h) {
        int *worse = warm_off > cold_off ? &warm_h : &cold_h;

        *worse = *worse > step_h / 2 ? 1 : step_h - 1;
    }
    if (cold && (!warm || cold_h < warm_h))
        add_knot(knots, start + cold_h, from->min);
    if (warm)
        add_knot(knots, start + warm_h, from->max);
    if (cold && warm && cold_h > warm_h)
        add_knot(knots, start + cold_h, from->min);
}

static bool can_shape(const struct shape_instant *from,
                      const struct shape_instant *to)
{
    return from->shaped_after &&
           to->time - from->time > (utc_s)2 * SECONDS_PER_HOUR;
}

static struct knots make_knots(const struct shape_instant *instants, int count,
                               double longitude_deg)
{
    size_t most = (size_t)count * (1 + MAX_EXTREMES);
    struct knots knots = {mem_alloc(most, sizeof(double)),
                          mem_alloc(most, sizeof(double)), 0};

    for (int i = 0; i < count; i++) {
        add_knot(&knots,
                 (double)(instants[i].time - instants[0].time) /
                     SECONDS_PER_HOUR,
                 instants[i].value);
        if (i + 1 < count && can_shape(&instants[i], &instants[i + 1]))
            add_extremes(&knots, &instants[i], &instants[i + 1], longitude_deg);
    }
    return knots;
}

/* Slope at an inner knot: the weighted harmonic mean of the slopes beside it
 * (Fritsch and Butland 1984, SIAM Journal on Scientific and Statistical
 * Computing 5:300-304), 0 at an extreme. */
static double inner_slope(double left_h, double right_h, double left,
                          double right)
{
    double w_left = 2 * right_h + left_h, w_right = right_h + 2 * left_h;

    if (left * right <= 0)
        return 0;
    return (w_left + w_right) / (w_left / left + w_right / right);
}

void shape_slopes(const double *x, const double *y, int count, double *slopes)
{
    for (int i = 0; i < count; i++)
        slopes[i] = 0;
    for (int i = 1; i + 1 < count; i++) {
        double left_h = x[i] - x[i - 1], right_h = x[i + 1] - x[i];

        slopes[i] = inner_slope(left_h, right_h, (y[i] - y[i - 1]) / left_h,
                                (y[i + 1] - y[i]) / right_h);
    }
    if (count > 1) {
        slopes[0] = (y[1] - y[0]) / (x[1] - x[0]);
        slopes[count - 1] =
            (y[count - 1] - y[count - 2]) / (x[count - 1] - x[count - 2]);
    }
}

/* Cubic Hermite form. */
double shape_value(const double *x, const double *y, const double *slopes,
                   int left, double at)
{
    double width = x[left + 1] - x[left], t = (at - x[left]) / width;
    double u = 1 - t;

    return y[left] * u * u * (1 + 2 * t) + y[left + 1] * t * t * (1 + 2 * u) +
           width * t * u * (slopes[left] * u - slopes[left + 1] * t);
}

static int count_hours(const struct shape_instant *instants, int count)
{
    int hours = 0;

    for (int i = 0; i + 1 < count; i++)
        if (instants[i].shaped_after)
            hours += (int)((instants[i + 1].time - instants[i].time) /
                           SECONDS_PER_HOUR) -
                     1;
    return hours;
}

int shape_hours(const struct shape_instant *instants, int count,
                double longitude_deg, struct shape_hour **hours)
{
    struct knots knots = make_knots(instants, count, longitude_deg);
    double *slopes = mem_alloc((size_t)knots.count, sizeof *slopes);
    int made = 0, left = 0;

    *hours =
        mem_alloc((size_t)count_hours(instants, count) + 1, sizeof **hours);
    shape_slopes(knots.x, knots.y, knots.count, slopes);
    for (int i = 0; i + 1 < count; i++) {
        utc_s time = instants[i].time + SECONDS_PER_HOUR;

        for (; instants[i].shaped_after && time < instants[i + 1].time;
             time += SECONDS_PER_HOUR) {
            double at = (double)(time - instants[0].time) / SECONDS_PER_HOUR;

            while (knots.x[left + 1] <= at && left + 2 < knots.count)
                left++;
            (*hours)[made++] = (struct shape_hour){
                time, shape_value(knots.x, knots.y, slopes, left, at)};
        }
    }
    free(knots.x);
    free(knots.y);
    free(slopes);
    return made;
}
