/* Dates as distributions. */
#include "tree/season_curves.h"
#include "tree/season_private.h"

/* A date is told when at least this share of the courses reach it. */
static const double REACHED_SHARE = 0.95;
enum { ABREAST = 64 };

static double chance_by(const double *positions, int count, double sd_d,
                        int days, double x)
{
    double sum = 0.0;

    for (int from = 0; from < count; from += ABREAST) {
        int some = count - from < ABREAST ? count - from : ABREAST;
        double below[ABREAST];

        for (int i = 0; i < some; i++) {
            double position =
                positions[from + i] < 0.0 ? days : positions[from + i];

            below[i] = (x - position) / sd_d;
        }
        curve_normal_below(below, some);
        for (int i = 0; i < some; i++)
            sum += below[i];
    }
    return sum / count;
}

/* The day in which the share is reached. */
static struct civil_date quantile(const double *positions, int count,
                                  double sd_d, int days, double share,
                                  int64_t first_day)
{
    int low = -1000, high = 2000;

    while (high - low > 1) {
        int middle = low + (high - low) / 2;

        if (chance_by(positions, count, sd_d, days, middle) < share) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return civil_date_from_day_number(first_day + low);
}

struct season_date season_date_from(const double *positions, int count,
                                    double sd_d, int64_t first_day, int days)
{
    struct season_date date = {0};
    int reached = 0;

    for (int i = 0; i < count; i++) {
        reached += positions[i] >= 0.0;
    }
    date.known = count > 0 && reached >= REACHED_SHARE * count;
    if (date.known) {
        date.p10 = quantile(positions, count, sd_d, days, 0.1, first_day);
        date.p50 = quantile(positions, count, sd_d, days, 0.5, first_day);
        date.p90 = quantile(positions, count, sd_d, days, 0.9, first_day);
    }
    return date;
}
