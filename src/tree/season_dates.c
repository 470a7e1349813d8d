/* Dates as distributions. */
#include <math.h>

#include "tree/season_private.h"

/* A date is told when at least this share of the courses reach it. */
static const double REACHED_SHARE = 0.95;
enum { BISECTIONS = 60 };

static double chance_by(const double *positions, int count, double sd_d,
                        int days, double x)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++) {
        double position = positions[i] < 0.0 ? days : positions[i];

        sum += season_normal_below((x - position) / sd_d);
    }
    return sum / count;
}

static double quantile(const double *positions, int count, double sd_d,
                       int days, double share)
{
    double low = -1000.0, high = 2000.0;

    for (int i = 0; i < BISECTIONS; i++) {
        double middle = 0.5 * (low + high);

        if (chance_by(positions, count, sd_d, days, middle) < share) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}

static struct civil_date date_at(double position, int64_t first_day)
{
    return civil_date_from_day_number(first_day + (int64_t)floor(position));
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
        date.p10 =
            date_at(quantile(positions, count, sd_d, days, 0.1), first_day);
        date.p50 =
            date_at(quantile(positions, count, sd_d, days, 0.5), first_day);
        date.p90 =
            date_at(quantile(positions, count, sd_d, days, 0.9), first_day);
    }
    return date;
}
