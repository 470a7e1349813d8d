#include "turn/gather.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"

enum {
    URL_MAX_BYTES = 4096,
    USEFUL_AHEAD_S = 24 * SECONDS_PER_HOUR,
    MAX_ROWS = 3 /* asked of one service */
};

/* One item on its way. */
struct ask {
    struct gathered *item;
    struct source_query query;
    char *lookup_url, *url; /* owned; NULL until known */
    bool lost;    /* the looked-up address led to a 404: look up anew */
    bool renewed; /* … and it has been */
};

static const char *configured_url(const struct config *config,
                                  const char *source)
{
    for (int i = 0; i < config->source_count; i++)
        if (strcmp(config->sources[i].name, source) == 0)
            return config->sources[i].base_url;
    return NULL;
}

static const char *configured_key(const struct config *config,
                                  const char *source)
{
    for (int i = 0; i < config->source_count; i++)
        if (strcmp(config->sources[i].name, source) == 0)
            return config->sources[i].key;
    return NULL;
}

/* The ensemble goes with the forecast: same instance, same key. */
static const char *configured_name(const struct source *source)
{
    return strncmp(source->name, "open-meteo", 10) == 0 ? "open-meteo"
                                                        : source->name;
}

static void ask_begin(struct ask *ask, const struct config *config, int bush,
                      int past_days)
{
    const struct config_bush *place = &config->bushes[bush];
    const struct source *source = ask->item->source;
    const char *name = configured_name(source);
    struct text url;
    struct error err;

    ask->query.latitude = place->latitude;
    ask->query.longitude = place->longitude;
    ask->query.elevation_m = place->elevation_m;
    ask->query.past_days = ask->item->past ? past_days : GATHER_PAST_DAYS;
    ask->query.forecast_days = ask->item->past ? 1 : GATHER_FORECAST_DAYS;
    ask->query.base_url = configured_url(config, name);
    ask->query.key = configured_key(config, name);
    text_init(&url, URL_MAX_BYTES);
    if (source->lookup_url != NULL) {
        source->lookup_url(&ask->query, &url);
        ask->lookup_url = text_steal(&url);
    } else if (source->url(&ask->query, NULL, 0, &url, &err) == 0) {
        ask->url = text_steal(&url);
    } else {
        snprintf(ask->item->trouble, sizeof ask->item->trouble, "%s", err.text);
    }
    text_free(&url);
}

static void item_trouble(struct gathered *item, const char *words)
{
    snprintf(item->trouble, sizeof item->trouble, "%s", words);
}

/* Two bushes in one place ask the same: one request serves both. */
static int request_of(struct transport_request *requests, int count,
                      const char *url)
{
    for (int i = 0; i < count; i++)
        if (strcmp(requests[i].url, url) == 0)
            return i;
    return -1;
}

typedef const char *(*ask_url)(const struct ask *ask);
typedef void (*ask_receive)(struct ask *ask, utc_s now,
                            const struct transport *transport,
                            struct transport_answer *answer);

static const char *ask_lookup_url(const struct ask *ask)
{
    return ask->lookup_url;
}

static const char *ask_lost_lookup_url(const struct ask *ask)
{
    return ask->lost ? ask->lookup_url : NULL;
}

static const char *ask_data_url(const struct ask *ask)
{
    return ask->url;
}

static const char *ask_lost_url(const struct ask *ask)
{
    return ask->lost && ask->renewed ? ask->url : NULL;
}

/* The past does not change: once a day is enough. */
static int min_interval_s(const struct gathered *item)
{
    return item->past ? SECONDS_PER_DAY : item->source->min_interval_s;
}

/* Tells the transport what its body is worth; it knows the words for it and
 * the time of the next attempt, or else we take our own. */
static void judge(struct ask *ask, utc_s now, const struct transport *transport,
                  const char *url, struct transport_answer *answer, bool good,
                  const struct error *why)
{
    transport->settle(transport->self, now, url, good, good ? "" : why->text,
                      answer);
    if (good)
        return;
    if (answer->trouble[0] == '\0')
        snprintf(answer->trouble, sizeof answer->trouble,
                 _("%s sent an answer of no use (%s)"), ask->item->source->name,
                 why->text);
    item_trouble(ask->item, answer->trouble);
}

/* Nothing to use although nothing went wrong: what is held serves no longer.
 * It loses its validators, so that the service sends it anew. */
static void explain(struct ask *ask, utc_s now,
                    const struct transport *transport, const char *url,
                    struct transport_answer *answer, const struct error *why)
{
    if (answer->trouble[0] == '\0' && answer->held != NULL)
        judge(ask, now, transport, url, answer, false, why);
}

static bool looked_up(struct ask *ask, const char *bytes, size_t length,
                      struct error *err)
{
    struct text url;
    bool good;

    text_init(&url, URL_MAX_BYTES);
    good = ask->item->source->url(&ask->query, bytes, length, &url, err) == 0;
    if (good) {
        free(ask->url);
        ask->url = text_steal(&url);
        ask->renewed = ask->lost;
    }
    text_free(&url);
    return good;
}

static void lookup_receive(struct ask *ask, utc_s now,
                           const struct transport *transport,
                           struct transport_answer *answer)
{
    bool good = false, asked = answer->body != NULL;
    struct error err = {""};

    item_trouble(ask->item, answer->trouble);
    if (asked) {
        good = looked_up(ask, answer->body, answer->length, &err);
        judge(ask, now, transport, ask->lookup_url, answer, good, &err);
    }
    if (!good && answer->held != NULL)
        good = looked_up(ask, answer->held, answer->held_length, &err);
    if (!good && !asked)
        explain(ask, now, transport, ask->lookup_url, answer, &err);
    ask->item->next = answer->next;
}

/* The forecast must reach a day ahead to be of use. */
static int answer_useful(const struct source_answer *answer, utc_s now,
                         struct error *err)
{
    const struct series *series = answer->series;
    double temp;
    int hour;

    if (series == NULL)
        return 0;
    for (hour = series_hours(series) - 1; hour >= 0; hour--)
        if (series_get(series, AIR_TEMP_C, hour, &temp))
            break;
    if (hour >= 0 && series_time(series, hour) >= now + USEFUL_AHEAD_S)
        return 0;
    return error_set(err, "%s",
                     _("its forecast ends before this time tomorrow"));
}

static utc_s answer_issued(const struct source_answer *answer)
{
    return answer->series != NULL && series_source_count(answer->series) > 0
               ? series_source(answer->series, 0)->issued
               : 0;
}

static int decode(const struct gathered *item, const char *bytes, size_t length,
                  utc_s fetched, utc_s now, struct source_answer *out,
                  struct error *err)
{
    memset(out, 0, sizeof *out);
    if (item->source->decode(bytes, length, fetched, out, err) == 0 &&
        (item->past || answer_useful(out, now, err) == 0))
        return 0;
    source_answer_free(out);
    memset(out, 0, sizeof *out);
    return -1;
}

static void use_held(struct gathered *item, utc_s now,
                     const struct transport_answer *answer, struct error *err)
{
    if (item->in_use || answer->held == NULL ||
        decode(item, answer->held, answer->held_length, answer->held_fetched,
               now, &item->answer, err) != 0)
        return;
    item->in_use = true;
    item->fetched = answer->held_fetched;
}

/* Older than what is held, and that is of use still? Only then the held one
 * is looked into. */
static bool is_older(struct gathered *item, utc_s now,
                     const struct transport_answer *answer)
{
    struct error ignored = {""};

    if (!answer->held_issued_known || answer->issued < answer->held_issued)
        use_held(item, now, answer, &ignored);
    return item->in_use && answer->issued < answer_issued(&item->answer);
}

/* The body into the item if it is good and no older than what is held. */
static bool take_new(struct ask *ask, utc_s now,
                     struct transport_answer *answer, struct error *err)
{
    struct source_answer fresh;

    if (decode(ask->item, answer->body, answer->length, answer->fetched, now,
               &fresh, err) != 0)
        return false;
    answer->issued = answer_issued(&fresh);
    if (is_older(ask->item, now, answer)) {
        error_set(err, "%s",
                  _("its forecast is older than the one it sent before"));
        source_answer_free(&fresh);
        return false;
    }
    for (int i = 0; i < fresh.refused.count; i++)
        log_info(_("%s: left out: %s"), ask->item->source->name,
                 fresh.refused.items[i]);
    source_answer_free(&ask->item->answer);
    ask->item->answer = fresh;
    ask->item->fetched = answer->fetched;
    ask->item->in_use = true;
    return true;
}

static void data_receive(struct ask *ask, utc_s now,
                         const struct transport *transport,
                         struct transport_answer *answer)
{
    struct gathered *item = ask->item;
    struct error err = {""};
    bool good = false;

    item_trouble(item, answer->trouble);
    item->deprecated = answer->deprecated;
    ask->lost = answer->status == 404 && ask->lookup_url != NULL;
    if (answer->body != NULL) {
        good = take_new(ask, now, answer, &err);
        judge(ask, now, transport, ask->url, answer, good, &err);
    }
    if (!good)
        use_held(item, now, answer, &err);
    if (answer->body == NULL && !item->in_use)
        explain(ask, now, transport, ask->url, answer, &err);
    item->next = answer->next;
}

/* What is asked of a configured service: open-meteo also for its ensemble
 * and, if wanted, for more of the past. */
static int source_rows(const char *name, bool past,
                       struct gathered rows[MAX_ROWS])
{
    int count = 0;

    memset(rows, 0, MAX_ROWS * sizeof *rows);
    rows[count++].source = source_find(name);
    if (strcmp(name, "open-meteo") != 0)
        return count;
    rows[count++].source = source_find("open-meteo-ensemble");
    if (past) {
        rows[count].source = source_find(name);
        rows[count++].past = true;
    }
    return count;
}

static int begin_all(const struct config *config, struct ask *asks,
                     struct gathered *items, const int *past_days)
{
    int count = 0;

    for (int bush = 0; bush < config->bush_count; bush++)
        for (int i = 0; i < config->source_count; i++) {
            struct gathered rows[MAX_ROWS];
            int row_count =
                source_rows(config->sources[i].name,
                            past_days[bush] > GATHER_PAST_DAYS, rows);

            for (int r = 0; r < row_count; r++) {
                items[count] = rows[r];
                items[count].bush = bush;
                asks[count].item = &items[count];
                ask_begin(&asks[count], config, bush, past_days[bush]);
                count++;
            }
        }
    return count;
}

/* One after the other: the grid, the data, and both again where the data's
 * address led to a 404. */
static const struct round {
    ask_url url;
    ask_receive receive;
} rounds[] = {
    {ask_lookup_url, lookup_receive},
    {ask_data_url, data_receive},
    {ask_lost_lookup_url, lookup_receive},
    {ask_lost_url, data_receive},
};

enum { ROUND_COUNT = sizeof rounds / sizeof rounds[0] };

struct asking {
    const struct config *config;
    utc_s now;
    struct transport transport;
    struct ask *asks;
    int count;
    int round;
    struct transport_request *requests;
    struct transport_answer *answers;
    int request_count;
};

static struct transport_request
request_for(const struct asking *asking, const struct ask *ask, const char *url)
{
    const struct source *source = ask->item->source;

    return (struct transport_request){
        .url = url,
        .accept = source->accept,
        .min_interval_s = min_interval_s(ask->item),
        .max_bytes = SOURCE_MAX_BYTES,
        .per_minute = source->per_minute,
        .contact = asking->config->contact,
        .renew = ask->lost,
        .error_words = source->error_words,
    };
}

static void collect_requests(struct asking *asking)
{
    ask_url url_of = rounds[asking->round].url;

    asking->request_count = 0;
    for (int i = 0; i < asking->count; i++) {
        const struct ask *ask = &asking->asks[i];
        const char *url = url_of(ask);

        if (url != NULL &&
            request_of(asking->requests, asking->request_count, url) < 0)
            asking->requests[asking->request_count++] =
                request_for(asking, ask, url);
    }
}

int gather_round(struct asking *asking, struct transport_request **requests,
                 struct transport_answer **answers)
{
    for (; asking->round < ROUND_COUNT; asking->round++) {
        collect_requests(asking);
        if (asking->request_count > 0)
            break;
    }
    *requests = asking->requests;
    *answers = asking->answers;
    return asking->round < ROUND_COUNT ? asking->request_count : 0;
}

void gather_take(struct asking *asking)
{
    const struct round *round = &rounds[asking->round];

    for (int i = 0; i < asking->count; i++) {
        struct ask *ask = &asking->asks[i];
        const char *url = round->url(ask);

        if (url != NULL)
            round->receive(ask, asking->now, &asking->transport,
                           &asking->answers[request_of(
                               asking->requests, asking->request_count, url)]);
    }
    for (int i = 0; i < asking->request_count; i++)
        transport_answer_free(&asking->answers[i]);
    asking->request_count = 0;
    asking->round++;
}

struct asking *gather_begin(const struct config *config, utc_s now,
                            const struct transport *transport,
                            const int *past_days, struct gathering_result *out)
{
    size_t most =
        (size_t)config->bush_count * (size_t)config->source_count * MAX_ROWS +
        1;
    struct asking *asking = mem_alloc(1, sizeof *asking);

    asking->config = config;
    asking->now = now;
    asking->transport = *transport;
    asking->asks = mem_alloc(most, sizeof *asking->asks);
    asking->requests = mem_alloc(most, sizeof *asking->requests);
    asking->answers = mem_alloc(most, sizeof *asking->answers);
    out->items = mem_alloc(most, sizeof *out->items);
    out->count = begin_all(config, asking->asks, out->items, past_days);
    asking->count = out->count;
    return asking;
}

void gather_end(struct asking *asking)
{
    for (int i = 0; i < asking->count; i++) {
        free(asking->asks[i].lookup_url);
        free(asking->asks[i].url);
    }
    for (int i = 0; i < asking->request_count; i++)
        transport_answer_free(&asking->answers[i]);
    free(asking->asks);
    free(asking->requests);
    free(asking->answers);
    free(asking);
}

void gathering_result_free(struct gathering_result *result)
{
    for (int i = 0; i < result->count; i++)
        source_answer_free(&result->items[i].answer);
    free(result->items);
    result->items = NULL;
    result->count = 0;
}
