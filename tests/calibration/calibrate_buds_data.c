/* Reading the open data of the bud calibration. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/file.h"
#include "base/memory.h"
#include "calibrate_buds.h"

enum { FILE_MAX = 8 * 1024 * 1024, HARMONICS = 5 };

static int read_bytes(const char *folder, const char *name, char **bytes,
                      size_t *length, struct error *err)
{
    char *path = file_join(folder, name);
    int status = file_read(path, FILE_MAX, bytes, length, err);

    free(path);
    return status;
}

static int read_csv(const char *folder, const char *name, struct csv **out,
                    struct error *err)
{
    char *bytes;
    size_t length;
    int status;

    if (read_bytes(folder, name, &bytes, &length, err)) {
        return -1;
    }
    status = csv_parse(bytes, length, out, err);
    free(bytes);
    return status;
}

static double number(const struct csv *csv, int row, const char *column)
{
    struct error err;
    double value = 0.0;

    if (csv_number(csv, row, csv_column(csv, column), &value, &err)) {
        (void)fprintf(stderr, "line %d: %s is no number\n", csv_line(csv, row),
                      column);
        exit(1);
    }
    return value;
}

static int kind_of(const struct csv *csv, int row)
{
    const char *species = csv_cell(csv, row, csv_column(csv, "species"));

    return strcmp(species, "Acer saccharum") == 0 ? 0 : 1;
}

/* Noon of a day of the year is half a day past its start. */
static double position(int year, double day_of_year)
{
    int64_t january = civil_day_number((struct civil_date){year, 1, 1});

    return (double)(january - season_first_day(year)) + day_of_year - 0.5;
}

static int read_breaks(const char *folder, struct bud_data *out,
                       struct error *err)
{
    struct csv *csv;

    if (read_csv(folder, "petersham-budbreak-1990-2005.csv", &csv, err)) {
        return -1;
    }
    for (int row = 0; row < csv_rows(csv); row++) {
        int year = (int)number(csv, row, "year");

        if (year >= FIRST_YEAR && year < FIRST_YEAR + YEARS) {
            out->bud_break[kind_of(csv, row)][year - FIRST_YEAR] =
                position(year, number(csv, row, "mean_doy_10pct"));
        }
    }
    csv_free(csv);
    return 0;
}

/* Moderately swollen or further. */
static bool swollen(const char *condition)
{
    return strcmp(condition, "MS") == 0 || strcmp(condition, "VS") == 0 ||
           strcmp(condition, "BB") == 0;
}

/* The visits of one tree in one year, of which the first swollen one and the
 * last before it are wanted. */
struct visits {
    char tree[16];
    int year, kind;
    double last_before, first_swollen;
};

static struct visits *find_visits(struct visits *all, int *count,
                                  const char *tree, int year, int kind)
{
    for (int i = *count - 1; i >= 0; i--) {
        if (all[i].year == year && strcmp(all[i].tree, tree) == 0) {
            return &all[i];
        }
    }
    (void)snprintf(all[*count].tree, sizeof all[*count].tree, "%s", tree);
    all[*count].year = year;
    all[*count].kind = kind;
    all[*count].last_before = -1.0;
    all[*count].first_swollen = 1000.0;
    return &all[(*count)++];
}

static void take_visit(const struct csv *csv, int row, struct visits *visits)
{
    double at = position(visits->year, number(csv, row, "doy"));

    if (swollen(csv_cell(csv, row, csv_column(csv, "bud_condition")))) {
        visits->first_swollen = fmin(visits->first_swollen, at);
    } else if (at < visits->first_swollen) {
        visits->last_before = fmax(visits->last_before, at);
    }
}

static void take_swell(const struct visits *visits, struct bud_data *out)
{
    struct swell *swell =
        &out->swells[visits->kind][out->swell_count[visits->kind]++];

    swell->year = visits->year;
    swell->by = visits->first_swollen;
    swell->after = visits->last_before < visits->first_swollen
                       ? visits->last_before
                       : -1.0;
}

static int read_swells(const char *folder, struct bud_data *out,
                       struct error *err)
{
    struct visits *all = mem_alloc(KINDS * MAX_SWELLS, sizeof *all);
    struct csv *csv;
    int count = 0;

    if (read_csv(folder, "petersham-bud-condition-1990-2005.csv", &csv, err)) {
        free(all);
        return -1;
    }
    for (int row = 0; row < csv_rows(csv); row++) {
        const char *date = csv_cell(csv, row, csv_column(csv, "date"));
        const char *tree = csv_cell(csv, row, csv_column(csv, "tree_id"));
        struct civil_date day;

        if (iso_date_parse(date, &day, err) == 0) {
            take_visit(
                csv, row,
                find_visits(all, &count, tree, day.year, kind_of(csv, row)));
        }
    }
    for (int i = 0; i < count; i++) {
        take_swell(&all[i], out);
    }
    csv_free(csv);
    free(all);
    return 0;
}

int bud_data_read(const char *folder, struct bud_data *out, struct error *err)
{
    char *bytes;
    size_t length;
    int status;

    memset(out, 0, sizeof *out);
    if (read_bytes(folder, "petersham-daily-1989-2006.csv", &bytes, &length,
                   err)) {
        return -1;
    }
    status = daily_from_csv(bytes, length, &out->daily, err);
    free(bytes);
    if (status || read_breaks(folder, out, err) ||
        read_swells(folder, out, err)) {
        return -1;
    }
    return 0;
}

void bud_data_free(struct bud_data *data)
{
    daily_free(data->daily);
}

struct daily *bud_data_stepped(const struct bud_data *data, double step_k)
{
    int64_t step_day = civil_day_number((struct civil_date){STEP_YEAR, 1, 1});
    struct daily *daily = mem_alloc(1, sizeof *daily);

    *daily = *data->daily;
    daily->rows = mem_alloc((size_t)daily->count, sizeof *daily->rows);
    for (int day = 0; day < daily->count; day++) {
        daily->rows[day] = data->daily->rows[day];
        if (daily->first_day + day < step_day) {
            daily->rows[day].min_c += step_k;
            daily->rows[day].max_c += step_k;
        }
    }
    return daily;
}

static int day_of_year(const struct daily *daily, int day)
{
    return civil_day_of_year(
        civil_date_from_day_number(daily->first_day + day));
}

static void harmonics_of(int on, double x[HARMONICS])
{
    double w = 2.0 * acos(-1.0) * on / 365.25;

    x[0] = 1.0;
    x[1] = cos(w);
    x[2] = sin(w);
    x[3] = cos(2.0 * w);
    x[4] = sin(2.0 * w);
}

/* Gauss elimination; a Gram matrix needs no pivots. */
static void solve(double a[HARMONICS][HARMONICS + 1], double x[HARMONICS])
{
    for (int k = 0; k < HARMONICS; k++) {
        for (int i = k + 1; i < HARMONICS; i++) {
            double f = a[i][k] / a[k][k];

            for (int j = k; j <= HARMONICS; j++) {
                a[i][j] -= f * a[k][j];
            }
        }
    }
    for (int k = HARMONICS - 1; k >= 0; k--) {
        x[k] = a[k][HARMONICS];
        for (int j = k + 1; j < HARMONICS; j++) {
            x[k] -= a[k][j] * x[j];
        }
        x[k] /= a[k][k];
    }
}

static void fit_extreme(const struct daily *daily, bool max,
                        double out[HARMONICS])
{
    double a[HARMONICS][HARMONICS + 1] = {{0}};

    for (int day = 0; day < daily->count; day++) {
        const struct daily_row *row = &daily->rows[day];
        double x[HARMONICS], y = max ? row->max_c : row->min_c;

        if (!(max ? row->has_max : row->has_min)) {
            continue;
        }
        harmonics_of(day_of_year(daily, day), x);
        for (int i = 0; i < HARMONICS; i++) {
            for (int j = 0; j < HARMONICS; j++) {
                a[i][j] += x[i] * x[j];
            }
            a[i][HARMONICS] += x[i] * y;
        }
    }
    solve(a, out);
}

void climate_fit(const struct daily *daily, struct season_general *general)
{
    fit_extreme(daily, false, general->climate_min_c);
    fit_extreme(daily, true, general->climate_max_c);
}

/* Sums toward a standard deviation and the correlation with the day before. */
struct memory_sums {
    double before, squares, products;
    int days, pairs;
};

static void sums_add(struct memory_sums *sums, double k)
{
    sums->squares += k * k;
    sums->days++;
    if (!isnan(sums->before)) {
        sums->products += k * sums->before;
        sums->pairs++;
    }
    sums->before = k;
}

static void sums_end(const struct memory_sums *sums, double *sd_k,
                     double *memory)
{
    double variance = sums->squares / sums->days;

    *sd_k = sqrt(variance);
    *memory = sums->products / sums->pairs / variance;
}

void anomaly_fit(const struct daily *daily, struct season_general *general)
{
    struct memory_sums mean = {.before = NAN}, range = {.before = NAN};
    struct season_climate climate;

    season_climate_at(general, general->climate_latitude_deg,
                      general->climate_elevation_m, &climate);
    for (int day = 0; day < daily->count; day++) {
        const struct daily_row *row = &daily->rows[day];
        int on = day_of_year(daily, day) - 1;
        double low_k = row->min_c - climate.min_c[on];
        double high_k = row->max_c - climate.max_c[on];

        if (!row->has_min || !row->has_max || on > 150) {
            mean.before = range.before = NAN;
            continue;
        }
        sums_add(&mean, 0.5 * (low_k + high_k));
        sums_add(&range, high_k - low_k);
    }
    sums_end(&mean, &general->anomaly_sd_k, &general->anomaly_memory);
    sums_end(&range, &general->range_sd_k, &general->range_memory);
}
