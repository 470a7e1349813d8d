/* Thermal time of the buds. */
#include <math.h>

#include "tree/season_curves.h"
#include "tree/season_private.h"
#include "weather/vectors.h"

/* Chill counts from 1 November up to 1 April, as calibrated. */
static const int CHILL_END_MONTH = 4;
/* Warm nights before this day length say nothing of the sap (1 February at
 * 44 N: 10.0 h), nor those of August on, day 213. */
static const double OFF_DAYLENGTH_H = 10.0;
enum { OFF_UNTIL_DAY = 213 };
static const double TAPHOLE_WARM_C = 4.0; /* trade rule: the cold slows it */

/* Declination: Spencer (1971), as given in Iqbal, "An Introduction to Solar
 * Radiation" (1983), equation 1.3.1. Sunrise at the centre of the sun, no
 * refraction. */
static double tan_declination(int day_of_year)
{
    double pi = acos(-1.0);
    double g = 2.0 * pi * (day_of_year - 1) / 365.0;
    double declination = 0.006918 - 0.399912 * cos(g) + 0.070257 * sin(g) -
                         0.006758 * cos(2 * g) + 0.000907 * sin(2 * g) -
                         0.002697 * cos(3 * g) + 0.00148 * sin(3 * g);

    return tan(declination);
}

static double tan_latitude(double latitude_deg)
{
    return tan(latitude_deg * acos(-1.0) / 180.0);
}

static double day_length_h(double tan_here, double tan_sun)
{
    double x = -tan_here * tan_sun;

    return 24.0 / acos(-1.0) * acos(fmax(-1.0, fmin(1.0, x)));
}

double season_day_length_h(double latitude_deg, int day_of_year)
{
    return day_length_h(tan_latitude(latitude_deg),
                        tan_declination(day_of_year));
}

void season_sun_make(struct season_sun *out)
{
    for (int day = 0; day < 366; day++)
        out->tan_declination[day] = tan_declination(day + 1);
}

void season_calendar_make(const struct season_buds *buds,
                          const struct season_sun *sun, int year, int days,
                          double latitude_deg, struct season_calendar *out)
{
    struct civil_date chill_end = {year, CHILL_END_MONTH, 1};
    int64_t first = season_first_day(year);
    double tan_here = tan_latitude(latitude_deg);

    season_shares_make(&out->shares);
    out->days = days;
    out->new_year =
        (int)(civil_day_number((struct civil_date){year, 1, 1}) - first);
    out->chill_days = (int)(civil_day_number(chill_end) - first);
    for (int day = 0; day < days; day++) {
        int on = season_year_day(year, day);
        double length_h = day_length_h(tan_here, sun->tan_declination[on]);

        out->gate[day] =
            (length_h - buds->daylength_half_h) / buds->daylength_width_h;
        out->nights_tell[day] =
            on + 1 < OFF_UNTIL_DAY && length_h >= OFF_DAYLENGTH_H;
    }
    curve_logistic(out->gate, days);
    for (int day = 0; day < out->new_year && day < days; day++)
        out->gate[day] = 0;
}

#define ABOVE_NOUGHT(v) ((vector)((vector_mask)(v) & (vector_mask)((v) > 0)))

/* Degree-hours above the taphole's bound; degree-days of the buds above their
 * base. */
static inline void read_day(const struct season_buds *buds,
                            const double temp_c[24], double max_c,
                            double *warm_kh, double *bud_kd)
{
    double keeps = 1 - buds->day_share;
    double lifts_k = buds->day_share * max_c - buds->base_temp_c;
    vector warm = {0}, bud = {0};

    for (int hour = 0; hour < 24; hour += VECTOR_WIDE) {
        vector hours_c = *(const vector *)(const void *)(temp_c + hour);
        vector warm_k = hours_c - TAPHOLE_WARM_C;
        vector bud_k = hours_c * keeps + lifts_k;

        warm += ABOVE_NOUGHT(warm_k);
        bud += ABOVE_NOUGHT(bud_k);
    }
    *warm_kh = (warm[0] + warm[1]) + (warm[2] + warm[3]);
    *bud_kd = ((bud[0] + bud[1]) + (bud[2] + bud[3])) / 24;
}

CLONES
static void read_days(const struct season_buds *buds,
                      const struct season_weather *weather, int from,
                      struct season_signs *out)
{
    for (int day = from; day < weather->days; day++)
        read_day(buds, weather->temp_c[day], weather->max_c[day],
                 &out->warm_kh[day], &out->bud_warmth_kd[day]);
}

void season_read_warmth(const struct season_buds *buds,
                        const struct season_weather *weather,
                        const struct season_calendar *calendar, int from,
                        struct season_signs *out)
{
    int chills = calendar->chill_days < weather->days ? calendar->chill_days
                                                      : weather->days;

    read_days(buds, weather, from, out);
    for (int day = from; day < chills; day++)
        out->chill_d[day] = (buds->chill_temp_c - 0.5 * (weather->min_c[day] +
                                                         weather->max_c[day])) /
                            buds->chill_width_k;
    if (from < chills)
        curve_logistic(out->chill_d + from, chills - from);
    for (int day = chills > from ? chills : from; day < weather->days; day++)
        out->chill_d[day] = 0;
}

void season_course_sum(const struct season_buds *buds,
                       const struct season_calendar *calendar,
                       const struct season_signs *signs,
                       struct season_course *out)
{
    double warmth_kd = 0, chill_d = 0;
    bool chill_matters = fabs(buds->chill_effect) > 0;

    out->days = calendar->days;
    for (int day = 0; day < out->days; day++) {
        chill_d += signs->chill_d[day];
        warmth_kd += calendar->gate[day] * signs->bud_warmth_kd[day];
        out->chill_d[day] = chill_d;
        out->warmth_kd[day] = warmth_kd;
    }
    for (int day = 0; day < out->days && chill_matters; day++)
        out->warmth_kd[day] *=
            exp(buds->chill_effect *
                (out->chill_d[day] - buds->chill_reference_d) / 100);
}

void season_course_run(const struct season_buds *buds,
                       const struct season_weather *weather,
                       double latitude_deg, struct season_course *out)
{
    struct season_sun sun;
    struct season_calendar calendar;
    struct season_signs signs = {.days = weather->days};

    season_sun_make(&sun);
    season_calendar_make(buds, &sun, weather->year, weather->days, latitude_deg,
                         &calendar);
    season_read_warmth(buds, weather, &calendar, 0, &signs);
    season_course_sum(buds, &calendar, &signs, out);
}

double season_course_reach(const struct season_course *course, double warmth_kd)
{
    int low = 0, high = course->days;
    double before, after;

    while (low < high) {
        int middle = (low + high) / 2;

        if (course->warmth_kd[middle] >= warmth_kd) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    if (low >= course->days) {
        return -1.0;
    }
    before = low > 0 ? course->warmth_kd[low - 1] : 0.0;
    after = course->warmth_kd[low];
    return low + (after > before ? (warmth_kd - before) / (after - before) : 0);
}
