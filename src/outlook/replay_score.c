/* Correlations, errors and run/no-run rates. */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "outlook/replay.h"

static struct replay_figure figure(double value)
{
    return (struct replay_figure){isfinite(value), isfinite(value) ? value : 0};
}

static double mean(const double *values, int count)
{
    double sum = 0.0;

    for (int i = 0; i < count; i++) {
        sum += values[i];
    }
    return sum / count;
}

/* Not a number where either side does not vary. */
static double correlation(const double *x, const double *y, int count)
{
    double mx = mean(x, count), my = mean(y, count);
    double xx = 0.0, yy = 0.0, xy = 0.0;

    for (int i = 0; i < count; i++) {
        xx += (x[i] - mx) * (x[i] - mx);
        yy += (y[i] - my) * (y[i] - my);
        xy += (x[i] - mx) * (y[i] - my);
    }
    if (xx <= 1e-18 * count * (1.0 + mx * mx) ||
        yy <= 1e-18 * count * (1.0 + my * my)) {
        return NAN;
    }
    return xy / sqrt(xx * yy);
}

/* Ranks from 1, equal values sharing their mean rank. */
static double *ranks_of(const double *values, int count)
{
    double *ranks = mem_alloc((size_t)count, sizeof *ranks);

    for (int i = 0; i < count; i++) {
        int below = 0, equal = 0;

        for (int j = 0; j < count; j++) {
            below += values[j] < values[i];
            equal += values[j] == values[i];
        }
        ranks[i] = below + 0.5 * (equal + 1);
    }
    return ranks;
}

static double rank_correlation(const double *x, const double *y, int count)
{
    double *rx = ranks_of(x, count), *ry = ranks_of(y, count);
    double r = correlation(rx, ry, count);

    free(rx);
    free(ry);
    return r;
}

static void score_errors(const double *forecast_l, const double *collected_l,
                         int count, struct replay_skill *out)
{
    double size = 0.0, bias = 0.0;

    for (int i = 0; i < count; i++) {
        size += fabs(forecast_l[i] - collected_l[i]);
        bias += forecast_l[i] - collected_l[i];
    }
    out->mae_l = figure(size / count);
    out->bias_l = figure(bias / count);
}

static void score_rates(const double *forecast_l, const double *collected_l,
                        int count, double run_l, struct replay_skill *out)
{
    int runs = 0, hits = 0, alarms = 0;

    for (int i = 0; i < count; i++) {
        bool ran = collected_l[i] >= run_l;

        runs += ran;
        hits += ran && forecast_l[i] >= run_l;
        alarms += !ran && forecast_l[i] >= run_l;
    }
    out->hit_rate = figure(runs ? (double)hits / runs : NAN);
    out->false_alarm_rate =
        figure(runs < count ? (double)alarms / (count - runs) : NAN);
}

/* Mann and Whitney (1947): the share of pairs of a run and no run in which the
 * run had the greater forecast, equal ones by half; the area below the
 * relative operating characteristic. */
static void score_area(const double *forecast_l, const double *collected_l,
                       int count, double run_l, struct replay_skill *out)
{
    double pairs = 0.0, won = 0.0;

    for (int i = 0; i < count; i++) {
        for (int j = 0; j < count; j++) {
            if (collected_l[i] >= run_l && collected_l[j] < run_l) {
                pairs += 1.0;
                won += forecast_l[i] > forecast_l[j]    ? 1.0
                       : forecast_l[i] == forecast_l[j] ? 0.5
                                                        : 0.0;
            }
        }
    }
    out->roc_area = figure(pairs > 0.0 ? won / pairs : NAN);
}

void replay_score(const double *forecast_l, const double *collected_l,
                  int count, double run_l, struct replay_skill *out)
{
    *out = (struct replay_skill){0};
    if (count < 1) {
        return;
    }
    out->pearson = figure(correlation(forecast_l, collected_l, count));
    out->spearman = figure(rank_correlation(forecast_l, collected_l, count));
    score_errors(forecast_l, collected_l, count, out);
    score_rates(forecast_l, collected_l, count, run_l, out);
    score_area(forecast_l, collected_l, count, run_l, out);
}
