/* Thermal time of the buds. */
#include <math.h>

#include "tree/season_private.h"

/* Chill counts from 1 November up to 1 April, as calibrated. */
static const int CHILL_END_MONTH = 4;

static double logistic(double x)
{
    return 1.0 / (1.0 + exp(-x));
}

/* Declination: Spencer (1971), as given in Iqbal, "An Introduction to Solar
 * Radiation" (1983), equation 1.3.1. Sunrise at the centre of the sun, no
 * refraction. */
double season_day_length_h(double latitude_deg, int day_of_year)
{
    double pi = acos(-1.0);
    double g = 2.0 * pi * (day_of_year - 1) / 365.0;
    double declination = 0.006918 - 0.399912 * cos(g) + 0.070257 * sin(g) -
                         0.006758 * cos(2 * g) + 0.000907 * sin(2 * g) -
                         0.002697 * cos(3 * g) + 0.00148 * sin(3 * g);
    double x = -tan(latitude_deg * pi / 180.0) * tan(declination);

    return 24.0 / pi * acos(fmax(-1.0, fmin(1.0, x)));
}

static double day_warmth_kd(const struct season_buds *buds,
                            const struct season_weather *weather, int day)
{
    double sum_kh = 0.0;

    for (int hour = 0; hour < 24; hour++) {
        double temp_c = weather->temp_c[day][hour];
        double bud_c =
            temp_c + buds->day_share * (weather->max_c[day] - temp_c);

        sum_kh += bud_c > buds->base_temp_c ? bud_c - buds->base_temp_c : 0.0;
    }
    return sum_kh / 24.0;
}

static double day_chill(const struct season_buds *buds, double mean_c)
{
    return logistic((buds->chill_temp_c - mean_c) / buds->chill_width_k);
}

void season_day_lengths(int year, int days, double latitude_deg,
                        double *length_h)
{
    for (int day = 0; day < days; day++) {
        length_h[day] =
            season_day_length_h(latitude_deg, season_year_day(year, day) + 1);
    }
}

void season_course_pass(const struct season_buds *buds,
                        const struct season_weather *weather,
                        const double *length_h, struct season_course *out)
{
    struct civil_date chill_end = {weather->year, CHILL_END_MONTH, 1};
    int64_t first = season_first_day(weather->year);
    int64_t new_year =
        civil_day_number((struct civil_date){weather->year, 1, 1}) - first;
    int64_t chill_days = civil_day_number(chill_end) - first;
    double warmth_kd = 0.0, chill_d = 0.0;

    out->days = weather->days;
    for (int day = 0; day < weather->days; day++) {
        double mean_c = 0.5 * (weather->min_c[day] + weather->max_c[day]);

        if (day < chill_days) {
            chill_d += day_chill(buds, mean_c);
        }
        if (day >= new_year) {
            double gate = logistic((length_h[day] - buds->daylength_half_h) /
                                   buds->daylength_width_h);

            warmth_kd += gate * day_warmth_kd(buds, weather, day);
        }
        out->chill_d[day] = chill_d;
        out->warmth_kd[day] =
            warmth_kd * exp(buds->chill_effect *
                            (chill_d - buds->chill_reference_d) / 100.0);
    }
}

void season_course_run(const struct season_buds *buds,
                       const struct season_weather *weather,
                       double latitude_deg, struct season_course *out)
{
    double length_h[SEASON_MAX_DAYS];

    season_day_lengths(weather->year, weather->days, latitude_deg, length_h);
    season_course_pass(buds, weather, length_h, out);
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
