/* How an operation fares, for those who watch it: OpenMetrics 1.0, or the
 * Prometheus text format 0.0.4, which names a counter with its _total and has
 * no end mark. */
#include "daemon/serve_http.h"

const int serve_statuses[SERVE_STATUS_COUNT] = {200, 304, 400, 404, 405, 503};

struct writing {
    struct text *out;
    bool openmetrics;
};

static void begin(const struct writing *writing, const char *name,
                  const char *type, const char *unit, const char *help)
{
    const char *total = !writing->openmetrics && type[0] == 'c' ? "_total" : "";

    text_addf(writing->out, "# TYPE %s%s %s\n", name, total, type);
    if (writing->openmetrics && unit != NULL)
        text_addf(writing->out, "# UNIT %s %s\n", name, unit);
    text_addf(writing->out, "# HELP %s%s %s\n", name, total, help);
}

static void add_age(const struct writing *writing, const char *name,
                    const char *help, utc_s from, utc_s now)
{
    if (from == 0)
        return;
    begin(writing, name, "gauge", "seconds", help);
    text_addf(writing->out, "%s %lld\n", name, (long long)(now - from));
}

static void add_turns(const struct writing *writing,
                      const struct serve_figures *figures)
{
    begin(writing, "thawbell_turns", "counter", NULL,
          "Turns since the start, with and without a bulletin published.");
    text_addf(writing->out,
              "thawbell_turns_total{result=\"made\"} %lu\n"
              "thawbell_turns_total{result=\"failed\"} %lu\n",
              figures->turns_made, figures->turns_failed);
}

static void add_sources(const struct writing *writing,
                        const struct serve_figures *figures, utc_s now)
{
    struct text *out = writing->out;

    begin(writing, "thawbell_source_age_seconds", "gauge", "seconds",
          "Time since the values in use were fetched.");
    for (int i = 0; i < figures->source_count; i++)
        if (figures->sources[i].fetched != 0)
            text_addf(out, "thawbell_source_age_seconds{source=\"%s\"} %lld\n",
                      figures->sources[i].name,
                      (long long)(now - figures->sources[i].fetched));
    begin(writing, "thawbell_source_trouble", "gauge", NULL,
          "1 while something is wrong with the service.");
    for (int i = 0; i < figures->source_count; i++)
        text_addf(out, "thawbell_source_trouble{source=\"%s\"} %d\n",
                  figures->sources[i].name, figures->sources[i].in_trouble);
    begin(writing, "thawbell_source_turns", "counter", NULL,
          "Turns in which the service was well, and in trouble.");
    for (int i = 0; i < figures->source_count; i++)
        text_addf(out,
                  "thawbell_source_turns_total{source=\"%s\",result=\"good\"} "
                  "%lu\n"
                  "thawbell_source_turns_total{source=\"%s\",result=\"bad\"} "
                  "%lu\n",
                  figures->sources[i].name, figures->sources[i].good_turns,
                  figures->sources[i].name, figures->sources[i].bad_turns);
}

static void add_mail(const struct writing *writing,
                     const struct serve_figures *figures)
{
    if (figures->mail_waiting < 0)
        return;
    begin(writing, "thawbell_mail", "gauge", NULL,
          "Mails in the outbox: waiting, and given up.");
    text_addf(writing->out,
              "thawbell_mail{state=\"waiting\"} %d\n"
              "thawbell_mail{state=\"dead\"} %d\n",
              figures->mail_waiting, figures->mail_dead);
}

void serve_metrics(const struct serve_figures *figures,
                   const unsigned long requests[SERVE_STATUS_COUNT], utc_s now,
                   bool openmetrics, struct text *out)
{
    struct writing writing = {out, openmetrics};

    add_age(&writing, "thawbell_weather_age_seconds",
            "Time since the newest forecast in use was fetched.",
            figures->weather_from, now);
    add_age(&writing, "thawbell_bulletin_age_seconds",
            "Time since the bulletin was made.", figures->made, now);
    add_turns(&writing, figures);
    add_sources(&writing, figures, now);
    add_mail(&writing, figures);
    begin(&writing, "thawbell_requests", "counter", NULL,
          "Requests answered by the whole server, by status.");
    for (int i = 0; i < SERVE_STATUS_COUNT; i++)
        text_addf(out, "thawbell_requests_total{status=\"%d\"} %lu\n",
                  serve_statuses[i], requests[i]);
    if (openmetrics)
        text_add(out, "# EOF\n");
}

bool serve_health(const struct serve_figures *figures, utc_s now,
                  struct text *out)
{
    utc_s age = now - figures->weather_from;
    bool good = figures->weather_from != 0 && age < SERVE_VERY_OLD_S;

    if (figures->weather_from == 0)
        text_add(out, "{\"ok\":false,\"weather_age_s\":null}\n");
    else
        text_addf(out, "{\"ok\":%s,\"weather_age_s\":%lld}\n",
                  good ? "true" : "false", (long long)age);
    return good;
}
