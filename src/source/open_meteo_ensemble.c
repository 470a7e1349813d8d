/* Open-Meteo's ensembles: the control as the series, all as members. */
#include "base/words.h"
#include "source/answer.h"
#include "source/open_meteo.h"
#include "source/services.h"

static int check_members(const struct source_answer *out, struct error *err)
{
    if (out->members)
        return 0;
    if (out->members_dropped > 0)
        return error_set(err, _("every member has gaps"));
    return error_set(err, _("the answer holds no members"));
}

static int decode(const char *bytes, size_t length, utc_s fetched,
                  struct source_answer *out, struct error *err)
{
    struct hourly hourly = {0};
    struct error no_control;
    cJSON *root;
    int result = -1;

    *out = (struct source_answer){0};
    root = answer_parse(bytes, length, err);
    if (root && hourly_open(root, &hourly, &out->refused, err) == 0) {
        open_meteo_read_members(&hourly, out);
        result = check_members(out, err);
    }
    if (result == 0 &&
        open_meteo_read_series(root, &hourly, source_open_meteo_ensemble.name,
                               fetched, out, &no_control) < 0)
        error_list_add(&out->refused, _("there is no control: %s"),
                       no_control.text);
    hourly_close(&hourly);
    cJSON_Delete(root);
    return result;
}

const struct source source_open_meteo_ensemble = {
    .name = "open-meteo-ensemble",
    .credit = "Weather data by Open-Meteo.com",
    .credit_url = "https://open-meteo.com/",
    .default_url = "https://ensemble-api.open-meteo.com",
    .accept = "application/json",
    /* Its models run two to four times a day. */
    .min_interval_s = 3 * SECONDS_PER_HOUR,
    .per_minute = 300, /* as for its forecasts */
    .url = open_meteo_ensemble_url,
    .decode = decode,
    .error_words = open_meteo_error_words,
};
