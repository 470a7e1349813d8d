#include "sap_seasons.h"

#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "weather/daily.h"
#include "weather/diurnal.h"

/* MacLeish Field Station, Whately MA. */
static const double LATITUDE = 42.4485, LONGITUDE = -72.6806;
enum { OFFSET_S = -5 * SECONDS_PER_HOUR, MAX_BYTES = 16 << 20 };

/* When the taps were set: 2013 by the data's own note; 2015 from the length
 * of the season in the record (24 days to the last row). Noon. */
static utc_s tapping_time(int year)
{
    struct civil_date date = {year, year == 2013 ? 2 : 3,
                              year == 2013 ? 22 : 9};
    return civil_day_number(date) * SECONDS_PER_DAY + 12 * SECONDS_PER_HOUR -
           OFFSET_S;
}

/* Collections that the data's notes flag as short: ice thrown away. */
static double weight_of(struct civil_date date)
{
    static const struct civil_date lost[] = {
        {2013, 3, 4}, {2013, 3, 5}, {2013, 3, 16}, {2013, 3, 18}};
    for (size_t i = 0; i < sizeof lost / sizeof *lost; i++)
        if (civil_date_compare(date, lost[i]) == 0)
            return 0.5;
    return 1;
}

/* On 2013-03-26 the buckets were collected at 09:00, by the data's notes. */
static int hour_of(struct civil_date date, int usual_hour)
{
    struct civil_date early = {2013, 3, 26};
    return civil_date_compare(date, early) == 0 ? 9 : usual_hour;
}

static int read_file(const char *folder, const char *kind, int year,
                     char **bytes, size_t *length, struct error *err)
{
    char *path = mem_format("%s/whately-%s-%d.csv", folder, kind, year);
    int result = file_read(path, MAX_BYTES, bytes, length, err);
    free(path);
    return result;
}

static void leave_out(struct series *series, const struct sap_weather *weather)
{
    for (int hour = 0; hour < series_hours(series); hour++) {
        if (weather->without_sun)
            series_clear(series, SHORTWAVE_W_M2, hour);
        if (weather->without_wind)
            series_clear(series, WIND_M_S, hour);
    }
}

/* The hours that the days' extremes alone would give. NULL without days. */
static struct series *from_extremes(const struct series *hourly)
{
    struct daily *daily = daily_from_series(hourly, OFFSET_S);
    struct diurnal_day *days = mem_alloc((size_t)daily->count, sizeof *days);
    for (int i = 0; i < daily->count; i++)
        days[i] = (struct diurnal_day){
            daily->rows[i].has_min && daily->rows[i].has_max,
            daily->rows[i].min_c, daily->rows[i].max_c};
    struct series *series = diurnal_series(daily->first_day, days, daily->count,
                                           LATITUDE, LONGITUDE, OFFSET_S);
    free(days);
    daily_free(daily);
    return series;
}

static int read_weather(const char *folder, int year,
                        const struct sap_weather *weather,
                        struct sap_season *season, struct error *err)
{
    char *bytes = NULL;
    size_t length;
    struct series *series = NULL;
    int result = read_file(folder, "weather", year, &bytes, &length, err);
    if (result == 0)
        result = series_from_csv(bytes, length, OFFSET_S, &series, err);
    free(bytes);
    if (result == 0 && weather->days_only) {
        struct series *hourly = series;
        series = from_extremes(hourly);
        series_free(hourly);
        result = series ? 0 : error_set(err, _("no days"));
    }
    if (result == 0) {
        leave_out(series, weather);
        season->forcing = forcing_from_series(series, LATITUDE, LONGITUDE);
    }
    series_free(series);
    return result;
}

static int read_row(const struct csv *csv, int row, int usual_hour,
                    struct sap_season *season, struct error *err)
{
    struct civil_date date;
    int litres = csv_column(csv, "sap_l"), day = csv_column(csv, "date");
    if (litres < 0 || day < 0 || row >= SAP_MAX_ROWS)
        return error_set(err,
                         _("the sap of %d has not the columns date and "
                           "sap_l, or too many rows"),
                         season->year);
    if (iso_date_parse(csv_cell(csv, row, day), &date, err) != 0 ||
        csv_number(csv, row, litres, &season->litres[row], err) != 0)
        return -1;
    season->collected_at[row] = civil_day_number(date) * SECONDS_PER_DAY +
                                hour_of(date, usual_hour) * SECONDS_PER_HOUR -
                                OFFSET_S;
    season->weight[row] = weight_of(date);
    season->count = row + 1;
    return 0;
}

static int read_sap(const char *folder, int year, int usual_hour,
                    struct sap_season *season, struct error *err)
{
    char *bytes = NULL;
    size_t length;
    struct csv *csv = NULL;
    int result = read_file(folder, "sap", year, &bytes, &length, err);
    if (result == 0)
        result = csv_parse(bytes, length, &csv, err);
    free(bytes);
    for (int row = 0; result == 0 && row < csv_rows(csv); row++)
        result = read_row(csv, row, usual_hour, season, err);
    csv_free(csv);
    return result;
}

int sap_season_read(const char *folder, int year,
                    const struct sap_weather *weather, struct sap_season *out,
                    struct error *err)
{
    memset(out, 0, sizeof *out);
    out->year = year;
    out->tapped_at = tapping_time(year);
    if (read_weather(folder, year, weather, out, err) != 0 ||
        read_sap(folder, year, weather->collected_hour, out, err) != 0)
        return -1;
    utc_s last = out->collected_at[out->count - 1];
    int64_t needed = (last - out->forcing->start) / SECONDS_PER_HOUR + 1;
    if (needed < out->forcing->hours)
        out->forcing->hours = (int)needed;
    return 0;
}

void sap_season_free(struct sap_season *season)
{
    forcing_free(season->forcing);
}

void sap_season_model(const struct sap_season *season,
                      const struct tree_model *model, double bucket_l,
                      struct tree_hour *hours, double *kept_l)
{
    struct tree_site site = {.latitude = LATITUDE,
                             .longitude = LONGITUDE,
                             .elevation_m = 251,
                             .gathering = GATHERING_BUCKETS,
                             .bucket_l = bucket_l,
                             .tapped = true,
                             .tapped_at = season->tapped_at};
    double ran_l = 0;
    int row = 0;
    tree_run(model, &site, season->forcing, hours);
    for (int hour = 0; hour < season->forcing->hours; hour++) {
        utc_s time = season->forcing->start + (utc_s)hour * SECONDS_PER_HOUR;
        for (; row < season->count && season->collected_at[row] <= time;
             row++) {
            kept_l[row] = tree_kept_l_per_tap(model, ran_l, bucket_l);
            ran_l = 0;
        }
        ran_l += hours[hour].sap_l_per_tap;
    }
    for (; row < season->count; row++) {
        kept_l[row] = tree_kept_l_per_tap(model, ran_l, bucket_l);
        ran_l = 0;
    }
}
