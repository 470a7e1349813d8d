#include <string.h>

#include "base/words.h"
#include "source/answer.h"
#include "source/open_meteo.h"

static int clamp(int value, int low, int high)
{
    if (value < low)
        return low;
    return value < high ? value : high;
}

/* Percent-encoded after RFC 3986, section 2. */
static void add_encoded(struct text *url, const char *words)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "abcdefghijklmnopqrstuvwxyz0123456789-._~";

    for (; *words; words++) {
        if (strchr(plain, *words))
            text_add_bytes(url, words, 1);
        else
            text_addf(url, "%%%02X", (unsigned)(unsigned char)*words);
    }
}

/* Answers to those with a key come from another host, unless one's own is
 * configured. */
static void add_base(struct text *url, const struct source_query *query,
                     const char *free_host)
{
    if (query->base_url)
        text_add(url, query->base_url);
    else
        text_addf(url, "https://%s%s", query->key ? "customer-" : "",
                  free_host);
}

static void add_place(struct text *url, const struct source_query *query)
{
    text_add(url, "?latitude=");
    answer_add_degrees(url, query->latitude);
    text_add(url, "&longitude=");
    answer_add_degrees(url, query->longitude);
    text_addf(url, "&elevation=%.0f", query->elevation_m);
}

/* GMT and epoch seconds: local stamps do not know the change to summer
 * time. */
static int add_rest(struct text *url, const struct source_query *query,
                    int past_days, struct error *err)
{
    text_addf(url,
              "&timeformat=unixtime&timezone=GMT&past_days=%d"
              "&forecast_days=%d",
              clamp(past_days, 0, 92), clamp(query->forecast_days, 1, 16));
    if (query->key) {
        text_add(url, "&apikey=");
        add_encoded(url, query->key);
    }
    if (url->full)
        return error_set(err, _("the address to ask is too long"));
    return 0;
}

int open_meteo_forecast_url(const struct source_query *query,
                            const char *looked_up, size_t length,
                            struct text *url, struct error *err)
{
    (void)looked_up;
    (void)length;
    add_base(url, query, "api.open-meteo.com");
    text_add(url, "/v1/forecast");
    add_place(url, query);
    text_add(url, "&hourly=temperature_2m,relative_humidity_2m,dew_point_2m,"
                  "precipitation,surface_pressure,cloud_cover,wind_speed_10m,"
                  "shortwave_radiation&wind_speed_unit=ms");
    return add_rest(url, query, query->past_days, err);
}

/* One model a request, since the names of an answer tell models apart only
 * where several cover the place; the temperature alone, since the service
 * counts each variable. 51 members to 15 days. */
int open_meteo_ensemble_url(const struct source_query *query,
                            const char *looked_up, size_t length,
                            struct text *url, struct error *err)
{
    (void)looked_up;
    (void)length;
    add_base(url, query, "ensemble-api.open-meteo.com");
    text_add(url, "/v1/ensemble");
    add_place(url, query);
    text_add(url, "&hourly=temperature_2m&models=ecmwf_ifs025");
    return add_rest(url, query, 0, err);
}
