#include "sap_fit.h"

#include <math.h>
#include <string.h>

enum { MAX_ROUNDS = 220 };
static const double PRIOR_WEIGHT = 0.015;
static const char AGEING[] = "taphole ageing";

struct point {
    double at[SAP_MAX_FREE]; /* in deviations from the centres */
    double loss;
};

static double *number_of(const struct tree_model *model, const char *key)
{
    for (const struct parameter_row *row = model->form->rows; row->key; row++)
        if (strcmp(row->key, key) == 0)
            return (double *)((char *)model->numbers + row->offset);
    return NULL;
}

bool sap_set_number(struct tree_model *model, const char *key, double value)
{
    double *number = strcmp(key, AGEING) == 0 ? &model->gathering.ageing_per_kkh
                                              : number_of(model, key);
    if (number)
        *number = value;
    return number != NULL;
}

double sap_get_number(const struct tree_model *model, const char *key)
{
    const double *number = strcmp(key, AGEING) == 0
                               ? &model->gathering.ageing_per_kkh
                               : number_of(model, key);
    return number ? *number : 0;
}

double sap_pearson(const double *a, const double *b, const double *weight,
                   int count)
{
    double sum = 0, mean_a = 0, mean_b = 0, ab = 0, aa = 0, bb = 0;
    for (int i = 0; i < count; i++) {
        sum += weight[i];
        mean_a += weight[i] * a[i];
        mean_b += weight[i] * b[i];
    }
    for (int i = 0; i < count; i++) {
        double da = a[i] - mean_a / sum, db = b[i] - mean_b / sum;
        ab += weight[i] * da * db;
        aa += weight[i] * da * da;
        bb += weight[i] * db * db;
    }
    return aa > 0 && bb > 0 ? ab / sqrt(aa * bb) : 0;
}

static void ranks_of(const double *values, int count, double *ranks)
{
    for (int i = 0; i < count; i++) {
        ranks[i] = 0;
        for (int j = 0; j < count; j++)
            ranks[i] +=
                values[j] < values[i] ? 1 : (values[j] <= values[i] ? 0.5 : 0);
    }
}

double sap_spearman(const double *a, const double *b, int count)
{
    double ranks_a[SAP_MAX_ROWS], ranks_b[SAP_MAX_ROWS], same[SAP_MAX_ROWS];
    ranks_of(a, count, ranks_a);
    ranks_of(b, count, ranks_b);
    for (int i = 0; i < count; i++)
        same[i] = 1;
    return sap_pearson(ranks_a, ranks_b, same, count);
}

static double season_loss(struct sap_problem *problem, int which)
{
    const struct sap_season *season = &problem->seasons[which];
    double kept_l[SAP_MAX_ROWS], roots[SAP_MAX_ROWS], found[SAP_MAX_ROWS];
    sap_season_model(season, problem->model, problem->bucket_l, problem->hours,
                     kept_l);
    for (int i = 0; i < season->count; i++) {
        roots[i] = sqrt(kept_l[i]);
        found[i] = sqrt(season->litres[i]);
    }
    const double *weights = problem->weights[which];
    return 1 - sap_pearson(kept_l, season->litres, weights, season->count) / 2 -
           sap_pearson(roots, found, weights, season->count) / 2;
}

static void use_point(struct sap_problem *problem, const struct point *point)
{
    for (int i = 0; i < problem->free_count; i++)
        sap_set_number(problem->model, problem->free[i].key,
                       problem->free[i].centre *
                           exp(problem->free[i].log_sd * point->at[i]));
}

static void judge(struct sap_problem *problem, struct point *point)
{
    double sum = 0, all = 0, distance = 0;
    use_point(problem, point);
    for (int which = 0; which < SAP_SEASONS; which++) {
        double rows = 0;
        for (int i = 0; i < problem->seasons[which].count; i++)
            rows += problem->weights[which][i];
        if (rows <= 0)
            continue;
        sum += sqrt(rows) * season_loss(problem, which);
        all += sqrt(rows);
    }
    for (int i = 0; i < problem->free_count; i++)
        distance += point->at[i] * point->at[i];
    point->loss = sum / all + PRIOR_WEIGHT * distance;
}

/* A point on the line through the middle and the worst one. */
static struct point along(struct sap_problem *problem,
                          const struct point *middle, const struct point *worst,
                          double by)
{
    struct point point = {.loss = 0};
    for (int i = 0; i < problem->free_count; i++)
        point.at[i] = middle->at[i] + by * (worst->at[i] - middle->at[i]);
    judge(problem, &point);
    return point;
}

static void sort_points(struct point *points, int count)
{
    for (int i = 1; i < count; i++)
        for (int j = i; j > 0 && points[j].loss < points[j - 1].loss; j--) {
            struct point other = points[j];
            points[j] = points[j - 1];
            points[j - 1] = other;
        }
}

static struct point middle_of(const struct point *points, int count)
{
    struct point middle = {.loss = 0};
    for (int i = 0; i < count; i++)
        for (int k = 0; k < SAP_MAX_FREE; k++)
            middle.at[k] += points[i].at[k] / count;
    return middle;
}

/* One move of the simplex; points are sorted, the last is the worst. */
static void move(struct sap_problem *problem, struct point *points)
{
    int last = problem->free_count;
    struct point middle = middle_of(points, last);
    struct point mirrored = along(problem, &middle, &points[last], -1);
    if (mirrored.loss < points[0].loss) {
        struct point farther = along(problem, &middle, &points[last], -2);
        points[last] = farther.loss < mirrored.loss ? farther : mirrored;
    } else if (mirrored.loss < points[last - 1].loss) {
        points[last] = mirrored;
    } else {
        bool outside = mirrored.loss < points[last].loss;
        struct point nearer =
            along(problem, &middle, &points[last], outside ? -0.5 : 0.5);
        if (nearer.loss < fmin(mirrored.loss, points[last].loss))
            points[last] = nearer;
        else
            for (int i = 1; i <= last; i++)
                points[i] = along(problem, &points[0], &points[i], 0.5);
    }
    sort_points(points, last + 1);
}

static struct point walk(struct sap_problem *problem, struct point start,
                         double step)
{
    struct point points[SAP_MAX_FREE + 1];
    int last = problem->free_count;
    for (int i = 0; i <= last; i++) {
        points[i] = start;
        if (i > 0)
            points[i].at[i - 1] += step;
        judge(problem, &points[i]);
    }
    sort_points(points, last + 1);
    for (int round = 0; round < MAX_ROUNDS; round++) {
        if (points[last].loss - points[0].loss < 1e-6)
            break;
        move(problem, points);
    }
    return points[0];
}

double sap_fit(struct sap_problem *problem)
{
    struct point start = {.loss = 0};
    if (problem->free_count == 0) {
        judge(problem, &start);
        return start.loss;
    }
    start = walk(problem, start, 0.7);
    start = walk(problem, start, -0.3);
    use_point(problem, &start);
    return start.loss;
}
